"""The vessels of a bar: what is asked of them, and what is answered."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import chain
from typing import Annotated, Any, Literal, TypeVar

from service.calibration import Calibration
from service.declared import CO2, PRESSURE, VOLUME, Declared, co2, duration, items, number, shape, temperature, text
from service.drink import DrinkGiven
from service.errors import Fault, Names, Refused, SeveralRefused
from service.limits.requests import MOST_EVENTS, MOST_FAULTS, MOST_KEYS, MOST_LOG_LINES, MOST_MEASURED, MOST_VESSELS
from service.listed import too_many_lines
from service.regas.asked import Pour
from service.regas.counting import RefusedEvent, unknown_key
from service.regas.log import MEASURED, Sale, VesselLog
from service.regas.pools import Pool
from service.regas.reading import Correction
from service.regas.results import RegasSettings
from service.request import Request
from service.science.band import Band
from service.site import Air, Site
from service.vessel import VesselGiven


def vessels_apart(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find vessels that are too much together, or lack a drink, or share an id."""
    logs = sent.get("vessels")
    if not isinstance(logs, list) or len(logs) > MOST_VESSELS:
        return  # the field says so itself
    logs = [log if isinstance(log, dict) else {} for log in logs]
    drinks = [log.get("drink") for log in logs] + [sent.get("drinks")]
    too_much = chain(
        _too_long([log["events"] for log in logs if isinstance(log.get("events"), list)], sent.get("sales")),
        too_many_lines(drinks, lines=("components",), most_lines=MOST_LOG_LINES, name="vessels"),
    )
    if (first := next(too_much, None)) is not None:
        yield first
        return
    ids = [log.get("id") for log in logs]
    for i, log in enumerate(logs):
        if log and not {"drink", "drink_key"} & log.keys() and "drink" not in sent:
            yield Fault(f"/vessels/{i}/drink", "required", "State it here, or a drink for all vessels.")
        for name, stated in (("drink_key", "drink"), ("vessel_kind", "vessel")):
            if name in log and stated in log:
                text, params = "State {stated} or {field}, not both.", (("stated", stated), ("field", name))
                yield Fault(f"/vessels/{i}/{name}", "not-needed", text, params)
        if isinstance(ids[i], str) and ids[i] in ids[:i]:
            yield Fault(f"/vessels/{i}/id", "duplicate", "Each vessel has an id of its own.")


def _too_long(logs: Sequence[list[Any]], sales: object) -> Iterator[Fault]:
    """Find too many events and sales in all; of one list alone the field says so itself."""
    sold = len(sales) if isinstance(sales, list) else 0
    if sold > MOST_EVENTS or any(len(events) > MOST_EVENTS for events in logs):
        return
    kinds = [event.get("kind") for events in logs for event in events if isinstance(event, dict)]
    count, measured = sold + sum(map(len, logs)), sum(kind in MEASURED for kind in kinds)
    if count > MOST_EVENTS:
        text = "There may be {most} events in all; these are {count}."
        if sold:
            text = "There may be {most} events and sales in all; these are {count}."
        yield Fault("/vessels", "length", text, (("most", float(MOST_EVENTS)), ("count", float(count))))
    if measured > MOST_MEASURED:
        text = "There may be {most} events of the kinds {kinds} in all; these are {count}."
        ends = (("most", float(MOST_MEASURED)), ("count", float(measured)), ("kinds", Names(MEASURED)))
        yield Fault("/vessels", "length", text, ends)


