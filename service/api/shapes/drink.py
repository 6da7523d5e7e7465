"""The drink: by its spec, or by its analysis."""

from marshmallow import fields

from service.api.endpoint import ExactlyOne, Part
from service.api.quantities import AcidityField, Choice, Flag, Number, QuantityField, SugarField
from service.api.shapes.spec import SpecSchema
from service.drink import Composition, DrinkGiven


class CompositionSchema(Part):
    """A drink by its analysis."""

    loads_to = Composition

    abv = Number(low=0.0, high=100.0, required=True)
    sugar = SugarField(required=True)
    acidity = AcidityField(attribute="acidity_meq_per_l")
    hexose_share = Number(low=0.0, high=1.0)
    salt = QuantityField("salt", low=0.0, high=350.0, attribute="salt_g_per_l")
    clarity = Choice("clear", "hazy", "pulpy")
    foams = Flag()
    live_culture = Flag()


class DrinkSchema(ExactlyOne):
    """The drink: exactly one of the two."""

    loads_to = DrinkGiven

    spec = fields.Nested(SpecSchema)
    composition = fields.Nested(CompositionSchema)
