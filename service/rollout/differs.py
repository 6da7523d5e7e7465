"""Differences of a venue from the standard, each with its reason."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import isfinite
from typing import Annotated, Literal

from service.batching import Drift, Made
from service.declared import CODE, FIGURE, Params, Sentence, shape, text
from service.limits.readings import DIFFERS_ABV, DIFFERS_ACIDITY, DIFFERS_BAR, DIFFERS_CO2_G_PER_L
from service.notes import Value
from service.rollout.in_vessel import InVessel
from service.rollout.shared_work import SharedWork
from service.science.constants import ATMOSPHERE_BAR
from service.science.units import Quantity
from service.site import Site


@shape("RolloutDiffers")
@dataclass(frozen=True)
class Differs:
    """One thing that is not as in the standard. pointer: what brings it about."""

    code: Annotated[str, CODE]
    pointer: Annotated[str, text(500)]
    text: Sentence
    standard: Annotated[Value | None, FIGURE]
    here: Annotated[Value | None, FIGURE]
    params: Params = field(default_factory=dict)


def differs(work: SharedWork, site: Site, made: Made, found: Sequence[InVessel]) -> Iterator[Differs]:
    """Yield each difference that shows: the dial and why, the drink as made here, charges, glass, re-gas."""
    level_bar = [_at_sea_level_bar(work, one) for one in found]
    yield from _by_place(site, level_bar[0], found[0].gauge_pressure_bar.typical)
    if work.reference is not None:
        yield from _by_vessel(work.reference, site, found, level_bar)
    yield from _as_made(work, site, as_made(site, made))
    if work.reference is not None:
        yield from _in_service(work.reference, found[0])


def as_made(site: Site, made: Made) -> Drift | None:
    """Return the drink as the steps of the scale make it, or those of the jug where there is no scale.

    None where nothing is left of a component.
    """
    return made.rounding.by_measure if site.scale is None else made.rounding.by_scale


def _at_sea_level_bar(work: SharedWork, one: InVessel) -> float:
    plan = one.charging.planned
    setting = replace(plan.setting, ambient_bar=ATMOSPHERE_BAR)
    return setting.set_point_bar_gauge(plan.liquid, work.target_g_per_l)


def _dial(code: str, pointer: str, standard: float, here: float, **params: Value) -> Iterator[Differs]:
    """Yield the difference between two dials, by its cause."""
    change = here - standard
    if abs(change) >= DIFFERS_BAR:
        text = _HIGHER[code] if change > 0.0 else _LOWER[code]
        sides = Quantity("pressure", standard), Quantity("pressure", here)
        yield Differs(code, pointer, text, *sides, {"change": Quantity("pressure", abs(change)), **params})


_HIGHER = {
    "barometer": "At an air pressure of {pressure} set {change} more, for the same CO2 in the drink.",
    "altitude": "At an altitude of {altitude} set {change} more, for the same CO2 in the drink.",
    "vessel": "In a {vessel}, with its headspace and the air in it, set {change} more, for the same CO2 in the drink.",
}
_LOWER = {
    "barometer": "At an air pressure of {pressure} set {change} less, for the same CO2 in the drink.",
    "altitude": "At an altitude of {altitude} set {change} less, for the same CO2 in the drink.",
    "vessel": "In a {vessel}, with its headspace and the air in it, set {change} less, for the same CO2 in the drink.",
}
"""Sentences about a dial that is higher or lower than the standard's, by code."""


def _by_place(site: Site, level_bar: float, here_bar: float) -> Iterator[Differs]:
    """Yield the change of the dial by the air pressure of the place."""
    if site.barometer_bar is not None:
        pressure = Quantity("pressure", site.barometer_bar)
        yield from _dial("barometer", "/site/barometer", level_bar, here_bar, pressure=pressure)
    elif site.altitude_m is not None:
        altitude = Quantity("length", site.altitude_m)
        yield from _dial("altitude", "/site/altitude", level_bar, here_bar, altitude=altitude)


def _by_vessel(
    reference: InVessel, site: Site, found: Sequence[InVessel], level_bar: Sequence[float]
) -> Iterator[Differs]:
    """Yield the change of the dial by another headspace and the air in it, both at sea level."""
    standard_bar = reference.gauge_pressure_bar.typical
    for i, (one, here_bar) in enumerate(zip(found, level_bar, strict=True)):
        at = f"/site/vessels/{i}" if site.vessels else "/site/vessels"
        yield from _dial("vessel", at, standard_bar, here_bar, vessel=one.vessel.said)


