"""One vessel poured empty, event by event, and the band that the unknown rates give every number."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain

from service.regas.case import Case
from service.regas.rates import Cause, Rates, ends
from service.regas.recharge import COLD_REST_S, recharge, shake_s
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.vessel import (
    PourManner,
    State,
    gas_pressures,
    open_to_air,
    pour,
    pour_loss,
    poured_level_mol_per_l,
    pressure_bar_abs,
    rest_closed,
    shake_connected,
    stand_open,
)


@dataclass(frozen=True)
class Poured:
    """One pour of one run."""

    before: State
    """The vessel before it was opened for it."""
    level_g_per_l: float
    """In the vessel as it was poured."""
    above_still_g_per_l: float
    """What of it an open vessel cannot hold; a pour loses a share of that."""
    after: State
    taken_g: float = 0.0
    """CO2 taken from the cylinder for the re-gas just before."""

    def glass_g_per_l(self, loss_share: float) -> float:
        return self.level_g_per_l - loss_share * self.above_still_g_per_l


@dataclass(frozen=True)
class Served:
    """One pour with its bands."""

    bottle: Band
    """Level in the vessel after the pour [g/L]."""
    glass: Band
    gauge: Band


@dataclass(frozen=True)
class Runs:
    """One vessel followed several times."""

    case: Case
    by_rates: Mapping[Rates, tuple[Poured, ...]]
    pairs: tuple[tuple[Rates, Rates], ...]
    """The low and the high end of each cause."""

    @cached_property
    def typical(self) -> tuple[Poured, ...]:
        return self.by_rates[self.case.usual]

    @cached_property
    def at_the_ends(self) -> tuple[tuple[tuple[Poured, ...], tuple[Poured, ...]], ...]:
        """Looked up once: every band of every pour asks for them."""
        return tuple((self.by_rates[low], self.by_rates[high]) for low, high in self.pairs)

    def begun(self, rates: Rates, count: int) -> tuple[Poured, ...]:
        """The first pours at some rates, before any re-gas: how a bottle is shaken does not count yet."""
        return self.by_rates[replace(rates, shaking_per_s=self.case.usual.shaking_per_s)][:count]

    def served(self, manner: PourManner) -> tuple[Served, ...]:
        """Every pour with its bands."""
        return tuple(
            Served(
                bottle=self._band(k, lambda p: p.after.co2_g_per_l),
                glass=self.glass(k, manner),
                gauge=self._band(k, lambda p: _gauge_bar(self.case, p.before)),
            )
            for k in range(len(self.typical))
        )

    def glass(self, k: int, manner: PourManner) -> Band:
        """Level in the glass of pour k, counted from 0 or back from -1 [g/L]."""
        loss, here = pour_loss(manner), self.typical[k]
        ends = (here.glass_g_per_l(loss.low), here.glass_g_per_l(loss.high))
        return self._band(k, lambda p: p.glass_g_per_l(loss.typical), ends)

    def taken_g(self, k: int) -> Band:
        """CO2 from the cylinder just before pour k."""
        return self._band(k, lambda p: p.taken_g)

    def _band(self, k: int, number: Callable[[Poured], float], *more: tuple[float, float]) -> Band:
        """Each cause's own reach by root of the squares; source: `service.science.band.combine`, GUM section 5.1."""
        ends = [(number(low[k]), number(high[k])) for low, high in self.at_the_ends]
        return combine(number(self.typical[k]), (*ends, *more))


def bottle(
    case: Case, dials_bar: Mapping[int, float], rates: Rates, begun: Sequence[Poured] = ()
) -> tuple[Poured, ...]:
    """A bottle opened for every pour, closed in between, until it is empty; see `bottle_pours`."""
    return (*begun, *bottle_pours(case, dials_bar, rates, begun))


