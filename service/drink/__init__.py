"""The drink: a spec of components, or a stated composition, as masses that can be added and scaled."""

from service.drink.bubbles import caution_bubbles
from service.drink.drink import Drink, drink_of, mix
from service.drink.portion import Portion
from service.drink.portions import assume_ounces, portions
from service.drink.spec import (
    AcidPart,
    AcidRecipe,
    Amount,
    Component,
    Composition,
    DrinkGiven,
    Serve,
    Spec,
    Sugar,
    Syrup,
)
from service.drink.water import without_strength

__all__ = [
    "AcidPart",
    "AcidRecipe",
    "Amount",
    "Component",
    "Composition",
    "Drink",
    "DrinkGiven",
    "Portion",
    "Serve",
    "Spec",
    "Sugar",
    "Syrup",
    "assume_ounces",
    "caution_bubbles",
    "drink_of",
    "mix",
    "portions",
    "without_strength",
]
