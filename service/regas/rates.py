"""The rates that nobody knows well, one value of each for a run."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from service.science.band import Band
from service.science.vessel import VesselSize, foam_loss, standing_loss_per_s, uptake_per_s

Cause = Literal["solubility_ratio", "level_ratio", "foam", "resting_per_s", "standing_per_s", "shaking_per_s"]

ON_GAS: tuple[Cause, ...] = ("solubility_ratio", "level_ratio", "resting_per_s")
OPENED: tuple[Cause, ...] = (*ON_GAS, "foam", "standing_per_s")
REGASSED: tuple[Cause, ...] = (*OPENED, "shaking_per_s")
"""What a run depends on, by the way the vessel is served; the loss of the pour itself needs no run of its own."""


@dataclass(frozen=True)
class Rates:
    """One value of each."""

    solubility_ratio: float
    """Over the model's own solubility."""
    level_ratio: float
    """Over the typical level at the start."""
    foam: float
    resting_per_s: float
    standing_per_s: float
    shaking_per_s: float


@cache
def usual(size: VesselSize) -> Rates:
    """All at their typical values."""
    bands = _bands(size, 0.0, _POINT)
    return Rates(**{cause: bands[cause].typical for cause in REGASSED})


def ends(
    size: VesselSize, solubility_spread: float, level_ratio: Band, causes: Iterable[Cause]
) -> list[tuple[Rates, Rates]]:
    """Each cause alone at its low and at its high end; a cause that is known exactly is none."""
    typical, bands = usual(size), _bands(size, solubility_spread, level_ratio)
    return [
        (replace(typical, **{cause: bands[cause].low}), replace(typical, **{cause: bands[cause].high}))
        for cause in causes
        if bands[cause].low < bands[cause].high
    ]


_POINT = Band(1.0, 1.0, 1.0)


def _bands(size: VesselSize, solubility_spread: float, level_ratio: Band) -> dict[Cause, Band]:
    return {
        "solubility_ratio": Band(1.0 - solubility_spread, 1.0, 1.0 + solubility_spread),
        "level_ratio": level_ratio,
        "foam": foam_loss(),
        "resting_per_s": uptake_per_s("still", size),
        "standing_per_s": standing_loss_per_s(),
        "shaking_per_s": uptake_per_s("shaken", size),
    }
