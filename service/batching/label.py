"""What a label says beside the numbers: the spec's fingerprint, allergens, and the use-by."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any
from unicodedata import normalize

import rfc8785

from service.batching.measures import listed
from service.drink import Drink, Spec
from service.notes import Notes
from service.science.units import Quantity

ACID_ENOUGH_PH = 4.6
"""At or below this a food is acid; 21 CFR 114.3, and Codex CXC 23-1979."""
ACID_ENOUGH_MEQ_PER_L = 30.0
"""Titratable acidity from which a drink is taken as acid without a pH [meq/L]; estimate, common practice."""
COLD_C = 5.0
"""Warmest cold storage [degC]; common practice, no source."""


def spec_id(spec: Spec) -> str:
    """SHA-256 of the spec as received, in its canonical form; the same whatever the order of its keys."""
    return f"sha256:{sha256(canonical(spec.original)).hexdigest()}"


def canonical(document: Any) -> bytes:
    """A JSON document in the form of RFC 8785, its strings in Unicode normalization form C."""
    return rfc8785.dumps(_composed(document))


def _composed(node: Any) -> Any:
    if isinstance(node, str):
        return normalize("NFC", node)
    if isinstance(node, Mapping):
        return {normalize("NFC", key): _composed(value) for key, value in node.items()}
    if isinstance(node, list | tuple):
        return [_composed(value) for value in node]
    return node


def allergens_of(spec: Spec, notes: Notes) -> frozenset[str]:
    """Every allergen that a component states; silence is not absence."""
    silent = [i for i, c in enumerate(spec.components) if c.allergens is None and c.acid_solution is None]
    if silent:
        notes.caution("allergens-unstated", "warning",
                      "No statement of allergens for: {components}. Check the labels before serving.",
                      at=tuple(f"/spec/components/{i}/allergens" for i in silent),
                      components=listed([spec.components[i].name for i in silent]))  # fmt: skip
    return frozenset(a for c in spec.components for a in c.allergens or ())


def caution_culture(spec: Spec, notes: Notes) -> None:
    """What ferments goes on fermenting in a closed vessel."""
    live = tuple(i for i, c in enumerate(spec.components) if c.live_culture)
    if live:
        notes.caution("live-culture", "danger",
                      "A live culture builds pressure in a closed vessel without a computable limit: never seal it.",
                      at=tuple(f"/spec/components/{i}/live_culture" for i in live))  # fmt: skip


def use_by(
    spec: Spec, drink: Drink, made_at: datetime | None, house_maximum_s: float | None, notes: Notes
) -> datetime | None:
    """The end of the shortest of all keeping times, by the house's clock; None where it cannot be given.

    A drink that is neither acid nor of known pH gets a caution instead.
    """
    if _caution_low_acid(spec, drink, notes) or made_at is None:
        return None
    stated = [c.keeps_s for c in spec.components if c.keeps_s is not None]
    if house_maximum_s is not None:
        stated.append(house_maximum_s)
    if not stated:
        notes.caution("no-use-by", "info", "State how long the components keep, or the house maximum, for a use-by.",
                      at=("/spec/components", "/house_maximum"))  # fmt: skip
        return None
    silent = tuple(f"/spec/components/{i}/keeps" for i, c in enumerate(spec.components) if c.keeps_s is None)
    if silent:
        notes.assume("components that state no keeping time", "keep as long as the others", "default", at=silent)
    notes.caution("use-by-cold", "info", "The use-by holds unopened, at {most} or below; look and taste first.",
                  at="/made_at", most=Quantity("temperature", COLD_C))  # fmt: skip
    return made_at + timedelta(seconds=min(stated))


def _caution_low_acid(spec: Spec, drink: Drink, notes: Notes) -> bool:
    """Whether the drink may let pathogens grow; if so a caution says it."""
    stated = [c.ph for c in spec.components if c.ph is not None]
    if drink.acid_meq_per_l >= ACID_ENOUGH_MEQ_PER_L or (stated and max(stated) <= ACID_ENOUGH_PH):
        return False
    notes.caution("low-acid", "warning",
                  "Low in acid, and no pH up to {ph} is stated: pathogens may grow in it sealed. It gets no use-by. "
                  "Measure the pH; above {ph}, local food law and a competent person decide.",
                  at="/spec/components", ph=ACID_ENOUGH_PH)  # fmt: skip
    return True
