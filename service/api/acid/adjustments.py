"""Adjustments of acidity on the wire."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.acid import (
    Added,
    Adjustment,
    AdjustmentGiven,
    Bicarbonate,
    LiquidGiven,
    TitrationGiven,
    Using,
    Water,
    adjust,
)
from service.api.answers import Answer, tidy, titratable_acidity
from service.api.endpoint import Body, ExactlyOne, Open, Operation, Part, Request, rule
from service.api.quantities import AcidityField, Choice, Coded, Number, QuantityField, SugarField, number, q, says, text
from service.api.shapes import (
    ACID_NAMES,
    AcidPartSchema,
    AcidSolutionSchema,
    Envelope,
    Items,
    ScaleSchema,
    TitratableAcidityAnswerSchema,
    check_shares,
)
from service.limits.requests import MOST_ACIDS
from service.notes import Notes

PURITY = says("Assay of the product; 100 unless stated. The rest counts as water.")
END_POINTS = ("ph-8.2", "ph-7")


class AcidTitrationSchema(Part):
    """A titration with sodium hydroxide, CO2 driven off first. ph-7 is the end point of OIV-MA-AS313-01, for wine."""

    loads_to = TitrationGiven

    naoh = QuantityField("volume", low=0.01, above=None, high=1000.0, required=True, attribute="naoh_ml")
    normality = Number(low=0.001, high=10.0, required=True, metadata=says("Of the sodium hydroxide, mol/l."))
    sample = QuantityField("volume", low=0.1, above=None, high=1000.0, required=True, attribute="sample_ml")
    end_point = Choice(*END_POINTS, required=True)
    main_acid = Choice(*ACID_NAMES, metadata=says("With ph-7 only: what most of it is; citric unless stated."))

    @rule
    def main_acid_of_the_end_point(self, sent: Mapping[str, Any]) -> None:
        if "main_acid" in sent and sent.get("end_point") == "ph-8.2":
            raise ValidationError({"main_acid": [Coded("not-needed", "To pH 8.2 it does not matter.")]})


class AdjustedLiquidSchema(Part):
    """The juice, wine or batch before: exactly one of acidity and titration."""

    loads_to = LiquidGiven

    volume = QuantityField("volume", low=1.0, above=None, required=True, attribute="volume_ml")
    acidity = AcidityField(attribute="acidity_meq_per_l")
    titration = fields.Nested(AcidTitrationSchema)
    abv = Number(low=0.0, high=96.0, metadata=says("Alcoholic strength at 20 °C, %vol; 0 unless stated."))
    sugar = SugarField(metadata=says("None unless stated."))

    @rule
    def one_acidity(self, sent: Mapping[str, Any]) -> None:
        if len({"acidity", "titration"} & sent.keys()) != 1:
            raise ValidationError([Coded("exactly-one", "Give exactly one of: acidity, titration.")])


class DilutionWaterSchema(Part):
    """Water to dilute with."""

    loads_to = Water

    alkalinity_meq_per_l = Number(
        low=0.0, high=20.0, metadata=says("The carbonate in it, which takes acid away; 0 unless stated.")
    )


class BicarbonateSchema(Part):
    """Potassium bicarbonate as sold."""

    loads_to = Bicarbonate

    purity_percent = Number(low=50.0, high=100.0, metadata=PURITY)


class AdjustmentMeansSchema(ExactlyOne):
    """What is added: exactly one. Acids raise the acidity; water and potassium bicarbonate lower it."""

    loads_to = Using

    solution = fields.Nested(AcidSolutionSchema)
    dry = Items(AcidPartSchema, most=MOST_ACIDS, metadata=says("Acids as sold, by share."))
    water = fields.Nested(DilutionWaterSchema)
    bicarbonate = fields.Nested(BicarbonateSchema)

    @rule
    def shares_of_the_blend(self, sent: Mapping[str, Any]) -> None:
        check_shares(sent.get("dry"), field="dry")


class AcidAdjustmentRequest(Request):
    """A liquid, the titratable acidity it is to have, and what it is to be brought there with."""

    liquid = fields.Nested(AdjustedLiquidSchema, required=True)
    target = AcidityField(low=0.01, required=True, attribute="target_meq_per_l", metadata=says("To pH 8.2."))
    using = fields.Nested(AdjustmentMeansSchema, required=True)
    scale = fields.Nested(ScaleSchema, metadata=says("Adds what it can show, and what it does to the acidity."))
    coldest_storage = QuantityField(
        "temperature",
        low=0.0,
        high=40.0,
        attribute="coldest_storage_c",
        metadata=says("Where crystals would show; 4 °C unless stated."),
    )


class AcidAdditionSchema(Open):
    """One thing to add. volume: of a liquid; measure: the mass as the scale can show it, where a scale is given."""

    name = text(100)
    form = text(100, required=False)
    volume = q("volume", required=False)
    mass = q("mass")
    measure = q("mass", required=False)


class AcidAdjustmentAnswer(Envelope):
    """What to add, and the finished liquid at 20 °C.

    before: the acidity it starts from. ta_error_percent: what the scale may do to the acidity at worst. co2_released,
    potassium_added: with bicarbonate only.
    """

    add = fields.List(fields.Nested(AcidAdditionSchema), required=True)
    before = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    volume = q("volume")
    mass = q("mass")
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    abv = number()
    sugar = q("sugar")
    ta_error_percent = number(required=False)
    co2_released = q("mass", required=False)
    potassium_added = q("mass", required=False)


def create_acid_adjustment(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/acid-adjustments."""
    return _write(adjust(AdjustmentGiven(**asked), notes), answer)


def _write(found: Adjustment, answer: Answer) -> Body:
    body: Body = {
        "add": [_addition(one, answer) for one in found.add],
        "before": titratable_acidity(found.start.meq_per_l),
        "volume": answer.q("volume", found.finished.volume_ml),
        "mass": answer.q("mass", found.finished.mass_g),
        "titratable_acidity": titratable_acidity(found.finished.meq_per_l),
        "abv": tidy(found.finished.abv),
        "sugar": answer.q("sugar", found.finished.sugar_g_per_l),
    }
    if found.ta_error_percent is not None:
        body["ta_error_percent"] = tidy(found.ta_error_percent)
    if found.neutralised is not None:
        body["co2_released"] = answer.q("mass", found.neutralised.co2_g)
        body["potassium_added"] = answer.q("mass", found.neutralised.potassium_g)
    return body


def _addition(one: Added, answer: Answer) -> Body:
    form, volume_ml = one.ingredient.form, one.volume_ml
    return {
        "name": one.ingredient.name,
        **({} if form is None else {"form": form}),
        **({} if volume_ml is None else {"volume": answer.q("volume", volume_ml)}),
        "mass": answer.q("mass", one.mass_g),
        **({} if one.measure_g is None else {"measure": answer.q("mass", one.measure_g)}),
    }


OPERATION = Operation(
    path="/v1/acid-adjustments",
    operation_id="createAcidAdjustment",
    tag="acid",
    summary="Bring a juice, wine or batch to an acidity.",
    description="What to add to a liquid of known or titrated acidity to reach a target: an acid solution, dry acids, "
    "water, or potassium bicarbonate to go down. The balance is exact and counts the volume that is added; new volume, "
    "strength and sugar follow. The hazards of the products in hand come as cautions, by GHS statement; bicarbonate "
    "sets CO2 free and is never stirred into a closed vessel. A target out of reach is refused with the range. Volumes "
    "are at 20 °C; acidities go to pH 8.2.",
    request=AcidAdjustmentRequest(),
    answer=AcidAdjustmentAnswer,
    view=create_acid_adjustment,
)