def bottle_pours(
    case: Case, dials_bar: Mapping[int, float], rates: Rates, begun: Sequence[Poured] = ()
) -> Iterator[Poured]:
    """The pours of a bottle that is opened for every one, each as soon as it is asked for.

    dials_bar: pours before which the bottle is re-gassed, with the dial [bar gauge]
    begun: its first pours, where they are known already
    raises: OutsideValidity
    """
    ambient_bar, open_s = case.setting.ambient_bar, min(case.open_for_s, case.interval_s)
    closed_s = case.pours_an_opening * (case.interval_s - open_s)
    state = begun[-1].after if begun else case.in_service(rates.solubility_ratio, rates.level_ratio)
    for k in range(len(begun), case.pours):
        taken_mol = 0.0
        if k in dials_bar:
            ready = case.regassed(case.never_over_bar_gauge(k))
            state, taken_mol = recharge(ready, state, dials_bar[k], rates, seconds=shake_s(case.usual))
            state = rest_closed(state, seconds=COLD_REST_S, uptake_per_s=rates.resting_per_s)
        elif k and k % case.pours_an_opening == 0:
            state = rest_closed(state, seconds=closed_s, uptake_per_s=rates.resting_per_s)
        before = state
        if k % case.pours_an_opening == 0 or k in dials_bar:
            state, _ = open_to_air(state, ambient_bar=ambient_bar, foam_loss=rates.foam)
        level, volume_l = state.co2_g_per_l, min(case.pour_l, state.liquid_l)  # the last may miss by a rounding error
        still = poured_level_mol_per_l(state, loss_share=1.0, ambient_bar=ambient_bar)
        state = pour(state, volume_l=volume_l, ambient_bar=ambient_bar)
        state, _ = stand_open(state, seconds=open_s, loss_per_s=rates.standing_per_s, ambient_bar=ambient_bar)
        yield Poured(before, level, level - still * CO2_G_PER_MOL, state, taken_mol * CO2_G_PER_MOL)


Between = Callable[[State, float, Rates], State]
"""What goes on in a keg for some seconds between two pours."""


def held_at(pressure_bar_abs: float) -> Between:
    """On gas, at the pressure of the regulator."""

    def held(state: State, seconds: float, rates: Rates) -> State:
        return shake_connected(
            state, pressure_bar_abs=pressure_bar_abs, seconds=seconds, uptake_per_s=rates.resting_per_s
        )[0]

    return held


def shut(state: State, seconds: float, rates: Rates) -> State:
    """Closed, and cut off from the gas."""
    return rest_closed(state, seconds=seconds, uptake_per_s=rates.resting_per_s)


def keg(case: Case, between: Between, count: int, rates: Rates) -> tuple[Poured, ...]:
    """A keg poured by its own pressure, which it does not lose to the room.

    raises: OutsideValidity
    """
    state, found = case.in_service(rates.solubility_ratio, rates.level_ratio), []
    for k in range(count):
        if k:
            state = between(state, case.interval_s, rates)
        before, level, volume_l = state, state.co2_g_per_l, min(case.pour_l, state.liquid_l)
        still = poured_level_mol_per_l(state, loss_share=1.0, ambient_bar=case.setting.ambient_bar)
        state = drawn(state, volume_l)
        found.append(Poured(before, level, level - still * CO2_G_PER_MOL, state))
    return tuple(found)


def drawn(state: State, volume_l: float) -> State:
    """The closed keg with so much drink less, and the CO2 and the air that were dissolved in it."""
    liquid, liquid_l, headspace_l, level, gas_mol, air_mol = state
    air_mol -= gas_pressures(state)[1] * liquid.air_solubility * volume_l
    return State(liquid, liquid_l - volume_l, headspace_l + volume_l, level, gas_mol, air_mol)


def _gauge_bar(case: Case, state: State) -> float:
    """Gauge pressure of the closed vessel; a soft one shrinks instead of holding a vacuum."""
    gauge_bar = pressure_bar_abs(state) - case.setting.ambient_bar
    return max(gauge_bar, 0.0) if case.setting.vessel.soft else gauge_bar


def follow(case: Case, run: Callable[[Rates], tuple[Poured, ...]], causes: Iterable[Cause]) -> Runs:
    """The vessel at typical rates, and with each cause alone at its low and at its high end."""
    pairs = ends_of(case, causes)
    return Runs(case, {rates: run(rates) for rates in (case.usual, *chain(*pairs))}, pairs)


def ends_of(case: Case, causes: Iterable[Cause]) -> tuple[tuple[Rates, Rates], ...]:
    """The low and the high end of each cause."""
    setting, level_ratio = case.setting, case.co2.map(lambda level: level / case.co2_g_per_l)
    found = ends(
        setting.vessel.kind, setting.calibration, solubility_spread=case.solubility_spread, level_ratio=level_ratio,
        causes=causes,
    )  # fmt: skip
    return tuple(found)