@shape(rules=[vessels_apart])
@dataclass(frozen=True, kw_only=True)
class RegasStatesRequest(Request):
    """The vessels of a bar with their logs up to now, and what goes for all of them."""

    now: Annotated[datetime, "The moment of the answer; the service has no clock."]
    drink: Annotated[DrinkGiven | None, "Of every vessel that states none."] = None
    vessel: Declared[VesselGiven | None] = None
    temperature_c: Annotated[float | None, temperature(low=-30.0, high=90.0)] = None
    pour: Annotated[Pour | None, "A glass; 185 ml unless stated."] = None
    air: Annotated[Air | None, "A keg is not squeezed, whatever is done with the bottles."] = None
    floor_g_per_l: Annotated[float | None, co2(low=0.0, high=20.0), "Lowest CO2 level in the glass."] = None
    target_g_per_l: Annotated[
        float | None,
        co2(above=0.0, high=20.0),
        "Level that a re-gas aims at, of every vessel that states none; that which each started from unless stated.",
    ] = None
    serves_per_hour: Annotated[
        float | None,
        number(low=0.5, high=1000.0),
        "Glasses an hour of each vessel; as in the last hour of its log unless stated.",
    ] = None
    open_for_s: Annotated[float | None, duration(high=600.0), "How long a bottle stands open for each pour."] = None
    site: Annotated[Site | None, "Sea level and a 30 °C warmest room unless stated."] = None
    calibration: Annotated[
        Calibration | None, "This bar's own constants; they narrow the bands and never relax a limit."
    ] = None
    vessels: Annotated[
        tuple[VesselLog, ...],
        items(MOST_VESSELS),
        f"With at most {MOST_EVENTS} events in all, sales included, {MOST_MEASURED} of them {', '.join(MEASURED)}; the "
        f"components of their own drinks and of drinks come to at most {MOST_LOG_LINES} together. Those of one "
        "drink_key are a pool, in this order.",
    ]
    drinks: Annotated[
        Mapping[str, DrinkGiven] | None, items(MOST_KEYS), text(64), "Drinks that vessels and sales name by key."
    ] = None
    vessel_kinds: Annotated[
        Mapping[str, VesselGiven] | None, items(MOST_KEYS), text(64), "Kinds of vessels that vessels name by key."
    ] = None
    sales: Annotated[
        tuple[Sale, ...],
        items(MOST_EVENTS, least=0),
        "Drawn from the vessels of the drink_key, opened ones first, in whole pours; a heel is no pour.",
    ] = ()

    def known_drink(self, log: VesselLog, at: str) -> tuple[DrinkGiven, str]:
        """Return the drink of a vessel, and where it stands in the request.

        at: JSON Pointer of the vessel
        raises: Refused where its key names none
        """
        if log.drink_key is not None:
            return _by_key(self.drinks, "drinks", log.drink_key, f"{at}/drink_key")
        given = log.drink or self.drink
        assert given is not None, "the rules of the request see to that"
        return given, "/drink" if log.drink is None else f"{at}/drink"

    def known_vessel(self, log: VesselLog, at: str) -> tuple[VesselGiven | None, str]:
        """Return what kind a vessel is of, None where nothing says so, and where it stands in the request.

        raises: Refused where its key names none
        """
        if log.vessel_kind is not None:
            return _by_key(self.vessel_kinds, "vessel_kinds", log.vessel_kind, f"{at}/vessel_kind")
        return log.vessel or self.vessel, "/vessel" if log.vessel is None else f"{at}/vessel"


Named = TypeVar("Named", DrinkGiven, VesselGiven)


def _by_key(named: Mapping[str, Named] | None, of: str, key: str, at: str) -> tuple[Named, str]:
    if named is None or key not in named:
        raise unknown_key(at, key, named or ())
    return named[key], f"/{of}/{key.replace('~', '~0').replace('/', '~1')}"


@shape("VesselState")
@dataclass(frozen=True)
class VesselState:
    """One vessel now; of one that is refused only id, status and problem.

    bottle, glass: None of an empty one, and where no equation holds for what it went through
    helped: it is due, and gas helps: a re-gas that brings a glass over the floor, or the gas that a keg is off
    unfit: it would not be charged again, whatever it holds
    """

    id: Annotated[str, text(64)]
    state: Annotated[
        Literal["charged", "open", "due", "empty", "discard"] | None,
        "charged: not opened since it was charged. open: in service. due: the next glass is likely to fall below the "
        "floor. empty: no whole pour is left. discard: it is past its time, unfit or in danger, and gets no gas.",
    ] = None
    bottle: Annotated[Band | None, CO2, "Level in the vessel; absent of an empty one."] = None
    glass: Annotated[Band | None, CO2, "Level in a glass poured now."] = None
    liquid_ml: Annotated[float | None, VOLUME, "Drink that is left."] = None
    due: Annotated[bool | None, "A glass poured now is likely to fall below the floor."] = None
    due_at: Annotated[datetime | None, "Of the first such glass at this pace; absent where none of the next 20 is."] = (
        None
    )
    glasses: Annotated[Band | None, "To come on the floor at this pace; looked ahead to 20."] = None
    recharge: Annotated[RegasSettings | None, "Of a vessel that is due and may be re-gassed."] = None
    hold_pressure_bar: Annotated[float | None, PRESSURE, "Gauge pressure that a keg is on."] = None
    discard_at: Annotated[
        datetime | None,
        "The earliest of its use-by, the end of what keeps shortest once opened, and 4 h after such a drink left the "
        "cold; absent where nothing is known to go off.",
    ] = None
    corrections: Declared[tuple[Correction, ...] | None] = None
    refused_events: Annotated[
        tuple[RefusedEvent, ...] | None, f"Events that do not count; all others do. At most {MOST_FAULTS}."
    ] = None
    problem: Declared[Refused | SeveralRefused | None] = None
    helped: bool = False
    unfit: bool = False

    @property
    def status(self) -> Declared[Literal["ok", "refused"]]:
        return "ok" if self.problem is None else "refused"


@shape("RegasStatesBody")
@dataclass(frozen=True)
class States:
    """Every vessel in the order of the request."""

    vessels: Declared[tuple[VesselState, ...]]
    next: Annotated[str | None, text(64), "Id of the vessel to gas first: due, and helped by it. Absent where none is."]
    pools: Annotated[tuple[Pool, ...], "One for each of drinks, in their order."] = ()
    refused_sales: Annotated[
        tuple[RefusedEvent, ...], f"Sales that do not count, or not all of their serves. At most {MOST_FAULTS}."
    ] = ()
