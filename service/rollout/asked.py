"""What a rollout is asked with, and where the refusals of its parts point."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from service.batching import Dilution, Rounding, Size
from service.carbonation import StandardCarbonation
from service.drink import Spec
from service.prep_sheet import ChillPlan
from service.site import Shift, Site

Moves = dict[str, str | None]

MOVES: Moves = {
    "/drink": "/spec",
    "/drink/spec": "/spec",
    "/start_co2": "/spec",
    **{
        f"/{name}": f"/standard/carbonation/{name}"
        for name in ("target", "temperature", "air", "charge_count", "as_needed", "shake", "rest", "agitation",
                     "connected", "within", "held")
    },
    "/gauge_pressure": None,
    "/goal_temperature": "/standard/carbonation/temperature",
    "/environment": "/standard/chill/environment",
    "/start_temperature": "/standard/chill/start_temperature",
    "/environment_temperature": None,
    "/cooling_power_w": None,
    "/charged": None,
    "/co2": "/standard/carbonation/target",
    "/pour": None,
    "/vessel_count": None,
    "/shift": "/standard/shift",
    "/now": "/standard/made_at",
    "/made_at": "/standard/made_at",
    "/house_maximum": "/standard/house_maximum",
    "/size": "/standard/size",
    "/dilution": "/standard/dilution",
    "/rounding": "/standard/rounding",
    "/loss": None,
    "/scale": "/site/scale",
    "/prices": "/site/prices",
}  # fmt: skip
"""Pointers of a part become those of the rollout; "/site" is the venue at hand, whatever its place in the list."""


@dataclass(frozen=True)
class Standard:
    """What is the same everywhere. size: where a venue states no vessels."""

    carbonation: StandardCarbonation = field(default_factory=StandardCarbonation)
    size: Size | None = None
    shift: Shift | None = None
    dilution: Dilution | None = None
    chill: ChillPlan = field(default_factory=ChillPlan)
    rounding: Rounding | None = None
    made_at: datetime | None = None
    house_maximum_s: float | None = None

    @property
    def now(self) -> datetime | None:
        """By which the age of the vessels is judged."""
        return self.made_at or (self.shift.starts_at if self.shift else None)


@dataclass(frozen=True)
class Asked:
    """One spec, one standard, many venues."""

    spec: Spec
    sites: Sequence[Site]
    standard: Standard = field(default_factory=Standard)
