"""The shared safety judgement: what a closed vessel could reach, and what is not charged at all.

Wherever safety is judged it is judged at the worst honest case, and nothing a caller measures relaxes a limit.
"""

from service.safety.closed import (
    FILL_ERROR,
    GAUGE_ERROR_BAR,
    THERMOMETER_ERROR_C,
    UNKNOWN_REACH,
    Closed,
    Reach,
    excess_bar,
    highest,
    upper_end,
    worst_closed,
)
from service.safety.fitness import (
    COLD_C,
    caution_charging,
    caution_handling,
    chargeable_c,
    check_charging,
    check_dead,
    check_fit_to_charge,
    check_known,
    check_readable,
    check_temperature,
    cold_c,
    lowest_charging_c,
    readable_c,
    warmest_charging_c,
)
from service.safety.pressure import NEAR_LIMIT_SHARE, Judgement, check, lower_dial, no_pressure, warn_near_limit
from service.safety.standing import beyond_equations, caution_standing
from service.science.gas import WARMEST_C

__all__ = [
    "COLD_C",
    "FILL_ERROR",
    "GAUGE_ERROR_BAR",
    "NEAR_LIMIT_SHARE",
    "THERMOMETER_ERROR_C",
    "UNKNOWN_REACH",
    "WARMEST_C",
    "Closed",
    "Judgement",
    "Reach",
    "beyond_equations",
    "caution_charging",
    "caution_handling",
    "caution_standing",
    "chargeable_c",
    "check",
    "check_charging",
    "check_dead",
    "check_fit_to_charge",
    "check_known",
    "check_readable",
    "check_temperature",
    "cold_c",
    "excess_bar",
    "highest",
    "lower_dial",
    "lowest_charging_c",
    "no_pressure",
    "readable_c",
    "upper_end",
    "warmest_charging_c",
    "warn_near_limit",
    "worst_closed",
]
