"""The vessels that a bar has, and how a request names one."""

from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Literal

from service.limits.vessels import BRIMFUL_OFF_NOMINAL, KEG_FROM_ML, LARGEST_SMALL_BOTTLE_ML

Material = Literal["pet", "steel", "glass", "aluminium"]
Condition = Literal["sound", "creased", "whitened", "bulged", "dropped", "unknown"]
RatedBy = Literal["maker", "stamp"]
Closure = Literal["plastic", "metal"]


@dataclass(frozen=True)
class Preset:
    """A common vessel. Limits are gauge pressures; the maker's rating or the stamp prevails.

    kept_cold: judged at the warmest place where it is kept, not in the warmest room
    """

    material: Material
    capacity_ml: float
    charge_limit_bar: float
    closed_limit_bar: float
    soft: bool
    kept_cold: bool = False


PRESETS: dict[str, Preset] = {
    "pet-500-ml": Preset("pet", 500.0, 3.5, 6.5, True),
    "pet-1-l": Preset("pet", 1000.0, 3.5, 6.5, True),
    "pet-1500-ml": Preset("pet", 1500.0, 3.5, 6.5, True),
    "pet-2-l": Preset("pet", 2000.0, 3.5, 6.0, True),
    "keg-9-l": Preset("steel", 9500.0, 6.0, 8.0, False),
    "keg-19-l": Preset("steel", 18927.0, 6.0, 8.0, False),
    "keg-20-l": Preset("steel", 20000.0, 3.0, 3.0, False, kept_cold=True),
    "keg-30-l": Preset("steel", 30000.0, 3.0, 3.0, False, kept_cold=True),
    "keg-50-l": Preset("steel", 50000.0, 3.0, 3.0, False, kept_cold=True),
}
"""Bottles: see `service.vessel.limits`. keg-9-l and keg-19-l are soda kegs, stamped 9 bar (130 psi) as a rule; the
others are beer kegs, stamped 3 bar (DIN 6647-1) or 7 bar (DIN 6647-2), of which the lower is taken. Common practice;
the standards are known by their numbers and were not read."""


@dataclass(frozen=True)
class VesselGiven:
    """A vessel as the request names it; None where it is silent.

    kept_at_c: the warmest place where a beer keg stands
    """

    preset: str | None = None
    material: Material | None = None
    capacity_ml: float | None = None
    charge_limit_bar: float | None = None
    closed_limit_bar: float | None = None
    soft: bool | None = None
    made_for_carbonation: bool | None = None
    cycles: int | None = None
    first_used: date | None = None
    condition: Condition | None = None
    rated_by: RatedBy | None = None
    closure: Closure | None = None
    rated_at_c: float | None = None
    refillable: bool | None = None
    kept_at_c: float | None = None


USUAL = "pet-1-l"
"""The vessel where a request names none."""


@dataclass(frozen=True)
class SizedVessel:
    """So many vessels, filled so far; fill is a share of brimful."""

    vessel: VesselGiven
    count: int
    fill: float | None = None


@dataclass(frozen=True)
class Vessel:
    """A vessel with the limits it is judged by, infinite where a request names no vessel and so asks for no judgement.

    kept_at_c: the temperature a beer keg is judged at; None for a vessel that is judged in the warmest room
    """

    name: str
    material: Material
    capacity_ml: float
    charge_limit_bar_gauge: float
    closed_limit_bar_gauge: float
    soft: bool
    kept_at_c: float | None = None

    @property
    def is_keg(self) -> bool:
        return self.material in ("steel", "aluminium") and self.capacity_ml >= KEG_FROM_ML

    @property
    def is_judged(self) -> bool:
        """Tell whether it has limits."""
        return isfinite(self.closed_limit_bar_gauge)

    @property
    def kind(self) -> Literal["bottle", "keg"]:
        return "keg" if self.is_keg else "bottle"

    def liquid_ml(self, fill: float) -> float:
        return fill * self.capacity_ml

    def headspace_ml(self, fill: float) -> float:
        return (1.0 - fill) * self.capacity_ml


def named(given: VesselGiven) -> tuple[Material | None, float | None]:
    """Material and capacity, from the preset where the request is silent; None where that is silent too."""
    if given.preset is None:
        return given.material, given.capacity_ml
    preset = PRESETS[given.preset]
    return given.material or preset.material, given.capacity_ml or preset.capacity_ml


def preset_of(given: VesselGiven) -> Preset | None:
    """The preset that vouches for this vessel; None where there is none, or it is of another material or size."""
    if given.preset is None:
        return None
    preset, (material, capacity_ml) = PRESETS[given.preset], named(given)
    off = abs((capacity_ml or 0.0) / preset.capacity_ml - 1.0)
    same = material == preset.material and off <= BRIMFUL_OFF_NOMINAL + 1e-9  # what a change of units may add
    return preset if same else None


def may_be_timed(vessel: Vessel) -> bool:
    """Tell whether a vessel may be charged by the clock: a PET bottle that is not a large one."""
    return vessel.material == "pet" and vessel.capacity_ml <= LARGEST_SMALL_BOTTLE_ML
