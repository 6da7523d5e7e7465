"""Changes that bring a drink nearer to a target it does not reach, each worked out."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, NamedTuple

from service import safety
from service.carbonation.runs import Plan, Runs, level_g_per_l, runs
from service.declared import CO2, CODE, Params, Sentence, shape
from service.limits.charging import COLDER_C, HIGHER_BAR
from service.limits.safety import GAUGE_ERROR_BAR
from service.notes import Value
from service.safety import Judgement
from service.science.band import Band
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.site import air_out, fitting_purge

MORE = "one-more-charge"


@shape("ChargeAdvice")
@dataclass(frozen=True)
class Advice:
    """One change that helps, within the vessel's limits, and the level it comes to; what helps most comes first."""

    code: Annotated[str, CODE]
    change: Sentence
    params: Params
    co2_g_per_l: Annotated[Band, CO2]

    @property
    def text(self) -> Sentence:
        """Return the same sentence, under the name that every sentence of an answer has."""
        return self.change


def advised(plan: Plan, made: Runs, judgement: Judgement) -> tuple[Advice, ...]:
    """Return changes that keep within the vessel's limits, each on its own, that come to more; the best first.

    made: the charges of the plan; judgement: of its dial
    """
    least = _comes_to(plan, made).typical * (1.0 + 1e-9)  # less is rounding
    tried = (
        Advice(one.code, one.change, one.params, _comes_to(one.plan, made if one.code == MORE else None))
        for one in _changes(plan, judgement)
    )
    helps = (found for found in tried if found.co2_g_per_l.typical > least)
    return tuple(sorted(helps, key=lambda found: -found.co2_g_per_l.typical))


def _comes_to(plan: Plan, made: Runs | None) -> Band:
    """Return the level after the charges; of a keg that stays on the gas, at rest [g/L].

    made: charges to go on from, of a plan that differs in their number alone
    """
    if plan.connected:
        return plan.level_at_rest
    charges = runs(plan) if made is None else made.to_the_end_of(plan)
    return charges.band(plan.count, level_g_per_l)


class Tried(NamedTuple):
    """A change that is tried: its code and sentence, and the plan as changed."""

    code: str
    change: str
    params: Mapping[str, Value]
    plan: Plan


def _changes(plan: Plan, judgement: Judgement) -> Iterator[Tried]:
    """Yield the changes that are tried."""
    colder_c = max(plan.temperature_c - COLDER_C, safety.lowest_charging_c(plan.setting.drink))
    colder = Judgement(replace(judgement.closed, temperature_c=colder_c), plan.dial_bar_gauge)
    if colder_c < plan.temperature_c and colder.passes:
        params: dict[str, Value] = {"temperature": Quantity("temperature", colder_c, "up")}
        air = fitting_purge(plan.setting.air, colder.never_over_bar_gauge)
        chilled = replace(plan, temperature_c=colder_c, setting=replace(plan.setting, air=air))
        yield Tried("colder", "Chill it to {temperature} first.", params, chilled)
    if plan.setting.air.method == "left":
        air = air_out(plan.setting.vessel, judgement.never_over_bar_gauge)
        without = replace(plan, setting=replace(plan.setting, air=air))
        yield Tried("air-out", "Take the air out before you charge it.", {}, without)
    shake = {"shake": Quantity("duration", 2.0 * plan.shake_s)}
    yield Tried("longer-shake", "Shake it for {shake} each time.", shake, replace(plan, shake_s=2.0 * plan.shake_s))
    count = plan.count + 1
    yield Tried(MORE, "Charge it {count} times.", {"count": float(count)}, replace(plan, count=count))
    most = judgement.never_over_bar_gauge - GAUGE_ERROR_BAR  # so that there is room for error
    dial = rounded_down(min(plan.dial_bar_gauge + HIGHER_BAR, most), 0.01)
    if dial > plan.dial_bar_gauge:
        pressures: dict[str, Value] = {
            "dial": Quantity("pressure", dial, "down"),
            "never_over": Quantity("pressure", judgement.never_over_bar_gauge, "down"),
        }
        higher = replace(plan, dial_bar_gauge=dial)
        yield Tried("higher-pressure", "Set {dial}, never over {never_over}.", pressures, higher)
