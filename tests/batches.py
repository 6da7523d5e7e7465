"""Amounts, components and a batch to test with, invented."""

from decimal import Decimal

from service import batching
from service.batching import Batch, BatchRequest, Price, Size
from service.drink import AcidPart, AcidRecipe, Amount, Component, Spec, Sugar
from service.money import Money
from service.notes import Notes
from service.science.units import Quantity


def ml(value: float) -> Amount:
    return Amount(Quantity("volume", value), "ml")


def g(value: float) -> Amount:
    return Amount(Quantity("mass", value), "g")


def spirit(volume_ml: float, abv: float) -> Component:
    return Component("spirit", ml(volume_ml), abv=abv)


def water(volume_ml: float, name: str = "water") -> Component:
    return Component(name, ml(volume_ml), abv=0.0)


ACIDS = AcidRecipe((AcidPart("citric", 4.0), AcidPart("malic", 2.0)), "w/v")
HIGHBALL = Spec(
    "bergamot highball, invented",
    (
        Component("gin", ml(45.0), abv=40.0, allergens=()),
        Component("cordial", ml(20.0), sugar=Sugar(600.0, "g/l"), acidity_meq_per_l=190.0, allergens=("sulphites",)),
        Component("acids", ml(8.0), acid_solution=ACIDS),
        Component("water", ml(112.0), allergens=()),
    ),
)


def price(component: str, content: Amount, amount: str, currency: str = "EUR") -> Price:
    return Price(component, content, Money(Decimal(amount), currency))


def scale(spec: Spec, size: Size, notes: Notes, *, now=None, **more) -> Batch:
    """Return the batch of a request for it."""
    return batching.scale(BatchRequest(spec=spec, size=size, **more), notes, now=now)


def line(batch, name):
    return next(found for found in batch.components if found.name == name)


def codes(notes: Notes) -> set[str]:
    return {caution.code for caution in notes.cautions}
