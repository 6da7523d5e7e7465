"""What a rollout answers: every venue, and what holds of all of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, Literal

from service.batching import Allergens, Cost, Fill
from service.chilling import Chilling
from service.declared import ACIDITY, CO2, PROBLEM, THREE_WAYS, Declared, Inline, shape, text
from service.money import Money
from service.notes import Assumption, Caution
from service.rollout.changes import Change
from service.rollout.differs import Differs
from service.rollout.in_vessel import InVessel
from service.rollout.shared_work import SharedWork
from service.rollout.summary import Summary
from service.rollout.venue import Saying, Venue, VenueBatch, VenueVessel
from service.site import Site


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
    """What venues are held against: exactly to the spec, at sea level, in the vessel that its size names first.

    Absent are the pressures of a standard that is refused there itself.
    """

    target_g_per_l: Annotated[float, CO2]
    abv: Declared[float]
    titratable_acidity_meq_per_l: Annotated[float, ACIDITY, THREE_WAYS]
    reference: Inline[InVessel | None]


@dataclass(frozen=True)
class RolloutEnd:
    """What is known once every venue is worked out."""

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
