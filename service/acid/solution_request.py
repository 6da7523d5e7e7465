"""An acid solution as it is asked for: by per cent, by the acidity it is to have, or as the card on the wall."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, get_args

from service.acid.composition import Basis
from service.acid.weighed import AcidsAsWeighed
from service.declared import acidity, amount, items, number, shape, temperature
from service.drink import AcidPart, Amount, each_percent, each_share
from service.errors import Fault
from service.limits.requests import MOST_ACIDS
from service.request import PlacedRequest
from service.site import Scale

ColdestStorage = Annotated[
    float | None, temperature(low=0.0, high=40.0), "Where crystals would show; 4 °C unless stated."
]
_NEEDED = ("acids", "basis", "size")
"""What is needed where no recipe as weighed is given."""
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
