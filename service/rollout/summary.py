"""How far apart the venues are, in what the guest gets."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Annotated

from service.declared import FIGURE, INLINE, Declared, shape, text
from service.rollout.venue import Venue
from service.science.units import Kind, Quantity

Figure = Quantity | float
KINDS: dict[str, Kind] = {"co2": "co2", "glass": "co2", "titratable_acidity": "acidity"}
"""Kind of quantity that spreads; a strength has no unit."""


@dataclass(frozen=True)
class Place:
    """A figure, and the venue that has it."""

    figure: Annotated[Figure, FIGURE, INLINE]
    site: Annotated[str, text(64)]


@dataclass(frozen=True)
class Spread:
    """Of the typical figures of all venues that are not refused."""

    lowest: Declared[Place]
    median: Annotated[Figure, FIGURE]
    highest: Declared[Place]


@shape("RolloutSummary")
@dataclass(frozen=True)
class Summary:
    """How far apart what the guest gets is; what no venue has is left out."""

    co2: Annotated[Spread | None, "In the vessel once it is charged: the same everywhere."] = None
    glass: Annotated[Spread | None, "In the first glass, which the altitude changes."] = None
    abv: Declared[Spread | None] = None
    titratable_acidity: Declared[Spread | None] = None


@dataclass
class Spreads:
    """Gathers venue by venue; four numbers of each are kept."""

    _places: dict[str, list[tuple[float, str]]] = field(default_factory=dict)

    def add(self, venue: Venue) -> None:
        site = venue.site.id or ""
        for one in venue.vessels:
            self._keep("co2", one.co2_g_per_l.typical, site)
            if one.glass_g_per_l is not None:
                self._keep("glass", one.glass_g_per_l.typical, site)
        if venue.batch.abv is not None and venue.batch.titratable_acidity_meq_per_l is not None:
            self._keep("abv", venue.batch.abv, site)
            self._keep("titratable_acidity", venue.batch.titratable_acidity_meq_per_l, site)

    def found(self) -> Summary:
        """Return how far apart the venues are."""
        return Summary(**{name: _spread(places, KINDS.get(name)) for name, places in self._places.items()})

    def _keep(self, name: str, value: float, site: str) -> None:
        self._places.setdefault(name, []).append((value, site))


def _spread(places: Sequence[tuple[float, str]], kind: Kind | None) -> Spread:
    def figure(value: float) -> Figure:
        return value if kind is None else Quantity(kind, value)

    lowest, highest = min(places, key=lambda place: place[0]), max(places, key=lambda place: place[0])
    return Spread(
        Place(figure(lowest[0]), lowest[1]),
        figure(median(value for value, _ in places)),
        Place(figure(highest[0]), highest[1]),
    )
