"""Set-points and charges on the wire."""

from math import isfinite

from marshmallow import fields

from service import carbonation
from service.api.answers import Answer, tidy
from service.api.endpoint import Body, Open, Operation, Request
from service.api.problems import refusal
from service.api.quantities import (
    Answered,
    Choice,
    Flag,
    QuantityField,
    Whole,
    band,
    number,
    q,
    says,
    text,
    texts,
    whole,
)
from service.api.shapes import SITE, AirSchema, DrinkSchema, Envelope, Items, SiteSchema, VesselSchema, fill_field
from service.carbonation import Advice, Charging, Point, RefusedPoint, SetPoints
from service.drink import drink_of
from service.notes import Notes

self_check = carbonation.self_check

VESSEL = says("A 1 l PET bottle for carbonated drinks unless stated.")
AIR = says("A soft bottle is squeezed, anything else purged, unless stated.")
TARGET = says("CO2 wanted in the drink; 7 g/l unless stated.")


class SetPointsRequest(Request):
    """A drink, the CO2 wanted in it, and the temperatures it might be charged at."""

    drink = fields.Nested(DrinkSchema, required=True)
    target = QuantityField("co2", above=0.0, high=15.0, attribute="target_g_per_l", metadata=TARGET)
    temperatures = Items(
        QuantityField("temperature", low=-30.0, high=60.0),
        most=50,
        attribute="temperatures_c",
        metadata=says("1 °C unless stated, or as near to it as the drink stands."),
    )
    site = fields.Nested(SiteSchema, metadata=SITE)
    air = fields.Nested(AirSchema, metadata=AIR)
    vessel = fields.Nested(VesselSchema, metadata=VESSEL)
    fill = fill_field()


class SetPointSchema(Open):
    """The set-point at one temperature. limits: what binds there, or nearly does, such as closed-limit or air."""

    status = Answered({"type": "string", "enum": ["ok", "refused"]})
    temperature = q("temperature")
    gauge_pressure = band("pressure", required=False)
    limits = texts(100)
    problem = Answered({"$ref": "#/components/schemas/Problem"}, required=False)


class HighestCo2Schema(Open):
    """The most CO2 that the vessel allows at a temperature, at rest under the highest dial that passes."""

    temperature = q("temperature")
    co2 = q("co2")


class SensitivitySchema(Open):
    """What one change does to the dial of the first point that is ok: a difference, not a pressure."""

    code = text(100)
    change = text()
    gauge_pressure = q("pressure")


class SetPointsBody(Open):
    points = fields.List(fields.Nested(SetPointSchema), required=True)
    highest = fields.List(fields.Nested(HighestCo2Schema), required=True)
    sensitivities = fields.List(fields.Nested(SensitivitySchema), required=True)


class SetPointsAnswer(Envelope, SetPointsBody):
    """The dial for the target at each temperature."""


