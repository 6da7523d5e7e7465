"""The pressure that a closed vessel could reach, and the highest dial at which it stays within its limits.

Judged at full equilibrium with the dialled pressure, because a bar may dial more and shake less. A bar's own
calibration of solubility is judged beside the model, never in its place: it may tighten a limit and never relaxes one.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from math import inf
from typing import Literal

from service.calibration import Calibration, calibrated
from service.drink import Drink
from service.limits.safety import FILL_ERROR, GAUGE_ERROR_BAR, THERMOMETER_ERROR_C
from service.limits.vessels import TIMED_BAR
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import COLDEST_C, GAS_PRESSURE_LIMIT_BAR_ABS, Liquid
from service.science.validity import OutsideValidity
from service.science.vessel import Warming, WorstCases, air_to_start_mol, check_fill
from service.vessel import Vessel


@dataclass(frozen=True)
class Reach:
    """The highest dial that the venue's gear allows, ended by its regulator or by the relief valve that opens."""

    ends_at: Literal["regulator-max", "relief-set"]
    most_bar_gauge: float


Held = Literal["full", "timed"]

UNKNOWN_REACH = Reach("regulator-max", inf)


@dataclass(frozen=True)
class ClosedVessel:
    """A drink in its vessel as it is judged: at rest under a dial while cold, then closed and left in a warm room.

    The drink's own expansion is included. That a soft bottle stretches is left out.

    fill: liquid as a share of brimful
    start_co2_g_per_l: what the drink holds before it is charged [g/L]
    reach: of the dial, whatever the vessel bears
    air_share: of the air in a headspace that is full of it and in a drink that is saturated with it, 0 to 1
    calibration: the bar's own; read_by: the one that this case goes by, None for the model
    held: on the dial until all is at rest, or only for a time, after which every bottle is checked
    source: mass balance, `service.science.vessel.balance`
    """

    drink: Drink
    vessel: Vessel
    fill: float
    temperature_c: float
    ambient_bar: float
    warm_room_c: float
    start_co2_g_per_l: float = 0.0
    reach: Reach = UNKNOWN_REACH
    air_share: float = 0.0
    calibration: Calibration | None = None
    read_by: Calibration | None = None
    held: Held = "full"

    @property
    def limit_bar_gauge(self) -> float:
        """Return the limit that full equilibrium with the dial is held to [bar gauge].

        A charge that is stopped by the clock is checked bottle by bottle, see `service.safety.standing`; this is for
        the one whose check is forgotten.
        """
        limit = self.vessel.closed_limit_bar_gauge
        return max(limit, TIMED_BAR) if self.held == "timed" else limit

    @cached_property
    def cases(self) -> tuple["ClosedVessel", ...]:
        """Return the cases that are judged, of which the worst counts.

        Without air; and with all the air there may be, where the drink brings CO2. Both by the model, and by the bar's
        own solubility where it has one.

        A drink that was flat holds what the dial gives it. A bar that air takes of the dial is one that CO2 does not,
        and CO2 leaves the drink on warming where air hardly was in it: no air is the worst. What a drink brings stays
        in the vessel whatever the dial, and air then comes on top of it. In between, pressure falls with the air until
        the dial gives less than the drink brought, and rises from there: the ends are the highest.
        """
        read = self.calibration is not None and self.calibration.solubility is not None
        without = (self, replace(self, read_by=self.calibration)) if read else (self,)
        aired = without if self.start_co2_g_per_l > 0.0 else ()
        return (*without, *(replace(case, air_share=1.0) for case in aired))

    @cached_property
    def warm(self) -> Liquid:
        """Return the drink in the warm room, no colder than it was charged."""
        return calibrated(self.drink.absorbs_co2(max(self.warm_room_c, self.temperature_c)), self.read_by)

    @cached_property
    def never_over_bar_gauge(self) -> float:
        """Return the highest dial, in reach and within the charge limit, at which `worst_closed` stays in its limit.

        returns: [bar gauge], to 1e-9 on the safe side; 0 or less where no setting of a regulator works
        raises: OutsideValidity
        """
        return self._within(self.limit_bar_gauge, min(self.vessel.charge_limit_bar_gauge, self.reach.most_bar_gauge))

    @cached_property
    def stands_to_bar_gauge(self) -> float:
        """Return the highest gauge at rest with which the vessel, closed as it is, stays within its limit.

        returns: as `never_over_bar_gauge`
        raises: OutsideValidity
        """
        return self._within(self.vessel.closed_limit_bar_gauge, GAS_PRESSURE_LIMIT_BAR_ABS - self.ambient_bar)

    def _within(self, limit_bar_gauge: float, most_bar_gauge: float) -> float:
        """Return the highest dial, up to one, at which every case stays within a limit [bar gauge]."""
        most = min(most_bar_gauge, GAS_PRESSURE_LIMIT_BAR_ABS - self.ambient_bar)
        for case in self.cases:
            over_bar = partial(case.worst_cases.over_bar, limit_bar_gauge=limit_bar_gauge)
            most = highest(over_bar, low=-0.9 * self.ambient_bar, high=most)
        return most

    @cached_property
    def worst_cases(self) -> WorstCases:
        """Return the vessel as it is described, and with each thing that may be wrong with it."""
        error_c = -THERMOMETER_ERROR_C if self.temperature_c - THERMOMETER_ERROR_C >= COLDEST_C else THERMOMETER_ERROR_C
        return WorstCases(
            self.nominal,
            self._warming(self.fill + FILL_ERROR, self.temperature_c),
            self._warming(self.fill, self.temperature_c + error_c),  # as much warmer at the cold end of the equations
            self.warm.less_soluble,
            GAUGE_ERROR_BAR,
        )

    @cached_property
    def nominal(self) -> Warming:
        """Return the vessel as it is described, nothing wrong with it."""
        return self._warming(self.fill, self.temperature_c)

    def _warming(self, fill: float, temperature_c: float) -> Warming:
        """Return the vessel on its way from the dial to the warm room, at a fill and a temperature while cold."""
        cold = calibrated(self.drink.absorbs_co2(temperature_c), self.read_by)
        warm = self.warm if self.warm.temperature_c >= temperature_c else cold
        liquid_l, headspace_l = self.vessel.liquid_ml(fill) / 1000.0, self.vessel.headspace_ml(fill) / 1000.0
        volume_ml_at = self.drink.volume_ml_at
        swollen_l = liquid_l * (volume_ml_at(warm.temperature_c) / volume_ml_at(temperature_c))
        shrunk_l, air_mol = headspace_l + liquid_l - swollen_l, 0.0
        check_fill(swollen_l, shrunk_l)
        if self.air_share:
            air_mol = self.air_share * air_to_start_mol(
                cold, liquid_l=liquid_l, headspace_l=headspace_l, ambient_bar=self.ambient_bar
            )
        start = self.start_co2_g_per_l / CO2_G_PER_MOL
        return Warming(cold, warm, liquid_l, headspace_l, swollen_l, shrunk_l, air_mol, start, self.ambient_bar)

    def reached_bar_gauge(self, dial_bar_gauge: float) -> float:
        """Return the pressure in the warm room by the model alone [bar gauge]."""
        return self.nominal.reached_bar_gauge(dial_bar_gauge)


