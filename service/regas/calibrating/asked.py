"""The request of a calibration: readings of one vessel, each with the fields that its kind takes."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal, get_args

from service.declared import Declared, duration, items, mass, pressure, shape, temperature
from service.drink import DrinkGiven
from service.errors import Fault
from service.limits.requests import LONGEST_READINGS_S, MOST_READINGS
from service.regas.asked import Pour
from service.request import Request
from service.science.vessel import Agitation
from service.site import Air, Site
from service.vessel import FillShare, VesselGiven

Kind = Literal["solubility", "uptake", "loss", "pour"]
_MASSES = ("mass_before", "mass_after")
KINDS = """What is fitted, and what its readings hold.

solubility: each reading is the closed vessel, shaken until its gauge stays: gauge_pressure, mass_before, mass_after.

uptake: how fast CO2 goes in at one agitation. On the regulator: each reading the dial, the time shaken so far and both
masses. Or closed: the first reading the gauge at 0, with both masses unless the drink was flat; each later one the
gauge after so much shaking in all.

loss: how fast an open bottle goes flat. The first reading is the gauge at rest before it is opened, at 0. Each later
one the time it stood open so far and either both masses, the first of them right after opening, or the gauge after it
was closed again and shaken to rest.

pour: the share lost on pouring, of what an open vessel cannot hold. The first reading is the gauge at rest before it is
opened. Each later one is a glass of the volume stated in pour, from the bottle just opened, one after the other or from
bottles alike: either both masses, of the opened bottle and the glass together on the scale before and after the pour,
nothing spilt; or the gauge of a second bottle of this kind that the pour went into, squeezed until the drink stands in
its neck, capped and shaken to rest. Large pours tell more.

Weigh on a scale that shows 0.1 g, and state it as site.scale: a bottle gains about five grams, and of sets of five
readings weighed to 1 g half are refused."""


@shape("CalibrationReading")
@dataclass(frozen=True)
class Reading:
    """One line of the bar's notes; the kind of calibration says what it holds."""

    elapsed_s: Annotated[
        float | None, duration(low=0.0, high=LONGEST_READINGS_S), "Of shaking, or of standing open, since the start."
    ] = None
    gauge_pressure_bar: Annotated[float | None, pressure(low=0.0, high=30.0)] = None
    mass_before_g: Annotated[
        float | None,
        mass(high=200_000.0),
        "The whole vessel, capped, its air out, before any charge; of a loss, right after opening; of a pour, opened "
        "and together with the glass. To 0.1 g.",
    ] = None
    mass_after_g: Annotated[float | None, mass(high=200_000.0)] = None

    @property
    def is_weighed(self) -> bool:
        return self.mass_before_g is not None and self.mass_after_g is not None

    @property
    def gained_g(self) -> float:
        """CO2 gained, by the scale alone."""
        return (self.mass_after_g or 0.0) - (self.mass_before_g or 0.0)

    @property
    def at_s(self) -> float:
        return self.elapsed_s or 0.0

    @property
    def gauge(self) -> float:
        return self.gauge_pressure_bar or 0.0


@dataclass(frozen=True, kw_only=True)
class CalibrationAsked:
    """Readings of one vessel, to calibrate by."""

    kind: Annotated[Kind, KINDS]
    vessel: Declared[VesselGiven | None] = None
    fill: FillShare = None
    temperature_c: Annotated[float, temperature(low=-30.0, high=90.0), "Of drink and vessel while they were read."]
    site: Annotated[Site | None, "Sea level and a 30 °C warmest room unless stated."] = None
    air: Declared[Air | None] = None
    agitation: Annotated[Agitation | None, "Needed for an uptake, and for nothing else."] = None
    pour: Annotated[Pour | None, "Needed for a pour, and for nothing else: each glass."] = None
    readings: Annotated[tuple[Reading, ...], items(MOST_READINGS)]


def agitation_of_an_uptake(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find an uptake without an agitation, or an agitation of anything else."""
    kind = sent.get("kind")
    if kind == "uptake" and "agitation" not in sent:
        yield Fault("/agitation", "required", "An uptake is that of one manner of shaking.")
    if kind in ("solubility", "loss", "pour") and "agitation" in sent:
        yield Fault("/agitation", "not-needed", "Only an uptake has an agitation.")


def pour_of_a_pour(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a loss on pouring without a pour, or a pour of anything else."""
    kind = sent.get("kind")
    if kind == "pour" and "pour" not in sent:
        yield Fault("/pour", "required", "How much was poured each time, and in which manner.")
    if kind in ("solubility", "uptake", "loss") and "pour" in sent:
        yield Fault("/pour", "not-needed", "Only the loss on pouring has a pour.")


def fields_of_the_kind(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find readings that lack what their kind of calibration asks for, or hold what it does not."""
    kind, readings = sent.get("kind"), sent.get("readings")
    if (
        not isinstance(kind, str)
        or kind not in get_args(Kind)
        or not isinstance(readings, list)
        or len(readings) > MOST_READINGS
    ):
        return  # the fields say so themselves
    if not all(isinstance(one, Mapping) for one in readings):
        return
    for i, (reading, needed) in enumerate(zip(readings, _needed(kind, readings), strict=True)):
        for name in ("elapsed", "gauge_pressure", *_MASSES):
            if name in needed and name not in reading:
                text = "This kind of calibration asks for it here; see kind."
                yield Fault(f"/readings/{i}/{name}", "required", text)
            elif name not in needed and name in reading:
                text = "This kind of calibration does not ask for it here; see kind."
                yield Fault(f"/readings/{i}/{name}", "not-needed", text)


def _needed(kind: str, readings: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, ...]]:
    """Yield the fields that each reading must have; it may have no others."""
    weighed = any(name in reading for reading in readings[1:] for name in _MASSES)
    for i, reading in enumerate(readings):
        if kind == "solubility":
            yield ("gauge_pressure", *_MASSES)
        elif kind == "uptake" and not weighed:
            either = any(name in reading for name in _MASSES) and i == 0  # one without the other says nothing
            yield ("elapsed", "gauge_pressure", *(_MASSES if either else ()))
        elif kind == "uptake":
            yield ("elapsed", "gauge_pressure", *_MASSES)
        elif kind == "pour":
            yield _MASSES if weighed and i > 0 else ("gauge_pressure",)
        elif i == 0 or not weighed:
            yield ("elapsed", "gauge_pressure")
        else:
            yield ("elapsed", *_MASSES)


@shape(rules=[agitation_of_an_uptake, pour_of_a_pour, fields_of_the_kind])
@dataclass(frozen=True, kw_only=True)
class CalibrationRequest(Request, CalibrationAsked):
    """Readings of one vessel, to calibrate by. Masses are weighed on a scale that shows 0.1 g."""

    drink: Declared[DrinkGiven]
