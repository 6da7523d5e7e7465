"""What a chill starts from: the filled vessel, the place, the goal; and what forbids it."""

from dataclasses import dataclass
from typing import Literal

from service.drink import Drink
from service.errors import Fact, Fault, Nearest, OutsideValidity, Refusals, Refused
from service.notes import Notes
from service.safety import cold_c
from service.science import mixture
from service.science.band import Band
from service.science.mixture import ENVIRONMENTS
from service.science.rounding import rounded_up
from service.science.units import Quantity
from service.vessel import MOST_FILL, PRESETS, VesselGiven, fill_of, vessel_of

EnvironmentKey = Literal[
    "still-freezer", "fan-freezer", "fridge", "walk-in", "ice-water", "stirred-ice-water", "salted-ice"
]

START_C = 20.0
"""Of a drink batched from the shelf [degC]; common practice, no source."""
ENVIRONMENT: EnvironmentKey = "ice-water"
"""The only usual place that is colder than the usual goal and cannot freeze a drink."""
FREEZES: tuple[EnvironmentKey, ...] = ("still-freezer", "fan-freezer", "salted-ice")
"""Where a charged vessel is never put."""
THERMOMETER_C = 0.5
"""Error of a bar thermometer, either way [degC]; estimate."""
CLOSEST_C = 0.5
"""A goal this far above its surroundings is offered where the one asked for is never reached [degC]."""


@dataclass(frozen=True)
class Measured:
    """One reading of a thermometer in the drink, after some time in the cold."""

    after_s: float
    temperature_c: float


@dataclass(frozen=True)
class Filled:
    """A vessel as heat sees it: the drink in it, and its wall."""

    masses: mixture.Masses
    wall: mixture.Wall


@dataclass(frozen=True)
class Case:
    """A vessel to be chilled, from where, in what, to where."""

    drink: Drink
    filled: Filled
    place: EnvironmentKey
    place_c: float
    start_c: float
    goal_c: float
    freezing: Band
    measured: Measured | None


def case_of(  # noqa: PLR0913 - one for each field of the request
    drink: Drink,
    *,
    vessel: VesselGiven | None,
    fill: float | None,
    charged: bool,
    start_c: float | None,
    goal_c: float | None,
    environment: EnvironmentKey | None,
    environment_c: float | None,
    measured: Measured | None,
    notes: Notes,
) -> Case:
    """The case with its gaps filled.

    Whatever is refused, the rest is judged by what is offered instead, so that all of it together works.

    raises: Refused, SeveralRefused
    """
    freezing = _freezing(drink)
    refusals = Refusals()
    filled = _filled(drink, vessel, fill, refusals, notes, charged=charged)
    if start_c is None:
        start_c, name = START_C, "temperature before chilling"
        notes.assume(name, Quantity("temperature", start_c), "common-practice", at="/start_temperature")
    place, place_c = _place(environment, environment_c, freezing, refusals, notes, charged=charged)
    goal_c = _goal(drink, goal_c, start_c, place_c, refusals, notes)
    if measured is not None:
        _check_reading(measured, start_c, place_c)
    refusals.raise_any()
    return Case(drink, filled, place, place_c, start_c, goal_c, freezing, measured)


def _freezing(drink: Drink) -> Band:
    """Freezing point.

    raises: Refused ("outside-validity")
    """
    try:
        return drink.freezing_point
    except OutsideValidity as outside:
        facts = [Fact("value", outside.value), Fact("lowest", outside.low), Fact("highest", outside.high)]
        raise Refused("outside-validity", [Fault("/drink", "outside-validity", f"{outside}.")], facts=facts) from None


def _filled(
    drink: Drink, given: VesselGiven | None, fill: float | None, refusals: Refusals, notes: Notes, *, charged: bool
) -> Filled:
    """The vessel with its drink. A charged one must be fit to be charged; to be chilled, any will do."""
    material, capacity_ml = "pet", PRESETS["pet-1-l"].capacity_ml  # what a refusal offers; the rest is judged by it
    with refusals.gather():
        material, capacity_ml = _charged(given, notes) if charged else _any(given, notes)
    share = MOST_FILL
    with refusals.gather():
        share = fill_of(fill, notes) if charged or fill is None else fill
    masses = drink.masses.scaled(share * capacity_ml / drink.volume_ml)
    return Filled(masses, mixture.wall_of(material, capacity_ml))


def _charged(given: VesselGiven | None, notes: Notes) -> tuple[str, float]:
    vessel = vessel_of(given, notes)
    return vessel.material, vessel.capacity_ml


