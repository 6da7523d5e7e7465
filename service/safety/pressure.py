"""A dial held against what its vessel bears: it passes, passes with a warning, or is refused."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf, isfinite

from service.errors import Fact, Fault, Nearest, Offer, Refused, SentenceValue
from service.limits.safety import NEAR_LIMIT_SHARE
from service.notes import Notes
from service.safety.closed import ClosedVessel, upper_end, worst_closed
from service.science.band import Band
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.vessel import Vessel


@dataclass(frozen=True)
class Judgement:
    """A dial held against both limits of a vessel.

    raises: OutsideValidity, but not for pressures beyond the gas equations
    """

    closed: ClosedVessel
    dial_bar_gauge: float

    @property
    def vessel(self) -> Vessel:
        return self.closed.vessel

    @property
    def warm_room_c(self) -> float:
        return self.closed.warm_room_c

    @cached_property
    def worst(self) -> Band:
        """Return `worst_closed` [bar gauge]; infinite where the gas equations end."""
        return (
            worst_closed(self.closed, self.dial_bar_gauge) if isfinite(self.reached_bar_gauge) else Band(inf, inf, inf)
        )

    @cached_property
    def reached_bar_gauge(self) -> float:
        """Return the upper end of `worst` [bar gauge], which decides; infinite where the gas equations end."""
        return upper_end(self.closed, self.dial_bar_gauge)

    @property
    def never_over_bar_gauge(self) -> float:
        return self.closed.never_over_bar_gauge

    @property
    def equations_to_bar_gauge(self) -> float:
        """Return the pressure at which the gas equations end [bar gauge]."""
        return GAS_PRESSURE_LIMIT_BAR_ABS - self.closed.ambient_bar

    @property
    def within_reach(self) -> bool:
        """Tell whether the regulator goes so high and the relief valve stays shut."""
        return self.dial_bar_gauge <= self.closed.reach.most_bar_gauge + 1e-9  # what a change of units may add

    @property
    def reach_binds(self) -> bool:
        """Tell whether regulator or relief valve ends the dial before the vessel's limits do."""
        most = self.closed.reach.most_bar_gauge
        return most < self.vessel.charge_limit_bar_gauge and most <= self.never_over_bar_gauge

    @property
    def passes(self) -> bool:
        """Tell whether the dial is in reach and the vessel bears it."""
        return self.within_reach and self.vessel_bears

    @property
    def vessel_bears(self) -> bool:
        """Tell whether the dial keeps within both limits of the vessel."""
        return (
            self.dial_bar_gauge <= self.vessel.charge_limit_bar_gauge + 1e-9  # what a change of units may add
            and self.reached_bar_gauge <= self.closed.limit_bar_gauge
        )

    @property
    def near(self) -> tuple[str, ...]:
        """Return the limits that are passed or nearly so."""
        charge = self.dial_bar_gauge / self.vessel.charge_limit_bar_gauge > NEAR_LIMIT_SHARE
        return ("charge-limit", *self._near_closed) if charge else self._near_closed

    @property
    def _near_closed(self) -> tuple[str, ...]:
        share = self.reached_bar_gauge / self.closed.limit_bar_gauge
        return ("closed-limit",) if share > NEAR_LIMIT_SHARE else ()


def check(
    judgement: Judgement, notes: Notes, *, at: str = "/gauge_pressure", offers: Sequence[Offer] | None = None
) -> None:
    """Refuse a dial that does not pass; near a limit the answer warns.

    at: JSON Pointer of what sets the dial
    offers: what would work, where that is not a lower dial at the pointer
    raises: Refused ("over-vessel-limit"; "unreachable" where the vessel bears it and the regulator does not reach it)
    """
    if judgement.passes:
        warn_near_limit(judgement, notes, at)
        return
    works = lower_dial(judgement.never_over_bar_gauge, at) if offers is None else offers
    if judgement.vessel_bears:
        raise out_of_reach(judgement, works, at)
    over = _over_limit(judgement, works, at)
    if judgement.reach_binds and not judgement.within_reach:
        beyond = out_of_reach(judgement, works, at)
        over = Refused(over.slug, [*over.faults, *beyond.faults], facts=[*over.facts, *beyond.facts], offers=works)
    raise over


