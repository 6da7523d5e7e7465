"""Additions that bring a liquid to an acidity: a solution, dry acids, water, potassium bicarbonate."""

from dataclasses import dataclass
from functools import reduce
from operator import add
from typing import Annotated

from service.acid import cautions
from service.acid.composition import Mix, Product, Strength, assume_products, products_of, scaled
from service.acid.limits import mixed
from service.acid.liquid import Liquid
from service.declared import number
from service.drink import AcidPart, AcidRecipe
from service.notes import Notes
from service.science import acids
from service.science.mixture import Masses
from service.science.salts import SALTS
from service.science.units import Quantity, from_base

_ANY_MEQ_PER_L = 1000.0
"""Dry acids are worked out for some target, then by the gram."""


@dataclass(frozen=True)
class DilutionWater:
    """Water to dilute with."""

    alkalinity_meq_per_l: Annotated[
        float | None,
        number(low=0.0, high=20.0),
        "The carbonate in it, which takes acid away; 0 unless stated.",
    ] = None


@dataclass(frozen=True)
class Ingredient:
    """One thing to weigh. gram: what a gram of it brings; share: grams of it in a gram of the whole addition.

    density_g_per_ml: None for a powder
    """

    name: str
    gram: Liquid
    share: float = 1.0
    density_g_per_ml: float | None = None
    form: str | None = None


@dataclass(frozen=True)
class Addition:
    """Ingredients that are added together. products: the acids in a gram of it, as weighed."""

    ingredients: tuple[Ingredient, ...]
    products: tuple[Product, ...] = ()

    @property
    def gram(self) -> Liquid:
        """A gram of it, as it adds to a liquid."""
        return reduce(add, (one.gram.scaled(one.share) for one in self.ingredients))


def addition_of_solution(recipe: AcidRecipe, coldest_c: float, notes: Notes, *, at: str) -> Addition:
    """Return an acid solution in water, to be added.

    at: JSON Pointer of the solution
    raises: Refused ("impossible-solution", "outside-validity"), with the strongest that works
    """
    strength = Strength(recipe.acids, recipe.basis)
    with notes.within({"": at}):
        mix = mixed(strength, ethanol_share=0.0, coldest_c=coldest_c)
        assume_products(strength, mix.products, notes)
        cautions.of_products(mix.products, notes)
        cautions.of_acids(mix, "ta", notes)  # no per cent is held against citric here: the acidity is what counts
        _caution_tartaric(mix.products, notes)
    products = scaled(mix.products, 1.0 / mix.mass_g)
    water = Liquid(Masses(water_g=mix.solvent_g / mix.mass_g))
    gram = reduce(add, (_as_liquid(p) for p in products), water)
    return Addition((Ingredient("acid solution", gram, density_g_per_ml=mix.mass_g / mix.volume_ml),), products)


def addition_of_dry_acids(parts: tuple[AcidPart, ...], notes: Notes, *, at: str) -> Addition:
    """Return acids as sold, to be added as they are, by share.

    at: JSON Pointer of the list of acids
    """
    blend = Strength(parts, "ta", _ANY_MEQ_PER_L)
    products = products_of(blend)
    with notes.within({"/acids": at}):
        assume_products(blend, products, notes)
        cautions.of_products(products, notes)
        _caution_tartaric(products, notes)
    products = scaled(products, 1.0 / sum(p.mass_g for p in products))
    return Addition(tuple(_ingredient(p) for p in products), products)


def _ingredient(product: Product) -> Ingredient:
    gram = _as_liquid(product).scaled(1.0 / product.mass_g)
    density = acids.FORMS[product.form].density_g_per_ml
    return Ingredient(f"{product.acid} acid", gram, product.mass_g, density, product.form)


def _as_liquid(product: Product) -> Liquid:
    """Return an acid with the water it brings, at its apparent volume in water."""
    acid = acids.ACIDS[product.acid]
    acid_ml = product.acid_g * acid.apparent_molar_volume_ml_per_mol / acid.molar_mass_g_per_mol
    return Liquid(Masses(water_g=product.water_g), product.meq, product.acid_g, acid_ml)


def _caution_tartaric(products: tuple[Product, ...], notes: Notes) -> None:
    """Tell of the crystals that tartaric acid makes with potassium."""
    for tartaric in (p for p in products if p.acid == "tartaric"):
        notes.caution("tartaric-meets-potassium", "warning",
                      "Tartaric acid meets the potassium of juice and wine: crystals may fall in the cold, take acid "
                      "with them, and make a charged drink gush. Chill a sample first.",
                      at=tartaric.at)  # fmt: skip


