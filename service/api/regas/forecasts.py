"""POST /v1/regas/forecasts."""

from datetime import datetime

from marshmallow import fields

from service import regas as core
from service.api.answers import Answer
from service.api.endpoint import Body, Open, Operation, Part, Request
from service.api.moments import moment, written
from service.api.pages import plots
from service.api.quantities import Choice, QuantityField, Whole, band, flag, q, says, text, whole
from service.api.shapes import (
    CALIBRATION,
    SITE,
    AirSchema,
    CalibrationSchema,
    DrinkSchema,
    Envelope,
    SentenceParameterSchema,
    ShiftSchema,
    SiteSchema,
    VesselSchema,
    fill_field,
)
from service.drink import drink_of
from service.limits.serving import SMALLEST_POUR_ML
from service.notes import Notes


class RegasPour(Part):
    """How a glass is poured; gently, down its side, unless stated."""

    loads_to = core.Pour

    volume = QuantityField(
        "volume", low=SMALLEST_POUR_ML, above=None, high=2000.0, required=True, attribute="volume_ml"
    )
    manner = Choice("gentle", "straight", "over-ice")


class RegasForecastRequest(Request):
    """Charged vessels and the shift that they serve."""

    drink = fields.Nested(DrinkSchema, required=True)
    vessel = fields.Nested(VesselSchema)
    vessel_count = Whole(low=1, high=50)
    fill = fill_field()
    temperature = QuantityField(
        "temperature",
        low=-5.0,
        high=40.0,
        attribute="temperature_c",
        metadata=says("At which the level is known; as held unless stated."),
    )
    co2 = QuantityField(
        "co2",
        low=0.0,
        high=20.0,
        required=True,
        attribute="co2_g_per_l",
        metadata=says("Level in the vessel at the start."),
    )
    air = fields.Nested(AirSchema)
    pour = fields.Nested(RegasPour, required=True)
    shift = fields.Nested(ShiftSchema, required=True)
    site = fields.Nested(SiteSchema, metadata=SITE)
    calibration = fields.Nested(CalibrationSchema, metadata=CALIBRATION)


class PourForecast(Open):
    """One pour of the shift; pours and vessels are numbered from 1."""

    number = whole()
    vessel = whole()
    after = q("duration", metadata=says("Since the start of the shift."))
    at = moment(required=False)
    regassed = flag(metadata=says("The vessel was re-gassed just before."))
    bottle = band("co2", metadata=says("Level in the vessel after this pour."))
    glass = band("co2")
    gauge_pressure = band("pressure", metadata=says("Of the closed vessel before this pour."))


class FloorCrossing(Open):
    """The first glass of this plan that is likely to fall below the floor; pours and vessels are numbered from 1."""

    pour = whole()
    vessel = whole()
    after = q("duration", metadata=says("Since the start of the shift."))
    at = moment(required=False)


class RegasAfter(Open):
    """Re-gas a bottle after so many pours or so many minutes, whichever comes first.

    At most all that it holds or that the shift asks for.
    """

    pours = band("number")
    minutes = band("number")


class VesselTopUp(Open):
    """How to bring a bottle back: dial, time on the regulator while it is shaken, cold rest, gas."""

    squeeze_first = flag(metadata=says("Squeeze the air out and cap it, right before it is connected."))
    gauge_pressure = q("pressure")
    shake = q("duration")
    rest = q("duration")
    co2_used = band("mass")


class Recharge(VesselTopUp):
    """The first re-gas of a bottle."""

    before_pour = whole(metadata=says("Pour of that bottle, from 1."))


class RotationTurn(Open):
    """Pours that one vessel serves in a row."""

    vessel = whole()
    first_pour = whole()
    last_pour = whole()
    after = q("duration")
    at = moment(required=False)
    regas_before = flag(metadata=says("Re-gas the vessel before this turn."))


class RegasGain(Open):
    """What one change makes of the last glass of a vessel that is never re-gassed."""

    change = text(100)
    code = text(100)
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    glass = band("co2")


class KegGlass(Open):
    """One glass from a keg that is cut off from its gas, numbered from 1."""

    number = whole()
    bottle = band("co2", metadata=says("Level in the keg after this pour."))
    glass = band("co2")
    gauge_pressure = band("pressure", metadata=says("Before this pour."))


class KegWithoutGas(Open):
    """A full keg poured down after its gas ran out: closed, from the level and the pressure that it was held at."""

    glasses = band("number", metadata=says("Until nothing flows; fewest left still, most jolted."))
    on_floor = band("number", metadata=says("Of them, those before the first below the floor."))
    left = q("volume", metadata=says("Drink that does not flow out."))
    levels = fields.List(fields.Nested(KegGlass), required=True)


