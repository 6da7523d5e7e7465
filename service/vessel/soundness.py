"""Reasons for which a vessel is not charged: unknown, unrated, damaged, worn out, too old."""

from collections.abc import Iterator
from datetime import datetime

from service.errors import Fault, Term
from service.limits.safety import (
    LONGEST_USE,
    ONE_WAY_CYCLES,
    REFILLABLE_CYCLES,
    SEAL_CYCLES,
    STRONG_CYCLES,
    STRONG_FOR_PET_ABV,
)
from service.notes import Notes
from service.vessel.kinds import VesselGiven, named, preset_of

COOL_FIRST = (
    "Do not touch, carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it "
    "is cold, slowly, away from faces. A cap is no relief valve."
)
"""Advice for a vessel under pressure that is unfit, too warm or over its limit; common practice, no source. Every
danger that is mended by cold says so in its own text."""
DANGERS = {
    "glass": (
        "Glass under pressure can shatter, and is never force-carbonated. Do not touch, carry or shake it: cool it "
        "where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away from faces. A "
        "cap is no relief valve."
    ),
    "unrated": (
        "Nothing says that this vessel was made for carbonated drinks: it is never charged. Do not touch, carry or "
        "shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, "
        "away from faces. A cap is no relief valve."
    ),
    "not-rated": (
        "The limit of {stated} counts only with a written rating of this very vessel; without one {usual} is the "
        "limit. Do not touch, carry or shake it: cool it where it stands, upright and behind a barrier, and vent it "
        "only once it is cold, slowly, away from faces. A cap is no relief valve."
    ),
    "over-ceiling": (
        "The limit of {stated} does not count: no rating of such a vessel is taken over {ceiling}. Do not touch, carry "
        "or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, "
        "away from faces. A cap is no relief valve."
    ),
    "unsound": (
        "The condition of this vessel is {condition}: it is discarded, never charged again. Do not touch, carry or "
        "shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, "
        "away from faces. A cap is no relief valve."
    ),
    "retired": (
        "This bottle has had all its charges: it is discarded, never charged again. Do not touch, carry or "
        "shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, "
        "away from faces. A cap is no relief valve."
    ),
    "retired-strong": (
        "This bottle has had all its charges with strong drinks: it is discarded, never charged again. Do not touch, "
        "carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
        "slowly, away from faces. A cap is no relief valve."
    ),
    "retired-old": (
        "This bottle is too old: it is discarded, never charged again. Do not touch, carry or "
        "shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, "
        "away from faces. A cap is no relief valve."
    ),
    "not-used-yet": (
        "This bottle was first used after the moment of this request: its age is not known. Do not touch, carry or "
        "shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, "
        "away from faces. A cap is no relief valve."
    ),
}
"""The danger of a vessel that is unfit and was charged already, by the code of what is wrong with it."""


def unknown(given: VesselGiven, at: str) -> Iterator[Fault]:
    """Yield a fault for each thing that must be known of any vessel and is not."""
    material, capacity_ml = named(given)
    if material is None:
        yield Fault(f"{at}/material", "unknown-vessel", "Name a preset, or state the material and capacity.")
    if capacity_ml is None:
        yield Fault(f"{at}/capacity", "unknown-vessel", "Name a preset, or state the brimful capacity.")


def unrated(given: VesselGiven, at: str) -> Iterator[Fault]:
    """Yield each reason why a vessel does not count as made for pressure."""
    material, _ = named(given)
    if material == "glass":
        yield Fault(f"{at}/material", "glass", "Never force-carbonate in glass: it can shatter.")
    if given.made_for_carbonation is False:
        text = "Charge only vessels that were made for carbonated drinks."
        yield Fault(f"{at}/made_for_carbonation", "unrated", text)
    if preset_of(given) is not None:
        return
    if material == "pet" and given.made_for_carbonation is None:
        text = "State that this bottle was made for carbonated drinks; an unrated one is never charged."
        yield Fault(f"{at}/made_for_carbonation", "unrated", text)
    if material in ("steel", "aluminium") and (
        None in (given.charge_limit_bar, given.closed_limit_bar) or given.rated_by != "stamp"
    ):
        text = (
            "State both limits from the vessel's stamp, and rated_by as stamp; an unstamped or one-way keg is never "
            "charged."
        )
        yield Fault(f"{at}/closed_limit", "unrated", text)


def unsound(given: VesselGiven, at: str, abv: float | None) -> Iterator[Fault]:
    """Yield a fault for each thing that is damaged or worn. abv: of the drink [%vol]; None where it is not known"""
    if given.condition not in (None, "sound"):
        text = (
            "Discard this vessel, do not charge it: its condition is {condition}. Under pressure, vent it first, cold "
            "and slowly."
        )
        yield Fault(f"{at}/condition", "unsound", text, (("condition", Term(given.condition)),))
    most = most_cycles(given, abv)
    if most is not None and given.cycles is not None and given.cycles >= most:
        if most == STRONG_CYCLES:
            text = "Retire this bottle: with drinks over {strong} %vol it is charged no more than {most} times."
            params = (("most", float(most)), ("strong", float(STRONG_FOR_PET_ABV)))
            yield Fault(f"{at}/cycles", "retired-strong", text, params)
        else:
            text = "Retire this bottle: it is charged no more than {most} times."
            yield Fault(f"{at}/cycles", "retired", text, (("most", float(most)),))


def most_cycles(given: VesselGiven, abv: float | None) -> int | None:
    """Return the number of charges after which this vessel is retired; None for metal."""
    if named(given)[0] != "pet":
        return None
    if abv is not None and abv > STRONG_FOR_PET_ABV:
        return STRONG_CYCLES
    return REFILLABLE_CYCLES if given.refillable else ONE_WAY_CYCLES


def aged(given: VesselGiven, at: str, now: datetime | None) -> Iterator[Fault]:
    """Yield a fault for each age that is too high; judged only where both moments are known."""
    material, _ = named(given)
    if material != "pet" or given.first_used is None or now is None:
        return
    if given.first_used > now.date():
        yield Fault(f"{at}/first_used", "not-used-yet", "It is first used after the moment of this request.")
    if now.date() - given.first_used > LONGEST_USE:
        text = "Retire this bottle: a PET bottle is used for {days} days from its first charge."
        yield Fault(f"{at}/first_used", "retired-old", text, (("days", float(LONGEST_USE.days)),))


def note_wear(given: VesselGiven, notes: Notes, at: str, now: datetime | None, abv: float | None) -> None:
    """Note the wear that is assumed where the request is silent, and warn when the seal is due."""
    most = most_cycles(given, abv)
    if given.condition is None:
        sound = Term("sound: inspected, no crease, whitening, bulge or drop")
        notes.assume("condition", sound, "default", at=f"{at}/condition")
    if most is not None and given.cycles is None:
        fewer = Term("fewer than {most}", most=float(most))
        notes.assume("charges so far", fewer, "default", at=f"{at}/cycles")
    if most is not None and given.first_used is None:
        longest = Term("no longer than {days} days", days=float(LONGEST_USE.days))
        notes.assume("in use for", longest, "default", at=f"{at}/first_used")
    elif most is not None and now is None:
        text = "The age of the bottle is not judged without a moment: retire a PET bottle after {days} days."
        notes.caution("age-not-judged", "warning", text, at=f"{at}/first_used", days=float(LONGEST_USE.days))
    if given.cycles is not None and given.cycles >= SEAL_CYCLES:
        text = "Change the seal after {cycles} charges, unless that was done."
        notes.caution("seal-due", "warning", text, at=f"{at}/cycles", cycles=float(SEAL_CYCLES))
