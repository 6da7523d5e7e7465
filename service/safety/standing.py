"""A vessel that is charged already, by what its gauge or its weight says: whether it stands that, and what to do."""

from dataclasses import replace
from math import isfinite

from service.errors import Fact, Fault, OutsideValidity, Refused
from service.notes import Notes, Value
from service.safety.pressure import NOT_APPROVAL, Judgement, warn_near_closed_limit
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS
from service.science.units import Quantity

_OVER_NOW = (
    "The gauge is over what this {vessel} stands, {limit}. Do not touch, warm or open it: keep everyone away, let it "
    "get cold where it is, and ask a competent person."
)
_VENT = "Do not warm, carry or shake it. Keep it cold, goggles on, face away, and vent it slowly, a little at a time."
_OVER_WARM = f"This {{vessel}} could reach {{reached}} at {{room}}; its limit is {{limit}}. {_VENT}"
_BEYOND = "This {vessel} could pass {reached} at {room}, where the gas equations end; its limit is {limit}. " + _VENT
_UNTIL = " It is within its limit with {dial} on the gauge, at rest at {temperature}."


def caution_standing(judgement: Judgement, gauge_bar: float | None, notes: Notes, *, at: str) -> None:
    """A danger where the vessel is over its limit, or could be once warm; a warning near it.

    judgement: of the gauge at rest, or of the level that it stands for; gauge_bar: None where none was read
    """
    limit_bar = judgement.vessel.closed_limit_bar_gauge
    reached = min(judgement.reached_bar_gauge, judgement.equations_to_bar_gauge)
    said: dict[str, Value] = {"vessel": judgement.vessel.kind, "limit": Quantity("pressure", limit_bar, "down")}
    warm: dict[str, Value] = {
        "reached": Quantity("pressure", reached, "up"),
        "room": Quantity("temperature", judgement.warm_room_c),
    }
    if gauge_bar is not None and gauge_bar > limit_bar:
        notes.caution("over-vessel-limit", "danger", f"{_OVER_NOW} {NOT_APPROVAL}", at=at, **said)
    elif judgement.reached_bar_gauge > limit_bar:
        until = _within_limit(judgement)
        text = (_OVER_WARM if isfinite(judgement.reached_bar_gauge) else _BEYOND) + (_UNTIL if until else "")
        notes.caution("over-vessel-limit", "danger", f"{text} {NOT_APPROVAL}", at=at, **said, **warm, **until)
    else:
        warn_near_closed_limit(judgement, notes, at)


def _within_limit(judgement: Judgement) -> dict[str, Value]:
    """The gauge at rest up to which the vessel stays within its limit, where there is one."""
    closed = replace(judgement.closed, start_co2_g_per_l=0.0)
    if closed.never_over_bar_gauge <= 0.0:
        return {}
    dial = Quantity("pressure", closed.never_over_bar_gauge, "down")
    return {"dial": dial, "temperature": Quantity("temperature", closed.temperature_c)}


def beyond_equations(outside: OutsideValidity, at: str) -> Refused:
    """The refusal of a reading whose pressure no equation here covers; nothing is offered in its place.

    raises: OutsideValidity, the one given, where it is not of a pressure
    """
    if outside.quantity != "pressure":
        raise outside
    text = (
        "This means {limit} absolute or more, where the gas equations end. Treat the vessel as over its limit: do not "
        "warm, move or open it, keep everyone away, and ask a competent person."
    )
    limit = Quantity("pressure", GAS_PRESSURE_LIMIT_BAR_ABS)
    fault = Fault(at, "beyond-equations", text, (("limit", limit),))
    return Refused("impossible-reading", [fault], facts=[Fact("equations_to", limit)])
