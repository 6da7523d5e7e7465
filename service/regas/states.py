"""The vessels of a bar now, by their logs: what they hold, which need gas, how much, and which first."""

from collections.abc import Sequence
from datetime import datetime

from service.drink import drink_of
from service.errors import Names, Refusals, Refused, SeveralRefused, params_of
from service.limits.requests import MOST_NAMED
from service.limits.serving import SERVE_ML
from service.notes import Assumption, Caution, Notes
from service.regas.asked import ForecastAsked, Pour
from service.regas.case import Case, case_of
from service.regas.events import LogReplay
from service.regas.log import Event, VesselLog, in_order
from service.regas.outlook import discard_at, outlook, regas_due
from service.regas.rates import AFTER_REGAS, ON_GAS, OPENED, READ, Cause
from service.regas.replay import Replay
from service.regas.vessels import RegasStatesRequest, States, VesselState
from service.safety import lowest_charging_c
from service.safety.standing import caution_no_cushion
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.site import Air, Shift
from service.vessel import COOL_FIRST, USUAL, VesselGiven, named, unfit, unjudged, usual_fill


def states(asked: RegasStatesRequest, notes: Notes) -> States:
    """Replay the log of every vessel up to now.

    A vessel whose log cannot be is refused alone, with its reasons; what is said of several is said once.
    source: `service.science.vessel`, as in `service.regas.forecast`
    """
    found, told = [], []
    for i, log in enumerate(asked.vessels):
        own = Notes()
        found.append(_state_or_problem(asked, log, f"/vessels/{i}", own))
        told.append(own)
    _merge(told, notes)
    return States(tuple(found), _first(found))


def _state_or_problem(asked: RegasStatesRequest, log: VesselLog, at: str, notes: Notes) -> VesselState:
    try:
        return _state(asked, log, at, notes)
    except Refused as refused:
        return VesselState(log.id, problem=refused)
    except SeveralRefused as several:
        return VesselState(log.id, problem=_cut(several))
    except OutsideValidity as outside:
        if _frozen(asked, log):
            _caution_frozen(notes, at)
        else:
            _caution_beyond(outside, notes, at)
        return VesselState(log.id, liquid_ml=_left_ml(asked, log), due=False, unfit=True)


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


def _frozen(asked: RegasStatesRequest, log: VesselLog) -> bool:
    """Tell whether there may be ice in the drink, by the last temperature that was measured."""
    measured = [(e.at, -e.temperature_c) for e in log.events if e.temperature_c is not None]
    start_c = asked.temperature_c if log.start.temperature_c is None else log.start.temperature_c
    last_c = -max(measured)[1] if measured else start_c  # of two at one moment the colder
    given = log.drink or asked.drink
    return last_c is not None and given is not None and last_c < lowest_charging_c(drink_of(given, Notes()))


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
    notes.caution("level-not-known", "danger", text, at=at)
    if others:
        text = (
            "More is wrong with it than the ice. Do not touch, open, move or shake it: let it thaw where it stands, "
            "upright, in the cold and behind a barrier, and vent it only once no ice is left, slowly, away from faces. "
            "A cap is no relief valve. Ask a competent person."
        )
        pointers = tuple(dict.fromkeys(pointer for c in others for pointer in c.pointers))
        notes.caution("frozen-and-in-danger", "danger", text, at=pointers, dangers=Names(c.code for c in others))


def _left_ml(asked: RegasStatesRequest, log: VesselLog) -> float:
    """Return what the log leaves in a vessel, by its volumes alone [ml]."""
    size = unjudged(_vessel(asked, log), Notes())
    pour_ml = _pour(asked).volume_ml
    poured = (e.volume_ml or pour_ml * (e.serves or 1) for e in log.events if e.kind == "poured")
    return max(0.0, size.liquid_ml(log.start.fill or usual_fill(size)) - sum(poured))


def _vessel(asked: RegasStatesRequest, log: VesselLog) -> VesselGiven:
    return log.vessel or asked.vessel or VesselGiven(USUAL)


def _pour(asked: RegasStatesRequest) -> Pour:
    return asked.pour or Pour(SERVE_ML)


def _cut(several: SeveralRefused) -> SeveralRefused:
    """Return the first of very many refusals; what would mend those alone is not offered."""
    if len(several.refusals) <= MOST_NAMED:
        return several
    return SeveralRefused([Refused(one.slug, one.faults, facts=one.facts) for one in several.refusals[:MOST_NAMED]])


