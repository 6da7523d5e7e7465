"""A charge stepped through: fill the headspace, shake connected, disconnect, rest; and the band of what comes out."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice
from math import inf, log

from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid, solubility_spread
from service.science.vessel import (
    Agitation,
    State,
    VesselSize,
    balance,
    contents,
    rest_closed,
    shake_connected,
    uptake_per_s,
)
from service.setting import Setting

MOST_CHARGES = 20
"""Beyond this many no bar goes on; common practice, no source."""
REACHED_SHARE = 0.95
"""A target is reached at this share of it, because at its set-point the drink only nears it; estimate."""


@dataclass(frozen=True)
class Plan:
    """How the vessel is charged."""

    setting: Setting
    temperature_c: float
    target_g_per_l: float
    start_g_per_l: float
    dial_bar_gauge: float
    count: int
    shake_s: float
    rest_s: float
    agitation: Agitation
    connected: bool

    @property
    def liquid(self) -> Liquid:
        return self.setting.drink.absorbs_co2(self.temperature_c)

    @property
    def pressure_bar_abs(self) -> float:
        return self.dial_bar_gauge + self.setting.ambient_bar

    @property
    def level_at_rest(self) -> Band:
        """What the drink would come to under the dial for as long as it takes [g/L]."""
        liquid, spread = self.liquid, solubility_spread(self.liquid)
        less, typical, more = (
            self.setting.level_g_per_l(liquid.scaled(k), self.dial_bar_gauge) for k in (1.0 - spread, 1.0, 1.0 + spread)
        )
        return Band(less, typical, more)

    def uptake(self, agitation: Agitation) -> Band:
        size: VesselSize = "keg" if self.setting.vessel.is_keg else "bottle"
        return uptake_per_s(agitation, size)


@dataclass(frozen=True)
class Charged:
    """The vessel after a charge, and the CO2 taken from the cylinder so far [mol]."""

    state: State
    used_mol: float


def charging(plan: Plan, liquid: Liquid, *, shaken_per_s: float, still_per_s: float) -> Iterator[Charged]:
    """The vessel after one charge, two, and so on without end; a connected keg rests on the gas."""
    state, used = plan.setting.flat(liquid, co2_g_per_l=plan.start_g_per_l), 0.0
    pressure = plan.pressure_bar_abs
    while True:
        state, gas = shake_connected(state, pressure_bar_abs=pressure, seconds=plan.shake_s, uptake_per_s=shaken_per_s)
        used += gas
        if plan.connected:
            state, gas = shake_connected(
                state, pressure_bar_abs=pressure, seconds=plan.rest_s, uptake_per_s=still_per_s
            )
            used += gas
        else:
            state = rest_closed(state, seconds=plan.rest_s, uptake_per_s=still_per_s)
        yield Charged(state, used)


@dataclass(frozen=True)
class Runs:
    """The plan run five times: as is typical, with uptake at either end, with solubility at either end."""

    typical: tuple[Charged, ...]
    uptake: tuple[tuple[Charged, ...], tuple[Charged, ...]]
    solubility: tuple[tuple[Charged, ...], tuple[Charged, ...]]

    def band(self, number: int, of: Callable[[Charged], float]) -> Band:
        """Something after so many charges; uptake and solubility are independent causes."""
        i = number - 1
        slow, fast = (of(run[i]) for run in self.uptake)
        less, more = (of(run[i]) for run in self.solubility)
        return combine(of(self.typical[i]), [(slow, fast), (less, more)])


def runs(plan: Plan) -> Runs:
    """raises: OutsideValidity"""
    liquid, shaken, still = plan.liquid, plan.uptake(plan.agitation), plan.uptake("still")
    spread = solubility_spread(liquid)

    def run(solubility: float, shaken_per_s: float, still_per_s: float) -> tuple[Charged, ...]:
        charges = charging(plan, liquid.scaled(solubility), shaken_per_s=shaken_per_s, still_per_s=still_per_s)
        return tuple(islice(charges, plan.count))

    return Runs(
        run(1.0, shaken.typical, still.typical),
        (run(1.0, shaken.low, still.low), run(1.0, shaken.high, still.high)),
        (run(1.0 - spread, shaken.typical, still.typical), run(1.0 + spread, shaken.typical, still.typical)),
    )


def level_g_per_l(charged: Charged) -> float:
    return charged.state.co2_g_per_l


def used_g(charged: Charged) -> float:
    return charged.used_mol * CO2_G_PER_MOL


def rest_gauge_bar(plan: Plan, charged: Charged) -> float:
    """What the gauge shows once the closed vessel is at rest, still cold."""
    setting = plan.setting
    rest = balance(contents(charged.state), ambient_bar=setting.ambient_bar, soft=setting.vessel.soft)
    return rest.pressure_bar_abs - setting.ambient_bar


def charges_needed(plan: Plan) -> Band:
    """Charges until the target is reached, with uptake fast, typical and slow; infinite past MOST_CHARGES.

    How well the solubility is known is no part of it: no number of charges mends that.
    """
    shaken, still, most = plan.uptake(plan.agitation), plan.uptake("still"), plan.level_at_rest.typical

    def needed(shaken_per_s: float, still_per_s: float) -> float:
        wanted = REACHED_SHARE * plan.target_g_per_l
        if plan.start_g_per_l >= wanted:
            return 0.0
        if most < wanted:
            return inf
        charges = charging(plan, plan.liquid, shaken_per_s=shaken_per_s, still_per_s=still_per_s)
        reached = (n for n, c in enumerate(islice(charges, MOST_CHARGES), start=1) if level_g_per_l(c) >= wanted)
        return float(next(reached, inf))

    return Band(needed(shaken.high, still.high), needed(shaken.typical, still.typical), needed(shaken.low, still.low))


def days_needed(plan: Plan, charged: Runs) -> Band:
    """Days that a keg stays on the gas after its charges until the target is reached; infinite where it never is.

    t = ln((ceq - c) / (ceq - wanted)) / kLa
    """
    wanted, most = REACHED_SHARE * plan.target_g_per_l, plan.level_at_rest.typical
    still = plan.uptake("still")

    def days(run: tuple[Charged, ...], still_per_s: float) -> float:
        level = level_g_per_l(run[-1])
        if level >= wanted:
            return 0.0
        return log((most - level) / (most - wanted)) / still_per_s / 86400.0 if most > wanted else inf

    slow, fast = charged.uptake
    return Band(days(fast, still.high), days(charged.typical, still.typical), days(slow, still.low))
