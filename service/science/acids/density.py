"""Volume and density of acids dissolved in water."""

from collections.abc import Mapping

from service.science.acids.products import ACIDS, FORMS
from service.science.acids.solvent import water_density_g_per_ml
from service.science.tables import known, rows, value_at
from service.science.validity import OutsideValidity

VOLUMES_ADD_TO_PERCENT = 20.0
"""Apparent molar volumes hold to here [% w/w]: density within 0.001 g/mL to 5 %, 0.002 at 10 %, 0.0045 at 20 %."""

_REFERENCE_C = 20.0  # temperature of the density tables, and of every stated volume
_RANGE_C = (0.0, 40.0)
_ROUNDS = 60


def _constant_ml_per_g(acid: str) -> float:
    return ACIDS[acid].apparent_molar_volume_ml_per_mol / ACIDS[acid].molar_mass_g_per_mol


def _curves() -> dict[str, tuple[tuple[float, float], ...]]:
    """Apparent volume [mL/g] against strength [% w/w], from the end of the constant value to the end of the table.

    raises: ValueError
    """
    curves = {acid: [(VOLUMES_ADD_TO_PERCENT, _constant_ml_per_g(acid))] for acid in ACIDS}
    for row in rows("acid_solution_density"):
        percent, density = float(row["percent_ww"]), float(row["density_g_per_ml"])
        water_ml = (100.0 - percent) / water_density_g_per_ml(_REFERENCE_C)
        curves[known("acid_solution_density", row["acid"], ACIDS)].append(
            (percent, (100.0 / density - water_ml) / percent)
        )
    for acid, curve in curves.items():
        if curve != sorted(curve):
            raise ValueError(f"acid_solution_density.csv: {acid} acid, not rising from {VOLUMES_ADD_TO_PERCENT:g} %")
    return {acid: tuple(curve) for acid, curve in curves.items()}


_CURVES = _curves()


def strongest_percent_ww(acid: str) -> float:
    """The strongest solution of one acid in water whose density is known here [% w/w]."""
    return _CURVES[acid][-1][0]


def _apparent_ml_per_g(acid: str, percent: float) -> float:
    curve = _CURVES[acid]
    if not percent <= curve[-1][0] + 1e-9:
        raise OutsideValidity(f"{acid} acid in water", percent, 0.0, curve[-1][0], "% w/w")
    if percent <= VOLUMES_ADD_TO_PERCENT or len(curve) == 1:
        return curve[0][1]
    return value_at(curve, percent)


def _percent_ww(acid_g: Mapping[str, float], water_g: float) -> float:
    total = sum(acid_g.values())
    percent = 100.0 * total / (total + water_g) if total + water_g > 0.0 else float("nan")
    if not (0.0 <= percent <= 100.0 and water_g >= 0.0 and all(g >= 0.0 for g in acid_g.values())):
        raise OutsideValidity("acid in water", percent, 0.0, 100.0, "% w/w")
    return percent


def _acids_ml(acid_g: Mapping[str, float], percent: float) -> float:
    """Volume the acids take up beside their water; above 20 % only one acid has a table, a blend is refused."""
    present = {acid: g for acid, g in acid_g.items() if g > 0.0}
    if len(present) > 1 and not percent <= VOLUMES_ADD_TO_PERCENT + 1e-9:
        raise OutsideValidity("acids in a blend", percent, 0.0, VOLUMES_ADD_TO_PERCENT, "% w/w")
    at = percent if len(present) == 1 else 0.0
    return sum(g * _apparent_ml_per_g(acid, at) for acid, g in present.items())


def solution_volume_ml(acid_g: Mapping[str, float], water_g: float, temperature_c: float = _REFERENCE_C) -> float:
    """Volume of pure acids dissolved in water.

    V = m_w / rho_w(t) + sum(m_i Vphi_i / M_i); above 20 % w/w Vphi of a single acid follows its density table

    acid_g: pure acid by name [g], up to 20 % w/w together, or one acid up to `strongest_percent_ww`
    water_g: all the water, with what the products bring [g], 0 or more
    temperature_c: solution [degC], 0 to 40; the apparent volumes are those of 20 degC
    returns: [mL]; at 20 degC within 0.1 % to 5 % w/w, 0.2 % to 10 %, 0.45 % to 20 %
    raises: OutsideValidity
    source: volumes and tables as named in data/acids.csv and data/acid_solution_density.csv; water ICUMSA SPS-4
    """
    low, high = _RANGE_C
    if not low <= temperature_c <= high:
        raise OutsideValidity("temperature of the solution", temperature_c, low, high, "degC")
    percent = _percent_ww(acid_g, water_g)
    return water_g / water_density_g_per_ml(temperature_c) + _acids_ml(acid_g, percent)


def solution_density_g_per_ml(
    acid_g: Mapping[str, float], water_g: float, temperature_c: float = _REFERENCE_C
) -> float:
    """Density of pure acids dissolved in water; range, error and source as `solution_volume_ml` [g/mL]."""
    return (sum(acid_g.values()) + water_g) / solution_volume_ml(acid_g, water_g, temperature_c)


def water_for_volume_g(acid_g: Mapping[str, float], volume_ml: float) -> float:
    """Water that brings pure acids to a volume at 20 degC: rho_w (V - sum(m_i Vphi_i / M_i)).

    acid_g: pure acid by name [g]; range as in `solution_volume_ml`
    volume_ml: finished solution [mL]
    returns: all the water, with what the products bring [g]
    raises: OutsideValidity, also when the acids alone fill the volume
    source: as `solution_volume_ml`
    """
    water_density = water_density_g_per_ml(_REFERENCE_C)
    water_g = water_density * (volume_ml - sum(g * _constant_ml_per_g(acid) for acid, g in acid_g.items()))
    for _ in range(_ROUNDS):  # the apparent volume changes slowly with strength: a few rounds settle it
        percent = _percent_ww(acid_g, water_g)
        before, water_g = water_g, water_density * (volume_ml - _acids_ml(acid_g, percent))
        if abs(water_g - before) <= 1e-12 * volume_ml:
            return water_g
    raise ArithmeticError("volume did not settle")


def product_apparent_ml_per_g(form: str) -> float:
    """Volume that a gram of product adds to a dilute drink: f Vphi / M + (1 - f) / rho_w.

    form: a key of FORMS
    returns: [mL/g], for finished drinks up to 20 % w/w of acid
    source: as `solution_volume_ml`
    """
    product = FORMS[form]
    water_ml = (1.0 - product.acid_fraction) / water_density_g_per_ml(_REFERENCE_C)
    return product.acid_fraction * _constant_ml_per_g(product.acid) + water_ml
