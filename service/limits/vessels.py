"""Vessels: their fills, and the gauge pressures that they may see: the usual ones, and those that nobody passes."""

from typing import Literal

from service.limits.declared import Subject

Which = Literal["charge", "closed"]

declared = Subject()

DEFAULT_FILL = declared("fill", "default", "Liquid in a bottle as a share of brimful.", 0.80, "share")
"""0.75 to 0.85 are in use."""
DEFAULT_KEG_FILL = declared("keg-fill", "default", "Liquid in a keg as a share of brimful.", 0.95, "share")
"""By its measured brimful."""
MOST_FILL = declared(
    "most-fill", "refused", "Fuller, the gas in a bottle has no cushion; share of brimful.", 0.90, "share"
)
MOST_KEG_FILL = declared(
    "most-keg-fill", "refused", "Fuller, the gas in a keg has no cushion; share of brimful.", 0.95, "share"
)
KEG_FROM_ML = declared(
    "keg-from", "judged", "From here on a metal vessel is handled, cooled and shaken as a keg.", 4000.0, "volume"
)
BRIMFUL_OFF_NOMINAL = declared(
    "brimful-off-nominal", "judged",
    "How far off its nominal size a vessel may be and still be taken for one of that preset, share of it.", 0.1,
    "share",
)  # fmt: skip
LARGEST_SMALL_BOTTLE_ML = declared(
    "largest-small-bottle", "judged", "A larger PET bottle stores so much gas that less pressure is allowed in it.",
    1500.0 * (1.0 + BRIMFUL_OFF_NOMINAL), "volume",
)  # fmt: skip
PET_BAR: dict[Which, float] = {
    "charge": declared(
        "pet-charge-limit", "vessel", "Gauge, on the regulator, of a PET bottle made for carbonated drinks.", 3.5,
        "pressure", "estimate",
    ),
    "closed": declared(
        "pet-closed-limit", "vessel", "Gauge, closed and warm, of a PET bottle made for carbonated drinks.", 6.5,
        "pressure", "estimate",
    ),
}  # fmt: skip
"""Such a bottle was made for a soft drink of 4.0 volumes with 108 g/l of sugar, which comes to 5.8 to 5.9 bar in it at
30 degC and to 7.1 to 7.3 at 38 degC, where such bottles are tested for a day (ISBT, Voluntary Standard Test Methods for
PET Bottles, 2004); 3 % of stretch makes 6.6 of that. The limit is below what the bottle's own drink puts in it. New
plastic bottles fail around 12 bar (Campden BRI, a demonstration). Both are cited from secondary pages; neither was read
in print.
"""
LARGE_PET_BAR: dict[Which, float] = {
    "charge": PET_BAR["charge"],
    "closed": declared(
        "large-pet-closed-limit", "vessel", "Gauge, closed and warm, of a larger one, which stores twice the energy.",
        6.0, "pressure", "estimate",
    ),
}  # fmt: skip
UNSTAMPED_BAR: dict[Which, float] = {
    "charge": declared(
        "unstamped-charge-limit", "vessel", "Gauge, on the regulator, of metal whose stamp is not known.", 3.0,
        "pressure", "estimate",
    ),
    "closed": declared(
        "unstamped-closed-limit", "vessel", "Gauge, closed and warm, of metal whose stamp is not known.", 3.0,
        "pressure", "estimate",
    ),
}  # fmt: skip
"""The lower of the two usual stamps of beer kegs, 3 bar (DIN 6647-1) and 7 bar (DIN 6647-2); common practice, the
standards are known by their numbers and were not read."""
MOST_PET_BAR = declared(
    "most-pet", "refused", "Gauge, closed: no rating of a one-way bottle or a plastic cap is over.", 6.9, "pressure",
    "unverified", "closures are held tight to it, GB/T 17876, from secondary pages",
)  # fmt: skip
MOST_REFILLABLE_BAR = declared(
    "most-refillable", "refused", "Gauge, closed: passed by no rating of a refillable bottle and its metal cap.", 8.0,
    "pressure", "estimate",
)  # fmt: skip
"""Of one whose metal closure and wall are rated in writing at RATED_AT_C or more."""
RATED_AT_C = declared(
    "rated-at", "refused", "A refillable bottle's rating at a colder temperature says little of a warm room.", 38.0,
    "temperature", "estimate",
)  # fmt: skip
MOST_METAL_BAR = declared(
    "most-metal", "refused", "Gauge, closed: passed by no stamp, because the gas equations end.", 9.0, "pressure",
    "published", "service.science.gas",
)  # fmt: skip
"""They end at 10 bar absolute."""
TIMED_BAR = declared(
    "timed", "refused", "Gauge: what a timed charge may come to whose check is forgotten.", 8.0, "pressure", "estimate"
)
"""Left at full equilibrium with its dial, in the warm room: under the 12 bar where new bottles fail; the one exception
to the 6.9 bar of closures."""
KEPT_AT_C = declared(
    "kept-at", "default", "Warmest place where a beer keg is kept; none is judged colder.", 12.0, "temperature"
)
