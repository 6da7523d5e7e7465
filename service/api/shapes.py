"""Shapes that several operations share: the spec, the drink, the vessel, the site; and the envelope of answers."""

from collections.abc import Mapping
from typing import Any

from marshmallow import Schema, ValidationError, fields, post_load, validates_schema

from service.api.endpoint import Closed, ExactlyOne, Open
from service.api.moments import Moment
from service.api.quantities import (
    AcidityField,
    AmountField,
    Answered,
    Choice,
    Coded,
    Flag,
    Number,
    QuantityField,
    SugarField,
    Text,
    Whole,
    number,
    q,
    text,
    texts,
)
from service.drink import (
    AcidPart,
    AcidRecipe,
    Component,
    Composition,
    DrinkGiven,
    Serve,
    Spec,
    Syrup,
)
from service.science.acids import FORMS
from service.site import Air, Scale, Shift, Site
from service.vessel import PRESETS, VesselGiven

ACID_NAMES = ("citric", "malic", "tartaric", "lactic", "acetic", "phosphoric", "ascorbic", "succinic")
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


class Items(fields.List[Any]):
    """A list of bounded length; a list that is too long gets one fault, not one per item."""

    def __init__(self, inner: fields.Field[Any] | type[Schema], *, most: int, least: int = 1, **kwargs: Any) -> None:
        super().__init__(fields.Nested(inner) if not isinstance(inner, fields.Field) else inner, **kwargs)
        self.least, self.most = least, most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, list) and not self.least <= len(value) <= self.most:
            raise ValidationError(
                [Coded("length", f"Must hold {self.least} to {self.most} items; this holds {len(value)}.")]
            )
        return tuple(super()._deserialize(value, attr, data, **kwargs))

    def bounds(self) -> dict[str, Any]:
        return {"minItems": self.least, "maxItems": self.most}


