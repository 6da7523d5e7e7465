"""Events applied to a vessel, each by its kind: its effect, what it is refused for, and what the bar is told of it."""

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from service import safety
from service.errors import Refusals
from service.limits.requests import MOST_NAMED
from service.limits.safety import NEAR_LIMIT_SHARE
from service.limits.serving import COLD_HOLD_C, MOST_REGASSINGS
from service.notes import Notes
from service.regas.case import Case
from service.regas.counting import Entry
from service.regas.log import Event, EventKind
from service.regas.planning import full_enough
from service.regas.reading import Correction, corrected
from service.regas.regassing import shake_s
from service.regas.replay import Replay
from service.safety import Judgement
from service.safety.standing import could_reach_bar_gauge, retired_by_warmth
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, dissolved_co2_g_per_l
from service.science.units import Quantity


@dataclass
class LogReplay:
    """A vessel and the events of its log that were applied to it so far.

    most_g_per_l: the highest level that it can have had, which a re-gas is judged by
    charges: times that it was put on gas again after it was opened
    stands_open: it was opened, and not closed since; served: opened or poured from since it was closed or charged
    retired: it is not charged again, which a caution says
    odd: JSON Pointers of what cannot follow what came before it, by kind
    """

    vessel: Replay
    notes: Notes
    refusals: Refusals
    most_g_per_l: float
    charges: int = 0
    poured_l: list[tuple[datetime, float]] = field(default_factory=list)
    first_opened: datetime | None = None
    warm_since: datetime | None = None
    corrections: list[Correction] = field(default_factory=list)
    stands_open: bool = False
    served: bool = False
    retired: bool = False
    odd: dict[EventKind, list[str]] = field(default_factory=lambda: defaultdict(list))

    @property
    def case(self) -> Case:
        return self.vessel.case

    def apply(self, entry: Entry[Event]) -> None:
        """Let the event of an entry happen to the vessel.

        raises: OutsideValidity
        """
        _KINDS[entry.event.kind](self, entry.event, entry.pointer)

    def tell_odd(self) -> None:
        """Warn of what cannot follow what came before it, and counts all the same."""
        if at := self.odd["closed"]:
            text = "Check the log, an event is missing or a time is wrong. Closed, and by the log not open: {count}."
            self.notes.caution(
                "closed-without-opened", "warning", text, at=tuple(at[:MOST_NAMED]), count=float(len(at))
            )
        if at := self.odd["opened"]:
            text = (
                "Check the log, an event is missing or a time is wrong. Opened, and by the log open already: {count}."
            )
            self.notes.caution("opened-while-open", "warning", text, at=tuple(at[:MOST_NAMED]), count=float(len(at)))
        if at := self.odd["charged"]:
            text = (
                "A vessel that is charged counts as closed right before. Charges of one that stood open by the log: "
                "{count}."
            )
            self.notes.caution("charged-while-open", "warning", text, at=tuple(at[:MOST_NAMED]), count=float(len(at)))
        if at := self.odd["emptied"]:
            text = "Give what is filled again an id of its own. Charges of a vessel that is empty by the log: {count}."
            self.notes.caution("charged-when-empty", "warning", text, at=tuple(at[:MOST_NAMED]), count=float(len(at)))


def _opened(replay: LogReplay, event: Event, pointer: str) -> None:
    if replay.stands_open:
        replay.odd["opened"].append(pointer)
    replay.vessel.open()
    replay.stands_open = replay.served = True
    replay.first_opened = replay.first_opened or event.at


def _closed(replay: LogReplay, _: Event, pointer: str) -> None:
    if not (replay.served or replay.case.setting.vessel.is_keg):
        replay.odd["closed"].append(pointer)
    replay.vessel.close()
    replay.stands_open = replay.served = False


def _poured(replay: LogReplay, event: Event, _: str) -> None:
    """Pour what was poured; no pour here is of more than is left.

    raises: OutsideValidity
    """
    volume_l = (event.volume_ml or 0.0) / 1000.0 or replay.case.pour_l * (event.serves or 1)
    _take(replay, event, volume_l)
    if event.kind == "poured":
        replay.poured_l.append((event.at, volume_l))


