"""Rates at which CO2 goes in, and losses in service. Estimates, each a band; the widest unknowns of the model."""

from collections.abc import Mapping
from itertools import pairwise
from math import exp
from types import MappingProxyType
from typing import Literal

from service.science.band import Band
from service.science.constants import CO2_G_PER_MOL, GAS_CONSTANT_L_BAR, ZERO_CELSIUS_K
from service.science.tables import rows

Agitation = Literal["shaken", "rocked", "still"]
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


def viscosity_pa_s(temperature_c: float, abv: float, sugar_g_per_l: float) -> float:
    """Return the viscosity of a drink, good to about 15 %.

    ln mu = ln mu_water + (0.0573 - 0.00105 t + 1.1e-5 t^2) 0.79 A + 2.8e-3 S
    mu_water = 2.414e-5 10^(247.8 / (T - 140))

    temperature_c: t [degC], 0 to 30; abv: A [%vol], 0 to 20; sugar_g_per_l: S [g/L], 0 to 200
    returns: mu [Pa s]
    source: water from memory; ethanol fitted to Bingham & Jackson 1918; sucrose by 1.34 mPa s of a solution of 10 % at
        20 degC, from memory
    """
    t = temperature_c
    water = 2.414e-5 * 10.0 ** (247.8 / (t + ZERO_CELSIUS_K - 140.0))
    return float(water * exp((0.0573 - 0.00105 * t + 1.1e-5 * t * t) * 0.79 * abv + 2.8e-3 * sugar_g_per_l))


def diffusivity_m2_per_s(temperature_c: float, times_as_viscous_as_water: float = 1.0) -> float:
    """Return how fast CO2 diffuses in a drink.

    D = 5.019e-6 exp(-19510 / (R T)) (mu_water / mu)^(2/3)

    temperature_c: [degC], 0 to 35
    returns: D [m2/s], in water within 1 % of what the CRC Handbook prints
    source: water: Jaehne et al. 1987, doi:10.1029/JC092iC10p10767, from memory; viscosity: Hiss & Cussler 1973,
        doi:10.1002/aic.690190404
    """
    T = temperature_c + ZERO_CELSIUS_K
    return float(
        5.019e-6 * exp(-19510.0 / (100.0 * GAS_CONSTANT_L_BAR * T)) * times_as_viscous_as_water ** (-2.0 / 3.0)
    )


def still_film_m_per_s(temperature_c: float, abv: float, sugar_g_per_l: float, co2_g_per_l: float) -> float:
    """Return the film coefficient of a drink under CO2 that nothing stirs but its own weight.

    Sh = 0.15 Ra^(1/3), so kL = 0.15 D (g drho / (mu D))^(1/3), whatever the width
    drho = c (1 - rho v / M): what saturated drink at the surface is heavier by than the flat drink below, so that it
    sinks; rho v = 34 g for the 44 g of a mole

    co2_g_per_l: c, how much more CO2 the surface holds than the drink [g/L], 0 up
    returns: kL [m/s]
    source: Lloyd & Moran 1974, doi:10.1115/1.3450224, mass transfer from horizontal surfaces at Ra 8e6 to 1.6e9,
        from memory; partial molar volume of CO2: 34 cm3/mol, Moore et al. 1982, from memory
    """
    mu = viscosity_pa_s(temperature_c, abv, sugar_g_per_l)
    D = diffusivity_m2_per_s(temperature_c, mu / viscosity_pa_s(temperature_c, 0.0, 0.0))
    heavier_kg_m3 = co2_g_per_l * (1.0 - 34.0 / CO2_G_PER_MOL)
    return float(0.15 * D * (9.81 * heavier_kg_m3 / (mu * D)) ** (1.0 / 3.0))


def _still_per_s(surface_per_m: float, slower: float, faster: float) -> Band:
    """kLa of a vessel that stands, by its surface for its volume [1/m]."""
    typical = surface_per_m * still_film_m_per_s(3.0, abv=9.0, sugar_g_per_l=70.0, co2_g_per_l=7.0)
    return Band(slower * typical, typical, faster * typical)


# Low: towards the end the drink at the surface is hardly heavier, and 95 % takes 1.7 times as long (0.58).
# High, estimates: people draw, the cooling cycles, a clean surface moves along (1.6); a bottle is handled (4).
_STILL: Mapping[VesselSize, Band] = MappingProxyType(
    {
        "keg": _still_per_s(2.1, 0.58, 1.6),  # 19 L, 0.215 m wide inside, nine tenths full
        "bottle": _still_per_s(5.0, 0.5, 4.0),  # 1 L upright, 0.08 m wide, nine tenths full
    }
)


def uptake_per_s(agitation: Agitation, size: VesselSize) -> Band:
    """Return the uptake coefficient kLa of a drink under CO2 [1/s].

    Still: `still_film_m_per_s` of a cold drink of 9 %vol and 70 g/L of sugar times the surface for its volume. Thin or
    sugary, warm or cold, a drink differs from it by less than the band is wide.

    size: a bottle of about 1 L or a keg of about 19 L
    source: still: see there; else data/kinetics.csv, estimates
    """
    return _STILL[size] if agitation == "still" else _BANDS["uptake", agitation, size]


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
