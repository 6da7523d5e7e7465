"""What a prep sheet is asked with."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.api import batching, wire
from service.api.endpoint import Part, Request, rule
from service.api.moments import Moment
from service.api.quantities import Choice, Coded, QuantityField, Text
from service.api.shapes import (
    CALIBRATION,
    CalibrationSchema,
    Items,
    ShiftSchema,
    SiteSchema,
    SpecSchema,
    VesselSchema,
    fill_field,
)
from service.carbonation import CarbonationPlan
from service.prep_sheet import ChillPlan
from service.science.mixture import ENVIRONMENTS


class PrepChillSchema(Part):
    """How the batch is chilled; the defaults are those of /v1/chilling."""

    environment = Choice(*ENVIRONMENTS)
    start_temperature = QuantityField("temperature", low=-15.0, high=45.0, attribute="start_c")
    loads_to = ChillPlan


class PrepSheetRequest(Request):
    """One spec, how much of it, in which vessels, where, and when it is served.

    Without a size it is the whole serves of the shift, where that says how many an hour and how long it lasts.
    """

    spec = fields.Nested(SpecSchema, required=True)
    size = fields.Nested(batching.BatchSizeSchema)
    vessel = fields.Nested(VesselSchema)
    fill = fill_field()
    site = fields.Nested(SiteSchema)
    carbonation = wire.object_of(CarbonationPlan)
    chill = fields.Nested(PrepChillSchema)
    shift = fields.Nested(ShiftSchema)
    rounding = fields.Nested(batching.RoundingSchema)
    prices = Items(batching.PriceSchema, most=41)
    calibration = fields.Nested(CalibrationSchema, metadata=CALIBRATION)
    made_at = Moment()
    house_maximum = QuantityField("duration", high=10 * 365 * 86400.0, attribute="house_maximum_s")
    lot = Text(longest=64)

    @rule
    def one_vessel(self, sent: Mapping[str, Any]) -> None:
        size = sent.get("size")
        if not isinstance(size, Mapping):
            return
        names: Mapping[str, Any] = sent if "vessels" in size else {}
        wrong: dict[str, Any] = {
            name: [Coded("described-twice", "size names the vessels already; leave this out.")]
            for name in ("vessel", "fill")
            if name in names
        }
        whole = size.get("whole_serves")
        if isinstance(whole, Mapping) and (inside := whole.keys() & {"vessel", "fill"}):
            text = "A sheet fills its own vessel: state this beside size."
            wrong["size"] = {"whole_serves": {name: [Coded("described-twice", text)] for name in inside}}
        if wrong:
            raise ValidationError(wrong)

    @rule
    def sized(self, sent: Mapping[str, Any]) -> None:
        shift = sent.get("shift")
        if "size" in sent or (isinstance(shift, Mapping) and {"serves_per_hour", "lasts"} <= shift.keys()):
            return
        text = "State a size, or a shift with serves_per_hour and lasts: its whole serves are then the size."
        raise ValidationError({"size": [Coded("required", text)]})
