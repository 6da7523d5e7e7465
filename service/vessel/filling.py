"""The fill of a vessel: the usual, the highest, and the one that a request states."""

from service.errors import Fact, Fault, Nearest, Refused
from service.limits.vessels import DEFAULT_FILL, DEFAULT_KEG_FILL, MOST_FILL, MOST_KEG_FILL
from service.notes import Notes
from service.vessel.kinds import Vessel


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
    if observed:
        text = (
            "It is too full: over {most} of brimful nothing cushions the pressure. Do not touch, carry or shake it: "
            "cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away "
            "from faces. A cap is no relief valve."
        )
        notes.caution("no-headspace", "danger", text, at=at, most=most)
        return given
    text = "Fill less: over {most} of brimful nothing cushions the pressure."
    raise Refused(
        "no-headspace",
        [Fault(at, "no-headspace", text, (("most", most),))],
        facts=[Fact("fill", given), Fact("most_fill", most)],
        nearest=[Nearest(at, most)],
    )
