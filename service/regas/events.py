"""What each kind of event does to a vessel, what it is refused for, and what the bar is told of it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from service import safety
from service.errors import Fact, Fault, Nearest, Refusals, Refused
from service.notes import Notes
from service.regas.case import Case
from service.regas.log import Entry, Event, EventKind
from service.regas.planning import MOST_REGASSINGS, full_enough
from service.regas.reading import Correction, corrected
from service.regas.recharge import shake_s
from service.regas.replay import Replay
from service.safety import Judgement
from service.science.gas import dissolved_co2_g_per_l
from service.science.rounding import rounded_down
from service.science.units import Quantity

LEAST_POURED_ML = 10.0
"""The least that a log tells of; the schema asks for no less."""
COLD_HOLD_C = 5.0
"""Warmest that a drink which does not keep is held [degC]; FDA Food Code 2022, 3-501.16(A)(2), from memory."""


@dataclass
class Story:
    """A vessel and what its log has told so far.

    most_g_per_l: the highest level that it can have had, which a re-gas is judged by
    charges: times that it was put on gas again after it was opened
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

    @property
    def case(self) -> Case:
        return self.vessel.case


def tell(story: Story, entry: Entry) -> None:
    """Let an event happen.

    raises: OutsideValidity
    """
    _KINDS[entry.event.kind](story, entry.event, entry.pointer)


def _opened(story: Story, event: Event, _: str) -> None:
    story.vessel.open()
    story.first_opened = story.first_opened or event.at


def _closed(story: Story, _: Event, __: str) -> None:
    story.vessel.close()


def _poured(story: Story, event: Event, pointer: str) -> None:
    """raises: OutsideValidity"""
    left_l = story.vessel.liquid_l
    asked_l = (event.volume_ml or 0.0) / 1000.0 or story.case.pour_l * (event.serves or 1)
    volume_l = asked_l
    if asked_l > left_l * (1.0 + 1e-9):
        volume_l = _most_l(story, event, pointer)
    if volume_l >= left_l * (1.0 - 1e-9):
        volume_l = left_l  # and no rounding error is left of it
    if volume_l > 0.0:
        story.vessel.pour(volume_l)
        story.poured_l.append((event.at, volume_l))
        if not story.case.setting.vessel.is_keg:
            story.first_opened = story.first_opened or event.at


def _most_l(story: Story, event: Event, pointer: str) -> float:
    """Refuse a pour of more than is left; the most that there is, by which the rest of the log is judged [L]."""
    left_l = story.vessel.liquid_l
    held = Quantity("volume", 1000.0 * left_l, "down")
    text = "This pour is more than is left in the vessel, {left}."
    where = f"{pointer}/serves" if event.serves is not None else f"{pointer}/volume"
    works: Quantity | int = Quantity("volume", rounded_down(held.value, 1.0), "down")
    fits_l = rounded_down(held.value, 1.0) / 1000.0
    if event.serves is not None:
        works = int(left_l / story.case.pour_l * (1.0 + 1e-9))
        fits_l = works * story.case.pour_l
    enough = works >= 1 if isinstance(works, int) else works.value >= LEAST_POURED_ML
    story.refusals.keep(
        Refused("pour-too-large", [Fault(where, "more-than-left", text, (("left", held),))],
                facts=[Fact("left", held)], nearest=[Nearest(where, works)] if enough else [])
    )  # fmt: skip
    return fits_l if enough else 0.0


def _charged(story: Story, event: Event, pointer: str) -> None:
    """raises: OutsideValidity"""
    _measured(story, event, pointer)
    vessel = story.vessel
    dial = _allowed_dial(story, event.gauge_bar or 0.0, pointer)
    if dial <= 0.0:
        return
    seconds = event.shake_s
    if seconds is None:
        seconds = shake_s(story.case.usual)
        story.notes.assume("shaking at a re-gas", Quantity("duration", seconds), "estimate", at=f"{pointer}/shake")
    if vessel.vented and not story.case.setting.vessel.is_keg:
        story.charges += 1
        _caution_regas(story, pointer)
    vessel.charge(dial, seconds, never_over=dial)
    liquid = story.case.liquid.more_soluble
    reached = dissolved_co2_g_per_l(liquid, pressure_bar_abs=max(dial + vessel.ambient_bar, liquid.vapour_bar))
    story.most_g_per_l = max(story.most_g_per_l, reached)


