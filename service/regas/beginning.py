"""A vessel of the request as it was before its first event: what it is filled with, and what is asked of it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from service.drink import Drink, DrinkGiven, drink_of
from service.errors import Refused, SeveralRefused
from service.limits.requests import MOST_NAMED
from service.limits.serving import SERVE_ML
from service.notes import Notes
from service.regas.asked import ForecastAsked, Pour
from service.regas.case import Case, case_of
from service.regas.counting import Entry, RefusedEvent, counted
from service.regas.log import Event, VesselLog
from service.regas.pools import Holding
from service.regas.vessels import RegasStatesRequest
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.site import Air, Shift
from service.vessel import USUAL, VesselGiven, named, unjudged, usual_fill

USUAL_VESSEL = VesselGiven(USUAL)


@dataclass
class Followed:
    """One vessel of the request on its way to its state.

    at: its JSON Pointer; begun: its case, or why there is none; entries: events of its own log that count
    """

    log: VesselLog
    at: str
    notes: Notes
    given: DrinkGiven | None = None
    vessel: VesselGiven = USUAL_VESSEL
    begun: Case | Refused | SeveralRefused | OutsideValidity | None = None
    entries: Sequence[Entry[Event]] = ()
    holding: Holding | None = None


class Shared:
    """Drinks and cases of a request, each worked out once for all vessels that are alike, with what is noted of it."""

    def __init__(self) -> None:
        self._drinks: dict[str, tuple[Drink, Notes]] = {}
        self._cases: dict[object, tuple[Case, Notes]] = {}

    def drink(self, given: DrinkGiven, at: str, notes: Notes) -> Drink:
        """Return the drink that stands at a JSON Pointer.

        raises: Refused
        """
        if at not in self._drinks:
            own = Notes()
            self._drinks[at] = drink_of(given, own, at=at), own
        found, noted = self._drinks[at]
        notes.join(noted)
        return found

    def case(self, alike: object, made: Callable[[Notes], Case], notes: Notes) -> Case:
        """Return the case of a vessel.

        alike: the same for vessels that are the same case; made: works it out, and notes what it assumes
        raises: Refused, SeveralRefused, OutsideValidity
        """
        found, noted = self._cases.get(alike, (None, Notes()))
        try:
            if found is None:
                found = made(noted)
                self._cases[alike] = found, noted
            return found
        finally:  # what was noted of one that is refused, too
            notes.repeat(noted)


def begun(asked: RegasStatesRequest, log: VesselLog, at: str, shared: Shared) -> Followed:
    """Return a vessel as it was before its first event, with the events of its log that count."""
    one = Followed(log, at, Notes())
    refused = list[RefusedEvent]()
    one.entries = counted(log.events, asked.now, f"{at}/events", one.notes, refused)
    pour = Pour(SERVE_ML)
    try:
        one.given, drink_at = asked.known_drink(log, at)
        given_vessel, vessel_at = asked.known_vessel(log, at)
        one.vessel = given_vessel or USUAL_VESSEL
        drink = shared.drink(one.given, drink_at, one.notes)
        with one.notes.within(_moves(asked, one, drink_at, vessel_at)):
            pour = _pour(asked, one, drink)
            alike = drink_at, given_vessel, log.start, log.air, log.target_g_per_l, pour
            one.begun = case = shared.case(alike, partial(_case, asked, one, drink, given_vessel, pour), one.notes)
        held_l = case.liquid_l
    except (Refused, SeveralRefused) as why:
        one.begun = cut(why)
        return one
    except OutsideValidity as why:
        one.begun = why
        size = unjudged(one.vessel, Notes())
        held_l = size.liquid_ml(log.start.fill or usual_fill(size)) / 1000.0
    is_keg = unjudged(one.vessel, Notes()).is_keg
    one.holding = Holding(log.id, log.drink_key, held_l, pour.volume_ml / 1000.0, is_keg, refused=refused)
    return one


def _pour(asked: RegasStatesRequest, one: Followed, drink: Drink) -> Pour:
    """Return a glass of the vessel: as stated, or the glass of a spec that has a key, or the usual one."""
    if asked.pour is not None:
        return asked.pour
    if one.log.drink_key is not None and one.given is not None and one.given.spec is not None:
        glass = Quantity("volume", drink.volume_ml)
        one.notes.assume("a glass", glass, "default", "as the spec has it", at="/pour/volume")
        return Pour(drink.volume_ml)
    one.notes.assume("a glass", Quantity("volume", SERVE_ML), "common-practice", at="/pour/volume")
    return Pour(SERVE_ML)


def cut(refused: Refused | SeveralRefused) -> Refused | SeveralRefused:
    """Return the first of very many refusals; what would mend those alone is not offered."""
    if isinstance(refused, Refused) or len(refused.refusals) <= MOST_NAMED:
        return refused
    return SeveralRefused([Refused(one.slug, one.faults, facts=one.facts) for one in refused.refusals[:MOST_NAMED]])


def _case(
    asked: RegasStatesRequest, one: Followed, drink: Drink, vessel: VesselGiven | None, pour: Pour, notes: Notes
) -> Case:  # fmt: skip
    """Return the vessel as it was charged and is served; refused like a forecast of it."""
    log = one.log
    temperature_c = asked.temperature_c if log.start.temperature_c is None else log.start.temperature_c
    shift = Shift(
        asked.serves_per_hour or 1.0,
        starts_at=asked.now,
        floor_g_per_l=asked.floor_g_per_l,
        holding_temperature_c=temperature_c,
        open_for_s=asked.open_for_s,
    )
    of_one = ForecastAsked(
        vessel=vessel,
        fill=log.start.fill,
        temperature_c=temperature_c,
        co2_g_per_l=log.start.co2_g_per_l,
        air=log.air or _fitting(asked, one),
        pour=pour,
        shift=shift,
        site=asked.site,
        calibration=asked.calibration,
    )
    case = case_of(drink, of_one, notes, question="observed")
    return replace(case, target_g_per_l=log.target_g_per_l or asked.target_g_per_l)


def _fitting(asked: RegasStatesRequest, one: Followed) -> Air | None:
    """Return what is done for all where it can be done with this vessel; a keg among bottles is not squeezed."""
    air, (material, _) = asked.air, named(one.vessel)
    return None if air is not None and air.method == "squeezed" and material in ("steel", "aluminium") else air


def _moves(asked: RegasStatesRequest, one: Followed, drink_at: str, vessel_at: str) -> dict[str, str | None]:
    """Return where each pointer of a forecast points to in this request."""
    log, at = one.log, one.at
    temperature = "/temperature" if log.start.temperature_c is None else f"{at}/start/temperature"
    return {
        "/drink": drink_at,
        "/vessel": vessel_at,
        "/air": "/air" if log.air is None and _fitting(asked, one) is not None else f"{at}/air",
        "/fill": f"{at}/start/fill",
        "/temperature": temperature,
        "/co2": f"{at}/start/co2",
        "/shift/holding_temperature": temperature,
        "/shift/floor": "/floor",
        "/shift/open_for": "/open_for",
        "/shift": "",
    }
