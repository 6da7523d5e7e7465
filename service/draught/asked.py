"""A line from a keg to its tap, as requests have it."""

from dataclasses import dataclass, field
from typing import Annotated

from service.declared import Declared, co2, duration, items, length, number, pressure, shape, temperature, volume
from service.drink import DrinkGiven
from service.limits.draught import MOST_SEGMENTS
from service.request import Request
from service.science.flow import LineMaterial
from service.site import Price, Site
from service.vessel import FillShare, VesselGiven


@shape("DraughtSegment")
@dataclass(frozen=True)
class Segment:
    """A stretch of line, in the order from the keg to the tap."""

    material: Declared[LineMaterial]
    length_m: Annotated[float, length(above=0.0, high=300.0)]
    inner_diameter_m: Annotated[
        float | None,
        length(low=0.001, high=0.05),
        "Unless stated the usual one: vinyl 3/16 in, polyethylene 3/8, barrier 5/16, steel 1/4.",
    ] = None
    rise_m: Annotated[
        float, length(low=-300.0, high=300.0), "Of its end over its beginning; a fall is negative; none unless stated."
    ] = 0.0
    temperature_c: Annotated[
        float | None, temperature(low=-30.0, high=60.0), "Of the drink in it; that of the keg unless stated."
    ] = None


@shape("DraughtGas")
@dataclass(frozen=True)
class Gas:
    """The gas that pushes: CO2, the rest nitrogen."""

    co2_percent: Annotated[float, number(low=0.0, high=100.0), "By volume, as the cylinder or the blender has it."]


@shape("DraughtTap")
@dataclass(frozen=True)
class Tap:
    """The tap."""

    pressure_bar: Annotated[
        float | None,
        pressure(low=0.0, high=2.0),
        "Left there at the asked flow, for the tap itself to take; 0.07 bar unless stated.",
    ] = None


@shape("DraughtPour")
@dataclass(frozen=True)
class AskedPour:
    """A glass, and how long it takes to pour."""

    volume_ml: Annotated[float | None, volume(low=5.0, high=5000.0), "180 ml unless stated."] = None
    lasts_s: Annotated[float | None, duration(low=0.5, high=600.0), "At 60 ml in a second unless stated."] = None


@shape("DraughtKeg")
@dataclass(frozen=True)
class Keg:
    """The keg that feeds the line. Named, it is judged at all the pressure of its gas, as one that is charged is."""

    vessel: Annotated[
        VesselGiven | None,
        "A 30 l beer keg unless stated, of which it is then told, not refused, that it would not bear the dial.",
    ] = None
    fill: FillShare = None


@shape("DraughtCleaning")
@dataclass(frozen=True)
class Cleaning:
    """The cleaning of the line."""

    every_s: Annotated[float | None, duration(low=3600.0, high=365 * 86400.0), "14 days unless stated."] = None
    flush_ml: Annotated[
        float | None, volume(low=0.0, high=1e5), "Drink that is lost each time; what the line holds unless stated."
    ] = None


@shape("DraughtSetting")
@dataclass(frozen=True, kw_only=True)
class DraughtGiven:
    """A line, its keg and its pours; the drink, its level and the site stand beside it."""

    segments: Annotated[tuple[Segment, ...], items(MOST_SEGMENTS), "From the keg to the tap."]
    temperature_c: Annotated[float | None, temperature(low=-30.0, high=60.0), "Of the keg; 3 °C unless stated."] = None
    dial_bar: Annotated[
        float | None,
        pressure(above=0.0, high=8.9),
        "Of the regulator; unless stated, the one that holds the target under this gas.",
    ] = None
    gas: Annotated[Gas | None, "CO2 alone unless stated."] = None
    fittings_bar: Annotated[
        float,
        pressure(low=0.0, high=5.0),
        "Lost in coupler, foam detector, shank and joints at the asked flow; none unless stated.",
    ] = 0.0
    tap: Declared[Tap] = field(default_factory=Tap)
    pour: Declared[AskedPour] = field(default_factory=AskedPour)
    keg: Declared[Keg] = field(default_factory=Keg)
    cleaning: Declared[Cleaning] = field(default_factory=Cleaning)
    serves_per_day: Annotated[float | None, number(low=0.1, high=10_000.0)] = None
    gas_off_s: Annotated[
        float, duration(low=0.0, high=86400.0), "Each night, with nothing poured; never unless stated."
    ] = 0.0
    prices: Annotated[tuple[Price, ...], items(41, least=0)] = ()


@dataclass(frozen=True, kw_only=True)
class DraughtAsked(DraughtGiven):
    """A line, the level that its keg is to hold, and the site."""

    target_g_per_l: Annotated[
        float | None, co2(above=0.0, high=15.0), "CO2 that the drink holds in its keg; 5.5 g/l unless stated."
    ] = None
    site: Annotated[Site | None, "Sea level and a 30 °C warmest room unless stated."] = None


@dataclass(frozen=True, kw_only=True)
class DraughtLineRequest(Request, DraughtAsked):
    """A drink, its keg, and the line that it is poured through."""

    drink: Declared[DrinkGiven]
