"""The shared safety judgement: the pressure that a closed vessel could reach, and drinks that are never charged.

Wherever safety is judged it is judged at the worst honest case, and nothing a caller measures relaxes a limit.
"""

from service.safety.closed import UNKNOWN_REACH, ClosedVessel, Held, Reach, excess_bar, highest, upper_end, worst_closed
from service.safety.fitness import (
    caution_charging,
    caution_warm_charging,
    caution_warm_holding,
    chargeable_c,
    check_charging,
    check_cold_dial,
    check_computable,
    check_dead,
    check_fit_to_charge,
    check_known,
    check_reached,
    check_readable,
    check_temperature,
    cold_c,
    computable_c,
    cool_enough_c,
    lowest_charging_c,
    warmest_charging_c,
)
from service.safety.pressure import Judgement, check, lower_dial, no_pressure, out_of_reach, warn_near_limit
from service.safety.standing import beyond_equations, caution_standing, check_may_be_timed, check_stop, most_held_mol
from service.science.gas import WARMEST_C

__all__ = [
    "UNKNOWN_REACH",
    "WARMEST_C",
    "ClosedVessel",
    "Held",
    "Judgement",
    "Reach",
    "beyond_equations",
    "caution_charging",
    "caution_standing",
    "caution_warm_charging",
    "caution_warm_holding",
    "chargeable_c",
    "check",
    "check_charging",
    "check_cold_dial",
    "check_computable",
    "check_dead",
    "check_fit_to_charge",
    "check_known",
    "check_may_be_timed",
    "check_reached",
    "check_readable",
    "check_stop",
    "check_temperature",
    "cold_c",
    "computable_c",
    "cool_enough_c",
    "excess_bar",
    "highest",
    "lower_dial",
    "lowest_charging_c",
    "most_held_mol",
    "no_pressure",
    "out_of_reach",
    "upper_end",
    "warmest_charging_c",
    "warn_near_limit",
    "worst_closed",
]
