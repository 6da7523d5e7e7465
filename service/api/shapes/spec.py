"""The spec: one glass, as the bar writes it."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields, post_load

from service.api.endpoint import Closed, Part, rule
from service.api.quantities import (
    AcidityField,
    AmountField,
    Choice,
    Coded,
    Flag,
    Number,
    QuantityField,
    SugarField,
    Text,
    says,
)
from service.api.shapes.acids import AcidSolutionSchema
from service.api.shapes.items import Items
from service.drink import Component, Serve, Spec, Syrup

ALLERGENS = (
    "gluten",
    "crustaceans",
    "eggs",
    "fish",
    "peanuts",
    "soybeans",
    "milk",
    "nuts",
    "celery",
    "mustard",
    "sesame",
    "sulphites",
    "lupin",
    "molluscs",
)
"""The fourteen groups of Regulation (EU) 1169/2011 Annex II, in its order."""


MOST_COMPONENTS = 40


class SyrupSchema(Part):
    """A sucrose syrup by its ratio."""

    loads_to = Syrup

    sugar_to_water = Number(above=0.0, high=4.0, required=True, metadata=says("2 for a two-to-one syrup."))
    by = Choice("mass", "volume", required=True)


class ComponentSchema(Part):
    """One line of a spec, for one glass."""

    loads_to = Component

    name = Text(required=True, longest=200)
    amount = AmountField(required=True)
    abv = Number(low=0.0, high=100.0, metadata=says("Alcoholic strength at 20 °C, %vol."))
    sugar = SugarField()
    hexose_share = Number(low=0.0, high=1.0, metadata=says("Share of the sugar that is glucose or fructose."))
    acidity = AcidityField(attribute="acidity_meq_per_l")
    salt = QuantityField("salt", low=0.0, high=350.0, attribute="salt_g_per_l")
    density_g_per_ml = Number(low=0.7, high=1.7)
    co2 = QuantityField("co2", low=0.0, high=20.0, attribute="co2_g_per_l")
    clarity = Choice("clear", "hazy", "pulpy")
    foams = Flag(metadata=says("Egg, dairy, coconut milk, tea, coffee, gum and the like."))
    live_culture = Flag()
    ph = Number(low=0.0, high=14.0)
    allergens = Items(Choice(*ALLERGENS), most=14, least=0)
    keeps = QuantityField(
        "duration",
        attribute="keeps_s",
        high=10 * 365 * 86400.0,
        metadata=says("How long it keeps once made or opened, cold."),
    )
    acid_solution = fields.Nested(AcidSolutionSchema)
    syrup = fields.Nested(SyrupSchema)
    stock_code = Text(longest=64)
    stock_unit = Text(longest=16)

    @rule
    def one_description(self, sent: Mapping[str, Any]) -> None:
        stated = {"abv", "sugar", "acidity", "salt", "density_g_per_ml", "hexose_share", "syrup"} & sent.keys()
        if "acid_solution" in sent and stated:
            text = "An acid solution describes itself; leave out strength, sugar, acidity, salt and density."
            raise ValidationError({"acid_solution": [Coded("described-twice", text)]})
        if "syrup" in sent and "sugar" in sent:
            text = "A syrup describes its sugar; leave sugar out."
            raise ValidationError({"syrup": [Coded("described-twice", text)]})


class ServeSchema(Part):
    """How the glass is finished."""

    loads_to = Serve

    glass = Text()
    ice = Text()
    garnish = Text()
    note = Text()


class SpecSchema(Closed):
    """One glass, as the bar writes it."""

    name = Text(required=True)
    components = Items(ComponentSchema, most=MOST_COMPONENTS, required=True)
    serve = fields.Nested(ServeSchema)

    @rule
    def unique_names(self, sent: Mapping[str, Any]) -> None:
        components = sent.get("components")
        if not isinstance(components, list) or len(components) > MOST_COMPONENTS:
            return  # the field says so itself
        names = [c.get("name") if isinstance(c, Mapping) else None for c in components]
        wrong = {
            i: {"name": [Coded("duplicate", "Each name stands once in a spec.")]}
            for i, name in enumerate(names)
            if name is not None and name in names[:i]
        }
        if wrong:
            raise ValidationError({"components": wrong})

    @post_load(pass_original=True)
    def make(self, data: Mapping[str, Any], original: Mapping[str, Any], **kwargs: Any) -> Spec:
        return Spec(**data, original=original)
