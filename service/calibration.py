"""A bar's own constants, fitted to its readings, with how well they are known. They narrow a band, never a limit."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import log
from typing import Annotated, Any

from service import MODEL
from service.declared import Declared, items, number, shape, temperature, text
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.readings import (
    LEAST_POUR_LOSS,
    MOST_PER_S,
    MOST_POUR_LOSS,
    MOST_RATE_REACH,
    MOST_REACH,
    RATE_REACH,
    SAME_SIZE,
    SERVED_C,
)
from service.limits.safety import LEAST_FACTOR, MOST_FACTOR
from service.listed import repeated
from service.notes import Notes
from service.science.band import Band, combine
from service.science.gas import Liquid
from service.science.vessel import Agitation, PourManner, VesselSize, pour_loss, standing_loss_per_s, uptake_per_s
from service.vessel import Vessel, VesselGiven, named

REACH_OF_90_PERCENT = 1.645
"""Standard errors to either side that hold 90 % of a normal distribution; JCGM 100:2008 (GUM), table G.1."""


@dataclass(frozen=True)
class Estimate:
    """A fitted constant with its standard error, both in the unit of the constant."""

    value: Annotated[float, number(above=0.0, high=1.0)]
    standard_error: Annotated[float, number(low=0.0, high=1.0)]

    @property
    def reach(self) -> float:
        """Relative half-width, about 90 %."""
        return REACH_OF_90_PERCENT * self.standard_error / self.value

    @property
    def band(self) -> Band:
        """Band about 90 % wide; no constant fitted here is negative."""
        reach = REACH_OF_90_PERCENT * self.standard_error
        return Band(max(0.0, self.value - reach), self.value, self.value + reach)


@shape("SolubilityEstimate", asked=True)
@dataclass(frozen=True)
class SolubilityEstimate(Estimate):
    """CO2 level at a pressure and temperature, over that of the model."""

    value: Annotated[float, number(low=0.7, high=1.4)]
    standard_error: Annotated[float, number(low=0.0, high=0.5)]


@shape("LossEstimate", asked=True)
@dataclass(frozen=True)
class LossEstimate(Estimate):
    """Rate at which an open bottle goes flat, per second."""


@shape("UptakeEstimate", asked=True)
@dataclass(frozen=True)
class UptakeEstimate(Estimate):
    """Uptake coefficient of one manner of shaking, per second."""

    agitation: Declared[Agitation]

    @property
    def band(self) -> Band:
        """Band about 90 % wide; no rate is nought: the low end is as many times smaller as the high end is larger."""
        times = 1.0 + self.reach
        return Band(self.value / times, self.value, self.value * times)


@shape("PourLossEstimate", asked=True)
@dataclass(frozen=True)
class PourEstimate(Estimate):
    """Share of the CO2 that an open vessel cannot hold which a pour loses.

    source: `service.science.vessel.pour_loss`
    """

    manner: Annotated[PourManner | None, "Holds for this manner of pouring; any unless stated."] = None
    temperature_c: Annotated[
        float | None,
        temperature(low=-10.0, high=40.0),
        "Of the drink when it was measured: a warmer one loses more. 4 °C unless stated.",
    ] = None

    @property
    def band(self) -> Band:
        """Band about 90 % wide, within a share."""
        reach = REACH_OF_90_PERCENT * self.standard_error
        return Band(max(0.0, self.value - reach), self.value, min(1.0, self.value + reach))


def one_value_a_manner(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find manners of shaking that stand twice."""
    stated = sent.get("uptake_per_s")
    if not isinstance(stated, list) or len(stated) > MOST_MANNERS:
        return  # the field says so itself
    manners = [one.get("agitation") if isinstance(one, Mapping) else None for one in stated]
    for i in repeated(manners):
        yield Fault(f"/uptake_per_s/{i}/agitation", "duplicate", "Each manner stands once.")


MOST_MANNERS = 3


@shape("Calibration", rules=[one_value_a_manner], asked=True)
@dataclass(frozen=True)
class Calibration:
    """A bar's own constants with their standard errors."""

    solubility: Declared[SolubilityEstimate | None] = None
    uptake_per_s: Annotated[tuple[UptakeEstimate, ...] | None, items(MOST_MANNERS)] = None
    loss_per_s: Declared[LossEstimate | None] = None
    pour_loss: Declared[PourEstimate | None] = None
    vessel: Annotated[VesselGiven | None, "That it was measured in."] = None
    model: Annotated[str | None, text(40), "Version it was fitted with."] = None


def calibrated(liquid: Liquid, calibration: Calibration | None) -> Liquid:
    """Return the liquid with the bar's own solubility and its reach; the liquid itself where the bar has none."""
    if calibration is None or calibration.solubility is None:
        return liquid
    own = calibration.solubility
    return replace(liquid, solubility_factor=own.value, known_spread=own.reach)


def uptake_of(calibration: Calibration | None, agitation: Agitation, size: VesselSize) -> Band:
    """Return the uptake coefficient kLa [1/s]: the bar's own, or that of `service.science.vessel.uptake_per_s`."""
    stated = () if calibration is None else calibration.uptake_per_s or ()
    own = next((one.band for one in stated if one.agitation == agitation), None)
    return uptake_per_s(agitation, size) if own is None else own