def lower_dial(never_over_bar_gauge: float, at: str) -> list[Offer]:
    """Offer the highest dial that works, if any does."""
    dial = Quantity("pressure", rounded_down(never_over_bar_gauge, 0.01), "down")
    if not dial.value > 0.0:
        return []
    return [Offer("lower-dial", "Set {works}.", (Nearest(at, dial),), (("works", dial),))]


def no_pressure(works: Sequence[Offer], never_over_bar_gauge: float, at: str) -> Refused:
    """Return the refusal of a dial that is no pressure at all."""
    text = "Set more: a regulator goes no lower than the air pressure."
    most = Quantity("pressure", never_over_bar_gauge, "down")
    fault = Fault(at, "below-atmospheric", text)
    return Refused("unreachable", [fault], facts=[Fact("never_over", most)], offers=works)


def out_of_reach(judgement: Judgement, offers: Sequence[Offer], at: str) -> Refused:
    """Return the refusal of a dial that the vessel would bear and the gear does not reach."""
    reach = judgement.closed.reach
    name = reach.ends_at.replace("-", "_")
    pressures = {
        "dial": Quantity("pressure", judgement.dial_bar_gauge, "up"),
        name: Quantity("pressure", reach.most_bar_gauge, "down"),
    }
    texts, params = _OUT_OF_REACH if offers else _OUT_OF_REACH_ANYHOW, tuple(pressures.items())
    facts = [Fact(key, value) for key, value in pressures.items()]
    return Refused("unreachable", [Fault(at, reach.ends_at, texts[reach.ends_at], params)], facts=facts, offers=offers)


def _over_limit(judgement: Judgement, offers: Sequence[Offer], at: str) -> Refused:
    """Return the refusal of a dial that the vessel does not bear, with a fault for each limit that is passed."""
    charge, closed = judgement.vessel.charge_limit_bar_gauge, judgement.closed.limit_bar_gauge
    reached = min(judgement.reached_bar_gauge, judgement.equations_to_bar_gauge)
    pressures = {
        "dial": Quantity("pressure", judgement.dial_bar_gauge, "up"),
        "reached": Quantity("pressure", reached, "up"),
        "charge_limit": Quantity("pressure", charge, "down"),
        "closed_limit": Quantity("pressure", closed, "down"),
    }
    params: tuple[tuple[str, SentenceValue], ...] = (
        *pressures.items(),
        ("room", Quantity("temperature", judgement.warm_room_c)),
        ("vessel", judgement.vessel.said),
    )
    passed = []
    if judgement.dial_bar_gauge > charge:
        passed.append("charge-limit")
    if reached > closed - 1e-6:  # `highest` leaves a little on the safe side
        passed.append("timed-limit" if judgement.closed.held == "timed" else "closed-limit")
    texts = _OVER if offers else _OVER_ANYHOW
    faults = [Fault(at, code, texts[code], params) for code in passed or ["beyond-equations"]]
    facts = [Fact(name, value) for name, value in pressures.items()]
    return Refused("over-vessel-limit", faults, facts=facts, offers=offers)


