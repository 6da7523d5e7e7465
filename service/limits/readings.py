"""Readings and comparisons: set-points, a bar's own constants, and venues held against a standard."""

from service.limits.charging import CHARGED_AT_C, TARGET_G_PER_L
from service.limits.declared import Subject
from service.limits.serving import HOLDING_C

declared = Subject()

DRIFT_C = declared("drift-temperature", "default", "That the drift of a set-point is for.", CHARGED_AT_C, "temperature")
DRIFT_CO2_G_PER_L = declared(
    "drift-co2", "default", "CO2 level that the drift of a set-point is for.", TARGET_G_PER_L, "co2"
)
GAUGE_STEP_BAR = declared("gauge-step", "default", "To which a gauge is read.", 0.1, "pressure", "estimate")
POUR_ERROR = declared(
    "pour-error", "judged", "Of a glass poured by eye to a line or by a jigger, share of it.", 0.05, "share", "estimate"
)
MEASURING_PERCENT = declared(
    "measuring-error", "default", "Of an amount that is counted or measured in stock, at nine times in ten.", 3.0, "%",
    "estimate",
)  # fmt: skip
"""By eye in part-full vessels it is more, on a scale less."""
LEAST_READINGS = declared(
    "least-readings", "refused", "Fewer say next to nothing of their own scatter.", 3, "count", "estimate",
    "Student's factor is 6.3 at one to spare",
)  # fmt: skip
SCATTER_OVER_ERROR = declared(
    "scatter", "warned", "Readings that scatter so many times what their instruments explain hide something.", 2.0,
    "count", "estimate",
)  # fmt: skip
MOST_REACH = declared(
    "solubility-known", "refused", "A solubility known less well says nothing, share of it.", 0.2, "share", "estimate"
)
"""A fifth is about as far as the model is ever off."""
RATE_REACH = declared(
    "rate-beyond", "refused", "So many times beyond the ends of the model's own band a rate is believed.", 10.0,
    "count", "estimate",
)  # fmt: skip
MOST_PER_S = declared("most-rate", "refused", "No rate of a vessel is higher.", 1.0, "1/s", "estimate")
MOST_RATE_REACH = declared(
    "rate-known", "refused", "A stated rate known less well says nothing, share of it.", 2.0, "share", "estimate"
)
"""A factor of three, as the model's own are known to."""
MOST_FITTED_REACH = declared(
    "fitted-rate-known", "refused", "A fitted rate known less well says nothing, share of it.", 0.5, "share", "estimate"
)
"""Further, the straight line that standard errors rest on no longer holds."""
LEAST_POUR_LOSS = declared(
    "least-pour-loss", "refused", "Share lost on pouring, of a calibration.", 0.01, "share", "estimate"
)
MOST_POUR_LOSS = declared(
    "most-pour-loss", "refused", "Share lost on pouring, of a calibration.", 0.95, "share", "estimate"
)
SERVED_C = declared(
    "pour-loss-temperature", "default", "Of a share lost on pouring that states none.", HOLDING_C, "temperature"
)
SAME_SIZE = declared(
    "same-size",
    "warned",
    "Vessels whose capacities differ by no more take CO2 up alike, share.",
    0.1,
    "share",
    "estimate",
)
DIFFERS_BAR = declared(
    "dial-differs", "told", "Of a venue's dial from the standard's, less is left out: half of what is shown.", 0.005,
    "pressure", "estimate",
)  # fmt: skip
DIFFERS_CO2_G_PER_L = declared(
    "co2-differs", "told", "Of a venue's CO2 level from the standard's, less is left out.", 0.05, "co2", "estimate"
)
DIFFERS_ABV = declared(
    "strength-differs", "told", "Of a venue's strength from the standard's, less is left out.", 0.05, "%vol", "estimate"
)
DIFFERS_ACIDITY = declared(
    "acidity-differs",
    "told",
    "Of a venue's acidity, share of it, less is left out: far below what is tasted.",
    0.005,
    "share",
    "estimate",
)
