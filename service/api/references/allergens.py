"""GET /v1/references/allergens."""

from marshmallow import fields

from service.api.endpoint import Body, Open, Reference
from service.api.quantities import flag, says, text, texts
from service.api.references.based import basis
from service.drink.allergens import ALLERGEN_NAMES, ALLERGENS, FININGS, PERHAPS_US, eu_groups, us_major
from service.science.tables import citation


class AllergenReference(Open):
    """What a component may declare, and which list asks for it."""

    allergen = text(60)
    name = text(200)
    eu_group = text(60, metadata=says("Group of Regulation (EU) No 1169/2011, Annex II."))
    us_major = text(60, required=False, metadata=says("Major food allergen of the United States; absent where none."))
    us_certain = flag(required=False, metadata=says("false: the group is wider than what the US lists."))
    brought_by = texts(60, metadata=says("Finings and washes that bring it."))
    basis = basis()
    source = text()


class AllergenReferencesAnswer(Open):
    """Allergens, in the order of the EU list."""

    model = text(40)
    items = fields.List(fields.Nested(AllergenReference), required=True)


def read() -> Body:
    """Every allergen that a component may declare."""
    return {"items": [_allergen(code) for code in ALLERGENS]}


def _allergen(code: str) -> Body:
    (group,), major = eu_groups([code]), us_major([code])
    return {
        "allergen": code,
        "name": ALLERGEN_NAMES[code],
        "eu_group": group,
        **({"us_major": major[0], "us_certain": code not in PERHAPS_US} if major else {}),
        "brought_by": [fining for fining, brought in FININGS.items() if brought == code],
        "basis": "published",
        "source": citation("allergens"),
    }


REFERENCE = Reference(
    path="/v1/references/allergens",
    operation_id="listAllergens",
    summary="The allergens of the EU and US lists, and the finings that bring them.",
    description="What a component may declare. A drink that declares none may still hold some: silence is not absence.",
    answer=AllergenReferencesAnswer,
    read=read,
)
