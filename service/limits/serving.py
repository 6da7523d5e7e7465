"""Serving: how a vessel is held, poured from and re-gassed, how a drink is chilled and kept, and the place."""

from datetime import timedelta

from service.limits.declared import Subject
from service.science.band import Band
from service.science.constants import ATMOSPHERE_BAR

declared = Subject()

HOLDING_C = declared("holding-temperature", "default", "Bottles in service.", 4.0, "temperature")
FLOOR_G_PER_L = declared("floor", "default", "Lowest CO2 level in the glass.", 4.5, "co2")
"""4 to 5 are in use."""
OPEN_FOR_S = declared("open-for", "default", "How long a bottle stands open for one pour.", 10.0, "duration")
SMALLEST_POUR_ML = declared("smallest-pour", "request", "Least that is served as a pour.", 30.0, "volume")
LEAST_POURED_ML = declared.bound("least-poured", "Least that a log tells of as poured.", 10.0, "volume")
WARMEST_POUR_C = declared(
    "warm-pour", "warned", "Warmer, more is lost from a keg than the loss of a gentle pour tells.", 12.0, "temperature",
    "published", "Liger-Belair et al. 2010",
)  # fmt: skip
"""At 18 degC twice as much was lost."""
MOST_REGASSINGS = declared("regassings", "refused", "Of one bottle in one shift.", 2, "count")
LEAST_FILL = declared(
    "least-fill-to-regas", "refused", "Emptier, no bottle is re-gassed; share of brimful.", 1.0 / 3.0, "share"
)
"""And it is hardly charged: the gas that it would store does the damage."""
MOST_AHEAD = declared.bound("glasses-ahead", "Glasses of a vessel that are looked ahead.", 20)
PACE_OVER = timedelta(
    seconds=declared(
        "pace", "default", "The present pace is that of so long up to now.", 3600.0, "duration", "estimate"
    )
)
CLOCK_AHEAD = timedelta(
    seconds=declared(
        "clock-ahead", "default", "What a till tells of up to so long after now counts as of now.", 300.0, "duration",
        "estimate",
    )
)  # fmt: skip
"""Clocks of tills and tablets drift by minutes; an hour off is a wrong zone."""
POUR_OFF = declared("pour-off", "judged", "How far one pour is off, share of it; each on its own.", 0.08, "share")
POUR_DRIFT = declared(
    "pour-drift", "judged", "How far all pours of an evening are off the same way, share of them.", 0.03, "share"
)
"""A poured glass is off by what the hand does and by where the line on the glass is; both ends hold nine in ten."""
AT_REST_SHARE = declared(
    "at-rest", "judged", "How near to the level that it comes to a vessel is at rest, share of it.", 0.05, "share",
    "estimate",
)  # fmt: skip
CORRECTION_G_PER_L = declared(
    "correction", "told", "From here on a reading's correction of a level is told; no gauge tells less.", 0.1, "co2",
    "estimate",
)  # fmt: skip
CHILL_FROM_C = declared("chill-from", "default", "Drink before it is chilled.", 20.0, "temperature")
"""Batched from the shelf."""
CLOSEST_C = declared(
    "closest-goal",
    "advised",
    "How far above its surroundings a goal is offered that is reached.",
    0.5,
    "°C",
    "estimate",
)
LEAST_ABOVE_C = declared(
    "least-above-surroundings",
    "refused",
    "A goal nearer to its surroundings is refused: a thermometer that shows 0.1 °C does not tell them apart.",
    0.05,
    "°C",
    "estimate",
)
ICE_FETCHED = declared("ice-fetched", "advised", "So many times the ice that may melt is fetched.", 2.0, "count")
"""As much again is left at the end, or the bath no longer reaches the vessels and its water is warm. What chills tap
water that is poured on comes out of it."""
COLD_PLATE_C = declared("cold-plate", "warned", "How much colder a fridge is beside its cold plate.", 2.0, "°C")
WEAK_ABV = declared(
    "weak-drink", "warned", "Weaker, a drink is densest near 4 °C, as water is.", 5.0, "%vol", "estimate"
)
READING_SPREAD = declared(
    "read-time-constant", "judged", "How far a time constant still wanders once it was read, share of it.", 0.15,
    "share", "estimate",
)  # fmt: skip
"""Ice added, vessels moved, one temperature for all the liquid."""
COLD_HOLD_C = declared("cold-hold", "default", "Warmest that a made batch is kept.", 5.0, "temperature")
"""FDA Food Code 2022, 3-501.16(A)(2), from memory; local food code decides."""
WARM_FOR = timedelta(
    seconds=declared(
        "out-of-the-cold", "warned", "A drink that does not keep is discarded so long after it left the cold.",
        4 * 3600.0, "duration", "unverified", "FDA Food Code 2022, 3-501.19(B), from memory",
    )
)  # fmt: skip
FRESH_S = declared("fresh-juice", "warned", "How long fresh juice keeps, cold.", 24 * 3600.0, "duration")
declared("air-pressure", "default", "Absolute, at sea level.", ATMOSPHERE_BAR, "pressure", "default", "ISO 2533")
CYLINDER_C = declared("cylinder-temperature", "default", "Room that the cylinder stands in.", 20.0, "temperature")
LOST_SHARE = declared.band(
    "gas-lost",
    "default",
    "Gas that is lost, over what vessels take, share",
    Band(0.02, 0.10, 0.25),
    "share",
    "estimate",
)
"""What leaks, blows off hoses and couplings, goes into vessels done again and stays in the cylinder."""
SERVE_ML = declared("serve-from-a-log", "default", "Of a vessel whose pour is not stated.", 185.0, "volume")
