"""Chilling: the one measured point, arithmetic of half-lives, and what is refused."""

from typing import Any

import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI

from service import chilling
from service.chilling import Chilling, Measured
from service.chilling.times import WARM_AIR_U_W_PER_M2_K
from service.drink import Drink
from service.errors import Refused, SeveralRefused
from service.notes import Notes
from service.science.mixture import ENVIRONMENTS, masses_of
from service.vessel import VesselGiven
from tests.published import published


def drink(abv: float = 12.0, sugar: float = 60.0) -> Drink:
    return Drink(masses_of(1000.0, abv=abv, sugar_g_per_l=sugar), 0.0)


def chill(of: Drink | None = None, **given: Any) -> Chilling:
    silent = dict.fromkeys(("vessel", "fill", "start_c", "goal_c", "environment", "environment_c", "measured"))
    return chilling.chill(of or drink(), **{**silent, "charged": False, "notes": Notes(), **given})


def refusals(**given: Any) -> dict[str, Refused]:
    with pytest.raises((Refused, SeveralRefused)) as caught:
        chill(**given)
    error = caught.value
    return {r.slug: r for r in (error.refusals if isinstance(error, SeveralRefused) else (error,))}


WINE_BOTTLE = VesselGiven(material="glass", capacity_ml=750.0)
WATER = drink(0.0, 0.0)


READ = ("capacity_ml", "abv", "start_c", "read_c", "shortest_min", "longest_min")


@pytest.mark.parametrize(f"environment, {', '.join(READ)}", [
    (place, *row)
    for place in ("still-freezer", "fridge", "ice-water")
    for row in published("chill_readings.csv", *READ, environment=place)
])  # fmt: skip
def test_measured_bottles_lie_in_the_band(
    environment: str, capacity_ml: float, abv: float, start_c: float, read_c: float,
    shortest_min: float, longest_min: float,
) -> None:  # fmt: skip
    """Every reading found in print; the band is the stated uncertainty of the model."""
    bottle = VesselGiven(material="glass", capacity_ml=capacity_ml)
    found = chill(drink(abv, 10.0 * (abv > 0.0)), vessel=bottle, fill=0.95, start_c=start_c, goal_c=read_c,
                  environment=environment)  # fmt: skip
    assert found.time_s.low <= 60.0 * longest_min
    assert found.time_s.high >= 60.0 * shortest_min


def still_air(place_c: float, wall_c: float, height_m: float = 0.25) -> tuple[float, float]:
    """Coefficients [W/(m2 K)] of free convection on an upright wall and of radiation, emissivity 0.9.

    Churchill and Chu 1975, doi:10.1016/0017-9310(75)90243-4, eq. 9; air by CoolProp; Stefan-Boltzmann, linear in the
    small difference of the two.
    """
    film_k = (place_c + wall_c) / 2.0 + 273.15
    air = {name: PropsSI(name, "T", film_k, "P", 101325.0, "Air") for name in ("D", "V", "L", "C", "Prandtl")}
    viscosity, diffusivity = air["V"] / air["D"], air["L"] / (air["D"] * air["C"])
    rayleigh = 9.81 / film_k * abs(place_c - wall_c) * height_m**3 / (viscosity * diffusivity)
    nusselt = (0.825 + 0.387 * rayleigh ** (1 / 6) / (1.0 + (0.492 / air["Prandtl"]) ** (9 / 16)) ** (8 / 27)) ** 2
    return nusselt * air["L"] / height_m, 0.9 * 4.0 * 5.670374e-8 * film_k**3


@pytest.mark.parametrize("environment, wall_c", [("still-freezer", 10.0), ("fridge", 12.0)])
def test_still_air_is_in_the_band_of_its_coefficient(environment: str, wall_c: float) -> None:
    place = ENVIRONMENTS[environment]
    assert place.u_w_per_m2_k.low <= sum(still_air(place.temperature_c, wall_c)) <= place.u_w_per_m2_k.high


def test_a_warm_room_dry_or_damp_is_in_the_band_of_its_coefficient() -> None:
    """Heat and mass transfer alike (Lewis number near 1): moisture brings h (w - w_wall) L / c; air by CoolProp."""
    convection, radiation = still_air(30.0, 3.0)
    w, w_wall = (HAPropsSI("W", "T", t + 273.15, "P", 101325.0, "R", r) for t, r in ((30.0, 0.6), (3.0, 1.0)))
    heat_j_per_kg, c_j_per_kg_k = 2.49e6, 1006.0  # of condensing near 3 degC, and of air; steam tables
    moisture = convection * (w - w_wall) * heat_j_per_kg / c_j_per_kg_k / 27.0
    dry, damp = convection + radiation, convection + radiation + moisture
    assert WARM_AIR_U_W_PER_M2_K.low < dry < WARM_AIR_U_W_PER_M2_K.typical < damp < WARM_AIR_U_W_PER_M2_K.high


