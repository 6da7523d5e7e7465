"""The start of a chill: the filled vessel, the place, the goal; and all that forbids it."""

from dataclasses import dataclass

from service.chilling.asked import ChillAsked, ChillIn, Measured
from service.drink import Drink
from service.errors import Fact, Fault, Nearest, Refusals, Refused, Term, within_validity
from service.limits.charging import CHARGED_AT_C
from service.limits.safety import THERMOMETER_ERROR_C
from service.limits.serving import CHILL_FROM_C, CLOSEST_C, LEAST_ABOVE_C
from service.limits.vessels import MOST_FILL
from service.notes import Notes
from service.safety import check_dead
from service.science import mixture
from service.science.band import Band
from service.science.mixture import ENVIRONMENTS
from service.science.rounding import rounded_up
from service.science.units import Quantity
from service.site import EnvironmentKey
from service.vessel import PRESETS, USUAL, VesselGiven, fill_of, named, unjudged, vessel_of

ENVIRONMENT: EnvironmentKey = "ice-water"
"""The only usual place that is colder than the usual goal and cannot freeze a drink."""
CHILL_IN: ChillIn = "vessel"
"""Filled first, then chilled: nothing warms on filling; common practice, no source."""


@dataclass(frozen=True)
class Filled:
    """A vessel as heat sees it: the drink in it, and its wall."""

    masses: mixture.Masses
    wall: mixture.Wall


@dataclass(frozen=True)
class Case:
    """Vessels to be chilled together, from where, in what, to where.

    lowest_safe_c: coldest this place may bring the drink without risk of ice [degC]
    chill_in: the vessel itself, or a jug that is poured into it once cold
    """

    drink: Drink
    filled: Filled
    place: EnvironmentKey
    place_c: float
    start_c: float
    goal_c: float
    freezing: Band
    lowest_safe_c: float
    measured: Measured | None
    vessel_count: int
    ice_g: float | None
    cooling_power_w: float | None
    chill_in: ChillIn


def case_of(drink: Drink, asked: ChillAsked, notes: Notes) -> Case:
    """Return the case with its gaps filled.

    Whatever is refused, the rest is judged by what is offered instead, so that all of it together works.

    raises: Refused, SeveralRefused
    """
    charged, start_c, measured = asked.charged, asked.start_temperature_c, asked.measured
    freezing = _freezing(drink)
    refusals = Refusals()
    if charged:
        with refusals.gather():
            check_dead(drink)
    filled = _filled(drink, asked.vessel, asked.fill, refusals, notes, charged=charged)
    if start_c is None:
        start_c, name = CHILL_FROM_C, "temperature before chilling"
        notes.assume(name, Quantity("temperature", start_c), "common-practice", at="/start_temperature")
    place, place_c = _place(drink, asked.environment, asked.environment_temperature_c, refusals, notes, charged=charged)
    lowest_c = lowest_safe_c(drink, place, charged=charged)
    goal_c = _goal(asked.goal_temperature_c, start_c, place, place_c, lowest_c, refusals, notes)
    chill_in = _chill_in(asked.chill_in, refusals, notes, charged=charged)
    count = asked.vessel_count
    if count is None:
        count = 1
        notes.assume("vessels chilled together", float(count), "default", at="/vessel_count")
    if measured is not None:
        _check_reading(measured, start_c, place_c)
    refusals.raise_any()
    return Case(
        drink, filled, place, place_c, start_c, goal_c, freezing, lowest_c, measured, count, asked.ice_g,
        asked.cooling_power_w, chill_in,
    )  # fmt: skip


def lowest_safe_c(drink: Drink, place: EnvironmentKey, *, charged: bool) -> float:
    """Return the coldest that a place may bring a drink without risk of ice [degC].

    The margin is how far the place goes below its temperature; a charged vessel may stand beside the cold plate.

    raises: OutsideValidity where its freezing point is not known
    """
    melting = ENVIRONMENTS[place].medium == "ice"
    swing_c = mixture.MOST_SWING_C if charged and not melting else ENVIRONMENTS[place].swing_c
    return mixture.lowest_safe_c(drink.masses, swing_c)