def _any(given: VesselGiven | None, notes: Notes) -> tuple[str, float]:
    """Material and capacity of a vessel that holds no pressure.

    raises: Refused ("vessel-refused") where the request leaves one of them open
    """
    if given is None:
        notes.assume("vessel", "pet-1-l", "default", at="/vessel")
        given = VesselGiven(preset="pet-1-l")
    preset = PRESETS[given.preset] if given.preset else None
    material = given.material or (preset.material if preset else None)
    capacity_ml = given.capacity_ml or (preset.capacity_ml if preset else None)
    if material is None or capacity_ml is None:
        text = "Name a preset, or state the material and the brimful capacity."
        raise Refused(
            "vessel-refused",
            [Fault("/vessel", "unknown-vessel", text)],
            nearest=[Nearest("/vessel", {"preset": "pet-1-l"})],
        )
    return material, capacity_ml


def _place(
    key: EnvironmentKey | None,
    stated_c: float | None,
    freezing: Band,
    refusals: Refusals,
    notes: Notes,
    *,
    charged: bool,
) -> tuple[EnvironmentKey, float]:
    """The environment and its temperature; a charged vessel never goes where its drink could freeze."""
    if key is None:
        key = ENVIRONMENT
        notes.assume(
            "environment", key, "common-practice", "colder than the usual goal, and freezes no drink", at="/environment"
        )
    if charged and key in FREEZES:
        with refusals.gather():
            _refuse_freezer()
        key = ENVIRONMENT
    if stated_c is None:
        place_c = ENVIRONMENTS[key].temperature_c
        notes.assume(
            "temperature of the environment",
            Quantity("temperature", place_c),
            "common-practice",
            at="/environment_temperature",
        )
        return key, place_c
    if charged and stated_c < freezing.high:
        with refusals.gather():
            _refuse_ice(stated_c, freezing)
        return key, ENVIRONMENTS[ENVIRONMENT].temperature_c
    return key, stated_c


def _refuse_freezer() -> None:
    text = "A charged vessel never goes into a freezer or salted ice: ice drives out CO2 and expands inside it."
    raise Refused(
        "charged-in-freezer",
        [Fault("/environment", "charged-in-freezer", text)],
        nearest=[Nearest("/environment", ENVIRONMENT)],
    )


def _refuse_ice(place_c: float, freezing: Band) -> None:
    text = "At {place} this drink may freeze, at {freezing} or below; a charged vessel is not put there."
    here, first_ice = Quantity("temperature", place_c), Quantity("temperature", freezing.high)
    works = Quantity("temperature", ENVIRONMENTS[ENVIRONMENT].temperature_c)
    fault = Fault("/environment_temperature", "charged-in-freezer", text, (("place", here), ("freezing", first_ice)))
    raise Refused(
        "charged-in-freezer",
        [fault],
        facts=[Fact("freezing_point", first_ice)],
        nearest=[Nearest("/environment_temperature", works)],
    )


def _goal(
    drink: Drink, goal_c: float | None, start_c: float, place_c: float, refusals: Refusals, notes: Notes
) -> float:
    """The goal, above the ice and above its surroundings."""
    if goal_c is None:
        goal_c = cold_c(drink)
        notes.assume(
            "temperature to reach",
            Quantity("temperature", goal_c),
            "common-practice",
            "cold enough to charge, no colder than is safe",
            at="/goal_temperature",
        )
    wanted, lowest, place = (Quantity("temperature", t) for t in (goal_c, drink.lowest_safe_c, place_c))
    faults, slug, works_c = [], "unreachable", goal_c
    if goal_c < lowest.value:
        text = "At {goal} this drink could freeze; keep it at {lowest} or warmer."
        faults.append(Fault("/goal_temperature", "would-freeze", text, (("goal", wanted), ("lowest", lowest))))
        slug, works_c = "would-freeze", rounded_up(lowest.value, 0.1)
    if start_c > works_c and works_c <= place_c:
        text = "Surroundings at {place} never bring the drink to {goal}; take a colder place or a warmer goal."
        faults.append(Fault("/goal_temperature", "unreachable", text, (("place", place), ("goal", wanted))))
        works_c = place_c + CLOSEST_C
    with refusals.gather():
        if faults:
            raise Refused(
                slug,
                faults,
                facts=[Fact("lowest_safe", lowest), Fact("environment_temperature", place)],
                nearest=[Nearest("/goal_temperature", Quantity("temperature", works_c))],
            )
    return works_c


def _check_reading(measured: Measured, start_c: float, place_c: float) -> None:
    """A reading says something only well inside start and surroundings.

    raises: Refused ("impossible-reading")
    """
    margin_c = 2.0 * THERMOMETER_C
    if not place_c + margin_c <= measured.temperature_c <= start_c - margin_c:
        text = (
            "A reading of {read} tells nothing between a start at {start} and surroundings at {place}: read again when "
            "the drink is at least {margin} °C below the one and above the other."
        )
        read, start, place = (Quantity("temperature", t) for t in (measured.temperature_c, start_c, place_c))
        params = (("read", read), ("start", start), ("place", place), ("margin", margin_c))
        raise Refused(
            "impossible-reading",
            [Fault("/measured/temperature", "impossible-reading", text, params)],
            facts=[Fact("start", start), Fact("environment", place)],
        )
