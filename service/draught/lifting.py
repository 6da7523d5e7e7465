"""A rise that the dial does not lift the drink over, and what does."""

from collections.abc import Iterator
from itertools import accumulate

from service.draught.pushing import Pushing
from service.draught.run import Run
from service.errors import Fact, Fault, Nearest, Offer, Refused
from service.science.flow import GRAVITY_M_PER_S2
from service.science.rounding import rounded_up
from service.science.units import Quantity
from service.science.validity import OutsideValidity


def check_lift(run: Run, pushing: Pushing, dial_bar: float) -> None:
    """Refuse a rise that the dial does not lift the drink over.

    raises: Refused ("unreachable")
    """
    if dial_bar > run.line.highest_bar:
        return
    tubes = run.line.tubes
    lifts = Quantity("length", 1e5 * dial_bar / (tubes[0].kg_per_m3 * GRAVITY_M_PER_S2), "down")
    rise = Quantity("length", max(accumulate(tube.rise_m for tube in tubes)))
    needed = Quantity("pressure", rounded_up(run.needed_bar(run.line), 0.01), "up")
    text = "This dial lifts {lifts} at most and the line rises {rise}: the pour that is asked for takes {needed}."
    params = (("lifts", lifts), ("rise", rise), ("needed", needed))
    facts = [Fact(name, value) for name, value in params]
    fault = Fault("/segments", "rise-over-dial", text, params)
    raise Refused("unreachable", [fault], facts=facts, offers=list(_ways_up(pushing, needed.value)))


def _ways_up(pushing: Pushing, needed_bar: float) -> Iterator[Offer]:
    """Yield the dial that the line needs: under a mix that holds the level, or where there is none, as it is."""
    needed = Quantity("pressure", needed_bar, "up")
    try:
        share = pushing.share_for(pushing.liquid, needed_bar)
    except OutsideValidity:  # beyond the gas equations, where nothing is dialled
        return
    if share < 1.0:
        percent = float(round(100.0 * share, 1))
        text = "Push with {needed} of a mix that has {percent} % of CO2, the rest nitrogen."
        nearest = (Nearest("/dial", needed), Nearest("/gas/co2_percent", percent))
        yield Offer("mixed-gas", text, nearest, (("needed", needed), ("percent", percent)))
    else:
        yield Offer("higher-dial", "Set {needed}.", (Nearest("/dial", needed),), (("needed", needed),))