def _freezing(drink: Drink) -> Band:
    """Return the freezing point.

    raises: Refused ("outside-validity")
    """
    with within_validity("/drink"):
        return drink.freezing_point


def _filled(
    drink: Drink, given: VesselGiven | None, fill: float | None, refusals: Refusals, notes: Notes, *, charged: bool
) -> Filled:
    """Return the vessel with its drink. A charged one must be fit to be charged; to be chilled, any will do."""
    material, capacity_ml = "pet", PRESETS[USUAL].capacity_ml  # what a refusal offers; the rest is judged by it
    with refusals.gather():
        if charged:
            vessel = vessel_of(given, notes)
            material, capacity_ml = vessel.material, vessel.capacity_ml
        else:
            material, capacity_ml = _any(given, notes)
    share = MOST_FILL
    with refusals.gather():
        share = fill_of(fill, unjudged(given, Notes()), notes) if charged or fill is None else fill
    masses = drink.masses.scaled(share * capacity_ml / drink.volume_ml)
    return Filled(masses, mixture.wall_of(material, capacity_ml))


def _any(given: VesselGiven | None, notes: Notes) -> tuple[str, float]:
    """Return the material and the capacity of a vessel that holds no pressure.

    raises: Refused ("vessel-refused") where the request leaves one of them open
    """
    if given is None:
        notes.assume("vessel", Term(PRESETS[USUAL].name), "default", at="/vessel")
        given = VesselGiven(preset=USUAL)
    material, capacity_ml = named(given)
    if material is None or capacity_ml is None:
        text = "Name a preset, or state the material and the brimful capacity."
        raise Refused("vessel-refused", [Fault("/vessel", "unknown-vessel", text)])
    return material, capacity_ml


def _place(
    drink: Drink,
    key: EnvironmentKey | None,
    stated_c: float | None,
    refusals: Refusals,
    notes: Notes,
    *,
    charged: bool,
) -> tuple[EnvironmentKey, float]:
    """Return the environment and its temperature; a charged vessel never goes where its drink could freeze."""
    if key is None:
        key = ENVIRONMENT
        notes.assume(
            "environment", key, "common-practice", "colder than the usual goal, and freezes no drink", at="/environment"
        )
    if charged and ENVIRONMENTS[key].freezes:
        with refusals.gather():
            _refuse_freezer()
        key = ENVIRONMENT
    place_c = stated_c
    if place_c is None:
        place_c = ENVIRONMENTS[key].temperature_c
        notes.assume(
            "temperature of the environment",
            Quantity("temperature", place_c),
            "common-practice",
            at="/environment_temperature",
        )
    melting = ENVIRONMENTS[key].medium == "ice"  # any other place swings
    coldest_c = drink.freezing_point.high if melting else lowest_safe_c(drink, key, charged=charged)
    if charged and place_c < coldest_c:
        works_c = max(ENVIRONMENTS[ENVIRONMENT].temperature_c, rounded_up(coldest_c, 0.1))
        with refusals.gather():
            _refuse_ice(place_c, coldest_c, works_c)
        return key, works_c
    return key, place_c


def _refuse_freezer() -> None:
    text = "Never put a charged vessel into a freezer or salted ice: ice drives out CO2 and expands inside it."
    raise Refused(
        "charged-in-freezer",
        [Fault("/environment", "charged-in-freezer", text)],
        nearest=[Nearest("/environment", ENVIRONMENT)],
    )


def _refuse_ice(place_c: float, coldest_c: float, works_c: float) -> None:
    text = "Never put a charged vessel where it is colder than {coldest}: at {place} this drink may freeze."
    here, coldest = Quantity("temperature", place_c), Quantity("temperature", coldest_c, "up")
    fault = Fault("/environment_temperature", "charged-in-freezer", text, (("place", here), ("coldest", coldest)))
    raise Refused(
        "charged-in-freezer",
        [fault],
        facts=[Fact("coldest", coldest)],
        nearest=[Nearest("/environment_temperature", Quantity("temperature", works_c, "up"))],
    )


