"""The drinks of an evening: how many serves and vessels of each, and all that a prep sheet works out for them."""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import timedelta
from math import ceil, floor

from service import batching
from service.batching import Allergens, Batch, BatchRequest, Size, allergens_of
from service.carbonation import CarbonationPlan
from service.draught import DraughtGiven
from service.drink import DrinkGiven, drink_of
from service.errors import Fact, Fault, Refusals, Refused, SeveralRefused
from service.evening.asked import EveningDrink, Ready, ServicePlanRequest, prices_of
from service.evening.demand import Wanted, wanted
from service.evening.places import Place, chilling_place
from service.limits.charging import ROCK_S, TARGET_G_PER_L
from service.limits.draught import TARGET_G_PER_L as DRAUGHT_G_PER_L
from service.limits.evening import AHEAD_S
from service.notes import Notes, SilentNotes
from service.prep_sheet import ChillPlan, Parts, PrepSheetRequest, PrepSolution, on_draught, prepare, solutions_for
from service.science.units import Quantity
from service.setting import attempt
from service.vessel import SizedVessel, Vessel, VesselGiven, fill_of, most_fill, vessel_of

NOISE = 1e-9
"""Relative; a volume that is a whole number of serves but for binary fractions counts as that number."""
LETTERS = "ABCDEFGHIJKL"
"""By which drinks are told apart on the board, in the order of the request."""
Moves = dict[str, str | None]


@dataclass(frozen=True)
class Charged:
    """Vessels of a drink that are charged already.

    at: JSON Pointer of them; pours: whole serves in one of them
    """

    given: Ready
    at: str
    vessel: Vessel
    fill: float
    pours: int

    @property
    def serves(self) -> int:
        return self.given.count * self.pours


@dataclass(frozen=True)
class Prepared:
    """One drink of the evening.

    vessel_at: place of its kind among the vessels of the house
    taken_ml: of a vessel for one serve, losses included
    count: vessels that are filled before the service; second: those that are filled again in it
    pours: whole serves in one vessel; ready: charged already
    place: that it is chilled in
    parts: what a prep sheet has for the vessels that are still to be filled, None where there are none
    to_mix, solutions: what is still to be mixed, less than those vessels hold where some of it is mixed already
    """

    index: int
    asked: EveningDrink
    wanted: Wanted
    vessel_at: int
    vessel: Vessel
    fill: float
    serve_ml: float
    taken_ml: float
    count: int
    ready: tuple[Charged, ...]
    place: Place | None
    parts: Parts | None
    to_mix: Batch | None
    solutions: tuple[PrepSolution, ...]
    second: int = 0

    @property
    def letter(self) -> str:
        return LETTERS[self.index]

    @property
    def pours(self) -> int:
        return pours_of(self.vessel.liquid_ml(self.fill), self.taken_ml)

    @property
    def heel_ml(self) -> float:
        """Return what is left in each vessel after its whole serves [ml]."""
        return max(0.0, self.vessel.liquid_ml(self.fill) - self.pours * self.taken_ml)

    @property
    def whole_serves(self) -> int:
        """Return the serves of all its vessels, those that are charged already among them."""
        return self.fillings * self.pours + self.ready_serves

    @property
    def fillings(self) -> int:
        """Return how many vessels are filled, those that are filled again counted twice."""
        return self.count + self.second

    @property
    def ready_serves(self) -> int:
        return sum(one.serves for one in self.ready)

    @property
    def to_declare(self) -> Allergens:
        """Return its allergens, of what is charged already too."""
        return allergens_of(self.asked.spec, SilentNotes())

    @property
    def target_g_per_l(self) -> float:
        """Return the level that it is charged to, or would be [g/L]."""
        if self.parts is not None:
            return self.parts.charging.planned.target_g_per_l
        usual = DRAUGHT_G_PER_L if self.asked.serve_at == "draught" else TARGET_G_PER_L
        return self.asked.carbonation.target_g_per_l or usual

    @property
    def to_chill(self) -> Parts:
        """Return its parts, where there is something to do."""
        assert self.parts is not None
        return self.parts

    def holding(self, count: int) -> Parts:
        """Return its parts for so many of its vessels."""
        parts = self.to_chill
        return replace(parts, fill=replace(parts.fill, count=count))

    def of(self, count: int) -> "Prepared":
        """Return the drink with so many vessels to fill once, for trial plans: its batch is left as it is."""
        return replace(self, count=count, second=0, parts=None if count == 0 else self.holding(count))


