"""The conditions of one venue, and its shift: air pressure, warmest room, scale, regulator."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Literal

from service.declared import (
    LOCALE,
    TIME_ZONE,
    Declared,
    amount,
    co2,
    duration,
    items,
    length,
    mass,
    number,
    pressure,
    temperature,
    text,
    volume,
    whole,
)
from service.drink import DILUTION_WATER, Amount
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.batches import VESSEL_SCALE_G
from service.limits.charging import HIGH_PLACE_BAR, WARMEST_ROOM_C, WEATHER_SHARE
from service.limits.evening import MOST_CREW, MOST_PLACES, MOST_REGULATORS
from service.money import Money
from service.notes import Notes
from service.science.constants import ATMOSPHERE_BAR
from service.science.gas import standard_atmosphere_bar
from service.science.units import Quantity, UnitSystem
from service.site.cold import ColdPlace
from service.vessel import SizedVessel, Vessel


@dataclass(frozen=True)
class Scale:
    """A bar's scale."""

    resolution_g: Annotated[float, mass(low=0.0001, high=1000.0)]
    capacity_g: Annotated[float | None, mass(low=20.0)] = None
    jug_g: Annotated[
        float | None,
        mass(low=0.0, high=20_000.0),
        "Of the empty jug, which the scale bears too; where a batch is weighed, a tenth of capacity unless stated.",
    ] = None


@dataclass(frozen=True)
class Price:
    """The price of a package of a component; beside the spec, never in it."""

    component: Annotated[str, f"A name in the spec, or {DILUTION_WATER}."]
    content: Annotated[Amount, amount(low=5.0)]
    price: Declared[Money]


@dataclass(frozen=True)
class Site:
    """The conditions of one venue, whole: each operation takes of it what it computes with."""

    id: Annotated[str | None, text(64)] = None
    name: Declared[str | None] = None
    altitude_m: Annotated[float | None, length(low=-400.0, high=5000.0)] = None
    barometer_bar: Annotated[
        float | None,
        pressure(low=0.5, high=1.1),
        "Station pressure, absolute; never the sea-level figure of a weather report.",
    ] = None
    regulator_max_bar: Annotated[float | None, pressure(low=0.1, high=300.0)] = None
    relief_set_bar: Annotated[float | None, pressure(low=0.1, high=300.0)] = None
    warmest_room_c: Annotated[float | None, temperature(low=5.0, high=40.0)] = None
    coldest_c: Annotated[float | None, temperature(low=-40.0, high=40.0), "Coldest that vessels are kept."] = None
    gas_source: Annotated[Literal["regulator", "cartridge"] | None, "A one-shot cartridge never charges a bottle."] = (
        None
    )
    scale: Declared[Scale | None] = None
    room_volume_ml: Annotated[
        float | None,
        volume(low=1000.0, high=1e11),
        "Of the room that the cylinder stands in; 1 m³ is 1000 l.",
    ] = None
    units: Annotated[UnitSystem | None, "Units of what is answered for this venue."] = None
    locale: Annotated[str | None, LOCALE, "In whose manner sentences of this venue write numbers and dates."] = None
    time_zone: Annotated[str | None, TIME_ZONE, "On whose clock the moments of this venue are told."] = None
    vessels: Annotated[tuple[SizedVessel, ...], items(50), "Each kind, and how many of it are filled."] = ()
    prices: Annotated[tuple[Price, ...], items(41, least=0), "What this venue pays, in one currency."] = ()
    crew: Annotated[int | None, whole(low=1, high=MOST_CREW), "People who prepare an evening."] = None
    regulators: Annotated[
        int | None, whole(low=1, high=MOST_REGULATORS), "Each charges one vessel at a time; a manifold is more of them."
    ] = None
    cold: Annotated[tuple[ColdPlace, ...], items(MOST_PLACES), "Where vessels are chilled and kept."] = ()


@dataclass(frozen=True)
class Shift:
    """One service period. Unless stated: until the vessels are empty, a floor of 4.5 g/l, each opening 10 s."""

    serves_per_hour: Annotated[float, number(low=0.5, high=1000.0)]
    starts_at: Annotated[datetime | None, "Moments are answered only if this is stated."] = None
    lasts_s: Annotated[float | None, duration(high=2 * 86400.0)] = None
    floor_g_per_l: Annotated[float | None, co2(low=0.0, high=20.0), "Lowest CO2 level in the glass."] = None
    holding_temperature_c: Annotated[float | None, temperature(low=-5.0, high=40.0)] = None
    open_for_s: Annotated[float | None, duration(high=600.0), "How long a bottle stands open for each pour."] = None