def test_the_timer_rings_at_the_early_end() -> None:
    found = chill(environment="ice-water")
    assert found.first_check_s == found.time_s.low < found.time_s.typical


@pytest.mark.parametrize("environment, environment_c, goal_c", [
    ("still-freezer", -18.0, 4.0), ("fan-freezer", -25.0, 4.0), ("fridge", 3.0, 5.0), ("walk-in", 3.0, 5.0),
    ("ice-water", 0.5, 2.0), ("stirred-ice-water", 0.5, 2.0), ("salted-ice", -10.0, 2.0),
])  # fmt: skip
def test_each_of_the_seven_places_has_its_time_and_its_temperature(
    environment: str, environment_c: float, goal_c: float
) -> None:
    """Usual temperatures; common practice, no source."""
    found = chill(environment=environment, goal_c=goal_c)
    assert found.environment_c == environment_c
    assert 0.0 < found.time_s.low < found.time_s.typical < found.time_s.high


@pytest.mark.parametrize("goal_c, minutes", [(10.0, 10.0), (5.0, 20.0), (2.5, 30.0)])
def test_a_reading_sets_the_half_life(goal_c: float, minutes: float) -> None:
    """Newton's law of cooling: half way to 0 degC in ten minutes is half of the rest in ten more. Exact arithmetic."""
    found = chill(start_c=20.0, goal_c=goal_c, environment_c=0.0, measured=Measured(600.0, 10.0))
    assert found.time_s.typical == pytest.approx(60.0 * minutes, rel=1e-12)


def test_a_reading_narrows_the_band() -> None:
    guessed = chill(environment="ice-water").time_s
    notes = Notes()
    read = chill(environment="ice-water", measured=Measured(900.0, 7.0), notes=notes).time_s
    assert (read.high - read.low) / read.typical < (guessed.high - guessed.low) / guessed.typical
    assert "calibrated" in {c.code for c in notes.cautions}


@pytest.mark.parametrize("read_c", [19.5, 1.0, 25.0, -5.0])
def test_a_reading_that_says_nothing_is_refused(read_c: float) -> None:
    found = refusals(start_c=20.0, environment_c=0.5, goal_c=5.0, measured=Measured(600.0, read_c))
    assert found["impossible-reading"].faults[0].pointer == "/measured/temperature"


def test_water_freezes_at_zero() -> None:
    """By definition of the scale, to its 0.01 degC."""
    found = chill(WATER)
    assert found.freezing_point.typical == pytest.approx(0.0, abs=0.01)
    assert found.lowest_safe_c == pytest.approx(2.0, abs=0.01)
    assert found.goal_c >= found.lowest_safe_c


def test_spirit_forms_no_ice_in_a_freezer_and_a_weak_drink_does() -> None:
    """40 %vol freezes near -23 degC (CRC Handbook, 33 % by mass): a freezer at -18 holds it liquid."""
    assert chill(drink(40.0, 0.0), environment="still-freezer").ice_percent_at_environment == 0.0
    notes = Notes()
    assert chill(drink(5.0, 50.0), environment="still-freezer", notes=notes).ice_percent_at_environment > 50.0
    assert "freezes-if-left" in {c.code for c in notes.cautions}


def test_a_drink_at_its_goal_takes_no_time() -> None:
    notes = Notes()
    found = chill(start_c=1.0, goal_c=4.0, notes=notes)
    assert (found.time_s.low, found.time_s.high, found.first_check_s) == (0.0, 0.0, 0.0)
    assert "already-cold" in {c.code for c in notes.cautions}


def test_warmer_goals_and_stronger_baths_are_sooner() -> None:
    cold, mild = chill(goal_c=2.0).time_s, chill(goal_c=6.0).time_s
    stirred = chill(goal_c=2.0, environment="stirred-ice-water").time_s
    assert mild.typical < cold.typical
    assert stirred.typical < cold.typical


def test_time_does_not_depend_on_how_a_volume_is_split() -> None:
    """A larger vessel of the same shape takes longer, as its surface grows less than its content."""
    small = chill(vessel=VesselGiven(material="pet", capacity_ml=500.0))
    large = chill(vessel=VesselGiven(material="pet", capacity_ml=2000.0))
    assert small.time_s.typical < large.time_s.typical


