"""The fill of a vessel: the usual, the highest, and the one that a request states."""

from service.errors import Fact, Fault, Nearest, Refused
from service.limits.vessels import DEFAULT_FILL, DEFAULT_KEG_FILL, MOST_FILL, MOST_KEG_FILL
from service.notes import Notes
from service.vessel.kinds import Vessel
from service.vessel.soundness import COOL_FIRST


def usual_fill(vessel: Vessel) -> float:
    """Return the usual fill of such a vessel, share of brimful."""
    return DEFAULT_KEG_FILL if vessel.is_keg else DEFAULT_FILL


def most_fill(vessel: Vessel) -> float:
    """Return the highest fill of such a vessel, share of brimful."""
    return MOST_KEG_FILL if vessel.is_keg else MOST_FILL


def fill_of(given: float | None, vessel: Vessel, notes: Notes, *, at: str = "/fill", observed: bool = False) -> float:
    """Return the share of brimful that is liquid.

    observed: the vessel is as it is; one that is too full is told, not refused
    raises: Refused ("no-headspace") for more than `most_fill`
    """
    if given is None:
        usual = usual_fill(vessel)
        notes.assume("fill, share of brimful", usual, "common-practice", at=at)
        return usual
    most = most_fill(vessel)
    if given <= most + 1e-9:
        return given
    text = "Over {most} of brimful nothing cushions the pressure."
    params = (("most", most),)
    if observed:
        notes.caution("no-headspace", "danger", f"{text} {COOL_FIRST}", at=at, most=most)
        return given
    raise Refused(
        "no-headspace",
        [Fault(at, "no-headspace", f"{text} Fill less.", params)],
        facts=[Fact("fill", given), Fact("most_fill", most)],
        nearest=[Nearest(at, most)],
    )
