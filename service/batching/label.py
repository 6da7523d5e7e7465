"""The label of a batch, its use-by or why it gets none, and the fingerprint of its spec."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from json import JSONEncoder
from typing import Annotated, Any
from unicodedata import is_normalized, normalize

import rfc8785

from service.batching.allergens import EuAllergens, UsAllergens
from service.declared import AS_STATED, TEMPERATURE, TERM, Declared, items, shape, text
from service.drink import Drink, Portion, Spec
from service.drink.references import filled
from service.drink.water import states_no_strength
from service.errors import Term
from service.limits.safety import ACID_ENOUGH_MEQ_PER_L, ACID_ENOUGH_PH, STRONG_ENOUGH_ABV
from service.limits.serving import COLD_HOLD_C
from service.notes import Notes
from service.science.units import Quantity


def use_by(
    spec: Spec,
    glass: Sequence[Portion],
    drink: Drink,
    *,
    made_at: datetime | None,
    house_maximum_s: float | None,
    notes: Notes,
) -> datetime | None:
    """Return the end of the shortest of all keeping times, by the house's clock; None where it cannot be given.

    A drink that is neither acid nor of known pH gets a caution instead.

    glass: portions of the spec's components
    drink: all of it
    """
    if _caution_no_ph(glass, drink, notes) or made_at is None:
        return None
    stated = [(p.component.keeps_s, p.component.name) for p in glass if p.component.keeps_s is not None]
    if house_maximum_s is not None:
        stated.append((house_maximum_s, Term("the house maximum")))
    if not stated:
        notes.caution("no-use-by", "info", (
            "State how long the components keep, or the house maximum: without it there is no use-by."
        ),
                      at=("/spec/components", "/house_maximum"))  # fmt: skip
        return None
    silent = tuple(_silent(spec, "/spec"))
    if silent:
        notes.assume("components that state no keeping time", "keep as long as the others", "default", at=silent)
    shortest_s, shortest = min(stated)
    notes.caution("use-by-cold", "info",
                  "Look and taste first: the use-by is that of {shortest}, and holds unopened, at {most} or below.",
                  at="/made_at", shortest=shortest, most=Quantity("temperature", COLD_HOLD_C))  # fmt: skip
    return made_at + timedelta(seconds=shortest_s)


def _silent(spec: Spec, at: str) -> Iterator[str]:
    """Yield the JSON Pointers of keeping times that are not stated."""
    for i, component in enumerate(spec.components):
        if filled(component).keeps_s is None:
            here = f"{at}/components/{i}"
            inner = component.made_from
            yield from _silent(inner, f"{here}/made_from") if inner is not None else (f"{here}/keeps",)


def _caution_no_ph(glass: Sequence[Portion], drink: Drink, notes: Notes) -> bool:
    """Tell whether the drink may let pathogens grow, as far as its acid is known; if so a caution says it."""
    if drink.plain_water or drink.abv >= STRONG_ENOUGH_ABV or drink.acid_meq_per_l >= ACID_ENOUGH_MEQ_PER_L:
        return False
    if _known_acid(glass, notes):
        return False
    notes.caution("use-by-needs-ph", "warning",
                  "Hold it at {most} or below and measure its pH: it has little acid, and sealed, pathogens may grow "
                  "in it. It gets no use-by, since no pH up to {ph} is stated of all that is in it. Above {ph}, "
                  "local food law and a competent person decide.",
                  at="/spec/components", ph=ACID_ENOUGH_PH, most=Quantity("temperature", COLD_HOLD_C))  # fmt: skip
    return True


def _known_acid(glass: Sequence[Portion], notes: Notes) -> bool:
    """Tell whether every part but water, spirit and acid solutions has a pH that is low enough."""
    phs = [part.component.ph for part in _deciding(glass)]
    if not phs or any(ph is None or ph > ACID_ENOUGH_PH for ph in phs):
        return False
    notes.assume("a mix of parts up to pH 4.6, with water, spirit and acid solutions", "stays at or below it",
                 "estimate", at="/spec/components", code="mix-of-acid-parts")  # fmt: skip
    return True


def _deciding(parts: Sequence[Portion]) -> Iterator[Portion]:
    """Yield the parts whose pH bounds that of the whole; for one without, those it is made of.

    A part that states nothing of itself may hold more than water.
    """
    for part in parts:
        stated, masses = part.component.ph is not None, part.masses
        holds_more = masses.ethanol_g + masses.water_g < masses.total_g or states_no_strength(part.component)
        if part.made_of and not stated:
            yield from _deciding(part.made_of)
        elif stated or (holds_more and part.component.acid_solution is None):
            yield part


LABEL_STATEMENT = Term("In-house, not for sale.")


Names = Annotated[tuple[Annotated[str, text(200)], ...], items(2000)]


@shape("BatchLabel")
@dataclass(frozen=True)
class Label:
    """The label of every vessel; made_at and use_by only where the request gave a time.

    abv: None where nobody stated the strength of a component, then the strength is not stated; abv_unstated: those
    """

    name: Annotated[str, text(200)]
    abv: Declared[float | None]
    abv_unstated: Names
    allergens: EuAllergens
    allergens_us: UsAllergens
    allergens_unstated: Names
    made_at: Annotated[datetime | None, AS_STATED]
    use_by: Annotated[datetime | None, AS_STATED]
    keep_at_c: Annotated[float, TEMPERATURE] = COLD_HOLD_C
    statement: Annotated[str, TERM, text(100)] = LABEL_STATEMENT


def spec_id(spec: Spec) -> str:
    """Return the SHA-256 of the spec as received, in its canonical form: the same whatever the order of its keys.

    Equal amounts written in other units are other specs; values that a reference fills in are no part of it.
    """
    return f"sha256:{sha256(canonical(spec.original)).hexdigest()}"


def canonical(document: Any) -> bytes:
    """Return a JSON document in the form of RFC 8785, its strings in Unicode normalization form C.

    Python's own JSON is that form already where no number is 30.0 or 1e-05 and nothing is beyond U+FFFF, where UTF-16
    sorts in another order; it takes a quarter of the time.
    """
    found = _JSON.encode(document)
    if not (found.isascii() or is_normalized("NFC", found)):
        return rfc8785.dumps(_composed(document))
    otherwise = _OTHERWISE.search(found) or not (found.isascii() or max(found) <= "\uffff")
    return rfc8785.dumps(document) if otherwise else found.encode()


_JSON = JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False, check_circular=False)
_OTHERWISE = re.compile(r"\.0(?![0-9])|[0-9]e[-+]")
"""Numbers that Python writes in another way than RFC 8785, 3.2.2.3."""


def _composed(node: Any) -> Any:
    if isinstance(node, str):
        return normalize("NFC", node)
    if isinstance(node, Mapping):
        return {normalize("NFC", key): _composed(value) for key, value in node.items()}
    if isinstance(node, list | tuple):
        return [_composed(value) for value in node]
    return node


def caution_culture(drink: Drink, notes: Notes) -> None:
    """Warn of a live culture, which goes on fermenting in a closed vessel."""
    if drink.live_culture:
        notes.caution("live-culture", "danger",
                      "Never seal a live culture: in a closed vessel it builds pressure without a limit that can be "
                      "computed.",
                      at=drink.live_culture_at)  # fmt: skip
