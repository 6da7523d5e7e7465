"""How high a closed vessel could go, and how high its regulator may be set.

Judged at full equilibrium with the dialled pressure, because a bar may dial more and shake less. A bar's own
calibration of solubility is left out on purpose, so that it never relaxes a limit.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, isfinite

from service.drink import Drink
from service.errors import Fact, Fault, Nearest, OutsideValidity, Refused
from service.notes import Notes
from service.science import mixture
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, Liquid, solubility_spread
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.science.vessel import Contents, State, balance, shake_connected, totals
from service.vessel import Vessel

NEAR_LIMIT_SHARE = 0.80
"""From this share of a limit on the answer warns; common practice, no source."""
NOT_APPROVAL = "The maker's rating, local code and a competent person decide; this is arithmetic, not approval."


def worst_closed(
    drink: Drink,
    vessel: Vessel,
    *,
    fill: float,
    dial_bar_gauge: float,
    temperature_c: float,
    ambient_bar: float,
    warm_room_c: float,
    start_co2_g_per_l: float = 0.0,
) -> Band:
    """Gauge pressure of the closed vessel in the warm room, after full equilibrium with the dialled pressure.

    What drink and headspace hold under pure CO2 at the dialled pressure, cold; then closed and warmed, the drink's own
    expansion included. Air would take some of that pressure from the start and rise less on warming, so none is the
    worst. The upper end is the one to judge by: more gas goes in while cold (the solubility is uncertain there), less
    stays dissolved when warm (uncertain there too, independently). That a soft bottle stretches is left out.

    fill: liquid as a share of brimful
    start_co2_g_per_l: what the drink holds before it is charged [g/L]
    returns: [bar gauge]
    raises: OutsideValidity beyond the gas equations, 10 bar absolute
    source: mass balance, `service.science.vessel.balance`; GUM section 5.1 for the band
    """
    cold, hot = drink.absorbs_co2(temperature_c), drink.absorbs_co2(max(warm_room_c, temperature_c))
    liquid_l, headspace_l = vessel.liquid_ml(fill) / 1000.0, vessel.headspace_ml(fill) / 1000.0
    swollen_l = liquid_l * (
        mixture.volume_ml(drink.masses, hot.temperature_c) / mixture.volume_ml(drink.masses, temperature_c)
    )
    shrunk_l = headspace_l + liquid_l - swollen_l

    def charged_mol(liquid: Liquid) -> float:
        flat = State(liquid, liquid_l, headspace_l, start_co2_g_per_l / CO2_G_PER_MOL, 0.0, 0.0)
        full, _ = shake_connected(flat, pressure_bar_abs=dial_bar_gauge + ambient_bar, seconds=inf, uptake_per_s=1.0)
        return totals(full)[0]

    def gauge(co2_mol: float, liquid: Liquid) -> float:
        return balance(Contents(liquid, swollen_l, shrunk_l, co2_mol, 0.0)).pressure_bar_abs - ambient_bar

    more, less = solubility_spread(cold), solubility_spread(hot)
    co2_mol = charged_mol(cold)
    goes_in = (gauge(charged_mol(cold.scaled(1.0 - more)), hot), gauge(charged_mol(cold.scaled(1.0 + more)), hot))
    stays = (gauge(co2_mol, hot.scaled(1.0 + less)), gauge(co2_mol, hot.scaled(1.0 - less)))
    return combine(gauge(co2_mol, hot), [goes_in, stays])


def excess_bar(
    drink: Drink,
    vessel: Vessel,
    *,
    fill: float,
    dial_bar_gauge: float,
    temperature_c: float,
    ambient_bar: float,
    warm_room_c: float,
    start_co2_g_per_l: float = 0.0,
) -> float:
    """How far the upper end of `worst_closed` is over the closed limit [bar]; infinite beyond the gas equations."""
    try:
        worst = worst_closed(
            drink, vessel, fill=fill, dial_bar_gauge=dial_bar_gauge, temperature_c=temperature_c,
            ambient_bar=ambient_bar, warm_room_c=warm_room_c, start_co2_g_per_l=start_co2_g_per_l,
        )  # fmt: skip
    except OutsideValidity as outside:
        if outside.quantity != "pressure":
            raise
        return inf
    return worst.high - vessel.closed_limit_bar_gauge


def never_over_bar_gauge(
    drink: Drink,
    vessel: Vessel,
    *,
    fill: float,
    temperature_c: float,
    ambient_bar: float,
    warm_room_c: float,
    start_co2_g_per_l: float = 0.0,
) -> float:
    """Highest dial within the vessel's charge limit at which `worst_closed` stays within its closed limit.

    returns: [bar gauge], to 1e-9 on the safe side; 0 or less where no setting of a regulator works
    raises: OutsideValidity
    """

    def excess(dial_bar_gauge: float) -> float:
        return excess_bar(
            drink, vessel, fill=fill, dial_bar_gauge=dial_bar_gauge, temperature_c=temperature_c,
            ambient_bar=ambient_bar, warm_room_c=warm_room_c, start_co2_g_per_l=start_co2_g_per_l,
        )  # fmt: skip

    return highest(excess, low=-0.9 * ambient_bar, high=vessel.charge_limit_bar_gauge)


def highest(excess: Callable[[float], float], *, low: float, high: float) -> float:
    """Highest value between low and high at which a rising excess is not above zero; low if there is none.

    False position (Illinois), halving while the upper end is infinite; 1e-9 is left on the safe side.
    """
    at_high = excess(high)
    if at_high <= 0.0:
        return high
    at_low = excess(low)
    if at_low > 0.0:
        return low
    side = 0
    while high - low > 1e-10:
        x = (low * at_high - high * at_low) / (at_high - at_low) if isfinite(at_high) else (low + high) / 2.0
        at_x = excess(x)
        if abs(at_x) < 1e-11:
            return x - 1e-9
        if at_x > 0.0:
            high, at_high, at_low, side = x, at_x, at_low / 2.0 if side > 0 else at_low, 1
        else:
            low, at_low, at_high, side = x, at_x, at_high / 2.0 if side < 0 else at_high, -1
    return low - 1e-9


@dataclass(frozen=True)
class Judgement:
    """A dial held against both limits of a vessel."""

    vessel: Vessel
    dial_bar_gauge: float
    warm_room_c: float
    worst: Band
    """`worst_closed` [bar gauge]; infinite where the gas equations end."""
    never_over_bar_gauge: float
    equations_to_bar_gauge: float

    @property
    def passes(self) -> bool:
        return self.dial_bar_gauge <= self.never_over_bar_gauge + 1e-9  # what a change of units may add

    @property
    def near(self) -> tuple[str, ...]:
        """The limits that are passed or nearly so."""
        shares = {
            "charge-limit": self.dial_bar_gauge / self.vessel.charge_limit_bar_gauge,
            "closed-limit": self.worst.high / self.vessel.closed_limit_bar_gauge,
        }
        return tuple(limit for limit, share in shares.items() if share > NEAR_LIMIT_SHARE)


def judge(
    drink: Drink,
    vessel: Vessel,
    *,
    fill: float,
    dial_bar_gauge: float,
    temperature_c: float,
    ambient_bar: float,
    warm_room_c: float,
    start_co2_g_per_l: float = 0.0,
) -> Judgement:
    """Both numbers a dial is judged by; arguments as `worst_closed`.

    raises: OutsideValidity, but not for pressures beyond the gas equations
    """
    never_over = never_over_bar_gauge(
        drink, vessel, fill=fill, temperature_c=temperature_c, ambient_bar=ambient_bar, warm_room_c=warm_room_c,
        start_co2_g_per_l=start_co2_g_per_l,
    )  # fmt: skip
    try:
        worst = worst_closed(
            drink, vessel, fill=fill, dial_bar_gauge=dial_bar_gauge, temperature_c=temperature_c,
            ambient_bar=ambient_bar, warm_room_c=warm_room_c, start_co2_g_per_l=start_co2_g_per_l,
        )  # fmt: skip
    except OutsideValidity as outside:
        if outside.quantity != "pressure":
            raise
        worst = Band(inf, inf, inf)
    equations_to = GAS_PRESSURE_LIMIT_BAR_ABS - ambient_bar
    return Judgement(vessel, dial_bar_gauge, warm_room_c, worst, never_over, equations_to)


def check(
    judgement: Judgement, notes: Notes, *, at: str = "/gauge_pressure", nearest: Sequence[Nearest] | None = None
) -> None:
    """Refuse a dial that does not pass; near a limit the answer warns.

    at: JSON Pointer of what sets the dial
    nearest: what would work, where that is not a lower dial at the pointer
    raises: Refused ("over-vessel-limit")
    """
    if judgement.passes:
        _warn_near_limit(judgement, notes, at)
        return
    works = lower_dial(judgement.never_over_bar_gauge, at) if nearest is None else nearest
    raise _over_limit(judgement, works, at)


def check_dial(  # noqa: PLR0913 - the judgement rests on this many things
    drink: Drink,
    vessel: Vessel,
    *,
    fill: float,
    dial_bar_gauge: float,
    temperature_c: float,
    ambient_bar: float,
    warm_room_c: float,
    notes: Notes,
    at: str = "/gauge_pressure",
) -> Judgement:
    """`judge` and `check` a flat drink's dial in one.

    raises: Refused ("over-vessel-limit"), OutsideValidity
    """
    judgement = judge(
        drink, vessel, fill=fill, dial_bar_gauge=dial_bar_gauge, temperature_c=temperature_c,
        ambient_bar=ambient_bar, warm_room_c=warm_room_c,
    )  # fmt: skip
    check(judgement, notes, at=at)
    return judgement


def lower_dial(never_over_bar_gauge: float, at: str) -> list[Nearest]:
    """The dial that works, if any does."""
    dial = rounded_down(never_over_bar_gauge, 0.01)
    return [Nearest(at, Quantity("pressure", dial))] if dial > 0.0 else []


def _over_limit(judgement: Judgement, nearest: Sequence[Nearest], at: str) -> Refused:
    """The refusal, with a fault for each limit that is passed."""
    charge, closed = judgement.vessel.charge_limit_bar_gauge, judgement.vessel.closed_limit_bar_gauge
    reached = min(judgement.worst.high, judgement.equations_to_bar_gauge)
    pressures = {"dial": judgement.dial_bar_gauge, "reached": reached, "charge_limit": charge, "closed_limit": closed}
    best = next((n.value for n in nearest if isinstance(n.value, Quantity)), None)
    params = (
        *((name, Quantity("pressure", value)) for name, value in pressures.items()),
        ("room", Quantity("temperature", judgement.warm_room_c)),
        ("vessel", judgement.vessel.kind),
        *((("nearest", best),) if best else ()),
    )
    texts = {}
    if judgement.dial_bar_gauge > charge:
        texts["charge-limit"] = _OVER_CHARGE_LIMIT
    if reached > closed - 1e-6:  # `highest` leaves a little on the safe side
        texts["closed-limit"] = _OVER_CLOSED_LIMIT
    end = f" {_NEAREST if best else _NOTHING_WORKS} {NOT_APPROVAL}"
    faults = [Fault(at, code, text + end, params) for code, text in (texts or _BEYOND_EQUATIONS).items()]
    facts = [Fact(name, Quantity("pressure", value)) for name, value in pressures.items()]
    return Refused("over-vessel-limit", faults, facts=facts, nearest=nearest)


_OVER_CHARGE_LIMIT = "Do not dial {dial}: this {vessel} is charged at no more than {charge_limit}."
_OVER_CLOSED_LIMIT = "Do not charge: this {vessel} could reach {reached} at {room}; its limit is {closed_limit}."
_BEYOND_EQUATIONS = {
    "beyond-equations": "Do not charge: this {vessel} could pass {reached} at {room}, where the gas equations end.",
}
_NEAREST = "Nearest that works: {nearest}."
_NOTHING_WORKS = "No regulator setting works here: fill less, keep it colder, or take a vessel that bears more."
_NEAR_CLOSED_LIMIT = "This {vessel} could reach {reached} at {room}; its limit is {limit}. Keep it cold."
_NEAR_CHARGE_LIMIT = "A dial of {dial} is near what this {vessel} bears while it is charged, {limit}."


def _warn_near_limit(judgement: Judgement, notes: Notes, at: str) -> None:
    vessel, reached = judgement.vessel, judgement.worst.high
    if "closed-limit" in judgement.near:
        room, limit = (
            Quantity("temperature", judgement.warm_room_c),
            Quantity("pressure", vessel.closed_limit_bar_gauge),
        )
        notes.caution(
            "near-limit", "warning", f"{_NEAR_CLOSED_LIMIT} {NOT_APPROVAL}", at=at, vessel=vessel.kind,
            reached=Quantity("pressure", reached), room=room, limit=limit,
        )  # fmt: skip
    if "charge-limit" in judgement.near:
        notes.caution(
            "near-limit", "warning", f"{_NEAR_CHARGE_LIMIT} {NOT_APPROVAL}", at=at, vessel=vessel.kind,
            dial=Quantity("pressure", judgement.dial_bar_gauge),
            limit=Quantity("pressure", vessel.charge_limit_bar_gauge),
        )  # fmt: skip