def _emptied(replay: LogReplay, event: Event, _: str) -> None:
    """Take out all that is left.

    raises: OutsideValidity
    """
    _take(replay, event, replay.vessel.liquid_l)


def _take(replay: LogReplay, event: Event, volume_l: float) -> None:
    left_l, is_keg = replay.vessel.liquid_l, replay.case.setting.vessel.is_keg
    if volume_l >= left_l * (1.0 - 1e-9):
        volume_l = left_l  # and no rounding error is left of it
    if volume_l > 0.0:
        replay.vessel.pour(volume_l)
        replay.served = True
        if not is_keg:
            replay.first_opened = replay.first_opened or event.at


def _charged(replay: LogReplay, event: Event, pointer: str) -> None:
    """Charge the vessel, and tell what is dangerous or unwise about it.

    raises: OutsideValidity
    """
    _measured(replay, event, pointer)
    vessel, dial = replay.vessel, event.gauge_pressure_bar or 0.0
    if replay.stands_open:
        replay.odd["charged"].append(pointer)
    if not vessel.liquid_l > 0.0:
        replay.odd["emptied"].append(pointer)
    replay.stands_open = replay.served = False
    _caution_dial(replay, dial, pointer)
    seconds = event.shake_s
    if seconds is None:
        seconds = shake_s(replay.case.usual)
        replay.notes.assume("shaking at a re-gas", Quantity("duration", seconds), "estimate", at=f"{pointer}/shake")
    if vessel.vented and not replay.case.setting.vessel.is_keg:
        replay.charges += 1
        _caution_regas(replay, pointer)
    vessel.charge(dial, seconds, never_over=max(dial, 0.0))
    liquid = replay.case.liquid.more_soluble
    reached = dissolved_co2_g_per_l(liquid, pressure_bar_abs=max(dial + vessel.ambient_bar, liquid.vapour_bar))
    replay.most_g_per_l = max(replay.most_g_per_l, reached)


def _caution_dial(replay: LogReplay, dial_bar_gauge: float, pointer: str) -> None:
    """Tell a danger where the vessel, left at rest with this dial, is over its limit once warm; it was dialled already.

    Judged like a re-gas of a forecast.
    """
    at = f"{pointer}/gauge_pressure"
    judged = [Judgement(one, dial_bar_gauge) for one in replay.case.judged(replay.vessel.liquid_l, replay.most_g_per_l)]
    safety.caution_standing(max(judged, key=could_reach_bar_gauge), None, replay.notes, at=at)
    limit = replay.case.setting.vessel.charge_limit_bar_gauge
    if dial_bar_gauge > limit + 1e-9:  # what a change of units may add
        text = (
            "Retire it once it is empty: it was charged at {dial}, and this {vessel} is charged at no more than "
            "{limit}. Do not touch, carry or shake it: cool it where it stands, upright and behind a barrier, and vent "
            "it only once it is cold, slowly, away from faces. A cap is no relief valve."
        )
        replay.notes.caution(
            "charged-over-limit", "danger", text, at=at, dial=Quantity("pressure", dial_bar_gauge),
            limit=Quantity("pressure", limit, "down"), vessel=replay.case.setting.vessel.said,
        )  # fmt: skip


def _caution_regas(replay: LogReplay, pointer: str) -> None:
    """Warn of a vessel that was re-gassed too often or too empty."""
    if replay.charges > MOST_REGASSINGS:
        text = "Pour it first, or discard it: re-gassed more than twice, it is flatter in the glass each time."
        replay.notes.caution("regassed-often", "warning", text, at=pointer)
    if not full_enough(replay.case, replay.vessel.liquid_l):
        text = "Re-gas no bottle under a third full: the gas stored over so little drink does the damage."
        replay.notes.caution("regassed-too-empty", "warning", text, at=pointer)


