"""Rates that nobody knows well, one value of each for a run."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from service.calibration import Calibration, uptake_of
from service.limits.safety import GAUGE_ERROR_BAR
from service.science.band import Band
from service.science.vessel import VesselSize, foam_loss, standing_loss_per_s

Cause = Literal[
    "solubility_ratio", "level_ratio", "foam", "resting_per_s", "standing_per_s", "shaking_per_s", "misread_bar"
]

ON_GAS: tuple[Cause, ...] = ("solubility_ratio", "level_ratio", "resting_per_s")
OPENED: tuple[Cause, ...] = (*ON_GAS, "foam", "standing_per_s")
AFTER_REGAS: tuple[Cause, ...] = (*OPENED, "shaking_per_s")
READ: tuple[Cause, ...] = (*AFTER_REGAS, "misread_bar")
"""Causes that a run depends on, by what is done with the vessel; the loss of the pour itself needs no run."""


@dataclass(frozen=True)
class Rates:
    """One value of each rate, and of what else is not known well."""

    solubility_ratio: float
    """Over the model's own solubility."""
    level_ratio: float
    """Over the typical level at the start."""
    foam: float
    resting_per_s: float
    standing_per_s: float
    shaking_per_s: float
    misread_bar: float
    """Reading that the gauge should have shown beyond what it did [bar]."""


def usual(size: VesselSize, calibration: Calibration | None = None) -> Rates:
    """Return all at their typical values."""
    bands = _bands(size, calibration, 0.0, _POINT)
    return Rates(**{cause: bands[cause].typical for cause in READ})


def ends(
    size: VesselSize,
    calibration: Calibration | None,
    *,
    solubility_spread: float,
    level_ratio: Band,
    causes: Iterable[Cause],
) -> list[tuple[Rates, Rates]]:
    """Return each cause alone, at its low and at its high end; a cause that is known exactly is none."""
    bands = _bands(size, calibration, solubility_spread, level_ratio)
    typical = {cause: bands[cause].typical for cause in READ}
    return [
        (Rates(**{**typical, cause: bands[cause].low}), Rates(**{**typical, cause: bands[cause].high}))
        for cause in causes
        if bands[cause].low < bands[cause].high
    ]


_POINT = Band(1.0, 1.0, 1.0)


def _bands(
    size: VesselSize, calibration: Calibration | None, solubility_spread: float, level_ratio: Band
) -> Mapping[Cause, Band]:
    """Return what is known of each, by the bar's own constants where it has them."""
    loss = None if calibration is None else calibration.loss_per_s
    return {
        "solubility_ratio": Band(1.0 - solubility_spread, 1.0, 1.0 + solubility_spread),
        "level_ratio": level_ratio,
        "foam": foam_loss(),
        "resting_per_s": uptake_of(calibration, "still", size),
        "standing_per_s": standing_loss_per_s() if loss is None else loss.band,
        "shaking_per_s": uptake_of(calibration, "shaken", size),
        "misread_bar": Band(-GAUGE_ERROR_BAR, 0.0, GAUGE_ERROR_BAR),
    }
