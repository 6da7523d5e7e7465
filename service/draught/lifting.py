"""A rise that the dial does not lift the drink over, and what does."""

from collections.abc import Iterator
from itertools import accumulate

from service.draught.pushing import Pushing
from service.draught.run import Run
from service.errors import Fact, Fault, Nearest, Offer, Refused
from service.science.flow import GRAVITY_M_PER_S2
from service.science.rounding import rounded_down, rounded_up
from service.science.units import Quantity
from service.science.validity import OutsideValidity

_TEXTS = {
    "keg-bears": "Set {needed} for the pour you ask for: this dial lifts {lifts} at most, and the line rises {rise}.",
    "no-keg-named": (
        "Where the stamp of the keg bears it, set {needed} for the pour you ask for: this dial lifts {lifts} at most, "
        "and the line rises {rise}."
    ),
    "over-keg": (
        "Lead the line less high, or pump it: this dial lifts {lifts} at most, the line rises {rise}, and this keg "
        "bears no more than {bears}."
    ),
}


def check_lift(run: Run, pushing: Pushing, dial_bar: float, bears_bar: float, *, named: bool) -> None:
    """Refuse a rise that the dial does not lift the drink over.

    bears_bar: the highest dial that the keg bears [bar gauge]; named: the caller's own, not a usual one
    raises: Refused ("unreachable")
    """
    if dial_bar > run.line.highest_bar:
        return
    tubes = run.line.tubes
    needed_bar = rounded_up(run.needed_bar(run.line), 0.01)
    params = (
        ("lifts", Quantity("length", 1e5 * dial_bar / (tubes[0].kg_per_m3 * GRAVITY_M_PER_S2), "down")),
        ("rise", Quantity("length", max(accumulate(tube.rise_m for tube in tubes)))),
        ("needed", Quantity("pressure", needed_bar, "up")),
        ("bears", Quantity("pressure", bears_bar, "down")),
    )
    case = "keg-bears" if needed_bar <= bears_bar else "over-keg" if named else "no-keg-named"
    works_bar = rounded_down(bears_bar, 0.01) if case == "over-keg" else needed_bar
    offers = list(_ways_up(pushing, works_bar)) if works_bar > run.line.highest_bar else []
    fault = Fault("/segments", "rise-over-dial", _TEXTS[case], params)
    facts = [Fact(name, value) for name, value in params]
    raise Refused("unreachable", [fault], facts=facts, offers=offers)


def _ways_up(pushing: Pushing, works_bar: float) -> Iterator[Offer]:
    """Yield the dial that lifts the drink: under a mix that holds the level, or where there is none, as it is."""
    needed = Quantity("pressure", works_bar, "up")
    try:
        share = pushing.share_for(pushing.liquid, works_bar)
    except OutsideValidity:  # beyond the gas equations, where nothing is dialled
        return
    if share < 1.0:
        percent = float(round(100.0 * share, 1))
        text = "Push with {needed} of a mix that has {percent} % of CO2, the rest nitrogen."
        nearest = (Nearest("/dial", needed), Nearest("/gas/co2_percent", percent))
        yield Offer("mixed-gas", text, nearest, (("needed", needed), ("percent", percent)))
    else:
        yield Offer("higher-dial", "Set {needed}.", (Nearest("/dial", needed),), (("needed", needed),))
