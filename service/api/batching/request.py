"""What a batch may be asked for."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from marshmallow import ValidationError, fields

from service.api.answers import Answer
from service.api.endpoint import ExactlyOne, Part, Request, rule
from service.api.moments import Moment
from service.api.quantities import AmountField, Choice, Coded, MoneyField, Number, QuantityField, Text, Whole, says
from service.api.shapes import (
    Items,
    PriceSchema,
    ScaleSchema,
    SizedVesselSchema,
    SpecSchema,
    VesselSchema,
    fill_field,
)
from service.batching import (
    DILUTION_WATER,
    Dilution,
    Loss,
    Melt,
    Money,
    Rounding,
    Size,
    StockLimit,
    WholeServes,
)
from service.limits.batches import LEAST_ABV, MOST_OF_FINISHED, STEP_ML
from service.science.units import to_base

JUGS_ML = {"ml": STEP_ML, "oz": to_base("volume", 0.25, "oz")}
"""Unit of the answer -> step by volume where none is stated; a US jigger's finest mark: common practice, no source."""


class StockLimitSchema(Part):
    """The component that runs out first, and how much of it there is."""

    loads_to = StockLimit

    component = Text(required=True, metadata=says("A name in the spec."))
    amount = AmountField(required=True)


class OnHandSchema(StockLimitSchema):
    """How much of a component is in the house."""

    component = Text(required=True, metadata=says(f"A name in the spec, or {DILUTION_WATER}."))
    amount = AmountField(required=True, low=0.0, above=None)


class WholeServesSchema(Part):
    """So many serves, each a whole pour from one vessel: the batch is what fills the vessels that give them."""

    loads_to = WholeServes

    count = Whole(low=1, high=100_000, required=True, metadata=says("Whole serves, at least."))
    vessel = fields.Nested(VesselSchema, metadata=says("The usual bottle unless stated; on a prep sheet, the sheet's."))
    fill = fill_field()


class BatchSizeSchema(ExactlyOne):
    """The size of a batch, by exactly one of these. Serves are served; a volume, vessels or a stock are made.

    A serve takes its losses from the vessel that it is poured from.
    """

    loads_to = Size

    serves = Whole(low=1, high=100_000)
    volume = QuantityField("volume", attribute="volume_ml", metadata=says("Finished, contraction included."))
    vessels = Items(SizedVesselSchema, most=50)
    whole_serves = fields.Nested(WholeServesSchema)
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
        wrong |= most_of_finished(sent)
        if wrong:
            raise ValidationError(wrong)


def most_of_finished(sent: Mapping[str, Any]) -> dict[str, Any]:
    """The fault of a finished drink that would be almost nothing but added water."""
    percent = sent.get("percent")
    if sent.get("of") == "finished" and isinstance(percent, int | float) and percent > MOST_OF_FINISHED:
        return {"percent": [Coded("out-of-range", f"At most {MOST_OF_FINISHED:g} % of the finished drink is water.")]}
    return {}


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
    batch_may_vary_percent = Number(
        low=0.0,
        high=20.0,
        attribute="vary_percent",
        metadata=says(
            "How far the batch may leave its size so that whole steps distort the recipe least: serves upwards, "
            "a volume, vessels or a stock downwards, and never by a serve."
        ),
    )


def steps(asked: Rounding | None, answer: Answer) -> Rounding:
    """The steps asked for; where the request is silent, those of a jug in the caller's units."""
    return replace(asked or Rounding(), jug_ml=JUGS_ML[answer.units["volume"]])


class SellingPriceField(MoneyField):
    """A price over nothing; loads to `Money`."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        return Money(*super()._deserialize(value, attr, data, **kwargs))


class MeltSchema(Part):
    """The share of the ice, or the water of it, that melts before the glass is empty."""

    loads_to = Melt

    percent = Number(low=0.0, high=100.0, required=True)
    of = Choice(
        "finished",
        "poured",
        "ice",
        required=True,
        metadata=says("By volume of the glass after the melt or of the drink poured; or by mass of the ice."),
    )
    ice = QuantityField("mass", high=5000.0, attribute="ice_g", metadata=says("Of the ice; stated with of: ice."))

    @rule
    def ice_of_the_melt(self, sent: Mapping[str, Any]) -> None:
        wrong: dict[str, Any] = {}
        if sent.get("of") == "ice" and "ice" not in sent:
            wrong["ice"] = [Coded("required", "State the mass of the ice, or another basis.")]
        if sent.get("of") in ("finished", "poured") and "ice" in sent:
            wrong["ice"] = [Coded("not-needed", "Goes with of: ice only.")]
        wrong |= most_of_finished(sent)
        if wrong:
            raise ValidationError(wrong)


class BatchRequest(Request):
    """One glass and how much of it. Without a size it is the most that on_hand makes."""

    spec = fields.Nested(SpecSchema, required=True)
    size = fields.Nested(BatchSizeSchema)
    on_hand = Items(OnHandSchema, most=41, metadata=says("What is in the house; the answer says what runs out first."))
    loss = fields.Nested(LossSchema)
    dilution = fields.Nested(DilutionSchema)
    rounding = fields.Nested(RoundingSchema)
    scale = fields.Nested(ScaleSchema)
    prices = Items(PriceSchema, most=41)
    selling_price = SellingPriceField(free=False, metadata=says("Of one serve, for the pour cost; goes with prices."))
    melt = fields.Nested(MeltSchema)
    made_at = Moment()
    against = fields.Nested(SpecSchema, metadata=says("The standard that this spec is compared with."))
    house_maximum = QuantityField(
        "duration",
        high=10 * 365 * 86400.0,
        attribute="house_maximum_s",
        metadata=says("Longest the house keeps any batch."),
    )

    @rule
    def what_goes_together(self, sent: Mapping[str, Any]) -> None:
        wrong: dict[str, Any] = {}
        if "size" not in sent and "on_hand" not in sent:
            wrong["size"] = [Coded("required", "This field is required, unless on_hand sizes the batch.")]
        if "selling_price" in sent and "prices" not in sent:
            wrong["prices"] = [Coded("required", "A selling price needs the prices of what it is made of.")]
        if wrong:
            raise ValidationError(wrong)
