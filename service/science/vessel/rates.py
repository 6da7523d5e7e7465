"""How fast CO2 goes in and how much is lost in service. Estimates, each a band; the widest unknowns of the model."""

from collections.abc import Mapping
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


def pour_loss(manner: PourManner) -> Band:
    """Share of the CO2 above `still_level_mol_per_l` lost on the way into the glass.

    source: data/kinetics.csv, from Liger-Belair et al. 2010 (doi:10.1021/jf101239w) and Liger-Belair & Cilindre
        2021 (doi:10.1021/acsomega.1c00256) at 4 to 12 degC; warmer drinks lose more. Over ice: estimate.
    """
    return _BANDS["pour", manner, "any"]


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
