"""Thermodynamic dissociation constants of the acids and of CO2, against temperature and ethanol."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import log, log10
from types import MappingProxyType

from service.science.acids.products import ACIDS
from service.science.constants import GAS_CONSTANT_L_BAR, ZERO_CELSIUS_K
from service.science.tables import Curve, known, rows, value_at

_R_J = 100.0 * GAS_CONSTANT_L_BAR  # 1 L bar is 100 J
_T25_K = 25.0 + ZERO_CELSIUS_K
_LN10 = log(10.0)

ETHANOL_PKA_PER_ABV = 0.0092
"""Rise of every pKa per % vol of ethanol: lactic acid 3.66 -> 3.77 from 0 to 12 % vol at I = 0.1 mol/L;
Prenesti et al. 2012, The Scientific World Journal 249041, Table 4 (measured to 12 %, carried on above)."""


_MOST_STEPS = 3  # activities are known for charges up to three
_RANGE_C = (0.0, 50.0)  # a table of points has to cover it


@dataclass(frozen=True)
class Step:
    """One step of an acid. pka: by temperature [K] at no ionic strength, on the molal scale."""

    pka: Callable[[float], float]
    source: str
    basis: str


def _van_t_hoff(kelvin: float, pk: float, enthalpy: float, *_: float) -> float:
    """pK = pK(25) + dH / (R ln 10) (1/T - 1/298.15); pk: at 25 degC; enthalpy: of dissociation [kJ/mol]."""
    span = 1000.0 / (_R_J * _LN10) * (1.0 / kelvin - 1.0 / _T25_K)
    return pk + enthalpy * span


def _pk(kelvin: float, a: float, b: float, c: float, d: float) -> float:
    """pK = a + b/T + c ln T + d T."""
    return a + b / kelvin + c * log(kelvin) + d * kelvin


def _ln_k(kelvin: float, a: float, b: float, c: float, d: float) -> float:
    """pK of ln K = a + b/T + c ln T + d T."""
    return -_pk(kelvin, a, b, c, d) / _LN10


def _parabola(kelvin: float, a: float, b: float, c: float, _: float) -> float:
    """pK = a + b (t - c)^2, t in degC."""
    return a + b * (kelvin - ZERO_CELSIUS_K - c) ** 2


_EQUATIONS: Mapping[str, Callable[[float, float, float, float, float], float]] = MappingProxyType(
    {"van-t-hoff": _van_t_hoff, "pk": _pk, "ln-k": _ln_k, "parabola": _parabola}
)


def _step(row: dict[str, str]) -> Step:
    name = known("acid_dissociation", row["equation"], (*_EQUATIONS, "table"))
    if name == "table":
        curve = _points(row["acid"], row["step"])
        return Step(lambda kelvin: value_at(curve, kelvin - ZERO_CELSIUS_K), row["source"], row["basis"])
    equation, (a, b, c, d) = _EQUATIONS[name], [float(row[term] or 0.0) for term in "abcd"]
    return Step(lambda kelvin: equation(kelvin, a, b, c, d), row["source"], row["basis"])


def _points(acid: str, step: str) -> Curve:
    """Read the pKa of a step at each temperature of its table.

    raises: ValueError where the points of a step do not cover every temperature that is asked for
    """
    these = [row for row in rows("acid_dissociation_points") if (row["acid"], row["step"]) == (acid, step)]
    curve = sorted((float(row["temperature_c"]), float(row["pka"])) for row in these)
    low, high = _RANGE_C
    if not (curve and curve[0][0] <= low and curve[-1][0] >= high):
        raise ValueError(f"acid_dissociation_points.csv: {acid} acid, step {step}, from {low:g} to {high:g} degC")
    return tuple(curve)


def _steps() -> dict[str, tuple[Step, ...]]:
    """Read the steps of each acid.

    raises: ValueError for an acid whose steps are not all there, or are too many
    """
    found: dict[str, list[Step]] = {acid: [] for acid in ACIDS}
    for row in rows("acid_dissociation"):
        steps = found[known("acid_dissociation", row["acid"], ACIDS)]
        known("acid_dissociation", row["step"], (str(len(steps) + 1),))
        steps.append(_step(row))
    for acid, steps in found.items():
        if not ACIDS[acid].protons <= len(steps) <= _MOST_STEPS:
            raise ValueError(
                f"acid_dissociation.csv: {acid} acid has {len(steps)} steps, "
                f"with {ACIDS[acid].protons} protons to titrate and at most {_MOST_STEPS}"
            )
    return {acid: tuple(steps) for acid, steps in found.items()}


DISSOCIATION: Mapping[str, tuple[Step, ...]] = MappingProxyType(_steps())
"""The steps of each acid, first step first; source: acid_dissociation.csv, line by line."""


def _co2(kelvin: float) -> tuple[float, ...]:
    """Plummer & Busenberg 1982, as in the PHREEQC database: CO3 + 2 H = CO2 + H2O and CO3 + H = HCO3."""
    t, log_t = kelvin, log10(kelvin)
    both = 464.1965 + 0.09344813 * t - 26986.16 / t - 165.75951 * log_t + 2248628.9 / t**2
    second = 107.8871 + 0.03252849 * t - 5151.79 / t - 38.92561 * log_t + 563713.9 / t**2
    return both - second, second


def pka(acid: str, *, temperature_c: float, abv: float = 0.0) -> tuple[float, ...]:
    """Thermodynamic pKa of each step of an acid.

    acid: a key of ACIDS, or "co2"
    temperature_c: [degC], 0 to 50 (`solvent` enforces it)
    abv: [% vol], 0 to 40; adds 0.0092 per % vol
    returns: first step first, on the molal scale
    source: data/acid_dissociation.csv, line by line; CO2 at its equation
    """
    shift = ETHANOL_PKA_PER_ABV * abv
    kelvin = temperature_c + ZERO_CELSIUS_K
    if acid == "co2":
        return tuple(pk + shift for pk in _co2(kelvin))
    return tuple(step.pka(kelvin) + shift for step in DISSOCIATION[acid])
