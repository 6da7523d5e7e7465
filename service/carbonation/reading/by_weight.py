"""The CO2 level of a drink by what its vessel gained in weight."""

from collections.abc import Iterator
from dataclasses import replace

from service.carbonation.asked import start_of
from service.carbonation.reading.asked import ReadingAsked
from service.errors import Fact, Fault, Refused, within_validity
from service.limits.safety import FILL_ERROR
from service.notes import Notes
from service.safety import beyond_equations
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid
from service.science.units import Quantity
from service.science.vessel import Contents, balance
from service.science.vessel.contents import FULLEST_PERCENT
from service.setting import Setting
from service.site import scale_step_g


def by_weight(setting: Setting, temperature_c: float, asked: ReadingAsked, notes: Notes) -> Band | None:
    """Return the CO2 level at rest of what the vessel gained and held before, less what its headspace keeps [g/L].

    None where it was not weighed.

    nC = (m after - m before + buoyancy)/M + CO2 left by purging + c0 VL; its rest by `service.science.vessel.balance`

    raises: Refused ("impossible-reading")
    source: mass balance; GUM section 5.1 for the band
    """
    if asked.mass_before_g is None or asked.mass_after_g is None:
        return None
    scale_g = scale_step_g(asked.site, notes)  # of two weighings half a step each, and as much for the scale itself
    gained_g = asked.mass_after_g - asked.mass_before_g + setting.swelling_g
    if gained_g < -scale_g:
        raise _lost(asked.mass_before_g)
    start = start_of(asked.start_co2_g_per_l, setting, notes)
    liquid, gained_g = setting.liquid_at(temperature_c), max(0.0, gained_g)
    setting = _within_equations(setting, notes)
    with within_validity("/mass_after", beyond_equations):
        typical = _level(setting, liquid, gained_g, start)
        brought = () if asked.start_co2_g_per_l is not None or not start else (0.0, setting.brought_g_per_l)
        found = combine(typical, _ends(setting, liquid, gained_g, start, scale_g, brought))
    return Band(max(0.0, found.low), typical, found.high)  # no drink holds less than nothing


def _within_equations(setting: Setting, notes: Notes) -> Setting:
    """Return the setting no fuller than the equations reach, which is said; so small a headspace keeps next to none."""
    if setting.fill <= FULLEST:
        return setting
    source = "fuller, no equation holds; what the headspace keeps is less than the scale shows"
    notes.assume("fill that the weight is read at", FULLEST, "estimate", source, at="/fill")
    return replace(setting, fill=FULLEST)


FULLEST = FULLEST_PERCENT / 100.0
"""Share of brimful up to which the equations hold."""


def _lost(before_g: float) -> Refused:
    """Return the refusal of a vessel that lost weight where it was to gain some."""
    before = Quantity("mass", before_g)
    text = "Lighter than before it was charged, {before}: weigh the same vessel, cap and all, both times."
    fault = Fault("/mass_after", "lost-weight", text, (("before", before),))
    return Refused("impossible-reading", [fault], facts=[Fact("mass_before", before)])


def _level(setting: Setting, liquid: Liquid, gained_g: float, start_g_per_l: float) -> float:
    """Return the level at rest of a vessel that gained so much and held so much before [g/L]."""
    held_mol = (gained_g + start_g_per_l * setting.liquid_l) / CO2_G_PER_MOL + setting.co2_left_mol(liquid)
    held = Contents(liquid, setting.liquid_l, setting.headspace_l, held_mol, setting.air_mol(liquid))
    return balance(held, ambient_bar=setting.ambient_bar, soft=setting.vessel.soft).co2_g_per_l


def _ends(
    setting: Setting, liquid: Liquid, gained_g: float, start: float, scale_g: float, brought: tuple[float, ...]
) -> Iterator[tuple[float, float]]:
    """Yield the levels with each cause alone at either end: scale, fill, solubility, what the components brought."""
    light, heavy = max(0.0, gained_g - scale_g), gained_g + scale_g
    yield _level(setting, liquid, light, start), _level(setting, liquid, heavy, start)
    fuller = replace(setting, fill=min(setting.fill + FILL_ERROR, FULLEST))  # past that the headspace keeps no gas
    emptier = replace(setting, fill=setting.fill - FILL_ERROR)
    yield _level(fuller, liquid, gained_g, start), _level(emptier, liquid, gained_g, start)
    yield tuple(_level(setting, end, gained_g, start) for end in (liquid.less_soluble, liquid.more_soluble))  # type: ignore[misc]
    if brought:
        yield tuple(_level(setting, liquid, gained_g, end) for end in brought)  # type: ignore[misc]
