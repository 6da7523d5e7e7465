"""The card on the wall: an acid solution by what is weighed into it, and what it is."""

from dataclasses import dataclass, replace

from service.acid.composition import SolutionGiven, pure_acid_g
from service.acid.limits import least_that_works, possible
from service.acid.solution import Solution, make_solution
from service.drink import AcidPart, Amount
from service.errors import Fact, Nearest, Refused
from service.limits.acids import ACID_STORAGE_C
from service.notes import Notes
from service.science.units import Quantity
from service.site import Scale

_TRACE_OF_WATER = 1e-3
"""Share of the products' mass from which more water is looked for where a card has none."""


@dataclass(frozen=True)
class WeighedProduct:
    """An acid as sold, by its mass [g]; None where the card is silent."""

    acid: str
    mass_g: float
    form: str | None = None
    purity_percent: float | None = None

    @property
    def acid_g(self) -> float:
        """Pure acid in it."""
        return pure_acid_g(self.mass_g, self.acid, self.form, self.purity_percent)


@dataclass(frozen=True)
class AsWeighed:
    """Products and water by mass, each acid once."""

    products: tuple[WeighedProduct, ...]
    water_g: float

    @property
    def mass_g(self) -> float:
        """All that is weighed."""
        return self.water_g + sum(product.mass_g for product in self.products)

    @property
    def acids(self) -> tuple[AcidPart, ...]:
        """The same recipe by per cent w/w: 100 m f assay / (water + sum of the products)."""
        return tuple(
            AcidPart(p.acid, 100.0 * p.acid_g / self.mass_g, form=p.form, purity_percent=p.purity_percent)
            for p in self.products
        )


@dataclass(frozen=True)
class WeighedGiven:
    """A card, the size it is wanted in, and the conditions; None where the request is silent, for the size as weighed.

    Otherwise as `SolutionGiven`, in water.
    """

    as_weighed: AsWeighed
    size: Amount | None = None
    scale: Scale | None = None
    temperature_c: float | None = None
    coldest_storage_c: float | None = None
    tolerance_percent: float | None = None
    potassium_mmol_per_kg: float | None = None


def make_as_weighed(given: WeighedGiven, notes: Notes) -> Solution:
    """Tell what a recipe as weighed is, and how it is weighed in the size that is wanted.

    raises: Refused ("impossible-solution", "outside-validity") with the water that works
    """
    asked = _by_percent(given)
    with notes.within(_moves(given)):
        _check_possible(asked, given)
        return make_solution(asked, notes)


def _by_percent(given: WeighedGiven) -> SolutionGiven:
    card = given.as_weighed
    return SolutionGiven(
        card.acids,
        "w/w",
        given.size or Amount(Quantity("mass", card.mass_g), "g"),
        scale=given.scale,
        temperature_c=given.temperature_c,
        solvent_abv=0.0,
        coldest_storage_c=given.coldest_storage_c,
        tolerance_percent=given.tolerance_percent,
        potassium_mmol_per_kg=given.potassium_mmol_per_kg,
    )


def _moves(given: WeighedGiven) -> dict[str, str | None]:
    """Pointers of a solution by per cent, where they stand on the card."""
    masses = {f"/acids/{i}/percent": f"/as_weighed/products/{i}/mass" for i in range(len(given.as_weighed.products))}
    return {
        "/acids": "/as_weighed/products",
        "/basis": "/as_weighed",
        "/size": "/as_weighed" if given.size is None else "/size",
        **masses,
    }


def _check_possible(asked: SolutionGiven, given: WeighedGiven) -> None:
    """Refuse a card whose acids do not stay dissolved, or that is too strong to be known, with enough water.

    raises: Refused
    """
    card, coldest_c = given.as_weighed, ACID_STORAGE_C if given.coldest_storage_c is None else given.coldest_storage_c

    def works(water_g: float) -> bool:
        weaker = replace(asked, acids=replace(card, water_g=water_g).acids)
        try:
            possible(weaker, ethanol_share=0.0, coldest_c=coldest_c)
        except Refused:
            return False
        return True

    try:
        possible(asked, ethanol_share=0.0, coldest_c=coldest_c)
    except Refused as refused:
        start_g = card.water_g or _TRACE_OF_WATER * card.mass_g
        enough = Quantity("mass", least_that_works(start_g, works), shown="up")
        raise _with_water(refused, enough) from None


def _with_water(refused: Refused, enough: Quantity) -> Refused:
    """The refusal with the water that makes the card possible."""
    first, *rest = refused.faults
    told = replace(first, text=first.text + " With {enough} of water or more it works.",
                   params=(*first.params, ("enough", enough)))  # fmt: skip
    return Refused(refused.slug, [told, *rest], facts=[*refused.facts, Fact("least_water", enough)],
                   nearest=[Nearest("/as_weighed/water", enough)])  # fmt: skip
