"""A charge stepped through: fill the headspace, shake connected, disconnect, rest; and the band of what comes out."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import chain, islice
from math import inf, log

from service.calibration import uptake_of
from service.limits.charging import REACHED_SHARE
from service.limits.requests import MOST_CHARGES
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid
from service.science.vessel import (
    Agitation,
    State,
    VesselSize,
    balance,
    contents,
    on_regulator,
    rest_closed,
    shake_towards,
)
from service.setting import Setting


@dataclass(frozen=True)
class Plan:
    """The plan of the charges of one vessel. within_s: the time it is to fit, None where none was asked for"""

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
    within_s: float | None = None

    @cached_property
    def liquid(self) -> Liquid:
        """Return the drink as CO2 meets it at the temperature of the plan."""
        return self.setting.liquid_at(self.temperature_c)

    @cached_property
    def level_at_rest(self) -> Band:
        """Return the level that the drink would come to under the dial, however long that takes [g/L]."""
        ends = (self.liquid.less_soluble, self.liquid, self.liquid.more_soluble)
        return Band(*(self.setting.level_g_per_l(end, self.dial_bar_gauge) for end in ends))

    def uptake(self, agitation: Agitation) -> Band:
        """Return the rate of uptake in this vessel [1/s]."""
        size: VesselSize = "keg" if self.setting.vessel.is_keg else "bottle"
        return uptake_of(self.setting.calibration, agitation, size)


@dataclass(frozen=True)
class Charged:
    """The vessel after a charge, and the CO2 taken from the cylinder so far [mol]."""

    state: State
    used_mol: float


@dataclass(frozen=True)
class Run:
    """The charges of one vessel at one set of rates.

    at_rest: what it comes to on the regulator, see `service.science.vessel.on_regulator`
    """

    flat: State
    at_rest: tuple[float, float]
    shaken_per_s: float
    still_per_s: float
    charges: tuple[Charged, ...] = ()

    def further(self, plan: Plan) -> Iterator[Charged]:
        """Yield the vessel after the next charge, and each one after it without end; a connected keg rests on gas."""
        last = self.charges[-1] if self.charges else Charged(self.flat, 0.0)
        state, used = last.state, last.used_mol
        while True:
            state, gas = shake_towards(state, self.at_rest, seconds=plan.shake_s, uptake_per_s=self.shaken_per_s)
            used += gas
            if plan.connected:
                state, gas = shake_towards(state, self.at_rest, seconds=plan.rest_s, uptake_per_s=self.still_per_s)
                used += gas
            else:
                state = rest_closed(state, seconds=plan.rest_s, uptake_per_s=self.still_per_s)
            yield Charged(state, used)

    def to_the_end_of(self, plan: Plan) -> "Run":
        """Return the run gone on to the end of a plan."""
        more = islice(self.further(plan), plan.count - len(self.charges))
        return Run(self.flat, self.at_rest, self.shaken_per_s, self.still_per_s, (*self.charges, *more))


@dataclass(frozen=True)
class Runs:
    """The plan run five times: as is typical, with uptake at either end, with solubility at either end."""

    typical: Run
    slow: Run
    fast: Run
    less: Run
    more: Run

    def band(self, number: int, of: Callable[[Charged], float]) -> Band:
        """Return a figure after a number of charges; uptake and solubility are independent causes."""
        runs = (self.typical, self.slow, self.fast, self.less, self.more)
        typical, slow, fast, less, more = (of(run.charges[number - 1]) for run in runs)
        return combine(typical, [(slow, fast), (less, more)])

    def to_the_end_of(self, plan: Plan) -> "Runs":
        """Return the runs gone on to the end of a plan that differs in the number of charges alone."""
        runs = (self.typical, self.slow, self.fast, self.less, self.more)
        return Runs(*(run.to_the_end_of(plan) for run in runs))


@dataclass(frozen=True)
class Over:
    """The vessel once its charges are over. number: how many they were"""

    made: Runs
    number: int

    def band(self, of: Callable[[Charged], float]) -> Band:
        """Return a figure of the vessel, with what uptake and solubility do to it."""
        return self.made.band(self.number, of)

    def typical(self, of: Callable[[Charged], float]) -> float:
        """Return a figure of the vessel at typical uptake and solubility."""
        return of(self.made.typical.charges[self.number - 1])


def runs(plan: Plan) -> Runs:
    """Step through all the charges of a plan.

    raises: OutsideValidity
    """
    return _begun(plan).to_the_end_of(plan)


def rested(plan: Plan) -> Runs:
    """Return the vessel left on the gas until it is at rest, as one charge.

    raises: OutsideValidity
    """
    return _begun(plan).to_the_end_of(replace(plan, count=1, shake_s=inf, rest_s=0.0))


def _begun(plan: Plan) -> Runs:
    """Return the runs of a plan before their first charge."""
    shaken, still = plan.uptake(plan.agitation), plan.uptake("still")
    (flat, at_rest), less, more = map(
        partial(_start, plan), (plan.liquid, plan.liquid.less_soluble, plan.liquid.more_soluble)
    )
    return Runs(
        Run(flat, at_rest, shaken.typical, still.typical),
        Run(flat, at_rest, shaken.low, still.low),
        Run(flat, at_rest, shaken.high, still.high),
        Run(*less, shaken.typical, still.typical),
        Run(*more, shaken.typical, still.typical),
    )


def _start(plan: Plan, liquid: Liquid) -> tuple[State, tuple[float, float]]:
    """Return the vessel before its first charge, and what it comes to on the regulator."""
    flat = plan.setting.flat(liquid, co2_g_per_l=plan.start_g_per_l)
    return flat, on_regulator(
        liquid, liquid_l=flat.liquid_l, headspace_l=flat.headspace_l, air_mol=flat.air_mol,
        pressure_bar_abs=plan.dial_bar_gauge + plan.setting.ambient_bar,
    )  # fmt: skip


def level_g_per_l(charged: Charged) -> float:
    """Return the CO2 level of the drink [g/L]."""
    return charged.state.co2_g_per_l


def used_g(charged: Charged) -> float:
    """Return the CO2 taken from the cylinder [g]."""
    return charged.used_mol * CO2_G_PER_MOL


def rest_gauge_bar(plan: Plan, charged: Charged) -> float:
    """Return what the gauge shows once the closed vessel is at rest, still cold [bar gauge]."""
    setting = plan.setting
    rest = balance(contents(charged.state), ambient_bar=setting.ambient_bar, soft=setting.vessel.soft)
    return rest.pressure_bar_abs - setting.ambient_bar


def charges_needed(plan: Plan, made: Runs) -> Band:
    """Return the charges that reach the target, with uptake fast, typical and slow; infinite past MOST_CHARGES.

    The uncertainty of the solubility is left out: no number of charges mends that.

    made: the charges of the plan, to go on from
    """
    wanted, most = REACHED_SHARE * plan.target_g_per_l, plan.level_at_rest.typical

    def needed(run: Run) -> float:
        if plan.start_g_per_l >= wanted:
            return 0.0
        if most < wanted:
            return inf
        charges = enumerate(islice(chain(run.charges, run.further(plan)), MOST_CHARGES), start=1)
        return float(next((n for n, charged in charges if level_g_per_l(charged) >= wanted), inf))

    return Band(needed(made.fast), needed(made.typical), needed(made.slow))


def days_needed(plan: Plan, made: Runs) -> Band:
    """Return the days on the gas, after its charges, until a keg reaches the target; infinite where it never does.

    t = ln((ceq - c) / (ceq - wanted)) / kLa
    """
    wanted, most = REACHED_SHARE * plan.target_g_per_l, plan.level_at_rest.typical

    def days(run: Run) -> float:
        level = level_g_per_l(run.charges[-1])
        if level >= wanted:
            return 0.0
        return log((most - level) / (most - wanted)) / run.still_per_s / 86400.0 if most > wanted else inf

    return Band(days(made.fast), days(made.typical), days(made.slow))
