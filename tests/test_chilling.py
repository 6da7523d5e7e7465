"""Chilling: the one measured point, arithmetic of half-lives, and what is refused."""

from typing import Any

import pytest

from service import chilling
from service.chilling import Chilling, Measured
from service.drink import Drink
from service.errors import Refused, SeveralRefused
from service.notes import Notes
from service.science.mixture import masses_of
from service.vessel import VesselGiven


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


def test_the_measured_bottle_of_water_lies_in_the_band() -> None:
    """22.5 to 14.6 degC in 20 min at -18 degC, the one reading found in print; its 0.75 L glass bottle is assumed."""
    found = chill(WATER, vessel=WINE_BOTTLE, fill=1.0, start_c=22.5, goal_c=14.6, environment="still-freezer")
    assert found.time_s.low <= 20 * 60.0 <= found.time_s.high


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
