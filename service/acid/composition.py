"""The make-up of an acid solution: acids as products, and the water or spirit they are dissolved in."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated, Literal

from service.declared import ACIDITY, MASS, THREE_WAYS, VOLUME, Declared, text
from service.drink import AcidPart
from service.errors import Term
from service.notes import Notes
from service.science import acids, mixture

Basis = Literal["w/w", "w/v", "ta"]
NAME = text(100)
"""Length of the name of an acid, of a product, or of what else is weighed."""
REFERENCE = 1000.0
"""Grams (w/w) or millilitres (w/v, ta) that a solution is first worked out for; then it is sized."""
_ROUNDS = 60


@dataclass(frozen=True)
class Strength:
    """The strength of a solution: acids by per cent, or, with the basis ta, by share of a blend that meets a target."""

    acids: tuple[AcidPart, ...]
    basis: Basis
    target_meq_per_l: float | None = None


@dataclass(frozen=True)
class Product:
    """An acid as it is weighed.

    assay: acid found over acid the form promises; acid_g: pure acid [g], more than 0; at: its JSON Pointer
    """

    acid: Annotated[str, NAME]
    form: Annotated[str, NAME]
    assay: float
    acid_g: float
    at: str

    @property
    def mass_g(self) -> Annotated[float, MASS]:
        return acids.product_g(self.acid_g, self.form, assay=self.assay)

    @property
    def water_g(self) -> float:
        """Water it brings; whatever an assay below 100 % leaves counts as water."""
        return self.mass_g - self.acid_g

    @property
    def meq(self) -> float:
        return self.acid_g * acids.meq_per_g(self.acid)

    @property
    def meq_per_product_g(self) -> float:
        return acids.meq_per_g(self.acid) * acids.FORMS[self.form].acid_fraction * self.assay


@dataclass(frozen=True)
class AcidStrength:
    """Grams of one pure acid in 100 g of the solution."""

    acid: Annotated[str, NAME]
    percent: Declared[float]


@dataclass(frozen=True)
class Mix:
    """A solution by mass. solvent_g: water or spirit to weigh; ethanol_share: ethanol in a gram of it."""

    products: tuple[Product, ...]
    solvent_g: float
    ethanol_share: float

    @property
    def acid_g(self) -> Mapping[str, float]:
        """Pure acid by its name [g]."""
        return {p.acid: p.acid_g for p in self.products}

    @property
    def ethanol_g(self) -> float:
        return self.ethanol_share * self.solvent_g

    @property
    def all_solvent_g(self) -> float:
        """Water and ethanol, with the water that the products bring."""
        return self.solvent_g + sum(p.water_g for p in self.products)

    @cached_property
    def mass_g(self) -> Annotated[float, MASS]:
        return self.solvent_g + sum(p.mass_g for p in self.products)

    @cached_property
    def volume_ml(self) -> Annotated[float, VOLUME]:
        """Volume at 20 degC."""
        water_like_ml = acids.solution_volume_ml(self.acid_g, self.all_solvent_g)
        return water_like_ml + _ethanol_swells_by_ml(self.ethanol_g, self.all_solvent_g)

    @property
    def density_g_per_ml(self) -> Declared[float]:
        return self.mass_g / self.volume_ml

    @property
    def abv(self) -> float:
        return mixture.strength(self.ethanol_g, self.volume_ml)

    @property
    def meq(self) -> float:
        return sum(p.meq for p in self.products)

    @property
    def titratable_acidity_meq_per_l(self) -> Annotated[float, ACIDITY, THREE_WAYS]:
        return 1000.0 * self.meq / self.volume_ml

    @property
    def percent_w_w(self) -> Declared[tuple[AcidStrength, ...]]:
        mass_g = self.mass_g
        return tuple(AcidStrength(acid, 100.0 * g / mass_g) for acid, g in self.acid_g.items())

    @property
    def acid_mol_per_kg_water(self) -> Mapping[str, float]:
        water_kg = (self.all_solvent_g - self.ethanol_g) / 1000.0
        return {a: g / acids.ACIDS[a].molar_mass_g_per_mol / water_kg for a, g in self.acid_g.items()}

    @property
    def acid_mol_per_l(self) -> Mapping[str, float]:
        litres = self.volume_ml / 1000.0
        return {a: g / acids.ACIDS[a].molar_mass_g_per_mol / litres for a, g in self.acid_g.items()}

    def scaled(self, k: float) -> "Mix":
        """Return k times the solution."""
        return Mix(scaled(self.products, k), self.solvent_g * k, self.ethanol_share)


def pure_acid_g(product_g: float, acid: str, form: str | None, purity_percent: float | None) -> float:
    """Return the pure acid in a product as sold [g]; where they are None, its common form, and pure."""
    fraction = acids.FORMS[form or acids.DEFAULT_FORM[acid]].acid_fraction
    return product_g * fraction * (100.0 if purity_percent is None else purity_percent) / 100.0


def scaled(products: tuple[Product, ...], k: float) -> tuple[Product, ...]:
    """Return k times as much of each."""
    return tuple(replace(p, acid_g=p.acid_g * k) for p in products)


def _ethanol_swells_by_ml(ethanol_g: float, solvent_g: float) -> float:
    """Return how much more room ethanol and water take than the same mass of water [ml]; 0 without ethanol."""
    water = mixture.ethanol_water_density_kg_m3(0.0)
    spirit = mixture.ethanol_water_density_kg_m3(ethanol_g / solvent_g)
    return acids.solution_volume_ml({}, solvent_g) * (water / spirit - 1.0)


def products_of(strength: Strength) -> tuple[Product, ...]:
    """Return the products, their forms and purities filled in, for the reference amount of solution."""
    return tuple(
        Product(
            acid=part.acid,
            form=part.form or acids.DEFAULT_FORM[part.acid],
            assay=(part.purity_percent or 100.0) / 100.0,
            acid_g=acid_g,
            at=f"/acids/{i}",
        )
        for i, (part, acid_g) in enumerate(zip(strength.acids, _acid_g(strength), strict=True))
    )


def assume_products(strength: Strength, products: tuple[Product, ...], notes: Notes) -> None:
    """Note the forms and purities that the request left out."""
    for product, part in zip(products, strength.acids, strict=True):
        if part.form is None:
            form = Term(acids.FORMS[product.form].said)
            notes.assume("form of the {acid} acid", form, "common-practice", at=f"{product.at}/form",
                         acid=Term(part.acid))  # fmt: skip
    silent = tuple(f"/acids/{i}/purity_percent" for i, part in enumerate(strength.acids) if part.purity_percent is None)
    if silent:
        notes.assume("purity of the products, % of what the form promises", 100.0, "default", at=silent)
    impure = tuple(f"{p.at}/purity_percent" for p in products if p.assay < 1.0)
    if impure:
        notes.assume("what is not acid in the products", "counts as water", "default", at=impure)


def _acid_g(strength: Strength) -> list[float]:
    """Return the pure acids in the reference amount of solution [g]."""
    if strength.basis != "ta":
        return [(part.percent or 0.0) / 100.0 * REFERENCE for part in strength.acids]
    shares = [part.share or 1.0 for part in strength.acids]  # one acid alone needs no share
    meq_of_shares = sum(s * acids.meq_per_g(part.acid) for s, part in zip(shares, strength.acids, strict=True))
    meq = (strength.target_meq_per_l or 0.0) * REFERENCE / 1000.0
    return [s * meq / meq_of_shares for s in shares]


def compose(products: tuple[Product, ...], *, basis: Basis, ethanol_share: float) -> Mix:
    """Return the products in solvent, as the reference amount; solvent_g below zero means that they do not fit.

    w/w: m_solvent = 1000 g - sum(m_product)
    w/v, ta: m_solvent such that the volume at 20 degC is 1000 ml

    raises: OutsideValidity where the volume of so strong a solution is not known
    """
    brought_g = sum(p.water_g for p in products)
    if basis == "w/w":
        return Mix(products, REFERENCE - sum(p.mass_g for p in products), ethanol_share)
    acid_g, swells_by_ml, solvent_g = {p.acid: p.acid_g for p in products}, 0.0, 0.0
    for _ in range(_ROUNDS):  # without ethanol the first round is exact; with it each round gains two digits
        before, solvent_g = solvent_g, acids.water_for_volume_g(acid_g, REFERENCE - swells_by_ml)
        if abs(solvent_g - before) <= 1e-12 * REFERENCE or solvent_g <= brought_g:
            return Mix(products, solvent_g - brought_g, ethanol_share)
        swells_by_ml = _ethanol_swells_by_ml(ethanol_share * (solvent_g - brought_g), solvent_g)
    raise ArithmeticError("volume did not settle")
