"""The amount of an addition that brings a liquid to an acidity, and refusals of what it cannot bring it to."""

from collections.abc import Callable
from math import floor, isclose, log10

from service.acid.additions import Addition, acids_in
from service.acid.limits import solubilities
from service.acid.liquid import Liquid
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.acids import MOST_TIMES
from service.science import acids
from service.science.rounding import rounded_down, rounded_up
from service.science.units import Quantity

MOST_PERCENT_WW = acids.VOLUMES_ADD_TO_PERCENT
SAME = 1e-9
"""Two acidities this close are one [-]."""
_ROUNDS, _HALVINGS = 100, 50


def grams_to_reach(start: Liquid, gram: Liquid, target_meq_per_l: float) -> float:
    """Return the grams of an addition that bring a liquid to an acidity, its new volume counted.

    meq(start) + x meq(gram) = target V(start + x gram), solved for x; the secant, kept between 0 and MOST_TIMES

    gram: a gram of the addition
    target_meq_per_l: between the start and `reach_meq_per_l`
    returns: x [g]
    """

    def excess(x: float) -> float:
        after = start + gram.scaled(x)
        return after.meq - target_meq_per_l * after.volume_ml / 1000.0

    low, high = 0.0, MOST_TIMES * start.mass_g
    at_low, at_high = excess(low), excess(high)
    before, at_before, x, at_x = high, at_high, low, at_low
    for _ in range(_ROUNDS):  # nearly a straight line: a handful is usual
        if abs(at_x) <= 1e-14 * abs(start.meq) + 1e-300 or high - low <= 1e-15 * high:
            return x
        step = at_x * (x - before) / (at_x - at_before) if at_x != at_before else 0.0
        nearer = x - step if low < x - step < high else 0.5 * (low + high)
        if abs(nearer - x) <= 1e-15 * x:
            return nearer
        before, at_before, x, at_x = x, at_x, nearer, excess(nearer)
        low, high = (x, high) if (at_x > 0.0) == (at_low > 0.0) else (low, x)
    return x


def reach_meq_per_l(start: Liquid, gram: Liquid) -> float:
    """Return the acidity that MOST_TIMES of an addition bring a liquid to [meq/L]."""
    return (start + gram.scaled(MOST_TIMES * start.mass_g)).titratable_acidity_meq_per_l


def refuse(
    code: str, text: str, *, start: float, reach: float, nearest: Nearest | None = None, **more: float
) -> Refused:
    """Return the refusal of a target, with the range from the start to what can be reached [meq/L].

    more: further numbers of the text
    """
    from_, to = Quantity("acidity", start), Quantity("acidity", reach, shown="up" if reach < start else "down")
    return Refused(
        "unreachable",
        [Fault("/target", code, text, (("start", from_), ("reach", to), *more.items()))],
        facts=[Fact("start", from_), Fact("reach", to)],
        nearest=[nearest or Nearest("/target", Quantity("acidity", towards(start, reach)))],
    )


def towards(start: float, reach: float) -> float:
    """Return the reach to three digits of its distance from the start, rounded to the start's side."""
    distance = abs(reach - start)
    if distance == 0.0:
        return start
    step = 10.0 ** (floor(log10(distance)) - 2)
    return rounded_down(reach, step) if reach > start else rounded_up(reach, step)


def check_direction(start: Liquid, target: float, *, lowers: bool) -> None:
    """Refuse acids where the acidity is to fall, and water or bicarbonate where it is to rise.

    raises: Refused ("unreachable"), with the kind of addition that goes the other way
    """
    now = start.titratable_acidity_meq_per_l
    if isclose(now, target, rel_tol=SAME):
        return
    if target < now and not lowers:
        raise refuse("below-the-start", "Add water or potassium bicarbonate: the liquid has {start} already, and acids "
                     "only raise it.",
                     start=now, reach=now, nearest=Nearest("/using", {"water": {}}))  # fmt: skip
    if target > now and lowers:
        raise refuse("above-the-start", "Add a solution or dry acid: the liquid has {start}, and water and bicarbonate "
                     "only lower it.",
                     start=now, reach=now, nearest=Nearest("/using", {"dry": [{"acid": "citric"}]}))  # fmt: skip


def check_reach(start: Liquid, addition: Addition, target: float, *, least: float = 0.0) -> None:
    """Refuse a target past what the addition is itself, or past MOST_TIMES of it.

    least: the lowest acidity allowed, where the addition lowers it [meq/L]
    raises: Refused ("unreachable")
    """
    now, reach = start.titratable_acidity_meq_per_l, reach_meq_per_l(start, addition.gram)
    if target > now and not target < reach:
        text = "What is added gives no more than {reach}, from {start}."
        raise refuse("beyond-the-acids", text, start=now, reach=max(reach, now))
    if target < now and not target > reach:
        text = "So much water leaves nothing of the liquid: from {start}, at least {reach}."
        raise refuse("too-much-water", text, start=now, reach=reach)
    if target < now and not target >= least:
        text = ("Use water to go lower: below a third of its acidity too little acid is left to turn bicarbonate into "
                "CO2, and the drink no longer keeps by its acid. From {start}, at least {reach}.")  # fmt: skip
        raise refuse("too-much-neutralised", text, start=now, reach=least)


def check_holds(start: Liquid, addition: Addition, grams: float, *, coldest_c: float) -> None:
    """Refuse a finished liquid that does not hold its acids, or whose volume is not known.

    raises: Refused ("outside-validity", "unreachable") with the most that works
    """

    def too_strong(x: float) -> bool:
        return (start + addition.gram.scaled(x)).acid_percent_ww > MOST_PERCENT_WW

    def over_saturation(x: float) -> bool:
        finished = start + addition.gram.scaled(x)
        return any(one.over for one in solubilities(acids_in(addition, x, finished), coldest_c))

    now = start.titratable_acidity_meq_per_l
    if too_strong(grams):
        most = _most_meq_per_l(start, addition, grams, too_strong)
        text = "Nothing tells the volume above {most} % w/w of acid: from {start}, at most {reach}."
        raise refuse("too-strong", text, start=now, reach=most, most=MOST_PERCENT_WW)
    if over_saturation(grams):
        most = _most_meq_per_l(start, addition, grams, over_saturation)
        text = "So much of the acid does not dissolve in the cold: from {start}, at most {reach}."
        raise refuse("over-saturation", text, start=now, reach=most)


def _most_meq_per_l(start: Liquid, addition: Addition, grams: float, fails: Callable[[float], bool]) -> float:
    """Return the most acid that does not fail [meq/L]."""
    low, high = 0.0, grams
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if fails(middle) else (middle, high)
    return (start + addition.gram.scaled(low)).titratable_acidity_meq_per_l
