"""The vessel: what it holds, what it may bear, and whether it may be charged at all."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from service.errors import Fact, Fault, Nearest, Refused
from service.notes import Notes
from service.science.units import Quantity

Material = Literal["pet", "steel", "glass", "aluminium"]
Condition = Literal["sound", "creased", "whitened", "bulged", "dropped", "unknown"]

DEFAULT_FILL = 0.80
"""Share of brimful; common practice, no source (0.75 to 0.85)."""
MOST_FILL = 0.90
"""Share of brimful above which the gas has no cushion; common practice, no source."""
MOST_CYCLES = 20
"""Charges after which a PET bottle is retired; estimate, common practice (10 to 30)."""
LONGEST_USE = timedelta(days=92)
"""Three months after its first charge a PET bottle is retired; estimate, common practice."""
SEAL_CYCLES = 10
"""Charges after which a seal is changed; estimate, common practice."""
KEG_FROM_ML = 4000.0
"""From here on a metal vessel is handled, cooled and shaken as a keg; common practice, no source."""
BRIMFUL_OFF_NOMINAL = 0.1
"""Brimful a vessel holds up to so much more or less than its nominal size, share of it; common practice, no source."""
MOST_USUAL_PET_BAR = {"charge": 3.5, "closed": 6.0}
"""Over these gauge pressures few PET bottles are rated; common practice, no source."""


@dataclass(frozen=True)
class Preset:
    """A common vessel. Limits are estimates; the maker's rating or the stamp prevails."""

    material: Material
    capacity_ml: float
    charge_limit_bar: float
    closed_limit_bar: float
    soft: bool


PRESETS: dict[str, Preset] = {
    "pet-500-ml": Preset("pet", 500.0, 3.0, 5.0, True),
    "pet-1-l": Preset("pet", 1000.0, 3.0, 5.0, True),
    "pet-1500-ml": Preset("pet", 1500.0, 3.0, 5.0, True),
    "pet-2-l": Preset("pet", 2000.0, 3.0, 5.0, True),
    "keg-9-l": Preset("steel", 9500.0, 3.0, 4.0, False),
    "keg-19-l": Preset("steel", 18927.0, 3.0, 4.0, False),
}
"""Gauge pressures in bar; estimates from common practice, no source."""


@dataclass(frozen=True)
class VesselGiven:
    """A vessel as the request names it; None where it is silent."""

    preset: str | None = None
    material: Material | None = None
    capacity_ml: float | None = None
    charge_limit_bar: float | None = None
    closed_limit_bar: float | None = None
    soft: bool | None = None
    made_for_carbonation: bool | None = None
    cycles: int | None = None
    first_used: date | None = None
    condition: Condition | None = None


@dataclass(frozen=True)
class SizedVessel:
    """So many vessels, filled so far; fill is a share of brimful."""

    vessel: VesselGiven
    count: int
    fill: float | None = None


@dataclass(frozen=True)
class Vessel:
    """A vessel that may be charged, with the limits it is judged by."""

    name: str
    material: Material
    capacity_ml: float
    charge_limit_bar_gauge: float
    closed_limit_bar_gauge: float
    soft: bool

    @property
    def is_keg(self) -> bool:
        return self.material in ("steel", "aluminium") and self.capacity_ml >= KEG_FROM_ML

    @property
    def kind(self) -> Literal["bottle", "keg"]:
        return "keg" if self.is_keg else "bottle"

    def liquid_ml(self, fill: float) -> float:
        return fill * self.capacity_ml

    def headspace_ml(self, fill: float) -> float:
        return (1.0 - fill) * self.capacity_ml