def reached_c(usual_c: float, start_c: float | None, place: EnvironmentKey, place_c: float | None) -> float:
    """Return a temperature, or as near to it as a place brings a drink that starts warmer [degC]."""
    start_c = CHILL_FROM_C if start_c is None else start_c
    place_c = ENVIRONMENTS[place].temperature_c if place_c is None else place_c
    if start_c <= usual_c or usual_c - place_c >= LEAST_ABOVE_C:
        return usual_c
    return rounded_up(place_c + CLOSEST_C, 0.1)


def _usual_goal_c(lowest_c: float, start_c: float, place: EnvironmentKey, place_c: float, notes: Notes) -> float:
    """Return the temperature to charge at, or as near to it as the place brings the drink [degC]."""
    name, reason = "temperature to reach", "cold enough to charge, no colder than is safe"
    usual_c = max(CHARGED_AT_C, rounded_up(lowest_c, 0.1))
    goal_c = reached_c(usual_c, start_c, place, place_c)
    if goal_c > usual_c:
        reason = "as cold as this place brings it; colder takes up more gas"
    notes.assume(name, Quantity("temperature", goal_c), "common-practice", reason, at="/goal_temperature")
    return goal_c


def _goal(
    stated_c: float | None, start_c: float, place: EnvironmentKey, place_c: float, lowest_c: float, refusals: Refusals,
    notes: Notes,
) -> float:  # fmt: skip
    """Return the goal, above the ice and above its surroundings."""
    goal_c = _usual_goal_c(lowest_c, start_c, place, place_c, notes) if stated_c is None else stated_c
    wanted, around = Quantity("temperature", goal_c), Quantity("temperature", place_c)
    lowest = Quantity("temperature", lowest_c, "up")
    faults, slug, works_c = [], "unreachable", goal_c
    if goal_c < lowest.value:
        text = "Keep it at {lowest} or warmer: at {goal} this drink could freeze."
        faults.append(Fault("/goal_temperature", "would-freeze", text, (("goal", wanted), ("lowest", lowest))))
        slug, works_c = "would-freeze", rounded_up(lowest.value, 0.1)
    if start_c > works_c and works_c - place_c < LEAST_ABOVE_C:
        text = "Take a colder place or a warmer goal: at {place} the drink never comes to {goal}."
        faults.append(Fault("/goal_temperature", "unreachable", text, (("place", around), ("goal", wanted))))
        works_c = place_c + CLOSEST_C
    with refusals.gather():
        if faults:
            raise Refused(
                slug,
                faults,
                facts=[Fact("lowest_safe", lowest), Fact("environment_temperature", around)],
                nearest=[Nearest("/goal_temperature", Quantity("temperature", works_c, "up"))],
            )
    return works_c


def _chill_in(given: ChillIn | None, refusals: Refusals, notes: Notes, *, charged: bool) -> ChillIn:
    """Return the vessel or the jug to chill the drink in; one that is charged is in its vessel already."""
    if given is None:
        reason = "fill first; a jug only where the vessel does not fit the cold place"
        notes.assume("chilled in", CHILL_IN, "common-practice", reason, at="/chill_in")
        return CHILL_IN
    if given == "jug" and charged:
        text = "Chill it in its vessel: what is charged is in it already."
        with refusals.gather():
            raise Refused("vessel-refused", [Fault("/chill_in", "charged-in-jug", text)],
                          nearest=[Nearest("/chill_in", CHILL_IN)])  # fmt: skip
    return given


def _check_reading(measured: Measured, start_c: float, place_c: float) -> None:
    """Refuse a reading that is not well inside start and surroundings: it tells nothing.

    raises: Refused ("impossible-reading")
    """
    margin_c = 2.0 * THERMOMETER_ERROR_C
    if not place_c + margin_c <= measured.temperature_c <= start_c - margin_c:
        text = (
            "Read again when the drink is at least {margin} °C below the start and above the surroundings: {read} "
            "tells nothing between {start} and {place}."
        )
        start, place = Quantity("temperature", start_c), Quantity("temperature", place_c)
        read = Quantity("temperature", measured.temperature_c)
        params = (("read", read), ("start", start), ("place", place), ("margin", margin_c))
        raise Refused(
            "impossible-reading",
            [Fault("/measured/temperature", "reading-tells-nothing", text, params)],
            facts=[Fact("start", start), Fact("environment", place)],
        )
