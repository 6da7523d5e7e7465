"""Reasons for which a vessel is not charged: unknown, unrated, damaged, worn out, too old."""

from collections.abc import Iterator
from datetime import datetime

from service.errors import Fault
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
"""Advice for a vessel under pressure that is unfit, too warm or over its limit; common practice, no source."""


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
        yield Fault(f"{at}/material", "glass", "Glass is never force-carbonated: it can shatter.")
    if given.made_for_carbonation is False:
        text = "Only vessels made for carbonated drinks are charged."
        yield Fault(f"{at}/made_for_carbonation", "unrated", text)
    if preset_of(given) is not None:
        return
    if material == "pet" and given.made_for_carbonation is None:
        text = "State that this bottle was made for carbonated drinks; an unrated one is not charged."
        yield Fault(f"{at}/made_for_carbonation", "unrated", text)
    if material in ("steel", "aluminium") and (
        None in (given.charge_limit_bar, given.closed_limit_bar) or given.rated_by != "stamp"
    ):
        text = (
            "State both limits from the vessel's stamp, and rated_by, stamp; an unstamped or one-way keg is not "
            "charged."
        )
        yield Fault(f"{at}/closed_limit", "unrated", text)


def unsound(given: VesselGiven, at: str, abv: float | None) -> Iterator[Fault]:
    """Yield a fault for each thing that is damaged or worn. abv: of the drink [%vol]; None where it is not known"""
    if given.condition == "unknown":
        text = (
            "A vessel of unknown condition is discarded, not charged; under pressure it is vented first, cold and "
            "slowly."
        )
        yield Fault(f"{at}/condition", "unsound", text)
    elif given.condition not in (None, "sound"):
        text = "A {condition} vessel is discarded, not charged; under pressure it is vented first, cold and slowly."
        yield Fault(f"{at}/condition", "unsound", text, (("condition", given.condition),))
    most = most_cycles(given, abv)
    if most is not None and given.cycles is not None and given.cycles >= most:
        text = "Such a bottle is retired after {most} charges."
        if most == STRONG_CYCLES:
            text = "Charged with drinks over {strong} %vol a bottle is retired after {most} charges."
        yield Fault(f"{at}/cycles", "retired", text, (("most", float(most)), ("strong", STRONG_FOR_PET_ABV)))


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
        yield Fault(f"{at}/first_used", "not-used-yet", "First used after the moment of this request.")
    if now.date() - given.first_used > LONGEST_USE:
        text = "PET bottles are retired {days} days after their first charge."
        yield Fault(f"{at}/first_used", "retired", text, (("days", float(LONGEST_USE.days)),))


def note_wear(given: VesselGiven, notes: Notes, at: str, now: datetime | None, abv: float | None) -> None:
    """Note the wear that is assumed where the request is silent, and warn when the seal is due."""
    most = most_cycles(given, abv)
    if given.condition is None:
        sound = "sound: inspected, no crease, whitening, bulge or drop"
        notes.assume("condition", sound, "default", at=f"{at}/condition")
    if most is not None and given.cycles is None:
        notes.assume("charges so far", f"fewer than {most}", "default", at=f"{at}/cycles")
    if most is not None and given.first_used is None:
        notes.assume("in use for", f"no longer than {LONGEST_USE.days} days", "default", at=f"{at}/first_used")
    elif most is not None and now is None:
        text = "Its age is not judged, because no moment is stated; after {days} days a PET bottle is retired."
        notes.caution("age-not-judged", "warning", text, at=f"{at}/first_used", days=float(LONGEST_USE.days))
    if given.cycles is not None and given.cycles >= SEAL_CYCLES:
        text = "After {cycles} charges change the seal, unless that was done."
        notes.caution("seal-due", "warning", text, at=f"{at}/cycles", cycles=float(SEAL_CYCLES))
