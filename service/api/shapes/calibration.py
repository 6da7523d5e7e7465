"""A bar's own constants, as `/v1/regas/calibrations` answers them and other operations take them."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.api.endpoint import Part, rule
from service.api.quantities import Choice, Coded, Number, QuantityField, Text, says
from service.api.shapes.items import Items
from service.api.shapes.vessel_and_site import VesselSchema
from service.calibration import Calibration, Estimate, PourEstimate, UptakeEstimate

CALIBRATION = says("This bar's own constants; they narrow the bands and never relax a limit.")


class SolubilityEstimateSchema(Part):
    """CO2 level at a pressure and temperature, over that of the model."""

    loads_to = Estimate

    value = Number(low=0.7, high=1.4, required=True)
    standard_error = Number(low=0.0, high=0.5, required=True)


class UptakeEstimateSchema(Part):
    """Uptake coefficient of one manner of shaking, per second."""

    loads_to = UptakeEstimate

    agitation = Choice("shaken", "rocked", "still", required=True)
    value = Number(above=0.0, high=1.0, required=True)
    standard_error = Number(low=0.0, high=1.0, required=True)


class LossEstimateSchema(Part):
    """Rate at which an open bottle goes flat, per second."""

    loads_to = Estimate

    value = Number(above=0.0, high=1.0, required=True)
    standard_error = Number(low=0.0, high=1.0, required=True)


class PourLossEstimateSchema(Part):
    """Share of the CO2 that an open vessel cannot hold which a pour loses."""

    loads_to = PourEstimate

    value = Number(above=0.0, high=1.0, required=True)
    standard_error = Number(low=0.0, high=1.0, required=True)
    manner = Choice(
        "gentle", "straight", "over-ice", metadata=says("Holds for this manner of pouring; any unless stated.")
    )
    temperature = QuantityField("temperature", low=-10.0, high=40.0, attribute="temperature_c", metadata=says(
        "Of the drink when it was measured: a warmer one loses more. 4 °C unless stated."))  # fmt: skip


class CalibrationSchema(Part):
    """A bar's own constants with their standard errors."""

    loads_to = Calibration

    solubility = fields.Nested(SolubilityEstimateSchema)
    uptake_per_s = Items(UptakeEstimateSchema, most=3)
    loss_per_s = fields.Nested(LossEstimateSchema)
    pour_loss = fields.Nested(PourLossEstimateSchema)
    vessel = fields.Nested(VesselSchema, metadata=says("That it was measured in."))
    model = Text(longest=40, metadata=says("Version it was fitted with."))

    @rule
    def one_value_a_manner(self, sent: Mapping[str, Any]) -> None:
        stated = sent.get("uptake_per_s")
        if not isinstance(stated, list) or len(stated) > 3:
            return  # the field says so itself
        manners = [one.get("agitation") if isinstance(one, Mapping) else None for one in stated]
        wrong = {
            i: {"agitation": [Coded("duplicate", "Each manner stands once.")]}
            for i, manner in enumerate(manners)
            if manner is not None and manner in manners[:i]
        }
        if wrong:
            raise ValidationError({"uptake_per_s": wrong})
