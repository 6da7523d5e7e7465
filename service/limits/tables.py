"""Limits that are rows of tables: of each preset vessel, and of each body of occupational health."""

from service.limits.declared import Subject
from service.science import tables
from service.science.exposure import EXPOSURE_LIMITS

declared = Subject()

for row in tables.rows("vessel_presets"):
    for which, told in (("charge", "Gauge, on the regulator"), ("closed", "Gauge, closed and warm")):
        declared(
            f"{row['preset']}-{which}-limit", "vessel", f"{told}; the maker's rating prevails.",
            tables.number("vessel_presets", row[f"{which}_limit_bar"]), "pressure", row["basis"],
        )  # fmt: skip

for one in EXPOSURE_LIMITS:
    declared(
        f"{one.body}-{one.limit}".lower().replace(" ", "-"), "exposure",
        f"CO2 in the air by volume: {one.limit} of {one.body}, {one.averaging}.", one.ppm, "ppm", one.basis, one.source,
    )  # fmt: skip
