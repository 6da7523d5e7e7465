"""The vessel: its size and fill, the pressures that it may see, and the reasons for which it is not charged at all."""

from datetime import datetime
from math import inf

from service.errors import Fault, Refused
from service.limits.vessels import KEPT_AT_C
from service.notes import Notes
from service.science.units import Quantity
from service.vessel.filling import fill_of, most_fill, usual_fill
from service.vessel.kinds import (
    KEPT_COLD_L,
    PRESETS,
    USUAL,
    Closure,
    Condition,
    FillShare,
    Material,
    Preset,
    RatedBy,
    SizedVessel,
    Vessel,
    VesselGiven,
    may_be_timed,
    named,
    preset_of,
)
from service.vessel.limits import BOTH, ceiling_bar, limit_bar, limit_faults, note_limit
from service.vessel.soundness import COOL_FIRST, aged, note_wear, unknown, unrated, unsound

__all__ = [
    "BOTH",
    "COOL_FIRST",
    "KEPT_COLD_L",
    "PRESETS",
    "USUAL",
    "Closure",
    "Condition",
    "FillShare",
    "Material",
    "Preset",
    "RatedBy",
    "SizedVessel",
    "Vessel",
    "VesselGiven",
    "ceiling_bar",
    "fill_of",
    "limit_bar",
    "may_be_timed",
    "most_fill",
    "named",
    "unfit",
    "unjudged",
    "usual_fill",
    "vessel_of",
]


def vessel_of(
    given: VesselGiven | None,
    notes: Notes,
    *,
    at: str = "/vessel",
    now: datetime | None = None,
    abv: float | None = None,
    observed: bool = False,
) -> Vessel:
    """Return the vessel with its gaps filled from its preset, each filled gap an assumption.

    now: by which its age is judged; None where the request states no moment
    abv: of the drink [%vol], which wears PET; None where it is not known
    observed: the vessel holds its drink already; what makes it unfit is told as a danger and nothing is refused for it
    raises: Refused ("vessel-refused") for one that must not be charged, with every reason; nothing is offered in its
        place, because no one but the bar knows what it has
    """
    given = _named_or_usual(given, notes, at)
    reasons = unfit(given, at, now=now, abv=abv)
    if reasons and not observed:
        raise Refused("vessel-refused", reasons)
    for reason in reasons:
        notes.caution(reason.code, "danger", f"{reason.text} {COOL_FIRST}", at=reason.pointer, **dict(reason.params))
    for which in BOTH:
        note_limit(which, given, notes, at)
    note_wear(given, notes, at, now, abv)
    return _sized(given, notes, at, limit_bar("charge", given), limit_bar("closed", given), _kept_at(given, notes, at))


def unjudged(given: VesselGiven | None, notes: Notes, *, at: str = "/vessel") -> Vessel:
    """Return a vessel as a size alone, with no limits to be judged by.

    raises: Refused ("vessel-refused") where its material or capacity is not known
    """
    return _sized(_named_or_usual(given, notes, at), notes, at, inf, inf, None)


def unfit(given: VesselGiven, at: str, *, now: datetime | None = None, abv: float | None = None) -> list[Fault]:
    """Return every reason for which this vessel is not charged.

    raises: Refused ("vessel-refused") where its material or capacity is not known
    """
    missing = list(unknown(given, at))
    if missing:
        raise Refused("vessel-refused", missing)
    return [*unrated(given, at), *limit_faults(given, at), *unsound(given, at, abv), *aged(given, at, now)]


def _named_or_usual(given: VesselGiven | None, notes: Notes, at: str) -> VesselGiven:
    if given is None:
        notes.assume("vessel", USUAL, "default", at=at)
        return VesselGiven(preset=USUAL)
    return given


def _sized(
    given: VesselGiven, notes: Notes, at: str, charge_bar: float, closed_bar: float, kept_at_c: float | None
) -> Vessel:
    material, capacity_ml = named(given)
    if material is None or capacity_ml is None:
        raise Refused("vessel-refused", list(unknown(given, at)))
    if given.capacity_ml is None:
        brimful, advice = Quantity("volume", capacity_ml), "nominal size; measure yours"
        notes.assume("brimful capacity", brimful, "estimate", advice, at=f"{at}/capacity")
    soft = given.soft if given.soft is not None else material == "pet"
    name = given.preset or f"{material} vessel"
    return Vessel(name, material, capacity_ml, charge_bar, closed_bar, soft, kept_at_c)


def _kept_at(given: VesselGiven, notes: Notes, at: str) -> float | None:
    """Return what a beer keg is judged at; None for any other vessel, which is judged in the warmest room [degC]."""
    preset = preset_of(given)
    if preset is None or not preset.kept_cold:
        return None
    if given.kept_at_c is None:
        kept = Quantity("temperature", KEPT_AT_C)
        notes.assume("warmest place where the keg is kept", kept, "common-practice", "a cold room", at=f"{at}/kept_at")
    elif given.kept_at_c < KEPT_AT_C:
        least, reason = Quantity("temperature", KEPT_AT_C), "a cold room warms when it is opened or fails"
        notes.assume("temperature the keg is judged at", least, "common-practice", reason, at=f"{at}/kept_at")
    return max(KEPT_AT_C, given.kept_at_c or KEPT_AT_C)