def pours_of(liquid_ml: float, taken_ml: float) -> int:
    """Return the whole serves in a liquid."""
    return floor(liquid_ml / taken_ml * (1.0 + NOISE))


def prepared(asked: ServicePlanRequest, places: Sequence[Place], notes: Notes) -> tuple[Prepared, ...]:
    """Return every drink, its vessels counted, with what a prep sheet works out for it.

    raises: Refused, SeveralRefused, with pointers into the request of the evening
    """
    refusals, found = Refusals(), []
    for i, drink in enumerate(asked.drinks):
        with refusals.gather(), notes.within(_moves(i)):
            found.append(_prepared(asked, i, drink, places, notes))
    refusals.raise_any()
    return tuple(found)


def _moves(i: int) -> Moves:
    at = f"/drinks/{i}"
    return {
        "": at,
        "/size": f"{at}/demand",
        "/size/vessels/0/vessel": f"{at}/vessel",
        "/size/vessels/0/fill": f"{at}/fill",
        "/vessel_count": f"{at}/demand",
        "/chill/environment": "/cold",
        "/chill/start_temperature": f"{at}/start_temperature",
        "/shift": "/service",
        "/site": "/site",
        "/prices": "/prices",
        "/loss": "/loss",
        "/made_at": "/begins_at",
        "/house_maximum": None,
        "/rounding": None,
        "/lot": None,
        "/calibration": None,
        "/ready": "/ready",
        "/on_hand": "/on_hand",
    }


def _prepared(
    asked: ServicePlanRequest, i: int, drink: EveningDrink, places: Sequence[Place], notes: Notes
) -> Prepared:
    one = _counted(asked, i, drink, notes)
    if not one.count:
        return one
    place = chilling_place(places, one.vessel.capacity_ml, "/vessel")
    sheet = _sheet(asked, one, place, notes)
    parts = prepare(sheet, notes)
    _check_keeps(asked, drink, parts.batch)
    to_mix = _to_mix(asked, drink, sheet, parts)
    solutions = parts.solutions if to_mix is parts.batch else ()
    if to_mix is not None and to_mix is not parts.batch:
        solutions = solutions_for(sheet, to_mix, SilentNotes())
    return replace(one, place=place, parts=parts, to_mix=to_mix, solutions=solutions)


def tonight_ml(asked: ServicePlanRequest) -> float:
    """Return the room that all vessels of tonight take, by brimful capacities [ml]; what is refused takes none."""
    found = 0.0
    for i, drink in enumerate(asked.drinks):
        with suppress(Refused, SeveralRefused):
            one = _counted(asked, i, drink, SilentNotes())
            found += 0.0 if drink.made_ahead else one.count * one.vessel.capacity_ml
    return found