def _read(replay: LogReplay, event: Event, pointer: str) -> None:
    """Put the level right by the gauge.

    raises: OutsideValidity
    """
    _measured(replay, event, pointer)
    if event.shake_s is not None and not replay.vessel.is_open:
        replay.vessel.shake(event.shake_s)
    with replay.refusals.gather():
        found = corrected(replay.vessel, event, pointer, replay.notes)
        if found is not None:
            replay.corrections.append(found)
            replay.most_g_per_l = max(replay.most_g_per_l, found.after.high)


def _moved(replay: LogReplay, event: Event, pointer: str) -> None:
    """Bring the vessel to another temperature at once.

    raises: OutsideValidity
    """
    _measured(replay, event, pointer)
    replay.notes.assume("a vessel that is moved", "takes on the new temperature at once", "estimate", at=pointer)


def _caution_warm(replay: LogReplay, pointer: str) -> None:
    """Tell a danger where the closed vessel, warmer than it was judged for, could pass its limit; warn near it.

    raises: OutsideValidity
    """
    vessel, case = replay.vessel, replay.case
    if case.holding_c <= case.setting.warm_room_c or vessel.is_open or not vessel.liquid_l > 0.0:
        return
    warm_c = max(case.holding_c, case.setting.room_c)  # a keg that left its cold warms as far as the room
    reached, limit_bar = _reached_warm(vessel, warm_c), case.setting.vessel.closed_limit_bar_gauge
    if not reached > NEAR_LIMIT_SHARE * limit_bar:
        return
    over, equations_to = reached > limit_bar, GAS_PRESSURE_LIMIT_BAR_ABS - case.setting.ambient_bar
    text = (
        "Cool it before it is opened: at {temperature}, warmer than it was judged for, it could come to {reached} at "
        "{room}; its limit is {limit}."
    )
    if over:
        text = (
            "At {temperature}, warmer than it was judged for, this vessel could come to {reached} at {room}; its limit "
            "is {limit}. Do not touch, carry or shake it: cool it where it stands, upright and behind a barrier, and "
            "vent it only once it is cold, slowly, away from faces. A cap is no relief valve."
        )
    replay.notes.caution(
        "warmer-than-judged", "danger" if over else "warning", text, at=f"{pointer}/temperature",
        temperature=Quantity("temperature", case.holding_c), room=Quantity("temperature", warm_c),
        reached=Quantity("pressure", min(reached, equations_to), "up"), limit=Quantity("pressure", limit_bar, "down"),
    )  # fmt: skip


def _reached_warm(vessel: Replay, warm_c: float) -> float:
    """Return what the closed vessel could come to at its warmest: as its log tells it, or judged like a charge to the
    highest level that it may hold [bar gauge]; infinite where the equations end.

    raises: OutsideValidity
    """
    case = vessel.case
    liquid = case.setting.liquid_at(min(case.charged_c, case.holding_c))
    dial = case.setting.set_point_bar_gauge(liquid, vessel.bottle().high)
    closed = case.closed(vessel.liquid_l)
    judgement = Judgement(replace(closed, temperature_c=liquid.temperature_c, warm_room_c=warm_c), dial)
    return max(vessel.gauge_at_rest().high, could_reach_bar_gauge(judgement))


def _measured(replay: LogReplay, event: Event, pointer: str) -> None:
    """Bring the vessel to the temperature that was measured.

    raises: OutsideValidity where the equations do not hold for it
    """
    if event.temperature_c is None:
        return
    safety.check_reached(replay.case.setting.drink, event.temperature_c)
    replay.vessel.move(event.temperature_c)
    _caution_warm(replay, pointer)
    if event.temperature_c > COLD_HOLD_C:
        replay.warm_since = replay.warm_since or event.at  # cooling it again does not undo that
    if not replay.vessel.is_open:
        vessel, at = replay.case.setting.vessel, f"{pointer}/temperature"
        replay.retired |= retired_by_warmth(vessel, event.temperature_c, replay.notes, at=at)


_KINDS: Mapping[EventKind, Callable[[LogReplay, Event, str], None]] = {
    "charged": _charged,
    "opened": _opened,
    "closed": _closed,
    "poured": _poured,
    "read": _read,
    "moved": _moved,
    "wasted": _poured,
    "emptied": _emptied,
}
