"""The drink in its vessel at the site, the dial that holds a CO2 level there, and the levels that the vessel stands."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import TypeVar

from service import safety
from service.drink import Drink
from service.errors import Fact, Fault, Nearest, OutsideValidity, Refusals, Refused
from service.notes import Notes
from service.safety import Judgement
from service.science.band import Band
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, Liquid, solubility_spread, standard_atmosphere_bar
from service.science.rounding import rounded_down, rounded_up
from service.science.units import Quantity
from service.science.vessel import State, at_rest, pressure_bar_abs, shake_connected
from service.site import (
    Air,
    Site,
    air_left_mol,
    air_of,
    ambient_bar,
    check_air,
    check_regulator,
    fitting_air,
    warmest_room_c,
)
from service.vessel import MOST_FILL, Vessel, VesselGiven, fill_of, vessel_of

T = TypeVar("T")


@dataclass(frozen=True)
class Setting:
    """The drink in its vessel at the site, before it is charged."""

    drink: Drink
    vessel: Vessel
    fill: float
    air: Air
    ambient_bar: float
    warm_room_c: float

    def flat(self, liquid: Liquid, *, co2_g_per_l: float = 0.0) -> State:
        """The capped vessel, with the air that is left in it and no CO2 in the headspace yet."""
        liquid_l, headspace_l = self.vessel.liquid_ml(self.fill) / 1000.0, self.vessel.headspace_ml(self.fill) / 1000.0
        air_mol = air_left_mol(
            self.air, liquid, liquid_l=liquid_l, headspace_l=headspace_l, ambient_bar=self.ambient_bar
        )
        return State(liquid, liquid_l, headspace_l, co2_g_per_l / CO2_G_PER_MOL, 0.0, air_mol)

    def set_point_bar_gauge(self, liquid: Liquid, co2_g_per_l: float) -> float:
        """Dial that holds a level once all is at rest: gauge = pc + pa + pv - Patm [bar].

        raises: OutsideValidity beyond the gas equations, 10 bar absolute
        source: mass balance, `service.science.vessel.at_rest`
        """
        flat = self.flat(liquid)
        rest = at_rest(
            liquid, liquid_l=flat.liquid_l, headspace_l=flat.headspace_l, co2_g_per_l=co2_g_per_l, air_mol=flat.air_mol
        )
        return pressure_bar_abs(rest) - self.ambient_bar

    def set_point_band(self, temperature_c: float, co2_g_per_l: float) -> Band:
        """The set-point, from the most soluble to the least."""
        liquid = self.drink.absorbs_co2(temperature_c)
        spread = solubility_spread(liquid)
        low, typical, high = (
            self.set_point_bar_gauge(liquid.scaled(k), co2_g_per_l) for k in (1.0 + spread, 1.0, 1.0 - spread)
        )
        return Band(low, typical, high)

    def level_g_per_l(self, liquid: Liquid, dial_bar_gauge: float) -> float:
        """CO2 level at rest under a dial; inverse of `set_point_bar_gauge`."""
        full, _ = shake_connected(
            self.flat(liquid), pressure_bar_abs=dial_bar_gauge + self.ambient_bar, seconds=inf, uptake_per_s=1.0
        )
        return full.co2_g_per_l

    def judge(self, dial_bar_gauge: float, temperature_c: float, *, start_co2_g_per_l: float = 0.0) -> Judgement:
        """`service.safety.judge` in this setting; whatever was done about the air counts for nothing there."""
        return safety.judge(
            self.drink,
            self.vessel,
            fill=self.fill,
            dial_bar_gauge=dial_bar_gauge,
            temperature_c=temperature_c,
            ambient_bar=self.ambient_bar,
            warm_room_c=self.warm_room_c,
            start_co2_g_per_l=start_co2_g_per_l,
        )


def setting_of(
    drink: Drink,
    *,
    vessel: VesselGiven | None,
    fill: float | None,
    air: Air | None,
    site: Site | None,
    notes: Notes,
    refusals: Refusals,
) -> Setting:
    """The setting with its gaps filled; where something is refused, what is offered instead stands in.

    refusals: gathers what is refused
    """
    sound = attempt(refusals, lambda: vessel_of(vessel, notes), lambda: vessel_of(VesselGiven("pet-1-l"), notes))
    share = attempt(refusals, lambda: fill_of(fill, notes), lambda: MOST_FILL)
    stated = attempt(refusals, lambda: air_of(air, sound, notes), lambda: air_of(Air("purged"), sound, notes))
    done = attempt(refusals, lambda: check_air(stated, sound, share), lambda: fitting_air(stated, sound, share))
    with refusals.gather():
        check_regulator(site, sound, notes)
    altitude_m = (site.altitude_m if site else None) or 0.0
    ambient = attempt(refusals, lambda: ambient_bar(site, notes), lambda: standard_atmosphere_bar(altitude_m))
    return Setting(drink, sound, share, done, ambient, warmest_room_c(site, notes))


def attempt(refusals: Refusals, make: Callable[[], T], otherwise: Callable[[], T]) -> T:
    """What make gives, or, its refusal gathered, what stands in for it."""
    made: list[T] = []
    with refusals.gather():
        made.append(make())
    return made[0] if made else otherwise()


def set_point_judged(setting: Setting, temperature_c: float, target_g_per_l: float) -> Judgement:
    """The set-point of a target, held against the vessel's limits.

    raises: OutsideValidity, but not for pressures beyond the gas equations
    """
    try:
        dial = setting.set_point_bar_gauge(setting.drink.absorbs_co2(temperature_c), target_g_per_l)
    except OutsideValidity as outside:
        if outside.quantity != "pressure":
            raise
        dial = GAS_PRESSURE_LIMIT_BAR_ABS - setting.ambient_bar  # at least; already more than any dial that passes
    return setting.judge(dial, temperature_c)


def check_target(
    setting: Setting, temperature_c: float, judgement: Judgement, notes: Notes, *, at: str = "/target"
) -> None:
    """Refuse a target whose set-point the vessel does not stand, or that a regulator cannot hold.

    judgement: of `set_point_judged`
    raises: Refused ("over-vessel-limit", "unreachable")
    """
    works = workable_target(setting, temperature_c, judgement)
    nearest = [Nearest(at, Quantity("co2", works))] if works else []
    if judgement.dial_bar_gauge < 0.0:
        least = Quantity("co2", setting.level_g_per_l(setting.drink.absorbs_co2(temperature_c), 0.0))
        text = "A regulator goes no lower than the air pressure, and under that the drink comes to {least} here."
        fault = Fault(at, "below-atmospheric", text, (("least", least),))
        raise Refused("unreachable", [fault], facts=[Fact("least", least)], nearest=nearest)
    safety.check(judgement, notes, at=at, nearest=nearest)


def workable_target(setting: Setting, temperature_c: float, judgement: Judgement) -> float:
    """The target nearest to the one judged whose set-point passes, on the safe side [g/L]; 0 where none does."""
    liquid, most = setting.drink.absorbs_co2(temperature_c), judgement.never_over_bar_gauge
    if most <= 0.0:
        return 0.0
    if judgement.dial_bar_gauge < 0.0:
        level = rounded_up(setting.level_g_per_l(liquid, 0.0), 0.1)
    else:
        level = rounded_down(setting.level_g_per_l(liquid, most), 0.1)
    return level if 0.0 <= setting.set_point_bar_gauge(liquid, level) <= most else 0.0
