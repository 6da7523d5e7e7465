"""What a label says beside the numbers, and the spec's fingerprint."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any
from unicodedata import is_normalized, normalize

import rfc8785

from service.batching.allergens import Allergens
from service.batching.keeping import COLD_C
from service.drink import Drink, Spec
from service.notes import Notes

LABEL_STATEMENT = "In-house, not for sale."


@dataclass(frozen=True)
class Label:
    """What goes on every vessel; times only where the request gave one."""

    name: str
    abv: float
    allergens: Allergens
    made_at: datetime | None
    use_by: datetime | None
    keep_at_c: float = COLD_C
    statement: str = LABEL_STATEMENT


def spec_id(spec: Spec) -> str:
    """SHA-256 of the spec as received, in its canonical form: the same whatever the order of its keys.

    Equal amounts written in other units are other specs; what a reference fills in is not part of it.
    """
    return f"sha256:{sha256(canonical(spec.original)).hexdigest()}"


def canonical(document: Any) -> bytes:
    """A JSON document in the form of RFC 8785, its strings in Unicode normalization form C."""
    found = rfc8785.dumps(document)
    return found if is_normalized("NFC", found.decode()) else rfc8785.dumps(_composed(document))


def _composed(node: Any) -> Any:
    if isinstance(node, str):
        return normalize("NFC", node)
    if isinstance(node, Mapping):
        return {normalize("NFC", key): _composed(value) for key, value in node.items()}
    if isinstance(node, list | tuple):
        return [_composed(value) for value in node]
    return node


def caution_culture(drink: Drink, notes: Notes) -> None:
    """What ferments goes on fermenting in a closed vessel."""
    if drink.live_culture:
        notes.caution("live-culture", "danger",
                      "A live culture builds pressure in a closed vessel without a computable limit: never seal it.",
                      at=drink.live_culture_at)  # fmt: skip
