"""Set-points and charges, against figures of the trade and the standard atmosphere."""

from dataclasses import replace
from itertools import pairwise
from math import isfinite
from typing import Any

import pytest

from service import carbonation
from service.carbonation import Charging, Point, RefusedPoint, SetPoints, readiness
from service.carbonation.runs import Plan, charges_needed, charging, runs
from service.drink import Drink
from service.errors import Refused, SeveralRefused
from service.notes import Notes
from service.science.mixture import masses_of
from service.setting import Setting
from service.site import Air, Site
from service.vessel import Vessel, VesselGiven
from tests.published import published
from tests.science.gas_residuals import geopotential_m

STRONG = VesselGiven(material="steel", capacity_ml=1000.0, charge_limit_bar=5.0, closed_limit_bar=8.5)
"""Bears more than a bottle, so that a test sees the physics and not the limits."""


def drink(abv: float = 9.0, sugar: float = 70.0, **more: Any) -> Drink:
    return Drink(masses_of(1000.0, abv=abv, sugar_g_per_l=sugar), 0.0, **more)


def set_points(**given: Any) -> SetPoints:
    silent = dict.fromkeys(("target_g_per_l", "temperatures_c", "site", "air", "vessel", "fill"))
    made = given.pop("of", drink())
    return carbonation.set_points(made, **{**silent, "notes": Notes(), **given})


def gauge(**given: Any) -> float:
    """The typical set-point at 1 degC, without air, in a vessel that bears it."""
    found = set_points(**{"temperatures_c": [1.0], "air": Air("none"), "vessel": STRONG, **given}).points[0]
    assert isinstance(found, Point)
    return found.gauge_bar.typical


def charge(**given: Any) -> Charging:
    silent = dict.fromkeys((
        "vessel", "fill", "temperature_c", "target_g_per_l", "start_co2_g_per_l", "dial_bar_gauge", "air",
        "charge_count", "shake_s", "rest_s", "agitation", "connected", "site",
    ))  # fmt: skip
    made = given.pop("of", drink())
    return carbonation.charge(made, **{**silent, "notes": Notes(), **given})


@pytest.mark.parametrize("altitude_m, expected_bar", [(0.0, 1.5), (1600.0, 1.7)])
def test_worked_case_of_the_trade(altitude_m: float, expected_bar: float) -> None:
    """1 degC, 9 %vol, 70 g/l sugar, 7 g/l CO2; common practice, no source. Tolerance: half the last digit."""
    assert gauge(target_g_per_l=7.0, site=Site(altitude_m=altitude_m)) == pytest.approx(expected_bar, abs=0.05)


def test_air_left_in_costs_about_one_bar() -> None:
    """Common practice, no source. Tolerance: half the last digit."""
    more = gauge(target_g_per_l=7.0, air=Air("left")) - gauge(target_g_per_l=7.0)
    assert more == pytest.approx(1.0, abs=0.5)
    assert (
        gauge(target_g_per_l=7.0)
        < gauge(target_g_per_l=7.0, air=Air("purged"))
        < gauge(target_g_per_l=7.0, air=Air("left"))
    )


@pytest.mark.parametrize("altitude_m, pressure_hpa", published("standard_atmosphere.csv", "altitude_m", "pressure_hpa"))
def test_dial_shifts_with_altitude_by_what_the_air_lacks(altitude_m: float, pressure_hpa: float) -> None:
    """Standard atmosphere, see the table, which counts metres where gravity weakens. Tolerance: half its last digit."""
    shift = gauge(site=Site(altitude_m=geopotential_m(altitude_m))) - gauge(site=Site(altitude_m=0.0))
    assert shift == pytest.approx((1013.25 - pressure_hpa) / 1000.0, abs=0.5e-5)


def test_defaults_of_the_trade() -> None:
    """A flat batch is charged three times with at least a minute between; common practice, no source."""
    notes = Notes()
    found = charge(vessel=STRONG, notes=notes)
    assumed = {a.name: a.value for a in notes.assumptions}
    assert len(found.charges_g_per_l) == 3
    assert float(assumed["rest, s"]) >= 60.0
    assert float(assumed["charges"]) == 3.0
    assert found.charges_to_target.low <= 3.0 <= found.charges_to_target.high


def test_self_check_passes_and_can_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    carbonation.self_check()
    monkeypatch.setattr(readiness, "pressure_for_bar_abs", lambda liquid, co2_g_per_l: 3.0)
    with pytest.raises(RuntimeError):
        carbonation.self_check()


@pytest.mark.parametrize("name, values", [
    ("target_g_per_l", [4.0, 5.0, 6.0, 7.0, 8.0]),
    ("temperatures_c", [[0.0], [1.0], [2.0], [4.0], [7.9]]),
    ("site", [Site(altitude_m=m) for m in (-300.0, 0.0, 800.0, 2500.0)]),
    ("of", [drink(9.0, s) for s in (0.0, 50.0, 120.0)]),
])  # fmt: skip
def test_set_point_rises_with(name: str, values: list[Any]) -> None:
    found = [gauge(**{name: value}) for value in values]
    assert all(a < b for a, b in pairwise(found))


