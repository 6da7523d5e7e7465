"""The card on the wall: an acid solution by what is weighed into it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any

from service.acid.composition import Strength, pure_acid_g
from service.acid.limits import least_that_works, possible
from service.declared import choice, items, mass, number, shape
from service.drink import AcidName, AcidPart, Amount, form_of_the_acid, once_each
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.requests import MOST_ACIDS
from service.science.acids import FORMS
from service.science.units import Quantity

_TRACE_OF_WATER = 1e-3
"""Share of the products' mass from which more water is looked for where a card has none."""
Form = Annotated[str | None, choice(FORMS), "The product as weighed; the common one of the acid when left out."]
Purity = Annotated[float | None, number(low=50.0, high=100.0), "Assay of the product, of its nominal acid."]


@shape(rules=[form_of_the_acid])
@dataclass(frozen=True)
class WeighedAcid:
    """One acid of a recipe, as it is weighed."""

    acid: AcidName
    mass_g: Annotated[float, mass(low=0.01, high=100_000.0)]
    form: Form = None
    purity_percent: Purity = None

    @property
    def acid_g(self) -> float:
        """Pure acid in it."""
        return pure_acid_g(self.mass_g, self.acid, self.form, self.purity_percent)


def each_acid_once(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find acids of a card that stand twice."""
    return once_each(sent.get("products"), at="/products")


@shape(rules=[each_acid_once])
@dataclass(frozen=True)
class AcidsAsWeighed:
    """A recipe as the card on the wall has it: what is weighed together."""

    products: Annotated[tuple[WeighedAcid, ...], items(MOST_ACIDS)]
    water_g: Annotated[float, mass(low=0.0, high=1_000_000.0)]

    @property
    def mass_g(self) -> float:
        """All that is weighed."""
        return self.water_g + sum(product.mass_g for product in self.products)

    @property
    def size(self) -> Amount:
        """The size that the card makes."""
        return Amount(Quantity("mass", self.mass_g), "g")

    @property
    def strength(self) -> Strength:
        """The same recipe by per cent w/w: 100 m f assay / (water + sum of the products)."""
        parts = (
            AcidPart(p.acid, 100.0 * p.acid_g / self.mass_g, form=p.form, purity_percent=p.purity_percent)
            for p in self.products
        )
        return Strength(tuple(parts), "w/w")


def pointers_on(card: AcidsAsWeighed, size: Amount | None) -> dict[str, str | None]:
    """Return where pointers of a solution by per cent stand on a card, made in that size or its own."""
    masses = {f"/acids/{i}/percent": f"/as_weighed/products/{i}/mass" for i in range(len(card.products))}
    return {
        "/acids": "/as_weighed/products",
        "/basis": "/as_weighed",
        "/size": "/as_weighed" if size is None else "/size",
        **masses,
    }


def check_card(card: AcidsAsWeighed, *, coldest_c: float) -> None:
    """Refuse a card whose acids do not stay dissolved, or that is too strong to be known, with enough water.

    raises: Refused ("impossible-solution", "outside-validity")
    """

    def works(water_g: float) -> bool:
        weaker = replace(card, water_g=water_g)
        try:
            possible(weaker.strength, ethanol_share=0.0, coldest_c=coldest_c)
        except Refused:
            return False
        return True

    try:
        possible(card.strength, ethanol_share=0.0, coldest_c=coldest_c)
    except Refused as refused:
        start_g = card.water_g or _TRACE_OF_WATER * card.mass_g
        enough = Quantity("mass", least_that_works(start_g, works), shown="up")
        raise _with_water(refused, enough) from None


def _with_water(refused: Refused, enough: Quantity) -> Refused:
    """Return the refusal with the water that makes the card possible."""
    first, *rest = refused.faults
    told = Fault(first.pointer, first.code, _WITH_WATER[first.code], (*first.params, ("enough", enough)))
    return Refused(refused.slug, [told, *rest], facts=[*refused.facts, Fact("least_water", enough)],
                   nearest=[Nearest("/as_weighed/water", enough)])  # fmt: skip


_WITH_WATER = {
    "no-room-for-water": "Take {enough} of water or more: the acids leave no room for water.",
    "too-strong": (
        "Take {enough} of water or more: nothing tells the volume of so strong a solution, {what} {value} is outside "
        "{low} to {high}."
    ),
    "products-bring-too-much-water": (
        "Take {enough} of water or more: the products bring more water than the solution holds."
    ),
    "over-saturation": (
        "Take {enough} of water or more: {percent} % w/w of {acid} acid does not stay dissolved, water holds {most} % "
        "w/w at {temperature}."
    ),
}
"""What is said of a card with too little water, by the code of what is wrong with it."""
