"""The site: the conditions of one venue, and the air that is left in its vessels."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from service.errors import Fact, Fault, Nearest, Refused
from service.notes import Notes
from service.science.constants import ATMOSPHERE_BAR
from service.science.gas import Liquid, standard_atmosphere_bar
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.science.vessel import dissolved_air_mol, headspace_air_mol, purge_factor
from service.vessel import Vessel

WARMEST_ROOM_C = 30.0
"""Warmest the closed vessel gets [degC]; common practice, no source (25 to 40)."""
WEATHER_SHARE = 0.03
"""How far weather moves the barometer from the altitude's standard pressure; from memory."""


@dataclass(frozen=True)
class Scale:
    """A bar's scale."""

    resolution_g: float
    capacity_g: float | None = None


@dataclass(frozen=True)
class Site:
    """One venue; None where the request is silent."""

    id: str | None = None
    name: str | None = None
    altitude_m: float | None = None
    barometer_bar: float | None = None
    regulator_max_bar: float | None = None
    relief_set_bar: float | None = None
    warmest_room_c: float | None = None
    scale: Scale | None = None


@dataclass(frozen=True)
class Shift:
    """One service period; None where the request is silent."""

    serves_per_hour: float
    starts_at: datetime | None = None
    lasts_s: float | None = None
    floor_g_per_l: float | None = None
    holding_temperature_c: float | None = None
    open_for_s: float | None = None


@dataclass(frozen=True)
class Air:
    """What was done about the air in the vessel before charging."""

    method: Literal["none", "squeezed", "purged", "left"]
    remaining_ml: float | None = None
    times: int | None = None
    pressure_bar_gauge: float | None = None


SQUEEZED_REMAINING_SHARE = 0.02
"""Air left in a soft bottle squeezed by hand, share of brimful; estimate, common practice."""
PURGES = 3
PURGE_BAR_GAUGE = 2.0
"""A keg is purged three times at 2 bar; common practice, no source."""


def ambient_bar(site: Site | None, notes: Notes, *, at: str = "/site") -> float:
    """Air pressure at the site [bar absolute].

    raises: Refused ("site-contradiction") when altitude and station barometer cannot both be true
    """
    if site is None or (site.altitude_m is None and site.barometer_bar is None):
        notes.assume(
            "air pressure, absolute",
            Quantity("pressure", ATMOSPHERE_BAR),
            "default",
            "sea level, ISO 2533",
            at=f"{at}/altitude",
        )
        return ATMOSPHERE_BAR
    if site.altitude_m is None and site.barometer_bar is not None:
        return site.barometer_bar
    standard = standard_atmosphere_bar(site.altitude_m or 0.0)
    if site.barometer_bar is None:
        notes.assume(
            "air pressure, absolute",
            Quantity("pressure", standard),
            "published",
            "ISO 2533 from the altitude; weather moves it by about 3 %",
            at=f"{at}/barometer",
        )
        return standard
    if not abs(site.barometer_bar / standard - 1.0) <= WEATHER_SHARE:
        text = (
            "A station barometer of {barometer} does not belong to this altitude, whose standard air pressure is "
            "{standard}. A sea-level (weather report) reading must not be used."
        )
        params = (("barometer", Quantity("pressure", site.barometer_bar)), ("standard", Quantity("pressure", standard)))
        raise Refused(
            "site-contradiction",
            [Fault(f"{at}/barometer", "contradicts-altitude", text, params)],
            facts=[Fact("standard_pressure", Quantity("pressure", standard))],
            nearest=[Nearest(f"{at}/barometer", Quantity("pressure", standard))],
        )
    return site.barometer_bar


def warmest_room_c(site: Site | None, notes: Notes, *, at: str = "/site") -> float:
    """Warmest a closed vessel may get at the site [degC]."""
    if site is not None and site.warmest_room_c is not None:
        return site.warmest_room_c
    notes.assume("warmest room", Quantity("temperature", WARMEST_ROOM_C), "common-practice", at=f"{at}/warmest_room")
    return WARMEST_ROOM_C


def check_regulator(site: Site | None, vessel: Vessel, notes: Notes, *, at: str = "/site") -> None:
    """A regulator that can exceed the vessel's charge limit needs a relief valve set at or below that limit.

    raises: Refused ("regulator-unsafe")
    """
    limit = vessel.charge_limit_bar_gauge
    if site is None or site.regulator_max_bar is None:
        notes.caution(
            "regulator-unknown",
            "warning",
            "Use a regulator that cannot exceed {limit}, or fit a relief valve set at or below that.",
            at=f"{at}/regulator_max",
            limit=Quantity("pressure", limit),
        )
        return
    relieved = site.relief_set_bar is not None and site.relief_set_bar <= limit + 1e-9  # what a change of units may add
    if site.regulator_max_bar > limit and not relieved:
        text = "The regulator can reach {most}, the vessel bears {limit}: fit a relief valve set at or below that."
        params = (("most", Quantity("pressure", site.regulator_max_bar)), ("limit", Quantity("pressure", limit)))
        raise Refused(
            "regulator-unsafe",
            [Fault(f"{at}/relief_set", "relief-missing", text, params)],
            facts=[
                Fact("regulator_max", Quantity("pressure", site.regulator_max_bar)),
                Fact("charge_limit", Quantity("pressure", limit)),
            ],
            nearest=[Nearest(f"{at}/relief_set", Quantity("pressure", limit))],
        )


