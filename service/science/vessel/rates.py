"""How fast CO2 goes in and how much is lost in service. Estimates, each a band; the widest unknowns of the model."""

from collections.abc import Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

from service.science.band import Band
from service.science.tables import rows

Agitation = Literal["still", "rocked", "shaken"]
VesselSize = Literal["bottle", "keg"]
PourManner = Literal["gentle", "straight", "over-ice"]

_BANDS: Mapping[tuple[str, str, str], Band] = MappingProxyType(
    {
        (row["quantity"], row["manner"], row["size"]): Band(
            float(row["low"]), float(row["typical"]), float(row["high"])
        )
        for row in rows("kinetics")
    }
)


def uptake_per_s(agitation: Agitation, size: VesselSize) -> Band:
    """Uptake coefficient kLa of a drink under CO2 [1/s].

    size: a bottle of about 1 L or a keg of about 19 L
    source: data/kinetics.csv, estimates
    """
    return _BANDS["uptake", agitation, size]


_POURS: Mapping[str, tuple[tuple[float, Band], ...]] = MappingProxyType(
    {
        manner: tuple(
            (float(row["temperature_c"]), Band(float(row["low"]), float(row["typical"]), float(row["high"])))
            for row in rows("pour_losses")
            if row["manner"] == manner
        )
        for manner in ("gentle", "straight", "over-ice")
    }
)


def pour_loss(manner: PourManner, temperature_c: float) -> Band:
    """Share of the CO2 above `still_level_mol_per_l` lost on the way into the glass.

    Straight between the rows of the table; that of 4 degC below it, that of 30 above.

    temperature_c: of the drink [degC]
    returns: 0 to 1; grows with the temperature, as the drink grows thinner and CO2 moves faster in it
    source: data/pour_losses.csv, from Liger-Belair et al. 2010 (doi:10.1021/jf101239w, as quoted in the press) and
        Liger-Belair & Cilindre 2021 (doi:10.1021/acsomega.1c00256); over 18 degC and over ice: estimate
    """
    nodes = _POURS[manner]
    if not temperature_c > nodes[0][0]:
        return nodes[0][1]
    for (cold_c, cold), (warm_c, warm) in pairwise(nodes):
        if temperature_c <= warm_c:
            way = (temperature_c - cold_c) / (warm_c - cold_c)
            return Band(
                cold.low + way * (warm.low - cold.low),
                cold.typical + way * (warm.typical - cold.typical),
                cold.high + way * (warm.high - cold.high),
            )
    return nodes[-1][1]


def foam_loss() -> Band:
    """Share of the CO2 above `still_level_mol_per_l` that foams out on opening a rested, cold vessel.

    source: data/kinetics.csv, estimate; a gushing bottle loses 0.1 and more
    """
    return _BANDS["foam", "opening", "any"]


def standing_loss_per_s() -> Band:
    """Rate at which an open bottle goes flat [1/s].

    source: data/kinetics.csv, estimate
    """
    return _BANDS["standing", "open", "bottle"]
