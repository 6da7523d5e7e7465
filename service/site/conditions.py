"""The conditions of one venue, and its shift: air pressure, warmest room, scale."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal

from service.drink import Amount
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.batches import VESSEL_SCALE_G
from service.limits.charging import HIGH_PLACE_BAR, WARMEST_ROOM_C, WEATHER_SHARE
from service.notes import Notes
from service.science.constants import ATMOSPHERE_BAR
from service.science.gas import standard_atmosphere_bar
from service.science.units import Quantity, UnitSystem
from service.vessel import SizedVessel


@dataclass(frozen=True)
class Scale:
    """A bar's scale. jug_g: the empty jug, which it carries too."""

    resolution_g: float
    capacity_g: float | None = None
    jug_g: float | None = None


@dataclass(frozen=True)
class Price:
    """What a package of a component costs a venue."""

    component: str
    content: Amount
    amount: Decimal
    currency: str


@dataclass(frozen=True)
class Site:
    """One venue; None where the request is silent.

    units, locale, time_zone: in which it reads its numbers and its times; BCP 47 and IANA names
    """

    id: str | None = None
    name: str | None = None
    altitude_m: float | None = None
    barometer_bar: float | None = None
    regulator_max_bar: float | None = None
    relief_set_bar: float | None = None
    warmest_room_c: float | None = None
    coldest_c: float | None = None
    gas_source: Literal["regulator", "cartridge"] | None = None
    scale: Scale | None = None
    room_ml: float | None = None
    units: UnitSystem | None = None
    locale: str | None = None
    time_zone: str | None = None
    vessels: tuple[SizedVessel, ...] = ()
    prices: tuple[Price, ...] = ()


@dataclass(frozen=True)
class Shift:
    """One service period; None where the request is silent."""

    serves_per_hour: float
    starts_at: datetime | None = None
    lasts_s: float | None = None
    floor_g_per_l: float | None = None
    holding_temperature_c: float | None = None
    open_for_s: float | None = None


def ambient_bar(site: Site | None, notes: Notes, *, at: str = "/site") -> float:
    """Air pressure at the site [bar absolute].

    raises: Refused ("site-contradiction") when altitude and station barometer cannot both be true
    """
    altitude_m, barometer_bar = (site.altitude_m, site.barometer_bar) if site else (None, None)
    if barometer_bar is not None:
        if altitude_m is not None:
            _check_barometer(barometer_bar, standard_atmosphere_bar(altitude_m), at)
        elif barometer_bar < HIGH_PLACE_BAR:
            text = "{barometer} is the air pressure of a place over 3000 m; read low, it makes every dial too high."
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
        "A station barometer of {barometer} does not belong to this altitude, whose standard air pressure is "
        "{standard}. A sea-level (weather report) reading must not be used."
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
        text = "Limits are judged at {room}, not at {stated}: sooner or later a bottle is forgotten on the bar."
        stated = Quantity("temperature", site.warmest_room_c)
        notes.caution("cool-room", "info", text, at=f"{at}/warmest_room", room=room, stated=stated)
    return max(WARMEST_ROOM_C, site.warmest_room_c)


def scale_step_g(site: Site | None, notes: Notes, *, at: str = "/site") -> float:
    """Step of the scale that vessels are weighed on [g]."""
    if site is not None and site.scale is not None:
        return site.scale.resolution_g
    notes.assume("resolution of the scale", Quantity("mass", VESSEL_SCALE_G), "common-practice", at=f"{at}/scale")
    return VESSEL_SCALE_G
