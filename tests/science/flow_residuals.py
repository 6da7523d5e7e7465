"""How far viscosity and friction are from tables and libraries that they do not read."""

from collections.abc import Iterator
from math import exp, log, pi

from CoolProp.CoolProp import PropsSI
from fluids.friction import Colebrook

from service.science import flow, mixture
from service.science.mixture import Masses
from tests.published import published
from tests.science.gas_residuals import Residual

GALLON_A_MINUTE = 3.785411784e-3 / 60.0
PSI_BAR, FOOT_M, INCH_M = 0.0689475729, 0.3048, 0.0254

# Laliberte 2009, J. Chem. Eng. Data 54:1725, as an open library of chemical engineering tabulates it (v1 to v6)
ETHANOL = (-28.7553100541088, 0.197233263179628, 32.1657867808424, 0.00716303530795519, 16.4172050849441,
           -1.89088607889184)  # fmt: skip
SUCROSE = (16.2391830818804, 1.46930910938613, 3.28485782809427, 0.0102845759149181, 33.9389495762169,
           2.28172425556793)  # fmt: skip


def sucrose() -> list[float]:
    """Per cent of the viscosity over that of water at 20 degC."""
    water = flow.viscosity_pa_s(Masses(water_g=100.0), 20.0)
    table = published("viscosity_sucrose_crc.csv", "mass_percent", "relative_viscosity")
    drinks = [(Masses(water_g=100.0 - percent, sucrose_g=percent), printed) for percent, printed in table]
    return [100.0 * (flow.viscosity_pa_s(drink, 20.0) / water / printed - 1.0) for drink, printed in drinks]


def ethanol() -> list[float]:
    """Per cent of the viscosity of ethanol and water by Melinder, as CoolProp has it."""
    found = []
    for t in (1.0, 5.0, 10.0, 15.0, 20.0, 30.0, 40.0):
        for p in (0.03, 0.05, 0.08, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35):
            melinder = PropsSI("V", "T", t + 273.15, "P", 101325, f"INCOMP::MEA[{p}]")
            found.append(100.0 * (flow.viscosity_pa_s(Masses(100.0 * p, 100.0 - 100.0 * p), t) / melinder - 1.0))
    return found


def laliberte_pa_s(ethanol: float, sucrose: float, t: float) -> float:
    """ln mu = w_w ln mu_w + sum w_i ln mu_i, mu_i = exp((v1 w^v2 + v3)/(v4 t + 1)) / (v5 w^v6 + 1), w = 1 - w_w."""
    w = ethanol + sucrose
    logs = (1.0 - w) * log((t + 246.0) / ((0.05594 * t + 5.2842) * t + 137.37))
    for share, v in ((ethanol, ETHANOL), (sucrose, SUCROSE)):
        if share:
            logs += share * ((v[0] * w ** v[1] + v[2]) / (v[3] * t + 1.0) - log(v[4] * w ** v[5] + 1.0))
    return 1e-3 * exp(logs)


def mixed() -> Iterator[tuple[Masses, float, float]]:
    """A drink of all three, its temperature, and per cent of its viscosity by the mixing rule of Laliberte."""
    shares = ((0.04, 0.04), (0.07, 0.07), (0.1, 0.1), (0.07, 0.14), (0.12, 0.08), (0.15, 0.1), (0.1, 0.25), (0.2, 0.3))
    for t in (5.0, 10.0, 15.0, 20.0, 30.0):
        for ethanol, sucrose in shares:
            drink = Masses(100.0 * ethanol, 100.0 * (1.0 - ethanol - sucrose), 100.0 * sucrose)
            other = laliberte_pa_s(ethanol, sucrose, t)
            yield drink, t, 100.0 * (flow.viscosity_pa_s(drink, t) / other - 1.0)


def colebrook() -> list[float]:
    """Per cent of the friction factor of turbulent flow."""
    reynolds = (4000.0, 5000.0, 7000.0, 1e4, 2e4, 5e4, 1e5)
    return [
        100.0 * (flow.friction_factor(re, rough) / Colebrook(Re=re, eD=rough) - 1.0)
        for re in reynolds
        for rough in (0.0, 1e-4, 3e-4, 1e-3)
    ]


def beer_line(inner_diameter_m: float, length_m: float, *, abv: float = 5.0, sugar_g_per_l: float = 40.0) -> flow.Line:
    """Clean line with cold beer in it, at 38 degF; strength and extract of a usual lager are an estimate."""
    beer = mixture.masses_of(1000.0, abv=abv, sugar_g_per_l=sugar_g_per_l)
    density = 1000.0 * mixture.density_g_per_ml(beer, 3.3)
    return flow.Line((flow.Tube(inner_diameter_m, length_m, 0.0, 1.5e-6, density, flow.viscosity_pa_s(beer, 3.3)),))


def restrictions() -> list[tuple[float, float, float]]:
    """Inner diameter [in], printed restriction, and that of beer at the same flow [psi/ft], the entry apart."""
    found = []
    for inches, printed in published("line_restrictions.csv", "inner_diameter_in", "psi_per_ft"):
        line = beer_line(inches * INCH_M, FOOT_M)
        per_ft = line.friction_per_m_bar(line.tubes[0], GALLON_A_MINUTE) * FOOT_M / PSI_BAR
        found.append((inches, printed, per_ft))
    return found


def poiseuille_bar(inner_diameter_m: float, length_m: float, flow_m3_per_s: float, pa_s: float) -> float:
    """128 mu L Q / (pi D^4)."""
    return 128.0 * pa_s * length_m * flow_m3_per_s / (pi * inner_diameter_m**4) / 1e5


def flow_residuals() -> list[Residual]:
    """A row for each outside table."""
    drinks = list(mixed())
    held = sum(abs(off) <= 100.0 * flow.viscosity_spread(drink, t) for drink, t, off in drinks)
    printed = [100.0 * (here / there - 1.0) for _, there, here in restrictions()]
    sets = [
        ("viscosity, sucrose at 20 degC, CRC", sucrose(), None),
        ("viscosity, ethanol, Melinder", ethanol(), None),
        ("viscosity, all three, Laliberte", [off for _, _, off in drinks], held / len(drinks)),
        ("friction, turbulent, Colebrook", colebrook(), None),
        ("restriction of beer line, the trade", printed, None),
    ]
    return [_row(label, offs, coverage) for label, offs, coverage in sets]


def _row(label: str, offs: list[float], coverage: float | None) -> Residual:
    rms = (sum(off * off for off in offs) / len(offs)) ** 0.5
    return Residual(label, len(offs), sum(offs) / len(offs), max(map(abs, offs)), rms, "%", "unseen", coverage)
