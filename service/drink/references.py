"""Gaps of a component that a reference to a generic ingredient fills in."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from service.drink.spec import Component, Sugar
from service.notes import Basis, Notes, Value
from service.science.ingredients import INGREDIENTS, Ingredient
from service.science.units import Quantity

_ANALYSIS = ("abv", "sugar", "acidity_meq_per_l", "salt_g_per_l")
"""Fields that, stated by the bar, make the ingredient's density wrong for the component."""
_ALLERGEN_LAW = "Regulation (EU) No 1169/2011, Annex II"


def filled(component: Component) -> Component:
    """Return the component, filled in by its reference wherever the bar is silent."""
    if component.reference is None:
        return component
    return replace(component, **_missing(component, INGREDIENTS[component.reference]))


def _missing(component: Component, known: Ingredient) -> dict[str, Any]:
    """Return the fields that the reference fills in, less those that silence means anyway: clear, still, no hexoses."""
    offered = {
        "abv": known.abv,
        "sugar": Sugar(known.sugar_g_per_l, "g/l"),
        "hexose_share": known.hexose_share or None,
        "acidity_meq_per_l": known.acidity_meq_per_l,
        "clarity": known.clarity if known.clarity != "clear" else None,
        "foams": known.foams or None,
        "allergens": known.allergens,
        "keeps_s": known.keeps_s,
    }
    if all(getattr(component, name) is None for name in _ANALYSIS):
        offered["density_g_per_ml"] = known.density_g_per_ml
    return {name: value for name, value in offered.items() if value is not None and getattr(component, name) is None}


def assume_references(components: Sequence[Component], notes: Notes, at: str) -> None:
    """Note the fields that were filled in, once for each reference, and how well they are known.

    components: as the spec writes them
    at: JSON Pointer of the spec in the request
    """
    used = dict.fromkeys(c.reference for c in components if c.reference is not None)
    for reference in used:
        places = [(f"{at}/components/{i}", c) for i, c in enumerate(components) if c.reference == reference]
        _assume(INGREDIENTS[reference], places, notes)
        _caution_still(INGREDIENTS[reference], places, notes)


def _assume(known: Ingredient, places: Sequence[tuple[str, Component]], notes: Notes) -> None:
    filled_in = [(at, _missing(component, known)) for at, component in places]
    for field, name, wire, value, basis in _fields_of(known):
        where = tuple(f"{at}/{wire}" for at, missing in filled_in if field in missing)
        if where:
            source = _ALLERGEN_LAW if field == "allergens" else known.source if field in known.bases else ""
            notes.assume(f"{name}, by reference {{reference}}", value, basis, source, at=where,
                         reference=known.reference)  # fmt: skip


def _fields_of(known: Ingredient) -> list[tuple[str, str, str, Value, Basis]]:
    """Return each field: its name in the core, in words and on the wire, its value and its basis."""
    bases, allergens = known.bases, ", ".join(known.allergens or ()) or "none"
    return [
        ("abv", "alcohol, %vol", "abv", known.abv, bases["abv"]),
        ("sugar", "sugar", "sugar", Quantity("sugar", known.sugar_g_per_l), bases["sugar"]),
        ("hexose_share", "share of the sugar that is glucose or fructose", "hexose_share", known.hexose_share,
         "unverified"),
        ("acidity_meq_per_l", "acidity", "acidity", Quantity("acidity", known.acidity_meq_per_l),
         bases["acidity_meq_per_l"]),
        ("density_g_per_ml", "density", "density_g_per_ml", Quantity("density", known.density_g_per_ml or 0.0),
         bases["density_g_per_ml"]),
        ("clarity", "clarity", "clarity", known.clarity, "common-practice"),
        ("foams", "that it foams", "foams", "yes", "common-practice"),
        ("allergens", "allergens", "allergens", allergens, bases["allergens"]),
        ("keeps_s", "how long it keeps", "keeps", Quantity("duration", known.keeps_s or 0.0), "common-practice"),
    ]  # fmt: skip


def _caution_still(known: Ingredient, places: Sequence[tuple[str, Component]], notes: Notes) -> None:
    still = tuple(f"{at}/co2" for at, component in places if component.co2_g_per_l is None)
    if known.sparkles and still:
        text = "{ingredient} is sold sparkling, and counts as still here: state the CO2 that it brings."
        notes.caution("co2-unstated", "info", text, at=still, ingredient=known.name[:1].upper() + known.name[1:])
