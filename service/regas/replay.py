"""One vessel taken from event to event, at typical rates and at every end of them at once."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from math import inf
from typing import Self

from service.calibration import pour_loss_of
from service.regas.case import Case
from service.regas.rates import Cause, Rates
from service.regas.regassing import regas_bottle
from service.regas.serving import after_keg_pour, ends_of, held_at
from service.science.band import Band, combine
from service.science.vessel import (
    State,
    above_still_g_per_l,
    at_gauge,
    open_to_air,
    pour,
    pressure_bar_abs,
    rest_closed,
    stand_open,
    warmed,
)
from service.setting import Setting
from service.site import Air

AS_IT_IS = Air("left")
Step = Callable[[State, Rates], State]


@dataclass
class Replay:
    """A vessel as it is now; the same for every run but for its states.

    rates: the usual, then the low and the high end of each cause
    clock_s: where it has got to
    closes_s: when a vessel that was opened for a pour alone is closed again
    hold_bar_abs: of the regulator that a keg is on; 0 where it is on none, as every bottle
    judged_bar_abs: by which such a keg is judged, the air that it was charged with included
    vented: air may have come in since it was charged
    """

    case: Case
    rates: tuple[Rates, ...]
    states: list[State]
    clock_s: float
    hold_bar_abs: float = 0.0
    judged_bar_abs: float = 0.0
    is_open: bool = False
    closes_s: float = inf
    vented: bool = False

    @classmethod
    def of(cls, case: Case, causes: Iterable[Cause], clock_s: float) -> Self:
        """Return the charged vessel, at rest; a keg is on gas."""
        rates = (case.usual, *chain(*ends_of(case, causes)))
        hold_bar_abs = judged_bar_abs = 0.0
        if case.setting.vessel.is_keg:
            hold_bar_abs = case.hold_bar_gauge(case.co2_g_per_l) + case.setting.ambient_bar
            judged_bar_abs = case.setting.set_point_bar_gauge(case.liquid, case.co2_g_per_l) + case.setting.ambient_bar
        states = [case.in_service(one.solubility_ratio, one.level_ratio) for one in rates]
        return cls(case, rates, states, clock_s, hold_bar_abs, judged_bar_abs)

    @property
    def liquid_l(self) -> float:
        return self.states[0].liquid_l

    @property
    def ambient_bar(self) -> float:
        return self.case.setting.ambient_bar

    @property
    def on_gas(self) -> bool:
        return self.hold_bar_abs > 0.0

    def copy(self) -> Self:
        return replace(self)

    def each(self, step: Step) -> None:
        """Take every run on; what happens at every pour does so itself, without a call more for each."""
        self.states = [step(state, rates) for state, rates in self._runs]

    @property
    def _runs(self) -> Iterable[tuple[State, Rates]]:
        return zip(self.states, self.rates, strict=True)

    def wait(self, until_s: float) -> None:
        """Take it on to a moment, as it stands; what lies in the past already takes no time."""
        if self.is_open:
            self._stand(min(until_s, self.closes_s))
            if until_s < self.closes_s:
                return
            self.close()
        seconds = until_s - self.clock_s
        if seconds > 0.0 and self.on_gas:
            held = held_at(self.hold_bar_abs)
            self.each(lambda state, rates: held(state, seconds, rates))
        elif seconds > 0.0:
            self.states = [
                rest_closed(state, seconds=seconds, uptake_per_s=rates.resting_per_s) for state, rates in self._runs
            ]
        self.clock_s = max(self.clock_s, until_s)

    def _stand(self, until_s: float) -> None:
        seconds, ambient_bar = until_s - self.clock_s, self.ambient_bar
        if seconds > 0.0:
            self.states = [
                stand_open(state, seconds=seconds, loss_per_s=rates.standing_per_s, ambient_bar=ambient_bar)[0]
                for state, rates in self._runs
            ]
            self.clock_s = until_s

    def open(self, closes_s: float = inf) -> None:
        """Open it, unless it is; an opening without an end goes on until it is closed."""
        if not self.is_open:
            ambient_bar = self.ambient_bar
            self.states = [
                open_to_air(state, ambient_bar=ambient_bar, foam_loss=rates.foam)[0] for state, rates in self._runs
            ]
            self.hold_bar_abs = 0.0
            self.is_open = self.vented = True
            self.closes_s = closes_s
        elif self.closes_s < inf:  # a pour does not close what was opened for longer
            self.closes_s = closes_s

    def close(self) -> None:
        """Close it; a closed keg that is on gas is cut off from it."""
        if not self.is_open:
            self.hold_bar_abs = 0.0
        self.is_open, self.closes_s = False, inf

    def pour(self, volume_l: float) -> None:
        """Pour; a closed bottle is opened for it, a keg pours by its pressure."""
        if self.case.setting.vessel.is_keg and not self.is_open:
            self.each(lambda state, _: after_keg_pour(state, volume_l))
            return
        self.open(self.clock_s + self.case.open_for_s)
        ambient_bar = self.ambient_bar
        self.states = [pour(state, volume_l=volume_l, ambient_bar=ambient_bar) for state in self.states]

    def charge(self, dial_bar_gauge: float, seconds: float, *, never_over: float) -> None:
        """Shake it on the regulator, its air taken out first where some may have come in; a keg stays connected."""
        self.is_open, self.closes_s = False, inf
        if self.case.setting.vessel.is_keg:
            self.hold_bar_abs = self.judged_bar_abs = dial_bar_gauge + self.ambient_bar
        ready = self.regas_setting(never_over)
        self.each(lambda state, rates: regas_bottle(ready, state, dial_bar_gauge, rates, seconds=seconds)[0])
        self.vented = False
        self.clock_s += seconds

    def regas_setting(self, never_over: float) -> Setting:
        """Return the setting for a re-gas: air is taken out where some may have come in, and else stays as it is."""
        if self.vented and not self.case.setting.vessel.is_keg:
            return self.case.regas_setting(never_over)
        return replace(self.case.setting, air=AS_IT_IS)

    def read(self, gauge_bar: float) -> None:
        """Put it at the level that its gauge, which may be misread, shows at rest.

        raises: OutsideValidity
        """
        shown = gauge_bar + self.ambient_bar
        self.states = [at_gauge(state, pressure_bar_abs=shown + rates.misread_bar) for state, rates in self._runs]

    def shake(self, seconds: float) -> None:
        """Shake it closed."""
        self.each(lambda state, rates: rest_closed(state, seconds=seconds, uptake_per_s=rates.shaking_per_s))
        self.clock_s += seconds

    def move(self, temperature_c: float) -> None:
        """Bring it to another temperature, at once."""
        if temperature_c != self.case.holding_c:
            self.case = replace(self.case, holding_c=temperature_c)
            self.each(lambda state, _: warmed(state, temperature_c))

    def band(self, number: Callable[[State], float]) -> Band:
        """Return the band of a number of the vessel: each cause's own reach, by root of the squares."""
        return self.combined([number(state) for state in self.states])

    def combined(self, values: Sequence[float], *more: tuple[float, float]) -> Band:
        """Return the band of one value a run, in the order of the rates."""
        return combine(values[0], chain(zip(values[1::2], values[2::2], strict=True), more))

    def bottle(self) -> Band:
        """Return the level in the vessel [g/L]."""
        return self.band(lambda state: state.co2_g_per_l)

    def gauge_at_rest(self) -> Band:
        """Return the gauge pressure that the vessel comes to if it is left closed [bar]."""
        return self.band(
            lambda state: pressure_bar_abs(rest_closed(state, seconds=inf, uptake_per_s=1.0)) - self.ambient_bar
        )

    def glass(self) -> Band:
        """Return the level in a glass that is poured now [g/L]; a closed bottle is opened for it."""
        vessel = self.copy()
        if not self.case.setting.vessel.is_keg:
            vessel.open()
        case, ambient_bar = self.case, self.ambient_bar
        loss = pour_loss_of(case.setting.calibration, case.manner, case.holding_c)
        levels = [state.co2_g_per_l for state in vessel.states]
        above = [above_still_g_per_l(state, ambient_bar=ambient_bar) for state in vessel.states]
        ends = (levels[0] - loss.low * above[0], levels[0] - loss.high * above[0])
        return self.combined([at - loss.typical * over for at, over in zip(levels, above, strict=True)], ends)
