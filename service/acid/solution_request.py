"""An acid solution as it is asked for: by per cent, by the acidity it is to have, or as the card on the wall."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any, get_args

from service.acid.composition import Basis, Strength, pure_acid_g
from service.acid.limits import least_that_works, possible
from service.declared import acidity, amount, choice, items, mass, number, shape, temperature
from service.drink import AcidName, AcidPart, Amount, each_percent, each_share, form_of_the_acid, once_each
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.requests import MOST_ACIDS
from service.request import PlacedRequest
from service.science.acids import FORMS
from service.science.units import Quantity
from service.site import Scale

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
"""Sentences about a card with too little water, by code."""


ColdestStorage = Annotated[
    float | None, temperature(low=0.0, high=40.0), "Where crystals would show; 4 °C unless stated."
]
_NEEDED = ("acids", "basis", "size")
"""Fields that are needed where no recipe as weighed is given."""
_ONE_WAY = "Give exactly one of: acids with basis and size, as_weighed."
_IN_WATER = "A recipe as weighed says its strength, in water; leave this out."
_NOT_BESIDE_A_CARD = (
    Fault("/acids", "exactly-one", _ONE_WAY),
    Fault("/basis", "exactly-one", _ONE_WAY),
    Fault("/target", "not-needed", _IN_WATER),
    Fault("/solvent_abv", "not-needed", _IN_WATER),
)


def one_way(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find what lacks of a solution by per cent or acidity, and what a recipe as weighed says itself."""
    if "as_weighed" not in sent:
        for name in _NEEDED:
            if name not in sent:
                yield Fault(f"/{name}", "required", "Required, unless as_weighed is given.")
        return
    yield from (fault for fault in _NOT_BESIDE_A_CARD if fault.pointer[1:] in sent)


def target_and_acids_of_the_basis(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a target that does not go with the basis, or lacks, and acids by share or per cent that do not."""
    basis = sent.get("basis")
    if "as_weighed" in sent or basis not in get_args(Basis):
        return  # told elsewhere
    if basis == "ta":
        if "target" not in sent:
            yield Fault("/target", "required", "The basis ta needs a target.")
        yield from each_share(sent.get("acids"))
    else:
        if "target" in sent:
            yield Fault("/target", "not-needed", "A target goes with the basis ta only.")
        yield from each_percent(sent.get("acids"))


@shape(rules=[one_way, target_and_acids_of_the_basis])
@dataclass(frozen=True, kw_only=True)
class AcidSolutionRequest(PlacedRequest):
    """An acid solution: by per cent, by the titratable acidity it is to have, or as the card on the wall has it.

    Exactly one of two ways: acids, basis and size; or as_weighed, with a size where another one is wanted.
    """

    acids: Annotated[tuple[AcidPart, ...], items(MOST_ACIDS), "Required, unless as_weighed is given."] = ()
    basis: Annotated[
        Basis | None,
        "Required, unless as_weighed is given. w/w: grams in 100 g. w/v: grams in 100 ml at 20 °C. ta: shares of a "
        "blend that meets the target.",
    ] = None
    as_weighed: Annotated[AcidsAsWeighed | None, "In place of acids and basis: what is it?"] = None
    target_meq_per_l: Annotated[float | None, acidity(low=0.01), "With the basis ta only."] = None
    size: Annotated[
        Amount | None,
        amount(low=0.1),
        "Of the finished solution. Required, unless as_weighed is given, whose own size it then is.",
    ] = None
    scale: Annotated[Scale | None, "Reads to 0.1 g unless stated."] = None
    temperature_c: Annotated[
        float | None,
        temperature(low=0.0, high=40.0),
        "Of the work, where pH is measured; 20 °C unless stated.",
    ] = None
    solvent_abv: Annotated[
        float | None, number(low=0.0, high=40.0), "Spirit of this strength, %vol, in place of water."
    ] = None
    coldest_storage_c: ColdestStorage = None
    tolerance_percent: Annotated[
        float | None,
        number(low=0.01, high=20.0),
        "Error of the acidity that the smallest batch keeps to; 1 unless stated.",
    ] = None
    potassium_mmol_per_kg: Annotated[
        float | None,
        number(low=0.0, high=150.0),
        "That tartaric acid meets, from juice, wine or salts; 10 unless stated.",
    ] = None
