"""The vessel, the air in it, the site and the shift."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields, post_load

from service.api.endpoint import Closed, Part, rule
from service.api.moments import Day, Moment
from service.api.places import LocaleField, TimeZoneField
from service.api.quantities import (
    AmountField,
    Choice,
    Coded,
    Flag,
    MoneyField,
    Number,
    QuantityField,
    Text,
    Whole,
    says,
)
from service.api.shapes.items import Items
from service.batching import DILUTION_WATER
from service.site import Air, Price, Scale, Shift, Site
from service.vessel import KEPT_COLD_L, PRESETS, SizedVessel, VesselGiven

SITE = says("Sea level and a 30 °C warmest room unless stated.")
AIR_METHODS = ("none", "squeezed", "purged", "left")
AIR_FIELDS = (("squeezed", "remaining"), ("purged", "times"), ("purged", "pressure"))
"""Method that uses a field, and the field."""
FILL = says("Liquid as a share of brimful; of a bottle 0.80 unless stated, of a keg 0.95.")


class VesselSchema(Part):
    """A vessel; a preset fills the gaps, fields given override it."""

    loads_to = VesselGiven

    preset = Choice(*PRESETS)
    material = Choice("pet", "steel", "glass", "aluminium")
    capacity = QuantityField(
        "volume", low=20.0, above=None, high=60_000.0, attribute="capacity_ml", metadata=says("Brimful.")
    )
    charge_limit = QuantityField("pressure", low=0.1, high=10.0, attribute="charge_limit_bar")
    closed_limit = QuantityField("pressure", low=0.1, high=20.0, attribute="closed_limit_bar")
    soft = Flag()
    made_for_carbonation = Flag()
    cycles = Whole(low=0, high=10_000, metadata=says("Charges so far."))
    first_used = Day(metadata=says("Of a PET bottle, which is retired three months later; judged against `now`."))
    condition = Choice("sound", "creased", "whitened", "bulged", "dropped", "unknown")
    rated_by = Choice(
        "maker",
        "stamp",
        metadata=says(
            "Who rated the limits that are stated, in writing: the maker of a PET bottle, the stamp on metal. Needed "
            "for a limit over the usual, and for metal without a preset."
        ),
    )
    closure = Choice("plastic", "metal", metadata=says("Of a PET bottle."))
    rated_at = QuantityField(
        "temperature", low=-30.0, high=90.0, attribute="rated_at_c", metadata=says("At which the maker rates it.")
    )
    refillable = Flag(metadata=says("A heavy PET bottle made to be filled again: 20 charges instead of 10."))
    kept_at = QuantityField(
        "temperature",
        low=-30.0,
        high=40.0,
        attribute="kept_at_c",
        metadata=says(
            f"The warmest place where a beer keg ({KEPT_COLD_L} l) stands; 12 °C unless stated, and at the least."
        ),
    )

    @rule
    def fields_of_the_material(self, sent: Mapping[str, Any]) -> None:
        preset = sent.get("preset")
        known = PRESETS.get(preset) if isinstance(preset, str) else None
        material = sent.get("material") or (known.material if known else None)
        wrong = {}
        if material in ("steel", "aluminium", "glass"):
            wrong = {name: [Coded("not-needed", "Of a PET bottle alone.")] for name in PET_ALONE if name in sent}
        if "kept_at" in sent and not (known and known.kept_cold):
            text = "Of a beer keg alone; any other vessel is judged in the warmest room."
            wrong["kept_at"] = [Coded("not-needed", text)]
        if wrong:
            raise ValidationError(wrong)


PET_ALONE = ("closure", "rated_at", "refillable")
"""Fields that no other material has."""


def fill_field(**kwargs: Any) -> Number:
    """How full a vessel is, as a share of brimful."""
    return Number(low=0.05, high=1.0, **{"metadata": FILL, **kwargs})


class AirSchema(Part):
    """What is done about the air before charging. none: there is no air, as after filling under CO2."""

    loads_to = Air

    method = Choice(*AIR_METHODS, required=True)
    remaining = QuantityField(
        "volume",
        low=0.0,
        above=None,
        high=60_000.0,
        attribute="remaining_ml",
        metadata=says("Air left after squeezing."),
    )
    times = Whole(low=1, high=20)
    pressure = QuantityField(
        "pressure",
        low=0.01,
        high=6.0,
        attribute="pressure_bar_gauge",
        metadata=says("Gauge pressure of each purge; 2 bar, or what may be dialled where that is less."),
    )

    @rule
    def fields_of_the_method(self, sent: Mapping[str, Any]) -> None:
        method = sent.get("method")
        uses = [name for uses, name in AIR_FIELDS if uses == method]
        wrong = {
            name: [Coded("not-needed", f"Does not go with the method {method}.")]
            for _, name in AIR_FIELDS
            if method in AIR_METHODS and name in sent and name not in uses
        }
        if wrong:
            raise ValidationError(wrong)


class ScaleSchema(Part):
    """A bar's scale."""

    loads_to = Scale

    resolution = QuantityField("mass", low=0.0001, above=None, high=1000.0, required=True, attribute="resolution_g")
    capacity = QuantityField("mass", low=20.0, above=None, attribute="capacity_g")
    jug = QuantityField(
        "mass",
        low=0.0,
        above=None,
        high=20_000.0,
        attribute="jug_g",
        metadata=says(
            "Of the empty jug, which the scale bears too; where a batch is weighed, a tenth of capacity unless stated."
        ),
    )


