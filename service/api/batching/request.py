"""What a batch may be asked for."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from marshmallow import ValidationError, fields, post_load

from service.api.answers import Answer
from service.api.endpoint import Closed, ExactlyOne, Part, Request, rule
from service.api.moments import Moment
from service.api.quantities import AmountField, Choice, Coded, MoneyField, Number, QuantityField, Text, Whole, says
from service.api.shapes import Items, ScaleSchema, SpecSchema, VesselSchema, fill_field
from service.batching import DILUTION_WATER, Dilution, Loss, Price, Rounding, Size, SizedVessel, StockLimit
from service.batching.dilution import LEAST_ABV, MOST_OF_FINISHED
from service.batching.measures import STEP_ML
from service.science.units import to_base

JUGS_ML = {"ml": STEP_ML, "oz": to_base("volume", 0.25, "oz")}
"""Unit of the answer -> step by volume where none is stated; a US jigger's finest mark: common practice, no source."""


class SizedVesselSchema(Part):
    """So many vessels of one kind; each holds a serve at least."""

    loads_to = SizedVessel

    vessel = fields.Nested(VesselSchema, required=True)
    count = Whole(low=1, high=300, required=True)
    fill = fill_field()


class StockLimitSchema(Part):
    """The component that runs out first, and how much of it there is."""

    loads_to = StockLimit

    component = Text(required=True, metadata=says("A name in the spec."))
    amount = AmountField(required=True)


class BatchSizeSchema(ExactlyOne):
    """How much: exactly one of these. Serves are served; a volume, vessels or a stock are made."""

    loads_to = Size

    serves = Whole(low=1, high=100_000)
    volume = QuantityField("volume", attribute="volume_ml", metadata=says("Finished, contraction included."))
    vessels = Items(SizedVesselSchema, most=50)
    limited_by = fields.Nested(StockLimitSchema)


class LossSchema(Part):
    """What is made but not served."""

    loads_to = Loss

    percent = Number(low=0.0, high=50.0, required=True)
    of = Choice("made", "served", required=True)


class DilutionSchema(Part):
    """Water in place of ice melt: a percentage by volume with what it is of, or the strength to reach."""

    loads_to = Dilution

    percent = Number(low=0.0, high=1000.0)
    of = Choice(
        "finished",
        "undiluted",
        metadata=says("Stated with percent: 25 % of the finished drink is 33 % of the undiluted."),
    )
    to_abv = Number(low=LEAST_ABV, high=100.0)

    @rule
    def one_way(self, sent: Mapping[str, Any]) -> None:
        if "to_abv" in sent:
            wrong = {
                name: [Coded("not-needed", "Does not go with to_abv.")] for name in ("percent", "of") if name in sent
            }
        else:
            wrong = {
                name: [Coded("required", "Give percent and of, or to_abv.")]
                for name in ("percent", "of")
                if name not in sent
            }
        percent = sent.get("percent")
        if sent.get("of") == "finished" and isinstance(percent, int | float) and percent > MOST_OF_FINISHED:
            wrong["percent"] = [
                Coded("out-of-range", f"At most {MOST_OF_FINISHED:g} % of the finished drink is water.")
            ]
        if wrong:
            raise ValidationError(wrong)


class RoundingSchema(Part):
    """Steps of practical measures."""

    loads_to = Rounding

    volume = QuantityField(
        "volume",
        low=0.01,
        above=None,
        high=10_000.0,
        attribute="volume_ml",
        metadata=says("1 ml unless stated; a quarter of an oz in US units."),
    )
    mass = QuantityField(
        "mass", low=0.001, above=None, high=10_000.0, attribute="mass_g", metadata=says("1 g unless stated.")
    )


def steps(asked: Rounding | None, answer: Answer) -> Rounding:
    """The steps asked for; where the request is silent, those of a jug in the caller's units."""
    return replace(asked or Rounding(), jug_ml=JUGS_ML[answer.units["volume"]])


class PriceSchema(Closed):
    """What a package of a component costs; beside the spec, never in it."""

    component = Text(required=True, metadata=says(f"A name in the spec, or {DILUTION_WATER}."))
    content = AmountField(required=True, low=5.0, above=None)
    price = MoneyField(required=True)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Price:
        amount, currency = data["price"]
        return Price(data["component"], data["content"], amount, currency)


class BatchRequest(Request):
    """One glass and how much of it."""

    spec = fields.Nested(SpecSchema, required=True)
    size = fields.Nested(BatchSizeSchema, required=True)
    loss = fields.Nested(LossSchema)
    dilution = fields.Nested(DilutionSchema)
    rounding = fields.Nested(RoundingSchema)
    scale = fields.Nested(ScaleSchema)
    prices = Items(PriceSchema, most=41)
    made_at = Moment()
    house_maximum = QuantityField(
        "duration",
        high=10 * 365 * 86400.0,
        attribute="house_maximum_s",
        metadata=says("Longest the house keeps any batch."),
    )
