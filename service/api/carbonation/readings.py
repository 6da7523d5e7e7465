"""Readings on the wire."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service import carbonation
from service.api import wire
from service.api.answers import Answer
from service.api.carbonation.said import AIR, NOW, TARGET, VESSEL
from service.api.endpoint import Body, OldOperation, Request, rule
from service.api.moments import Moment
from service.api.quantities import Answered, Choice, Coded, QuantityField, band, says
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
from service.carbonation import Advice, Reading, WarmRoom, Weights
from service.drink import drink_of
from service.notes import Notes

BOTH_MASSES = ("mass_before", "mass_after")


class ReadingRequest(Request):
    """A closed vessel at rest, and what was read of it: its gauge, its weight before and after, or both."""

    drink = fields.Nested(DrinkSchema, required=True)
    vessel = fields.Nested(VesselSchema, metadata=VESSEL)
    fill = fill_field()
    gauge_pressure = QuantityField(
        "pressure", low=-2.0, high=30.0, attribute="gauge_bar", metadata=says("At rest, off the regulator.")
    )
    dialled = QuantityField(
        "pressure",
        above=0.0,
        high=30.0,
        attribute="dialled_bar_gauge",
        metadata=says("What it was charged at, to tell a gauge that cannot be at rest."),
    )
    temperature = QuantityField(
        "temperature",
        low=-30.0,
        high=90.0,
        attribute="temperature_c",
        metadata=says("Of the drink; may be left out where it stood in ice-water until it was as cold."),
    )
    stood_in = Choice("ice-water", metadata=says("Where it stood until it was as cold, 0 to 2 °C."))
    mass_before = QuantityField(
        "mass", high=200_000.0, metadata=says("Closed, its air handled, before it was charged; with mass_after.")
    )
    mass_after = QuantityField("mass", high=200_000.0, metadata=says("The same vessel and cap, charged."))
    start_co2 = QuantityField(
        "co2",
        low=0.0,
        high=30.0,
        attribute="start_co2_g_per_l",
        metadata=says("In the drink when first weighed; half of what its components bring unless stated."),
    )
    target = QuantityField("co2", above=0.0, high=15.0, attribute="target_g_per_l", metadata=TARGET)
    air = fields.Nested(AirSchema, metadata=AIR)
    site = fields.Nested(SiteSchema, metadata=SITE)
    calibration = fields.Nested(CalibrationSchema, metadata=CALIBRATION)
    now = Moment(metadata=NOW)

    @rule
    def something_read(self, sent: Mapping[str, Any]) -> None:
        masses = [name for name in BOTH_MASSES if name in sent]
        if "gauge_pressure" not in sent and not masses:
            raise ValidationError([Coded("nothing-read", "Give gauge_pressure, or mass_before and mass_after.")])
        if len(masses) == 1:
            (other,) = set(BOTH_MASSES) - set(masses)
            raise ValidationError({other: [Coded("required", f"Goes with {masses[0]}.")]})

    @rule
    def a_temperature(self, sent: Mapping[str, Any]) -> None:
        if "temperature" not in sent and "stood_in" not in sent:
            text = "Read it, or say that the vessel stood_in ice-water."
            raise ValidationError({"temperature": [Coded("required", text)]})


class ReadingAnswer(Envelope):
    """What the vessel holds, by which reading, and how far that is from the target."""

    co2 = band("co2", metadata=says("By the better known reading; all that lies between them where they disagree."))
    by_gauge = band("co2", required=False)
    by_weight = band("co2", required=False)
    verdict = Answered(
        {"type": "string", "enum": ["short", "on-target", "over"]},
        metadata=says("Against the target, to a twentieth of it."),
    )
    warm_room = fields.Nested(
        wire.answer_schema(WarmRoom),
        metadata=says("What the vessel could reach, at its worst; absent where no equation holds for that."),
    )
    advice = fields.List(fields.Nested(wire.answer_schema(Advice)), required=True)


def create_reading(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/carbonation/readings."""
    drink = drink_of(asked.pop("drink"), notes)
    before, after = (asked.pop(name, None) for name in BOTH_MASSES)
    in_ice = asked.pop("stood_in", None) is not None
    weights = None if before is None else Weights(before, after)
    return write_reading(carbonation.read(drink, weights=weights, stood_in_ice=in_ice, notes=notes, **asked), answer)


def write_reading(found: Reading, answer: Answer) -> Body:
    """The reading in the caller's units."""
    by = {"by_gauge": found.by_gauge, "by_weight": found.by_weight}
    body: Body = {
        "co2": answer.band("co2", found.co2_g_per_l),
        **{name: answer.band("co2", level) for name, level in by.items() if level is not None},
        "verdict": found.verdict,
        "advice": [wire.write(advice, answer) for advice in found.advice],
    }
    if found.warm_bar_gauge is not None:
        room = answer.q("temperature", found.judged_at_c)
        body["warm_room"] = {"temperature": room, "gauge_pressure": answer.band("pressure", found.warm_bar_gauge)}
    return body


READINGS = OldOperation(
    path="/v1/carbonation/readings",
    operation_id="createReading",
    tag="carbonation",
    summary="The CO2 in a vessel by its gauge or its weight.",
    description=(
        "The level of a closed vessel at rest, from its gauge and temperature, from the weight it gained, or from "
        "both, and whether it is short of the target or over it. Residual air is counted off. What cannot be at rest "
        "is said; so is a vessel that could pass its limit. A low gauge never means that a vessel is safe."
    ),
    request=ReadingRequest(),
    answer=ReadingAnswer,
    pressure=True,
    view=create_reading,
)