def vessel_of(given: VesselGiven | None, notes: Notes, *, at: str = "/vessel", now: datetime | None = None) -> Vessel:
    """The vessel with its gaps filled from its preset, each filled gap an assumption.

    now: by which its age is judged; None where the request states no moment
    raises: Refused ("vessel-refused") for one that must not be charged, with every reason
    """
    if given is None:
        notes.assume("vessel", "pet-1-l", "default", at=at)
        given = VesselGiven(preset="pet-1-l")
    reasons = [*_unknown(given, at), *_unrated(given, at), *_unsound(given, at), *_aged(given, at, now)]
    if reasons:
        raise Refused("vessel-refused", reasons, nearest=[Nearest(at, {"preset": "pet-1-l"})])
    material, capacity_ml = named(given)
    assert material is not None
    assert capacity_ml is not None
    if given.capacity_ml is None:
        brimful, advice = Quantity("volume", capacity_ml), "nominal size; measure yours"
        notes.assume("brimful capacity", brimful, "estimate", advice, at=f"{at}/capacity")
    if given.condition is None:
        sound = "sound: inspected, no crease, whitening, bulge or drop"
        notes.assume("condition", sound, "default", at=f"{at}/condition")
    _note_wear(given, notes, at, now)
    soft = given.soft if given.soft is not None else material == "pet"
    charge, closed = _limit("charge", given, notes, at), _limit("closed", given, notes, at)
    return Vessel(given.preset or f"{material} vessel", material, capacity_ml, charge, closed, soft)


def holding(liquid_ml: float, fill: float, *, at: str) -> list[Nearest]:
    """The smallest preset that holds so much at this fill, as what to offer; none where none does."""
    fits = [name for name, preset in PRESETS.items() if fill * preset.capacity_ml >= liquid_ml]
    return [Nearest(at, {"preset": fits[0]})] if fits else []


def named(given: VesselGiven) -> tuple[Material | None, float | None]:
    """Material and capacity, from the preset where the request is silent; None where that is silent too."""
    if given.preset is None:
        return given.material, given.capacity_ml
    preset = PRESETS[given.preset]
    return given.material or preset.material, given.capacity_ml or preset.capacity_ml


def _limit(which: Literal["charge", "closed"], given: VesselGiven, notes: Notes, at: str) -> float:
    stated: float | None = getattr(given, f"{which}_limit_bar")
    if stated is not None:
        _caution_unusual(which, stated, given, notes, at)
        return stated
    limit: float = getattr(PRESETS[given.preset or "pet-1-l"], f"{which}_limit_bar")
    reason = "common practice; the maker's rating or the stamp prevails"
    notes.assume(f"{which} limit, gauge", Quantity("pressure", limit), "estimate", reason, at=f"{at}/{which}_limit")
    return limit


def _caution_unusual(
    which: Literal["charge", "closed"], stated_bar: float, given: VesselGiven, notes: Notes, at: str
) -> None:
    """A limit is believed as it is stated; but hardly a PET bottle is rated for more than is usual."""
    most = Quantity("pressure", MOST_USUAL_PET_BAR[which], "down")
    if named(given)[0] != "pet" or stated_bar <= most.value + 1e-9:  # what a change of units may add
        return
    text = (
        "Hardly a PET bottle is rated for more than {most}, and {stated} is stated: go by the maker's written rating "
        "of this very bottle, or leave the limit out."
    )
    here = Quantity("pressure", stated_bar)
    notes.caution("unusual-limit", "danger", text, at=f"{at}/{which}_limit", most=most, stated=here)


def _unknown(given: VesselGiven, at: str) -> Iterator[Fault]:
    """What must be known of any vessel."""
    material, capacity_ml = named(given)
    if material is None:
        yield Fault(f"{at}/material", "unknown-vessel", "Name a preset, or state the material and capacity.")
    if capacity_ml is None:
        yield Fault(f"{at}/capacity", "unknown-vessel", "Name a preset, or state the brimful capacity.")


