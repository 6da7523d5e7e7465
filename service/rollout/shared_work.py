"""What is worked out once for a spec, whatever the number of venues; and what venues that are alike share."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property, lru_cache

from service import batching, safety
from service.batching import DILUTION_WATER, Allergens, Glass, Made, Rounding, Size, names_of
from service.chilling import Chilling
from service.errors import Refusals, Refused, SeveralRefused, Term
from service.limits.charging import TARGET_G_PER_L
from service.notes import Assumption, Caution, Notes, SilentNotes
from service.rollout.asked import MOVES, RolloutRequest, Standard
from service.rollout.in_vessel import InVessel, charged_in, chilled_in
from service.science.units import Quantity
from service.site import Scale, Site
from service.vessel import VesselGiven, fill_of, vessel_of

At = tuple[tuple[str, str | None], ...]
"""Where a part's vessel and fill stand in the rollout."""
KEPT = 128
"""So many batches and so many vessels are kept for the venues to come; a bound of the service, as memory is."""
OWN = "/reference"
"""Stands in the pointers of what is of the standard's own place, which no request states and no answer tells."""
SEA_LEVEL = Site(altitude_m=0.0)
"""Where the standard is."""


@dataclass(frozen=True)
class SharedWork:
    """A spec as every venue makes it.

    reference: the standard, in its vessel at sea level and exactly to the spec; None where it is refused there
    notes: what holds for every venue
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

    def notebook(self) -> Notes:
        """For what is to be said of one venue."""
        return Notes() if self.before is None else SilentNotes()

    def own(self, notes: Notes) -> Notes:
        """What of the notes does not hold of every venue anyhow."""
        assumed, cautions = self._said
        return notes.without(assumed, cautions)

    @cached_property
    def _said(self) -> tuple[frozenset[Assumption], tuple[Caution, ...]]:
        return frozenset(self.notes.assumptions), tuple(self.notes.cautions)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Every name that a price may be of."""
        dilution = (DILUTION_WATER,) if self.asked.standard.dilution is not None else ()
        return (*names_of(self.asked.spec), *dilution)

    @cached_property
    def made(self) -> Callable[..., tuple[Made, Notes]]:
        """A batch by its size, scale and steps; the same one is made once."""
        return lru_cache(maxsize=KEPT)(self._made) if self.before is None else self.before.made

    @cached_property
    def charged(self) -> Callable[..., tuple[InVessel, Notes]]:
        """A vessel by all that sets its pressure; what two venues share is worked out once."""
        return lru_cache(maxsize=KEPT)(self._charged)

    @cached_property
    def chilled(self) -> Callable[..., tuple[Chilling, Notes]]:
        """Vessels on their way to the cold, by what they are, how many and how full."""
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
    """What no venue changes: the glass, what is declared of it, the target, and the standard itself.

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
    return SharedWork(asked, glass, batching.spec_id(spec), allergens, use_by, target, reference, notes)


def tried(begun: SharedWork, standard: Standard) -> SharedWork:
    """The same spec under another standard, or under the same, for an offer to be tried out on.

    raises: Refused, SeveralRefused for a spec or a standard that no venue could make
    """
    if standard == begun.asked.standard:
        return replace(begun, before=begun)
    asked = replace(begun.asked, standard=standard)
    if standard.dilution != begun.asked.standard.dilution:
        return begin(asked, SilentNotes())
    reference = _reference(begun.glass, standard, SilentNotes())
    target = _target(standard, reference, SilentNotes())
    return replace(begun, asked=asked, target_g_per_l=target, reference=reference, before=begun)


def _reference(glass: Glass, standard: Standard, notes: Notes) -> InVessel | None:
    """The standard at sea level, in the vessel that its size names first; None where it is refused there."""
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
    """That the standard is refused at its own place, and the first reason."""
    first = refused.refusals[0] if isinstance(refused, SeveralRefused) else refused
    fault = first.faults[0]
    text = "The standard is refused at sea level: venues are held against its strength and acidity alone. {reason}"
    notes.caution("standard-refused", "warning", text, at="/standard", reason=Term(fault.text, **dict(fault.params)))


def _holds_everywhere(said: Caution | Assumption) -> bool:
    """Of the standard's own place, and of its vessel's limits, nothing does."""
    own = (OWN, "/standard") if isinstance(said, Caution) else OWN
    return not any(pointer.startswith(own) for pointer in said.pointers)


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
        text = "Make it later, or less of it: the shift goes on after the batch is to be discarded, {use_by}."
        notes.caution("past-discard", "danger", text, at="/standard/shift/starts_at", use_by=use_by)
