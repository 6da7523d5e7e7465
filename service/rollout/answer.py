"""The answer of a rollout: every venue, how far apart they are in the glass, and the standard they are held against."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from statistics import median
from typing import Annotated, Any, Literal

from service.batching import Allergens, Cost, Fill
from service.chilling import Chilling
from service.declared import ACIDITY, CO2, FIGURE, INLINE, PROBLEM, THREE_WAYS, Declared, Inline, shape, text
from service.money import Money
from service.notes import Assumption, Caution
from service.rollout.changes import Change
from service.rollout.differs import Differs
from service.rollout.in_vessel import InVessel
from service.rollout.shared_work import SharedWork
from service.rollout.venue import Saying, Venue, VenueBatch, VenueVessel
from service.science.units import Kind, Quantity
from service.site import Site

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
    """The spread of the typical figures of all venues that are not refused."""

    lowest: Declared[Place]
    median: Annotated[Figure, FIGURE]
    highest: Declared[Place]


@shape("RolloutSummary")
@dataclass(frozen=True)
class Summary:
    """The spread of what the guest gets; what no venue has is left out."""

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
        """Return how far apart the venues are in each figure."""
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


@shape("RolloutSiteAnswer")
@dataclass(frozen=True, kw_only=True)
class VenueAnswer:
    """One venue, in its own units: how it makes the drink, or the problem with pointers into the whole request.

    Pressure, charges, chilling, glass and re-gas are those of its first kind of vessel; cautions and assumptions are
    those that do not hold of every venue.
    """

    id: Annotated[str, text(64)]
    name: Annotated[str | None, text(200)]
    first: Inline[InVessel | None] = None
    chilling: Declared[Chilling | None] = None
    batch: Declared[VenueBatch | None] = None
    fills: Declared[tuple[Fill, ...] | None] = None
    regas_at: Annotated[datetime | None, "The first re-gas that is usually due, where the shift states its start."] = (
        None
    )
    other_vessels: Annotated[tuple[VenueVessel, ...] | None, "Its further kinds of vessels."] = None
    use_by: Declared[datetime | None] = None
    cost: Declared[Cost | None] = None
    outlay: Declared[Money | None] = None
    differs: Declared[tuple[Differs, ...] | None] = None
    says: Declared[tuple[Saying, ...] | None] = None
    changes: Annotated[
        tuple[Change, ...] | None, "From the version before, where the request has one; none where nothing changes."
    ] = None
    cautions: Declared[tuple[Caution, ...] | None] = None
    assumptions: Declared[tuple[Assumption, ...] | None] = None
    problem: Annotated[Mapping[str, Any] | None, PROBLEM] = None

    @property
    def status(self) -> Declared[Literal["ok", "refused"]]:
        return "ok" if self.problem is None else "refused"


def venue_answer(found: Venue, work: SharedWork) -> VenueAnswer:
    """Return a venue as it is answered."""
    shift = work.asked.standard.shift
    first, *others = zip(found.fills, found.vessels, found.chilled, strict=True)
    further = tuple(VenueVessel(fill, one, cold, one.regas_at(shift)) for fill, one, cold in others)
    return VenueAnswer(
        id=found.site.id or "",
        name=found.site.name,
        first=first[1],
        chilling=first[2],
        batch=found.batch,
        fills=found.fills,
        regas_at=first[1].regas_at(shift),
        other_vessels=further or None,
        use_by=work.use_by,
        cost=found.cost,
        outlay=None if found.cost is None else found.cost.outlay,
        differs=found.differs,
        says=found.says,
        changes=found.changes,
        cautions=tuple(found.notes.cautions),
        assumptions=tuple(found.notes.assumptions),
    )


def refused_answer(site: Site, problem: Mapping[str, Any]) -> VenueAnswer:
    """Return a venue that is refused."""
    return VenueAnswer(id=site.id or "", name=site.name, problem=problem)


@dataclass(frozen=True)
class RolloutStandard:
    """The venue that all are held against: exactly to the spec, at sea level, in the vessel that its size names first.

    Absent are the pressures of a standard that is refused there itself.
    """

    target_g_per_l: Annotated[float, CO2]
    abv: Declared[float]
    titratable_acidity_meq_per_l: Annotated[float, ACIDITY, THREE_WAYS]
    reference: Inline[InVessel | None]


@dataclass(frozen=True)
class RolloutEnd:
    """The figures about all venues, known once every venue is worked out."""

    refused: Annotated[int, "How many of the sites are."]
    summary: Declared[Summary]
    standard: Declared[RolloutStandard]
    spec_id: Annotated[str, text(100)]
    to_declare: Inline[Allergens]


@dataclass(frozen=True)
class Rollout:
    """Every venue in the order of the request; cautions and assumptions are those that hold of all."""

    sites: Declared[tuple[VenueAnswer, ...]]
    end: Inline[RolloutEnd]


def rollout_end(work: SharedWork, refused: int, summary: Summary) -> RolloutEnd:
    """Return what holds of all venues."""
    drink = work.glass.serve
    standard = RolloutStandard(work.target_g_per_l, drink.abv, drink.acid_meq_per_l, work.reference)
    return RolloutEnd(refused, summary, standard, work.spec_id, work.allergens)
