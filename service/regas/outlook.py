"""The outlook of a vessel: how many glasses make the floor, when it falls due, the gas it needs, and its end."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from service import safety
from service.drink import DrinkGiven
from service.limits.charging import COLD_REST_S
from service.limits.serving import MOST_AHEAD, MOST_REGASSINGS, PACE_OVER, WARM_FOR
from service.notes import Notes
from service.regas.events import LogReplay
from service.regas.kegs import say_on_gas
from service.regas.log import VesselLog
from service.regas.planning import below, full_enough, on_floor
from service.regas.regassing import dial_for, regas_bottle, shake_s
from service.regas.replay import Replay
from service.regas.results import RegasSettings
from service.safety import Judgement
from service.science.band import Band
from service.science.constants import CO2_G_PER_MOL
from service.science.units import Quantity
from service.science.validity import OutsideValidity


@dataclass(frozen=True)
class Outlook:
    """The glass poured now [g/L], None of an empty vessel, and glasses to come on the floor, None without a pace."""

    glass: Band | None
    due: bool
    glasses: Band | None = None
    due_at: datetime | None = None


def outlook(replay: LogReplay, serves_per_hour: float | None, now: datetime, at: str) -> Outlook:
    """Return the glass poured now, and the ones after it at the pace that is stated, or else that of the log.

    due at the first glass that is likely to fall below the floor; a keg on gas never is.
    raises: OutsideValidity
    """
    vessel, floor = replay.vessel, replay.case.floor_g_per_l
    if not vessel.liquid_l > 0.0:
        return Outlook(None, due=False)
    safety.caution_warm_holding(vessel.case.holding_c, replay.notes, at=at)
    glass = vessel.glass()
    due = below(glass.typical, floor)
    if vessel.on_gas:
        closed = replay.case.setting.closed(replay.case.holding_c)
        hold, judged = (bar - vessel.ambient_bar for bar in (vessel.hold_bar_abs, vessel.judged_bar_abs))
        say_on_gas(Judgement(closed, judged), hold, replay.notes, at=at)
        return Outlook(glass, due=False)
    pace = serves_per_hour or _pace(replay, now)
    if not pace:
        return Outlook(glass, due, due_at=now if due else None)
    ahead = _ahead(replay, 3600.0 / pace, now)
    glasses = [band for _, band in ahead]
    low, typical, high = (on_floor((getattr(g, end) for g in glasses), floor) for end in ("low", "typical", "high"))
    due_at = now if due else ahead[typical][0] if typical < len(ahead) else None
    return Outlook(glass, due, Band(low, typical, high), due_at)


def _pace(replay: LogReplay, now: datetime) -> float:
    """Return the glasses an hour, from the last hour of the log."""
    poured_l = sum(volume_l for at, volume_l in replay.poured_l if at > now - PACE_OVER)
    return poured_l / replay.case.pour_l / (PACE_OVER.total_seconds() / 3600.0)


def _ahead(replay: LogReplay, interval_s: float, now: datetime) -> list[tuple[datetime, Band]]:
    """Return the glasses to come with their times, until the floor is surely crossed or the vessel is empty."""
    vessel, pour_l, found = replay.vessel.copy(), replay.case.pour_l, list[tuple[datetime, Band]]()
    vessel.close()
    began_s = vessel.clock_s
    last = max((at for at, _ in replay.poured_l), default=now - timedelta(seconds=interval_s))
    wait_s = max(0.0, interval_s - (now - last).total_seconds())
    while len(found) < MOST_AHEAD and vessel.liquid_l >= pour_l * (1.0 - 1e-9):
        vessel.wait(began_s + wait_s)
        glass = vessel.glass()
        found.append((now + timedelta(seconds=wait_s), glass))
        if below(glass.high, replay.case.floor_g_per_l):
            break
        vessel.pour(min(pour_l, vessel.liquid_l))
        wait_s += interval_s
    return found


def regas_due(replay: LogReplay, at: str) -> RegasSettings | None:
    """Return the re-gas that a vessel is due for; None where there is none, which a caution says.

    raises: OutsideValidity
    """
    vessel, case, notes = replay.vessel, replay.case, replay.notes
    is_keg = case.setting.vessel.is_keg
    if not is_keg and (replay.charges >= MOST_REGASSINGS or not full_enough(case, vessel.liquid_l)):
        text = "Open another, and use this one flat: a bottle is re-gassed at most twice, and never under a third full."
        notes.caution("past-regassing", "warning", text, at=at)
        return None
    if case.regas_c != case.holding_c:
        text = "Chill it to {works} first: it is due, and {here} is too warm to charge."
        here, works = Quantity("temperature", case.holding_c), Quantity("temperature", case.regas_c, "up")
        notes.caution("too-warm-to-regas", "warning", text, at=at, here=here, works=works)
        return None
    never_over = min(one.never_over_bar_gauge for one in case.judged(vessel.liquid_l, replay.most_g_per_l))
    if never_over <= 0.0:
        text = "Open another instead: no dial is safe for a re-gas, with what this one still holds."
        notes.caution("no-safe-regas", "warning", text, at=at)
        return None
    if is_keg:
        text = "Connect it again, at {hold}, and leave it connected: off its gas this keg goes flat."
        hold = min(never_over, case.hold_bar_gauge(case.aim_g_per_l))
        notes.caution("keg-off-gas", "warning", text, at=at, hold=Quantity("pressure", hold, "down"))
        return None
    if case.target_g_per_l is None:
        aim = Quantity("co2", case.aim_g_per_l)
        notes.assume("level that a re-gas aims at", aim, "default", "that which it started from", at=f"{at}/target")
    dial = _dial(vessel, never_over)
    if dial <= 0.0:  # no regulator goes below the air pressure
        _warn_in_vain(replay, at)
        return None
    return _regas_settings(vessel, dial, never_over)


def _dial(vessel: Replay, never_over: float) -> float:
    """Return the dial that leads to the level that is aimed at, or as near to it as is safe [bar gauge]."""
    case = vessel.case
    try:
        return min(
            never_over, dial_for(vessel.regas_setting(never_over), vessel.states[0], case.aim_g_per_l, case.usual)
        )
    except OutsideValidity as outside:
        if outside.quantity != "pressure":
            raise
        return never_over


def _regas_settings(vessel: Replay, dial: float, never_over: float) -> RegasSettings:
    ready, seconds = vessel.regas_setting(never_over), shake_s(vessel.case.usual)
    taken_mol = [
        regas_bottle(ready, state, dial, rates, seconds=seconds)[1]
        for state, rates in zip(vessel.states, vessel.rates, strict=True)
    ]
    used = vessel.combined([CO2_G_PER_MOL * mol for mol in taken_mol])
    return RegasSettings(ready.air.method == "squeezed", dial, seconds, COLD_REST_S, used)


def helps(replay: LogReplay, regas: RegasSettings, at: str) -> bool:
    """Tell whether a glass makes the floor after a re-gas and its rest; where it does not, a caution says so.

    raises: OutsideValidity
    """
    vessel = replay.vessel.copy()
    vessel.charge(regas.gauge_pressure_bar, regas.shake_s, never_over=regas.gauge_pressure_bar)
    vessel.wait(vessel.clock_s + regas.rest_s)
    if not below(vessel.glass().typical, replay.case.floor_g_per_l):
        return True
    _warn_in_vain(replay, at)
    return False


def _warn_in_vain(replay: LogReplay, at: str) -> None:
    text = "Open another, or state a higher target: a re-gas to {aim} does not bring its glass to the floor of {floor}."
    aim, floor = Quantity("co2", replay.case.aim_g_per_l), Quantity("co2", replay.case.floor_g_per_l)
    replay.notes.caution("regas-in-vain", "warning", text, at=at, aim=aim, floor=floor)


def discard_at(replay: LogReplay, log: VesselLog, drink: DrinkGiven, at: str) -> datetime | None:
    """Return the earliest end: the label's use-by, how long the drink keeps once opened, hours after it left the cold.

    None where nothing says that the drink does not keep.
    """
    keeps = [c.keeps_s for c in drink.spec.components if c.keeps_s is not None] if drink.spec is not None else []
    ends = [] if log.start.use_by is None else [log.start.use_by]
    if keeps and replay.first_opened is not None:
        ends.append(replay.first_opened + timedelta(seconds=min(keeps)))
    if replay.warm_since is not None and (keeps or ends):
        ends.append(replay.warm_since + WARM_FOR)
        _warn_warm(replay.notes, at)
    return min(ends) if ends else None


def _warn_warm(notes: Notes, at: str) -> None:
    text = "Discard it {hours} hours after it left the cold: local food law and a competent person decide."
    notes.caution("left-the-cold", "warning", text, at=at, hours=WARM_FOR.total_seconds() / 3600.0)