def air_of(given: Air | None, vessel: Vessel, notes: Notes, *, at: str = "/air") -> Air:
    """The air handling with its gaps filled: a soft bottle is squeezed, anything else purged."""
    if given is None:
        given = Air("squeezed" if vessel.soft else "purged")
        notes.assume("air handling", given.method, "common-practice", at=at)
    if given.method == "squeezed" and not vessel.soft:
        raise Refused(
            "air-handling",
            [Fault(f"{at}/method", "not-soft", "Only a soft bottle can be squeezed.")],
            nearest=[Nearest(at, {"method": "purged"})],
        )
    if given.method == "squeezed" and given.remaining_ml is None:
        remaining_ml = SQUEEZED_REMAINING_SHARE * vessel.capacity_ml
        notes.assume("air left after squeezing", Quantity("volume", remaining_ml), "estimate", at=f"{at}/remaining")
        return Air("squeezed", remaining_ml)
    if given.method == "purged" and (given.times is None or given.pressure_bar_gauge is None):
        times = given.times or PURGES
        pressure = given.pressure_bar_gauge or min(PURGE_BAR_GAUGE, vessel.charge_limit_bar_gauge)
        if given.times is None:
            notes.assume("purges", float(times), "common-practice", at=f"{at}/times")
        if given.pressure_bar_gauge is None:
            notes.assume(
                "purge pressure, gauge", Quantity("pressure", pressure), "common-practice", at=f"{at}/pressure"
            )
        return Air("purged", None, times, pressure)
    return given


def check_air(air: Air, vessel: Vessel, fill: float, *, at: str = "/air") -> Air:
    """The air handling, if it suits the vessel at this fill.

    raises: Refused ("air-handling", "over-vessel-limit")
    """
    fits = fitting_air(air, vessel, fill)
    if air.remaining_ml is not None and fits.remaining_ml is not None and fits.remaining_ml < air.remaining_ml:
        room, works = Quantity("volume", vessel.headspace_ml(fill)), Quantity("volume", fits.remaining_ml)
        text = "More air cannot be left than the headspace holds, {room}."
        fault = Fault(f"{at}/remaining", "more-than-headspace", text, (("room", room),))
        facts, nearest = [Fact("headspace", room)], [Nearest(f"{at}/remaining", works)]
        raise Refused("air-handling", [fault], facts=facts, nearest=nearest)
    purge, fitting = air.pressure_bar_gauge, fits.pressure_bar_gauge
    if purge is not None and fitting is not None and fitting < purge:
        limit, works = Quantity("pressure", vessel.charge_limit_bar_gauge), Quantity("pressure", fitting)
        text = "Do not purge at more than the vessel is charged at, {limit}."
        fault = Fault(f"{at}/pressure", "charge-limit", text, (("limit", limit),))
        facts, nearest = [Fact("charge_limit", limit)], [Nearest(f"{at}/pressure", works)]
        raise Refused("over-vessel-limit", [fault], facts=facts, nearest=nearest)
    return air


def fitting_air(air: Air, vessel: Vessel, fill: float) -> Air:
    """The air handling itself where it suits the vessel, or what is offered instead."""
    room, limit = vessel.headspace_ml(fill), vessel.charge_limit_bar_gauge
    if air.remaining_ml is not None and air.remaining_ml > room:
        return replace(air, remaining_ml=rounded_down(room, 0.1))
    if air.pressure_bar_gauge is not None and air.pressure_bar_gauge > limit:
        return replace(air, pressure_bar_gauge=rounded_down(limit, 0.01))
    return air


def air_left_mol(air: Air, liquid: Liquid, *, liquid_l: float, headspace_l: float, ambient_bar: float) -> float:
    """Air in the closed vessel before charging: what is left over the drink, and what an aerated batch holds dissolved.

    air: with its gaps filled, see `air_of`; none means none at all
    headspace_l: of the vessel at its full size
    returns: [mol]
    raises: OutsideValidity
    """
    if air.method == "none":
        return 0.0
    left_l, share = headspace_l, 1.0
    if air.remaining_ml is not None:
        left_l = air.remaining_ml / 1000.0
    if air.times is not None and air.pressure_bar_gauge is not None:
        charge_bar_abs = air.pressure_bar_gauge + ambient_bar
        share = purge_factor(charge_bar_abs=charge_bar_abs, vent_bar_abs=ambient_bar, times=air.times)
    above = share * headspace_air_mol(liquid, headspace_l=left_l, ambient_bar=ambient_bar)
    return above + dissolved_air_mol(liquid, liquid_l=liquid_l, ambient_bar=ambient_bar)
