"""Draught: the usual line, keg and pour, and how far a line is off what is stated of it."""

from service.limits.declared import Subject
from service.science.band import Band

declared = Subject()

TARGET_G_PER_L = declared("draught-target", "default", "CO2 of a drink on draught.", 5.5, "co2")
"""4.5 to 6 are in use."""
KEG_C = declared("draught-temperature", "default", "Keg on tap.", 3.0, "temperature")
POUR_ML = declared("draught-glass", "default", "Glass on draught.", 180.0, "volume")
POUR_ML_PER_S = declared("draught-flow", "default", "Flow of a tap, two ounces in a second.", 60.0, "ml/s")
TAP_BAR = declared("tap-pressure", "default", "Left for the tap itself, one psi.", 0.07, "pressure")
CLEANED_EVERY_S = declared("line-cleaning", "default", "How often a line is cleaned.", 14 * 86400.0, "duration")
FIRST_POUR = declared.band(
    "first-pour", "default", "Poured away when a keg is tapped, in times of what the line holds", Band(1.0, 1.0, 2.0),
    "count", "estimate",
)  # fmt: skip
HEEL = declared.band(
    "keg-heel", "default", "Left in a keg that runs dry, share of its brimful", Band(0.005, 0.01, 0.02), "share",
    "estimate",
)  # fmt: skip
DIAMETER_ERROR_M = declared(
    "line-diameter", "judged", "How far a line is from its nominal inner diameter, either way.", 0.0001, "length",
    "estimate",
)  # fmt: skip
LENGTH_ERROR = declared(
    "line-length", "judged", "How far a line is from its stated length, share of it.", 0.02, "share", "estimate"
)
FRICTION_ERROR = declared(
    "line-friction", "judged", "How far the friction of a clean, straight line is from the equation, share of it.",
    0.05, "share", "estimate",
)  # fmt: skip
STRONG_ABV = declared("vinyl-strength", "told", "From here on vinyl line takes up what a drink tastes of.", 8.0, "%vol")
LINE_BAR = declared(
    "line-rating", "warned", "From here on usual line and joints may not be rated for the pressure; from memory.", 4.0,
    "pressure", "estimate",
)  # fmt: skip
ON_TAP_DAYS = declared("long-on-tap", "warned", "Longer, a keg is long on tap.", 30.0, "count")
DAYS = declared("days-told", "default", "Days of a keg that are told where nothing says how long it lasts.", 7, "count")
MOST_DAYS = declared.bound("most-days", "Of a keg on tap, that are told.", 60)
LAST_SHARE = declared(
    "last-of-a-keg", "judged", "A keg that runs dry is followed with so much of its drink, share of the first.", 0.1,
    "share", "estimate",
)  # fmt: skip
MOST_SEGMENTS = declared.bound("line-segments", "Stretches of one line.", 20)
