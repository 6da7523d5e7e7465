"""The forecast of a shift: each pour, when to re-gas and how, which vessel serves when, and what would help."""

from service.drink import Drink
from service.limits.requests import MOST_POURS
from service.notes import Notes
from service.regas.asked import ForecastAsked
from service.regas.bottles import opened
from service.regas.case import Case, asked_pours, case_of
from service.regas.kegs import on_gas
from service.regas.results import Forecast
from service.science.band import Band


def forecast(drink: Drink, asked: ForecastAsked, notes: Notes, *, charged: Band | None = None) -> Forecast:
    """Return CO2 in bottle and glass through a shift, event by event, and how to keep the glass on its floor.

    The vessels are alike, so one is followed and the others repeat it.

    charged: in place of the level asked, one that charges give which were judged, in the warmest room [g/L]; it counts
        as one more independent cause in every band
    raises: Refused, SeveralRefused
    source: `service.science.vessel`; rates are estimates, see its kinetics table
    """
    case = case_of(drink, asked, notes, charged=charged)
    vessel_count = asked.vessel_count
    if vessel_count is None:
        vessel_count = 1
        notes.assume("vessels", 1.0, "default", at="/vessel_count")
    wanted = _wanted(case, asked.shift.lasts_s, vessel_count, notes)
    if case.setting.vessel.is_keg:
        return on_gas(case, asked.shift.starts_at, vessel_count, wanted, notes)
    return opened(case, asked.shift.starts_at, vessel_count, wanted, notes)


def _wanted(case: Case, lasts_s: float | None, vessel_count: int, notes: Notes) -> int:
    """Return how many pours to forecast: those of the shift, or all that the vessels hold."""
    held = asked = vessel_count * case.pours
    if lasts_s is None:
        notes.assume("the shift lasts", "until the vessels are empty", "default", at="/shift/lasts")
    else:
        asked = asked_pours(lasts_s, case.interval_s)
    if asked > held:
        text = "Fill more: the shift asks for {asked} pours, and the vessels hold {held}."
        notes.caution("runs-out", "warning", text, at="/vessel_count", asked=float(asked), held=float(held))
    if min(asked, held) > MOST_POURS:
        text = "Only the first {most} pours are forecast."
        notes.caution("forecast-cut", "info", text, at="/shift/lasts", most=float(MOST_POURS))
    return min(asked, held, MOST_POURS)
