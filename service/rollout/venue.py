"""One venue of a rollout: its batch, its vessels, what it costs there, and what it does otherwise than the standard."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Annotated

from service import batching
from service.batching import Cost, Fill, Line, Made, Size, Weighing, by_jug_of
from service.chilling import Chilling
from service.declared import ACIDITY, CODE, MASS, THREE_WAYS, VOLUME, Declared, Inline, Params, Sentence, shape
from service.drink import assume_ounces
from service.errors import Fault, Refusals, Refused, SeveralRefused, within_validity
from service.limits.vessels import DEFAULT_FILL
from service.notes import Notes, SilentNotes, Value
from service.regas import asked_pours
from service.rollout.asked import MOVES, Standard
from service.rollout.changes import Change, Version, changes
from service.rollout.differs import Differs, as_made, differs
from service.rollout.in_vessel import InVessel
from service.rollout.shared_work import At, SharedWork
from service.science.units import Quantity
from service.site import Site
from service.vessel import VesselGiven, vessel_of

Worked = tuple[Made, tuple[Fill, ...], tuple[Chilling, ...], tuple[InVessel, ...]]
"""The batch of a venue, and each kind of vessel as it is filled, chilled and charged."""


@shape("RolloutSentence")
@dataclass(frozen=True)
class Saying:
    """A line to read out at the venue, its numbers and dates in the manner of the place."""

    code: Annotated[str, CODE]
    text: Sentence
    params: Params = field(default_factory=dict)


@shape("RolloutBatch")
@dataclass(frozen=True)
class VenueBatch:
    """The batch of a venue; abv and titratable_acidity as its scale makes them, or its jug where it states no scale."""

    made: Made
    abv: Annotated[float | None, "Absent where nothing is left of a component."]
    titratable_acidity_meq_per_l: Annotated[float | None, ACIDITY, THREE_WAYS]

    @property
    def serves(self) -> Declared[int]:
        return self.made.serves

    @property
    def volume_ml(self) -> Annotated[float, VOLUME]:
        return self.made.drink.volume_ml

    @property
    def mass_g(self) -> Annotated[float, MASS]:
        return self.made.drink.masses.total_g

    @property
    def components(self) -> Declared[tuple[Line, ...]]:
        return self.made.components

    @property
    def weighing(self) -> Declared[tuple[Weighing, ...]]:
        return self.made.weighing


@shape("RolloutVessel")
@dataclass(frozen=True)
class VenueVessel:
    """One kind of vessel at a venue."""

    fill: Declared[Fill]
    found: Inline[InVessel]
    chilling: Declared[Chilling]
    regas_at: Declared[datetime | None]


@dataclass(frozen=True)
class Venue:
    """One venue. fills, chilled, vessels: each kind of vessel, in the order of the request.

    notes: what is to be said of this venue alone; pointers begin with /site
    """

    site: Site
    batch: VenueBatch
    fills: tuple[Fill, ...]
    chilled: tuple[Chilling, ...]
    vessels: tuple[InVessel, ...]
    cost: Cost | None
    differs: tuple[Differs, ...]
    says: tuple[Saying, ...]
    changes: tuple[Change, ...] | None
    notes: Notes


def venue(work: SharedWork, site: Site) -> Venue:
    """Return the spec as one venue makes it, whatever the other venues are.

    raises: Refused, SeveralRefused, OutsideValidity; pointers begin with /site where they are of the venue
    """
    notes = work.notebook()
    made, fills, chilled, found = _worked(work, site, notes)
    _caution_short(work.asked.standard, made, notes)
    cost = _cost(site, made, notes) if site.prices else None
    drift, drink = as_made(site, made), work.glass.serve
    return Venue(
        site=site,
        batch=VenueBatch(
            made,
            None if drift is None else drink.abv + drift.abv,
            None if drift is None else drink.acid_meq_per_l + drift.titratable_acidity_meq_per_l,
        ),
        fills=fills,
        chilled=chilled,
        vessels=found,
        cost=cost,
        differs=tuple(differs(work, site, made, found)),
        says=tuple(_sayings(work, found)),
        changes=_changes(work, site, Version(made, fills, found, cost, work.allergens)),
        notes=notes,
    )


def _changes(work: SharedWork, site: Site, now: Version) -> tuple[Change, ...] | None:
    """Return what the venue must change from the version before; None where there is none."""
    if work.earlier is None:
        return None
    notes = SilentNotes()
    try:
        with within_validity():
            made, fills, _, found = _worked(work.earlier, replace(site, prices=()), notes)
    except (Refused, SeveralRefused):
        text = "The version before was refused here: all of this one is new."
        return (Change("/site", "refused-before", text, {"before": "refused", "now": "ok"}),)
    cost = _cost(site, made, notes) if site.prices else None
    return tuple(changes(Version(made, fills, found, cost, work.earlier.allergens), now))


def check(work: SharedWork, site: Site) -> None:
    """Refuse all that `venue` refuses, for less work: nothing is costed or put into words."""
    made, _, _, found = _worked(work, site, work.notebook())
    tuple(differs(work, site, made, found))


def _worked(work: SharedWork, site: Site, notes: Notes) -> Worked:
    refusals = Refusals()
    size, vessels = _size(work, site)
    with refusals.gather(), notes.within(MOVES):
        batching.check_prices(site.prices, None, work.names)
    at: At = (("/size/vessels", "/site/vessels"),) if site.vessels else ()
    batches: list[Made] = []
    with refusals.gather():
        steps = by_jug_of(site.units or work.asked.system, work.asked.standard.rounding)
        made, noted = work.made(size, site.scale, steps, at)
        batches.append(made)
        notes.join(noted)
    if not batches:
        refusals.raise_all()
    made = batches[0]
    chilled, found, conditions = list[Chilling](), list[InVessel](), _conditions(site)
    fills = made.fills or (_filled(made),)
    for (given, where), fill in zip(vessels, fills, strict=True):
        share = fill.liquid_ml / (fill.liquid_ml + fill.headspace_ml)
        with refusals.gather():
            cold, noted = work.chilled(given, fill.count, share, where)
            chilled.append(cold)
            notes.join(noted)
        with refusals.gather():
            one, noted = work.charged(given, share, conditions, where)
            found.append(one)
            notes.join(noted)
    refusals.raise_any()
    return made, fills, tuple(chilled), tuple(found)


def _size(work: SharedWork, site: Site) -> tuple[Size, list[tuple[VesselGiven | None, At]]]:
    """Return the amount that the venue makes, and each kind of vessel with its pointer in the rollout.

    raises: Refused ("impossible-batch") where neither the venue nor the standard says how much
    """
    size, at = work.asked.standard.size, "/standard/size"
    if site.vessels:
        size, at = Size(vessels=site.vessels), "/site"
    if size is None:
        text = "State the venue's vessels, or a size of the standard."
        raise Refused("impossible-batch", [Fault("/site/vessels", "no-size", text)])
    if not size.kinds:
        return size, [(None, (("/vessel", None), ("/fill", None)))]
    places = ((at + kind.at, kind.vessel) for kind in size.kinds)
    return size, [(given, (("/vessel", f"{here}/vessel"), ("/fill", f"{here}/fill"))) for here, given in places]


def _filled(made: Made) -> Fill:
    """Return the usual vessels that the batch fills, where none are named."""
    return batching.fills_for(made.drink.volume_ml, vessel_of(None, Notes()), DEFAULT_FILL)


def _caution_short(standard: Standard, made: Made, notes: Notes) -> None:
    shift = standard.shift
    if shift is None or shift.lasts_s is None:
        return
    asked = asked_pours(shift.lasts_s, 3600.0 / shift.serves_per_hour)
    if asked > made.serves:
        text = "The shift asks for {asked} pours; the vessels hold {held}."
        notes.caution("runs-out", "warning", text, at="/site/vessels", asked=float(asked), held=float(made.serves))


def _conditions(site: Site) -> Site:
    """Return all that sets the pressures of a venue; venues that agree in it are worked out together."""
    return replace(
        site,
        id=None,
        name=None,
        scale=None,
        room_volume_ml=None,
        units=None,
        locale=None,
        time_zone=None,
        vessels=(),
        prices=(),
    )


def _cost(site: Site, made: Made, notes: Notes) -> Cost:
    with notes.within(MOVES):
        at = (f"/prices/{i}/content" for i, price in enumerate(site.prices) if price.content.unit == "oz")
        assume_ounces(tuple(at), notes)
        return batching.cost_of(made.components, site.prices, None, made.serves, notes)


def _sayings(work: SharedWork, found: tuple[InVessel, ...]) -> Iterator[Saying]:
    """Yield the lines that are read out at the bar, one for each thing to do."""
    for one in found:
        plan, never_over = one.charging.planned, one.charging.never_over_bar_gauge
        dial, most = Quantity("pressure", plan.dial_bar_gauge), Quantity("pressure", never_over, "down")
        params: dict[str, Value] = {"vessel": one.vessel.name, "dial": dial, "never_over": most}
        params["temperature"] = Quantity("temperature", plan.temperature_c)
        yield Saying("dial", "{vessel}: dial {dial} at {temperature}, never over {never_over}.", params)
        yield from _regas(work, one)
    if work.use_by is not None:
        yield Saying("discard", "Discard at {use_by}.", {"use_by": work.use_by})


def _regas(work: SharedWork, one: InVessel) -> Iterator[Saying]:
    shift, after = work.asked.standard.shift, one.regas_after
    if after is None or shift is None:
        return
    params: dict[str, Value] = {"vessel": one.vessel.name}
    text = "{vessel}: usually each of its pours makes the floor; re-gas only where a glass is flat"
    if after.usually_due:
        params |= {"pour": after.pours.typical, "lasts": Quantity("duration", 60.0 * after.minutes.typical)}
        text = "{vessel}: re-gas after its pour {pour}, or {lasts}"
        if shift.starts_at is not None:
            params["at"] = shift.starts_at + timedelta(minutes=after.minutes.typical)
            text += ", the first at {at}"
    yield Saying("regas", f"{text}; never below a third full.", params)
