"""Strength, sweetness and shelf life against those of drinks that carbonate well and keep."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.drink import Drink, Portion
from service.limits.charging import LONG_CO2_G_PER_L, SHORT_ABV, SHORT_CO2_G_PER_L, STRONGEST_ABV, SWEETEST_G_PER_L
from service.limits.serving import COLD_HOLD_C, FRESH_S
from service.notes import Severity, Value
from service.science import gas, mixture
from service.science.band import Band
from service.science.mixture import Masses
from service.science.units import Quantity
from service.spec_check.finding import Finding, Line


@dataclass(frozen=True)
class Style:
    """The CO2 level that drinks of a strength are charged to [g/L]; common practice, no source."""

    name: str
    co2: Band


LONG = Style("a highball or soda", LONG_CO2_G_PER_L)
SHORT = Style("a short drink", SHORT_CO2_G_PER_L)


def style_of(drink: Drink, at: str) -> Iterator[Finding]:
    """Tell whether a drink within the reach of the equations is one that bars carbonate, and to what level.

    at: JSON Pointer of the spec
    """
    if drink.abv > STRONGEST_ABV:
        yield _stronger(drink, at)
    else:
        yield _usual_level(drink, at)
    if drink.sugar_g_per_l > SWEETEST_G_PER_L:
        yield _sweeter(drink, at)


def _shown(number: float) -> float:
    """Return the number to the tenth, as labels print a strength."""
    return round(number, 1)


def _usual_level(drink: Drink, at: str) -> Finding:
    style = SHORT if drink.abv >= SHORT_ABV else LONG
    text = "At {abv} %vol it is charged like {style}: to {typical}, {low} to {high} in use."
    levels = {name: Quantity("co2", getattr(style.co2, name)) for name in ("low", "typical", "high")}
    return Finding(
        "usual-level", "info", at, text, "common-practice", {"abv": _shown(drink.abv), "style": style.name, **levels}
    )


def _stronger(drink: Drink, at: str) -> Finding:
    text = (
        "{abv} %vol is over the {most} %vol that short carbonated drinks have: it tastes harsh, and little is known of "
        "its CO2. {water} more water a serve brings it down to that; water in place of ice melt counts."
    )
    added_g = mixture.water_to_reach_abv_g(drink.masses, STRONGEST_ABV)
    water = Quantity("volume", mixture.volume_ml(Masses(water_g=added_g)), "up")
    params: dict[str, Value] = {"abv": _shown(drink.abv), "most": STRONGEST_ABV, "water": water}
    return Finding("stronger-than-usual", "warning", at, text, "common-practice", params, carbonate="care")


def _sweeter(drink: Drink, at: str) -> Finding:
    text = (
        "{sugar} of sugar is over the {most} of the sweetest sodas: it takes up {percent} % less CO2 at the same "
        "pressure than without sugar, and foams more when poured."
    )
    hexose = drink.masses.hexose_g / drink.masses.sugar_g
    factor = gas.sugar_factor(drink.sugar_g_per_l * (1.0 - hexose), drink.sugar_g_per_l * hexose)
    params: dict[str, Value] = {
        "sugar": Quantity("sugar", drink.sugar_g_per_l),
        "most": Quantity("sugar", SWEETEST_G_PER_L),
        "percent": _shown(100.0 * (1.0 - factor)),
    }
    return Finding("sweeter-than-usual", "warning", at, text, "common-practice", params, carbonate="care")


def shelf_life(glass: Sequence[Portion], lines: Sequence[Line], at: str) -> Iterator[Finding]:
    """Yield the shortest of all keeping times, and the components likely to go off sooner than anything says.

    at: JSON Pointer of the spec
    """
    stated = [(p.component.keeps_s, i) for i, p in enumerate(glass) if p.component.keeps_s is not None]
    if stated:
        shortest_s, i = min(stated)
        yield _shortest(shortest_s, glass[i].component.name, f"{at}/components/{i}/keeps")
    else:
        text = "No component states how long it keeps: a batch of it gets no use-by."
        yield Finding("shelf-life-unstated", "info", f"{at}/components", text, "default")
    for line in lines:
        yield from _fresh(line)


def _shortest(keeps_s: float, component: str, at: str) -> Finding:
    """Return the finding of the shortest keeping time, graver where the batch does not outlast its night."""
    severity: Severity = "info"
    text = "It keeps {keeps} at {cold} or below, as {component} does: date every vessel."
    if keeps_s <= FRESH_S:
        severity = "warning"
        text = "It keeps {keeps} at {cold} or below, as {component} does: make it on the day, and discard what is left."
    params: dict[str, Value] = {
        "keeps": Quantity("duration", keeps_s),
        "cold": Quantity("temperature", COLD_HOLD_C),
        "component": component,
    }
    return Finding("shelf-life", severity, at, text, "common-practice", params)


def _fresh(line: Line) -> Iterator[Finding]:
    clarity = line.known.clarity
    if clarity is None or clarity == "clear" or line.known.keeps_s is not None or line.component.made_from is not None:
        return
    text = "{component} is {clarity} and states no keeping time: fresh juice keeps {fresh}, cold."
    params: dict[str, Value] = {
        "component": line.component.name,
        "clarity": clarity,
        "fresh": Quantity("duration", FRESH_S),
    }
    yield Finding("keeps-unstated", "warning", f"{line.at}/keeps", text, "common-practice", params)
