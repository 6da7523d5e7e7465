"""The shared safety judgement: what a closed vessel could reach, and what is not charged at all.

Wherever safety is judged it is judged at the worst honest case, and nothing a caller measures relaxes a limit.
"""

from service.safety.fitness import (
    COLD_C,
    chargeable_c,
    check_fit_to_charge,
    check_known,
    check_temperature,
    cold_c,
    lowest_charging_c,
)
from service.safety.pressure import (
    NOT_APPROVAL,
    Judgement,
    check,
    check_dial,
    excess_bar,
    highest,
    judge,
    lower_dial,
    never_over_bar_gauge,
    worst_closed,
)

__all__ = [
    "COLD_C",
    "NOT_APPROVAL",
    "Judgement",
    "chargeable_c",
    "check",
    "check_dial",
    "check_fit_to_charge",
    "check_known",
    "check_temperature",
    "cold_c",
    "excess_bar",
    "highest",
    "judge",
    "lower_dial",
    "lowest_charging_c",
    "never_over_bar_gauge",
    "worst_closed",
]