class SizedVesselSchema(Part):
    """So many vessels of one kind; each holds a serve at least."""

    loads_to = SizedVessel

    vessel = fields.Nested(VesselSchema, required=True)
    count = Whole(low=1, high=300, required=True)
    fill = fill_field()


class PriceSchema(Closed):
    """What a package of a component costs; beside the spec, never in it."""

    component = Text(required=True, metadata=says(f"A name in the spec, or {DILUTION_WATER}."))
    content = AmountField(required=True, low=5.0, above=None)
    price = MoneyField(required=True)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Price:
        amount, currency = data["price"]
        return Price(data["component"], data["content"], amount, currency)


class SiteSchema(Part):
    """The conditions of one venue, whole: each operation takes of it what it computes with."""

    loads_to = Site

    id = Text(longest=64)
    name = Text()
    altitude = QuantityField("length", low=-400.0, high=5000.0, attribute="altitude_m")
    barometer = QuantityField(
        "pressure",
        low=0.5,
        high=1.1,
        attribute="barometer_bar",
        metadata=says("Station pressure, absolute; never the sea-level figure of a weather report."),
    )
    regulator_max = QuantityField("pressure", low=0.1, high=300.0, attribute="regulator_max_bar")
    relief_set = QuantityField("pressure", low=0.1, high=300.0, attribute="relief_set_bar")
    warmest_room = QuantityField("temperature", low=5.0, high=40.0, attribute="warmest_room_c")
    coldest = QuantityField(
        "temperature", low=-40.0, high=40.0, attribute="coldest_c", metadata=says("Coldest that vessels are kept.")
    )
    gas_source = Choice("regulator", "cartridge", metadata=says("A one-shot cartridge never charges a bottle."))
    scale = fields.Nested(ScaleSchema)
    room_volume = QuantityField(
        "volume", low=1000.0, above=None, high=1e11, attribute="room_ml",
        metadata=says("Of the room that the cylinder stands in; 1 m³ is 1000 l."),
    )  # fmt: skip
    units = Choice("metric", "us", metadata=says("Units of what is answered for this venue."))
    locale = LocaleField(metadata=says("In whose manner sentences of this venue write numbers and dates."))
    time_zone = TimeZoneField(metadata=says("On whose clock the moments of this venue are told."))
    vessels = Items(SizedVesselSchema, most=50, metadata=says("Each kind, and how many of it are filled."))
    prices = Items(PriceSchema, most=41, metadata=says("What this venue pays, in one currency."))


class ShiftSchema(Part):
    """One service period. Unless stated: until the vessels are empty, a floor of 4.5 g/l, each opening 10 s."""

    loads_to = Shift

    serves_per_hour = Number(low=0.5, high=1000.0, required=True)
    starts_at = Moment(metadata=says("Moments are answered only if this is stated."))
    lasts = QuantityField("duration", high=2 * 86400.0, attribute="lasts_s")
    floor = QuantityField(
        "co2", low=0.0, high=20.0, attribute="floor_g_per_l", metadata=says("Lowest CO2 level in the glass.")
    )
    holding_temperature = QuantityField("temperature", low=-5.0, high=40.0, attribute="holding_temperature_c")
    open_for = QuantityField(
        "duration", high=600.0, attribute="open_for_s", metadata=says("How long a bottle stands open for each pour.")
    )
