"""GET /v1/references/allergens."""

from dataclasses import dataclass
from typing import Annotated

from service.api.endpoint import Reference
from service.declared import BASIS, KNOWN, Declared, text
from service.drink.allergens import ALLERGEN_NAMES, ALLERGENS, FININGS, PERHAPS_US, eu_groups, us_major
from service.science.tables import citation


@dataclass(frozen=True)
class AllergenReference:
    """What a component may declare, and which list asks for it."""

    allergen: Annotated[str, text(60)]
    name: Annotated[str, text(200)]
    eu_group: Annotated[str, text(60), "Group of Regulation (EU) No 1169/2011, Annex II."]
    us_major: Annotated[str | None, text(60), "Major food allergen of the United States; absent where none."]
    us_certain: Annotated[bool | None, "false: the group is wider than what the US lists."]
    brought_by: Annotated[tuple[Annotated[str, text(60)], ...], "Finings and washes that bring it."]
    basis: Annotated[str, BASIS, KNOWN]
    source: Declared[str]


@dataclass(frozen=True)
class AllergenReferences:
    """Allergens, in the order of the EU list."""

    items: Declared[tuple[AllergenReference, ...]]


def read() -> AllergenReferences:
    """Return every allergen that a component may declare."""
    return AllergenReferences(tuple(_allergen(code) for code in ALLERGENS))


def _allergen(code: str) -> AllergenReference:
    (group,), major = eu_groups([code]), us_major([code])
    return AllergenReference(
        allergen=code,
        name=ALLERGEN_NAMES[code],
        eu_group=group,
        us_major=major[0] if major else None,
        us_certain=code not in PERHAPS_US if major else None,
        brought_by=tuple(fining for fining, brought in FININGS.items() if brought == code),
        basis="published",
        source=citation("allergens"),
    )


REFERENCE = Reference(
    path="/v1/references/allergens",
    operation_id="listAllergens",
    summary="The allergens of the EU and US lists, and the finings that bring them.",
    description="What a component may declare. A drink that declares none may still hold some: silence is not absence.",
    answer=AllergenReferences,
    read=read,
)
