"""Bottles: opened for each pour, and re-gassed where the floor asks for it."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from service.limits.charging import COLD_REST_S
from service.notes import Notes
from service.regas.case import MANNER, Case
from service.regas.planning import (
    Turn,
    caution_glasses,
    crossing,
    dial_at,
    legs_between,
    may_regas,
    on_floor,
    pours_of,
    regas_dials,
    rotation_of,
    turns,
)
from service.regas.rates import AFTER_REGAS, OPENED
from service.regas.regassing import shake_s
from service.regas.results import FirstRegas, Forecast, RegasAfter, gains_of
from service.regas.serving import Runs, bottle, follow
from service.science.band import Band
from service.science.units import Quantity


def opened(case: Case, starts_at: datetime | None, vessel_count: int, wanted: int, notes: Notes) -> Forecast:
    """Return the forecast of bottles that are opened for each pour, and re-gassed where the floor asks for it."""
    runs = follow(case, lambda rates: bottle(case, {}, rates), OPENED)
    alone = served = runs.served(case.manner)
    due = regas_after(case, [pour.glass for pour in alone[:wanted]], notes)
    legs: tuple[int, ...] = (case.pours,)
    recharge = None
    if due is not None:
        good = int(due.pours.typical)
        dials = regas_dials(case, runs.typical)
        with_regas = _with_regas(runs, dials) if dials else runs
        if wanted <= vessel_count * good:
            legs = (good,)  # enough vessels to go without
        elif dials:
            served, legs = with_regas.served(case.manner), legs_between(dials, case.pours)
        if not dials:
            dials = _precaution(case, runs, int(due.pours.low), notes)
            with_regas = _with_regas(runs, dials) if dials else runs
        recharge = _first_regas(case, with_regas, dials, notes) if dials else None
    order = turns(legs, vessel_count=vessel_count, pours=wanted)
    caution_glasses(case, served, order, notes)
    _caution_rests(case, order, notes)
    pours = pours_of(case, starts_at, served, order)
    return Forecast(
        pours=pours,
        floor_g_per_l=case.floor_g_per_l,
        floor_crossed=crossing(pours, case.floor_g_per_l),
        regas_after=due,
        recharge=recharge,
        rotation=rotation_of(case, starts_at, order),
        last_glass=alone[-1].glass,
        gains=gains_of(case, runs, lambda other: follow(other, lambda rates: bottle(other, {}, rates), OPENED)),
    )


def _with_regas(alone: Runs, dials_bar: Mapping[int, float]) -> Runs:
    """Follow the bottle again, from its first re-gas on."""
    case, first = alone.case, min(dials_bar)
    return follow(case, lambda rates: bottle(case, dials_bar, rates, alone.begun(rates, first)), AFTER_REGAS)


def regas_after(case: Case, alone: Sequence[Band], notes: Notes) -> RegasAfter | None:
    """Return the glasses of a bottle that make the floor; None where re-gassing does not come into it.

    alone: levels of the glasses that one bottle is asked for, until it is empty or the shift ends [g/L]
    """
    asked = len(alone)
    end = "the bottle is empty" if asked == case.pours else "the shift ends"
    floor = Quantity("co2", case.floor_g_per_l)
    low, typical, high = (
        on_floor((getattr(glass, end) for glass in alone), floor.value) for end in ("low", "typical", "high")
    )
    if typical == 0:
        gentle = case.manner == MANNER
        mend = "charge higher or hold colder" if gentle else "charge higher, hold colder or pour more gently"
        text = f"Even the first glass is below the floor of {{floor}}: {mend}."
        notes.caution("floor-not-made", "warning", text, at="/shift/floor", floor=floor)
        return None
    if low == asked:
        text = "No glass falls below the floor of {floor} before {end}: no re-gas is due."
        notes.caution("floor-never-crossed", "info", text, at="/shift/floor", floor=floor, end=end)
        return None
    if typical == asked:
        text = "Usually no glass falls below the floor of {floor}; at the low end of the band one does."
        notes.caution("floor-may-be-crossed", "info", text, at="/shift/floor", floor=floor)
    minutes = case.interval_s / 60.0
    return RegasAfter(Band(low, typical, high), Band(low * minutes, typical * minutes, high * minutes), asked)


def _precaution(case: Case, runs: Runs, low_count: int, notes: Notes) -> dict[int, float]:
    """Return the re-gas that the low end of the band asks for, where the plan has none: the latest that is allowed."""
    if case.pours == 1:
        return {}
    k = max((k for k in range(1, max(low_count, 1) + 1) if may_regas(case, k)), default=0)
    if case.regas_c != case.holding_c:
        text = "At {here} it is too warm to re-gas: chill it to {works} first."
        here, works = Quantity("temperature", case.holding_c), Quantity("temperature", case.regas_c, "up")
        notes.caution("chill-before-regas", "warning", text, at="/temperature", here=here, works=works)
        return {}
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


def _first_regas(case: Case, with_regas: Runs, dials_bar: Mapping[int, float], notes: Notes) -> FirstRegas:
    """Return the first re-gas of a bottle."""
    k = min(dials_bar)
    if dials_bar[k] >= case.never_over_bar_gauge(k):
        text = "The re-gas stays at {dial}, the highest that may be dialled; {level} is reached, not {start}."
        notes.caution(
            "recharge-held-back", "warning", text, at="/co2", dial=Quantity("pressure", dials_bar[k], "down"),
            level=Quantity("co2", with_regas.typical[k].level_g_per_l), start=Quantity("co2", case.co2_g_per_l),
        )  # fmt: skip
    air = case.regas_setting(case.never_over_bar_gauge(k)).air
    if case.air_removed_at_regas:
        done = f"{air.method} out at a re-gas"
        notes.assume("air that pouring let in", done, "common-practice", at="/air/method")
    seconds = shake_s(case.usual)
    notes.assume("shaking at a re-gas", Quantity("duration", seconds), "estimate", "19/20 of what is missing, usually")
    notes.assume("cold rest after a re-gas", Quantity("duration", COLD_REST_S), "common-practice")
    return FirstRegas(
        air.method == "squeezed", dials_bar[k], seconds, COLD_REST_S, with_regas.taken_g(k), k + 1,
        case.never_over_bar_gauge(k),
    )  # fmt: skip


def _caution_rests(case: Case, order: Sequence[Turn], notes: Notes) -> None:
    """Warn where a re-gassed vessel is opened before it had its rest."""
    shortest_s = needed_s = shake_s(case.usual) + COLD_REST_S
    previous: dict[int, Turn] = {}
    for turn in order:
        if turn.regas_before:
            shortest_s = min(shortest_s, (turn.first - previous[turn.vessel].last) * case.interval_s)
        previous[turn.vessel] = turn
    if shortest_s < needed_s:
        text = "A re-gassed bottle needs {needed} before it is opened and here gets {has}: add a bottle, or it foams."
        notes.caution("regas-waits", "warning", text, at="/vessel_count", needed=Quantity("duration", needed_s),
                      has=Quantity("duration", shortest_s))  # fmt: skip
