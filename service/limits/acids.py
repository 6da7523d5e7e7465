"""Acid solutions and adjusted liquids: how they are made, kept and dosed, and where knowledge of them ends."""

from service.limits.declared import Subject

declared = Subject()

ACID_ERROR_PERCENT = declared(
    "acid-error", "default", "Of the acidity, that the smallest batch of a solution keeps to.", 1.0, "%"
)
ADJUSTING_ERROR_PERCENT = declared(
    "acid-adjusting-error", "warned", "Error of an adjusted acidity from the scale.", 1.0, "%"
)
ACID_WORK_C = declared("acid-work", "default", "Solution while it is made.", 20.0, "temperature", "default")
ACID_STORAGE_C = declared("acid-storage", "default", "Coldest that a solution is kept.", 4.0, "temperature")
ACID_KEEPS_S = declared("acid-keeps", "default", "A solution, clean, closed and cold.", 14 * 86400.0, "duration")
"""One to four weeks are in use."""
ASCORBIC_KEEPS_S = declared(
    "ascorbic-keeps", "default", "A solution with ascorbic acid in it, clean, closed and cold.", 86400.0, "duration"
)
FIRST_SHARE = declared("first-water", "default", "Part of the water that goes in before the acids.", 0.8, "share")
POTASSIUM_MMOL_PER_KG = declared(
    "potassium", "default", "Potassium that a solution may meet.", 10.0, "mmol/kg", "estimate"
)
"""Lemon-like juice holds about 35, a drink with some of it a third."""
ACID_DRINK_G_PER_L = declared(
    "acid-in-a-drink", "default", "Acid in a litre, for the pH of equal acids where no volume is stated.", 10.0, "g/l"
)
CITRIC_TOLERANCE = declared(
    "as-citric", "warned", "Further off, equal per cent is not taken for equal acidity, share.", 0.05, "share"
)
FLAMMABLE_ABV = declared(
    "flammable", "warned", "Up to here spirit is not treated as a flammable liquid in transport.", 24.0, "%vol",
    "unverified", "ADR special provision 144, from memory",
)  # fmt: skip
SURE_ABV = declared(
    "acid-in-spirit", "warned", "Stronger, nothing in print was found for acids in spirit.", 20.0, "%vol", "estimate"
)
HYDROLYSED_PERCENT_WW = declared(
    "lactic-rests", "warned", "Up to here lactic acid in water hydrolyses in full; above, part stays an ester.", 30.0,
    "%", "unverified", "a producer's data sheet",
)  # fmt: skip
SURE_WHEN_COLDER = declared(
    "solubility-when-colder", "warned", "Of a saturation known only for warmer water, what surely stays dissolved.",
    0.5, "share", "estimate",
)  # fmt: skip
"""Down to 0 degC: over the 20 degC that the tables leave out, none of these acids loses half of its solubility."""
TRACE_PERCENT = declared(
    "trace-of-acid", "advised", "Less of an acid is left as it is when a solution is too strong.", 0.1, "%", "estimate"
)
STRONGEST_PERCENT_WW = declared(
    "acid-of-a-liquid", "refused", "Up to here the volume of a liquid's own acid is known, by weight.", 30.0, "%",
    "published", "densities of citric acid, 1 to 30 % w/w, CRC Handbook",
)  # fmt: skip
"""See `service.science.mixture.composition.ACID_ML_PER_G`."""
MOST_TIMES = declared(
    "most-addition", "refused", "Grams added to a gram of liquid: beyond, the liquid is the addition.", 100.0, "count"
)
LEAST_LEFT = declared(
    "acidity-left",
    "refused",
    "Share of its acidity that a liquid keeps, whatever bicarbonate is added.",
    1.0 / 3.0,
    "share",
    "estimate",
)
"""Two thirds neutralised, citric acid passes pH 5 by the charge balance, where bicarbonate no longer leaves as CO2
alone, and where a drink no longer keeps by its acid."""
ACIDITY_AGREES = declared(
    "acidity-agrees", "warned", "How far a measured acidity may be from that of the spec, share.", 0.05, "share"
)
END_POINT_REACH = declared(
    "end-point", "judged", "How far the model's pH and a meter may be off at the end of a titration.", 0.05, "pH",
    "estimate",
)  # fmt: skip
