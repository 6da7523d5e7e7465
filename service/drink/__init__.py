"""The drink: a spec of components, or a stated composition, as masses that can be added and scaled."""

from service.drink.drink import Drink, caution_bubbles, drink_of, mix
from service.drink.portion import Portion
from service.drink.portions import assume_ounces, caution_solubility, portions
from service.drink.spec import (
    ACID_NAMES,
    DILUTION_WATER,
    AcidName,
    AcidPart,
    AcidRecipe,
    Amount,
    Component,
    Composition,
    DrinkGiven,
    InnerComponent,
    InnerSpec,
    Serve,
    Spec,
    Sugar,
    Syrup,
    each_percent,
    each_share,
    form_of_the_acid,
    once_each,
)
from service.drink.water import without_strength

__all__ = [
    "ACID_NAMES",
    "DILUTION_WATER",
    "AcidName",
    "AcidPart",
    "AcidRecipe",
    "Amount",
    "Component",
    "Composition",
    "Drink",
    "DrinkGiven",
    "InnerComponent",
    "InnerSpec",
    "Portion",
    "Serve",
    "Spec",
    "Sugar",
    "Syrup",
    "assume_ounces",
    "caution_bubbles",
    "caution_solubility",
    "drink_of",
    "each_percent",
    "each_share",
    "form_of_the_acid",
    "mix",
    "once_each",
    "portions",
    "without_strength",
]
