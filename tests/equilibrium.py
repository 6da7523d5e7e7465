"""An equilibrium of CO2 over water worked out apart from the service's own: gas by Span & Wagner 1996, by CoolProp.

Solubility at no pressure is Weiss 1974, which the science is held against in tests/science.
"""

from collections.abc import Callable
from dataclasses import dataclass

from CoolProp.CoolProp import PT_INPUTS, AbstractState, PropsSI

from service.science.gas import Liquid, henry_mol_per_l_bar

CO2 = AbstractState("HEOS", "CO2")
SEA_LEVEL_BAR = 1.01325  # ISO 2533
G_PER_MOL = 44.0095


def vapour_bar(t_c: float) -> float:
    return float(PropsSI("P", "T", t_c + 273.15, "Q", 0, "Water")) / 1e5


def grown(cold_c: float, warm_c: float) -> float:
    """How many times its volume water has when warm."""
    cold, warm = (PropsSI("D", "T", t + 273.15, "P", 5e5, "Water") for t in (cold_c, warm_c))
    return float(cold / warm)


def gas_mol_per_l(t_c: float, co2_bar: float) -> float:
    CO2.update(PT_INPUTS, co2_bar * 1e5, t_c + 273.15)
    return float(CO2.rhomolar()) / 1000.0


def dissolved_mol_per_l(t_c: float, co2_bar: float, *, share: float = 1.0) -> float:
    """In water under pure CO2. share: of the solubility that is left"""
    CO2.update(PT_INPUTS, co2_bar * 1e5, t_c + 273.15)
    squeezed = 1.0 - 0.0323 * (co2_bar + vapour_bar(t_c) - SEA_LEVEL_BAR) / (0.0831446 * (t_c + 273.15))  # 32.3 cm3/mol
    return float(share * henry_mol_per_l_bar(Liquid(t_c)) * CO2.fugacity_coefficient(0) * squeezed * co2_bar)


def solved(rises: Callable[[float], float], wanted: float) -> float:
    """The CO2 pressure at which something rising comes to what is wanted [bar]."""
    low, high = 1e-4, 9.9
    while high - low > 1e-8:
        half = (low + high) / 2.0
        low, high = (half, high) if rises(half) < wanted else (low, half)
    return low


@dataclass(frozen=True)
class Bottle:
    """A rigid vessel of 1 l, so full of water at the temperature that it is filled at; no air."""

    fill: float
    filled_c: float
    share: float = 1.0

    def mol(self, t_c: float, co2_bar: float) -> float:
        """All the CO2 in it at rest under so much of it."""
        liquid_l = self.fill * grown(self.filled_c, t_c)
        dissolved = dissolved_mol_per_l(t_c, co2_bar, share=self.share) * liquid_l
        return dissolved + gas_mol_per_l(t_c, co2_bar) * (1.0 - liquid_l)

    def gauge_bar(self, t_c: float, mol: float) -> float:
        """Return the gauge pressure of an amount of CO2 at rest."""
        return solved(lambda bar: self.mol(t_c, bar), mol) + vapour_bar(t_c) - SEA_LEVEL_BAR

    def on_dial_mol(self, t_c: float, dial_bar_gauge: float) -> float:
        """Return the CO2 in the vessel at rest under a dial."""
        return self.mol(t_c, dial_bar_gauge + SEA_LEVEL_BAR - vapour_bar(t_c))
