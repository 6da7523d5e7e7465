"""The mixed drink, as masses that can be added and scaled."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial

from service.drink.litre import impossible, litre_of, sugar_g_per_l
from service.drink.portion import Portion, cloudiest, places
from service.drink.portions import portions
from service.drink.spec import Clarity, Component, Composition, DrinkGiven
from service.drink.water import is_plain_water, is_water_by_analysis, without_strength
from service.errors import within_validity
from service.limits.safety import BOTULINUM_STOPS_PERCENT_WW
from service.notes import Notes
from service.science import gas, mixture
from service.science.band import Band
from service.science.mixture import Masses

_GUSHES = {
    "hazy": "Haze seeds bubbles: it may gush when opened. Clarify it: settle it cold, draw off the top, then filter; "
    "enzyme (pectinase) breaks a fruit haze that will not settle, agar sets it into a gel that drains clear, a "
    "centrifuge is fastest. Else rest it cold and open it slowly.",
    "pulpy": "Pulp seeds bubbles and blocks valves: it will gush when opened. Clarify it before it is charged: strain, "
    "then spin it in a centrifuge, or set it with agar and drain it; enzyme (pectinase) lets more of it settle, "
    "filtering comes last. Taste it again: sugar and acid may have moved.",
}
_FOAMS = (
    "Egg, dairy, tea, coffee, gum and other protein hold foam: leave more headspace, charge gently, rest it long and "
    "cold, open it slowly by stages."
)
"""Cautions of bubbles and foam: how a drink is made clear. Common practice, no source."""


@dataclass(frozen=True)
class Drink:
    """A mixed liquid at 20 degC; `masses` are of any amount, the properties do not depend on it.

    mineral_acid_g: the part of the acid that is not organic
    live_culture_at, unclear_at, foams_at: JSON Pointers of live cultures, of components that are hazy or pulpy, and of
        those that foam, within the request's drink
    analysis_at: JSON Pointer of its stated analysis there; None for a spec
    strength_unstated_at: JSON Pointers of the strengths that nobody stated, there; they count as none
    plain_water: it is known to be water, with or without salts, not merely silent of all else
    """

    masses: Masses
    acid_meq: float
    co2_g: float = 0.0
    clarity: Clarity = "clear"
    foams: bool = False
    live_culture: bool = False
    mineral_acid_g: float = 0.0
    live_culture_at: tuple[str, ...] = ()
    unclear_at: tuple[str, ...] = ()
    foams_at: tuple[str, ...] = ()
    allergens: tuple[str, ...] = ()
    analysis_at: str | None = None
    strength_unstated_at: tuple[str, ...] = ()
    plain_water: bool = False

    def times(self, k: float) -> "Drink":
        """Return k times as much of it."""
        return replace(
            self,
            masses=self.masses.scaled(k),
            acid_meq=self.acid_meq * k,
            co2_g=self.co2_g * k,
            mineral_acid_g=self.mineral_acid_g * k,
        )

    # Cached: everything that a drink is asked for rests on these.

    @cached_property
    def volume_ml(self) -> float:
        return mixture.volume_ml(self.masses)

    @property
    def abv(self) -> float:
        return mixture.strength(self.masses.ethanol_g, self.volume_ml)

    @property
    def alcohol_percent_w_w(self) -> float:
        """Return the grams of ethanol in 100 g of the drink, 0 to 100, CO2 left out."""
        return 100.0 * self.masses.ethanol_g / self.masses.total_g

    @property
    def alcohol_stops_botulinum(self) -> bool:
        """Tell whether there is enough alcohol by weight, see `BOTULINUM_STOPS_PERCENT_WW`.

        By volume that is 7.51 % without sugar, 7.71 with 70 g/l and 7.94 with 150 g/l. Components whose strength
        nobody stated count as holding none.
        """
        return self.alcohol_percent_w_w >= BOTULINUM_STOPS_PERCENT_WW

    @property
    def sugar_g_per_l(self) -> float:
        return 1000.0 * self.masses.sugar_g / self.volume_ml

    @property
    def acid_meq_per_l(self) -> float:
        return 1000.0 * self.acid_meq / self.volume_ml

    @cached_property
    def freezing_point(self) -> Band:
        return mixture.freezing_point(self.masses)

    @cached_property
    def lowest_safe_c(self) -> float:
        return mixture.lowest_safe_c(self.masses)

    @cached_property
    def volume_ml_at(self) -> Callable[[float], float]:
        """The volumes of the drink by temperature [degC]; each is worked out once."""
        return lru_cache(partial(mixture.volume_ml, self.masses))

    @cached_property
    def absorbs_co2(self) -> Callable[[float], gas.Liquid]:
        """The liquids that CO2 dissolves in, by temperature [degC]; each is worked out once."""
        litres = self.volume_ml / 1000.0
        contents = self.abv, self.masses.sucrose_g / litres, self.masses.hexose_g / litres
        return lru_cache(lambda temperature_c: gas.Liquid(temperature_c, *contents))


def mix(parts: Sequence[Portion]) -> Drink:
    """Return the drink that portions make together."""
    return Drink(
        masses=mixture.together([(p.masses, 1.0) for p in parts]),
        acid_meq=sum(p.acid_meq for p in parts),
        co2_g=sum(p.co2_g for p in parts),
        clarity=cloudiest(parts),
        foams=any(p.component.foams for p in parts),
        live_culture=any(p.component.live_culture for p in parts),
        mineral_acid_g=sum(p.mineral_acid_g for p in parts),
        live_culture_at=_where(parts, "live_culture", lambda component: bool(component.live_culture)),
        unclear_at=_where(parts, "clarity", lambda component: component.clarity not in (None, "clear")),
        foams_at=_where(parts, "foams", lambda component: bool(component.foams)),
        allergens=tuple(dict.fromkeys(one for p in parts for one in p.allergens)),
        strength_unstated_at=tuple(pointer for pointer, _ in without_strength(parts, "/spec")),
        plain_water=all(map(is_plain_water, parts)),
    )


def _where(parts: Sequence[Portion], field: str, applies: Callable[[Component], bool]) -> tuple[str, ...]:
    return tuple(f"/spec{pointer}" for pointer in places(parts, field, applies))


def drink_of(given: DrinkGiven, notes: Notes, *, at: str = "/drink") -> Drink:
    """Return the drink that a request names, by spec or by composition.

    raises: Refused ("impossible-composition")
    """
    if given.spec is not None:
        return mix(portions(given.spec, notes, at=f"{at}/spec"))
    assert given.composition is not None
    return _composed(given.composition, notes, f"{at}/composition")


def _composed(known: Composition, notes: Notes, at: str) -> Drink:
    if known.acidity_meq_per_l is None:
        notes.assume("acidity, meq/l", 0.0, "default", at=f"{at}/acidity")
    if known.hexose_share is None:
        hexose = "share of the sugar that is glucose or fructose"
        notes.assume(hexose, 0.0, "default", at=f"{at}/hexose_share")
    with within_validity(at, impossible):
        masses, acid_meq = litre_of(known, sugar_g_per_l(known.sugar, known.abv))
    return Drink(
        masses,
        acid_meq,
        clarity=known.clarity or "clear",
        foams=bool(known.foams),
        live_culture=bool(known.live_culture),
        live_culture_at=("/composition/live_culture",) if known.live_culture else (),
        unclear_at=("/composition/clarity",) if known.clarity not in (None, "clear") else (),
        foams_at=("/composition/foams",) if known.foams else (),
        analysis_at="/composition",
        plain_water=is_water_by_analysis(known),
    )


def caution_bubbles(drink: Drink, notes: Notes, *, at: str = "/drink") -> None:
    """Warn of anything that makes this drink gush or foam once it is charged, and tell how to help it.

    at: JSON Pointer of the drink in the request
    """
    if drink.clarity != "clear":
        notes.caution("gushing", "warning", _GUSHES[drink.clarity], at=_each(at, drink.unclear_at))
    if drink.foams:
        notes.caution("foams", "warning", _FOAMS, at=_each(at, drink.foams_at))


def _each(at: str, within: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(at + where for where in within or ("",))