def _counted(asked: ServicePlanRequest, i: int, drink: EveningDrink, notes: Notes) -> Prepared:
    """Return a drink with its vessels counted, and nothing worked out for them yet.

    raises: Refused, SeveralRefused
    """
    vessel_at, given = _vessel_of(asked, drink, notes)
    refusals = Refusals()
    vessel = attempt(refusals, lambda: vessel_of(given, SilentNotes()), lambda: vessel_of(None, SilentNotes()))
    fill = attempt(refusals, lambda: fill_of(drink.fill, vessel, SilentNotes()), lambda: most_fill(vessel))
    glass_ml = drink_of(DrinkGiven(spec=drink.spec), SilentNotes(), at="").volume_ml
    serve_ml = drink.serve_ml or glass_ml
    taken_ml = serve_ml / (asked.loss.served_share if asked.loss is not None else 1.0)
    _check_serve(vessel, fill, taken_ml, drink)
    found = wanted(drink.demand, notes, at="/demand")
    ready = tuple(_ready(asked, drink, taken_ml, notes))
    pours = pours_of(vessel.liquid_ml(fill), taken_ml)
    count = max(0, ceil((found.serves - sum(one.serves for one in ready)) / pours))
    return Prepared(i, drink, found, vessel_at, vessel, fill, serve_ml, taken_ml, count, ready, None, None, None, ())


def _vessel_of(asked: ServicePlanRequest, drink: EveningDrink, notes: Notes) -> tuple[int, VesselGiven]:
    """Return the kind of vessel of a drink, and its place among those of the house."""
    kinds = [one.vessel for one in asked.vessels]
    if drink.vessel is None:
        if len(kinds) > 1:
            notes.assume("vessel, of those of the house", "the first", "default", at="/vessel")
        return 0, kinds[0]
    return kinds.index(drink.vessel), drink.vessel


def _check_serve(vessel: Vessel, fill: float, taken_ml: float, drink: EveningDrink) -> None:
    """Refuse a vessel that does not hold one serve.

    raises: Refused ("impossible-batch")
    """
    holds, serve = Quantity("volume", vessel.liquid_ml(fill), "down"), Quantity("volume", taken_ml, "up")
    if pours_of(holds.value, taken_ml):
        return
    text = "At this fill the vessel holds {holds}, less than one serve of {serve}."
    fault = Fault("/vessel" if drink.serve_ml is None else "/serve", "holds-no-serve", text,
                  (("holds", holds), ("serve", serve)))  # fmt: skip
    raise Refused("impossible-batch", [fault], facts=[Fact("holds", holds), Fact("serve", serve)])


def _ready(asked: ServicePlanRequest, drink: EveningDrink, taken_ml: float, notes: Notes) -> Iterator[Charged]:
    """Yield what is charged already of a drink; what makes it unfit is told as a danger."""
    for i, given in enumerate(asked.ready):
        if given.drink_id != drink.id:
            continue
        at = f"/ready/{i}"
        vessel = vessel_of(given.vessel, notes, at=f"{at}/vessel", now=asked.service.starts_at, observed=True)
        fill = fill_of(given.fill, vessel, notes, at=f"{at}/fill", observed=True)
        _caution_old(asked, given, drink, at, notes)
        yield Charged(given, at, vessel, fill, pours_of(vessel.liquid_ml(fill), taken_ml))


def _caution_old(asked: ServicePlanRequest, ready: Ready, drink: EveningDrink, at: str, notes: Notes) -> None:
    """Warn of what is charged already and has to be discarded before the service ends."""
    keeps = [one.keeps_s for one in drink.spec.components if one.keeps_s is not None]
    if ready.made_at is None or not keeps:
        return
    use_by = ready.made_at + timedelta(seconds=min(keeps))
    if use_by < asked.service.starts_at + timedelta(seconds=asked.service.lasts_s):
        text = (
            "What is charged already of {drink} is to be discarded at {use_by}, before the service ends: make it anew."
        )
        notes.caution("ready-past-discard", "danger", text, at=f"{at}/made_at", drink=drink.spec.name, use_by=use_by)


