"""Thermodynamic dissociation constants of the acids and of CO2, against temperature and ethanol."""

from collections.abc import Callable, Mapping
from math import log, log10
from types import MappingProxyType

from service.science.acids.curve import value_at
from service.science.constants import GAS_CONSTANT_L_BAR, ZERO_CELSIUS_K

_R_J = 100.0 * GAS_CONSTANT_L_BAR  # 1 L bar is 100 J
_T25_K = 25.0 + ZERO_CELSIUS_K
_LN10 = log(10.0)

ETHANOL_PKA_PER_ABV = 0.0092
"""Rise of every pKa per % vol of ethanol: lactic acid 3.66 -> 3.77 from 0 to 12 % vol at I = 0.1 mol/L;
Prenesti et al. 2012, The Scientific World Journal 249041, Table 4 (measured to 12 %, carried on above)."""


def _van_t_hoff(*steps: tuple[float, float]) -> Callable[[float], tuple[float, ...]]:
    """pK(T) = pK(25) + dH / (R ln 10) (1/T - 1/298.15); steps: pK at 25 degC and dH of dissociation [kJ/mol]."""

    def pka(kelvin: float) -> tuple[float, ...]:
        span = 1000.0 / (_R_J * _LN10) * (1.0 / kelvin - 1.0 / _T25_K)
        return tuple(pk + enthalpy * span for pk, enthalpy in steps)

    return pka


def _citric(kelvin: float) -> tuple[float, ...]:
    """Bates & Pinching 1949, J. Am. Chem. Soc. 71:1274; the abstract prints the 1/T terms of K2 and K3 with a plus."""
    logs = log(kelvin)
    ln_k1 = -646.52280 + 14264.1855 / kelvin + 115.34510 * logs - 0.2204 * kelvin
    ln_k2 = -52.19970 - 1842.97387 / kelvin + 11.19421 * logs - 0.05487 * kelvin
    ln_k3 = -129.89305 - 394.04129 / kelvin + 25.36088 * logs - 0.09394 * kelvin
    return -ln_k1 / _LN10, -ln_k2 / _LN10, -ln_k3 / _LN10


_MALIC_PK1 = (3.538, 3.520, 3.494, 3.482, 3.473, 3.459, 3.452, 3.447, 3.444, 3.446, 3.445)
_MALIC_PK2 = (5.119, 5.109, 5.099, 5.096, 5.096, 5.097, 5.099, 5.105, 5.118, 5.133, 5.149)
_MALIC_1, _MALIC_2 = (tuple((5.0 * i, pk) for i, pk in enumerate(pks)) for pks in (_MALIC_PK1, _MALIC_PK2))


def _malic(kelvin: float) -> tuple[float, ...]:
    """Eden & Bates 1959 from 0 to 50 degC, in the IUPAC dissociation constants data set (Serjeant & Dempsey 1979)."""
    return value_at(_MALIC_1, kelvin - ZERO_CELSIUS_K), value_at(_MALIC_2, kelvin - ZERO_CELSIUS_K)


def _lactic(kelvin: float) -> tuple[float, ...]:
    """Martin & Tartar 1937, J. Am. Chem. Soc. 59:2672, as quoted in the ECHA dossier."""
    return (3.857 + 5e-5 * (kelvin - ZERO_CELSIUS_K - 22.5) ** 2,)


def _phosphoric(kelvin: float) -> tuple[float, ...]:
    """Bates 1951 (pK1) and Bates & Acree 1943 (pK2), from memory; pK3 NIST 46 with a recalled 15 kJ/mol."""
    pk1 = 799.31 / kelvin - 4.5535 + 0.013486 * kelvin
    pk2 = 1979.5 / kelvin - 5.3566 + 0.01984 * kelvin
    return pk1, pk2, _PHOSPHORIC_3(kelvin)[0]


def _co2(kelvin: float) -> tuple[float, ...]:
    """Plummer & Busenberg 1982, as in the PHREEQC database: CO3 + 2 H = CO2 + H2O and CO3 + H = HCO3."""
    t, log_t = kelvin, log10(kelvin)
    both = 464.1965 + 0.09344813 * t - 26986.16 / t - 165.75951 * log_t + 2248628.9 / t**2
    second = 107.8871 + 0.03252849 * t - 5151.79 / t - 38.92561 * log_t + 563713.9 / t**2
    return both - second, second


_PHOSPHORIC_3 = _van_t_hoff((12.375, 15.0))

_PKA: Mapping[str, Callable[[float], tuple[float, ...]]] = MappingProxyType(
    {
        "citric": _citric,
        "malic": _malic,
        "lactic": _lactic,
        "phosphoric": _phosphoric,
        "co2": _co2,
        "tartaric": _van_t_hoff((3.036, 2.93), (4.366, 0.753)),  # NIST 46, as in minteq.v4
        "acetic": _van_t_hoff((4.757, -0.41)),  # NIST 46, as in minteq.v4
        "succinic": _van_t_hoff((4.206, 3.2), (5.639, -0.5)),  # IUPAC data set (I = 0.035); dH from memory
        "ascorbic": _van_t_hoff((4.04, 0.0), (11.7, 0.0)),  # CRC Handbook, from memory; temperature not modelled
    }
)

PKA_SOURCES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "citric": ("Bates & Pinching 1949, J. Am. Chem. Soc. 71:1274", "published"),
        "malic": ("Eden & Bates 1959, in the IUPAC data set (Serjeant & Dempsey 1979)", "published"),
        "lactic": ("Martin & Tartar 1937, J. Am. Chem. Soc. 59:2672", "published"),
        "phosphoric": ("Bates 1951, Bates & Acree 1943, NIST 46 (from memory)", "unverified"),
        "tartaric": ("NIST 46, as in minteq.v4 of PHREEQC", "library"),
        "acetic": ("NIST 46, as in minteq.v4 of PHREEQC", "library"),
        "succinic": ("IUPAC data set (Serjeant & Dempsey 1979), enthalpies from memory", "published"),
        "ascorbic": ("CRC Handbook (from memory), the same at every temperature", "unverified"),
    }
)
"""Where the constants of each acid come from, and how well that is known."""


def pka(acid: str, *, temperature_c: float, abv: float = 0.0) -> tuple[float, ...]:
    """Thermodynamic pKa of each step of an acid.

    acid: a key of ACIDS, or "co2"
    temperature_c: [degC], 0 to 50 (`solvent` enforces it)
    abv: [% vol], 0 to 40; adds 0.0092 per % vol
    returns: first step first, on the molal scale
    source: at each equation
    """
    shift = ETHANOL_PKA_PER_ABV * abv
    return tuple(step + shift for step in _PKA[acid](temperature_c + ZERO_CELSIUS_K))