def _allowed_dial(story: Story, dial_bar_gauge: float, pointer: str) -> float:
    """The dial, or that which is offered instead of one that is refused, by which the rest is judged [bar gauge].

    Judged like a re-gas of a forecast, at a temperature at which the drink may be charged.
    """
    setting, at = story.case.setting, f"{pointer}/gauge_pressure"
    with story.refusals.gather():
        safety.check_temperature(setting.drink, setting.vessel, story.case.holding_c, at=f"{pointer}/temperature")
    story.vessel.move(safety.chargeable_c(setting.drink, setting.vessel, story.case.holding_c))
    closed = story.case.judged(story.vessel.liquid_l, story.most_g_per_l)
    judged = [Judgement(one, dial_bar_gauge) for one in closed]
    if dial_bar_gauge > 0.0 and all(one.passes for one in judged):
        for one in judged:
            safety.warn_near_limit(one, story.notes, at)
        return dial_bar_gauge
    most = min(one.never_over_bar_gauge for one in judged)
    works = safety.lower_dial(most, at)
    with story.refusals.gather():
        if not dial_bar_gauge > 0.0:
            raise safety.no_pressure(works, most, at)
        for one in (one for one in judged if not one.passes):
            safety.check(one, story.notes, at=at, nearest=works)
    return most


def _caution_regas(story: Story, pointer: str) -> None:
    if story.charges > MOST_REGASSINGS:
        text = "Re-gassed more than twice: each time it is shorter in the glass. Pour it first, or discard it."
        story.notes.caution("regassed-often", "warning", text, at=pointer)
    if not full_enough(story.case, story.vessel.liquid_l):
        text = "Re-gassed under a third full: the gas stored above so little drink does the damage."
        story.notes.caution("regassed-too-empty", "warning", text, at=pointer)


def _read(story: Story, event: Event, pointer: str) -> None:
    """raises: OutsideValidity"""
    _measured(story, event, pointer)
    if event.shake_s is not None and not story.vessel.is_open:
        story.vessel.shake(event.shake_s)
    with story.refusals.gather():
        found = corrected(story.vessel, event, pointer, story.notes)
        if found is not None:
            story.corrections.append(found)
            story.most_g_per_l = max(story.most_g_per_l, found.after.high)


def _moved(story: Story, event: Event, pointer: str) -> None:
    """raises: OutsideValidity"""
    _measured(story, event, pointer)
    story.notes.assume("a vessel that is moved", "takes on the new temperature at once", "estimate", at=pointer)
    vessel, case = story.vessel, story.case
    if case.holding_c <= case.setting.warm_room_c or vessel.is_open:
        return
    reached, limit_bar = vessel.gauge_at_rest().high, case.setting.vessel.closed_limit_bar_gauge
    near = reached > safety.NEAR_LIMIT_SHARE * limit_bar
    text = (
        "At {temperature}, over the warmest room that it was judged for, this vessel could come to {reached}; its "
        "limit is {limit}. "
    ) + ("Stand clear, cool it as it is, and do not open it warm." if near else "Cool it before it is opened.")
    story.notes.caution(
        "warmer-than-judged", "danger" if near else "warning", text, at=f"{pointer}/temperature",
        temperature=Quantity("temperature", case.holding_c), reached=Quantity("pressure", reached, "up"),
        limit=Quantity("pressure", limit_bar, "down"),
    )  # fmt: skip


def _measured(story: Story, event: Event, pointer: str) -> None:
    """The vessel is at the temperature that was measured, or that which it may be without freezing."""
    if event.temperature_c is None:
        return
    case = story.case
    lowest = Quantity("temperature", safety.lowest_charging_c(case.setting.drink), "up")
    if not event.temperature_c >= lowest.value:
        here, where = Quantity("temperature", event.temperature_c), f"{pointer}/temperature"
        works = safety.chargeable_c(case.setting.drink, case.setting.vessel, event.temperature_c)
        text = "At {here} it could freeze, or is colder than the solubility data reach; the coldest is {lowest}."
        fault = Fault(where, "would-freeze", text, (("here", here), ("lowest", lowest)))
        nearest = [Nearest(where, Quantity("temperature", works, "up"))]
        story.refusals.keep(Refused("would-freeze", [fault], facts=[Fact("lowest", lowest)], nearest=nearest))
        story.vessel.move(works)
        return
    story.vessel.move(event.temperature_c)
    if event.temperature_c > COLD_HOLD_C:
        story.warm_since = story.warm_since or event.at  # cooling it again does not undo that


_KINDS: Mapping[EventKind, Callable[[Story, Event, str], None]] = {
    "charged": _charged,
    "opened": _opened,
    "closed": _closed,
    "poured": _poured,
    "read": _read,
    "moved": _moved,
}