def addition_of_water(water: DilutionWater, notes: Notes, *, at: str) -> Addition:
    """Return water to be added, and the acid that its carbonate takes away.

    at: JSON Pointer of the water
    """
    if water.alkalinity_meq_per_l is None:
        notes.assume("alkalinity of the water, meq/l", 0.0, "default", "tap water may hold 1 to 6 (from memory)",
                     at=f"{at}/alkalinity_meq_per_l")  # fmt: skip
    gram = Liquid(Masses(water_g=1.0))
    taken_meq = (water.alkalinity_meq_per_l or 0.0) * gram.volume_ml / 1000.0
    alkaline = Liquid(gram.masses, -taken_meq)
    return Addition((Ingredient("water", alkaline, density_g_per_ml=1.0 / gram.volume_ml),))


def acids_in(addition: Addition, grams: float, finished: Liquid) -> Mix:
    """Return the acids added, in the water and ethanol of the finished liquid."""
    products = scaled(addition.products, grams)
    solvent_g = finished.masses.ethanol_g + finished.masses.water_g - sum(p.water_g for p in products)
    return Mix(products, solvent_g, finished.masses.ethanol_g / solvent_g)


SALT = SALTS["potassium-bicarbonate"]


@dataclass(frozen=True)
class Bicarbonate:
    """Potassium bicarbonate as sold."""

    purity_percent: Annotated[
        float | None,
        number(low=50.0, high=100.0),
        "Assay of the product; 100 unless stated. The rest counts as water.",
    ] = None


@dataclass(frozen=True)
class Neutralised:
    """Acid neutralised by pure bicarbonate. salt_g: of the bicarbonate"""

    salt_g: float

    @property
    def co2_g(self) -> float:
        return self.salt_g * SALT.co2_g_per_g

    @property
    def potassium_g(self) -> float:
        return self.salt_g * SALT.potassium_g_per_g

    @property
    def meq(self) -> float:
        return self.salt_g * SALT.meq_per_g


def addition_of_bicarbonate(given: Bicarbonate, notes: Notes, *, at: str) -> Addition:
    """Return bicarbonate to be added: KHCO3 + H+ = K+ + H2O + CO2, the gas gone.

    The water formed adds its volume; potassium in place of the acid's hydrogen ion adds none.

    at: JSON Pointer of the bicarbonate
    """
    if given.purity_percent is None:
        notes.assume("purity of the potassium bicarbonate, %", 100.0, "default", at=f"{at}/purity_percent")
    notes.assume("volume of potassium in place of hydrogen, ml", 0.0, "estimate",
                 "the ion swells about as much as the acid shrinks when it dissociates")  # fmt: skip
    pure = (given.purity_percent or 100.0) / 100.0
    water_g = pure * SALT.water_g_per_g + (1.0 - pure)  # what is not bicarbonate counts as water
    stays_g = 1.0 - pure * SALT.co2_g_per_g - water_g
    gram = Liquid(Masses(water_g=water_g), -pure * SALT.meq_per_g, stays_g)
    return Addition((Ingredient("potassium bicarbonate", gram),))


def caution_bicarbonate(done: Neutralised, finished: Liquid, notes: Notes, *, at: str) -> None:
    """Warn of the gas, the crystals and the pH that bicarbonate brings, before it is stirred in.

    at: JSON Pointer of the bicarbonate
    """
    notes.caution("co2-released", "danger",
                  "It sets {mass} of CO2 free, {litres} l of gas, and foams: use an open vessel twice as large, in "
                  "moving air; add it in portions and stir until it is quiet. Never in a closed vessel or one that is "
                  "closed soon after, and never in a charged drink.",
                  at=at, mass=Quantity("mass", done.co2_g), litres=from_base("co2", done.co2_g, "volumes"))  # fmt: skip
    least_meq_per_l = finished.titratable_acidity_meq_per_l - 1000.0 * done.meq / finished.volume_ml
    notes.caution("bitartrate-may-fall", "warning",
                  "Where the liquid holds tartaric acid (grapes, wine, verjus) the {potassium} of potassium may fall "
                  "as potassium hydrogen tartrate, in the cold over weeks, and take as much acid again: to {least} at "
                  "worst. Chill, rack and titrate before it is carbonated: crystals make a charged drink gush.",
                  at=at, potassium=Quantity("mass", done.potassium_g),
                  least=Quantity("acidity", max(least_meq_per_l, 0.0)))  # fmt: skip
    notes.caution("ph-rises", "warning",
                  "The pH rises more than dilution would raise it. Measure it: above pH 4.2 a drink keeps less well, "
                  "above 4.6 it is a low-acid drink. Whether {e_number} may be used here is for local code.",
                  at=at, e_number=SALT.e_number)  # fmt: skip
    notes.assume("potassium bicarbonate for 1 g/l of tartaric acid, g/l", acids.meq_per_g("tartaric") / SALT.meq_per_g,
                 "published", "stoichiometry; half of it where all the potassium falls as bitartrate, about 0.9 for "
                 "wine (common practice, no source)", code="bicarbonate-for-tartaric")  # fmt: skip
