"""Work done once for a spec, whatever the number of venues, and work that venues share which are alike."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property, lru_cache

from service import batching, safety
from service.batching import DILUTION_WATER, Allergens, Glass, Made, Rounding, Size, names_of
from service.chilling import Chilling
from service.errors import Refusals, Refused, SeveralRefused
from service.limits.charging import TARGET_G_PER_L
from service.notes import Assumption, Caution, Notes, SilentNotes
from service.rollout.asked import MOVES, RolloutRequest, Standard
from service.rollout.in_vessel import InVessel, charged_in, chilled_in
from service.science.units import Quantity
from service.site import Scale, Site
from service.vessel import VesselGiven, fill_of, vessel_of

At = tuple[tuple[str, str | None], ...]
"""Pointers of a part's vessel and fill in the rollout."""
KEPT = 128
"""Most batches and most vessels that are kept for the venues to come, to bound memory."""
OWN = "/reference"
"""Prefix of pointers to the standard's own place, which no request states and no answer shows."""
SEA_LEVEL = Site(altitude_m=0.0)
"""Altitude of the standard's own place."""


@dataclass(frozen=True)
class SharedWork:
    """A spec as every venue makes it.

    reference: the standard, in its vessel at sea level and exactly to the spec; None where it is refused there
    notes: what holds for every venue
    earlier: the version before, where this one is held against it
    before: the rollout that this one tries an offer for, of the same glass: it makes the batches of both, and of this
        one nothing is told
    """

    asked: RolloutRequest
    glass: Glass
    spec_id: str
    allergens: Allergens
    use_by: datetime | None
    target_g_per_l: float
    reference: InVessel | None
    notes: Notes
    before: "SharedWork | None" = None
    earlier: "SharedWork | None" = None

    def notebook(self) -> Notes:
        """Return notes for one venue alone."""
        return Notes() if self.before is None else SilentNotes()

    def own(self, notes: Notes) -> Notes:
        """Return the notes of a venue that do not hold of every venue anyhow."""
        assumed, cautions = self._common
        return notes.without(assumed, cautions)

    @cached_property
    def _common(self) -> tuple[frozenset[Assumption], tuple[Caution, ...]]:
        return frozenset(self.notes.assumptions), tuple(self.notes.cautions)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Every name that a price may be given for."""
        dilution = (DILUTION_WATER,) if self.asked.standard.dilution is not None else ()
        return (*names_of(self.asked.spec), *dilution, *(self.earlier.names if self.earlier is not None else ()))

    @cached_property
    def made(self) -> Callable[..., tuple[Made, Notes]]:
        """Batches by size, scale and steps; the same one is made once."""
        return lru_cache(maxsize=KEPT)(self._made) if self.before is None else self.before.made

    @cached_property
    def charged(self) -> Callable[..., tuple[InVessel, Notes]]:
        """Charged vessels by all that sets their pressure; one that two venues share is worked out once."""
        return lru_cache(maxsize=KEPT)(self._charged)

    @cached_property
    def chilled(self) -> Callable[..., tuple[Chilling, Notes]]:
        """Chilled vessels by kind, number and fill; venues that agree in them share one."""
        return lru_cache(maxsize=KEPT)(self._chilled)

    def _made(self, size: Size, scale: Scale | None, rounding: Rounding | None, at: At) -> tuple[Made, Notes]:
        notes, refusals = Notes(), Refusals()
        with notes.within(MOVES | dict(at)):
            with refusals.gather():
                batching.check_scale(scale)
            found = batching.make(self.glass, size, notes, refusals, rounding=rounding, scale=scale)
        return found, self.own(notes)

    def _chilled(self, given: VesselGiven | None, count: int, share: float, at: At) -> tuple[Chilling, Notes]:
        notes = self.notebook()
        with notes.within(MOVES | dict(at)):
            found = chilled_in(self.glass.serve, given, count, share, self.asked.standard, notes=notes)
        return found, self.own(notes)

    def _charged(self, given: VesselGiven | None, share: float, site: Site, at: At) -> tuple[InVessel, Notes]:
        notes = self.notebook()
        with notes.within(MOVES | dict(at)):
            found = charged_in(
                self.glass.serve, given, share, self.asked.standard, site, target_g_per_l=self.target_g_per_l,
                serve_ml=self.glass.serve.volume_ml, notes=notes,
            )  # fmt: skip
        return found, self.own(notes)


def begin(asked: RolloutRequest, notes: Notes) -> SharedWork:
    """Work out all that no venue changes: the glass, its declarations, the target, and the standard itself.

    raises: Refused, SeveralRefused for a spec or a standard that no venue could make
    """
    spec, standard, refusals = asked.spec, asked.standard, Refusals()
    with notes.within(MOVES):
        glass = batching.glass_of(spec, standard.dilution, notes, refusals)
        refusals.raise_any()
        safety.check_known(glass.serve)
        safety.check_dead(glass.serve)
        allergens = batching.allergens_of(spec, notes)
        use_by = batching.use_by(
            spec, glass.parts, glass.serve, made_at=standard.made_at, house_maximum_s=standard.house_maximum_s,
            notes=notes,
        )  # fmt: skip
    reference = _reference(glass, standard, notes)
    target = _target(standard, reference, notes)
    _caution_discard(standard, use_by, notes)
    earlier = _earlier(asked)
    return SharedWork(
        asked, glass, batching.spec_id(spec), allergens, use_by, target, reference, notes, earlier=earlier
    )


def _earlier(asked: RolloutRequest) -> SharedWork | None:
    """Return the version before, of which nothing is told but what differs.

    raises: Refused, SeveralRefused for one that no venue could have made
    """
    against = asked.against
    if against is None:
        return None
    before = replace(asked, spec=against.spec or asked.spec, standard=against.standard or asked.standard, against=None)
    moves = {name: f"/against{name}" for name in ("/spec", "/standard") if getattr(against, name[1:]) is not None}
    notes = SilentNotes()
    with notes.within(moves):
        return begin(before, notes)


def begin_with_offer(begun: SharedWork, standard: Standard) -> SharedWork:
    """Return the same work under another standard, or under the same, to try an offer out on.

    raises: Refused, SeveralRefused for a spec or a standard that no venue could make
    """
    if standard == begun.asked.standard:
        return replace(begun, before=begun)
    asked = replace(begun.asked, standard=standard, against=None)
    if standard.dilution != begun.asked.standard.dilution:
        return begin(asked, SilentNotes())
    reference = _reference(begun.glass, standard, SilentNotes())
    target = _target(standard, reference, SilentNotes())
    return replace(begun, asked=asked, target_g_per_l=target, reference=reference, before=begun)


def _reference(glass: Glass, standard: Standard, notes: Notes) -> InVessel | None:
    """Return the standard at sea level, in the vessel that its size names first; None where it is refused there."""
    named = standard.size.kinds[0] if standard.size and standard.size.kinds else None
    at = f"/standard/size{named.at}" if named else OWN
    moves = MOVES | {"/vessel": f"{at}/vessel", "/fill": f"{at}/fill"}
    moves |= dict.fromkeys(("/site", "/gauge_pressure", "/scale"), OWN)
    own, given = Notes(), named.vessel if named else None
    try:
        with own.within(moves):
            batching.make(glass, Size(serves=1), own, Refusals(), rounding=standard.rounding)
            share = fill_of(named.fill if named else None, vessel_of(given, own), own)
            chilled_in(glass.serve, given, 1, share, standard, notes=own)
            found = charged_in(
                glass.serve, given, share, standard, SEA_LEVEL, target_g_per_l=standard.carbonation.target_g_per_l,
                serve_ml=glass.serve.volume_ml, notes=own,
            )  # fmt: skip
    except (Refused, SeveralRefused) as refused:
        _caution_refused(refused, notes)
        return None
    notes.join(own, wanted=_holds_everywhere)
    return found


def _caution_refused(refused: Refused | SeveralRefused, notes: Notes) -> None:
    """Warn that the standard is refused at its own place, with the first reason."""
    first = refused.refusals[0] if isinstance(refused, SeveralRefused) else refused
    fault = first.faults[0]
    lead = "At sea level the standard itself is refused, so venues are held against its strength and acidity alone."
    notes.caution("standard-refused", "warning", f"{lead} {fault.text}", at="/standard", **dict(fault.params))


def _holds_everywhere(note: Caution | Assumption) -> bool:
    """Tell whether a note holds for every venue: not one about the standard's own place or its vessel's limits."""
    own = (OWN, "/standard") if isinstance(note, Caution) else OWN
    return not any(pointer.startswith(own) for pointer in note.pointers)


def _target(standard: Standard, reference: InVessel | None, notes: Notes) -> float:
    if standard.carbonation.target_g_per_l is not None:
        return standard.carbonation.target_g_per_l
    if reference is not None:
        return reference.charging.planned.target_g_per_l
    at = "/standard/carbonation/target"
    notes.assume("target", Quantity("co2", TARGET_G_PER_L), "common-practice", "highball or soda", at=at)
    return TARGET_G_PER_L


def _caution_discard(standard: Standard, use_by: datetime | None, notes: Notes) -> None:
    shift = standard.shift
    if use_by is None or shift is None or shift.starts_at is None:
        return
    if shift.starts_at + timedelta(seconds=shift.lasts_s or 0.0) > use_by:
        text = "The shift goes on after the batch is to be discarded, {use_by}: make it later, or less of it."
        notes.caution("past-discard", "danger", text, at="/standard/shift/starts_at", use_by=use_by)
