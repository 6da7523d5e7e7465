"""The forecast of a shift: each pour, when to re-gas and how, what would help; and what a rollout needs of it."""

from dataclasses import dataclass
from math import inf

from service.drink import Drink
from service.limits.requests import MOST_POURS
from service.limits.serving import FLOOR_G_PER_L, OPEN_FOR_S
from service.notes import Notes
from service.regas.asked import ForecastAsked, Pour
from service.regas.bottles import opened, regas_after
from service.regas.case import MANNER, Case, asked_pours, case_of, charged_case
from service.regas.kegs import on_gas
from service.regas.rates import ON_GAS, OPENED
from service.regas.results import Forecast, RegasAfter
from service.regas.serving import Runs, bottle, follow, held_at, keg
from service.science.band import Band
from service.setting import Setting
from service.site import Shift


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
        text = "The shift asks for {asked} pours; the vessels hold {held}."
        notes.caution("runs-out", "warning", text, at="/vessel_count", asked=float(asked), held=float(held))
    if min(asked, held) > MOST_POURS:
        text = "Only the first {most} pours are forecast."
        notes.caution("forecast-cut", "info", text, at="/shift/lasts", most=float(MOST_POURS))
    return min(asked, held, MOST_POURS)


@dataclass(frozen=True)
class Interval:
    """The first glass [g/L], and the re-gas; None where none is due, or for a keg, which has none."""

    first_glass: Band
    regas_after: RegasAfter | None = None


def interval(
    setting: Setting,
    *,
    charged_c: float,
    co2_g_per_l: Band,
    pour_ml: float,
    shift: Shift,
    notes: Notes,
) -> Interval:
    """Return the first glass and the interval of `service.regas.forecast`, without the rest of it.

    setting: in which the charge was judged
    raises: Refused, SeveralRefused
    """
    case = charged_case(
        setting, charged_c=charged_c, co2_g_per_l=co2_g_per_l, pour=Pour(pour_ml), shift=shift, notes=notes
    )
    if case.setting.vessel.is_keg:
        return Interval(_held(case).glass(0, case.manner))
    wanted = case.pours if shift.lasts_s is None else min(case.pours, asked_pours(shift.lasts_s, case.interval_s))
    runs = _opened(case, wanted)
    glasses = [runs.glass(k, case.manner) for k in range(wanted)]
    return Interval(glasses[0], regas_after(case, glasses, notes))


def first_glass(setting: Setting, *, charged_c: float, co2_g_per_l: Band, pour_ml: float, notes: Notes) -> Band:
    """Return the level in the glass that is poured first, from the vessel as cold as it was charged [g/L].

    raises: OutsideValidity
    """
    notes.assume("manner of pouring", MANNER, "common-practice", at="/pour/manner")
    liquid_l = min(pour_ml, setting.vessel.liquid_ml(setting.fill)) / 1000.0
    case = Case(setting, charged_c, charged_c, co2_g_per_l, liquid_l, MANNER, inf, OPEN_FOR_S, FLOOR_G_PER_L)
    runs = _held(case) if setting.vessel.is_keg else _opened(case, 1)
    return runs.glass(0, MANNER)


def _opened(case: Case, count: int) -> Runs:
    return follow(case, lambda rates: bottle(case, {}, rates, until=count), OPENED)


def _held(case: Case) -> Runs:
    """Follow a keg to its first glass, at the pressure that holds its level."""
    bar_abs = case.setting.set_point_bar_gauge(case.liquid, case.co2_g_per_l) + case.setting.ambient_bar
    return follow(case, lambda rates: keg(case, held_at(bar_abs), 1, rates), ON_GAS)