def _sheet(asked: ServicePlanRequest, one: Prepared, place: Place, notes: Notes) -> PrepSheetRequest:
    """Return the prep sheet that is asked for a drink."""
    drink = one.asked
    carbonation = drink.carbonation
    if drink.serve_at == "draught":
        carbonation = on_draught(carbonation, notes)
    if one.vessel.is_keg and not carbonation.connected:
        carbonation = _off_the_gas(carbonation, notes)
    together = sum(not one.made_ahead for one in asked.drinks)
    chill = ChillPlan(place.kind, drink.start_temperature_c, place.temperature_c, place.power_for(max(1, together)))
    return PrepSheetRequest(
        units=asked.system,
        spec=drink.spec,
        size=Size(vessels=(SizedVessel(asked.vessels[one.vessel_at].vessel, one.count, drink.fill),)),
        site=asked.site,
        carbonation=carbonation,
        chill=chill,
        made_at=None if drink.made_ahead else asked.begins_at,
        serve_at=drink.serve_at if drink.draught is not None else None,
        draught=None if drink.draught is None else _line(asked, drink, drink.draught, one.serve_ml),
    )


def _off_the_gas(plan: CarbonationPlan, notes: Notes) -> CarbonationPlan:
    """Return the carbonation of a keg that leaves the regulator to the next drink, as it would stay on it all evening.

    It is rocked: of what is shaken as long as a bottle it takes next to nothing up.
    """
    plan = replace(plan, connected=False)
    if plan.within_s is not None:
        return plan
    if plan.agitation is None:
        notes.assume("agitation", "rocked", "common-practice", at="/carbonation/agitation")
        plan = replace(plan, agitation="rocked")
    if plan.shake_s is None and plan.agitation == "rocked":
        notes.assume("shake", Quantity("duration", ROCK_S), "common-practice", at="/carbonation/shake")
        plan = replace(plan, shake_s=ROCK_S)
    return plan


def _line(asked: ServicePlanRequest, drink: EveningDrink, line: DraughtGiven, serve_ml: float) -> DraughtGiven:
    """Return the line of a drink, with its serve for a glass and the prices of the evening, unless it states them."""
    pour = replace(line.pour, volume_ml=line.pour.volume_ml or serve_ml)
    names = batching.names_of(drink.spec)
    prices = tuple(one for one in prices_of(asked) if one.component in names)
    return replace(line, pour=pour, prices=line.prices or prices)


def shortest_keeping_s(batch: Batch) -> float | None:
    """Return the shortest time that a component says it keeps [s]; None where none does."""
    stated = [line.whole.component.keeps_s for line in batch.components]
    return min((one for one in stated if one is not None), default=None)


def _check_keeps(asked: ServicePlanRequest, drink: EveningDrink, batch: Batch) -> None:
    """Refuse to make ahead what does not keep until the end of the service.

    raises: Refused ("cannot-be-ready")
    """
    keeps_s, needed_s = shortest_keeping_s(batch), AHEAD_S + asked.service.lasts_s
    if not drink.made_ahead or keeps_s is None or keeps_s >= needed_s:
        return
    keeps, needed = Quantity("duration", keeps_s, "down"), Quantity("duration", needed_s, "up")
    text = "It keeps {keeps}; made the day before it would have to keep {needed}."
    fault = Fault("/made_ahead", "does-not-keep", text, (("keeps", keeps), ("needed", needed)))
    raise Refused("cannot-be-ready", [fault], facts=[Fact("keeps", keeps), Fact("needed", needed)])


def _to_mix(asked: ServicePlanRequest, drink: EveningDrink, sheet: PrepSheetRequest, parts: Parts) -> Batch | None:
    """Return the batch that is still to be mixed; None where all of it is there already."""
    held_ml = sum(one.volume_ml or 0.0 for one in asked.on_hand if one.drink_id == drink.id)
    if not held_ml:
        return parts.batch
    left_ml = parts.batch.volume_ml - held_ml
    if left_ml <= parts.batch.volume_ml * NOISE:
        return None
    scale = asked.site.scale if asked.site else None
    rest = BatchRequest(units=asked.system, spec=drink.spec, size=Size(volume_ml=left_ml), scale=scale)
    return batching.scale(rest, SilentNotes(), now=sheet.now)
