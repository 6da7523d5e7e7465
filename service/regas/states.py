"""What the vessels of a bar hold now, by their logs: which needs gas, how much, and which first."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial

from service.calibration import Calibration
from service.drink import DrinkGiven, drink_of
from service.errors import OutsideValidity, Refusals, Refused, SeveralRefused
from service.limits.requests import MOST_NAMED
from service.limits.serving import SERVE_ML
from service.notes import Assumption, Caution, Notes
from service.regas.case import Case, Pour, case_of
from service.regas.events import Story, tell
from service.regas.log import Event, VesselLog, in_order
from service.regas.outlook import Outlook, discard_at, outlook, top_up
from service.regas.rates import ON_GAS, OPENED, READ, REGASSED, Cause
from service.regas.reading import Correction
from service.regas.replay import Replay
from service.regas.results import Top
from service.safety import lowest_charging_c
from service.safety.standing import THAW_FIRST, caution_no_cushion
from service.science.band import Band
from service.science.units import Quantity
from service.site import Air, Shift, Site
from service.vessel import COOL_FIRST, USUAL, VesselGiven, named, unfit, unjudged, usual_fill


@dataclass(frozen=True)
class Bar:
    """What goes for every vessel that does not state its own; None where the request is silent."""

    drink: DrinkGiven | None = None
    vessel: VesselGiven | None = None
    temperature_c: float | None = None
    pour: Pour | None = None
    air: Air | None = None
    floor_g_per_l: float | None = None
    serves_per_hour: float | None = None
    open_for_s: float | None = None
    site: Site | None = None
    calibration: Calibration | None = None


@dataclass(frozen=True)
class VesselState:
    """One vessel now.

    bottle, glass: None of an empty one, and where no equation holds for what it went through [g/L]
    unfit: it would not be charged again, whatever it holds
    helped: it is due, and gas helps: a re-gas, or the gas that a keg is off
    hold: of a keg on gas [bar gauge]
    """

    id: str
    liquid_l: float
    bottle: Band | None = None
    glass: Band | None = None
    outlook: Outlook = field(default_factory=partial(Outlook, None, due=False))
    top_up: Top | None = None
    unfit: bool = False
    helped: bool = False
    hold_bar_gauge: float | None = None
    discard_at: datetime | None = None
    corrections: tuple[Correction, ...] = ()


@dataclass(frozen=True)
class RefusedVessel:
    """A vessel that cannot be followed; the others are."""

    id: str
    refused: Refused | SeveralRefused


@dataclass(frozen=True)
class States:
    """Every vessel in the order of the request. next: the one to gas first; None where gas helps none."""

    vessels: tuple[VesselState | RefusedVessel, ...]
    next: str | None


def states(bar: Bar, vessels: Sequence[VesselLog], *, now: datetime, notes: Notes) -> States:
    """Replay the log of every vessel up to now.

    A vessel whose log cannot be is refused alone, with its reasons; what is said of several is said once.
    source: `service.science.vessel`, as in `service.regas.forecast`
    """
    found, told = [], []
    for i, log in enumerate(vessels):
        own = Notes()
        found.append(_state_or_refusal(bar, log, now, f"/vessels/{i}", own))
        told.append(own)
    _merge(told, notes)
    return States(tuple(found), _first(found))


def _state_or_refusal(bar: Bar, log: VesselLog, now: datetime, at: str, notes: Notes) -> VesselState | RefusedVessel:
    try:
        return _state(bar, log, now, at, notes)
    except Refused as refused:
        return RefusedVessel(log.id, refused)
    except SeveralRefused as several:
        return RefusedVessel(log.id, _cut(several))
    except OutsideValidity as outside:
        if _frozen(bar, log):
            _caution_frozen(notes, at)
        else:
            _caution_beyond(outside, notes, at)
        return VesselState(log.id, _left_l(bar, log), unfit=True)


def _caution_beyond(outside: OutsideValidity, notes: Notes, at: str) -> None:
    """Tell a danger: no equation holds for what the vessel went through, and its level is not known."""
    if outside.quantity == "fill":
        caution_no_cushion(notes, at=at)
        return
    text = "{what} {value} is outside {low} to {high}, where the equations hold: its level is not known."
    text = f"{text} {COOL_FIRST} Ask a competent person."
    notes.caution("level-not-known", "danger", text, at=at, **outside.params)


def _frozen(bar: Bar, log: VesselLog) -> bool:
    """Tell whether there may be ice in the drink, by the last temperature that was measured."""
    measured = [(e.at, -e.temperature_c) for e in log.events if e.temperature_c is not None]
    start_c = bar.temperature_c if log.start.temperature_c is None else log.start.temperature_c
    last_c = -max(measured)[1] if measured else start_c  # of two at one moment the colder
    given = log.drink or bar.drink
    return last_c is not None and given is not None and last_c < lowest_charging_c(drink_of(given, Notes()))


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


def _left_l(bar: Bar, log: VesselLog) -> float:
    """Return what the log leaves in a vessel, by its volumes alone [L]."""
    given = log.vessel or bar.vessel or VesselGiven(USUAL)
    size = unjudged(given, Notes())
    pour_ml = (bar.pour or Pour(SERVE_ML)).volume_ml
    poured = (e.volume_ml or pour_ml * (e.serves or 1) for e in log.events if e.kind == "poured")
    return max(0.0, size.liquid_ml(log.start.fill or usual_fill(size)) - sum(poured)) / 1000.0


def _cut(several: SeveralRefused) -> SeveralRefused:
    """The first of very many refusals; what would mend those alone is not offered."""
    if len(several.refusals) <= MOST_NAMED:
        return several
    return SeveralRefused([Refused(one.slug, one.faults, facts=one.facts) for one in several.refusals[:MOST_NAMED]])


def _state(bar: Bar, log: VesselLog, now: datetime, at: str, notes: Notes) -> VesselState:
    """raises: Refused, SeveralRefused, OutsideValidity"""
    refusals = Refusals()
    entries = in_order(log, now, at, notes, refusals)
    with notes.within(_moves(bar, log, at)):
        case = _case(bar, log, now, notes)
    begins = entries[0].event.at if entries else now
    vessel = Replay.of(case, _causes(case, log.events), 0.0)
    story = Story(vessel, notes, refusals, case.co2.high)
    for entry in entries:
        vessel.wait((entry.event.at - begins).total_seconds())
        tell(story, entry)
    vessel.wait((now - begins).total_seconds())
    refusals.raise_any()
    ahead = outlook(story, bar.serves_per_hour, now, at)
    worn = _unfit(bar, log, now, case)
    ends = discard_at(story, log, bar.drink, at)
    over = vessel.liquid_l > 0.0 and _is_over(ends, now, notes, at)
    gas = top_up(story, at) if ahead.due and not (worn or over or _in_danger(notes)) else None
    return VesselState(
        id=log.id,
        liquid_l=vessel.liquid_l,
        bottle=vessel.bottle() if vessel.liquid_l > 0.0 else None,
        glass=ahead.glass,
        outlook=ahead,
        top_up=gas,
        unfit=worn,
        helped=gas is not None or any(c.code == "keg-off-gas" for c in notes.cautions),
        hold_bar_gauge=vessel.hold_bar_abs - vessel.ambient_bar if vessel.on_gas else None,
        discard_at=ends,
        corrections=tuple(story.corrections),
    )


def _case(bar: Bar, log: VesselLog, now: datetime, notes: Notes) -> Case:
    """The vessel as it was charged and is served; refused like a forecast of it."""
    given = log.drink or bar.drink
    if given is None:
        raise ValueError("the request states a drink for every vessel")  # its schema sees to that
    temperature_c = bar.temperature_c if log.start.temperature_c is None else log.start.temperature_c
    pour = bar.pour
    if pour is None:
        notes.assume("a glass", Quantity("volume", SERVE_ML), "common-practice", at="/pour/volume")
        pour = Pour(SERVE_ML)
    return case_of(
        drink_of(given, notes),
        vessel=log.vessel or bar.vessel,
        fill=log.start.fill,
        temperature_c=temperature_c,
        co2_g_per_l=log.start.co2_g_per_l,
        air=log.air or _fitting(bar.air, log.vessel or bar.vessel),
        pour=pour,
        shift=Shift(
            bar.serves_per_hour or 1.0,
            starts_at=now,
            floor_g_per_l=bar.floor_g_per_l,
            holding_temperature_c=temperature_c,
            open_for_s=bar.open_for_s,
        ),
        site=bar.site,
        calibration=bar.calibration,
        question="observed",
        notes=notes,
    )


def _unfit(bar: Bar, log: VesselLog, now: datetime, case: Case) -> bool:
    """Tell whether the vessel is one that is not charged; the notes say so already, as dangers."""
    given = log.vessel or bar.vessel or VesselGiven(USUAL)
    return bool(unfit(given, "/vessel", now=now, abv=case.setting.drink.abv))


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


def _fitting(air: Air | None, vessel: VesselGiven | None) -> Air | None:
    """What is done for all, where it can be done with this vessel; a keg among bottles is not squeezed."""
    material, _ = named(vessel or VesselGiven(USUAL))
    return None if air is not None and air.method == "squeezed" and material in ("steel", "aluminium") else air


def _moves(bar: Bar, log: VesselLog, at: str) -> dict[str, str | None]:
    """Pointers of a forecast as those of this request."""
    temperature = "/temperature" if log.start.temperature_c is None else f"{at}/start/temperature"
    return {
        "/drink": "/drink" if log.drink is None else f"{at}/drink",
        "/vessel": "/vessel" if log.vessel is None else f"{at}/vessel",
        "/air": "/air" if log.air is None and _fitting(bar.air, log.vessel or bar.vessel) is not None else f"{at}/air",
        "/fill": f"{at}/start/fill",
        "/temperature": temperature,
        "/co2": f"{at}/start/co2",
        "/shift/holding_temperature": temperature,
        "/shift/floor": "/floor",
        "/shift/open_for": "/open_for",
        "/shift": "",
    }


def _causes(case: Case, events: Sequence[Event]) -> tuple[Cause, ...]:
    """What the state depends on, by what was done with the vessel."""
    kinds = {event.kind for event in events}
    if "read" in kinds:
        return READ
    if "charged" in kinds:
        return REGASSED
    return ON_GAS if case.setting.vessel.is_keg and "opened" not in kinds else OPENED


def _first(found: Sequence[VesselState | RefusedVessel]) -> str | None:
    """Return the flattest of those that are due and that gas helps; None where there is none."""
    due = [
        (one.outlook.glass.typical, one.id)
        for one in found
        if isinstance(one, VesselState) and one.helped and one.outlook.glass
    ]
    return min(due)[1] if due else None


def _merge(told: Sequence[Notes], notes: Notes) -> None:
    """What was said of several vessels is said once, with all its pointers."""
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
            assumed.template, assumed.value, assumed.basis, assumed.source, at=tuple(at), code=assumed.code,
            **dict(assumed.params),
        )  # fmt: skip
