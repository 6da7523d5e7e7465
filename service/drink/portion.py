"""What the components of a spec bring to one glass."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.drink.spec import AcidRecipe, Component, Composition, Spec, Sugar, Syrup
from service.errors import Fact, Fault, Nearest, OutsideValidity, Refused
from service.notes import Notes
from service.science import acids, mixture
from service.science.mixture import Masses
from service.science.rounding import rounded_up
from service.science.units import FACTORS, Quantity

SUGAR_BULK_G_PER_ML = 0.845
"""Granulated sugar, loose [g/ml]; USDA SR 169655, 200 g to a US cup of 236.6 ml."""
DENSITY_TOLERANCE = 0.02
"""How far a litre of stated density may be from a litre by its contents [-]; estimate: pulp, fat, rounded labels."""
DENSITY_NOTED = 0.004
"""From where it is said that the two differ [-]; below, `mixture.volume_ml` itself may be as far off."""
MINERAL_ACIDS = frozenset({"phosphoric"})
"""Those of the acids that are not organic, and so are no nutrient by Regulation (EU) No 1169/2011, Annex XIV."""
_DEFAULTED = {
    "abv": ("abv", "alcohol of components that state none, %vol"),
    "sugar": ("sugar", "sugar of components that state none, g/l"),
    "acidity": ("acidity_meq_per_l", "acidity of components that state none, meq/l"),
}
"""Field of a component -> its name in the core, and what is assumed to be none where it is left out."""


@dataclass(frozen=True)
class Portion:
    """What one component brings to one glass. mineral_acid_g: of its acid, what is not organic."""

    component: Component
    volume_ml: float
    masses: Masses
    acid_meq: float = 0.0
    co2_g: float = 0.0
    mineral_acid_g: float = 0.0

    def times(self, k: float) -> "Portion":
        """k times as much."""
        return Portion(
            self.component,
            self.volume_ml * k,
            self.masses.scaled(k),
            self.acid_meq * k,
            self.co2_g * k,
            self.mineral_acid_g * k,
        )


def portions(spec: Spec, notes: Notes, *, at: str = "/spec") -> tuple[Portion, ...]:
    """What each component brings to one glass.

    at: JSON Pointer of the spec in the request
    raises: Refused, with every component that cannot exist named
    """
    found: list[Portion] = []
    refusals: list[Refused] = []
    for i, component in enumerate(spec.components):
        try:
            found.append(_portion(component, at=f"{at}/components/{i}"))
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
    _caution_densities(found, notes, at)
    return tuple(found)


def _portion(component: Component, *, at: str) -> Portion:
    """One component's volume, masses, acid and CO2; its volume is as stated, or its mass by the density of a litre.

    raises: Refused ("impossible-composition") when strength, sugar and density cannot all be true
    """
    try:
        litre = _litre_of(component, at)
    except OutsideValidity as outside:
        raise Refused("impossible-composition", [Fault(at, "impossible-composition", str(outside))]) from None
    amount = component.amount.quantity
    return litre.times(amount.value / (litre.volume_ml if amount.kind == "volume" else litre.masses.total_g))


def _litre_of(component: Component, at: str) -> Portion:
    """A litre of a component."""
    if component.acid_solution is not None:
        return _litre_of_acid_solution(component, component.acid_solution)
    sugar = _sugar_g_per_l(component)
    masses, acid_meq = litre_of(component, sugar)
    if component.density_g_per_ml is not None:
        masses = _weighed_litre(component, sugar, masses, f"{at}/density_g_per_ml")
    return Portion(component, 1000.0, masses, acid_meq, component.co2_g_per_l or 0.0)


def _weighed_litre(component: Component, sugar_g_per_l: float, contents: Masses, at: str) -> Masses:
    """Masses in a litre of stated density; what it weighs beyond its contents counts as water.

    contents: of a litre by strength, sugar, acid and salt alone
    raises: Refused, with the density that those have
    """
    try:
        weighed, _ = litre_of(component, sugar_g_per_l, density_g_per_ml=component.density_g_per_ml)
        if abs(mixture.volume_ml(weighed) / 1000.0 - 1.0) <= DENSITY_TOLERANCE:
            return weighed
    except OutsideValidity:
        pass  # no room for water: refused like any other contradiction
    text = "The stated strength, sugar, acid and salt make {found}. State what else it holds, or leave the density out."
    found = Quantity("density", contents.total_g / 1000.0)
    raise Refused("impossible-composition", [Fault(at, "impossible-composition", text, (("found", found),))],
                  facts=[Fact("density_of_the_contents", found)],
                  nearest=[Nearest(at, rounded_up(found.value, 0.0001))])  # fmt: skip


def litre_of(
    known: Component | Composition, sugar_g_per_l: float, *, density_g_per_ml: float | None = None
) -> tuple[Masses, float]:
    """Masses and acid [meq] in a litre of a liquid known by its analysis.

    raises: OutsideValidity
    """
    acid_meq = known.acidity_meq_per_l or 0.0
    masses = mixture.masses_of(
        1000.0,
        abv=known.abv or 0.0,
        sugar_g_per_l=sugar_g_per_l,
        hexose_share=known.hexose_share or 0.0,
        acid_g_per_l=acids.as_g_per_l(acid_meq, "citric"),
        salt_g_per_l=known.salt_g_per_l or 0.0,
        density_g_per_ml=density_g_per_ml,
    )
    return masses, acid_meq


def _sugar_g_per_l(component: Component) -> float:
    if component.syrup is not None:
        return mixture.sugar_g_per_l_from_brix(_syrup_brix(component.syrup))
    return sugar_g_per_l(component.sugar, component.abv or 0.0) if component.sugar is not None else 0.0


def sugar_g_per_l(sugar: Sugar, abv: float) -> float:
    """Grams of sugar per litre, whichever way it was stated."""
    return sugar.value if sugar.unit == "g/l" else mixture.sugar_g_per_l_from_brix(sugar.value, abv)


def _syrup_brix(syrup: Syrup) -> float:
    """Degrees Brix of a syrup; by volume the sugar is loose granulated sugar, an estimate."""
    ratio = syrup.sugar_to_water
    if syrup.by == "volume":
        ratio *= SUGAR_BULK_G_PER_ML / (mixture.sucrose_water_density_kg_m3(0.0) / 1000.0)
    return 100.0 * ratio / (1.0 + ratio)


def _litre_of_acid_solution(component: Component, recipe: AcidRecipe) -> Portion:
    """A litre of an acid solution in water.

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
    if not water_g > 0.0:
        raise OutsideValidity("water beside the acids", water_g, 0.0, 1000.0, "g/L")
    meq = sum(g * acids.meq_per_g(a) for a, g in acid_g.items())
    mineral_g = sum(g for a, g in acid_g.items() if a in MINERAL_ACIDS)
    masses = Masses(water_g=water_g, acid_g=sum(acid_g.values()))
    return Portion(component, 1000.0, masses, meq, component.co2_g_per_l or 0.0, mineral_g)


