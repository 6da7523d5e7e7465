"""The vessels of a bar: what is asked of them, and what is answered."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import chain
from typing import Annotated, Any, Literal

from service.calibration import Calibration
from service.declared import CO2, PRESSURE, VOLUME, Declared, co2, duration, items, number, shape, temperature, text
from service.drink import DrinkGiven
from service.errors import Fault, Names, Refused, SeveralRefused
from service.limits.requests import MOST_EVENTS, MOST_LOG_LINES, MOST_MEASURED, MOST_VESSELS
from service.listed import too_many_lines
from service.regas.asked import Pour
from service.regas.log import MEASURED, VesselLog
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
    drinks = [log.get("drink") for log in logs]
    too_much = chain(
        _too_long([log["events"] for log in logs if isinstance(log.get("events"), list)]),
        too_many_lines(drinks, lines=("components",), most_lines=MOST_LOG_LINES, name="vessels"),
    )
    if (first := next(too_much, None)) is not None:
        yield first
        return
    ids = [log.get("id") for log in logs]
    for i, log in enumerate(logs):
        if log and "drink" not in log and "drink" not in sent:
            yield Fault(f"/vessels/{i}/drink", "required", "State it here, or a drink for all vessels.")
        if isinstance(ids[i], str) and ids[i] in ids[:i]:
            yield Fault(f"/vessels/{i}/id", "duplicate", "Each vessel has an id of its own.")


def _too_long(logs: Sequence[list[Any]]) -> Iterator[Fault]:
    """Find too many events in all; of one log alone the field says so itself."""
    if any(len(events) > MOST_EVENTS for events in logs):
        return
    kinds = [event.get("kind") for events in logs for event in events if isinstance(event, dict)]
    count, measured = sum(map(len, logs)), sum(kind in MEASURED for kind in kinds)
    if count > MOST_EVENTS:
        params = (("most", float(MOST_EVENTS)), ("count", float(count)))
        yield Fault("/vessels", "length", "There may be {most} events in all; these are {count}.", params)
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
        f"With at most {MOST_EVENTS} events in all, {MOST_MEASURED} of them {', '.join(MEASURED)}; the components of "
        f"their own drinks come to at most {MOST_LOG_LINES} together.",
    ]


@shape("VesselState")
@dataclass(frozen=True)
class VesselState:
    """One vessel now; of one that is refused only id, status and problem.

    bottle, glass: None of an empty one, and where no equation holds for what it went through
    helped: it is due, and gas helps: a re-gas, or the gas that a keg is off
    unfit: it would not be charged again, whatever it holds
    """

    id: Annotated[str, text(64)]
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
