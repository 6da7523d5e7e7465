"""The forecast of a shift: each pour, when to re-gas and how, which vessel serves when, and what would help."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from math import ceil

from service.drink import Drink
from service.notes import Notes
from service.regas.case import MANNER, Case, Pour, case_of
from service.regas.gains import gains_of
from service.regas.planning import Turn, below, dial_at, legs_between, may_regas, on_floor, regas_dials, turns
from service.regas.rates import ON_GAS, OPENED, REGASSED
from service.regas.recharge import COLD_REST_S, SHAKE_S
from service.regas.results import Forecast, PourForecast, Recharge, RegasAfter, RotationTurn
from service.regas.serving import Runs, Served, bottle, follow, keg
from service.science.band import Band
from service.science.units import Quantity
from service.site import Air, Shift, Site
from service.vessel import VesselGiven

WARMEST_POUR_C = 12.0
"""To here the loss share of a gentle pour is stated; at 18 degC twice as much was lost (Liger-Belair et al. 2010)."""
MOST_POURS = 500
"""More are not forecast one by one."""


def forecast(  # noqa: PLR0913 - one for each field of the request
    drink: Drink,
    *,
    vessel: VesselGiven | None = None,
    vessel_count: int | None = None,
    fill: float | None = None,
    temperature_c: float | None = None,
    co2_g_per_l: float | Band,
    air: Air | None = None,
    pour: Pour,
    shift: Shift,
    site: Site | None = None,
    notes: Notes,
) -> Forecast:
    """CO2 in bottle and glass through a shift, event by event, and how to keep the glass on its floor.

    The vessels are alike, so one is followed and the others repeat it.

    co2_g_per_l: level at the start [g/L]; a band counts as one more independent cause in every band
    raises: Refused, SeveralRefused
    source: `service.science.vessel`; rates are estimates, see its kinetics table
    """
    case = case_of(
        drink, vessel=vessel, fill=fill, temperature_c=temperature_c, co2_g_per_l=co2_g_per_l, air=air, pour=pour,
        shift=shift, site=site, notes=notes,
    )  # fmt: skip
    if vessel_count is None:
        vessel_count = 1
        notes.assume("vessels", 1.0, "default", at="/vessel_count")
    wanted = _wanted(case, shift.lasts_s, vessel_count, notes)
    if case.setting.vessel.is_keg:
        return _on_gas(case, shift.starts_at, vessel_count, wanted, notes)
    return _opened(case, shift.starts_at, vessel_count, wanted, notes)


def _wanted(case: Case, lasts_s: float | None, vessel_count: int, notes: Notes) -> int:
    """Pours to forecast: those of the shift, or all that the vessels hold."""
    held = asked = vessel_count * case.pours
    if lasts_s is None:
        notes.assume("the shift lasts", "until the vessels are empty", "default", at="/shift/lasts")
    else:
        asked = ceil(lasts_s / case.interval_s * (1.0 - 1e-12))
    if asked > held:
        text = "The shift asks for {asked} pours; the vessels hold {held}."
        notes.caution("runs-out", "warning", text, at="/vessel_count", asked=float(asked), held=float(held))
    if min(asked, held) > MOST_POURS:
        text = "Only the first {most} pours are forecast."
        notes.caution("forecast-cut", "info", text, at="/shift/lasts", most=float(MOST_POURS))
    return min(asked, held, MOST_POURS)


def _on_gas(case: Case, starts_at: datetime | None, vessel_count: int, wanted: int, notes: Notes) -> Forecast:
    """Kegs, which stay connected and lose nothing but the drink."""
    setting = case.setting
    typical = setting.set_point_bar_gauge(case.liquid, case.co2_g_per_l)
    hold = setting.set_point_band(case.liquid, case.co2_g_per_l, typical=typical)
    text = "A keg stays on gas and needs no re-gas: hold it at {hold}."
    notes.caution("keg-on-gas", "info", text, at="/vessel", hold=Quantity("pressure", hold.typical))
    if case.holding_c > WARMEST_POUR_C:
        text = "Losses on pouring are known up to {most}; warmer, even a gentle pour may lose twice as much."
        notes.caution("warm-pour", "warning", text, at="/temperature", most=Quantity("temperature", WARMEST_POUR_C))

    def again(one: Case) -> Runs:
        held_bar_abs = setting.set_point_bar_gauge(one.liquid, one.co2_g_per_l) + setting.ambient_bar
        return follow(one, lambda rates: keg(one, held_bar_abs, min(case.pours, wanted), rates), ON_GAS)

    runs = again(case)
    served = runs.served(case.manner)
    order = turns((case.pours,), vessel_count=vessel_count, pours=wanted)
    _caution_glasses(case, served, order, notes)
    return Forecast(
        pours=_pours(case, starts_at, served, order),
        regas_after=None,
        recharge=None,
        hold=hold,
        rotation=_rotation(case, starts_at, order),
        last_glass=served[-1].glass,
        gains=gains_of(case, runs, again),
    )


def _opened(case: Case, starts_at: datetime | None, vessel_count: int, wanted: int, notes: Notes) -> Forecast:
    """Bottles, opened for each pour and re-gassed where the floor asks for it."""
    runs = follow(case, lambda rates: bottle(case, {}, rates), OPENED)
    alone = served = runs.served(case.manner)
    regas_after = _regas_after(case, alone, notes)
    legs: tuple[int, ...] = (case.pours,)
    recharge = None
    if regas_after is not None:
        good = int(regas_after.pours.typical)
        dials = regas_dials(case, runs.typical)
        regassed = _regassed(runs, dials) if dials else runs
        if wanted <= vessel_count * good:
            legs = (good,)  # enough vessels to go without
        elif dials:
            served, legs = regassed.served(case.manner), legs_between(dials, case.pours)
        if not dials:
            dials = _precaution(case, runs, int(regas_after.pours.low), notes)
            regassed = _regassed(runs, dials) if dials else runs
        recharge = _recharge(case, regassed, dials, notes) if dials else None
    order = turns(legs, vessel_count=vessel_count, pours=wanted)
    _caution_glasses(case, served, order, notes)
    _caution_rests(case, order, notes)
    return Forecast(
        pours=_pours(case, starts_at, served, order),
        regas_after=regas_after,
        recharge=recharge,
        hold=None,
        rotation=_rotation(case, starts_at, order),
        last_glass=alone[-1].glass,
        gains=gains_of(case, runs, lambda other: follow(other, lambda rates: bottle(other, {}, rates), OPENED)),
    )


def _regassed(alone: Runs, dials_bar: Mapping[int, float]) -> Runs:
    """The bottle followed again, from its first re-gas on."""
    case, first = alone.case, min(dials_bar)
    return follow(case, lambda rates: bottle(case, dials_bar, rates, alone.begun(rates, first)), REGASSED)


def _regas_after(case: Case, alone: Sequence[Served], notes: Notes) -> RegasAfter | None:
    """Glasses of a bottle that make the floor; None where re-gassing does not come into it."""
    floor = Quantity("co2", case.floor_g_per_l)
    low, typical, high = (
        on_floor((getattr(pour.glass, end) for pour in alone), floor.value) for end in ("low", "typical", "high")
    )
    if typical == 0:
        gentle = case.manner == MANNER
        mend = "charge higher or hold colder" if gentle else "charge higher, hold colder or pour more gently"
        text = f"Even the first glass is below the floor of {{floor}}: {mend}."
        notes.caution("floor-not-made", "warning", text, at="/shift/floor", floor=floor)
        return None
    if low == case.pours:
        text = "No glass falls below the floor of {floor} before the bottle is empty: no re-gas is due."
        notes.caution("floor-never-crossed", "info", text, at="/shift/floor", floor=floor)
        return None
    if typical == case.pours:
        text = "Usually no glass falls below the floor of {floor}; at the low end of the band one does."
        notes.caution("floor-may-be-crossed", "info", text, at="/shift/floor", floor=floor)
    minutes = case.interval_s / 60.0
    return RegasAfter(Band(low, typical, high), Band(low * minutes, typical * minutes, high * minutes))


def _precaution(case: Case, runs: Runs, low_count: int, notes: Notes) -> dict[int, float]:
    """The re-gas that the low end of the band asks for, where the plan has none: the latest that is allowed."""
    if case.pours == 1:
        return {}
    k = max((k for k in range(1, max(low_count, 1) + 1) if may_regas(case, k)), default=0)
    if not k:
        text = "By then the bottle is under a third full and is not re-gassed: take smaller bottles or charge higher."
        notes.caution("too-empty-to-regas", "warning", text, at="/pour/volume")
        return {}
    dial = dial_at(case, runs.typical, k)
    if dial <= 0.0:
        text = "No dial is safe for a re-gas, with what the bottle still holds: charge another bottle instead."
        notes.caution("no-safe-regas", "warning", text, at="/co2")
        return {}
    return {k: dial}


def _recharge(case: Case, regassed: Runs, dials_bar: Mapping[int, float], notes: Notes) -> Recharge:
    """The first re-gas of a bottle."""
    k = min(dials_bar)
    if dials_bar[k] >= case.never_over_bar_gauge(k):
        text = "The re-gas stays at {dial}, the highest that may be dialled; {level} is reached, not {start}."
        notes.caution(
            "recharge-held-back", "warning", text, at="/co2", dial=Quantity("pressure", dials_bar[k], "down"),
            level=Quantity("co2", regassed.typical[k].level_g_per_l), start=Quantity("co2", case.co2_g_per_l),
        )  # fmt: skip
    if case.airs_anew:
        done = f"{case.regassed(k).air.method} out at a re-gas"
        notes.assume("air that pouring let in", done, "common-practice", at="/air/method")
    notes.assume("shaking at a re-gas", Quantity("duration", SHAKE_S), "estimate", "19/20 of what is missing, usually")
    notes.assume("cold rest after a re-gas", Quantity("duration", COLD_REST_S), "common-practice")
    return Recharge(k + 1, dials_bar[k], SHAKE_S, COLD_REST_S, regassed.taken_g(k))


def _caution_glasses(case: Case, served: Sequence[Served], order: Sequence[Turn], notes: Notes) -> None:
    """Say how many glasses of the plan fall below the floor all the same."""
    glasses = [
        served[turn.served_before + i].glass.typical for turn in order for i in range(turn.last - turn.first + 1)
    ]
    fallen = sum(below(glass, case.floor_g_per_l) for glass in glasses)
    if fallen:
        text = "{below} of {all} glasses are likely to fall below the floor of {floor}."
        notes.caution("below-floor", "warning", text, at="/shift/floor", below=float(fallen), all=float(len(glasses)),
                      floor=Quantity("co2", case.floor_g_per_l))  # fmt: skip


def _caution_rests(case: Case, order: Sequence[Turn], notes: Notes) -> None:
    """A re-gassed vessel needs its rest before it is opened."""
    shortest_s = needed_s = SHAKE_S + COLD_REST_S
    previous: dict[int, Turn] = {}
    for turn in order:
        if turn.regassed:
            shortest_s = min(shortest_s, (turn.first - previous[turn.vessel].last) * case.interval_s)
        previous[turn.vessel] = turn
    if shortest_s < needed_s:
        text = "A re-gassed bottle needs {needed} before it is opened and here gets {has}: add a bottle, or it foams."
        notes.caution("regas-waits", "warning", text, at="/vessel_count", needed=Quantity("duration", needed_s),
                      has=Quantity("duration", shortest_s))  # fmt: skip


def _pours(
    case: Case, starts_at: datetime | None, served: Sequence[Served], order: Sequence[Turn]
) -> tuple[PourForecast, ...]:
    """The pours of all vessels in the order they are served."""
    found = []
    for turn in order:
        for number in range(turn.first, turn.last + 1):
            one, after_s = served[turn.served_before + number - turn.first], (number - 1) * case.interval_s
            at, regassed = _moment(starts_at, after_s), turn.regassed and number == turn.first
            found.append(PourForecast(number, turn.vessel, after_s, at, regassed, one.bottle, one.glass, one.gauge))
    return tuple(found)


def _rotation(case: Case, starts_at: datetime | None, order: Sequence[Turn]) -> tuple[RotationTurn, ...]:
    found = []
    for turn in order:
        after_s = (turn.first - 1) * case.interval_s
        found.append(
            RotationTurn(turn.vessel, turn.first, turn.last, after_s, _moment(starts_at, after_s), turn.regassed)
        )
    return tuple(found)


def _moment(starts_at: datetime | None, after_s: float) -> datetime | None:
    return None if starts_at is None else starts_at + timedelta(seconds=after_s)
