"""Charges on the wire."""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from marshmallow import ValidationError, fields

from service import carbonation
from service.api.answers import Answer, tidy
from service.api.carbonation.said import AIR, NOW, TARGET, VESSEL
from service.api.endpoint import Body, OldOperation, Open, Request, StrictSchema, rule
from service.api.moments import Moment
from service.api.quantities import Choice, Coded, Flag, QuantityField, Whole, band, flag, number, q, says, text, whole
from service.api.shapes import (
    CALIBRATION,
    SITE,
    AirSchema,
    CalibrationSchema,
    DrinkSchema,
    Envelope,
    SentenceParameterSchema,
    SiteSchema,
    VesselSchema,
    fill_field,
)
from service.carbonation import Advice, Charging, Check
from service.drink import drink_of
from service.notes import Notes


class ChargingFields(StrictSchema):
    """How a drink is charged; what /v1/carbonation/charges and /v1/prep-sheets both ask."""

    temperature = QuantityField(
        "temperature",
        low=-30.0,
        high=60.0,
        attribute="temperature_c",
        metadata=says("Of the drink; 1 °C unless stated, or as near to it as the drink stands."),
    )
    target = QuantityField("co2", above=0.0, high=15.0, attribute="target_g_per_l", metadata=TARGET)
    gauge_pressure = QuantityField(
        "pressure",
        low=-2.0,
        high=10.0,
        attribute="dial_bar_gauge",
        metadata=says("The dial of the regulator; the set-point of the target unless stated."),
    )
    air = fields.Nested(AirSchema, metadata=AIR)
    charge_count = Whole(low=1, high=20, metadata=says("3 unless stated; 1 for a keg that stays on the gas."))
    as_needed = Flag(metadata=says("As many charges as reach the target, up to 20; in place of charge_count."))
    within = QuantityField(
        "duration",
        high=7 * 86400.0,
        attribute="within_s",
        metadata=says("The charges and shakes that fit this time, and a dial that reaches the target with them."),
    )
    held = Choice(
        "full",
        "timed",
        metadata=says(
            "full unless stated: on the dial until the drink is at rest with it. timed: by the clock, after which "
            "every bottle is checked against stop_at; only PET of up to 1.5 l."
        ),
    )
    shake = QuantityField(
        "duration",
        low=0.0,
        above=None,
        high=3600.0,
        attribute="shake_s",
        metadata=says("On the regulator, each charge; 30 s unless stated."),
    )
    rest = QuantityField(
        "duration", high=7 * 86400.0, attribute="rest_s", metadata=says("After each charge; 60 s unless stated.")
    )
    agitation = Choice(
        "shaken", "rocked", "still", metadata=says("Shaken unless stated; still for a keg that stays on the gas.")
    )
    connected = Flag(metadata=says("A keg stays on the gas unless this is false; a bottle never does."))

    @rule
    def one_count(self, sent: Mapping[str, Any]) -> None:
        """Refuse more than one of charge_count with its shake, as_needed and within."""
        wrong = {}
        if sent.get("as_needed") is True and "charge_count" in sent:
            wrong["charge_count"] = [Coded("described-twice", "as_needed says how many already; leave this out.")]
        if "within" in sent:
            both = [name for name in ("charge_count", "shake") if name in sent]
            both += ["as_needed"] if sent.get("as_needed") is True else []
            wrong |= {name: [Coded("described-twice", "within finds it already; leave this out.")] for name in both}
        if wrong:
            raise ValidationError(wrong)


class ChargesRequest(ChargingFields, Request):
    """A drink in its vessel, and how it is to be charged."""

    drink = fields.Nested(DrinkSchema, required=True)
    vessel = fields.Nested(VesselSchema, metadata=VESSEL)
    fill = fill_field()
    start_co2 = QuantityField(
        "co2",
        low=0.0,
        high=15.0,
        attribute="start_co2_g_per_l",
        metadata=says("In the drink before charging; half of what its components bring unless stated."),
    )
    site = fields.Nested(SiteSchema, metadata=SITE)
    calibration = fields.Nested(CalibrationSchema, metadata=CALIBRATION)
    now = Moment(metadata=NOW)


class ChargeSchema(Open):
    """The level after one charge, counted from 1, and its rest."""

    number = whole()
    co2 = band("co2")


class WarmRoomSchema(Open):
    """The pressure that the vessel comes to, closed and left in the warmest room."""

    temperature = q("temperature")
    gauge_pressure = band("pressure")


class WorstSchema(Open):
    """The worst case, which limits are judged by: upper end at full equilibrium with the dial, at this temperature."""

    temperature = q("temperature")
    gauge_pressure = q("pressure")


