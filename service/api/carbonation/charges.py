"""Charges on the wire."""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from marshmallow import ValidationError, fields

from service import carbonation
from service.api.answers import Answer, tidy
from service.api.carbonation.said import AIR, NOW, TARGET, VESSEL
from service.api.endpoint import Body, Closed, Open, Operation, Request, rule
from service.api.moments import Moment
from service.api.quantities import Choice, Coded, Flag, QuantityField, Whole, band, number, q, says, text, whole
from service.api.shapes import (
    CALIBRATION,
    SITE,
    AirSchema,
    CalibrationSchema,
    DrinkSchema,
    Envelope,
    SiteSchema,
    VesselSchema,
    fill_field,
)
from service.carbonation import Advice, Charging
from service.drink import drink_of
from service.notes import Notes


class ChargingFields(Closed):
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
        if "charge_count" in sent and sent.get("as_needed") is True:
            text = "as_needed says how many already; leave this out."
            raise ValidationError({"charge_count": [Coded("described-twice", text)]})


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
    """What the charges come to, and what the closed vessel does afterwards."""

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
        "advice": [write_advice(advice, answer) for advice in found.advice],
    }


def write_advice(advice: Advice, answer: Answer) -> Body:
    """One change and what it comes to, in the caller's units."""
    change = answer.sentence(advice.change, advice.params)
    return {"code": advice.code, "change": change, "co2": answer.band("co2", advice.co2_g_per_l)}


CHARGES = Operation(
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
)