def _unrated(given: VesselGiven, at: str) -> Iterator[Fault]:
    """What was not made for pressure."""
    material, _ = named(given)
    if material == "glass":
        yield Fault(f"{at}/material", "glass", "Glass is never force-carbonated: it can shatter.")
    if given.made_for_carbonation is False:
        text = "Only vessels made for carbonated drinks are charged."
        yield Fault(f"{at}/made_for_carbonation", "unrated", text)
    if _is_its_preset(given):
        return
    if material == "pet" and given.made_for_carbonation is None:
        text = "State that this bottle was made for carbonated drinks; an unrated one is not charged."
        yield Fault(f"{at}/made_for_carbonation", "unrated", text)
    if material in ("steel", "aluminium") and None in (given.charge_limit_bar, given.closed_limit_bar):
        text = "State both limits from the vessel's stamp; an unstamped or one-way keg is not charged."
        yield Fault(f"{at}/closed_limit", "unrated", text)


def _is_its_preset(given: VesselGiven) -> bool:
    """What a preset vouches for: a vessel of its material and about its size, no other."""
    if given.preset is None:
        return False
    preset, (material, capacity_ml) = PRESETS[given.preset], named(given)
    off = abs((capacity_ml or 0.0) / preset.capacity_ml - 1.0)
    return material == preset.material and off <= BRIMFUL_OFF_NOMINAL + 1e-9  # what a change of units may add


def _unsound(given: VesselGiven, at: str) -> Iterator[Fault]:
    """What is damaged or worn."""
    material, _ = named(given)
    if given.condition not in (None, "sound"):
        which = "A vessel of unknown condition" if given.condition == "unknown" else f"A {given.condition} vessel"
        text = f"{which} is discarded, not charged; under pressure it is vented first, cold and slowly."
        yield Fault(f"{at}/condition", "unsound", text)
    if material == "pet" and given.cycles is not None and given.cycles >= MOST_CYCLES:
        yield Fault(f"{at}/cycles", "retired", f"PET bottles are retired after {MOST_CYCLES} charges.")


def _aged(given: VesselGiven, at: str, now: datetime | None) -> Iterator[Fault]:
    """What is too old; judged only where both moments are known."""
    material, _ = named(given)
    if material != "pet" or given.first_used is None or now is None:
        return
    if given.first_used > now.date():
        yield Fault(f"{at}/first_used", "not-used-yet", "First used after the moment of this request.")
    if now.date() - given.first_used > LONGEST_USE:
        text = f"PET bottles are retired {LONGEST_USE.days} days after their first charge."
        yield Fault(f"{at}/first_used", "retired", text)


def _note_wear(given: VesselGiven, notes: Notes, at: str, now: datetime | None) -> None:
    """What is taken of the wear where the request is silent, and when the seal is due."""
    material, _ = named(given)
    if material == "pet" and given.cycles is None:
        notes.assume("charges so far", f"fewer than {MOST_CYCLES}", "default", at=f"{at}/cycles")
    if material == "pet" and given.first_used is None:
        notes.assume("in use for", f"no longer than {LONGEST_USE.days} days", "default", at=f"{at}/first_used")
    elif material == "pet" and now is None:
        text = "Its age is not judged, because no moment is stated; after {days} days a PET bottle is retired."
        notes.caution("age-not-judged", "warning", text, at=f"{at}/first_used", days=float(LONGEST_USE.days))
    if given.cycles is not None and given.cycles >= SEAL_CYCLES:
        text = "After {cycles} charges change the seal, unless that was done."
        notes.caution("seal-due", "warning", text, at=f"{at}/cycles", cycles=float(SEAL_CYCLES))


def fill_of(given: float | None, notes: Notes, *, at: str = "/fill") -> float:
    """Share of brimful that is liquid.

    raises: Refused ("no-headspace") above 0.90
    """
    if given is None:
        notes.assume("fill, share of brimful", DEFAULT_FILL, "common-practice", at=at)
        return DEFAULT_FILL
    if given > MOST_FILL:
        text = "Leave at least 10 % of the vessel empty: without headspace nothing cushions the pressure."
        raise Refused(
            "no-headspace",
            [Fault(at, "no-headspace", text)],
            facts=[Fact("fill", given), Fact("most_fill", MOST_FILL)],
            nearest=[Nearest(at, MOST_FILL)],
        )
    return given
