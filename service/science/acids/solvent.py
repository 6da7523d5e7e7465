"""The water that acids are dissolved in: density, permittivity, self-ionisation, activity of ions."""

from dataclasses import dataclass
from math import sqrt

from service.science.constants import ZERO_CELSIUS_K
from service.science.mixture import sucrose_water_density_kg_m3
from service.science.validity import OutsideValidity

_PH_RANGE_C = (0.0, 50.0)
_MAX_ABV = 40.0
_MAX_IONIC_STRENGTH = 0.5  # the Davies equation, mol/kg

ETHANOL_EPS_PER_ABV = 0.0062
"""Relative fall of the permittivity per % vol of ethanol; from memory, and it hardly matters."""


def water_density_g_per_ml(temperature_c: float) -> float:
    """Density of pure water [g/mL]: the sucrose formula of ICUMSA without sucrose, 0 to 100 degC."""
    return sucrose_water_density_kg_m3(0.0, temperature_c) / 1000.0


@dataclass(frozen=True)
class Solvent:
    """Water, with its ethanol, as a solvent of ions. kw: ion product [(mol/kg)^2]; a: Debye-Huckel A."""

    kw: float
    a: float

    def activity(self, ionic_strength: float) -> tuple[float, float, float, float]:
        """Activity coefficients of charges 0 to 3.

        log g = -A z^2 (sqrt I / (1 + sqrt I) - 0.3 I)

        ionic_strength: I [mol/kg], 0 to 0.5
        raises: OutsideValidity
        source: Davies 1962, Ion Association; the same form and 0.3 as PHREEQC
        """
        if not 0.0 <= ionic_strength <= _MAX_IONIC_STRENGTH:
            raise OutsideValidity("ionic strength", ionic_strength, 0.0, _MAX_IONIC_STRENGTH, "mol/kg")
        root = sqrt(ionic_strength)
        g1: float = 10.0 ** (-self.a * (root / (1.0 + root) - 0.3 * ionic_strength))
        return 1.0, g1, g1**4, g1**9


def solvent(temperature_c: float, abv: float) -> Solvent:
    """Water at a temperature, with ethanol as a lower permittivity.

    A = 1.82483e6 sqrt(rho) / (eps T)^1.5
    eps = 87.740 - 0.40008 t + 9.398e-4 t^2 - 1.410e-6 t^3
    pKw = 4470.99 / T - 6.0875 + 0.01706 T

    temperature_c: [degC], 0 to 50
    abv: [% vol], 0 to 40
    raises: OutsideValidity
    source: eps Malmberg & Maryott 1956, J. Res. NBS 56:1; pKw Harned & Owen 1958; rho ICUMSA SPS-4;
        A Truesdell & Jones 1974, J. Res. USGS 2:233 (as recalled)
    """
    low, high = _PH_RANGE_C
    if not low <= temperature_c <= high:
        raise OutsideValidity("temperature", temperature_c, low, high, "degC")
    if not 0.0 <= abv <= _MAX_ABV:
        raise OutsideValidity("alcoholic strength", abv, 0.0, _MAX_ABV, "% vol")
    t, kelvin = temperature_c, temperature_c + ZERO_CELSIUS_K
    eps = (87.740 - 0.40008 * t + 9.398e-4 * t**2 - 1.410e-6 * t**3) * (1.0 - ETHANOL_EPS_PER_ABV * abv)
    pkw = 4470.99 / kelvin - 6.0875 + 0.01706 * kelvin
    return Solvent(kw=10.0**-pkw, a=1.82483e6 * sqrt(water_density_g_per_ml(t)) / (eps * kelvin) ** 1.5)
