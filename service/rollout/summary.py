"""How far apart the venues are, in what the guest gets."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from statistics import median

from service.rollout.venue import Venue


@dataclass(frozen=True)
class Place:
    """A value, and the venue that has it."""

    value: float
    site: str


@dataclass(frozen=True)
class Spread:
    """Of the typical values of all venues that are not refused."""

    lowest: Place
    median: float
    highest: Place


@dataclass
class Spreads:
    """Gathers venue by venue; four numbers of each are kept."""

    _places: dict[str, list[Place]] = field(default_factory=dict)

    def add(self, venue: Venue) -> None:
        site = venue.site.id or ""
        for one in venue.vessels:
            self._keep("co2", one.co2_g_per_l.typical, site)
            if one.glass is not None:
                self._keep("glass", one.glass.typical, site)
        if venue.abv is not None and venue.acid_meq_per_l is not None:
            self._keep("abv", venue.abv, site)
            self._keep("titratable_acidity", venue.acid_meq_per_l, site)

    def found(self) -> Mapping[str, Spread]:
        """By name of what spreads; what no venue has is left out."""
        return {name: _spread(places) for name, places in self._places.items()}

    def _keep(self, name: str, value: float, site: str) -> None:
        self._places.setdefault(name, []).append(Place(value, site))


def _spread(places: list[Place]) -> Spread:
    return Spread(
        min(places, key=lambda place: place.value),
        median(place.value for place in places),
        max(places, key=lambda place: place.value),
    )
