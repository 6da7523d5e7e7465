"""The drink: a spec of components, or a stated composition, as masses that can be added and scaled."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce
from operator import add
from typing import Any, Literal

from service.errors import Fault, OutsideValidity, Refused
from service.notes import Notes
from service.science import acids, gas, mixture
from service.science.band import Band
from service.science.mixture import Masses
from service.science.units import Quantity

Clarity = Literal["clear", "hazy", "pulpy"]
CLARITY_ORDER: tuple[Clarity, ...] = ("clear", "hazy", "pulpy")


@dataclass(frozen=True)
class Amount:
    """A volume [ml] or a mass [g] with the unit it was written in."""

    quantity: Quantity
    unit: str


@dataclass(frozen=True)
class Sugar:
    """Sugar as grams per litre, or as degrees Brix (g per 100 g)."""

    value: float
    unit: Literal["g/l", "brix"]


@dataclass(frozen=True)
class AcidPart:
    """One acid of a solution: percent of the basis (or share of a blend), as the product weighed."""

    acid: str
    percent: float | None = None
    share: float | None = None
    form: str | None = None
    purity_percent: float | None = None


@dataclass(frozen=True)
class AcidRecipe:
    """Acids by per cent, w/w or w/v."""

    acids: tuple[AcidPart, ...]
    basis: Literal["w/w", "w/v"]


@dataclass(frozen=True)
class Syrup:
    """Sucrose to water, by mass or by (bulk) volume."""

    sugar_to_water: float
    by: Literal["mass", "volume"]


@dataclass(frozen=True)
class Component:
    """One line of a spec. None means the bar did not say."""

    name: str
    amount: Amount
    abv: float | None = None
    sugar: Sugar | None = None
    hexose_share: float | None = None
    acidity_meq_per_l: float | None = None
    salt_g_per_l: float | None = None
    density_g_per_ml: float | None = None
    co2_g_per_l: float | None = None
    clarity: Clarity | None = None
    foams: bool | None = None
    live_culture: bool | None = None
    ph: float | None = None
    allergens: tuple[str, ...] | None = None
    keeps_s: float | None = None
    acid_solution: AcidRecipe | None = None
    syrup: Syrup | None = None
    stock_code: str | None = None
    stock_unit: str | None = None


@dataclass(frozen=True)
class Serve:
    """How the glass is finished; for people, not for arithmetic."""

    glass: str | None = None
    ice: str | None = None
    garnish: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class Spec:
    """One glass, as the bar writes it."""

    name: str
    components: tuple[Component, ...]
    serve: Serve = field(default_factory=Serve)
    original: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)
    """The spec as received, which `spec_id` is computed over."""


@dataclass(frozen=True)
class Composition:
    """A drink known by its analysis, not by its recipe."""

    abv: float
    sugar: Sugar
    acidity_meq_per_l: float | None = None
    hexose_share: float | None = None
    salt_g_per_l: float | None = None
    clarity: Clarity | None = None
    foams: bool | None = None
    live_culture: bool | None = None


@dataclass(frozen=True)
class DrinkGiven:
    """Exactly one of the two."""

    spec: Spec | None = None
    composition: Composition | None = None


@dataclass(frozen=True)
class Portion:
    """What one component brings to one glass."""

    component: Component
    volume_ml: float
    masses: Masses
    acid_meq: float
    co2_g: float


@dataclass(frozen=True)
class Drink:
    """A mixed liquid at 20 degC; `masses` are of any amount, the properties do not depend on it."""

    masses: Masses
    acid_meq: float
    co2_g: float = 0.0
    clarity: Clarity = "clear"
    foams: bool = False
    live_culture: bool = False

    @property
    def volume_ml(self) -> float:
        return mixture.volume_ml(self.masses)

    @property
    def abv(self) -> float:
        return mixture.abv(self.masses)

    @property
    def sugar_g_per_l(self) -> float:
        return mixture.sugar_g_per_l(self.masses)

    @property
    def acid_meq_per_l(self) -> float:
        return 1000.0 * self.acid_meq / self.volume_ml

    @property
    def freezing_point(self) -> Band:
        return mixture.freezing_point(self.masses)

    @property
    def lowest_safe_c(self) -> float:
        return mixture.lowest_safe_c(self.masses)

    def absorbs_co2(self, temperature_c: float, *, solubility_factor: float = 1.0) -> gas.Liquid:
        """The drink as CO2 sees it at a temperature [degC]."""
        litres = self.volume_ml / 1000.0
        return gas.Liquid(
            temperature_c=temperature_c,
            abv=self.abv,
            sucrose_g_per_l=self.masses.sucrose_g / litres,
            hexose_g_per_l=self.masses.hexose_g / litres,
            solubility_factor=solubility_factor,
        )


_DEFAULTED: Mapping[str, tuple[str, float | str]] = {
    "abv": ("alcohol of components that state none, %vol", 0.0),
    "sugar": ("sugar of components that state none, g/l", 0.0),
    "acidity_meq_per_l": ("acidity of components that state none, meq/l", 0.0),
}
_FIELD = {"acidity_meq_per_l": "acidity"}


def portions(spec: Spec, notes: Notes, *, at: str = "/spec") -> tuple[Portion, ...]:
    """What each component brings to one glass.

    at: JSON Pointer of the spec in the request
    raises: Refused, with every component that cannot exist named
    """
    found: list[Portion] = []
    refusals: list[Refused] = []
    for i, component in enumerate(spec.components):
        try:
            found.append(portion(component, at=f"{at}/components/{i}"))
        except Refused as refused:
            refusals.append(refused)
    if refusals:
        raise Refused(
            refusals[0].slug,
            [f for r in refusals for f in r.faults],
            facts=[f for r in refusals for f in r.facts],
            nearest=[n for r in refusals for n in r.nearest],
        )
    _assume_defaults(spec.components, notes, at)
    return tuple(found)


def portion(component: Component, *, at: str) -> Portion:
    """One component's volume, masses, acid and CO2.

    raises: Refused ("impossible-composition") when strength, sugar and density cannot all be true
    """
    try:
        per_litre, acid_meq_per_l = _litre_of(component)
        density = mixture.density_g_per_ml(per_litre)
    except OutsideValidity as outside:
        raise Refused("impossible-composition", [Fault(at, "impossible-composition", str(outside))]) from None
    amount = component.amount.quantity
    volume_ml = amount.value if amount.kind == "volume" else amount.value / density
    litres = volume_ml / 1000.0
    return Portion(
        component, volume_ml, per_litre.scaled(litres), acid_meq_per_l * litres, (component.co2_g_per_l or 0.0) * litres
    )


def _litre_of(component: Component) -> tuple[Masses, float]:
    """Masses and acid [meq] in a litre of a component."""
    if component.acid_solution is not None:
        return litre_of_acid_solution(component.acid_solution)
    abv = component.abv or 0.0
    sugar = _sugar_g_per_l(component, abv)
    acid_meq = component.acidity_meq_per_l or 0.0
    masses = mixture.masses_of(
        1000.0,
        abv=abv,
        sugar_g_per_l=sugar,
        hexose_share=component.hexose_share or 0.0,
        acid_g_per_l=acids.as_g_per_l(acid_meq, "citric"),
        salt_g_per_l=component.salt_g_per_l or 0.0,
        density_g_per_ml=component.density_g_per_ml,
    )
    return masses, acid_meq


def _sugar_g_per_l(component: Component, abv: float) -> float:
    if component.syrup is not None:
        return mixture.sugar_g_per_l_from_brix(syrup_brix(component.syrup))
    return sugar_g_per_l(component.sugar, abv) if component.sugar is not None else 0.0


def sugar_g_per_l(sugar: Sugar, abv: float) -> float:
    """Grams of sugar per litre, whichever way it was stated."""
    return sugar.value if sugar.unit == "g/l" else mixture.sugar_g_per_l_from_brix(sugar.value, abv)


SUGAR_BULK_G_PER_ML = 0.845
"""Granulated sugar, loose [g/ml]; USDA SR 169655, 200 g to a US cup of 236.6 ml."""


def syrup_brix(syrup: Syrup) -> float:
    """Degrees Brix of a syrup; by volume the sugar is loose granulated sugar, an estimate."""
    ratio = syrup.sugar_to_water
    if syrup.by == "volume":
        ratio *= SUGAR_BULK_G_PER_ML / (mixture.sucrose_water_density_kg_m3(0.0) / 1000.0)
    return 100.0 * ratio / (1.0 + ratio)


def litre_of_acid_solution(recipe: AcidRecipe) -> tuple[Masses, float]:
    """Masses and acid [meq] in a litre of an acid solution in water.

    raises: OutsideValidity when the acids leave no room for water
    """
    if recipe.basis == "w/v":
        acid_g = {part.acid: 10.0 * (part.percent or 0.0) for part in recipe.acids}
        water_g = acids.water_for_volume_g(acid_g, 1000.0)
    else:
        acid_g = {part.acid: part.percent or 0.0 for part in recipe.acids}
        water_g = 100.0 - sum(acid_g.values())
        scale = 1000.0 / acids.solution_volume_ml(acid_g, water_g)
        acid_g, water_g = {a: g * scale for a, g in acid_g.items()}, water_g * scale
    meq = sum(g * acids.meq_per_g(a) for a, g in acid_g.items())
    return Masses(water_g=water_g, acid_g=sum(acid_g.values())), meq


def _assume_defaults(components: Sequence[Component], notes: Notes, at: str) -> None:
    for attribute, (name, value) in _DEFAULTED.items():
        silent = tuple(
            f"{at}/components/{i}/{_FIELD.get(attribute, attribute)}"
            for i, c in enumerate(components)
            if getattr(c, attribute) is None and c.acid_solution is None and not (attribute == "sugar" and c.syrup)
        )
        if silent:
            notes.assume(name, value, "default", at=silent)
    ounces = tuple(f"{at}/components/{i}/amount" for i, c in enumerate(components) if c.amount.unit == "oz")
    if ounces:
        notes.assume(
            "oz is the US fluid ounce",
            Quantity("volume", 29.5735295625),
            "published",
            "NIST Handbook 44, Appendix C",
            at=ounces,
        )
    by_volume = tuple(
        f"{at}/components/{i}/syrup" for i, c in enumerate(components) if c.syrup and c.syrup.by == "volume"
    )
    if by_volume:
        notes.assume("loose granulated sugar, g/ml", SUGAR_BULK_G_PER_ML, "published", "USDA SR 169655", at=by_volume)


def mix(parts: Sequence[Portion]) -> Drink:
    """The drink that portions make together."""
    return Drink(
        masses=reduce(add, (p.masses for p in parts)),
        acid_meq=sum(p.acid_meq for p in parts),
        co2_g=sum(p.co2_g for p in parts),
        clarity=CLARITY_ORDER[max(CLARITY_ORDER.index(p.component.clarity or "clear") for p in parts)],
        foams=any(p.component.foams for p in parts),
        live_culture=any(p.component.live_culture for p in parts),
    )


def drink_of(given: DrinkGiven, notes: Notes, *, at: str = "/drink") -> Drink:
    """The drink that a request names, by spec or by composition.

    raises: Refused ("impossible-composition")
    """
    if given.spec is not None:
        return mix(portions(given.spec, notes, at=f"{at}/spec"))
    composition: Any = given.composition
    acid_meq = composition.acidity_meq_per_l or 0.0
    if composition.acidity_meq_per_l is None:
        notes.assume("acidity, meq/l", 0.0, "default", at=f"{at}/composition/acidity")
    if composition.hexose_share is None:
        notes.assume(
            "share of the sugar that is glucose or fructose", 0.0, "default", at=f"{at}/composition/hexose_share"
        )
    try:
        masses = mixture.masses_of(
            1000.0,
            abv=composition.abv,
            sugar_g_per_l=sugar_g_per_l(composition.sugar, composition.abv),
            hexose_share=composition.hexose_share or 0.0,
            acid_g_per_l=acids.as_g_per_l(acid_meq, "citric"),
            salt_g_per_l=composition.salt_g_per_l or 0.0,
        )
    except OutsideValidity as outside:
        fault = Fault(f"{at}/composition", "impossible-composition", str(outside))
        raise Refused("impossible-composition", [fault]) from None
    return Drink(
        masses, acid_meq, 0.0, composition.clarity or "clear", bool(composition.foams), bool(composition.live_culture)
    )