def _as_made(work: SharedWork, site: Site, drift: Drift | None) -> Iterator[Differs]:
    """Yield the changes of strength and acidity by whole steps."""
    at = "/site/scale"
    by: Literal["jug", "scale"] = "jug"
    params: dict[str, Value] = {}
    if site.scale is not None:
        by, params = "scale", {"step": Quantity("mass", site.scale.resolution_g)}
    if drift is None:
        yield Differs("nothing-left", at, _NOTHING_LEFT[by], None, None, params)
        return
    drink = work.glass.serve
    if abs(drift.abv) >= DIFFERS_ABV:
        text = _STRONGER[by] if drift.abv > 0.0 else _WEAKER[by]
        change = {"change": _short(abs(drift.abv)), **params}
        yield Differs("strength", at, text, drink.abv, drink.abv + drift.abv, change)
    share = drift.titratable_acidity_meq_per_l / drink.acid_meq_per_l if drink.acid_meq_per_l else 0.0
    if abs(share) >= DIFFERS_ACIDITY:
        text = _SOURER[by] if share > 0.0 else _LESS_SOUR[by]
        sides = (drink.acid_meq_per_l, drink.acid_meq_per_l + drift.titratable_acidity_meq_per_l)
        standard, here = (Quantity("acidity", side) for side in sides)
        yield Differs("acidity", at, text, standard, here, {"percent": _short(100.0 * abs(share)), **params})


_NOTHING_LEFT = {
    "jug": "Measured in whole steps, nothing is left of a component: this is not the drink of the spec.",
    "scale": "Weighed in steps of {step}, nothing is left of a component: this is not the drink of the spec.",
}
_STRONGER = {
    "jug": "Measured in whole steps, it comes out {change} %vol stronger.",
    "scale": "Weighed in steps of {step}, it comes out {change} %vol stronger.",
}
_WEAKER = {
    "jug": "Measured in whole steps, it comes out {change} %vol weaker.",
    "scale": "Weighed in steps of {step}, it comes out {change} %vol weaker.",
}
_SOURER = {
    "jug": "Measured in whole steps, it comes out with {percent} % more acid.",
    "scale": "Weighed in steps of {step}, it comes out with {percent} % more acid.",
}
_LESS_SOUR = {
    "jug": "Measured in whole steps, it comes out with {percent} % less acid.",
    "scale": "Weighed in steps of {step}, it comes out with {percent} % less acid.",
}
"""Sentences about a drink that is not quite that of the spec, made with a jug and made on a scale."""


def _short(value: float) -> float:
    return float(f"{value:.2g}")


def _in_service(reference: InVessel, one: InVessel) -> Iterator[Differs]:
    yield from _counted(
        "charges", "/standard/carbonation",
        reference.charging.charges_needed.typical, one.charging.charges_needed.typical,
    )  # fmt: skip
    yield from _level("co2", reference.co2_g_per_l.typical, one.co2_g_per_l.typical)
    if reference.glass_g_per_l is not None and one.glass_g_per_l is not None:
        yield from _level("glass", reference.glass_g_per_l.typical, one.glass_g_per_l.typical)
    if reference.regas_after is not None and one.regas_after is not None:
        yield from _counted(
            "regas", "/standard/shift",
            reference.regas_after.pours.typical, one.regas_after.pours.typical,
        )  # fmt: skip
    elif reference.regas_after is not one.regas_after:
        text = "No re-gas is due here, and one is in the standard."
        if reference.regas_after is None:
            text = "A re-gas is due here, and none is in the standard."
        yield Differs("regas", "/standard/shift", text, None, None)


def _counted(code: str, pointer: str, standard: float, here: float) -> Iterator[Differs]:
    if standard != here and isfinite(standard) and isfinite(here):
        yield Differs(code, pointer, _COUNTED[code], standard, here, {"here": here, "standard": standard})


_COUNTED = {
    "charges": "Charges to the target: {here} here, {standard} in the standard.",
    "regas": "Pours of one vessel that make the floor: {here} here, {standard} in the standard.",
}


def _level(code: str, standard: float, here: float) -> Iterator[Differs]:
    change = here - standard
    if abs(change) >= DIFFERS_CO2_G_PER_L:
        text = _FULLER[code] if change > 0.0 else _FLATTER[code]
        sides = Quantity("co2", standard), Quantity("co2", here)
        yield Differs(code, "/standard/carbonation/target", text, *sides, {"change": Quantity("co2", abs(change))})


_FULLER = {
    "co2": "After its charges the drink holds {change} of CO2 more than in the standard.",
    "glass": "The first glass holds {change} of CO2 more than in the standard.",
}
_FLATTER = {
    "co2": "After its charges the drink holds {change} of CO2 less than in the standard.",
    "glass": "The first glass holds {change} of CO2 less than in the standard.",
}
