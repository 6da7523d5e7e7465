"""Set-points on the wire."""

from marshmallow import fields

from service import carbonation
from service.api.answers import Answer
from service.api.carbonation.said import AIR, NOW, TARGET, VESSEL
from service.api.endpoint import Body, Open, Operation, Request
from service.api.moments import Moment
from service.api.pages import plots
from service.api.problems import refusal
from service.api.quantities import Answered, QuantityField, band, q, says, text, texts
from service.api.shapes import (
    CALIBRATION,
    SITE,
    AirSchema,
    CalibrationSchema,
    DrinkSchema,
    Envelope,
    Items,
    SentenceParameterSchema,
    SiteSchema,
    VesselSchema,
    fill_field,
)
from service.carbonation import CurvePoint, Point, RefusedPoint, SetPoints, VesselNeeds
from service.drink import drink_of
from service.notes import Notes


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
    calibration = fields.Nested(CalibrationSchema, metadata=CALIBRATION)
    now = Moment(metadata=NOW)


class VesselNeedsSchema(Open):
    """The limits that a vessel needs to be charged so, at the upper ends; no closed_limit beyond the gas equations."""

    charge_limit = q("pressure")
    closed_limit = q("pressure", required=False)
    warm_room = q("temperature")


class SetPointSchema(Open):
    """The set-point at one temperature. limits: what binds there, or nearly does, such as closed-limit or air."""

    status = Answered({"type": "string", "enum": ["ok", "refused"]})
    temperature = q("temperature")
    gauge_pressure = band("pressure", required=False)
    limits = texts(100)
    vessel_needs = fields.Nested(
        VesselNeedsSchema, metadata=says("Where the request names no vessel, and so none is judged.")
    )
    problem = Answered({"$ref": "#/components/schemas/Problem"}, required=False)


class HighestCo2Schema(Open):
    """The most CO2 that the vessel allows at a temperature, at rest under the highest dial that passes."""

    temperature = q("temperature")
    co2 = q("co2")


class SensitivitySchema(Open):
    """What one change does to the dial of the first point that is ok: a difference, not a pressure."""

    code = text(100)
    change = text()
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    gauge_pressure = q("pressure")


class SetPointsBody(Open):
    """The dial at each temperature, the most that can be reached, and what moves it."""

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
                **answer.told(s.change, s.params),
                "gauge_pressure": answer.q("pressure", s.gauge_bar),
            }
            for s in found.sensitivities
        ],
    }


def plot_set_points(asked: Body, answer: Answer, notes: Notes) -> Body:
    """The answer with what its plot shows beside it."""
    spec = asked["drink"].spec
    drink = drink_of(asked.pop("drink"), notes)
    found = carbonation.set_points(drink, notes=notes, **asked)
    named = {} if spec is None else {"name": spec.name}
    return {**write_set_points(found, answer), **write_set_point_curve(found, answer), **named}


def write_set_point_curve(found: SetPoints, answer: Answer) -> Body:
    """What `service.api.pages.plots.set_points` takes beside the answer itself."""
    return {
        "target": answer.q("co2", found.target_g_per_l),
        "judged": found.setting.vessel.is_judged,
        "curve": [_curve_point(point, answer) for point in carbonation.set_point_curve(found)],
    }


def _curve_point(point: CurvePoint, answer: Answer) -> Body:
    never_over = point.never_over_bar_gauge or 0.0
    return {
        "temperature": answer.q("temperature", point.temperature_c),
        "gauge_pressure": answer.band("pressure", point.gauge_bar),
        **({"never_over": answer.q("pressure", never_over)} if never_over > 0.0 else {}),
    }


def _point(point: Point | RefusedPoint, answer: Answer) -> Body:
    known = {"temperature": answer.q("temperature", point.temperature_c), "limits": list(point.limits)}
    if isinstance(point, RefusedPoint):
        return {"status": "refused", **known, "problem": refusal(point.refused, answer)}
    needs = {} if point.needs is None else {"vessel_needs": _needs(point.needs, answer)}
    return {"status": "ok", **known, "gauge_pressure": answer.band("pressure", point.gauge_bar), **needs}


def _needs(needs: VesselNeeds, answer: Answer) -> Body:
    closed = {} if needs.closed_bar is None else {"closed_limit": answer.q("pressure", needs.closed_bar)}
    room = answer.q("temperature", needs.warm_room_c)
    return {"charge_limit": answer.q("pressure", needs.charge_bar), **closed, "warm_room": room}


SET_POINTS = Operation(
    path="/v1/carbonation/set-points",
    operation_id="createSetPoints",
    tag="carbonation",
    summary="The dial for a CO2 level.",
    description=(
        "The gauge pressure that holds the target once drink and gas are at rest, at each temperature. Without a "
        "vessel nothing is judged, and each point tells what a vessel would have to bear; with one, whether it stands "
        "it. A point that is refused says why; all is refused only when no point is left."
    ),
    request=SetPointsRequest(),
    answer=SetPointsAnswer,
    pressure=True,
    view=create_set_points,
    forms={"svg": lambda body, query: plots.set_points(body)},
    views={"svg": plot_set_points},
)
