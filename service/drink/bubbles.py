"""What seeds bubbles and what holds foam: why a drink gushes, and how it is made clear. Common practice, no source."""

from service.drink.drink import Drink
from service.notes import Notes

_GUSHES = {
    "hazy": "Haze seeds bubbles: it may gush when opened. Clarify it: settle it cold, draw off the top, then filter; "
    "enzyme (pectinase) breaks a fruit haze that will not settle, agar sets it into a gel that drains clear, a "
    "centrifuge is fastest. Else rest it cold and open it slowly.",
    "pulpy": "Pulp seeds bubbles and blocks valves: it will gush when opened. Clarify it before it is charged: strain, "
    "then spin it in a centrifuge, or set it with agar and drain it; enzyme (pectinase) lets more of it settle, "
    "filtering comes last. Taste it again: sugar and acid may have moved.",
}
_FOAMS = (
    "Egg, dairy, tea, coffee, gum and other protein hold foam: leave more headspace, charge gently, rest it long and "
    "cold, open it slowly by stages."
)


def caution_bubbles(drink: Drink, notes: Notes, *, at: str = "/drink") -> None:
    """Warn of what makes this drink gush or foam once it is charged, and tell what helps.

    at: JSON Pointer of the drink in the request
    """
    if drink.clarity != "clear":
        notes.caution("gushing", "warning", _GUSHES[drink.clarity], at=_each(at, drink.unclear_at))
    if drink.foams:
        notes.caution("foams", "warning", _FOAMS, at=_each(at, drink.foams_at))


def _each(at: str, within: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(at + where for where in within or ("",))