def create_set_points(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/carbonation/set-points."""
    drink = drink_of(asked.pop("drink"), notes)
    return write_set_points(carbonation.set_points(drink, notes=notes, **asked), answer)


def write_set_points(found: SetPoints, answer: Answer) -> Body:
    """The set-points in the caller's units."""
    return {
        "points": [_point(point, answer) for point in found.points],
        "highest": [
            {"temperature": answer.q("temperature", h.temperature_c), "co2": answer.q("co2", h.co2_g_per_l)}
            for h in found.highest
        ],
        "sensitivities": [
            {
                "code": s.code,
                "change": answer.sentence(s.change, s.params),
                "gauge_pressure": answer.q("pressure", s.gauge_bar),
            }
            for s in found.sensitivities
        ],
    }


def _point(point: Point | RefusedPoint, answer: Answer) -> Body:
    known = {"temperature": answer.q("temperature", point.temperature_c), "limits": list(point.limits)}
    if isinstance(point, RefusedPoint):
        return {"status": "refused", **known, "problem": refusal(point.refused, answer)}
    return {"status": "ok", **known, "gauge_pressure": answer.band("pressure", point.gauge_bar)}


class ChargesRequest(Request):
    """A drink in its vessel, and how it is to be charged."""

    drink = fields.Nested(DrinkSchema, required=True)
    vessel = fields.Nested(VesselSchema, metadata=VESSEL)
    fill = fill_field()
    temperature = QuantityField(
        "temperature",
        low=-30.0,
        high=60.0,
        attribute="temperature_c",
        metadata=says("Of the drink; 1 °C unless stated, or as near to it as the drink stands."),
    )
    target = QuantityField("co2", above=0.0, high=15.0, attribute="target_g_per_l", metadata=TARGET)
    start_co2 = QuantityField(
        "co2",
        low=0.0,
        high=15.0,
        attribute="start_co2_g_per_l",
        metadata=says("In the drink before charging; half of what its components bring unless stated."),
    )
    gauge_pressure = QuantityField(
        "pressure",
        above=0.0,
        high=10.0,
        attribute="dial_bar_gauge",
        metadata=says("The dial of the regulator; the set-point of the target unless stated."),
    )
    air = fields.Nested(AirSchema, metadata=AIR)
    charge_count = Whole(low=1, high=20, metadata=says("3 unless stated; 1 for a keg that stays on the gas."))
    shake = QuantityField(
        "duration",
        high=3600.0,
        attribute="shake_s",
        metadata=says("On the regulator, each charge; 30 s unless stated."),
    )
    rest = QuantityField(
        "duration", high=86400.0, attribute="rest_s", metadata=says("After each charge; 60 s unless stated.")
    )
    agitation = Choice(
        "shaken", "rocked", "still", metadata=says("Shaken unless stated; still for a keg that stays on the gas.")
    )
    connected = Flag(metadata=says("Stays on the gas, during the rests and after; kegs only."))
    site = fields.Nested(SiteSchema, metadata=SITE)


class ChargeSchema(Open):
    """The level after one charge, counted from 1, and its rest."""

    number = whole()
    co2 = band("co2")


class WarmRoomSchema(Open):
    """What the vessel's closed limit is judged by: after full equilibrium with the dial, in the warmest room."""

    temperature = q("temperature")
    gauge_pressure = band("pressure")


class ClosedVesselSchema(Open):
    """The closed vessel at rest after its charges, still cold; and at the worst, in the warm room.

    A keg that stays on the gas is at rest under the dial.
    """

    gauge_pressure = band("pressure")
    warm_room = fields.Nested(WarmRoomSchema, required=True)


class ChargeAdviceSchema(Open):
    """One change that helps, within the vessel's limits, and the level it comes to."""

    code = text(100)
    change = text()
    co2 = band("co2")


class ChargesBody(Open):
    gauge_pressure = q("pressure", metadata=says("The dial."))
    charges = fields.List(fields.Nested(ChargeSchema), required=True)
    charges_to_target = band(
        "number",
        required=False,
        metadata=says("To 95 % of the target, uptake fast to slow; absent where a bound is over 20."),
    )
    days_to_target = band(
        "number",
        required=False,
        metadata=says("Of a keg that stays on the gas, to 95 %; absent where it never gets there."),
    )
    never_over = q("pressure", metadata=says("The highest dial that passes, in reach of regulator and relief valve."))
    closed = fields.Nested(ClosedVesselSchema, required=True)
    co2_used = band("mass", metadata=says("From the cylinder until it is at rest, purging apart."))
    minutes = number(metadata=says("Of shaking and resting."))
    advice = fields.List(fields.Nested(ChargeAdviceSchema), required=True)


class ChargesAnswer(Envelope, ChargesBody):
    """What the charges come to."""


def create_charges(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/carbonation/charges."""
    drink = drink_of(asked.pop("drink"), notes)
    return write_charges(carbonation.charge(drink, notes=notes, **asked), answer)


def write_charges(found: Charging, answer: Answer) -> Body:
    """The charges in the caller's units."""
    days, needed = found.days_to_target, found.charges_to_target
    return {
        "gauge_pressure": answer.q("pressure", found.dial_bar_gauge),
        "charges": [
            {"number": n, "co2": answer.band("co2", level)} for n, level in enumerate(found.charges_g_per_l, start=1)
        ],
        **({"charges_to_target": answer.band("number", needed)} if isfinite(needed.high) else {}),
        **({"days_to_target": answer.band("number", days)} if days is not None and isfinite(days.high) else {}),
        "never_over": answer.q("pressure", found.never_over_bar_gauge),
        "closed": {
            "gauge_pressure": answer.band("pressure", found.rest_bar_gauge),
            "warm_room": {
                "temperature": answer.q("temperature", found.warm_room_c),
                "gauge_pressure": answer.band("pressure", found.warm_bar_gauge),
            },
        },
        "co2_used": answer.band("mass", found.co2_used_g),
        "minutes": tidy(found.minutes),
        "advice": [_advice(advice, answer) for advice in found.advice],
    }


def _advice(advice: Advice, answer: Answer) -> Body:
    change = answer.sentence(advice.change, advice.params)
    return {"code": advice.code, "change": change, "co2": answer.band("co2", advice.co2_g_per_l)}


OPERATIONS = (
    Operation(
        path="/v1/carbonation/set-points",
        operation_id="createSetPoints",
        tag="carbonation",
        summary="The dial for a CO2 level.",
        description=(
            "The gauge pressure that holds the target once drink and gas are at rest, at each temperature, and whether "
            "the vessel stands it. A point that is refused says why; all is refused only when no point is left."
        ),
        request=SetPointsRequest(),
        answer=SetPointsAnswer,
        view=create_set_points,
    ),
    Operation(
        path="/v1/carbonation/charges",
        operation_id="createCharges",
        tag="carbonation",
        summary="What a number of charges comes to.",
        description=(
            "A charge fills the headspace to the dial, shakes connected, disconnects and rests. Safety is judged apart "
            "from that: at full equilibrium with the dial, in the warmest room. This is arithmetic, not approval: the "
            "maker's rating, local code and a competent person decide."
        ),
        request=ChargesRequest(),
        answer=ChargesAnswer,
        view=create_charges,
    ),
)
