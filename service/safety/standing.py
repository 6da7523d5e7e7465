"""A vessel that is charged already, judged by its gauge, its weight or its log, with what to do about it."""

from dataclasses import replace
from math import inf, isfinite

from service.drink import Drink
from service.errors import Fact, Fault, Refused
from service.notes import Notes, Value
from service.safety.fitness import lowest_charging_c
from service.safety.pressure import Judgement, warn_near_closed_limit
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS
from service.science.units import Quantity
from service.science.validity import OutsideValidity

THAW_FIRST = (
    "Do not touch, open, move or shake it: let it thaw where it stands, upright, in the cold and behind a barrier, and "
    "vent it only once no ice is left, slowly, away from faces. A cap is no relief valve."
)
"""What to do with a closed vessel whose drink may hold ice; common practice, no source."""
_OVER_NOW = (
    "The gauge is over the limit of this {vessel}, {limit}. Keep everyone away and ask a competent person. Do not "
    "touch, carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is "
    "cold, slowly, away from faces. A cap is no relief valve. The maker's rating, local code and a competent person "
    "decide; this is arithmetic, not approval."
)
_OVER_WARM = (
    "This {vessel} could reach {reached} at {room}; its limit is {limit}. Do not touch, carry or shake it: cool it "
    "where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away from faces. A cap "
    "is no relief valve. The maker's rating, local code and a competent person decide; this is arithmetic, not "
    "approval."
)
_OVER_UNTIL = (
    "This {vessel} could reach {reached} at {room}; its limit is {limit}. Do not touch, carry or shake it: cool it "
    "where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away from faces. A cap "
    "is no relief valve. It is within its limit with {dial} on the gauge, at rest at {temperature}. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval."
)
_BEYOND = (
    "This {vessel} could pass {reached} at {room}, where the gas equations end; its limit is {limit}. Do not touch, "
    "carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
    "slowly, away from faces. A cap is no relief valve. The maker's rating, local code and a competent person decide; "
    "this is arithmetic, not approval."
)
_BEYOND_UNTIL = (
    "This {vessel} could pass {reached} at {room}, where the gas equations end; its limit is {limit}. Do not touch, "
    "carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
    "slowly, away from faces. A cap is no relief valve. It is within its limit with {dial} on the gauge, at rest at "
    "{temperature}. The maker's rating, local code and a competent person decide; this is arithmetic, not approval."
)


def caution_standing(judgement: Judgement, gauge_bar: float | None, notes: Notes, *, at: str | tuple[str, ...]) -> None:
    """Tell a danger where the vessel is over its limit, or could be once warm; warn near it.

    judgement: of the gauge at rest, or of the level that it stands for; gauge_bar: None where none was read
    """
    limit_bar = judgement.vessel.closed_limit_bar_gauge
    if not cushioned(judgement):
        caution_no_cushion(notes, at=at)
    reached = min(could_reach_bar_gauge(judgement), judgement.equations_to_bar_gauge)
    vessel: dict[str, Value] = {"vessel": judgement.vessel.said, "limit": Quantity("pressure", limit_bar, "down")}
    warm: dict[str, Value] = {
        "reached": Quantity("pressure", reached, "up"),
        "room": Quantity("temperature", judgement.warm_room_c),
    }
    if gauge_bar is not None and gauge_bar > limit_bar:
        notes.caution("over-limit-now", "danger", _OVER_NOW, at=at, **vessel)
    elif not cushioned(judgement):
        return
    elif judgement.reached_bar_gauge > limit_bar:
        until = _within_limit(judgement)
        text = _OVER_UNTIL if until else _OVER_WARM
        if not isfinite(judgement.reached_bar_gauge):
            text = _BEYOND_UNTIL if until else _BEYOND
        notes.caution("over-vessel-limit", "danger", text, at=at, **vessel, **warm, **until)
    else:
        warn_near_closed_limit(judgement, notes, at)


def could_reach_bar_gauge(judgement: Judgement) -> float:
    """Return the pressure that it could reach once warm [bar gauge]; infinite past the equations, or without a cushion.

    raises: OutsideValidity, but not for pressure or fill
    """
    return judgement.reached_bar_gauge if cushioned(judgement) else inf


def cushioned(judgement: Judgement) -> bool:
    """Tell whether the drink, once warm, leaves the vessel some gas."""
    try:
        _ = judgement.reached_bar_gauge
    except OutsideValidity as outside:
        if outside.quantity != "fill":
            raise
        return False
    return True


def caution_no_cushion(notes: Notes, *, at: str | tuple[str, ...]) -> None:
    """Tell a danger of a vessel that its drink fills once it is warm: no pressure can be told of it."""
    text = (
        "Treat it as over its limit: once warm, the drink leaves it no cushion of gas. Do not touch, carry or shake "
        "it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away "
        "from faces. A cap is no relief valve. Ask a competent person."
    )
    notes.caution("no-headspace", "danger", text, at=at)


def _within_limit(judgement: Judgement) -> dict[str, Value]:
    """Return the gauge at rest up to which the vessel stays within its limit, where there is one, for a sentence."""
    stands_to = replace(judgement.closed, start_co2_g_per_l=0.0).stands_to_bar_gauge
    if stands_to <= 0.0:
        return {}
    return {
        "dial": Quantity("pressure", stands_to, "down"),
        "temperature": Quantity("temperature", judgement.closed.temperature_c),
    }


def check_thawed(drink: Drink, temperature_c: float, *, at: str = "/temperature") -> None:
    """Refuse a reading of a drink that may hold ice; nothing is offered in its place, and no one is told to cool it.

    raises: Refused ("would-freeze")
    """
    lowest = Quantity("temperature", lowest_charging_c(drink), "up")
    if lowest.value <= temperature_c:
        return
    text = (
        "Under {lowest} there may be ice in it, and no reading tells its level. Do not touch, open, move or shake it: "
        "let it thaw where it stands, upright, in the cold and behind a barrier, and vent it only once no ice is left, "
        "slowly, away from faces. A cap is no relief valve."
    )
    fault = Fault(at, "would-freeze", text, (("lowest", lowest),))
    raise Refused("would-freeze", [fault], facts=[Fact("lowest", lowest)])


def beyond_equations(outside: OutsideValidity, at: str) -> Refused:
    """Return the refusal of a reading whose pressure no equation here covers; nothing is offered in its place.

    raises: OutsideValidity, the one given, where it is not of a pressure or of a fill that nothing cushions once warm
    """
    if outside.quantity == "fill":
        text = (
            "Treat it as over its limit: once warm, the drink leaves it no cushion of gas. Do not touch, carry or "
            "shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
            "slowly, away from faces. A cap is no relief valve. Ask a competent person."
        )
        return Refused("impossible-reading", [Fault("/fill", "beyond-equations", text)])
    if outside.quantity != "pressure":
        raise outside
    limit = Quantity("pressure", GAS_PRESSURE_LIMIT_BAR_ABS)
    text = (
        "Treat it as over its limit: this means {limit} absolute or more, where the gas equations end. Do not touch, "
        "carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
        "slowly, away from faces. A cap is no relief valve. Ask a competent person."
    )
    fault = Fault(at, "beyond-equations", text, (("limit", limit),))
    return Refused("impossible-reading", [fault], facts=[Fact("equations_to", limit)])
