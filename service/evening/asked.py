"""The request for the plan of an evening: its drinks, its gear, its people, and when it starts."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Any, Literal

from service.batching import Loss
from service.carbonation import CarbonationPlan, Cylinder
from service.declared import Declared, amount, co2, duration, items, shape, temperature, text, volume, whole
from service.draught import DraughtGiven
from service.drink import Amount, Spec
from service.errors import Fault, Names
from service.evening.demand import Demand
from service.limits.evening import MOST_CREW, MOST_DRINKS, MOST_FILLED, MOST_PLACES, MOST_REGULATORS
from service.limits.requests import MOST_COMPONENTS
from service.listed import named, repeated
from service.request import Request
from service.site import ColdPlace, Price, Site
from service.vessel import FillShare, VesselGiven

DrinkId = Annotated[str, text(64)]
ServeAt = Literal["bottle", "draught"]


@dataclass(frozen=True)
class Service:
    """The hours in which guests are served."""

    starts_at: Annotated[datetime, "The first pour: by then all is charged, rested and labelled."]
    lasts_s: Annotated[float, duration(low=1800.0, high=2 * 86400.0)]


def line_on_draught(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a line of a drink that is not on draught, and a keg beside the drink's own vessel."""
    line = sent.get("draught")
    if "draught" in sent and sent.get("serve_at") != "draught":
        yield Fault("/draught", "not-needed", "Of what is served on draught alone: state serve_at, draught.")
    if isinstance(line, Mapping) and "keg" in line:
        yield Fault("/draught/keg", "described-twice", "The vessel of the drink is the keg; leave this out.")


@shape(rules=[line_on_draught])
@dataclass(frozen=True)
class EveningDrink:
    """One drink of the evening, and how much of it is wanted."""

    id: DrinkId
    spec: Declared[Spec]
    demand: Declared[Demand]
    vessel: Annotated[
        VesselGiven | None, "One of vessels[].vessel, word for word; the first of them unless stated."
    ] = None
    fill: FillShare = None
    carbonation: Annotated[
        Declared[CarbonationPlan], "A keg is taken off the gas and rocked, 10 min each charge, unless stated."
    ] = field(default_factory=CarbonationPlan)
    serve_ml: Annotated[
        float | None, volume(low=10.0, high=5000.0), "Poured for one guest; one glass of the spec unless stated."
    ] = None
    start_temperature_c: Annotated[
        float | None, temperature(low=-15.0, high=45.0), "Of the batch before it is chilled; 20 °C unless stated."
    ] = None
    serve_at: Annotated[ServeAt, "bottle: opened for each pour. draught: from a keg, through its tap."] = "bottle"
    draught: Annotated[
        DraughtGiven | None,
        "The line of a drink on draught; its keg is the vessel of the drink, its glass the serve unless stated.",
    ] = None
    made_ahead: Annotated[
        bool,
        "Made, charged and labelled the day before: it takes vessels and room in the cold, no time of this evening.",
    ] = False


@shape("EveningVessels")
@dataclass(frozen=True)
class HouseVessels:
    """One kind of vessel, and how many of it are empty and clean; those in ready are not among them."""

    vessel: Declared[VesselGiven]
    count: Annotated[int, whole(low=1, high=MOST_FILLED)]
    washed_in_s: Annotated[
        float | None,
        duration(low=60.0, high=86400.0),
        "From emptied to clean and dry; stated, what does not suffice, or is not ready in time, is filled again in "
        "the service, as guests empty it.",
    ] = None


@shape("EveningJugs")
@dataclass(frozen=True)
class Jugs:
    """Jugs of one size, in which batches are mixed and stand until they are filled."""

    volume_ml: Annotated[float, volume(low=100.0, high=1e6)]
    count: Annotated[int, whole(low=1, high=100)]


HELD = amount(low=0.0)