def _state(asked: RegasStatesRequest, log: VesselLog, at: str, notes: Notes) -> VesselState:
    """Return one vessel now.

    raises: Refused, SeveralRefused, OutsideValidity
    """
    refusals, now = Refusals(), asked.now
    entries = in_order(log, now, at, notes, refusals)
    with notes.within(_moves(asked, log, at)):
        case = _case(asked, log, notes)
    begins = entries[0].event.at if entries else now
    vessel = Replay.of(case, _causes(case, log.events), 0.0)
    replay = LogReplay(vessel, notes, refusals, case.co2.high)
    for entry in entries:
        vessel.wait((entry.event.at - begins).total_seconds())
        replay.apply(entry)
    vessel.wait((now - begins).total_seconds())
    refusals.raise_any()
    ahead = outlook(replay, asked.serves_per_hour, now, at)
    worn = bool(unfit(_vessel(asked, log), "/vessel", now=now, abv=case.setting.drink.abv))  # dangers say so already
    ends = discard_at(replay, log, asked.drink, at)
    over = vessel.liquid_l > 0.0 and _is_over(ends, now, notes, at)
    regas = regas_due(replay, at) if ahead.due and not (worn or over or _in_danger(notes)) else None
    return VesselState(
        id=log.id,
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
        helped=regas is not None or any(c.code == "keg-off-gas" for c in notes.cautions),
        unfit=worn,
    )


def _case(asked: RegasStatesRequest, log: VesselLog, notes: Notes) -> Case:
    """Return the vessel as it was charged and is served; refused like a forecast of it."""
    given = log.drink or asked.drink
    if given is None:
        raise ValueError("the request states a drink for every vessel")  # its rules see to that
    temperature_c = asked.temperature_c if log.start.temperature_c is None else log.start.temperature_c
    if asked.pour is None:
        notes.assume("a glass", Quantity("volume", SERVE_ML), "common-practice", at="/pour/volume")
    shift = Shift(
        asked.serves_per_hour or 1.0,
        starts_at=asked.now,
        floor_g_per_l=asked.floor_g_per_l,
        holding_temperature_c=temperature_c,
        open_for_s=asked.open_for_s,
    )
    of_one = ForecastAsked(
        vessel=log.vessel or asked.vessel,
        fill=log.start.fill,
        temperature_c=temperature_c,
        co2_g_per_l=log.start.co2_g_per_l,
        air=log.air or _fitting(asked, log),
        pour=_pour(asked),
        shift=shift,
        site=asked.site,
        calibration=asked.calibration,
    )
    return case_of(drink_of(given, notes), of_one, notes, question="observed")


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
    "over-vessel-limit", "over-limit-now", "charged-over-limit", "warmer-than-judged", "level-not-known", "no-headspace"
}  # fmt: skip
"""Codes of the dangers after which a vessel is left alone."""


def _fitting(asked: RegasStatesRequest, log: VesselLog) -> Air | None:
    """Return what is done for all where it can be done with this vessel; a keg among bottles is not squeezed."""
    air, (material, _) = asked.air, named(_vessel(asked, log))
    return None if air is not None and air.method == "squeezed" and material in ("steel", "aluminium") else air


def _moves(asked: RegasStatesRequest, log: VesselLog, at: str) -> dict[str, str | None]:
    """Return where each pointer of a forecast points to in this request."""
    temperature = "/temperature" if log.start.temperature_c is None else f"{at}/start/temperature"
    return {
        "/drink": "/drink" if log.drink is None else f"{at}/drink",
        "/vessel": "/vessel" if log.vessel is None else f"{at}/vessel",
        "/air": "/air" if log.air is None and _fitting(asked, log) is not None else f"{at}/air",
        "/fill": f"{at}/start/fill",
        "/temperature": temperature,
        "/co2": f"{at}/start/co2",
        "/shift/holding_temperature": temperature,
        "/shift/floor": "/floor",
        "/shift/open_for": "/open_for",
        "/shift": "",
    }


def _causes(case: Case, events: Sequence[Event]) -> tuple[Cause, ...]:
    """Return what the state depends on, by what was done with the vessel."""
    kinds = {event.kind for event in events}
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