def test_it_is_warm_again_after_longer_the_colder_it_was() -> None:
    colder, cold = chill(goal_c=1.0).warming_s, chill(goal_c=3.0).warming_s
    assert colder is not None
    assert cold is not None
    assert cold.typical < colder.typical
    assert chill(goal_c=6.0).warming_s is None


def test_a_goal_below_the_lowest_safe_temperature_is_refused() -> None:
    found = refusals(goal_c=-10.0, environment="still-freezer")["would-freeze"]
    assert found.faults[0].pointer == "/goal_temperature"
    assert found.nearest[0].value.value >= chill().lowest_safe_c  # type: ignore[union-attr]


def test_a_fridge_never_reaches_the_usual_goal() -> None:
    assert refusals(environment="fridge")["unreachable"].faults[0].pointer == "/goal_temperature"


@pytest.mark.parametrize("environment", ["still-freezer", "fan-freezer", "salted-ice"])
def test_a_charged_vessel_goes_into_no_freezer(environment: str) -> None:
    found = refusals(charged=True, environment=environment, goal_c=4.0)["charged-in-freezer"]
    assert found.nearest[0].value == "ice-water"


def test_a_fridge_set_to_freezing_is_a_freezer_for_a_charged_vessel() -> None:
    found = refusals(charged=True, environment="fridge", environment_c=-12.0, goal_c=4.0)["charged-in-freezer"]
    assert found.faults[0].pointer == "/environment_temperature"
    assert chill(environment="fridge", environment_c=-12.0, goal_c=4.0).time_s.low > 0.0


@pytest.mark.parametrize("environment, environment_c, place", [
    ("fridge", 0.5, "frosts"), ("walk-in", 1.9, "frosts"), ("walk-in", 2.1, "keeps"), ("ice-water", 0.5, "keeps"),
    ("ice-water", -0.2, "frosts"), ("stirred-ice-water", 0.5, "keeps"), ("fridge", None, "keeps"),
])  # fmt: skip
def test_only_melting_ice_may_be_nearer_to_the_freezing_point(
    environment: str, environment_c: float | None, place: str
) -> None:
    """Water freezes at 0 degC; a cold store swings by 2 degC, melting ice does not (common practice, no source)."""
    given: dict[str, Any] = {"of": WATER, "charged": True, "environment": environment, "environment_c": environment_c,
                             "goal_c": 8.0}  # fmt: skip
    if place == "keeps":
        assert chill(**given).time_s.low > 0.0
        return
    found = refusals(**given)["charged-in-freezer"]
    assert found.faults[0].pointer == "/environment_temperature"
    assert chill(**{**given, "environment_c": found.nearest[0].value.value}).time_s.low > 0.0  # type: ignore[union-attr]


def test_brine_counts_by_the_warm_end_of_the_freezing_point() -> None:
    """Between the ends of its band a drink may or may not freeze: the vessel does not go there."""
    freezing = chill().freezing_point
    assert freezing.low < freezing.high - 0.2
    found = refusals(charged=True, environment="ice-water", environment_c=freezing.high - 0.2, goal_c=4.0)
    assert set(found) == {"charged-in-freezer"}
    assert chill(charged=True, environment="ice-water", environment_c=freezing.high + 0.2, goal_c=4.0).time_s.low > 0.0


@pytest.mark.parametrize("abv", [10.0, 20.0, 30.0, 40.0])
def test_the_lowest_safe_temperature_is_clear_of_the_freezing_band(abv: float) -> None:
    """A cold store swings by 2 degC, and freezing points are known to a tenth (CRC and Lange differ by up to 8 %)."""
    found = chill(drink(abv, 0.0))
    assert found.lowest_safe_c >= max(found.freezing_point.high, found.freezing_point.typical + 2.0 - 1e-9)


def test_a_reading_leaves_no_less_than_its_own_spread() -> None:
    """A place goes on changing after it was read, by 15 %; estimate. The thermometer adds to it."""
    read = chill(environment="ice-water", measured=Measured(900.0, 7.0)).time_s
    assert 0.15 < (read.high - read.low) / 2.0 / read.typical < 0.2


def test_glass_is_chilled_but_not_once_it_is_charged() -> None:
    assert chill(vessel=WINE_BOTTLE, fill=0.98).time_s.low > 0.0
    assert set(refusals(vessel=WINE_BOTTLE, fill=0.98, charged=True)) == {"vessel-refused", "no-headspace"}


def test_a_drink_past_the_freezing_data_is_refused() -> None:
    syrup = Drink(masses_of(1000.0, abv=0.0, sugar_g_per_l=900.0), 0.0)
    assert refusals(of=syrup)["outside-validity"].faults[0].pointer == "/drink"
