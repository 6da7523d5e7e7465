"""POST /v1/regas/states."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from marshmallow import ValidationError, fields

from service import regas as core
from service.api.answers import Answer
from service.api.endpoint import Body, Open, Operation, Part, Request, rule
from service.api.moments import Moment, moment, written
from service.api.problems import refusal
from service.api.quantities import (
    Answered,
    Coded,
    Number,
    QuantityField,
    Text,
    band,
    flag,
    q,
    says,
    text,
)
from service.api.regas.events import Events, VesselEventSchema
from service.api.regas.forecasts import RegasPour, VesselTopUp, write_top
from service.api.shapes import (
    CALIBRATION,
    SITE,
    AirSchema,
    CalibrationSchema,
    DrinkSchema,
    Envelope,
    Items,
    SiteSchema,
    VesselSchema,
    check_lines,
    fill_field,
)
from service.limits.requests import MOST_EVENTS, MOST_LOG_LINES, MOST_MEASURED, MOST_VESSELS
from service.notes import Notes

MEASURED = ("charged", "read", "moved")
"""Kinds of events that are judged by what was measured, and cost the most."""


class VesselStartSchema(Part):
    """The charged vessel before its first event: closed, and at rest."""

    loads_to = core.Start

    fill = fill_field()
    co2 = QuantityField("co2", low=0.0, high=30.0, required=True, attribute="co2_g_per_l")
    temperature = QuantityField("temperature", low=-30.0, high=90.0, attribute="temperature_c")
    use_by = Moment(metadata=says("Of its label, as batches answer it."))


class VesselLogSchema(Part):
    """One vessel and its log, in any order; drink and vessel as for all unless stated."""

    loads_to = core.VesselLog

    id = Text(longest=64, required=True)
    drink = fields.Nested(DrinkSchema)
    vessel = fields.Nested(VesselSchema)
    air = fields.Nested(AirSchema)
    start = fields.Nested(VesselStartSchema, required=True)
    events = Events(VesselEventSchema, least=0, most=MOST_EVENTS)


class RegasStatesRequest(Request):
    """The vessels of a bar with their logs up to now, and what goes for all of them."""

    now = Moment(required=True, metadata=says("The moment of the answer; the service has no clock."))
    drink = fields.Nested(DrinkSchema, metadata=says("Of every vessel that states none."))
    vessel = fields.Nested(VesselSchema)
    temperature = QuantityField("temperature", low=-30.0, high=90.0, attribute="temperature_c")
    pour = fields.Nested(RegasPour, metadata=says("A glass; 185 ml unless stated."))
    air = fields.Nested(AirSchema, metadata=says("A keg is not squeezed, whatever is done with the bottles."))
    floor = QuantityField(
        "co2", low=0.0, high=20.0, attribute="floor_g_per_l", metadata=says("Lowest CO2 level in the glass.")
    )
    serves_per_hour = Number(
        low=0.5,
        high=1000.0,
        metadata=says("Glasses an hour of each vessel; as in the last hour of its log unless stated."),
    )
    open_for = QuantityField(
        "duration", high=600.0, attribute="open_for_s", metadata=says("How long a bottle stands open for each pour.")
    )
    site = fields.Nested(SiteSchema, metadata=SITE)
    calibration = fields.Nested(CalibrationSchema, metadata=CALIBRATION)
    vessels = Items(
        VesselLogSchema,
        most=MOST_VESSELS,
        required=True,
        metadata=says(
            f"With at most {MOST_EVENTS} events in all, {MOST_MEASURED} of them {', '.join(MEASURED)}; the "
            f"components of their own drinks come to at most {MOST_LOG_LINES} together."
        ),
    )

    @rule
    def vessels_apart(self, sent: Mapping[str, Any]) -> None:
        logs = sent.get("vessels")
        if not isinstance(logs, list) or len(logs) > MOST_VESSELS:
            return  # the field says so itself
        logs = [log if isinstance(log, dict) else {} for log in logs]
        ids = [log.get("id") for log in logs]
        _check_lengths([log["events"] for log in logs if isinstance(log.get("events"), list)])
        check_lines(
            [log.get("drink") for log in logs], lines=("components",), most_lines=MOST_LOG_LINES, name="vessels"
        )
        wrong: dict[int, dict[str, list[str]]] = {}
        for i, log in enumerate(logs):
            if log and "drink" not in log and "drink" not in sent:
                wrong.setdefault(i, {})["drink"] = [Coded("required", "State it here, or a drink for all vessels.")]
            if isinstance(ids[i], str) and ids[i] in ids[:i]:
                wrong.setdefault(i, {})["id"] = [Coded("duplicate", "Each vessel has an id of its own.")]
        if wrong:
            raise ValidationError({"vessels": wrong})


def _check_lengths(logs: Sequence[list[Any]]) -> None:
    """raises: ValidationError where there are too many events in all; of one log alone the field says so itself."""
    if any(len(events) > MOST_EVENTS for events in logs):
        return
    kinds = [event.get("kind") for events in logs for event in events if isinstance(event, dict)]
    for most, count, what in (
        (MOST_EVENTS, sum(map(len, logs)), "events"),
        (MOST_MEASURED, sum(kind in MEASURED for kind in kinds), f"events that are {', '.join(MEASURED)}"),
    ):
        if count > most:
            text = f"There may be {most} {what} in all; these are {count}."
            raise ValidationError({"vessels": [Coded("length", text)]})


class LevelCorrection(Open):
    """What a gauge reading made of the level."""

    event = text(64)
    before = band("co2", metadata=says("As the log told it."))
    after = band("co2", metadata=says("As the gauge does, with the gauge's own error."))


class VesselStateSchema(Open):
    """One vessel now; of one that is refused only id, status and problem."""

    id = text(64)
    status = Answered({"type": "string", "enum": ["ok", "refused"]})
    bottle = band("co2", required=False, metadata=says("Level in the vessel; absent of an empty one."))
    glass = band("co2", required=False, metadata=says("Level in a glass poured now."))
    liquid = q("volume", required=False, metadata=says("Drink that is left."))
    due = flag(required=False, metadata=says("A glass poured now is likely to fall below the floor."))
    due_at = moment(
        required=False, metadata=says("Of the first such glass at this pace; absent where none of the next 20 is.")
    )
    glasses = band("number", required=False, metadata=says("To come on the floor at this pace; looked ahead to 20."))
    recharge = fields.Nested(VesselTopUp, metadata=says("Of a vessel that is due and may be re-gassed."))
    hold_pressure = q("pressure", required=False, metadata=says("Gauge pressure that a keg is on."))
    discard_at = moment(
        required=False,
        metadata=says(
            "The earliest of its use-by, the end of what keeps shortest once opened, and 4 h after such a drink left "
            "the cold; absent where nothing is known to go off."
        ),
    )
    corrections = fields.List(fields.Nested(LevelCorrection))
    problem = Answered({"$ref": "#/components/schemas/Problem"}, required=False)


class RegasStatesBody(Open):
    """Every vessel in the order of the request."""

    vessels = fields.List(fields.Nested(VesselStateSchema), required=True)
    next = text(
        64, required=False, metadata=says("Id of the vessel to gas first: due, and helped by it. Absent where none is.")
    )


class RegasStatesAnswer(Envelope, RegasStatesBody):
    """What the vessels of a bar hold now."""


def create_regas_state(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/regas/states."""
    now, vessels = asked.pop("now"), asked.pop("vessels")
    found = core.states(core.Bar(**asked), vessels, now=now, notes=notes)
    first = {} if found.next is None else {"next": found.next}
    return {"vessels": [_vessel(one, answer) for one in found.vessels], **first}


