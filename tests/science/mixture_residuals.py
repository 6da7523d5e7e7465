"""How far the mixture equations are from tables they do not read."""

from math import sqrt

from service.science import mixture
from service.science.mixture import Masses
from tests.published import published


def ethanol_density(source: str) -> list[float]:
    table = published("ethanol_density.csv", "mass_percent", "temperature_c", "density_kg_m3", source=source)
    return [mixture.ethanol_water_density_kg_m3(percent / 100.0, t) - rho for percent, t, rho in table]


def sucrose_density() -> list[tuple[float, float]]:
    """Mass per cent and residual."""
    table = published("sucrose_density_crc.csv", "mass_percent", "density_kg_m3")
    return [(percent, mixture.sucrose_water_density_kg_m3(percent / 100.0) - rho) for percent, rho in table]


def salt_volume() -> list[float]:
    """Per cent of the volume."""
    table = published("sodium_chloride_volume.csv", "molality_mol_per_kg", "specific_volume_ml_per_g")
    brines = [(Masses(water_g=1000.0, salt_g=58.443 * molality), v) for molality, v in table]
    return [100.0 * (mixture.volume_ml(brine) / brine.total_g / v - 1.0) for brine, v in brines]


def freezing(name: str, part: str, **where: str) -> list[tuple[float, float]]:
    """Printed freezing point and residual, of water with one solute."""
    table = published(name, "mass_percent", "freezing_point_c", **where)
    drinks = [(Masses(**{part: percent, "water_g": 100.0 - percent}), t_f) for percent, t_f in table]
    return [(t_f, mixture.freezing_point_c(drink) - t_f) for drink, t_f in drinks]


def heat_capacity(name: str) -> list[float]:
    """Per cent of the heat capacity."""
    table = published(name, "mass_percent", "temperature_c", "heat_capacity_kj_per_kg_k")
    drinks = [(Masses(ethanol_g=percent, water_g=100.0 - percent), t, c) for percent, t, c in table]
    return [100.0 * (mixture.heat_capacity_kj_per_kg_k(drink, t) / c - 1.0) for drink, t, c in drinks]


def mixture_residuals() -> list[tuple[str, int, float, float, float, str]]:
    """Label, number of rows, mean, largest in size, root mean square and unit, a line for each outside table."""
    second = [
        ("sucrose density, CRC", sucrose_density(), "kg/m3"),
        ("freezing, ethanol, Lange", freezing("freezing_lange.csv", "ethanol_g"), "degC"),
        ("freezing, ethanol, Melinder", freezing("freezing_melinder.csv", "ethanol_g", solute="ethanol"), "degC"),
        ("freezing, salt, Melinder", freezing("freezing_melinder.csv", "salt_g", solute="sodium chloride"), "degC"),
        ("freezing, salt, Lange", freezing("freezing_lange_salt.csv", "salt_g"), "degC"),
        ("freezing, citric acid, CRC", freezing("freezing_crc.csv", "acid_g", solute="citric acid"), "degC"),
        ("freezing, fructose, CRC", freezing("freezing_crc.csv", "hexose_g", solute="fructose"), "degC"),
    ]
    sets = [
        ("ethanol density, Perry", ethanol_density("perry"), "kg/m3"),
        ("ethanol density, USP (NBS)", ethanol_density("usp"), "kg/m3"),
        ("ethanol density, CRC", ethanol_density("crc"), "kg/m3"),
        ("ethanol density, CoolProp", ethanol_density("coolprop"), "kg/m3"),
        *((label, [residual for _, residual in pairs], unit) for label, pairs, unit in second),
        ("salt water volume, CRC", salt_volume(), "%"),
        ("heat capacity, Melinder", heat_capacity("heat_capacity_melinder.csv"), "%"),
        ("heat capacity, Laliberte", heat_capacity("heat_capacity_laliberte.csv"), "%"),
    ]
    return [(label, len(found), *summary(found), unit) for label, found, unit in sets]


def summary(residuals: list[float]) -> tuple[float, float, float]:
    n = len(residuals)
    return sum(residuals) / n, max(map(abs, residuals)), sqrt(sum(r * r for r in residuals) / n)


if __name__ == "__main__":
    for label, n, mean, largest, rms, unit in mixture_residuals():
        print(f"{label:45s} n {n:3d}  mean {mean:8.4f}  max {largest:7.4f}  rms {rms:7.4f} {unit}")