def pour_loss_of(calibration: Calibration | None, manner: PourManner, temperature_c: float) -> Band:
    """Return the share lost on pouring [-]: the bar's own, or that of `service.science.vessel.pour_loss`.

    A share measured at one temperature goes to another as the model's does, give or take half of the way: what is kept
    is to the power g,  1 - phi' = (1 - phi)^g,  1 - m(t') = (1 - m(t))^g
    """
    model = pour_loss(manner, temperature_c)
    own = None if calibration is None else calibration.pour_loss
    if own is None or own.manner not in (None, manner):
        return model
    measured = pour_loss(manner, SERVED_C if own.temperature_c is None else own.temperature_c)
    power = log(1.0 - model.typical) / log(1.0 - measured.typical)

    def lost(share: float, g: float) -> float:
        kept: float = (1.0 - share) ** g
        return 1.0 - kept

    read = (lost(own.band.low, power), lost(own.band.high, power))
    way = (lost(own.value, (1.0 + power) / 2.0), lost(own.value, 1.5 * power - 0.5))
    band = combine(lost(own.value, power), [read, way])
    return Band(max(0.0, band.low), band.typical, min(1.0, band.high))


def believed(model: Band) -> tuple[float, float]:
    """Return the lowest and the highest rate of a bar that is believed, by the model's own band [1/s]."""
    return model.low / RATE_REACH, min(MOST_PER_S, RATE_REACH * model.high)


def check_calibration(calibration: Calibration | None, *, at: str = "/calibration") -> Calibration | None:
    """Return the calibration, unless one of its constants fits no drink or vessel, or is hardly known.

    raises: Refused ("calibration-refused")
    """
    faults, facts = [], []
    for where, own, low, high, most in _bounded(calibration):
        found = []
        if not low <= own.value <= high:
            text = "Measure it again: {value} is no property of a drink or vessel. {low} to {high} is taken."
            asked = (("value", own.value), ("low", low), ("high", high))
            found.append(Fault(f"{at}/{where}/value", "implausible", text, asked))
        if not own.reach <= most:
            text = "Read again, more often: it is known to {reach} of its value, and {most} is the most that is taken."
            known = (("reach", own.reach), ("most", most))
            found.append(Fault(f"{at}/{where}/standard_error", "too-uncertain", text, known))
        if found:
            faults += found
            facts += [Fact("lowest", low), Fact("highest", high), Fact("most_reach", most)]
    if faults:
        raise Refused("calibration-refused", faults, facts=facts, nearest=[Nearest(at, {})])
    return calibration


def _bounded(calibration: Calibration | None) -> Iterator[tuple[str, Estimate, float, float, float]]:
    """Yield each constant: where it stands, the lowest and the highest that is believed, how far it may reach."""
    if calibration is None:
        return
    if calibration.solubility is not None:
        yield "solubility", calibration.solubility, LEAST_FACTOR, MOST_FACTOR, MOST_REACH
    for i, own in enumerate(calibration.uptake_per_s or ()):
        ends = [believed(uptake_per_s(own.agitation, size)) for size in _SIZES]
        yield f"uptake_per_s/{i}", own, min(low for low, _ in ends), max(high for _, high in ends), MOST_RATE_REACH
    if calibration.loss_per_s is not None:
        yield "loss_per_s", calibration.loss_per_s, *believed(standing_loss_per_s()), MOST_RATE_REACH
    if calibration.pour_loss is not None:
        yield "pour_loss", calibration.pour_loss, LEAST_POUR_LOSS, MOST_POUR_LOSS, MOST_RATE_REACH


_SIZES: tuple[VesselSize, ...] = ("bottle", "keg")  # measured in either; a caution names the difference


def note_calibration(
    calibration: Calibration | None, vessel: Vessel, notes: Notes, *, at: str = "/calibration"
) -> None:
    """Note the constants of a bar that an answer rests on."""
    if calibration is None:
        return
    if calibration.solubility is not None:
        name, value = "solubility over the model's", calibration.solubility.value
        source = "this bar's own reading, taken to be of this drink and made cold"
        notes.assume(name, value, "default", source, at=f"{at}/solubility")
    if calibration.model not in (None, MODEL):
        text = "Fit this calibration again with version {here}: it was fitted with {model}."
        notes.caution("calibration-model", "warning", text, at=f"{at}/model", model=calibration.model or "", here=MODEL)
    if calibration.vessel is not None and not _same(calibration.vessel, vessel):
        text = "Measure it in the {vessel} too: in the other vessel uptake and loss may differ."
        notes.caution("calibration-vessel", "warning", text, at=f"{at}/vessel", vessel=vessel.said)


def _same(measured: VesselGiven, vessel: Vessel) -> bool:
    """Tell whether two vessels are of one material and about one size, as far as the calibration says."""
    material, capacity_ml = named(measured)
    return material in (None, vessel.material) and (
        capacity_ml is None or abs(capacity_ml / vessel.capacity_ml - 1.0) <= SAME_SIZE
    )
