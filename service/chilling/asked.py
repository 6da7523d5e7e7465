"""A chill as a request asks for it."""

from dataclasses import dataclass
from typing import Annotated, Literal

from service.declared import Declared, duration, mass, number, shape, temperature, whole
from service.drink import DrinkGiven
from service.request import PlacedRequest
from service.site import EnvironmentKey
from service.vessel import VesselGiven

ChillIn = Literal["vessel", "jug"]


@shape("ChillReading")
@dataclass(frozen=True)
class Measured:
    """One reading of a thermometer in the drink."""

    after_s: Annotated[float, duration(low=1.0, high=7 * 86400.0), "Time in the cold when it was read."]
    temperature_c: Annotated[float, temperature(low=-25.0, high=45.0)]


@dataclass(frozen=True, kw_only=True)
class ChillAsked:
    """The vessels to be chilled, from where to where; None where the request is silent."""

    vessel: Annotated[VesselGiven | None, "Any material unless it is charged; default pet-1-l."] = None
    fill: Annotated[float | None, number(low=0.05, high=1.0), "Liquid as a share of brimful; 0.80 unless stated."] = (
        None
    )
    charged: Annotated[bool, "The vessel is already under pressure."] = False
    start_temperature_c: Annotated[float | None, temperature(low=-15.0, high=45.0)] = None
    goal_temperature_c: Annotated[float | None, temperature(low=-25.0, high=30.0)] = None
    environment: Declared[EnvironmentKey | None] = None
    environment_temperature_c: Annotated[float | None, temperature(low=-40.0, high=25.0)] = None
    measured: Declared[Measured | None] = None
    vessel_count: Annotated[
        int | None, whole(low=1, high=1000), "Vessels that are chilled together; 1 unless stated."
    ] = None
    ice_g: Annotated[
        float | None,
        mass(low=10.0, high=5e6),
        "That there is for an ice bath; too little to reach the goal is refused.",
    ] = None
    cooling_power_w: Annotated[
        float | None,
        number(above=0.0, high=100_000.0),
        "Heat that the fridge, freezer or cold room takes out, in watts, which is not what it draws; estimated by its "
        "kind unless stated.",
    ] = None
    chill_in: Annotated[
        ChillIn | None,
        "vessel: filled first, then chilled. jug: where the vessel does not fit the cold place; taken to be no larger "
        "than the vessel.",
    ] = None


@dataclass(frozen=True, kw_only=True)
class ChillPlanRequest(PlacedRequest, ChillAsked):
    """A drink to chill, from where to where: one vessel, from 20 °C in ice-water to 1 °C, or as near as is safe, unless
    stated."""

    drink: Declared[DrinkGiven]
