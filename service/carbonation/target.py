"""The CO2 level to start from, and the one wanted."""

from typing import Annotated

from service.declared import co2
from service.limits.charging import RETAINED_SHARE, TARGET_G_PER_L
from service.notes import Notes
from service.safety import ClosedVessel
from service.science.units import Quantity
from service.setting import Setting, set_point_judged, workable_target

Target = Annotated[float | None, co2(above=0.0, high=15.0), "CO2 wanted in the drink; 7 g/l unless stated."]


def start_of(given: float | None, setting: Setting, notes: Notes, *, at: str = "/start_co2") -> float:
    """Return the CO2 in the drink before it is charged [g/L]: unless stated, half of what its components bring."""
    if given is not None:
        return given
    start = RETAINED_SHARE * setting.brought_g_per_l
    source = "half of what the components bring outlives mixing and filling" if start else "flat components"
    notes.assume("CO2 before charging", Quantity("co2", start), "estimate" if start else "default", source, at=at)
    return start


def target_of(
    given: float | None, setting: Setting, closed: ClosedVessel, notes: Notes, *, at: str = "/target"
) -> float:
    """Return the CO2 level wanted [g/L]: unless stated that of a highball, or the less that vessel and gear allow."""
    if given is not None:
        return given
    judgement = set_point_judged(setting, closed, TARGET_G_PER_L)
    if judgement.passes and judgement.dial_bar_gauge >= 0.0:
        notes.assume("target", Quantity("co2", TARGET_G_PER_L), "common-practice", "highball or soda", at=at)
        return TARGET_G_PER_L
    works = workable_target(setting, judgement)
    if not works:
        return TARGET_G_PER_L  # refused with the numbers further on
    source = "less than a highball usually has; the most that vessel and regulator allow here"
    notes.assume("target", Quantity("co2", works), "common-practice", source, at=at)
    return works
