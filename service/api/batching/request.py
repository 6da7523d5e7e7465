"""What a batch may be asked for."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields, post_load, validates_schema

from service.api.endpoint import Closed, ExactlyOne, Request
from service.api.moments import Moment
from service.api.quantities import AmountField, Choice, Coded, MoneyField, Number, QuantityField, Text, Whole
from service.api.shapes import Items, ScaleSchema, SpecSchema, VesselSchema, fill_field
from service.batching import DILUTION_WATER, Dilution, Loss, Price, Rounding, Size, SizedVessel, StockLimit
from service.batching.dilution import LEAST_ABV, MOST_OF_FINISHED


class SizedVesselSchema(Closed):
    """So many vessels of one kind; each holds a serve at least."""

    vessel = fields.Nested(VesselSchema, required=True)
    count = Whole(low=1, high=300, required=True)
    fill = fill_field()

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> SizedVessel:
        return SizedVessel(**data)


class StockLimitSchema(Closed):
    """The component that runs out first, and how much of it there is."""

    component = Text(required=True, metadata={"description": "A name in the spec."})
    amount = AmountField(required=True)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> StockLimit:
        return StockLimit(**data)


class BatchSizeSchema(ExactlyOne):
    """How much: exactly one of these. Serves are served; a volume, vessels or a stock are made."""

    serves = Whole(low=1, high=100_000)
    volume = QuantityField("volume", attribute="volume_ml", metadata={"description": "Finished, contraction included."})
    vessels = Items(SizedVesselSchema, most=50)
    limited_by = fields.Nested(StockLimitSchema)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Size:
        return Size(**data)


class LossSchema(Closed):
    """What is made but not served."""

    percent = Number(low=0.0, high=50.0, required=True)
    of = Choice("made", "served", required=True)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Loss:
        return Loss(**data)


class DilutionSchema(Closed):
    """Water in place of ice melt: a percentage by volume with what it is of, or the strength to reach."""

    percent = Number(low=0.0, high=1000.0)
    of = Choice(
        "finished",
        "undiluted",
        metadata={"description": "Stated with percent: 25 % of the finished drink is 33 % of the undiluted."},
    )
    to_abv = Number(low=LEAST_ABV, high=100.0)

    @validates_schema
    def one_way(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        if "to_abv" in data:
            wrong = {
                name: [Coded("not-needed", "Does not go with to_abv.")] for name in ("percent", "of") if name in data
            }
        else:
            wrong = {
                name: [Coded("required", "Give percent and of, or to_abv.")]
                for name in ("percent", "of")
                if name not in data
            }
        if data.get("of") == "finished" and data.get("percent", 0.0) > MOST_OF_FINISHED:
            wrong["percent"] = [
                Coded("out-of-range", f"At most {MOST_OF_FINISHED:g} % of the finished drink is water.")
            ]
        if wrong:
            raise ValidationError(wrong)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Dilution:
        return Dilution(**data)


class RoundingSchema(Closed):
    """Steps of practical measures."""

    volume = QuantityField("volume", low=0.01, above=None, high=10_000.0, attribute="volume_ml")
    mass = QuantityField("mass", low=0.001, above=None, high=10_000.0, attribute="mass_g")

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Rounding:
        return Rounding(**data)


class PriceSchema(Closed):
    """What a package of a component costs; beside the spec, never in it."""

    component = Text(required=True, metadata={"description": f"A name in the spec, or {DILUTION_WATER}."})
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
        "duration", high=10 * 365 * 86400.0, attribute="house_maximum_s",
        metadata={"description": "Longest the house keeps any batch."},
    )  # fmt: skip