def _assume_defaults(components: Sequence[Component], notes: Notes, at: str) -> None:
    def pointers(field: str, applies: Iterable[bool]) -> tuple[str, ...]:
        return tuple(f"{at}/components/{i}/{field}" for i, yes in enumerate(applies) if yes)

    for field, (attribute, name) in _DEFAULTED.items():
        known = [c.acid_solution is not None or (field == "sugar" and c.syrup is not None) for c in components]
        stated = [getattr(c, attribute) is not None for c in components]
        silent = pointers(field, [not (k or s) for k, s in zip(known, stated, strict=True)])
        if silent:
            notes.assume(name, 0.0, "default", at=silent)
    dense = pointers("density_g_per_ml", [c.density_g_per_ml is not None for c in components])
    if dense:
        text = f"counts as water; within {100.0 * DENSITY_TOLERANCE:g} % of the volume"
        notes.assume("what a stated density holds beyond strength, sugar, acid and salt", text, "estimate", at=dense)
    assume_ounces(pointers("amount", [c.amount.unit == "oz" for c in components]), notes)
    loose = pointers("syrup", [c.syrup is not None and c.syrup.by == "volume" for c in components])
    if loose:
        notes.assume("loose granulated sugar, g/ml", SUGAR_BULK_G_PER_ML, "published", "USDA SR 169655", at=loose)


def _caution_densities(found: Sequence[Portion], notes: Notes, at: str) -> None:
    text = "The density of {component} and its other contents differ by {percent} %; volume and strength shift with it."
    for i, portion in enumerate(found):
        if portion.component.density_g_per_ml is None:
            continue
        percent = 100.0 * abs(mixture.volume_ml(portion.masses) / portion.volume_ml - 1.0)
        if percent > 100.0 * DENSITY_NOTED:
            where, name = f"{at}/components/{i}/density_g_per_ml", portion.component.name
            notes.caution("density-differs", "info", text, at=where, component=name, percent=percent)


def assume_ounces(at: tuple[str, ...], notes: Notes) -> None:
    """Say which ounce is meant where amounts are in ounces."""
    if at:
        ounce = Quantity("volume", FACTORS["volume"]["oz"])
        notes.assume("oz is the US fluid ounce", ounce, "published", "NIST Handbook 44, Appendix C", at=at)
