"""Charging: the level, how cold, where, how often and how long, and the accuracy of the check."""

from service.limits.declared import Subject
from service.science.band import Band

declared = Subject()

TARGET_G_PER_L = declared("target", "default", "CO2 of a drink.", 7.0, "co2")
"""Of a highball or soda: 6 to 8 are in use."""
LONG_CO2_G_PER_L = declared.band(
    "long-drink", "told", "CO2 that a highball or soda is charged to", Band(6.0, TARGET_G_PER_L, 8.0), "co2"
)
SHORT_CO2_G_PER_L = declared.band(
    "short-drink", "told", "CO2 that a short drink is charged to", Band(5.0, 6.0, 7.0), "co2"
)
RETAINED_SHARE = declared(
    "retained-co2", "default", "Of the CO2 that components bring, what outlives mixing.", 0.50, "share", "estimate"
)
CHARGED_AT_C = declared("charging-temperature", "default", "Drink when charged.", 1.0, "temperature")
"""0 to 3 are in use."""
WARM_CHARGE_C = declared("warm-charging", "warned", "Warmer, a drink takes up less gas and foams.", 5.0, "temperature")
BOTTLE_MOST_C = declared("bottle-temperature", "refused", "Warmer, a bottle is not charged.", 10.0, "temperature")
ICE_C = declared("ice", "told", "Colder, a bottle rests without ice, which would warm it.", -1.0, "temperature")
ICE_BATH_C = declared.band(
    "ice-bath", "default", "What stood in ice and water until it was as cold", Band(0.0, 1.0, 2.0), "temperature"
)
LEAST_COLD_DIAL_BAR = declared(
    "least-cold-dial",
    "refused",
    "Gauge: so cold that a bottle rests without ice, no lower dial is charged at.",
    0.3,
    "pressure",
)
FREEZER_C = declared(
    "freezer", "warned", "How much colder a freezer or brine gets what is left in it between two charges.", 4.0, "°C"
)
COLDER_BY_C = declared(
    "freezer-margin", "warned", "A dial for a drink that is so much warmer than it gets there is not for it.", 1.0, "°C"
)
STRONG_ABV = declared(
    "strong-drink", "warned", "Stronger, the solubility of CO2 rests on little.", 30.0, "%vol", "estimate"
)
"""See `service.science.gas.ethanol_factor`, which ends at MOST_ABV."""
MOST_ABV = declared("most-abv", "refused", "Stronger, the solubility of CO2 is not known.", 40.0, "%vol", "estimate")
STRONGEST_ABV = declared(
    "strongest-short-drink", "warned", "Strength of short carbonated drinks, at most.", 18.0, "%vol"
)
SHORT_ABV = declared("short-drink", "told", "From here on a carbonated drink is a short one.", 12.0, "%vol")
SWEETEST_G_PER_L = declared("sweetest-drink", "warned", "Sweeter than any soda; see the ingredients.", 120.0, "sugar")
WARMEST_ROOM_C = declared("warmest-room", "default", "Warmest that a closed vessel gets.", 30.0, "temperature")
"""25 to 40 are in use."""
HIGH_PLACE_BAR = declared(
    "low-barometer", "warned", "Air pressure at 3000 m, over which hardly a bar stands.", 0.70, "pressure", "published",
    "ISO 2533",
)  # fmt: skip
WEATHER_SHARE = declared(
    "weather", "refused", "How far a barometer may be from the standard pressure of its altitude.", 0.03, "share",
    "unverified", "from memory",
)  # fmt: skip
CHARGES = declared("charges", "default", "Connections to the regulator.", 3, "count")
"""2 to 4 are in use."""
SHAKE_S = declared("shake", "default", "On the regulator, each charge.", 30.0, "duration")
"""Until the drink is at rest with the dial; 15 to 45 are in use."""
ROCK_S = declared(
    "rock", "default", "On the regulator, each charge of a keg that is charged for an evening.", 600.0, "duration"
)
"""5 to 20 min are in use, lying on its side; common practice, no source."""
TIMED_SHAKE_S = declared("timed-shake", "default", "On the regulator, each timed charge.", 15.0, "duration")
"""10 to 20 are in use."""
LEAST_SHAKE_S = declared(
    "least-shake", "advised", "A shorter shake is none, where charges are fitted to a time.", 10.0, "duration"
)
MOST_SHAKE_S = declared(
    "most-shake",
    "advised",
    "Arms tire of a longer shake of a bottle, where charges are fitted to a time.",
    45.0,
    "duration",
)
MOST_ROCK_S = declared(
    "most-rock",
    "advised",
    "A keg is rocked for so long at the most, where charges are fitted to a time.",
    1800.0,
    "duration",
)
MOST_ROUNDS = declared(
    "most-charges-in-time", "advised", "More in a row no bar makes, where charges are fitted to a time.", 6, "count"
)
REACHED_SHARE = declared(
    "reached", "judged", "Of a target, at which it is reached: at its set-point the drink only nears it.", 0.95,
    "share", "estimate",
)  # fmt: skip
COLDER_C = declared("colder", "advised", "How much colder is worth advising where a target is not reached.", 2.0, "°C")
"""1 to 2 are in use."""
HIGHER_BAR = declared(
    "higher-dial", "advised", "How much more pressure is tried at once where a target is not reached.", 0.3, "pressure"
)
REST_S = declared("rest", "default", "After each charge.", 60.0, "duration")
"""60 to 180 are in use."""
COLD_REST_S = declared("cold-rest", "default", "Before a charged bottle is opened.", 1800.0, "duration")
"""Up to 12 h are in use."""
CONNECT_S = declared("connect", "default", "To connect one vessel and take it off again.", 15.0, "duration")
CHECK_SCALE_G = declared(
    "scale-step-for-checks", "default", "Of the scale that charged bottles are checked on; a coarser hardly tells them "
    "apart.", 0.1, "mass",
)  # fmt: skip
MORE_SHARE = declared(
    "on-target", "judged", "How far from its target a drink that was read is still on it, share of it.", 0.05, "share"
)
SAME_BAR = declared(
    "same-as-dial", "warned", "Nearer to the dial than this a closed vessel seldom comes to rest.", 0.02, "pressure",
    "estimate",
)  # fmt: skip
TOLD_AIR_BAR = declared(
    "air-in-gauge",
    "told",
    "From here on it is told how much of a gauge is air; a gauge shows no less.",
    0.1,
    "pressure",
    "estimate",
)
SQUEEZED_REMAINING_SHARE = declared(
    "squeezed-air", "default", "Air left in a squeezed bottle, share of brimful.", 0.02, "share", "estimate"
)
PURGES = declared("purges", "default", "Of a bottle that is purged.", 3, "count")
KEG_PURGES = declared("keg-purges", "default", "Of a keg that is purged.", 5, "count")
PURGE_BAR_GAUGE = declared("purge-pressure", "default", "Gauge, where it may be dialled.", 2.0, "pressure")
