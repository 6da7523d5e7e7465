"""Charge balance of weak acids in water, with the activity of every ion."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log

from service.science.acids.dissociation import pka
from service.science.acids.solvent import Solvent
from service.science.validity import OutsideValidity

_LN10 = log(10.0)
_LN_H_LOW, _LN_H_HIGH = -16.0 * _LN10, 1.0 * _LN10  # pH 16 to -1
_ROUNDS = 60
MAX_ACID_MOL_PER_KG = 3.0
"""Acids together [mol/kg water]. Checked by readings to 0.7; above, molecules of acid no longer act as at dilution."""


@dataclass(frozen=True)
class Pool:
    """All forms of one acid. mol_per_kg: per kg of water; k: thermodynamic constants, first step first."""

    mol_per_kg: float
    k: tuple[float, ...]

    def charge(self, h: float, gamma: Sequence[float]) -> tuple[float, float]:
        """Mean number of protons given off per molecule, and the mean of its square, at activity h of H+."""
        part = total = 1.0
        once = twice = 0.0
        for z, k in enumerate(self.k, start=1):
            part *= k * gamma[z - 1] / (gamma[z] * h)
            total += part
            once += z * part
            twice += z * z * part
        return once / total, twice / total

    def first_ion_share(self, h: float, gamma: Sequence[float]) -> float:
        """Share of the acid that has given off exactly one proton."""
        parts = [1.0]
        for z, k in enumerate(self.k, start=1):
            parts.append(parts[-1] * k * gamma[z - 1] / (gamma[z] * h))
        return parts[1] / sum(parts)


@dataclass(frozen=True)
class Equilibrium:
    """The state of a solution. h: activity of H+; strong_cation_mol_per_kg: what its charges ask for."""

    h: float
    gamma: tuple[float, float, float, float]
    ionic_strength: float
    strong_cation_mol_per_kg: float

    @property
    def ph(self) -> float:
        """-log10 of the activity of H+."""
        return -log(self.h) / _LN10


def pools_of(acid_mol_per_kg_water: Mapping[str, float], *, temperature_c: float, abv: float) -> tuple[Pool, ...]:
    """The acids with their constants.

    acid_mol_per_kg_water: by key of ACIDS, or "co2" [mol/kg water], 0 to 3 together
    raises: OutsideValidity
    """
    amounts = acid_mol_per_kg_water
    total = sum(amounts.values())
    if not (0.0 <= total <= MAX_ACID_MOL_PER_KG and all(c >= 0.0 for c in amounts.values())):
        raise OutsideValidity("acid", total, 0.0, MAX_ACID_MOL_PER_KG, "mol/kg water")
    return tuple(
        Pool(c, tuple(10.0**-step for step in pka(acid, temperature_c=temperature_c, abv=abv)))
        for acid, c in amounts.items()
        if c > 0.0
    )


def _ln_h(pools: Sequence[Pool], strong: float, water: Solvent, gamma: Sequence[float], start: float) -> float:
    """Find where positive and negative charges are equal: Newton on the log of their ratio, kept inside a bracket."""
    low, high, x = _LN_H_LOW, _LN_H_HIGH, start
    for _ in range(_ROUNDS):
        h = exp(x)
        proton, hydroxide = h / gamma[1], water.kw / (h * gamma[1])
        negative, slope = hydroxide + max(-strong, 0.0), hydroxide
        for pool in pools:
            once, twice = pool.charge(h, gamma)
            negative += pool.mol_per_kg * once
            slope += pool.mol_per_kg * (twice - once * once)
        positive = proton + max(strong, 0.0)
        gap = log(positive / negative)
        low, high = (low, x) if gap > 0.0 else (x, high)
        step = gap / (proton / positive + slope / negative)
        if abs(step) < 1e-10:
            return x - step
        x = x - step if low < x - step < high else 0.5 * (low + high)
    raise ArithmeticError("charge balance did not close")


def _ionic_strength(pools: Sequence[Pool], strong: float, water: Solvent, gamma: Sequence[float], h: float) -> float:
    """I = 1/2 sum(c z^2)."""
    ions = h / gamma[1] + water.kw / (h * gamma[1]) + abs(strong)
    return 0.5 * (ions + sum(pool.mol_per_kg * pool.charge(h, gamma)[1] for pool in pools))


def balanced(pools: Sequence[Pool], strong: float, water: Solvent) -> Equilibrium:
    """Find the pH at which positive and negative charges are equal.

    m(H) - m(OH) + strong - sum_i c_i sum_j j alpha_ij = 0, activity coefficients from the ionic strength it gives

    strong: strong cations less strong anions [mol/kg water], counted as single charges
    raises: OutsideValidity above an ionic strength of 0.5 mol/kg
    """
    gamma, x = water.activity(min(0.1, 0.5 * abs(strong) + 0.01)), -3.0 * _LN10
    before = -1.0
    for _ in range(_ROUNDS):
        x = _ln_h(pools, strong, water, gamma, x)
        ionic = _ionic_strength(pools, strong, water, gamma, exp(x))
        gamma = water.activity(ionic)
        if abs(ionic - before) <= 1e-7 * ionic:
            return Equilibrium(exp(x), gamma, ionic, strong)
        before = ionic
    raise ArithmeticError("ionic strength did not settle")


def held(pools: Sequence[Pool], ph: float, water: Solvent) -> Equilibrium:
    """Return the strong cations that hold a pH; the inverse of `balanced`.

    raises: OutsideValidity above an ionic strength of 0.5 mol/kg
    """
    h, gamma, before = exp(-ph * _LN10), water.activity(0.01), -1.0
    for _ in range(_ROUNDS):
        acids = sum(pool.mol_per_kg * pool.charge(h, gamma)[0] for pool in pools)
        strong = acids + water.kw / (h * gamma[1]) - h / gamma[1]
        ionic = _ionic_strength(pools, strong, water, gamma, h)
        gamma = water.activity(ionic)
        if abs(ionic - before) <= 1e-7 * ionic:
            return Equilibrium(h, gamma, ionic, strong)
        before = ionic
    raise ArithmeticError("ionic strength did not settle")