class AcidPartSchema(Closed):
    """One acid of a solution."""

    acid = Choice(*ACID_NAMES, required=True)
    percent = Number(low=0.0001, high=100.0)
    share = Number(
        low=0.0001, high=1000.0, metadata={"description": "Part by mass of a blend, where a target TA sets the total."}
    )
    form = Choice(*FORMS, metadata={"description": "The product as weighed; the common one of the acid when left out."})
    purity_percent = Number(
        low=50.0, high=100.0, metadata={"description": "Assay of the product, of its nominal acid."}
    )

    @validates_schema
    def form_of_the_acid(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        if "form" in data and FORMS[data["form"]].acid != data["acid"]:
            fits = ", ".join(name for name, form in FORMS.items() if form.acid == data["acid"])
            raise ValidationError({"form": [Coded("form-of-another-acid", f"Forms of {data['acid']}: {fits}.")]})

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> AcidPart:
        return AcidPart(**data)


class AcidSolutionSchema(Closed):
    """An acid solution by per cent, as a component of a spec."""

    acids = Items(AcidPartSchema, most=8, required=True)
    basis = Choice("w/w", "w/v", required=True)

    @validates_schema
    def percents(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        check_percents(data["acids"])

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> AcidRecipe:
        return AcidRecipe(**data)


def check_percents(parts: tuple[AcidPart, ...]) -> None:
    """Each acid once, each with a percent.

    raises: ValidationError
    """
    wrong: dict[int, Any] = {}
    for i, part in enumerate(parts):
        if part.percent is None:
            wrong[i] = {"percent": [Coded("required", "This field is required.")]}
        if part.share is not None:
            wrong[i] = {"share": [Coded("not-needed", "Shares go with the basis ta only.")]}
        if any(other.acid == part.acid for other in parts[:i]):
            wrong[i] = {"acid": [Coded("duplicate", "Each acid stands once.")]}
    if wrong:
        raise ValidationError({"acids": wrong})


class SyrupSchema(Closed):
    """A sucrose syrup by its ratio."""

    sugar_to_water = Number(above=0.0, high=4.0, required=True, metadata={"description": "2 for a two-to-one syrup."})
    by = Choice("mass", "volume", required=True)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Syrup:
        return Syrup(**data)


class ComponentSchema(Closed):
    """One line of a spec, for one glass."""

    name = Text(required=True, longest=200)
    amount = AmountField(required=True)
    abv = Number(low=0.0, high=100.0, metadata={"description": "Alcoholic strength at 20 °C, %vol."})
    sugar = SugarField()
    hexose_share = Number(
        low=0.0, high=1.0, metadata={"description": "Share of the sugar that is glucose or fructose."}
    )
    acidity = AcidityField(attribute="acidity_meq_per_l")
    salt = QuantityField("salt", low=0.0, high=350.0, attribute="salt_g_per_l")
    density_g_per_ml = Number(low=0.7, high=1.7)
    co2 = QuantityField("co2", low=0.0, high=20.0, attribute="co2_g_per_l")
    clarity = Choice("clear", "hazy", "pulpy")
    foams = Flag(metadata={"description": "Egg, dairy, coconut milk, tea, coffee, gum and the like."})
    live_culture = Flag()
    ph = Number(low=0.0, high=14.0)
    allergens = Items(Choice(*ALLERGENS), most=14, least=0)
    keeps = QuantityField(
        "duration",
        attribute="keeps_s",
        high=10 * 365 * 86400.0,
        metadata={"description": "How long it keeps once made or opened, cold."},
    )
    acid_solution = fields.Nested(AcidSolutionSchema)
    syrup = fields.Nested(SyrupSchema)
    stock_code = Text(longest=64)
    stock_unit = Text(longest=16)

    @validates_schema(skip_on_field_errors=True)
    def one_description(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        stated = {"abv", "sugar", "acidity_meq_per_l", "salt_g_per_l", "density_g_per_ml", "hexose_share"} & set(data)
        if "acid_solution" in data and (stated or "syrup" in data):
            raise ValidationError(
                {
                    "acid_solution": [
                        Coded(
                            "described-twice",
                            "An acid solution describes itself; leave out strength, sugar, acidity, salt and density.",
                        )
                    ]
                }
            )
        if "syrup" in data and "sugar" in data:
            raise ValidationError(
                {"syrup": [Coded("described-twice", "A syrup describes its sugar; leave sugar out.")]}
            )

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Component:
        return Component(**data)


class ServeSchema(Closed):
    """How the glass is finished."""

    glass = Text()
    ice = Text()
    garnish = Text()
    note = Text()

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Serve:
        return Serve(**data)


class SpecSchema(Closed):
    """One glass, as the bar writes it."""

    name = Text(required=True)
    components = Items(ComponentSchema, most=40, required=True)
    serve = fields.Nested(ServeSchema)

    @validates_schema
    def unique_names(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        names = [c.name for c in data["components"]]
        wrong = {
            i: {"name": [Coded("duplicate", "Each name stands once in a spec.")]}
            for i, name in enumerate(names)
            if name in names[:i]
        }
        if wrong:
            raise ValidationError({"components": wrong})

    @post_load(pass_original=True)
    def make(self, data: Mapping[str, Any], original: Mapping[str, Any], **kwargs: Any) -> Spec:
        return Spec(**data, original=original)


class CompositionSchema(Closed):
    """A drink by its analysis."""

    abv = Number(low=0.0, high=100.0, required=True)
    sugar = SugarField(required=True)
    acidity = AcidityField(attribute="acidity_meq_per_l")
    hexose_share = Number(low=0.0, high=1.0)
    salt = QuantityField("salt", low=0.0, high=350.0, attribute="salt_g_per_l")
    clarity = Choice("clear", "hazy", "pulpy")
    foams = Flag()
    live_culture = Flag()

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Composition:
        return Composition(**data)


class DrinkSchema(ExactlyOne):
    """The drink: exactly one of the two."""

    spec = fields.Nested(SpecSchema)
    composition = fields.Nested(CompositionSchema)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> DrinkGiven:
        return DrinkGiven(**data)


class VesselSchema(Closed):
    """A vessel; a preset fills the gaps, fields given override it."""

    preset = Choice(*PRESETS)
    material = Choice("pet", "steel", "glass", "aluminium")
    capacity = QuantityField(
        "volume", low=20.0, above=None, high=60_000.0, attribute="capacity_ml", metadata={"description": "Brimful."}
    )
    charge_limit = QuantityField("pressure", low=0.1, high=10.0, attribute="charge_limit_bar")
    closed_limit = QuantityField("pressure", low=0.1, high=20.0, attribute="closed_limit_bar")
    soft = Flag()
    made_for_carbonation = Flag()
    cycles = Whole(low=0, high=10_000, metadata={"description": "Charges so far."})
    condition = Choice("sound", "creased", "whitened", "bulged", "dropped", "unknown")

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> VesselGiven:
        return VesselGiven(**data)


class AirSchema(Closed):
    """What is done about the air before charging. none: there is no air, as after filling under CO2."""

    method = Choice("none", "squeezed", "purged", "left", required=True)
    remaining = QuantityField(
        "volume",
        low=0.0,
        above=None,
        high=60_000.0,
        attribute="remaining_ml",
        metadata={"description": "Air left after squeezing."},
    )
    times = Whole(low=1, high=20)
    pressure = QuantityField(
        "pressure",
        low=0.01,
        high=6.0,
        attribute="pressure_bar_gauge",
        metadata={"description": "Gauge pressure of each purge."},
    )

    @validates_schema
    def fields_of_the_method(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        uses = {"squeezed": {"remaining_ml"}, "purged": {"times", "pressure_bar_gauge"}}.get(data["method"], set())
        names = {"remaining_ml": "remaining", "times": "times", "pressure_bar_gauge": "pressure"}
        wrong = {
            names[key]: [Coded("not-needed", f"Does not go with the method {data['method']}.")]
            for key in set(data) - {"method"} - uses
        }
        if wrong:
            raise ValidationError(wrong)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Air:
        return Air(**data)


class ScaleSchema(Closed):
    """A bar's scale."""

    resolution = QuantityField("mass", low=0.0001, above=None, high=1000.0, required=True, attribute="resolution_g")
    capacity = QuantityField("mass", low=20.0, above=None, attribute="capacity_g")

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Scale:
        return Scale(**data)


class SiteSchema(Closed):
    """The conditions of one venue."""

    id = Text(longest=64)
    name = Text()
    altitude = QuantityField("length", low=-400.0, high=5000.0, attribute="altitude_m")
    barometer = QuantityField(
        "pressure",
        low=0.5,
        high=1.1,
        attribute="barometer_bar",
        metadata={"description": "Station pressure, absolute; never the sea-level figure of a weather report."},
    )
    regulator_max = QuantityField("pressure", low=0.1, high=300.0, attribute="regulator_max_bar")
    relief_set = QuantityField("pressure", low=0.1, high=300.0, attribute="relief_set_bar")
    warmest_room = QuantityField("temperature", low=5.0, high=40.0, attribute="warmest_room_c")
    scale = fields.Nested(ScaleSchema)

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Site:
        return Site(**data)


class ShiftSchema(Closed):
    """One service period. Unless stated: until the vessels are empty, a floor of 4.5 g/l, each opening 10 s."""

    serves_per_hour = Number(low=0.5, high=1000.0, required=True)
    starts_at = Moment(metadata={"description": "Moments are answered only if this is stated."})
    lasts = QuantityField("duration", high=2 * 86400.0, attribute="lasts_s")
    floor = QuantityField(
        "co2", low=0.0, high=20.0, attribute="floor_g_per_l", metadata={"description": "Lowest CO2 level in the glass."}
    )
    holding_temperature = QuantityField("temperature", low=-5.0, high=40.0, attribute="holding_temperature_c")
    open_for = QuantityField(
        "duration",
        high=600.0,
        attribute="open_for_s",
        metadata={"description": "How long a bottle stands open for each pour."},
    )

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Shift:
        return Shift(**data)


SITE = {"description": "Sea level and a 30 °C warmest room unless stated."}
FILL = {"description": "Liquid as a share of brimful; 0.80 unless stated, never over 0.90."}


def fill_field(**kwargs: Any) -> Number:
    """How full a vessel is, as a share of brimful."""
    return Number(low=0.05, high=1.0, **{"metadata": FILL, **kwargs})


class SentenceParameterSchema(Open):
    """A value inside a sentence: as text, and as a number with its unit where it is one."""

    name = text(100)
    value = number(required=False)
    unit = text(20, required=False)
    text = text()


class CautionSchema(Open):
    """Something the bar must know."""

    code = text(100)
    severity = Answered({"type": "string", "enum": ["info", "warning", "danger"]})
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    pointers = texts(500)


class AssumedQuantitySchema(Open):
    """An assumed number, with its unit where it has one."""

    value = number()
    unit = text(20, required=False)


class AssumptionSchema(Open):
    """A value the request did not give, or a statement the answer rests on. pointers: where to override it."""

    name = text(200)
    value = text()
    quantity = fields.Nested(AssumedQuantitySchema)
    basis = Answered(
        {"type": "string", "enum": ["published", "library", "common-practice", "estimate", "unverified", "default"]}
    )
    source = text(required=False)
    pointers = texts(500)


class Envelope(Open):
    """What every answer begins with."""

    model = text(40)
    cautions = fields.List(fields.Nested(CautionSchema), required=True)
    assumptions = fields.List(fields.Nested(AssumptionSchema), required=True)
    labels = Answered(
        {"type": "object", "maxProperties": 16, "additionalProperties": {"type": "string", "maxLength": 200}},
        required=False,
    )


class TitratableAcidityAnswerSchema(Open):
    """Titratable acidity to pH 8.2, expressed three ways."""

    as_citric = q("acidity")
    as_tartaric = q("acidity")
    meq_per_l = number()