class RegasForecastBody(Open):
    """A shift, pour by pour."""

    pours = fields.List(fields.Nested(PourForecast), required=True)
    floor = q("co2", metadata=says("Lowest CO2 level wanted in the glass."))
    floor_crossed = fields.Nested(FloorCrossing, metadata=says("Absent where every glass is likely to make it."))
    regas_after = fields.Nested(RegasAfter, metadata=says("Absent where no glass falls below the floor."))
    recharge = fields.Nested(Recharge)
    hold_pressure = band("pressure", required=False, metadata=says("Gauge pressure that a keg is held at."))
    without_gas = fields.Nested(KegWithoutGas, metadata=says("Of kegs: what is lost if the gas runs out."))
    rotation = fields.List(fields.Nested(RotationTurn), required=True)
    last_glass = band("co2", metadata=says("Of a vessel that is never re-gassed, to hold the gains against."))
    gains = fields.List(fields.Nested(RegasGain), required=True)


class RegasForecastAnswer(Envelope, RegasForecastBody):
    """A shift, with what its forecast rests on."""


def create_regas_forecast(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/regas/forecasts."""
    drink = drink_of(asked.pop("drink"), notes)
    return write(core.forecast(drink, notes=notes, **asked), answer)


def plot_regas_forecast(asked: Body, answer: Answer, notes: Notes) -> Body:
    """The answer with the name that stands over its plot."""
    spec = asked["drink"].spec
    named = {} if spec is None else {"name": spec.name}
    return {**create_regas_forecast(asked, answer, notes), **named}


def write(result: core.Forecast, answer: Answer) -> Body:
    """The forecast in the caller's units."""
    body: Body = {
        "pours": [_pour(pour, answer) for pour in result.pours],
        "floor": answer.q("co2", result.floor_g_per_l),
        "rotation": [_turn(turn, answer) for turn in result.rotation],
        "last_glass": answer.band("co2", result.last_glass),
        "gains": [
            {
                "change": g.change,
                "code": g.change,
                **answer.told(g.text, g.params),
                "glass": answer.band("co2", g.glass),
            }
            for g in result.gains
        ],
    }
    if result.floor_crossed is not None:
        body["floor_crossed"] = _crossing(result.floor_crossed, answer)
    if result.regas_after is not None:
        after = result.regas_after
        body["regas_after"] = {
            "pours": answer.band("number", after.pours),
            "minutes": answer.band("number", after.minutes),
        }
    if result.recharge is not None:
        body["recharge"] = {**write_top(result.recharge, answer), "before_pour": result.recharge.before_pour}
    if result.hold is not None:
        body["hold_pressure"] = answer.band("pressure", result.hold)
    if result.without_gas is not None:
        body["without_gas"] = _without_gas(result.without_gas, answer)
    return body


def _crossing(crossed: core.Crossing, answer: Answer) -> Body:
    after = answer.q("duration", crossed.after_s)
    return {"pour": crossed.pour, "vessel": crossed.vessel, "after": after, **_at(crossed.at)}


def _without_gas(cut_off: core.WithoutGas, answer: Answer) -> Body:
    return {
        "glasses": answer.band("number", cut_off.flowing),
        "on_floor": answer.band("number", cut_off.on_floor),
        "left": answer.q("volume", 1000.0 * cut_off.left_l),
        "levels": [
            {
                "number": number,
                "bottle": answer.band("co2", one.bottle),
                "glass": answer.band("co2", one.glass),
                "gauge_pressure": answer.band("pressure", one.gauge),
            }
            for number, one in enumerate(cut_off.glasses, 1)
        ],
    }


def _pour(pour: core.PourForecast, answer: Answer) -> Body:
    return {
        "number": pour.number,
        "vessel": pour.vessel,
        "after": answer.q("duration", pour.after_s),
        **_at(pour.at),
        "regassed": pour.regassed,
        "bottle": answer.band("co2", pour.bottle),
        "glass": answer.band("co2", pour.glass),
        "gauge_pressure": answer.band("pressure", pour.gauge),
    }


def _turn(turn: core.RotationTurn, answer: Answer) -> Body:
    return {
        "vessel": turn.vessel,
        "first_pour": turn.first_pour,
        "last_pour": turn.last_pour,
        "after": answer.q("duration", turn.after_s),
        **_at(turn.at),
        "regas_before": turn.regas_before,
    }


def _at(moment: datetime | None) -> Body:
    return {} if moment is None else {"at": written(moment)}


def write_top(top: core.Top, answer: Answer) -> Body:
    """How to bring a bottle back, in the caller's units."""
    return {
        "squeeze_first": top.squeeze_first,
        "gauge_pressure": answer.q("pressure", top.dial_bar_gauge),
        "shake": answer.q("duration", top.shake_s),
        "rest": answer.q("duration", top.rest_s),
        "co2_used": answer.band("mass", top.co2_used),
    }


OPERATIONS = (
    Operation(
        path="/v1/regas/forecasts",
        operation_id="createRegasForecast",
        tag="regas",
        summary="CO2 in bottle and glass through a shift, and when to re-gas.",
        description="Each pour with the level in the vessel and in the glass, after how many pours a bottle is due for "
        "a re-gas, the dial and the shaking for it, which vessel serves when, and what would help.",
        request=RegasForecastRequest(),
        answer=RegasForecastAnswer,
        pressure=True,
        view=create_regas_forecast,
        forms={"svg": lambda body, query: plots.regas(body)},
        views={"svg": plot_regas_forecast},
    ),
)