_OUT_OF_REACH = {
    "regulator-max": "Do not set {dial}: the regulator goes no higher than {regulator_max}.",
    "relief-set": "Do not set {dial}: the relief valve opens at {relief_set}.",
}
_OUT_OF_REACH_ANYHOW = {
    "regulator-max": (
        "Do not set {dial}: the regulator goes no higher than {regulator_max}. No dial within its reach works here."
    ),
    "relief-set": ("Do not set {dial}: the relief valve opens at {relief_set}. No dial within its reach works here."),
}
_OVER = {
    "charge-limit": (
        "Do not set {dial}: this {vessel} is charged at no more than {charge_limit}. The maker's rating, local code "
        "and a competent person decide; this is arithmetic, not approval."
    ),
    "closed-limit": (
        "Do not charge: this {vessel} could reach {reached} at {room}; its limit is {closed_limit}. The maker's "
        "rating, local code and a competent person decide; this is arithmetic, not approval."
    ),
    "timed-limit": (
        "Do not charge: if its check is forgotten this {vessel} could reach {reached} at {room}; no timed charge may "
        "pass {closed_limit}. The maker's rating, local code and a competent person decide; this is arithmetic, not "
        "approval."
    ),
    "beyond-equations": (
        "Do not charge: this {vessel} could pass {reached} at {room}, where the gas equations end. The maker's rating, "
        "local code and a competent person decide; this is arithmetic, not approval."
    ),
}
"""Sentences about a dial that a vessel does not bear, by the limit that is passed."""
_OVER_ANYHOW = {
    "charge-limit": (
        "Do not set {dial}: this {vessel} is charged at no more than {charge_limit}. No setting works here: take a "
        "vessel that bears more, or keep it in a cooler room. The maker's rating, local code and a competent person "
        "decide; this is arithmetic, not approval."
    ),
    "closed-limit": (
        "Do not charge: this {vessel} could reach {reached} at {room}; its limit is {closed_limit}. No setting works "
        "here: take a vessel that bears more, or keep it in a cooler room. The maker's rating, local code and a "
        "competent person decide; this is arithmetic, not approval."
    ),
    "timed-limit": (
        "Do not charge: if its check is forgotten this {vessel} could reach {reached} at {room}; no timed charge may "
        "pass {closed_limit}. No setting works here: take a vessel that bears more, or keep it in a cooler room. The "
        "maker's rating, local code and a competent person decide; this is arithmetic, not approval."
    ),
    "beyond-equations": (
        "Do not charge: this {vessel} could pass {reached} at {room}, where the gas equations end. No setting works "
        "here: take a vessel that bears more, or keep it in a cooler room. The maker's rating, local code and a "
        "competent person decide; this is arithmetic, not approval."
    ),
}
"""The same where nothing is offered in its place."""
_NEAR_CLOSED_LIMIT = (
    "Keep it cold: this {vessel} could reach {reached} at {room}; its limit is {limit}. The maker's rating, local code "
    "and a competent person decide; this is arithmetic, not approval."
)
_NEAR_CHARGE_LIMIT = (
    "{dial} is near the most that this {vessel} is charged at, {limit}. The maker's rating, local code and a competent "
    "person decide; this is arithmetic, not approval."
)


def warn_near_limit(judgement: Judgement, notes: Notes, at: str | tuple[str, ...]) -> None:
    """Warn of a dial that is near either limit."""
    vessel = judgement.vessel
    warn_near_closed_limit(judgement, notes, at)
    if "charge-limit" in judgement.near:
        notes.caution(
            "near-charge-limit", "warning", _NEAR_CHARGE_LIMIT, at=at, vessel=vessel.said,
            dial=Quantity("pressure", judgement.dial_bar_gauge, "up"),
            limit=Quantity("pressure", vessel.charge_limit_bar_gauge, "down"),
        )  # fmt: skip


def warn_near_closed_limit(judgement: Judgement, notes: Notes, at: str | tuple[str, ...]) -> None:
    """Warn of a vessel that could come near its limit, unless it is charged by the clock, which has its own warning."""
    if judgement.closed.held == "timed" or "closed-limit" not in judgement.near:
        return
    notes.caution(
        "near-limit", "warning", _NEAR_CLOSED_LIMIT, at=at, vessel=judgement.vessel.said,
        reached=Quantity("pressure", judgement.reached_bar_gauge, "up"),
        room=Quantity("temperature", judgement.warm_room_c),
        limit=Quantity("pressure", judgement.closed.limit_bar_gauge, "down"),
    )  # fmt: skip
