"""The cold places of an evening: which one chills, where vessels stand until they are served, and in what lots."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.errors import Fact, Fault, Refused
from service.evening.asked import ServicePlanRequest
from service.limits.serving import COLD_HOLD_C
from service.notes import Notes
from service.science.mixture import ENVIRONMENTS
from service.science.units import Quantity
from service.site import ColdPlace, EnvironmentKey

ENOUGH: EnvironmentKey = "ice-water"
"""The cold place of a house that states none."""


@dataclass(frozen=True)
class Place:
    """A cold place that no charged vessel freezes in.

    at: JSON Pointer of it, None of one that is assumed; holds_ml: None where it takes everything
    """

    name: str
    kind: EnvironmentKey
    holds_ml: float | None
    temperature_c: float | None
    power_w: float | None
    ice_g: float | None
    at: str | None

    @property
    def coldest_c(self) -> float:
        """Return its temperature, as stated or as such places have it [degC]."""
        return ENVIRONMENTS[self.kind].temperature_c if self.temperature_c is None else self.temperature_c

    @property
    def keeps(self) -> bool:
        """Tell whether a made batch may stand in it."""
        return self.coldest_c <= COLD_HOLD_C

    @property
    def melts(self) -> bool:
        """Tell whether ice chills there."""
        return ENVIRONMENTS[self.kind].to_room is not None

    def takes(self, volume_ml: float) -> bool:
        """Tell whether so much fits, by brimful capacities."""
        return self.holds_ml is None or volume_ml <= self.holds_ml * (1.0 + 1e-9)

    def power_for(self, drinks: int) -> float | None:
        """Return the power for each of several drinks that chill there at once [W]; None for the usual one, whole."""
        if drinks == 1 or self.melts:
            return self.power_w
        usual = ENVIRONMENTS[self.kind].cools_w
        stated = self.power_w if self.power_w is not None or usual is None else usual.low
        return None if stated is None else stated / drinks


def chilling_place(places: Sequence[Place], capacity_ml: float, at: str) -> Place:
    """Return the place that chills fastest of those that take one vessel.

    raises: Refused ("cannot-be-ready")
    """
    for one in places:
        if one.takes(capacity_ml):
            return one
    needs, most = Quantity("volume", capacity_ml), max((one.holds_ml or 0.0 for one in places), default=0.0)
    text = "No cold place takes one vessel of {needs}; the largest takes {most}."
    params = (("needs", needs), ("most", Quantity("volume", most)))
    raise Refused("cannot-be-ready", [Fault(at, "no-place-for-vessel", text, params)], facts=[Fact("needed", needs)])


def places_of(asked: ServicePlanRequest, notes: Notes) -> tuple[Place, ...]:
    """Return the cold places that may be used, the one that chills fastest first.

    raises: Refused ("cannot-be-ready") where there are only freezers and brine
    """
    at, stated = ("/cold", asked.cold) if asked.cold else ("/site/cold", asked.site.cold if asked.site else ())
    if not stated:
        notes.assume("cold places", "ice and water that takes all at once", "default", at="/cold")
        return (Place(ENOUGH, ENOUGH, None, None, None, None, None),)
    usable = [(i, one) for i, one in enumerate(stated) if not ENVIRONMENTS[one.kind].freezes]
    freezers = [f"{at}/{i}" for i, one in enumerate(stated) if ENVIRONMENTS[one.kind].freezes]
    if not usable:
        text = "A charged vessel never goes into a freezer or salted ice: state ice and water, a fridge or a cold room."
        raise Refused("cannot-be-ready", [Fault(f"{at}/0/kind", "only-freezers", text)])
    if freezers:
        text = "A charged vessel never goes into a freezer or salted ice: the plan leaves them out."
        notes.caution("freezer-left-out", "info", text, at=tuple(freezers))
    found = [_place(one, i, stated, at) for i, one in usable]
    return tuple(sorted(found, key=lambda one: (-ENVIRONMENTS[one.kind].u_w_per_m2_k.typical, one.coldest_c, one.name)))


def _place(one: ColdPlace, i: int, stated: Sequence[ColdPlace], at: str) -> Place:
    alike = [j for j, other in enumerate(stated) if other.kind == one.kind]
    name = one.kind if len(alike) == 1 else f"{one.kind}/{alike.index(i) + 1}"
    return Place(name, one.kind, one.holds_ml, one.temperature_c, one.cooling_power_w, one.ice_g, f"{at}/{i}")
