"""Reports of a till and a bar: events of a vessel, and sales that do not name the vessel they were poured from."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, Literal

from service.declared import Declared, co2, duration, items, pressure, shape, temperature, text, volume, whole
from service.drink import DrinkGiven
from service.errors import Fault
from service.limits.requests import MOST_EVENTS
from service.limits.serving import LEAST_POURED_ML
from service.site import Air
from service.vessel import FillShare, VesselGiven

EventKind = Literal["charged", "opened", "closed", "poured", "read", "moved", "wasted", "emptied", "voided"]
MEASURED: tuple[EventKind, ...] = ("charged", "read", "moved")
"""Kinds that tell of pressure or temperature: what was observed is not refused; and they cost the most."""
POURS: tuple[EventKind, ...] = ("poured", "wasted")
_NEEDS = {
    "charged": ("gauge_pressure",),
    "read": ("gauge_pressure",),
    "moved": ("temperature",),
    "voided": ("voids",),
    "sold": ("drink_key",),
}
_MAY_HOLD = {
    "charged": {"gauge_pressure", "shake", "temperature"},
    "opened": set[str](),
    "closed": set[str](),
    "poured": {"volume", "serves"},
    "read": {"gauge_pressure", "shake", "temperature"},
    "moved": {"temperature"},
    "wasted": {"volume", "serves"},
    "emptied": set[str](),
    "voided": {"voids"},
}
"""Fields that an event of each kind must have and may have, beside id, at and kind."""
_NOT_OF = {kind: set[str]().union(*_MAY_HOLD.values()) - may for kind, may in _MAY_HOLD.items()}


def fields_of_the_kind(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find fields that an event of its kind lacks, or does not go with."""
    kind = sent.get("kind")
    if not isinstance(kind, str) or kind not in _MAY_HOLD:
        return  # the field says so itself
    yield from _lacking_and_not_of(kind, sent, _NOT_OF[kind])
    if kind in POURS and "volume" in sent and "serves" in sent:
        yield Fault("/serves", "not-needed", "State a volume or serves, not both.")


def fields_of_the_sale(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find fields that a sale of its kind lacks, or does not go with."""
    kind = sent.get("kind", "sold")
    if kind == "sold":
        yield from _lacking_and_not_of(kind, sent, {"voids"})
    elif kind == "voided":
        yield from _lacking_and_not_of(kind, sent, {"drink_key", "serves"})


def _lacking_and_not_of(kind: str, sent: Mapping[str, Any], not_of: set[str]) -> Iterator[Fault]:
    for name in _NEEDS.get(kind, ()):
        if name not in sent:
            yield Fault(f"/{name}", "required", "An event of the kind {kind} states this.", (("kind", kind),))
    for name in not_of & sent.keys():
        yield Fault(f"/{name}", "not-needed", "It does not go with the kind {kind}.", (("kind", kind),))


@shape("VesselEvent", rules=[fields_of_the_kind])
@dataclass(frozen=True)
class Event:
    """An event in the life of a vessel, and its time.

    charged: put on the regulator at a gauge pressure and shaken for so long; a keg stays on it. opened, closed: a
    bottle; a keg that is closed is cut off from its gas. poured: a volume, or so many glasses, one unless stated; a
    closed bottle is opened for it and closed again. wasted: poured and thrown away. emptied: whatever was left is gone.
    read: the gauge of the closed vessel at rest, or after so long a shake. moved: to another temperature, taken on at
    once. voided: another event of this vessel, by its id, never happened; what was charged, read or moved is not
    voided.
    """

    id: Annotated[str, text(64)]
    at: Declared[datetime]
    kind: Declared[EventKind]
    gauge_pressure_bar: Annotated[float | None, pressure(low=0.0, high=30.0)] = None
    shake_s: Annotated[float | None, duration(high=600.0)] = None
    volume_ml: Annotated[float | None, volume(low=LEAST_POURED_ML, high=60_000.0)] = None
    serves: Annotated[int | None, whole(low=1, high=1000)] = None
    temperature_c: Annotated[float | None, temperature(low=-30.0, high=90.0)] = None
    voids: Annotated[str | None, text(64), "Id of the event that never happened."] = None


@shape("RegasSale", rules=[fields_of_the_sale])
@dataclass(frozen=True)
class Sale:
    """A sale of a drink by a till, one glass unless stated; or, voided, an earlier sale that never happened."""

    id: Annotated[str, text(64)]
    at: Declared[datetime]
    kind: Declared[Literal["sold", "voided"]] = "sold"
    drink_key: Annotated[str | None, text(64), "One of drinks."] = None
    serves: Annotated[int | None, whole(low=1, high=1000)] = None
    voids: Annotated[str | None, text(64), "Id of the sale that never happened."] = None


@shape("VesselStart")
@dataclass(frozen=True)
class Start:
    """The charged vessel before its first event: closed, and at rest."""

    co2_g_per_l: Annotated[float, co2(low=0.0, high=30.0)]
    fill: FillShare = None
    temperature_c: Annotated[float | None, temperature(low=-30.0, high=90.0)] = None
    use_by: Annotated[datetime | None, "Of its label, as batches answer it."] = None


@dataclass(frozen=True)
class VesselLog:
    """One vessel and its log, in any order; drink and vessel as for all unless stated, here or by a key."""

    id: Annotated[str, text(64), "Of one filling: a vessel that is filled again has a new one."]
    start: Declared[Start]
    drink: Declared[DrinkGiven | None] = None
    vessel: Declared[VesselGiven | None] = None
    air: Declared[Air | None] = None
    target_g_per_l: Annotated[float | None, co2(above=0.0, high=20.0), "Level that a re-gas of it aims at."] = None
    events: Annotated[tuple[Event, ...], items(MOST_EVENTS, least=0)] = ()
    drink_key: Annotated[str | None, text(64), "One of drinks: sales of it are drawn from this vessel too."] = None
    vessel_kind: Annotated[str | None, text(64), "One of vessel_kinds."] = None
