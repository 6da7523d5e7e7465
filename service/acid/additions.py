"""Additions that bring a liquid to an acidity: a solution, dry acids, water."""

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
from service.errors import Term
from service.notes import Notes
from service.science import acids
from service.science.mixture import Masses

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
    return Ingredient(Term(f"{product.acid} acid"), gram, product.mass_g, density, product.form)


def _as_liquid(product: Product) -> Liquid:
    """Return an acid with the water it brings, at its apparent volume in water."""
    acid = acids.ACIDS[product.acid]
    acid_ml = product.acid_g * acid.apparent_molar_volume_ml_per_mol / acid.molar_mass_g_per_mol
    return Liquid(Masses(water_g=product.water_g), product.meq, product.acid_g, acid_ml)


def _caution_tartaric(products: tuple[Product, ...], notes: Notes) -> None:
    """Tell of the crystals that tartaric acid makes with potassium."""
    for tartaric in (p for p in products if p.acid == "tartaric"):
        notes.caution("tartaric-meets-potassium", "warning",
                      "Chill a sample first: tartaric acid meets the potassium of juice and wine. Crystals may fall "
                      "in the cold, take acid with them, and make a charged drink gush.",
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
