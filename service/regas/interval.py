"""The part of a forecast that a rollout needs: the first glass, and after how many a bottle is re-gassed."""

from dataclasses import dataclass
from math import inf

from service.limits.serving import FLOOR_G_PER_L, OPEN_FOR_S
from service.notes import Notes
from service.regas.asked import Pour
from service.regas.bottles import regas_after
from service.regas.case import MANNER, Case, asked_pours, charged_case
from service.regas.rates import ON_GAS, OPENED
from service.regas.results import RegasAfter
from service.regas.serving import Runs, bottle, follow, held_at, keg
from service.science.band import Band
from service.setting import Setting
from service.site import Shift


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
