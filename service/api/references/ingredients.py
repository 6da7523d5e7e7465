"""GET /v1/references/ingredients."""

from dataclasses import dataclass
from typing import Annotated

from service.api.endpoint import Reference
from service.declared import BASIS, DURATION, KNOWN, SUGAR, Declared, text
from service.science.ingredients import INGREDIENTS, Ingredient


@dataclass(frozen=True)
class IngredientBases:
    """How well each value is known; absent for a value that is."""

    abv: Annotated[str | None, BASIS, KNOWN] = None
    sugar: Annotated[str | None, BASIS, KNOWN] = None
    acidity_meq_per_l: Annotated[str | None, BASIS, KNOWN] = None
    density_g_per_ml: Annotated[str | None, BASIS, KNOWN] = None
    allergens: Annotated[str | None, BASIS, KNOWN] = None


@dataclass(frozen=True)
class IngredientReference:
    """A generic ingredient at 20 °C; its reference fills in what a component does not say."""

    reference: Annotated[str, text(60), "What a component states as its reference."]
    name: Annotated[str, text(100)]
    abv: Annotated[float, "%vol."]
    sugar_g_per_l: Annotated[float, SUGAR]
    hexose_share: Annotated[float, "Of the sugar, what is glucose or fructose; unverified unless zero."]
    acidity_meq_per_l: Declared[float]
    density_g_per_ml: Declared[float | None]
    clarity: Annotated[str, text(20)]
    foams: Declared[bool]
    sold_sparkling: Declared[bool]
    allergens: Annotated[tuple[Annotated[str, text(60)], ...] | None, "By its nature; absent where it is not known."]
    keeps_s: Annotated[float | None, DURATION, "Once pressed or opened, cold; common practice."]
    bases: Declared[IngredientBases]
    source: Declared[str]


@dataclass(frozen=True)
class IngredientReferences:
    """Generic ingredients."""

    items: Declared[tuple[IngredientReference, ...]]


def read() -> IngredientReferences:
    """Return every ingredient that a component may name."""
    return IngredientReferences(tuple(_ingredient(known) for known in INGREDIENTS.values()))


def _ingredient(known: Ingredient) -> IngredientReference:
    return IngredientReference(
        reference=known.reference,
        name=known.name,
        abv=known.abv,
        sugar_g_per_l=known.sugar_g_per_l,
        hexose_share=known.hexose_share,
        acidity_meq_per_l=known.acidity_meq_per_l,
        density_g_per_ml=known.density_g_per_ml,
        clarity=known.clarity,
        foams=known.foams,
        sold_sparkling=known.sparkles,
        allergens=known.allergens,
        keeps_s=known.keeps_s,
        bases=IngredientBases(**{field: basis for field, basis in known.bases.items() if len(basis)}),
        source=known.source,
    )


REFERENCE = Reference(
    path="/v1/references/ingredients",
    operation_id="listIngredients",
    summary="Generic ingredients that a component may name instead of an analysis.",
    description="Strength, sugar, acidity and density at 20 °C, each with its basis and source. The bar's own label or "
    "analysis is better: what a component states is kept.",
    answer=IngredientReferences,
    read=read,
)