def test_sensitivities_are_the_differences_they_say() -> None:
    changes = {
        s.code: s.gauge_bar for s in set_points(target_g_per_l=6.0, air=Air("none"), vessel=STRONG).sensitivities
    }
    assert list(changes) == ["temperature", "abv", "sugar", "target"]
    assert changes["temperature"] == pytest.approx(
        gauge(target_g_per_l=6.0, temperatures_c=[2.0]) - gauge(target_g_per_l=6.0)
    )
    assert changes["target"] == pytest.approx(gauge(target_g_per_l=6.5) - gauge(target_g_per_l=6.0))


def test_highest_co2_is_a_target_that_passes_and_a_little_more_does_not() -> None:
    found = set_points(target_g_per_l=5.0, temperatures_c=[1.0, 4.0, 8.0])
    assert [h.temperature_c for h in found.highest] == [1.0, 4.0, 8.0]
    for most in found.highest:
        here = {"temperatures_c": [most.temperature_c]}
        assert isinstance(set_points(target_g_per_l=most.co2_g_per_l, **here).points[0], Point)
        with pytest.raises(Refused, match="over-vessel-limit"):
            set_points(target_g_per_l=most.co2_g_per_l + 0.01, **here)


def test_points_are_judged_one_by_one() -> None:
    found = set_points(target_g_per_l=5.0, temperatures_c=[-5.0, 1.0, 12.0])
    cold, ok, warm = found.points
    assert isinstance(ok, Point)
    assert isinstance(cold, RefusedPoint)
    assert isinstance(warm, RefusedPoint)
    assert (cold.limits, warm.limits) == (("freezing",), ("too-warm",))
    assert [h.temperature_c for h in found.highest] == [1.0]


def test_air_is_named_where_only_the_air_makes_it_too_much() -> None:
    free = set_points(target_g_per_l=5.9, air=Air("none")).points[0]
    found = set_points(target_g_per_l=5.9, temperatures_c=[1.0, -5.0], air=Air("squeezed", 20.0)).points[0]
    assert isinstance(free, Point)
    assert "air" not in free.limits
    with pytest.raises(Refused, match="closed-limit"):
        set_points(target_g_per_l=5.9, air=Air("left"))
    assert isinstance(found, Point)
    mixed = set_points(target_g_per_l=4.2, temperatures_c=[1.0, 9.9], air=Air("left"))
    assert any("air" in point.limits for point in mixed.points)


def test_a_target_below_what_air_pressure_holds_is_refused() -> None:
    with pytest.raises(Refused, match="below-atmospheric") as refused:
        set_points(target_g_per_l=1.0, air=Air("none"))
    (nearest,) = refused.value.nearest
    assert isinstance(set_points(target_g_per_l=nearest.value.value, air=Air("none")).points[0], Point)  # type: ignore[union-attr]


def plan(**changed: Any) -> Plan:
    vessel = Vessel("steel vessel", "steel", 1000.0, 5.0, 8.5, soft=False)
    setting = Setting(drink(), vessel, 0.8, Air("purged", None, 3, 2.0), 1.01325, 30.0)
    return replace(
        Plan(setting=setting, temperature_c=1.0, target_g_per_l=7.0, start_g_per_l=0.0, dial_bar_gauge=1.6, count=6,
             shake_s=30.0, rest_s=60.0, agitation="shaken", connected=False), **changed,
    )  # fmt: skip


@pytest.mark.parametrize("changed", [
    {}, {"shake_s": 3000.0}, {"dial_bar_gauge": 3.0, "temperature_c": 9.0}, {"agitation": "rocked", "rest_s": 86400.0},
    {"start_g_per_l": 4.0}, {"start_g_per_l": 9.0, "dial_bar_gauge": 0.5},
])  # fmt: skip
def test_no_charge_passes_equilibrium(changed: dict[str, Any]) -> None:
    """From below it nears the level at rest under the dial, from above it loses CO2 to the headspace."""
    here = plan(**changed)
    made, rest = runs(here), here.level_at_rest
    levels = [c.state.co2_g_per_l for c in made.typical]
    if here.start_g_per_l <= rest.typical:
        assert all(a <= b * (1.0 + 1e-12) for a, b in pairwise([here.start_g_per_l, *levels]))
        assert levels[-1] <= rest.typical * (1.0 + 1e-12)
        assert made.solubility[1][-1].state.co2_g_per_l <= rest.high * (1.0 + 1e-12)
    else:
        assert all(rest.typical <= level <= here.start_g_per_l for level in levels)


def test_bands_widen_with_both_causes() -> None:
    made = runs(plan())
    band = made.band(2, lambda c: c.state.co2_g_per_l)
    slow, fast = (run[1].state.co2_g_per_l for run in made.uptake)
    assert band.low < slow < band.typical < fast <= band.high


