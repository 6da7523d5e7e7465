"""The vessels of a bar now, by their logs: what they hold, which need gas, how much, and which first."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Literal

from service.drink import drink_of
from service.errors import Names, Refusals, Refused, SeveralRefused, params_of
from service.limits.requests import MOST_FAULTS
from service.notes import Assumption, Caution, Notes
from service.regas.beginning import Followed, Shared, begun, cut
from service.regas.case import Case
from service.regas.counting import Entry, RefusedEvent, counted
from service.regas.events import LogReplay
from service.regas.log import Event
from service.regas.outlook import Outlook, discard_at, helps, outlook, regas_due
from service.regas.pools import Drawing, Holding, let_happen
from service.regas.rates import AFTER_REGAS, ON_GAS, OPENED, READ, Cause
from service.regas.replay import Replay
from service.regas.vessels import RegasStatesRequest, States, VesselState
from service.safety import lowest_charging_c
from service.safety.standing import caution_no_cushion, retired_by_warmth
from service.science.validity import OutsideValidity
from service.vessel import COOL_FIRST, unfit


def states(asked: RegasStatesRequest, notes: Notes) -> States:
    """Replay the log of every vessel up to now, with what sales drew from it.

    A vessel that cannot be is refused alone, with its reasons; what is said of several is said once.
    source: `service.science.vessel`, as in `service.regas.forecast`
    """
    shared = Shared()
    followed = [begun(asked, log, f"/vessels/{i}", shared) for i, log in enumerate(asked.vessels)]
    refused, of_sales = list[RefusedEvent](), Notes()
    sales = counted(asked.sales, asked.now, "/sales", of_sales, refused)
    held = [(one.holding, one.entries) for one in followed if one.holding is not None]
    drawings = {key: Drawing(key, [h for h, _ in held if h.drink_key == key]) for key in asked.drinks or ()}
    let_happen(held, drawings, sales, refused)
    found = [_state_or_problem(asked, one) for one in followed]
    _merge([*(one.notes for one in followed), of_sales], notes)
    usable = {one.id for one in found if one.state not in (None, "discard")}
    full = {one.id for one in found if one.state == "charged"}
    pools = tuple(drawing.answer(usable, full, asked.now) for drawing in drawings.values())
    return States(tuple(found), _first(found), pools, _listed(refused, notes, at="/sales"))


def _state_or_problem(asked: RegasStatesRequest, one: Followed) -> VesselState:
    case, holding = one.begun, one.holding
    if holding is None:
        assert isinstance(case, Refused | SeveralRefused)
        return VesselState(one.log.id, problem=case)
    refused = _listed(holding.refused, one.notes, at=f"{one.at}/events") or None
    try:
        if isinstance(case, OutsideValidity):
            raise case
        assert isinstance(case, Case)
        return replace(_state(asked, one, case, holding), refused_events=refused)
    except (Refused, SeveralRefused) as why:
        return VesselState(one.log.id, problem=cut(why))
    except OutsideValidity as outside:
        if _frozen(asked, one):
            _caution_frozen(one.notes, one.at)
        else:
            _caution_beyond(outside, one.notes, one.at)
        return VesselState(
            one.log.id, "discard", liquid_ml=1000.0 * holding.left_l, due=False, unfit=True, refused_events=refused
        )


def _listed(refused: Sequence[RefusedEvent], notes: Notes, *, at: str) -> tuple[RefusedEvent, ...]:
    """Return what is refused in the order of the request, as much as an answer lists."""
    more = len(refused) - MOST_FAULTS
    if more > 0:
        text = "{count} more are refused and not listed."
        notes.caution("more-refused", "warning", text, at=at, count=float(more))
    return tuple(sorted(refused, key=lambda one: int(one.pointer.rpartition("/")[2]))[:MOST_FAULTS])


def _caution_beyond(outside: OutsideValidity, notes: Notes, at: str) -> None:
    """Tell a danger: no equation holds for what the vessel went through, and its level is not known."""
    if outside.quantity == "fill":
        caution_no_cushion(notes, at=at)
        return
    text = (
        "Its level is not known: {what} {value} is outside {low} to {high}, where the equations hold. Do not touch, "
        "carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
        "slowly, away from faces. A cap is no relief valve. Ask a competent person."
    )
    notes.caution("level-not-known", "danger", text, at=at, **params_of(outside))


def _frozen(asked: RegasStatesRequest, one: Followed) -> bool:
    """Tell whether there may be ice in the drink, by the last temperature that was measured."""
    log = one.log
    measured = [(e.at, -e.temperature_c) for e in log.events if e.temperature_c is not None]
    start_c = asked.temperature_c if log.start.temperature_c is None else log.start.temperature_c
    last_c = -max(measured)[1] if measured else start_c  # of two at one moment the colder
    return (
        last_c is not None
        and one.given is not None
        and last_c < lowest_charging_c(drink_of(one.given, Notes()))
    )  # fmt: skip


def _caution_frozen(notes: Notes, at: str) -> None:
    """Tell a danger of a vessel that thaws before anything else is done, in place of what says to cool it."""
    cooling = [c for c in notes.cautions if COOL_FIRST in c.text or c.code == "warmer-than-judged"]
    others = [c for c in cooling if c.severity == "danger"]
    notes.cautions = [c for c in notes.cautions if c not in cooling]
    text = (
        "There may be ice in it: its level is not known. Do not touch, open, move or shake it: let it thaw where it "
        "stands, upright, in the cold and behind a barrier, and vent it only once no ice is left, slowly, away from "
        "faces. A cap is no relief valve. Ask a competent person."
    )
    notes.caution("may-hold-ice", "danger", text, at=at)
    if others:
        text = (
            "More is wrong with it than the ice. Do not touch, open, move or shake it: let it thaw where it stands, "
            "upright, in the cold and behind a barrier, and vent it only once no ice is left, slowly, away from faces. "
            "A cap is no relief valve. Ask a competent person."
        )
        pointers = tuple(dict.fromkeys(pointer for c in others for pointer in c.pointers))
        notes.caution("frozen-and-in-danger", "danger", text, at=pointers, dangers=Names(c.code for c in others))


def _state(asked: RegasStatesRequest, one: Followed, case: Case, holding: Holding) -> VesselState:
    """Return one vessel now.

    raises: Refused, SeveralRefused, OutsideValidity
    """
    now, at, notes = asked.now, one.at, one.notes
    replay = _replayed(holding.entries, now, case, notes, at)
    vessel = replay.vessel
    ahead = outlook(replay, asked.serves_per_hour, now, at)
    worn = bool(unfit(one.vessel, "/vessel", now=now, abv=case.setting.drink.abv))  # dangers say so already
    assert one.given is not None
    ends = discard_at(replay, one.log, one.given, at)
    over = vessel.liquid_l > 0.0 and _is_over(ends, now, notes, at)
    left_alone = worn or over or _in_danger(notes)
    empty = holding.whole_pours == 0
    if empty:  # of a heel nothing is poured, so nothing falls due, and gas is wasted on it
        ahead = Outlook(ahead.glass, due=False)
    regas = regas_due(replay, at) if ahead.due and not (left_alone or replay.retired) else None
    off_gas = any(c.code == "keg-off-gas" for c in notes.cautions)
    return VesselState(
        id=one.log.id,
        state=_word(replay, empty=empty, left_alone=left_alone, due=ahead.due),
        bottle=vessel.bottle() if vessel.liquid_l > 0.0 else None,
        glass=ahead.glass,
        liquid_ml=1000.0 * vessel.liquid_l,
        due=ahead.due,
        due_at=ahead.due_at,
        glasses=ahead.glasses,
        recharge=regas,
        hold_pressure_bar=vessel.hold_bar_abs - vessel.ambient_bar if vessel.on_gas else None,
        discard_at=ends,
        corrections=tuple(replay.corrections) or None,
        helped=off_gas or (regas is not None and helps(replay, regas, at)),
        unfit=worn,
    )


def _replayed(entries: Sequence[Entry[Event]], now: datetime, case: Case, notes: Notes, at: str) -> LogReplay:
    """Let all that counts happen to a vessel, up to now.

    raises: Refused, SeveralRefused, OutsideValidity
    """
    refusals, begins = Refusals(), entries[0].event.at if entries else now
    vessel = Replay.of(case, _causes(case, entries), 0.0)
    replay = LogReplay(vessel, notes, refusals, case.co2.high)
    replay.retired = retired_by_warmth(case.setting.vessel, case.holding_c, notes, at=f"{at}/start")
    for entry in entries:
        vessel.wait((entry.event.at - begins).total_seconds())
        replay.apply(entry)
    vessel.wait((now - begins).total_seconds())
    refusals.raise_any()
    replay.tell_odd()
    return replay


def _word(
    replay: LogReplay, *, empty: bool, left_alone: bool, due: bool
) -> Literal["charged", "open", "due", "empty", "discard"]:  # fmt: skip
    """Return the state in a word: what is gone or gets no gas comes before how it is."""
    if not replay.vessel.liquid_l > 0.0:
        return "empty"
    if left_alone:
        return "discard"
    if empty:
        return "empty"
    if due:
        return "due"
    return "open" if replay.served or replay.vessel.vented else "charged"


def _is_over(ends: datetime | None, now: datetime, notes: Notes, at: str) -> bool:
    """Tell whether the drink was to be discarded by now; a danger says so."""
    if ends is None or ends > now:
        return False
    text = "Pour no more of it: it was to be discarded at {discard_at}."
    notes.caution("discard", "danger", text, at=at, discard_at=ends)
    return True


def _in_danger(notes: Notes) -> bool:
    """Tell whether the pressure of the vessel is a danger by what was told of it so far: no gas is put on that."""
    return any(c.severity == "danger" and c.code in PRESSURE_DANGERS for c in notes.cautions)


PRESSURE_DANGERS = {
    "over-vessel-limit", "over-limit-now", "charged-over-limit", "warmer-than-judged", "level-not-known",
    "may-hold-ice", "no-headspace",
}  # fmt: skip
"""Codes of the dangers after which a vessel is left alone."""


def _causes(case: Case, entries: Sequence[Entry[Event]]) -> tuple[Cause, ...]:
    """Return what the state depends on, by what was done with the vessel."""
    kinds = {entry.event.kind for entry in entries}
    if "read" in kinds:
        return READ
    if "charged" in kinds:
        return AFTER_REGAS
    return ON_GAS if case.setting.vessel.is_keg and "opened" not in kinds else OPENED


def _first(found: Sequence[VesselState]) -> str | None:
    """Return the flattest of those that are due and that gas helps; None where there is none."""
    due = [(one.glass.typical, one.id) for one in found if one.helped and one.glass is not None]
    return min(due)[1] if due else None


def _merge(told: Sequence[Notes], notes: Notes) -> None:
    """Say once what was said of several vessels, with all its pointers."""
    cautions: dict[object, tuple[Caution, dict[str, None]]] = {}
    assumptions: dict[object, tuple[Assumption, dict[str, None]]] = {}
    for own in told:
        for c in own.cautions:
            key = (c.code, c.severity, c.text, tuple(c.params.items()))
            cautions.setdefault(key, (c, {}))[1].update(dict.fromkeys(c.pointers))
        for a in own.assumptions:
            same = (a.name, a.value, a.basis, a.source)
            assumptions.setdefault(same, (a, {}))[1].update(dict.fromkeys(a.pointers))
    for caution, at in cautions.values():
        notes.caution(caution.code, caution.severity, caution.text, at=tuple(at), **caution.params)
    for assumed, at in assumptions.values():
        notes.assume(
            assumed.template, assumed.value, assumed.basis, assumed.source or "", at=tuple(at), code=assumed.code,
            **dict(assumed.filled),
        )  # fmt: skip
