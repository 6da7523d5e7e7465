"""A batch as it is measured and made: steps of jugs and scales, differences that show, and thresholds of the law."""

from service.limits.declared import Subject

declared = Subject()

STEP_ML = declared("jug-step", "default", "Of measures by volume; a quarter of an ounce in US units.", 1.0, "volume")
STEP_G = declared("scale-step", "default", "Of the scale that a batch is weighed on.", 1.0, "mass")
VESSEL_SCALE_G = declared(
    "scale-step-for-vessels", "default", "Of the scale that a whole vessel is weighed on.", 1.0, "mass"
)
ACID_SCALE_G = declared("scale-step-for-acids", "default", "Of the scale that acids are weighed on.", 0.1, "mass")
JUG_SHARE = declared("jug", "default", "The empty jug, as a share of what the scale bears.", 0.1, "share")
"""Half a kilogram on 5 kg."""
SPIRIT_ABV = declared(
    "spirit", "judged", "Least strength of a spirit, which is weighed last.", 15.0, "%vol", "published",
    "Regulation (EU) 2019/787, article 2",
)  # fmt: skip
SMALL_SHARE = declared("small-part", "judged", "Less of the drink's mass is weighed on its own.", 0.05, "share")
COARSE_PERCENT = declared("coarse-measure", "warned", "How far a measure may be off what it stands for.", 2.0, "%")
STRENGTH_TOLERANCE = declared(
    "strength-on-label", "warned", "How far a strength may be off its label.", 0.3, "%vol", "published",
    "Regulation (EU) No 1169/2011, Annex XII",
)  # fmt: skip
DENSITY_TOLERANCE = declared(
    "stated-density", "refused", "How far a litre of stated density may be from one by its contents, share.", 0.02,
    "share", "estimate",
)  # fmt: skip
"""Pulp, fat, rounded labels."""
DENSITY_NOTED = declared(
    "density-told", "told", "From here on it is told that the two differ, share.", 0.004, "share", "estimate"
)
"""Below, `service.science.mixture.volume_ml` itself may be as far off."""
SULPHITES_MG_PER_KG = declared(
    "sulphites", "told", "From here on sulphites are declared, as total SO2.", 10.0, "mg/kg", "published",
    "Regulation (EU) No 1169/2011, Annex II point 12; 21 CFR 101.100(a)(4)",
)  # fmt: skip
MORE_THAN_ASKED = declared(
    "more-than-asked", "told", "Vessels that give over so many more serves than asked for are told of, share.", 0.1,
    "share", "estimate",
)  # fmt: skip
MOST_OF_FINISHED = declared.bound(
    "dilution", "Most water in the finished drink that may be asked for, by volume.", 95.0, "%"
)
LEAST_ABV = declared.bound("least-abv", "Weakest strength that may be asked for.", 0.1, "%vol")
SETTLE_S = declared(
    "settle", "default", "What is hazy or pulpy, cold and undisturbed, overnight.", 12 * 3600.0, "duration"
)
"""8 to 24 h are in use."""
SEEN = declared(
    "spec-differs", "told", "Less of a line or a property than this is not told to differ from the standard, share.",
    1e-3, "share",
)  # fmt: skip
"""No jug shows it, and the contraction of another line moves the glass by as much."""
