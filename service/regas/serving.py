"""One vessel poured empty, event by event, with the band that the unknown rates give every number."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, pairwise

from service.calibration import pour_loss_of
from service.limits.charging import COLD_REST_S
from service.regas.case import Case
from service.regas.rates import Cause, Rates, ends
from service.regas.regassing import regas_bottle, shake_s
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.vessel import (
    Pace,
    Poured,
    PourManner,
    State,
    above_still_g_per_l,
    gas_pressures,
    poured_on,
    pressure_bar_abs,
    rest_closed,
    shake_connected,
)


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
        """Pours at the low and at the high end of each cause; every band of every pour asks for them."""
        return tuple((self.by_rates[low], self.by_rates[high]) for low, high in self.pairs)

    def begun(self, rates: Rates, count: int) -> tuple[Poured, ...]:
        """Return the first pours at some rates, before any re-gas: how a bottle is shaken does not count yet."""
        return self.by_rates[replace(rates, shaking_per_s=self.case.usual.shaking_per_s)][:count]

    def served(self, manner: PourManner) -> tuple[Served, ...]:
        """Return every pour with its bands."""
        return tuple(
            Served(
                bottle=self._band(k, lambda p: p.after.co2_g_per_l),
                glass=self.glass(k, manner),
                gauge=self._band(k, lambda p: _gauge_bar(self.case, p.before)),
            )
            for k in range(len(self.typical))
        )

    def glass(self, k: int, manner: PourManner) -> Band:
        """Return the level in the glass of pour k, counted from 0 or back from -1 [g/L]."""
        here = self.typical[k]
        loss = pour_loss_of(self.case.setting.calibration, manner, self.case.holding_c)
        ends = (here.glass_g_per_l(loss.low), here.glass_g_per_l(loss.high))
        return self._band(k, lambda p: p.glass_g_per_l(loss.typical), ends)

    def taken_g(self, k: int) -> Band:
        """Return the CO2 from the cylinder just before pour k [g]."""
        return self._band(k, lambda p: p.taken_g)

    def _band(self, k: int, number: Callable[[Poured], float], *more: tuple[float, float]) -> Band:
        """Return each cause's own reach by root of the squares; source: `service.science.band.combine`, GUM 5.1."""
        ends = [(number(low[k]), number(high[k])) for low, high in self.at_the_ends]
        return combine(number(self.typical[k]), (*ends, *more))


def bottle(
    case: Case,
    dials_bar: Mapping[int, float],
    rates: Rates,
    begun: Sequence[Poured] = (),
    *,
    until: int | None = None,
) -> tuple[Poured, ...]:
    """Follow a bottle that is opened for every pour, closed in between, until it is empty.

    dials_bar: pours before which the bottle is re-gassed, with the dial [bar gauge]
    begun: its first pours, where they are known already, up to one before which it is re-gassed
    until: the pour to stop before
    raises: OutsideValidity
    """
    pace, found = _pace(case, rates), list(begun)
    legs = sorted({len(begun), *(k for k in dials_bar if k >= len(begun))})
    for first, end in pairwise((*legs, case.pours if until is None else until)):
        state = found[-1].after if found else case.in_service(rates.solubility_ratio, rates.level_ratio)
        taken_mol = 0.0
        if first in dials_bar:
            ready = case.regas_setting(case.never_over_bar_gauge(first))
            state, taken_mol = regas_bottle(ready, state, dials_bar[first], rates, seconds=shake_s(case.usual))
            state = rest_closed(state, seconds=COLD_REST_S, uptake_per_s=rates.resting_per_s)
        found += poured_on(state, pace, first=first, until=end, taken_g=taken_mol * CO2_G_PER_MOL)
    return tuple(found)


def _pace(case: Case, rates: Rates) -> Pace:
    open_s = min(case.open_for_s, case.interval_s)
    return Pace(
        pour_l=case.pour_l,
        an_opening=case.pours_an_opening,
        open_s=open_s,
        closed_s=case.pours_an_opening * (case.interval_s - open_s),
        ambient_bar=case.setting.ambient_bar,
        foam=rates.foam,
        resting_per_s=rates.resting_per_s,
        standing_per_s=rates.standing_per_s,
    )


Between = Callable[[State, float, Rates], State]
"""A step that a keg takes for some seconds between two pours."""


def held_at(pressure_bar_abs: float) -> Between:
    """Return what goes on in a keg on gas, at the pressure of the regulator."""

    def held(state: State, seconds: float, rates: Rates) -> State:
        return shake_connected(
            state, pressure_bar_abs=pressure_bar_abs, seconds=seconds, uptake_per_s=rates.resting_per_s
        )[0]

    return held


def shut(state: State, seconds: float, rates: Rates) -> State:
    """Rest a keg that is closed and cut off from the gas."""
    return rest_closed(state, seconds=seconds, uptake_per_s=rates.resting_per_s)


def keg(case: Case, between: Between, count: int, rates: Rates) -> tuple[Poured, ...]:
    """Follow a keg that is poured by its own pressure, which it does not lose to the room.

    raises: OutsideValidity
    """
    state, found = case.in_service(rates.solubility_ratio, rates.level_ratio), []
    for k in range(count):
        if k:
            state = between(state, case.interval_s, rates)
        before, above = state, above_still_g_per_l(state, ambient_bar=case.setting.ambient_bar)
        state = after_keg_pour(state, min(case.pour_l, state.liquid_l))
        found.append(Poured(before, before.co2_g_per_l, above, state))
    return tuple(found)


def after_keg_pour(state: State, volume_l: float) -> State:
    """Return the closed keg with so much drink less, and the CO2 and the air that were dissolved in it."""
    air_mol = state.air_mol - gas_pressures(state)[1] * state.liquid.air_solubility * volume_l
    return State(
        state.liquid, state.liquid_l - volume_l, state.headspace_l + volume_l, state.dissolved_co2_mol_per_l,
        state.gas_co2_mol, air_mol,
    )  # fmt: skip


def _gauge_bar(case: Case, state: State) -> float:
    """Return the gauge pressure of the closed vessel; a soft one shrinks instead of holding a vacuum."""
    gauge_bar = pressure_bar_abs(state) - case.setting.ambient_bar
    return max(gauge_bar, 0.0) if case.setting.vessel.soft else gauge_bar


def follow(case: Case, run: Callable[[Rates], tuple[Poured, ...]], causes: Iterable[Cause]) -> Runs:
    """Follow the vessel at typical rates, and with each cause alone at its low and at its high end."""
    pairs = ends_of(case, causes)
    return Runs(case, {rates: run(rates) for rates in (case.usual, *chain(*pairs))}, pairs)


def ends_of(case: Case, causes: Iterable[Cause]) -> tuple[tuple[Rates, Rates], ...]:
    """Return the low and the high end of each cause."""
    setting, level_ratio = case.setting, case.co2.map(lambda level: level / (case.co2_g_per_l or 1.0))
    found = ends(
        setting.vessel.kind, setting.calibration, solubility_spread=case.solubility_spread, level_ratio=level_ratio,
        causes=causes,
    )  # fmt: skip
    return tuple(found)
