"""Gauge and scale of a vessel that was charged, and where the check of a timed charge stops it."""

from dataclasses import dataclass
from functools import partial
from typing import Annotated

from service import safety
from service.carbonation.runs import Charged, Over, Plan
from service.declared import MASS, PRESSURE, TEMPERATURE, Declared, shape
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid
from service.science.validity import OutsideValidity
from service.science.vessel import Contents, balance, contents, pressures_at_rest_bar, totals, warmed
from service.setting import Setting

CHECKED_AT_C = (1.0, 3.0, 5.0)
"""Temperatures at which a charged bottle is gauged, beside that of its charge [degC]; common practice."""


@dataclass(frozen=True)
class WarmRoom:
    """The pressure that the vessel comes to, closed and left in the warmest room."""

    temperature_c: Annotated[float, TEMPERATURE]
    gauge_pressure_bar: Annotated[Band, PRESSURE]


@dataclass(frozen=True)
class Gauged:
    """The gauge at rest at one temperature."""

    temperature_c: Annotated[float, TEMPERATURE]
    gauge_pressure_bar: Annotated[Band, PRESSURE]


@dataclass(frozen=True)
class StopGauge:
    """The gauge at rest over which a bottle is stopped, at one temperature."""

    temperature_c: Annotated[float, TEMPERATURE]
    gauge_pressure_bar: Annotated[float, PRESSURE]


@dataclass(frozen=True)
class Stop:
    """The stop of a timed charge: a bottle over it, by weight or by gauge, is vented cold before it leaves the ice."""

    mass_gained_g: Annotated[float, MASS]
    gauge: Declared[tuple[StopGauge, ...]]


@shape("ChargeCheck")
@dataclass(frozen=True)
class Check:
    """The check: gauge and scale of a vessel that these charges were made to.

    mass_gained: since it was capped, its air handled. stop_at: of a timed charge.
    """

    gauge: Declared[tuple[Gauged, ...]]
    mass_gained_g: Annotated[Band, MASS]
    stop_at: Declared[Stop | None]


def check_of(plan: Plan, over: Over) -> Check:
    """Return what gauge and scale show after the charges of a plan.

    raises: OutsideValidity
    """
    setting = plan.setting
    lowest_c = safety.lowest_charging_c(setting.drink)
    temperatures = sorted({t for t in (*CHECKED_AT_C, plan.temperature_c) if t >= lowest_c})
    gauge = tuple(Gauged(t, over.band(partial(_gauge_bar, setting, t))) for t in temperatures)
    stop = None
    if setting.held == "timed":
        limits = tuple(StopGauge(t, setting.closed(t).stands_to_bar_gauge) for t in temperatures)
        stop = Stop(_gained_g(plan, _most_held_mol(setting, plan.temperature_c)), limits)
    return Check(gauge, over.band(lambda charged: _gained_g(plan, totals(charged.state)[0])), stop)


def stop_g_per_l(setting: Setting, temperature_c: float) -> float:
    """Return the level at which the check stops a bottle, by gauge or by weight, whichever comes first [g/L].

    raises: OutsideValidity
    """
    liquid = setting.liquid_at(temperature_c)
    by_gauge = setting.level_g_per_l(liquid, setting.closed(temperature_c).stands_to_bar_gauge)
    held_mol = _most_held_mol(setting, temperature_c)
    held = Contents(liquid, setting.liquid_l, setting.headspace_l, held_mol, setting.air_mol(liquid))
    by_weight = balance(held, ambient_bar=setting.ambient_bar, soft=setting.vessel.soft).co2_g_per_l
    return min(by_gauge, by_weight)


def _most_held_mol(setting: Setting, temperature_c: float) -> float:
    """Return the most CO2 that the check by weight lets a bottle hold [mol]."""
    air_mol = setting.air_mol(setting.liquid_at(temperature_c))
    return safety.most_held_mol(setting.closed(temperature_c), air_mol, setting.scale_g)


def _gained_g(plan: Plan, held_mol: float) -> float:
    """Return what the scale shows more than before the first charge, cap and all [g]."""
    setting = plan.setting
    before_mol = setting.co2_left_mol(plan.liquid) + plan.start_g_per_l / CO2_G_PER_MOL * setting.liquid_l
    return CO2_G_PER_MOL * (held_mol - before_mol) - setting.swelling_g


def _gauge_bar(setting: Setting, temperature_c: float, charged: Charged) -> float:
    """Return what the gauge of the closed vessel shows at rest at a temperature [bar gauge]."""
    state = charged.state
    if state.liquid.temperature_c != temperature_c:
        state = warmed(state, temperature_c)
    rest = balance(contents(state), ambient_bar=setting.ambient_bar, soft=setting.vessel.soft)
    return rest.pressure_bar_abs - setting.ambient_bar


def warm_room_of(plan: Plan, over: Over) -> WarmRoom | None:
    """Return what the charged vessel comes to in the warmest room, closed and at rest; None beyond the gas equations.

    How much went in and how much stays dissolved when warm are independent; the drink swells, the vessel does not.
    source: mass balance, `service.science.vessel.balance`
    """
    setting, room_c = plan.setting, plan.setting.room_c
    warm = setting.liquid_at(max(room_c, plan.temperature_c))
    try:
        charged = over.band(partial(_warm_bar, setting, warm))
        ends = [over.typical(partial(_warm_bar, setting, end)) for end in (warm.more_soluble, warm.less_soluble)]
    except OutsideValidity as outside:
        if outside.quantity not in ("pressure", "fill"):
            raise
        return None
    return WarmRoom(room_c, combine(charged.typical, [(charged.low, charged.high), (ends[0], ends[1])]))


def _warm_bar(setting: Setting, warm: Liquid, charged: Charged) -> float:
    """Return the pressure of the closed vessel once its drink is warm and at rest [bar gauge]."""
    state, volume_ml_at = charged.state, setting.drink.volume_ml_at
    swollen_l = state.liquid_l * volume_ml_at(warm.temperature_c) / volume_ml_at(state.liquid.temperature_c)
    co2_mol, air_mol = totals(state)
    co2_bar, air_bar = pressures_at_rest_bar(
        warm, liquid_l=swollen_l, headspace_l=state.headspace_l + state.liquid_l - swollen_l, co2_mol=co2_mol,
        air_mol=air_mol,
    )  # fmt: skip
    return co2_bar + air_bar + warm.vapour_bar - setting.ambient_bar
