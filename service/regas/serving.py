"""One vessel poured empty, event by event, and the band that the unknown rates give every number."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from service.regas.case import Case
from service.regas.rates import Cause, Rates, ends, usual
from service.regas.recharge import recharge
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.vessel import (
    PourManner,
    State,
    fill_headspace,
    open_to_air,
    pour,
    pour_loss,
    pressure_bar_abs,
    rest_closed,
    shake_connected,
    stand_open,
    warmed,
)


@dataclass(frozen=True)
class Poured:
    """One pour of one run."""

    gauge_bar: float
    """Before the vessel was opened for it."""
    level_g_per_l: float
    """In the vessel as it was poured."""
    above_still_g_per_l: float
    """What of it an open vessel cannot hold; a pour loses a share of that."""
    after: State
    """The vessel, closed again."""
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
    taken: Band
    """CO2 from the cylinder just before [g]."""


@dataclass(frozen=True)
class Runs:
    """One vessel followed several times."""

    typical: tuple[Poured, ...]
    pairs: tuple[tuple[Sequence[Poured], Sequence[Poured]], ...]
    """For each cause, the run at its low and the one at its high end."""


def bottle(case: Case, dials_bar: Mapping[int, float], rates: Rates) -> tuple[Poured, ...]:
    """A bottle opened for every pour, closed in between.

    dials_bar: pours before which the bottle is re-gassed, with the dial [bar gauge]
    raises: OutsideValidity
    """
    ambient_bar, open_s = case.setting.ambient_bar, min(case.open_for_s, case.interval_s)
    closed_s = case.pours_an_opening * (case.interval_s - open_s)
    state, found = _in_service(case, rates), []
    for k in range(case.pours):
        taken_mol = 0.0
        if k in dials_bar:
            state, taken_mol = recharge(case.setting, state, dials_bar[k], rates)
        elif k and k % case.pours_an_opening == 0:
            state = rest_closed(state, seconds=closed_s, uptake_per_s=rates.resting_per_s)
        gauge_bar = _gauge_bar(case, state)
        if k % case.pours_an_opening == 0 or k in dials_bar:
            state, _ = open_to_air(state, ambient_bar=ambient_bar, foam_loss=rates.foam)
        level, volume_l = state.co2_g_per_l, min(case.pour_l, state.liquid_l)  # the last may miss by a rounding error
        state, still = pour(state, volume_l=volume_l, loss_share=1.0, ambient_bar=ambient_bar)
        state, _ = stand_open(state, seconds=open_s, loss_per_s=rates.standing_per_s, ambient_bar=ambient_bar)
        found.append(Poured(gauge_bar, level, level - still * CO2_G_PER_MOL, state, taken_mol * CO2_G_PER_MOL))
    return tuple(found)


def keg(case: Case, hold_bar_abs: float, count: int, rates: Rates) -> tuple[Poured, ...]:
    """A keg poured under the gas that it stays connected to.

    hold_bar_abs: regulator pressure [bar]
    raises: OutsideValidity
    """
    state, found = _in_service(case, rates), []
    for k in range(count):
        if k:
            state, _ = shake_connected(
                state, pressure_bar_abs=hold_bar_abs, seconds=case.interval_s, uptake_per_s=rates.resting_per_s
            )
        gauge_bar, level, volume_l = _gauge_bar(case, state), state.co2_g_per_l, min(case.pour_l, state.liquid_l)
        _, still = pour(state, volume_l=volume_l, loss_share=1.0, ambient_bar=case.setting.ambient_bar)
        drawn = replace(state, liquid_l=state.liquid_l - volume_l, headspace_l=state.headspace_l + volume_l)
        state, _ = fill_headspace(drawn, pressure_bar_abs=hold_bar_abs)
        found.append(Poured(gauge_bar, level, level - still * CO2_G_PER_MOL, state))
    return tuple(found)


def _in_service(case: Case, rates: Rates) -> State:
    """The charged vessel, come to rest at the temperature it is held at."""
    state = case.charged(rates.solubility_ratio)
    if case.charged_c == case.holding_c:
        return state
    return rest_closed(warmed(state, case.holding_c), seconds=inf, uptake_per_s=1.0)


def _gauge_bar(case: Case, state: State) -> float:
    """Gauge pressure of the closed vessel; a soft one shrinks instead of holding a vacuum."""
    gauge_bar = pressure_bar_abs(state) - case.setting.ambient_bar
    return max(gauge_bar, 0.0) if case.setting.vessel.soft else gauge_bar


def follow(case: Case, run: Callable[[Rates], Sequence[Poured]], causes: Iterable[Cause]) -> Runs:
    """The vessel at typical rates, and with each cause alone at its low and at its high end."""
    size = case.setting.vessel.kind
    pairs = [(run(low), run(high)) for low, high in ends(size, case.solubility_spread, causes)]
    return Runs(tuple(run(usual(size))), tuple(pairs))


def banded(runs: Runs, manner: PourManner) -> tuple[Served, ...]:
    """Every pour with its bands: each cause's own reach, the loss of the pour too, by root of the squares.

    source: `service.science.band.combine`, GUM section 5.1
    """
    loss = pour_loss(manner)

    def usual_glass(poured: Poured) -> float:
        return poured.glass_g_per_l(loss.typical)

    def band(k: int, number: Callable[[Poured], float], *more: tuple[float, float]) -> Band:
        return combine(number(runs.typical[k]), [*((number(a[k]), number(b[k])) for a, b in runs.pairs), *more])

    return tuple(
        Served(
            bottle=band(k, lambda p: p.after.co2_g_per_l),
            glass=band(k, usual_glass, (here.glass_g_per_l(loss.low), here.glass_g_per_l(loss.high))),
            gauge=band(k, lambda p: p.gauge_bar),
            taken=band(k, lambda p: p.taken_g),
        )
        for k, here in enumerate(runs.typical)
    )
