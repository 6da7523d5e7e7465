"""The gas over the keg: the dial that holds a level, the level that a dial comes to, the mix that holds it."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from service.science.band import Band, combine
from service.science.gas import (
    Liquid,
    co2_share_for,
    mixed_level_g_per_l,
    mixed_pressure_for_bar_abs,
)
from service.setting import Setting


@dataclass(frozen=True)
class Pushing:
    """A keg that is to hold a level, and the gas that pushes it.

    No air counts: what filling left in the keg goes with the first glasses, and a dial that made up for it would
    over-carbonate the rest.

    co2_share: of the gas, the rest nitrogen [-]
    """

    setting: Setting
    temperature_c: float
    target_g_per_l: float
    co2_share: float

    @cached_property
    def liquid(self) -> Liquid:
        """Return the drink in the keg as CO2 meets it."""
        return self.setting.liquid_at(self.temperature_c)

    def holding_bar_gauge(self, liquid: Liquid) -> float:
        """Return the dial at which this gas holds the target [bar gauge]; of CO2 alone it is the set-point.

        raises: OutsideValidity
        """
        return self._pressure_bar_gauge(liquid, self.co2_share)

    def level_g_per_l(self, liquid: Liquid, dial_bar_gauge: float) -> float:
        """Return the level that the keg comes to at rest under a dial of this gas [g/L].

        raises: OutsideValidity
        """
        total = dial_bar_gauge + self.setting.ambient_bar
        return mixed_level_g_per_l(liquid, pressure_bar_abs=total, co2_share=self.co2_share)

    def share_for(self, liquid: Liquid, dial_bar_gauge: float) -> float:
        """Return the share of CO2 that holds the target at a dial [-]; over 1 where CO2 alone is too little.

        raises: OutsideValidity
        """
        total = dial_bar_gauge + self.setting.ambient_bar
        return co2_share_for(liquid, co2_g_per_l=self.target_g_per_l, pressure_bar_abs=total)

    def saturation_bar_gauge(self, liquid: Liquid) -> float:
        """Return the pressure below which CO2 comes out of the drink at the temperature of the liquid [bar gauge].

        raises: OutsideValidity
        """
        return self._pressure_bar_gauge(liquid, 1.0)

    def _pressure_bar_gauge(self, liquid: Liquid, co2_share: float) -> float:
        total = mixed_pressure_for_bar_abs(liquid, co2_g_per_l=self.target_g_per_l, co2_share=co2_share)
        return total - self.setting.ambient_bar

    def band(self, of: Callable[[Liquid], float], liquid: Liquid | None = None) -> Band:
        """Return a figure with what the solubility is uncertain by."""
        here = self.liquid if liquid is None else liquid
        return combine(of(here), [(of(here.more_soluble), of(here.less_soluble))])

    def share_band(self, dial_bar: Band) -> Band:
        """Return the share of CO2 that holds the target at a dial that is known to a band, at most all of it [-]."""
        typical = self.share_for(self.liquid, dial_bar.typical)
        found = combine(
            typical,
            [
                (self.share_for(self.liquid.more_soluble, dial_bar.typical),
                 self.share_for(self.liquid.less_soluble, dial_bar.typical)),
                (self.share_for(self.liquid, dial_bar.high), self.share_for(self.liquid, dial_bar.low)),
            ],
        )  # fmt: skip
        return Band(max(0.0, found.low), found.typical, max(found.typical, min(1.0, found.high)))
