"""GET /v1/references/ingredients."""

from marshmallow import fields

from service.api.answers import Answer
from service.api.endpoint import Body, Open, Reference
from service.api.quantities import flag, number, q, says, text, texts
from service.api.references.based import basis
from service.science.ingredients import INGREDIENTS, Ingredient

METRIC = Answer("metric")


class IngredientBases(Open):
    """How well each value is known; absent for a value that is."""

    abv = basis(required=False)
    sugar = basis(required=False)
    acidity_meq_per_l = basis(required=False)
    density_g_per_ml = basis(required=False)
    allergens = basis(required=False)


class IngredientReference(Open):
    """A generic ingredient at 20 °C; its reference fills in what a component does not say."""

    reference = text(60, metadata=says("What a component states as its reference."))
    name = text(100)
    abv = number(metadata=says("%vol."))
    sugar = q("sugar")
    hexose_share = number(metadata=says("Of the sugar, what is glucose or fructose; unverified unless zero."))
    acidity_meq_per_l = number()
    density_g_per_ml = number(required=False)
    clarity = text(20)
    foams = flag()
    sold_sparkling = flag()
    allergens = texts(60, required=False, metadata=says("By its nature; absent where it is not known."))
    keeps = q("duration", required=False, metadata=says("Once pressed or opened, cold; common practice."))
    bases = fields.Nested(IngredientBases, required=True)
    source = text()


class IngredientReferencesAnswer(Open):
    """Generic ingredients."""

    model = text(40)
    items = fields.List(fields.Nested(IngredientReference), required=True)


def read() -> Body:
    """Every ingredient that a component may name."""
    return {"items": [_ingredient(known) for known in INGREDIENTS.values()]}


def _ingredient(known: Ingredient) -> Body:
    bases = {field: basis for field, basis in known.bases.items() if len(basis)}
    return {
        "reference": known.reference,
        "name": known.name,
        "abv": known.abv,
        "sugar": METRIC.q("sugar", known.sugar_g_per_l),
        "hexose_share": known.hexose_share,
        "acidity_meq_per_l": known.acidity_meq_per_l,
        **({} if known.density_g_per_ml is None else {"density_g_per_ml": known.density_g_per_ml}),
        "clarity": known.clarity,
        "foams": known.foams,
        "sold_sparkling": known.sparkles,
        **({} if known.allergens is None else {"allergens": list(known.allergens)}),
        **({} if known.keeps_s is None else {"keeps": METRIC.q("duration", known.keeps_s)}),
        "bases": bases,
        "source": known.source,
    }


REFERENCE = Reference(
    path="/v1/references/ingredients",
    operation_id="listIngredients",
    summary="Generic ingredients that a component may name instead of an analysis.",
    description="Strength, sugar, acidity and density at 20 °C, each with its basis and source. The bar's own label or "
    "analysis is better: what a component states is kept.",
    answer=IngredientReferencesAnswer,
    read=read,
)
