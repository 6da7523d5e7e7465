"""The vessels of a bar now, by their logs: what they hold, which need gas, how much, and which first."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from service.drink import Drink, DrinkGiven, drink_of
from service.errors import Refusals, Refused, SeveralRefused, params_of
from service.limits.requests import MOST_FAULTS, MOST_NAMED
from service.limits.serving import SERVE_ML
from service.notes import Assumption, Caution, Notes
from service.regas.asked import ForecastAsked, Pour
from service.regas.case import Case, case_of
from service.regas.counting import Entry, RefusedEvent, counted
from service.regas.events import LogReplay
from service.regas.log import Event, VesselLog
from service.regas.outlook import discard_at, helps, outlook, regas_due
from service.regas.pools import Drawing, Holding, let_happen
from service.regas.rates import AFTER_REGAS, ON_GAS, OPENED, READ, Cause
from service.regas.replay import Replay
from service.regas.vessels import RegasStatesRequest, States, VesselState
from service.safety import lowest_charging_c
from service.safety.standing import THAW_FIRST, caution_no_cushion
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.site import Air, Shift
from service.vessel import COOL_FIRST, USUAL, VesselGiven, named, unfit, unjudged, usual_fill

USUAL_VESSEL = VesselGiven(USUAL)


@dataclass
class Followed:
    """One vessel of the request on its way to its state.

    at: its JSON Pointer; begun: its case, or why there is none; entries: events of its own log that count
    """

    log: VesselLog
    at: str
    notes: Notes
    given: DrinkGiven | None = None
    vessel: VesselGiven = USUAL_VESSEL
    begun: Case | Refused | SeveralRefused | OutsideValidity | None = None
    entries: Sequence[Entry[Event]] = ()
    holding: Holding | None = None


def states(asked: RegasStatesRequest, notes: Notes) -> States:
    """Replay the log of every vessel up to now, with what sales drew from it.

    A vessel that cannot be is refused alone, with its reasons; what is said of several is said once.
    source: `service.science.vessel`, as in `service.regas.forecast`
    """
    followed = [_begun(asked, log, f"/vessels/{i}") for i, log in enumerate(asked.vessels)]
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


def _begun(asked: RegasStatesRequest, log: VesselLog, at: str) -> Followed:
    """Return a vessel as it was before its first event, with the events of its log that count."""
    one = Followed(log, at, Notes())
    refused = list[RefusedEvent]()
    one.entries = counted(log.events, asked.now, f"{at}/events", one.notes, refused)
    try:
        one.given, drink_at = asked.known_drink(log, at)
        given_vessel, vessel_at = asked.known_vessel(log, at)
        one.vessel = given_vessel or USUAL_VESSEL
        pour = Pour(SERVE_ML)
        with one.notes.within(_moves(asked, one, drink_at, vessel_at)):
            drink = drink_of(one.given, one.notes)
            pour = _pour(asked, one, drink)
            one.begun = case = _case(asked, one, drink, given_vessel, pour)
        held_l = case.liquid_l
    except (Refused, SeveralRefused) as why:
        one.begun = _cut(why)
        return one
    except OutsideValidity as why:
        one.begun = why
        size = unjudged(one.vessel, Notes())
        held_l = size.liquid_ml(log.start.fill or usual_fill(size)) / 1000.0
    is_keg = unjudged(one.vessel, Notes()).is_keg
    one.holding = Holding(log.id, log.drink_key, held_l, pour.volume_ml / 1000.0, is_keg, refused=refused)
    return one


def _state_or_problem(asked: RegasStatesRequest, one: Followed) -> VesselState:
    begun, holding = one.begun, one.holding
    if holding is None:
        assert isinstance(begun, Refused | SeveralRefused)
        return VesselState(one.log.id, problem=begun)
    refused = _listed(holding.refused, one.notes, at=f"{one.at}/events") or None
    try:
        if isinstance(begun, OutsideValidity):
            raise begun
        assert isinstance(begun, Case)
        return replace(_state(asked, one, begun, holding), refused_events=refused)
    except (Refused, SeveralRefused) as why:
        return VesselState(one.log.id, problem=_cut(why))
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
    text = "{what} {value} is outside {low} to {high}, where the equations hold: its level is not known."
    text = f"{text} {COOL_FIRST} Ask a competent person."
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
    text = f"There may be ice in it: its level is not known. {THAW_FIRST} Ask a competent person."
    notes.caution("level-not-known", "danger", text, at=at)
    if others:
        text = f"It is in danger beside the ice: {{dangers}}. {THAW_FIRST} Ask a competent person."
        pointers = tuple(dict.fromkeys(pointer for c in others for pointer in c.pointers))
        notes.caution("frozen-and-in-danger", "danger", text, at=pointers, dangers=", ".join(c.code for c in others))


def _pour(asked: RegasStatesRequest, one: Followed, drink: Drink) -> Pour:
    """Return a glass of the vessel: as stated, or the glass of a spec that has a key, or the usual one."""
    if asked.pour is not None:
        return asked.pour
    if one.log.drink_key is not None and one.given is not None and one.given.spec is not None:
        glass = Quantity("volume", drink.volume_ml)
        one.notes.assume("a glass", glass, "default", "as the spec has it", at="/pour/volume")
        return Pour(drink.volume_ml)
    one.notes.assume("a glass", Quantity("volume", SERVE_ML), "common-practice", at="/pour/volume")
    return Pour(SERVE_ML)


def _cut(refused: Refused | SeveralRefused) -> Refused | SeveralRefused:
    """Return the first of very many refusals; what would mend those alone is not offered."""
    if isinstance(refused, Refused) or len(refused.refusals) <= MOST_NAMED:
        return refused
    return SeveralRefused([Refused(one.slug, one.faults, facts=one.facts) for one in refused.refusals[:MOST_NAMED]])


def _state(asked: RegasStatesRequest, one: Followed, case: Case, holding: Holding) -> VesselState:
    """Return one vessel now.

    raises: Refused, SeveralRefused, OutsideValidity
    """
    now, at, notes, entries = asked.now, one.at, one.notes, holding.entries
    refusals = Refusals()
    begins = entries[0].event.at if entries else now
    vessel = Replay.of(case, _causes(case, entries), 0.0)
    replay = LogReplay(vessel, notes, refusals, case.co2.high)
    for entry in entries:
        vessel.wait((entry.event.at - begins).total_seconds())
        replay.apply(entry)
    vessel.wait((now - begins).total_seconds())
    refusals.raise_any()
    replay.tell_odd()
    ahead = outlook(replay, asked.serves_per_hour, now, at)
    worn = bool(unfit(one.vessel, "/vessel", now=now, abv=case.setting.drink.abv))  # dangers say so already
    assert one.given is not None
    ends = discard_at(replay, one.log, one.given, at)
    over = vessel.liquid_l > 0.0 and _is_over(ends, now, notes, at)
    left_alone = worn or over or _in_danger(notes)
    regas = regas_due(replay, at) if ahead.due and not left_alone else None
    empty = holding.whole_pours == 0
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
        recharge=None if empty else regas,
        hold_pressure_bar=vessel.hold_bar_abs - vessel.ambient_bar if vessel.on_gas else None,
        discard_at=ends,
        corrections=tuple(replay.corrections) or None,
        helped=not empty and (off_gas or (regas is not None and helps(replay, regas))),
        unfit=worn,
    )


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


def _case(
    asked: RegasStatesRequest, one: Followed, drink: Drink, vessel: VesselGiven | None, pour: Pour
) -> Case:  # fmt: skip
    """Return the vessel as it was charged and is served; refused like a forecast of it."""
    log = one.log
    temperature_c = asked.temperature_c if log.start.temperature_c is None else log.start.temperature_c
    shift = Shift(
        asked.serves_per_hour or 1.0,
        starts_at=asked.now,
        floor_g_per_l=asked.floor_g_per_l,
        holding_temperature_c=temperature_c,
        open_for_s=asked.open_for_s,
    )
    of_one = ForecastAsked(
        vessel=vessel,
        fill=log.start.fill,
        temperature_c=temperature_c,
        co2_g_per_l=log.start.co2_g_per_l,
        air=log.air or _fitting(asked, one),
        pour=pour,
        shift=shift,
        site=asked.site,
        calibration=asked.calibration,
    )
    return case_of(drink, of_one, one.notes, question="observed")


def _is_over(ends: datetime | None, now: datetime, notes: Notes, at: str) -> bool:
    """Tell whether the drink was to be discarded by now; a danger says so."""
    if ends is None or ends > now:
        return False
    text = "It was to be discarded at {discard_at}: pour no more of it."
    notes.caution("discard", "danger", text, at=at, discard_at=ends)
    return True


def _in_danger(notes: Notes) -> bool:
    """Tell whether the pressure of the vessel is a danger by what was told of it so far: no gas is put on that."""
    return any(c.severity == "danger" and c.code in PRESSURE_DANGERS for c in notes.cautions)


PRESSURE_DANGERS = {
    "over-vessel-limit", "over-limit-now", "charged-over-limit", "warmer-than-judged", "level-not-known", "no-headspace"
}  # fmt: skip
"""Codes of the dangers after which a vessel is left alone."""


def _fitting(asked: RegasStatesRequest, one: Followed) -> Air | None:
    """Return what is done for all where it can be done with this vessel; a keg among bottles is not squeezed."""
    air, (material, _) = asked.air, named(one.vessel)
    return None if air is not None and air.method == "squeezed" and material in ("steel", "aluminium") else air


def _moves(asked: RegasStatesRequest, one: Followed, drink_at: str, vessel_at: str) -> dict[str, str | None]:
    """Return where each pointer of a forecast points to in this request."""
    log, at = one.log, one.at
    temperature = "/temperature" if log.start.temperature_c is None else f"{at}/start/temperature"
    return {
        "/drink": drink_at,
        "/vessel": vessel_at,
        "/air": "/air" if log.air is None and _fitting(asked, one) is not None else f"{at}/air",
        "/fill": f"{at}/start/fill",
        "/temperature": temperature,
        "/co2": f"{at}/start/co2",
        "/shift/holding_temperature": temperature,
        "/shift/floor": "/floor",
        "/shift/open_for": "/open_for",
        "/shift": "",
    }


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