class ClosedVesselSchema(Open):
    """The closed vessel at rest after its charges, still cold; and once warm, by what these charges put in.

    A keg that stays on the gas is at rest under the dial. warm_room is absent beyond the gas equations.
    """

    gauge_pressure = band("pressure")
    warm_room = fields.Nested(WarmRoomSchema)


class GaugedSchema(Open):
    """The gauge at rest at one temperature."""

    temperature = q("temperature")
    gauge_pressure = band("pressure")


class StopGaugeSchema(Open):
    """The gauge at rest over which a bottle is stopped, at one temperature."""

    temperature = q("temperature")
    gauge_pressure = q("pressure")


class StopSchema(Open):
    """The stop of a timed charge: a bottle over it, by weight or by gauge, is vented cold before it leaves the ice."""

    mass_gained = q("mass")
    gauge = fields.List(fields.Nested(StopGaugeSchema), required=True)


class ChargeCheckSchema(Open):
    """The check: gauge and scale of a vessel that these charges were made to.

    mass_gained: since it was capped, its air handled. stop_at: of a timed charge.
    """

    gauge = fields.List(fields.Nested(GaugedSchema), required=True)
    mass_gained = band("mass")
    stop_at = fields.Nested(StopSchema)


class ChargePlanSchema(Open):
    """The plan of the charges. fits: the target is reached, in the time that was asked for where one was."""

    charge_count = whole()
    shake = q("duration")
    rest = q("duration")
    fits = flag()


class ChargeAdviceSchema(Open):
    """One change that helps, within the vessel's limits, and the level it comes to; what helps most comes first."""

    code = text(100)
    change = text()
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    co2 = band("co2")


class ChargesBody(Open):
    """What the charges come to, and what the closed vessel does afterwards."""

    gauge_pressure = q("pressure", metadata=says("The dial."))
    plan = fields.Nested(ChargePlanSchema, required=True)
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
    worst = fields.Nested(WorstSchema, required=True)
    closed = fields.Nested(ClosedVesselSchema, required=True)
    check = fields.Nested(ChargeCheckSchema, required=True)
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
        "plan": {
            "charge_count": found.plan.count,
            "shake": answer.q("duration", found.plan.shake_s),
            "rest": answer.q("duration", found.plan.rest_s),
            "fits": found.fits,
        },
        "charges": [
            {"number": n, "co2": answer.band("co2", level)} for n, level in enumerate(found.charges_g_per_l, start=1)
        ],
        **({"charges_to_target": answer.band("number", needed)} if isfinite(needed.high) else {}),
        **({"days_to_target": answer.band("number", days)} if days is not None and isfinite(days.high) else {}),
        "never_over": answer.q("pressure", found.never_over_bar_gauge),
        "worst": {
            "temperature": answer.q("temperature", found.judged_at_c),
            "gauge_pressure": answer.q("pressure", found.worst_bar_gauge),
        },
        "closed": {"gauge_pressure": answer.band("pressure", found.rest_bar_gauge), **write_warm_room(found, answer)},
        "check": _check(found.check, answer),
        "co2_used": answer.band("mass", found.co2_used_g),
        "minutes": tidy(found.minutes),
        "advice": [write_advice(advice, answer) for advice in found.advice],
    }


def write_warm_room(found: Charging, answer: Answer) -> Body:
    """Return what the charges come to in the warmest room; nothing beyond the gas equations."""
    if found.warm_bar_gauge is None:
        return {}
    room = answer.q("temperature", found.room_c)
    return {"warm_room": {"temperature": room, "gauge_pressure": answer.band("pressure", found.warm_bar_gauge)}}


def _check(check: Check, answer: Answer) -> Body:
    gauge = [
        {"temperature": answer.q("temperature", t), "gauge_pressure": answer.band("pressure", shown)}
        for t, shown in check.gauge
    ]
    found: Body = {"gauge": gauge, "mass_gained": answer.band("mass", check.mass_gained_g)}
    if check.stop_at is not None:
        stops = [
            {"temperature": answer.q("temperature", t), "gauge_pressure": answer.q("pressure", most)}
            for t, most in check.stop_at.gauge
        ]
        found["stop_at"] = {"mass_gained": answer.q("mass", check.stop_at.mass_gained_g), "gauge": stops}
    return found


def write_advice(advice: Advice, answer: Answer) -> Body:
    """One change and what it comes to, in the caller's units."""
    told = answer.told(advice.change, advice.params)
    return {"code": advice.code, "change": told["text"], **told, "co2": answer.band("co2", advice.co2_g_per_l)}


CHARGES = OldOperation(
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
    pressure=True,
    view=create_charges,
)