def worst_closed(closed: ClosedVessel, dial_bar_gauge: float) -> Band:
    """Return the pressure of the closed vessel in the warm room, in the worst of its cases.

    More gas goes in while cold than the model says, or less (the solubility is uncertain there); less stays dissolved
    when warm, or more (uncertain there too, independently). The bar fills past the line, its gauge and its
    thermometer are off: each is worked out to its worse side and taken to reach as far to the other, which it does to
    first order.

    returns: [bar gauge]; its upper end, `upper_end`, is the one to judge by
    raises: OutsideValidity beyond the gas equations, 10 bar absolute
    source: GUM section 5.1 for the band
    """
    return max((_band(case, dial_bar_gauge) for case in closed.cases), key=lambda band: band.high)


def _band(case: ClosedVessel, dial_bar_gauge: float) -> Band:
    """Return the pressure of one case in the warm room [bar gauge]."""
    nominal, (typical, more_in, less_stays, *bar) = case.nominal, case.worst_cases.ends_bar_gauge(dial_bar_gauge)
    worst = max(typical, more_in, less_stays, *bar)
    if not nominal.beyond_bar(worst) <= 0.0:
        raise OutsideValidity("pressure", worst + case.ambient_bar, 0.0, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")
    less_in = nominal.warmed_bar_gauge(nominal.warm, nominal.charged_mol(dial_bar_gauge, 1.0 - nominal.cold.spread))
    more_stays = nominal.warmed_bar_gauge(nominal.warm.more_soluble, nominal.charged_mol(dial_bar_gauge))
    return combine(
        typical, [(less_in, more_in), (more_stays, less_stays), *((2.0 * typical - worse, worse) for worse in bar)]
    )


def upper_end(closed: ClosedVessel, dial_bar_gauge: float) -> float:
    """Return the upper end of `worst_closed` [bar gauge]; infinite beyond the gas equations."""
    found = [(case, *case.worst_cases.high_bar_gauge(dial_bar_gauge)) for case in closed.cases]
    within = all(case.nominal.beyond_bar(worst) <= 0.0 for case, _, worst in found)
    return max(high for _, high, _ in found) if within else inf


def excess_bar(closed: ClosedVessel, dial_bar_gauge: float) -> float:
    """Return how far `worst_closed` is over the limit, or over the end of the gas equations if that is more [bar]."""
    return max(case.worst_cases.over_bar(dial_bar_gauge, closed.limit_bar_gauge) for case in closed.cases)


def highest(excess: Callable[[float], float], *, low: float, high: float) -> float:
    """Return the highest value between low and high at which a rising excess is not above zero; low if there is none.

    Inverse quadratic interpolation where three points bear it, halving otherwise; 1e-9 is left on the safe side.
    source: Chandrupatla 1997, doi:10.1016/s0965-9978(96)00051-8
    """
    a, b, at_b = low, high, excess(high)
    if at_b <= 0.0:
        return high
    at_a = excess(low)
    if not at_a <= 0.0:
        return low
    t = at_a / (at_a - at_b)
    while abs(b - a) > 1e-10:
        x = a + t * (b - a)
        at_x = excess(x)
        if abs(at_x) < 1e-11:
            return x - 1e-9
        if (at_x <= 0.0) == (at_a <= 0.0):
            c, at_c = a, at_a
        else:
            c, at_c, b, at_b = b, at_b, a, at_a
        a, at_a = x, at_x
        xi, phi = (a - b) / (c - b), (at_a - at_b) / (at_c - at_b)
        t = 0.5
        if phi**2 < xi and (1.0 - phi) ** 2 < 1.0 - xi:
            t = at_a / (at_b - at_a) * at_c / (at_b - at_c)
            t += (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
    return min(a, b) - 1e-9