def ambient_bar(site: Site | None, notes: Notes, *, at: str = "/site") -> float:
    """Return the air pressure at the site [bar absolute].

    raises: Refused ("site-contradiction") when altitude and station barometer cannot both be true
    """
    altitude_m, barometer_bar = (site.altitude_m, site.barometer_bar) if site else (None, None)
    if barometer_bar is not None:
        if altitude_m is not None:
            _check_barometer(barometer_bar, standard_atmosphere_bar(altitude_m), at)
        elif barometer_bar < HIGH_PLACE_BAR:
            text = (
                "Read the barometer again: {barometer} is the air pressure of a place over 3000 m, and read low it "
                "makes every dial too high."
            )
            here = Quantity("pressure", barometer_bar)
            notes.caution("low-barometer", "warning", text, at=f"{at}/barometer", barometer=here)
        return barometer_bar
    name = "air pressure, absolute"
    if altitude_m is None:
        sea_level = Quantity("pressure", ATMOSPHERE_BAR)
        notes.assume(name, sea_level, "default", "sea level, ISO 2533", at=f"{at}/altitude")
        return ATMOSPHERE_BAR
    standard = Quantity("pressure", standard_atmosphere_bar(altitude_m))
    source = "ISO 2533 from the altitude; weather moves it by about 3 %"
    notes.assume(name, standard, "published", source, at=f"{at}/barometer")
    return standard.value


def _check_barometer(barometer_bar: float, standard_bar: float, at: str) -> None:
    if abs(barometer_bar / standard_bar - 1.0) <= WEATHER_SHARE:
        return
    text = (
        "Read the barometer where you are: {barometer} does not belong to this altitude, whose standard air pressure "
        "is {standard}. Never use a sea-level (weather report) reading."
    )
    barometer, standard = Quantity("pressure", barometer_bar), Quantity("pressure", standard_bar)
    params = (("barometer", barometer), ("standard", standard))
    raise Refused(
        "site-contradiction",
        [Fault(f"{at}/barometer", "contradicts-altitude", text, params)],
        facts=[Fact("standard_pressure", standard)],
        nearest=[Nearest(f"{at}/barometer", standard)],
    )


def warmest_room_c(site: Site | None, notes: Notes, *, judged: bool = True, at: str = "/site") -> float:
    """Return the warmest that a closed vessel may get at the site, never below WARMEST_ROOM_C [degC].

    judged: limits are judged there; those of a keg that is kept cold are not
    """
    room = Quantity("temperature", WARMEST_ROOM_C)
    if site is None or site.warmest_room_c is None:
        notes.assume("warmest room", room, "common-practice", at=f"{at}/warmest_room")
        return WARMEST_ROOM_C
    if judged and site.warmest_room_c < WARMEST_ROOM_C:
        text = "Limits are judged at {room}, not at {stated}: sooner or later a bottle is left on the bar."
        stated = Quantity("temperature", site.warmest_room_c)
        notes.caution("cool-room", "info", text, at=f"{at}/warmest_room", room=room, stated=stated)
    return max(WARMEST_ROOM_C, site.warmest_room_c)


def scale_step_g(site: Site | None, notes: Notes, *, at: str = "/site") -> float:
    """Return the step of the scale that vessels are weighed on [g]."""
    if site is not None and site.scale is not None:
        return site.scale.resolution_g
    notes.assume("resolution of the scale", Quantity("mass", VESSEL_SCALE_G), "common-practice", at=f"{at}/scale")
    return VESSEL_SCALE_G


def check_regulator(site: Site | None, vessel: Vessel, *, at: str = "/site") -> None:
    """Refuse a regulator that can exceed the vessel's charge limit without a relief valve set at or below that limit.

    A one-shot cartridge has no regulator at all: it gives a bottle all it holds.

    raises: Refused ("regulator-unsafe")
    """
    _check_source(site, vessel, at)
    limit = Quantity("pressure", vessel.charge_limit_bar_gauge, "down")
    if site is None or site.regulator_max_bar is None or site.regulator_max_bar <= limit.value:
        return
    if site.relief_set_bar is not None and site.relief_set_bar <= limit.value + 1e-9:  # what a change of units may add
        return
    most = Quantity("pressure", site.regulator_max_bar, "up")
    text = "Fit a relief valve set at or below {limit}, which the vessel bears: the regulator can reach {most}."
    raise Refused(
        "regulator-unsafe",
        [Fault(f"{at}/relief_set", "relief-missing", text, (("most", most), ("limit", limit)))],
        facts=[Fact("regulator_max", most), Fact("charge_limit", limit)],
    )


def _check_source(site: Site | None, vessel: Vessel, at: str) -> None:
    if site is None or site.gas_source != "cartridge" or vessel.is_keg:
        return
    text = "Charge from a regulator: a one-shot cartridge empties itself into the bottle, whatever that bears."
    raise Refused("regulator-unsafe", [Fault(f"{at}/gas_source", "cartridge", text)])


def note_source(site: Site | None, notes: Notes, *, at: str = "/site") -> None:
    """Note the assumed source of the gas where the request is silent."""
    if site is None or site.gas_source is None:
        notes.assume("gas source", "a regulator on a cylinder", "default", at=f"{at}/gas_source")