def _vessel(one: core.VesselState | core.RefusedVessel, answer: Answer) -> Body:
    if isinstance(one, core.RefusedVessel):
        return {"id": one.id, "status": "refused", "problem": refusal(one.refused, answer)}
    ahead = one.outlook
    body: Body = {
        "id": one.id,
        "status": "ok",
        "liquid": answer.q("volume", 1000.0 * one.liquid_l),
        "due": ahead.due,
        **_at("due_at", ahead.due_at),
        **_at("discard_at", one.discard_at),
    }
    for name, kind, found in (
        ("bottle", "co2", one.bottle),
        ("glass", "co2", one.glass),
        ("glasses", "number", ahead.glasses),
    ):
        if found is not None:
            body[name] = answer.band(kind, found)
    if one.top_up is not None:
        body["recharge"] = write_top(one.top_up, answer)
    if one.hold_bar_gauge is not None:
        body["hold_pressure"] = answer.q("pressure", one.hold_bar_gauge)
    if one.corrections:
        body["corrections"] = [_correction(correction, answer) for correction in one.corrections]
    return body


def _at(name: str, moment: datetime | None) -> Body:
    return {} if moment is None else {name: written(moment)}


def _correction(correction: core.Correction, answer: Answer) -> Body:
    before, after = (answer.band("co2", level) for level in (correction.before, correction.after))
    return {"event": correction.event, "before": before, "after": after}


OPERATIONS = (
    Operation(
        path="/v1/regas/states",
        operation_id="createRegasState",
        tag="regas",
        summary="What every vessel holds now, by its log, and which needs gas first.",
        description="Replays the events that the till knows: the level now, what is left, when it falls due at the "
        "present pace, the re-gas of what is due, and when to discard. Each vessel stands alone: a log that cannot be "
        "refuses its vessel, with status 200. The same event sent twice counts once.",
        request=RegasStatesRequest(),
        answer=RegasStatesAnswer,
        pressure=True,
        view=create_regas_state,
    ),
)