def test_co2_used_is_what_the_vessel_holds_more() -> None:
    """Nothing is lost: the cylinder gave what liquid and headspace gained. Tolerance: rounding of floats."""
    here = plan(start_g_per_l=2.0)
    last = runs(here).typical[-1]
    gained = (last.state.dissolved_co2_mol_per_l - 2.0 / 44.0095) * last.state.liquid_l + last.state.gas_co2_mol
    assert last.used_mol == pytest.approx(gained, rel=1e-12)


def test_longer_colder_and_more_often_bring_more() -> None:
    def reached(**changed: Any) -> float:
        return runs(plan(**{"count": 2, **changed})).typical[-1].state.co2_g_per_l

    assert reached() < reached(shake_s=45.0)
    assert reached() < reached(temperature_c=0.0)
    assert reached() < reached(count=3)
    assert reached() < reached(dial_bar_gauge=1.8)


def test_charges_needed_are_the_first_that_reach_the_target() -> None:
    here = plan()
    needed = charges_needed(here).typical
    charges = charging(here, here.liquid, shaken_per_s=0.04, still_per_s=5e-5)  # typical, data/kinetics.csv
    levels = [next(charges).state.co2_g_per_l for _ in range(int(needed))]
    assert levels[-1] >= 0.95 * here.target_g_per_l > (levels[-2] if len(levels) > 1 else 0.0)


def test_what_is_not_reached_is_not_made_up() -> None:
    notes = Notes()
    found = charge(dial_bar_gauge=0.6, target_g_per_l=7.0, notes=notes)
    assert not isfinite(found.charges_to_target.low)
    assert "target-not-reached" in {c.code for c in notes.cautions}
    assert {a.code for a in found.advice} >= {"colder", "longer-shake", "one-more-charge", "higher-pressure"}
    before = found.charges_g_per_l[-1].typical
    assert all(a.co2_g_per_l.typical > before for a in found.advice)


def test_advice_is_what_following_it_gives() -> None:
    given: dict[str, Any] = {"target_g_per_l": 6.0, "charge_count": 1, "shake_s": 10.0, "air": Air("squeezed", 20.0)}
    advice = {a.code: a for a in charge(**given).advice}
    longer = charge(**{**given, "shake_s": advice["longer-shake"].params["seconds"]})
    assert longer.charges_g_per_l[-1] == advice["longer-shake"].co2_g_per_l
    more = charge(**{**given, "charge_count": 2})
    assert more.charges_g_per_l[-1] == advice["one-more-charge"].co2_g_per_l
    dial = advice["higher-pressure"].params["dial"].value  # type: ignore[union-attr]
    higher = charge(**{**given, "dial_bar_gauge": dial})
    assert higher.charges_g_per_l[-1] == advice["higher-pressure"].co2_g_per_l
    assert dial <= higher.never_over_bar_gauge


def test_a_connected_keg_takes_days_and_a_bottle_is_never_left_connected() -> None:
    found = charge(vessel=VesselGiven("keg-19-l"), connected=True, target_g_per_l=5.0)
    assert found.days_to_target is not None
    assert 0.2 < found.days_to_target.low < found.days_to_target.typical < found.days_to_target.high < 30.0
    with pytest.raises(Refused, match="left-connected"):
        charge(target_g_per_l=5.0, connected=True)


def test_sparkling_components_start_it_and_are_judged_in_full() -> None:
    fizzy = drink(co2_g=9.0 * drink().volume_ml / 1000.0)
    notes = Notes()
    flat, found = charge(target_g_per_l=4.0), None
    with pytest.raises(Refused, match="/start_co2") as refused:
        found = charge(of=fizzy, target_g_per_l=4.0, notes=notes)
    assert found is None
    assert refused.value.nearest == ()  # what the components bring cannot be wished away
    mild = charge(of=drink(co2_g=4.0 * drink().volume_ml / 1000.0), target_g_per_l=4.5, notes=notes, charge_count=1)
    assert {a.name: a.value for a in notes.assumptions}["CO2 before charging"].value == pytest.approx(2.0)  # type: ignore[union-attr]
    assert mild.charges_g_per_l[0].typical > flat.charges_g_per_l[0].typical


def test_several_refusals_come_together_and_their_nearest_work_together() -> None:
    with pytest.raises(SeveralRefused) as refused:
        charge(vessel=VesselGiven("pet-1-l", condition="bulged"), fill=0.95, temperature_c=14.0, target_g_per_l=9.0,
               site=Site(regulator_max_bar=8.0), air=Air("squeezed", 500.0))  # fmt: skip
    assert [r.slug for r in refused.value.refusals] == [
        "vessel-refused", "no-headspace", "air-handling", "regulator-unsafe", "too-warm", "over-vessel-limit",
    ]  # fmt: skip


def test_an_overfull_bottle_is_warned_of() -> None:
    """What passes at the line may not pass above it."""
    near, far = Notes(), Notes()
    charge(target_g_per_l=6.0, notes=near)
    charge(target_g_per_l=4.0, notes=far)
    assert "overfull" in {c.code for c in near.cautions}
    assert "overfull" not in {c.code for c in far.cautions}
    with pytest.raises(Refused, match="closed-limit"):
        charge(target_g_per_l=6.0, fill=0.9)
    charge(target_g_per_l=4.0, fill=0.9)
