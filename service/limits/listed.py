"""Limits that are listed by the vessel or the body they are of."""

from collections.abc import Mapping

from service.limits.declared import Subject
from service.limits.vessels import LARGE_PET_BAR, PET_BAR, SODA_KEG_BAR, UNSTAMPED_BAR, Which
from service.science.exposure import EXPOSURE_LIMITS

declared = Subject()


def _preset(name: str, bar: Mapping[Which, float]) -> tuple[float, float]:
    charge = declared(f"{name}-charge-limit", "vessel", "Gauge, on the regulator; the maker's rating prevails.",
                      bar["charge"], "pressure", "estimate")  # fmt: skip
    closed = declared(f"{name}-closed-limit", "vessel", "Gauge, closed and warm; the maker's rating prevails.",
                      bar["closed"], "pressure", "estimate")  # fmt: skip
    return charge, closed


PRESET_BAR: Mapping[str, tuple[float, float]] = {
    name: _preset(name, bar)
    for name, bar in {
        "pet-500-ml": PET_BAR,
        "pet-1-l": PET_BAR,
        "pet-1500-ml": PET_BAR,
        "pet-2-l": LARGE_PET_BAR,
        "keg-9-l": SODA_KEG_BAR,
        "keg-19-l": SODA_KEG_BAR,
        "keg-20-l": UNSTAMPED_BAR,
        "keg-30-l": UNSTAMPED_BAR,
        "keg-50-l": UNSTAMPED_BAR,
    }.items()
}
"""Preset -> its limits on the regulator and closed [bar gauge]. keg-9-l and keg-19-l are soda kegs, the others beer
kegs of which the lower of the usual stamps is taken."""

for one in EXPOSURE_LIMITS:
    declared(
        f"{one.body}-{one.limit}".lower().replace(" ", "-"), "exposure",
        f"CO2 in the air by volume: {one.limit} of {one.body}, {one.averaging}.", one.ppm, "ppm", one.basis, one.source,
    )  # fmt: skip