def component_or_drink(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find what is in the house and is neither a component with its amount nor a drink with its volume."""
    if ("component" in sent) == ("drink_id" in sent):
        yield Fault("", "exactly-one", "Give exactly one of: component, drink_id.")
        return
    if "component" in sent:
        if "amount" not in sent:
            yield Fault("/amount", "required", "Tell a component with its amount.")
        if "volume" in sent:
            yield Fault("/volume", "not-needed", "Tell a component with its amount.")
        return
    if "volume" not in sent:
        yield Fault("/volume", "required", "Tell a drink with its volume.")
    if "amount" in sent:
        yield Fault("/amount", "not-needed", "Tell a drink with its volume.")


@shape("EveningStock", rules=[component_or_drink])
@dataclass(frozen=True)
class InHouse:
    """The stock of a component; or of a drink that is mixed, and not charged."""

    component: Annotated[str | None, text(200), "A name in one of the specs."] = None
    amount: Annotated[Amount | None, HELD] = None
    drink_id: Annotated[str | None, text(64)] = None
    volume_ml: Annotated[float | None, volume(low=0.0)] = None


@shape("EveningReady")
@dataclass(frozen=True)
class Ready:
    """Vessels of a drink that are charged already; they are opened first, in this order."""

    drink_id: DrinkId
    vessel: Declared[VesselGiven]
    count: Annotated[int, whole(low=1, high=MOST_FILLED)]
    fill: FillShare = None
    co2_g_per_l: Annotated[
        float | None, co2(low=0.0, high=30.0), "As it was charged or read; without it no re-gas of these is told."
    ] = None
    made_at: Declared[datetime | None] = None


def begins_in_time(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a service that starts before the work begins."""
    service = sent.get("service")
    starts, begins = service.get("starts_at") if isinstance(service, Mapping) else None, sent.get("begins_at")
    moments = [_moment(one) for one in (starts, begins)]
    if moments[0] is not None and moments[1] is not None and moments[0] <= moments[1]:
        text = "The service starts before the work begins."
        yield Fault("/service/starts_at", "starts-before-begin", text)


def _moment(sent: object) -> datetime | None:
    """Return a moment as it was sent, None where it is none; the field says so itself."""
    try:
        found = datetime.fromisoformat(sent.upper()) if isinstance(sent, str) else None
    except ValueError:
        return None
    return found if found is not None and found.tzinfo is not None else None


def each_drink_once(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find two drinks of one id, and things in the house of a drink that the evening does not have."""
    drinks = sent.get("drinks")
    if not isinstance(drinks, list) or len(drinks) > MOST_DRINKS:
        return
    ids = named(drinks, "id")
    for i in repeated(ids):
        yield Fault(f"/drinks/{i}/id", "duplicate", "Each id stands once in an evening.")
    for name in ("on_hand", "ready"):
        held = sent.get(name)
        for i, drink_id in enumerate(named(held if isinstance(held, list) else [], "drink_id")):
            if drink_id is not None and drink_id not in ids:
                yield Fault(f"/{name}/{i}/drink_id", "unknown-drink", "No drink of the evening has this id.")


def each_vessel_once(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a drink in a vessel that the house has not, a kind of vessel that stands twice, and too many in all."""
    vessels, drinks = sent.get("vessels"), sent.get("drinks")
    if not isinstance(vessels, list) or len(vessels) > MOST_FILLED:
        return  # the field says so itself
    stated = [one.get("vessel") if isinstance(one, Mapping) else None for one in vessels]
    kinds = [one if isinstance(one, Mapping) else None for one in stated]
    for i in repeated(kinds):
        yield Fault(f"/vessels/{i}/vessel", "duplicate", "Each kind of vessel stands once.")
    for i, one in enumerate(drinks if isinstance(drinks, list) else []):
        vessel = one.get("vessel") if isinstance(one, Mapping) else None
        if isinstance(vessel, Mapping) and vessel not in kinds:
            text = "State the vessel as it stands in vessels, which are: {vessels}. The house has no other."
            known = Names(_named(kind) for kind in kinds if isinstance(kind, Mapping))
            yield Fault(f"/drinks/{i}/vessel", "no-such-vessel", text, (("vessels", known),))
    counts = [one.get("count") for one in vessels if isinstance(one, Mapping)]
    if sum(count for count in counts if isinstance(count, int)) > MOST_FILLED:
        text = "An evening takes {most} vessels in all."
        yield Fault("/vessels", "too-many-vessels", text, (("most", float(MOST_FILLED)),))


def _named(kind: Mapping[str, Any]) -> str:
    preset, material = kind.get("preset"), kind.get("material")
    return str(preset or f"{material} vessel")


@shape(rules=[begins_in_time, each_drink_once, each_vessel_once])
@dataclass(frozen=True, kw_only=True)
class ServicePlanRequest(Request):
    """Several drinks, the people and the gear of one house, and the hours of one service."""

    service: Declared[Service]
    begins_at: Annotated[datetime, "The earliest that work may begin."]
    drinks: Annotated[tuple[EveningDrink, ...], items(MOST_DRINKS)]
    vessels: Annotated[tuple[HouseVessels, ...], items(20), f"At most {MOST_FILLED} in all."]
    site: Declared[Site | None] = None
    crew: Annotated[int | None, whole(low=1, high=MOST_CREW), "People at work; those of the site, or 1."] = None
    regulators: Annotated[
        int | None,
        whole(low=1, high=MOST_REGULATORS),
        "Each charges one vessel at a time, a manifold is more of them; those of the site, or 1.",
    ] = None
    cold: Annotated[
        tuple[ColdPlace, ...],
        items(MOST_PLACES),
        "Those of the site unless stated; without any, ice and water that takes everything at once.",
    ] = ()
    jugs: Annotated[tuple[Jugs, ...], items(20), "Enough of any size unless stated."] = ()
    on_hand: Annotated[tuple[InHouse, ...], items(MOST_COMPONENTS * MOST_DRINKS, least=0)] = ()
    ready: Annotated[tuple[Ready, ...], items(50, least=0)] = ()
    prices: Annotated[tuple[Price, ...], items(MOST_COMPONENTS * MOST_DRINKS, least=0)] = ()
    cylinder: Declared[Cylinder | None] = None
    loss: Declared[Loss | None] = None


def prices_of(asked: ServicePlanRequest) -> tuple[Price, ...]:
    """Return the prices of an evening: its own, else those of the site."""
    return asked.prices or (asked.site.prices if asked.site else ())
