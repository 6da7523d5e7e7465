"""The label of a batch, and the fingerprint of its spec."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from json import JSONEncoder
from typing import Annotated, Any
from unicodedata import is_normalized, normalize

import rfc8785

from service.batching.allergens import EuAllergens, UsAllergens
from service.declared import AS_STATED, TEMPERATURE, TERM, Declared, items, shape, text
from service.drink import Drink, Spec
from service.errors import Term
from service.limits.serving import COLD_HOLD_C
from service.notes import Notes

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
