"""Safety: when a vessel is retired, which drinks let germs grow, and the errors that a bar is taken to make."""

from datetime import timedelta

from service.limits.declared import Subject
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS

declared = Subject()

ONE_WAY_CYCLES = declared(
    "cycles", "refused", "Charges after which a one-way PET bottle is retired.", 10, "count", "estimate"
)
REFILLABLE_CYCLES = declared(
    "refillable-cycles", "refused", "Charges after which a refillable PET bottle is retired.", 20, "count", "estimate"
)
"""10 to 30 are in use."""
STRONG_FOR_PET_ABV = declared(
    "strong-for-pet", "judged", "Stronger, a drink ages PET faster.", 20.0, "%vol", "estimate"
)
STRONG_CYCLES = declared(
    "strong-cycles", "refused", f"Charges with over {STRONG_FOR_PET_ABV:g} %vol after which a PET bottle is retired.",
    5, "count", "estimate",
)  # fmt: skip
RETIRING_C = declared(
    "retiring-temperature", "warned", "A PET bottle that was charged and warmer is retired after that charge.", 25.0,
    "temperature", "estimate",
)  # fmt: skip
ACID_ENOUGH_PH = declared(
    "acid-enough", "warned", "At or below this a food is acid; over it, sealed, pathogens may grow.", 4.6, "pH",
    "published", "21 CFR 114.3, and Codex CXC 23-1979",
)  # fmt: skip
LOW_ACID_MEQ_PER_L = declared(
    "low-acid", "warned", f"Less acid may leave a sealed drink over pH {ACID_ENOUGH_PH:g}.", 10.0, "meq/l", "estimate"
)
"""Citric acid alone keeps a drink well under it."""
ACID_ENOUGH_MEQ_PER_L = declared(
    "acid-without-ph", "warned", "Acidity from which a drink is taken as acid without a pH.", 30.0, "meq/l", "estimate"
)
STRONG_ENOUGH_ABV = declared("keeping-strength", "warned", "From here on alcohol itself keeps a drink.", 20.0, "%vol")
"""21 CFR 114.3(d) leaves every alcoholic beverage out of the low-acid foods; a long drink is judged by its acid all the
same."""
BOTULINUM_STOPS_PERCENT_WW = declared(
    "low-alcohol", "warned", "Less alcohol by weight lets Clostridium botulinum grow.", 6.0, "%", "published",
    "Daifas et al. 2003, J. Food Prot. 66, 610, abstract",
)  # fmt: skip
"""Grams of ethanol in 100 g of the drink.

Group I (proteolytic) strains, in broth at 37 degC: delayed at 4 %, nothing in 365 days at 6 %; predicted 5.5 %. Spores
survive and grow once diluted; non-proteolytic strains, which grow from about 3 degC, were not tried.
source: Daifas et al. 2003, J. Food Prot. 66:610, doi:10.4315/0362-028X-66.4.610 (its abstract)
"""
LONGEST_USE = timedelta(
    seconds=declared(
        "age", "refused", "Time in use after which a PET bottle is retired.", 92 * 86400.0, "duration", "estimate"
    )
)
"""Three months after its first charge."""
SEAL_CYCLES = declared("seal-cycles", "warned", "Charges after which a seal is changed.", 10, "count", "estimate")
NEAR_LIMIT_SHARE = declared("near-limit", "warned", "Share of a pressure limit.", 0.95, "share")
FILL_ERROR = declared(
    "fill-error", "judged", "How far past the line a vessel is filled, share of brimful.", 0.02, "share", "estimate"
)
"""A finger's breadth."""
GAUGE_ERROR_BAR = declared(
    "gauge-error", "judged", "Of a regulator's gauge, either way.", 0.1, "pressure", "estimate",
    "class 1.6 of EN 837-1, from memory, on a scale to 6 bar",
)  # fmt: skip
THERMOMETER_ERROR_C = declared("thermometer-error", "judged", "Either way, in degrees Celsius.", 0.5, "°C", "estimate")
AIR_ERROR = declared(
    "air-error", "judged", "How far the air that is left in a vessel may be off, share of it.", 0.5, "share", "estimate"
)
declared(
    "gas-equations", "refused", "Absolute pressure to which the gas equations hold.", GAS_PRESSURE_LIMIT_BAR_ABS,
    "pressure", "published", "Weiss 1974, held against Span & Wagner 1996",
)  # fmt: skip
LEAST_FACTOR = declared("least-solubility", "refused", "Of a calibration, over the model's.", 0.8, "share", "estimate")
MOST_FACTOR = declared("most-solubility", "refused", "Of a calibration, over the model's.", 1.2, "share", "estimate")
"""Beyond these a solubility is a misreading, not a property of the drink."""
