"""The shared safety judgement: what a closed vessel could reach, and what is not charged at all.

Wherever safety is judged it is judged at the worst honest case, and nothing a caller measures relaxes a limit.
"""

from service.safety.closed import (
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
    chargeable_c,
    check_fit_to_charge,
    check_known,
    check_temperature,
    cold_c,
    lowest_charging_c,
)
from service.safety.pressure import NOT_APPROVAL, Judgement, check, lower_dial

__all__ = [
    "COLD_C",
    "NOT_APPROVAL",
    "THERMOMETER_ERROR_C",
    "UNKNOWN_REACH",
    "Closed",
    "Judgement",
    "Reach",
    "chargeable_c",
    "check",
    "check_fit_to_charge",
    "check_known",
    "check_temperature",
    "cold_c",
    "excess_bar",
    "highest",
    "lower_dial",
    "lowest_charging_c",
    "upper_end",
    "worst_closed",
]
