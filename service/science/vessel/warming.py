"""The pressure of a vessel that is charged cold, closed, and left in a warm room."""

from dataclasses import dataclass
from math import hypot, inf

from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, Liquid
from service.science.validity import OutsideValidity
from service.science.vessel.charging import on_regulator
from service.science.vessel.contents import pressures_at_rest_bar


@dataclass(slots=True)
class Warming:
    """The vessel cold and warm; the drink swells, the vessel does not. Never changed once made.

    cold_liquid_l, cold_headspace_l, warm_liquid_l, warm_headspace_l: volumes [L]
    air_mol: air in it, drink and headspace together [mol]
    start_mol_per_l: CO2 in the drink before it is charged [mol/L]
    source: mass balance, `service.science.vessel.balance`
    """

    cold: Liquid
    warm: Liquid
    cold_liquid_l: float
    cold_headspace_l: float
    warm_liquid_l: float
    warm_headspace_l: float
    air_mol: float
    start_mol_per_l: float
    ambient_bar: float

    def charged_mol(self, dial_bar_gauge: float, times_as_soluble: float = 1.0) -> float:
        """CO2 in the vessel at rest under a dial [mol].

        n = pc VH / (Z R T) + max(c, start) VL,  pc = P - pa - pv,  c = s pc

        times_as_soluble: as the model says
        raises: OutsideValidity
        """
        gas_mol, level = on_regulator(
            self.cold, liquid_l=self.cold_liquid_l, headspace_l=self.cold_headspace_l, air_mol=self.air_mol,
            pressure_bar_abs=dial_bar_gauge + self.ambient_bar,
        )  # fmt: skip
        return max(0.0, gas_mol) + max(times_as_soluble * level, self.start_mol_per_l) * self.cold_liquid_l

    def warmed_bar_gauge(self, liquid: Liquid, co2_mol: float) -> float:
        """Pressure at rest in the warm room [bar gauge].

        Beyond the gas equations it is what they come to, so that their end can be searched for; `beyond_bar` tells.

        liquid: warm, by its solubility as it is taken to be
        """
        try:
            co2_bar, air_bar = pressures_at_rest_bar(
                liquid, liquid_l=self.warm_liquid_l, headspace_l=self.warm_headspace_l, co2_mol=co2_mol,
                air_mol=self.air_mol,
            )  # fmt: skip
        except OutsideValidity as outside:
            if outside.quantity != "pressure":
                raise
            return outside.value - self.ambient_bar if outside.value > GAS_PRESSURE_LIMIT_BAR_ABS else inf
        return co2_bar + air_bar + liquid.vapour_bar - self.ambient_bar

    def reached_bar_gauge(self, dial_bar_gauge: float) -> float:
        """Pressure in the warm room as the model says [bar gauge]."""
        return self.warmed_bar_gauge(self.warm, self.charged_mol(dial_bar_gauge))

    def beyond_bar(self, gauge_bar: float) -> float:
        """Return how far a pressure is over the end of the gas equations [bar]."""
        return gauge_bar + self.ambient_bar - GAS_PRESSURE_LIMIT_BAR_ABS


@dataclass(slots=True)
class WorstCases:
    """The vessel as it is described, and with one thing wrong at a time. Never changed once made.

    fuller: filled past the line; misread: colder or warmer than the thermometer said
    warm_least_soluble: the warm drink at the lower end of its band
    gauge_error_bar: how much less than it gives the regulator may show [bar]
    """

    nominal: Warming
    fuller: Warming
    misread: Warming
    warm_least_soluble: Liquid
    gauge_error_bar: float

    def ends_bar_gauge(self, dial_bar_gauge: float) -> tuple[float, float, float, float, float, float]:
        """Pressures in the warm room: as the model says, and with each cause alone at its worse end [bar gauge].

        The causes: more goes in than the model says, less stays, the gauge reads low, filled past the line, misread
        temperature. Infinite where no regulator pressure within the gas equations gives them.
        """
        nominal = self.nominal
        if nominal.beyond_bar(dial_bar_gauge + self.gauge_error_bar) > 0.0:
            return inf, inf, inf, inf, inf, inf
        co2_mol = nominal.charged_mol(dial_bar_gauge)
        more_mol = nominal.charged_mol(dial_bar_gauge, 1.0 + nominal.cold.spread)
        typical = nominal.warmed_bar_gauge(nominal.warm, co2_mol)
        return (
            typical,
            nominal.warmed_bar_gauge(nominal.warm, more_mol),
            nominal.warmed_bar_gauge(self.warm_least_soluble, co2_mol),
            nominal.reached_bar_gauge(dial_bar_gauge + self.gauge_error_bar),
            self.fuller.reached_bar_gauge(dial_bar_gauge),
            typical + abs(self.misread.reached_bar_gauge(dial_bar_gauge) - typical),
        )

    def high_bar_gauge(self, dial_bar_gauge: float) -> tuple[float, float]:
        """Upper end of the pressure in the warm room, and the highest of the pressures it is made of [bar gauge]."""
        typical, more_in, less_stays, misdialled, fuller, misread = self.ends_bar_gauge(dial_bar_gauge)
        worst = max(typical, more_in, less_stays, misdialled, fuller, misread)
        if worst == inf:
            return inf, inf
        return typical + hypot(
            max(0.0, more_in - typical), max(0.0, less_stays - typical), max(0.0, misdialled - typical),
            max(0.0, fuller - typical), misread - typical,
        ), worst  # fmt: skip

    def over_bar(self, dial_bar_gauge: float, limit_bar_gauge: float) -> float:
        """Return how far the upper end is over a limit, or over the end of the gas equations where that is more [bar].

        Rises with the dial without a jump, also where the equations end: a search would take one for the crossing.
        """
        high, worst = self.high_bar_gauge(dial_bar_gauge)
        return max(self.nominal.beyond_bar(worst), high - limit_bar_gauge)
