"""The references of what stands in a bar: acids, ingredients, vessels and allergens."""

from dataclasses import dataclass
from typing import Annotated

from service.acid import AcidReferences, acid_references
from service.api.endpoint import Reference
from service.declared import BASIS, DURATION, KNOWN, SUGAR, WORDED, Declared, Inline, shape, text
from service.drink.allergens import ALLERGEN_NAMES, ALLERGENS, FININGS, PERHAPS_US, eu_groups, us_major
from service.science.ingredients import INGREDIENTS, Ingredient
from service.science.tables import citation
from service.vessel import PRESETS, Preset

LIST_ACIDS = Reference(
    path="/v1/references/acids",
    operation_id="listAcids",
    summary="The acids with their constants and products, and the acids of juices and wines.",
    description="Molar masses, dissociation constants, saturations, and the products that are weighed, with hazards; "
    "each with its source and how well it is known.",
    answer=AcidReferences,
    read=acid_references,
)


@dataclass(frozen=True)
class IngredientBases:
    """The uncertainty of each value; absent for a value that is known."""

    abv: Annotated[str | None, BASIS, KNOWN] = None
    sugar: Annotated[str | None, BASIS, KNOWN] = None
    acidity_meq_per_l: Annotated[str | None, BASIS, KNOWN] = None
    density_g_per_ml: Annotated[str | None, BASIS, KNOWN] = None
    allergens: Annotated[str | None, BASIS, KNOWN] = None


@dataclass(frozen=True)
class IngredientReference:
    """A generic ingredient at 20 °C; its reference fills in what a component does not say."""

    reference: Annotated[str, text(60), "What a component states as its reference."]
    name: Annotated[str, WORDED, text(100)]
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
    source: Annotated[str, WORDED]


@dataclass(frozen=True)
class IngredientReferences:
    """Generic ingredients."""

    items: Declared[tuple[IngredientReference, ...]]


def _ingredients() -> IngredientReferences:
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


LIST_INGREDIENTS = Reference(
    path="/v1/references/ingredients",
    operation_id="listIngredients",
    summary="Generic ingredients that a component may name instead of an analysis.",
    description="Strength, sugar, acidity and density at 20 °C, each with its basis and source. The bar's own label or "
    "analysis is better: what a component states is kept.",
    answer=IngredientReferences,
    read=_ingredients,
)


@shape("VesselReference")
@dataclass(frozen=True)
class NamedPreset:
    """A common vessel. Its limits are estimates: the maker's rating or the stamp prevails."""

    preset: Annotated[str, text(40)]
    vessel: Inline[Preset]


@dataclass(frozen=True)
class VesselReferences:
    """Vessels by name."""

    items: Declared[tuple[NamedPreset, ...]]


def _vessels() -> VesselReferences:
    """Return every preset."""
    return VesselReferences(tuple(NamedPreset(name, preset) for name, preset in PRESETS.items()))


LIST_VESSELS = Reference(
    path="/v1/references/vessels",
    operation_id="listVessels",
    summary="The vessels that a request may name by preset.",
    description="Size and limits of common bottles and kegs. The limits are estimates; a request overrides each.",
    answer=VesselReferences,
    read=_vessels,
)


@dataclass(frozen=True)
class AllergenReference:
    """An allergen that a component may declare, and the list that asks for it."""

    allergen: Annotated[str, text(60)]
    name: Annotated[str, WORDED, text(200)]
    eu_group: Annotated[str, text(60), "Group of Regulation (EU) No 1169/2011, Annex II."]
    us_major: Annotated[str | None, text(60), "Major food allergen of the United States; absent where none."]
    us_certain: Annotated[bool | None, "false: the group is wider than what the US lists."]
    brought_by: Annotated[tuple[Annotated[str, text(60)], ...], "Finings and washes that bring it."]
    basis: Annotated[str, BASIS, KNOWN]
    source: Annotated[str, WORDED]


@dataclass(frozen=True)
class AllergenReferences:
    """Allergens, in the order of the EU list."""

    items: Declared[tuple[AllergenReference, ...]]


def _allergens() -> AllergenReferences:
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


LIST_ALLERGENS = Reference(
    path="/v1/references/allergens",
    operation_id="listAllergens",
    summary="The allergens of the EU and US lists, and the finings that bring them.",
    description="What a component may declare. A drink that declares none may still hold some: silence is not absence.",
    answer=AllergenReferences,
    read=_allergens,
)
