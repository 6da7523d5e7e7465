"""The pressures a vessel may see: the usual ones, those that a rating allows, and those that nobody passes."""

from collections.abc import Iterator

from service.errors import Fault
from service.limits.vessels import (
    LARGE_PET_BAR,
    LARGEST_SMALL_BOTTLE_ML,
    MOST_METAL_BAR,
    MOST_PET_BAR,
    MOST_REFILLABLE_BAR,
    PET_BAR,
    RATED_AT_C,
    UNSTAMPED_BAR,
    Which,
)
from service.notes import Notes
from service.science.units import Quantity
from service.vessel.kinds import PRESETS, RatedBy, VesselGiven, named, preset_of

BOTH: tuple[Which, ...] = ("charge", "closed")


def limit_bar(which: Which, given: VesselGiven) -> float:
    """Return the limit that a vessel is judged by: as stated where that is allowed, else the usual one [bar gauge]."""
    stated, usual = _stated_bar(which, given), _usual_bar(which, given)
    if stated is None:
        return usual
    if stated <= usual + _UNITS:
        return stated
    return min(stated, ceiling_bar(given)) if _is_rated(given) else usual


def ceiling_bar(given: VesselGiven) -> float:
    """Return the pressure that no rating raises a limit over [bar gauge]."""
    material, capacity_ml = named(given)
    if material != "pet":
        return MOST_METAL_BAR
    if (capacity_ml or 0.0) > LARGEST_SMALL_BOTTLE_ML:
        return LARGE_PET_BAR["closed"]
    warm = given.rated_at_c is not None and given.rated_at_c >= RATED_AT_C
    return MOST_REFILLABLE_BAR if given.refillable and given.closure == "metal" and warm else MOST_PET_BAR


def limit_faults(given: VesselGiven, at: str) -> Iterator[Fault]:
    """Yield the faults of stated limits: over the usual without a rating, or over the ceiling of any rating."""
    ceiling = Quantity("pressure", ceiling_bar(given), "down")
    for which in BOTH:
        stated, usual = _stated_bar(which, given), Quantity("pressure", _usual_bar(which, given), "down")
        if stated is None or stated <= usual.value + _UNITS:
            continue
        here = Quantity("pressure", stated, "up")
        if not _is_rated(given) and (preset_of(given) is not None or named(given)[0] == "pet"):
            by = _rater(given)
            text = {
                "maker": "Over {usual} only the maker's written rating of this very bottle counts: state rated_by, "
                "maker, or leave the limit out.",
                "stamp": "Over {usual} only the stamp on the vessel counts: state rated_by, stamp, or leave the limit "
                "out.",
            }[by]
            params = (("stated", here), ("usual", usual))
            yield Fault(f"{at}/{which}_limit", "not-rated", text, params)
        if stated > ceiling.value + _UNITS:
            text = "No rating is taken over {ceiling} for such a vessel, and {stated} is stated."
            yield Fault(f"{at}/{which}_limit", "over-ceiling", text, (("ceiling", ceiling), ("stated", here)))


def note_limit(which: Which, given: VesselGiven, notes: Notes, at: str) -> None:
    """Note the basis of a limit: a rating that is believed, or the usual one."""
    stated, usual = _stated_bar(which, given), _usual_bar(which, given)
    where = f"{at}/{which}_limit"
    if stated is None:
        reason = "common practice; the maker's rating or the stamp prevails"
        name = {"charge": "charge limit, gauge", "closed": "closed limit, gauge"}[which]
        notes.assume(name, Quantity("pressure", usual), "estimate", reason, at=where)
    elif stated > usual + _UNITS and _is_rated(given):
        text = "{stated} is taken from the {rated_by}, over the usual {usual}: it must be of this very vessel and cap."
        notes.caution(
            "stated-rating", "warning", text, at=where, stated=Quantity("pressure", stated, "down"),
            usual=Quantity("pressure", usual, "down"), rated_by=_rater(given),
        )  # fmt: skip


def _stated_bar(which: Which, given: VesselGiven) -> float | None:
    return given.charge_limit_bar if which == "charge" else given.closed_limit_bar


def _usual_bar(which: Which, given: VesselGiven) -> float:
    preset, (material, capacity_ml) = preset_of(given), named(given)
    if preset is not None:
        return preset.charge_limit_bar if which == "charge" else preset.closed_limit_bar
    if material != "pet":
        return UNSTAMPED_BAR[which]
    return _pet_bar(which, capacity_ml or 0.0)


def _pet_bar(which: Which, capacity_ml: float) -> float:
    return (LARGE_PET_BAR if capacity_ml > LARGEST_SMALL_BOTTLE_ML else PET_BAR)[which]


def _check_presets() -> None:
    """Refuse a row of data that raises a limit over the usual one of a bottle, or over the ceiling: it is no rating.

    raises: ValueError
    """
    for name, preset in PRESETS.items():
        pet, limits = preset.material == "pet", (preset.charge_limit_bar, preset.closed_limit_bar)
        for which, limit in zip(BOTH, limits, strict=True):
            most = _pet_bar(which, preset.capacity_ml) if pet else MOST_METAL_BAR
            if not 0.0 < limit <= most:
                raise ValueError(f"vessel_presets.csv: {name} has a {which} limit of {limit:g} bar, over {most:g}")
        if limits[0] > limits[1]:
            raise ValueError(f"vessel_presets.csv: {name} is charged to more than it may hold closed")


_check_presets()


def _rater(given: VesselGiven) -> RatedBy:
    """Return who rates such a vessel: a bottle its maker, metal its stamp."""
    return "maker" if named(given)[0] == "pet" else "stamp"


def _is_rated(given: VesselGiven) -> bool:
    return given.rated_by == _rater(given)


_UNITS = 1e-9
"""Most that a change of units may add [bar]."""
