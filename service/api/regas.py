"""Holding the CO2 through a shift, on the wire: POST /v1/regas/forecasts, /v1/regas/states, /v1/regas/calibrations."""

from typing import Any

from service import regas
from service.api import wire
from service.api.endpoint import Each, Operation, Served
from service.api.pages import plots
from service.api.pages.paper import Paper
from service.api.quantities import Answered, number
from service.api.wire import Open
from service.drink import drink_of
from service.notes import Notes
from service.regas import Forecast, RegasAfter, RegasForecastRequest, RegasStatesRequest, States
from service.regas.calibrating import Calibrated, CalibrationRequest, Measured, calibrate
from service.science.units import ANSWER_UNITS


class CalibrationMeasure(Open):
    """A measure that the fit is held against: a gauge pressure, or CO2 gained or lost by mass."""

    value = number()
    unit = Answered(
        {
            "type": "string",
            "enum": sorted({units[kind] for units in ANSWER_UNITS.values() for kind in ("pressure", "mass")}),
        }
    )


wire.written_by(Measured, CalibrationMeasure, lambda found, answer: answer.q(found.kind, found.value))  # of two kinds
# what prep sheets and rollouts hold of a forecast, until they are declared too
RegasForecastBody: Any = wire.answer_schema(Forecast)
RegasAfterSchema: Any = wire.answer_schema(RegasAfter)
write = wire.write
MOST_TRIES = 40
"""How often in an answer what the refusal of a vessel offers is tried out; one beyond that comes without an offer."""


def create_regas_forecast(asked: RegasForecastRequest, notes: Notes) -> Forecast:
    """Answer the request."""
    return regas.forecast(drink_of(asked.drink, notes), asked, notes)


def plot(served: Served[RegasForecastRequest, Forecast]) -> str:
    """Draw CO2 in bottle and glass through the shift."""
    spec = served.asked.drink.spec
    named = {} if spec is None else {"name": spec.name}
    return plots.regas({**served.body, **named}, Paper(served.answer))


def check_vessels(asked: RegasStatesRequest, notes: Notes) -> None:
    """Refuse what a vessel of the request is refused for.

    raises: Refused, SeveralRefused
    """
    for vessel in regas.states(asked, notes).vessels:
        if vessel.problem is not None:
            raise vessel.problem


def create_calibration(asked: CalibrationRequest, notes: Notes) -> Calibrated:
    """Answer the request."""
    return calibrate(drink_of(asked.drink, notes), asked, notes)


FORECASTS = Operation(
    path="/v1/regas/forecasts",
    operation_id="createRegasForecast",
    tag="regas",
    summary="CO2 in bottle and glass through a shift, and when to re-gas.",
    description=(
        "Each pour with the level in the vessel and in the glass, after how many pours a bottle is due for a re-gas, "
        "the dial and the shaking for it, which vessel serves when, and what would help."
    ),
    request=RegasForecastRequest,
    answer=Forecast,
    pressure=True,
    view=create_regas_forecast,
    forms={"svg": plot},
)
STATES = Operation(
    path="/v1/regas/states",
    operation_id="createRegasState",
    tag="regas",
    summary="What every vessel holds now, by its log, and which needs gas first.",
    description=(
        "Replays the events that the till knows: the level now, what is left, when it falls due at the present pace, "
        "the re-gas of what is due, and when to discard. Sales that name a drink alone are drawn from the vessels of "
        "it, opened ones first; pools tell what is left and when it runs out. An event or a sale that cannot be is "
        "refused alone and changes nothing else, and so is a vessel that cannot be, with status 200. The order of "
        "events does not matter, and the same one sent twice counts once."
    ),
    request=RegasStatesRequest,
    answer=States,
    pressure=True,
    view=regas.states,
    tried=check_vessels,
    each=Each("vessels", "vessels", tries=MOST_TRIES, aside=("events", "sales")),
)
CALIBRATIONS = Operation(
    path="/v1/regas/calibrations",
    operation_id="createCalibration",
    tag="regas",
    summary="A bar's own constants from its readings or weighings.",
    description=(
        "Least squares on readings of one kind: the solubility of CO2 in the drink, the uptake at one manner of "
        "shaking, the loss of an open bottle, or the share lost on pouring. Weighings ask for a scale that shows "
        "0.1 g. With standard error and residuals, or a refusal where the readings cannot tell, with the numbers and "
        "what to measure next. The calibration goes into later requests as it is: it narrows their bands and never "
        "relaxes a limit."
    ),
    request=CalibrationRequest,
    answer=Calibrated,
    pressure=True,
    view=create_calibration,
)
OPERATIONS = (FORECASTS, STATES, CALIBRATIONS)
