"""The outcome of charges: the levels, the closed vessel, its check, and what would help."""

from dataclasses import dataclass
from functools import cached_property, partial
from math import isfinite
from typing import Annotated

from service.carbonation.advice import Advice, advised
from service.carbonation.checking import Check, WarmRoom, check_of, warm_room_of
from service.carbonation.runs import Over, Plan, Runs, level_g_per_l, rest_gauge_bar
from service.declared import CO2, DURATION, MASS, PRESSURE, TEMPERATURE, Declared, shape
from service.limits.charging import REACHED_SHARE
from service.safety import Judgement
from service.science.band import Band
from service.science.constants import CO2_G_PER_MOL
from service.science.vessel import still_level_mol_per_l


@dataclass(frozen=True)
class ChargePlan:
    """The plan of the charges. fits: the target is reached, in the time that was asked for where one was."""

    charge_count: Declared[int]
    shake_s: Annotated[float, DURATION]
    rest_s: Annotated[float, DURATION]
    fits: Declared[bool]


@dataclass(frozen=True)
class Charge:
    """The level after one charge, counted from 1, and its rest."""

    number: Declared[int]
    co2_g_per_l: Annotated[Band, CO2]


@dataclass(frozen=True)
class Worst:
    """The worst case, which limits are judged by: upper end at full equilibrium with the dial, at this temperature."""

    temperature_c: Annotated[float, TEMPERATURE]
    gauge_pressure_bar: Annotated[float, PRESSURE]


@shape("ClosedVessel")
@dataclass(frozen=True)
class ClosedAfter:
    """The closed vessel at rest after its charges, still cold; and once warm, by what these charges put in.

    A keg that stays on the gas is at rest under the dial. warm_room is absent beyond the gas equations.
    """

    gauge_pressure_bar: Annotated[Band, PRESSURE]
    warm_room: Declared[WarmRoom | None]


@shape("ChargesBody")
@dataclass(frozen=True)
class Charging:
    """The outcome of the charges, and of the closed vessel afterwards.

    Only what is asked for is worked out.

    judgement: of the dial; made: the charges of the plan; over: the vessel once they are
    level_g_per_l: CO2 in the vessel that is charged; of a keg that stays on the gas, at rest
    charges_needed: infinite at an end that no number of charges up to MOST_CHARGES reaches
    days_needed: on the gas after the charges; of a connected keg only, infinite where it never gets there
    co2_used_g: up to the same moment
    """

    planned: Plan
    judgement: Judgement
    made: Runs
    over: Over
    level_g_per_l: Band
    charges_needed: Band
    days_needed: Band | None
    co2_used_g: Annotated[Band, MASS, "From the cylinder until it is at rest, purging apart."]

    @property
    def gauge_pressure_bar(self) -> Annotated[float, PRESSURE, "The dial."]:
        return self.planned.dial_bar_gauge

    @cached_property
    def plan(self) -> Declared[ChargePlan]:
        made = self.planned
        return ChargePlan(made.count, made.shake_s, made.rest_s, self.fits)

    @cached_property
    def charges(self) -> Declared[tuple[Charge, ...]]:
        levels = (self.made.band(n, level_g_per_l) for n in range(1, self.planned.count + 1))
        return tuple(Charge(n, level) for n, level in enumerate(levels, start=1))

    @property
    def charges_to_target(
        self,
    ) -> Annotated[Band | None, "To 95 % of the target, uptake fast to slow; absent where a bound is over 20."]:
        return self.charges_needed if isfinite(self.charges_needed.high) else None

    @property
    def days_to_target(
        self,
    ) -> Annotated[Band | None, "Of a keg that stays on the gas, to 95 %; absent where it never gets there."]:
        days = self.days_needed
        return days if days is not None and isfinite(days.high) else None

    @property
    def never_over_bar_gauge(
        self,
    ) -> Annotated[float, PRESSURE, "The highest dial that passes, in reach of regulator and relief valve."]:
        return self.judgement.never_over_bar_gauge

    @property
    def worst(self) -> Declared[Worst]:
        return Worst(self.judgement.warm_room_c, self.judgement.reached_bar_gauge)

    @cached_property
    def closed(self) -> Declared[ClosedAfter]:
        rest = self.over.band(partial(rest_gauge_bar, self.planned))
        return ClosedAfter(rest, self.warm_room)

    @cached_property
    def check(self) -> Declared[Check]:
        return check_of(self.planned, self.over)

    @property
    def minutes(self) -> Annotated[float, "Of shaking and resting."]:
        return self.planned.count * (self.planned.shake_s + self.planned.rest_s) / 60.0

    @cached_property
    def advice(self) -> Declared[tuple[Advice, ...]]:
        """Return changes that help where the target is not reached, the best first."""
        return () if self.fits else advised(self.planned, self.made, self.judgement)

    @cached_property
    def warm_room(self) -> WarmRoom | None:
        """Return what these charges come to in the warmest room, closed; None beyond the gas equations."""
        return warm_room_of(self.planned, self.over)

    @property
    def fits(self) -> bool:
        """Tell whether the target is reached at typical uptake: in the time that was asked for, or by these charges."""
        plan, days = self.planned, self.days_needed
        made = self.charges[-1].co2_g_per_l.typical >= REACHED_SHARE * plan.target_g_per_l
        in_days = plan.within_s is None and days is not None and isfinite(days.typical)
        in_time = plan.within_s is None or 60.0 * self.minutes <= plan.within_s * (1.0 + 1e-9)
        return in_days or (made and in_time)

    @property
    def stays_flat(self) -> bool:
        """Tell whether the drink typically takes up no more CO2 than an open one holds."""
        still = still_level_mol_per_l(self.planned.liquid, ambient_bar=self.planned.setting.ambient_bar)
        return self.level_g_per_l.typical <= CO2_G_PER_MOL * still
