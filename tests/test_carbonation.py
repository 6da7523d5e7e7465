"""Set-points and charges, against figures of the trade and the standard atmosphere."""

from dataclasses import replace
from importlib import import_module
from itertools import pairwise
from math import isfinite
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service import carbonation, safety
from service.calibration import Calibration, Estimate, UptakeEstimate
from service.carbonation import ChargesAsked, Charging, SetPoints, SetPointsAsked
from service.carbonation.runs import Plan, charges_needed, runs
from service.drink import Drink
from service.errors import Refused, SeveralRefused
from service.notes import Notes
from service.safety import Judgement
from service.science.gas import Liquid
from service.science.mixture import masses_of
from service.science.units import Quantity
from service.science.vessel import balance, contents, warmed
from service.setting import Setting
from service.site import Air, Site, air_left_mol
from service.vessel import Vessel, VesselGiven
from tests.published import published
from tests.science.gas_residuals import geopotential_m

STRONG = VesselGiven(material="steel", capacity_ml=1000.0, charge_limit_bar=5.0, closed_limit_bar=8.5, rated_by="stamp")
"""Bears more than a bottle, so that a test sees the physics and not the limits."""
BOTTLE, KEG, BEER_KEG = VesselGiven("pet-1-l"), VesselGiven("keg-19-l"), VesselGiven("keg-20-l")


def drink(abv: float = 9.0, sugar: float = 70.0, **more: Any) -> Drink:
    return Drink(masses_of(1000.0, abv=abv, sugar_g_per_l=sugar), 0.0, **more)


def set_points(**given: Any) -> SetPoints:
    silent = dict.fromkeys(("target_g_per_l", "temperatures_c", "site", "air", "vessel", "fill"))
    made = given.pop("of", drink())
    notes = given.pop("notes", Notes())
    return carbonation.set_points(made, SetPointsAsked(**{**silent, **given}), notes)


def gauge(**given: Any) -> float:
    """The typical set-point at 1 degC, without air, in a vessel that bears it."""
    found = set_points(**{"temperatures_c": [1.0], "air": Air("none"), "vessel": STRONG, **given}).points[0]
    assert found.problem is None
    return found.dial_bar_gauge.typical


def charge(**given: Any) -> Charging:
    made, notes = given.pop("of", drink()), given.pop("notes", Notes())
    return carbonation.charge(made, ChargesAsked(**given), notes)


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
    assert len(found.charges) == 3
    assert assumed["rest"] == Quantity("duration", 60.0)
    assert assumed["shake"] == Quantity("duration", 30.0)
    assert assumed["charges"] == 3.0
    assert found.charges_needed.low <= 3.0 <= found.charges_needed.high


def test_self_check_passes_and_can_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    carbonation.self_check()
    monkeypatch.setattr(
        import_module("service.carbonation.set_points"), "pressure_for_bar_abs", lambda liquid, co2_g_per_l: 3.0
    )
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
        s.code: s.gauge_pressure_bar
        for s in set_points(target_g_per_l=6.0, air=Air("none"), vessel=STRONG).sensitivities
    }
    assert list(changes) == ["temperature", "abv", "sugar", "target"]
    assert changes["temperature"] == pytest.approx(
        gauge(target_g_per_l=6.0, temperatures_c=[2.0]) - gauge(target_g_per_l=6.0)
    )
    assert changes["target"] == pytest.approx(gauge(target_g_per_l=6.5) - gauge(target_g_per_l=6.0))


def test_highest_co2_is_a_target_that_passes_and_a_little_more_does_not() -> None:
    found = set_points(target_g_per_l=5.0, temperatures_c=[1.0, 4.0, 8.0], vessel=BOTTLE)
    assert [h.temperature_c for h in found.highest] == [1.0, 4.0, 8.0]
    for most in found.highest:
        here = {"temperatures_c": [most.temperature_c], "vessel": BOTTLE}
        assert set_points(target_g_per_l=most.co2_g_per_l, **here).points[0].problem is None
        with pytest.raises(Refused, match="over-vessel-limit"):
            set_points(target_g_per_l=most.co2_g_per_l + 0.01, **here)


def test_points_are_judged_one_by_one() -> None:
    found = set_points(target_g_per_l=5.0, temperatures_c=[-5.0, 1.0, 12.0], vessel=BOTTLE)
    cold, ok, warm = found.points
    assert ok.problem is None
    assert cold.problem is not None
    assert warm.problem is not None
    assert (cold.limits, warm.limits) == (("freezing",), ("too-warm",))
    assert [h.temperature_c for h in found.highest] == [1.0]


def test_air_is_named_where_only_the_air_makes_it_too_much() -> None:
    """Squeezed to 20 ml a bottle holds 7.8 g/l at the most, without air 8.3; first computation, common practice."""
    free = set_points(target_g_per_l=7.9, air=Air("none"), vessel=BOTTLE).points[0]
    near = set_points(target_g_per_l=7.8, air=Air("squeezed", 20.0), vessel=BOTTLE).points[0]
    assert free.problem is None
    assert "air" not in free.limits
    assert near.problem is None
    assert near.limits == ("closed-limit", "air")
    with pytest.raises(Refused, match="closed-limit"):
        set_points(target_g_per_l=7.0, air=Air("left"), vessel=BOTTLE)
    mixed = set_points(target_g_per_l=5.9, temperatures_c=[1.0, 9.9], air=Air("left"), vessel=BOTTLE)
    assert any("air" in point.limits for point in mixed.points)


def test_a_target_below_what_air_pressure_holds_is_refused() -> None:
    with pytest.raises(Refused, match="below-atmospheric") as refused:
        set_points(target_g_per_l=1.0, air=Air("none"), vessel=BOTTLE)
    (nearest,) = refused.value.nearest
    again = set_points(target_g_per_l=nearest.value.value, air=Air("none"), vessel=BOTTLE)  # type: ignore[union-attr]
    assert again.points[0].problem is None


# A set-point that is asked without a vessel


@pytest.mark.parametrize("target", [5.0, 7.0, 9.0])
def test_without_a_vessel_every_point_is_answered_and_tells_what_one_would_have_to_bear(target: float) -> None:
    """By the same judgement that a vessel is held to, at the upper ends; and no highest level, as nothing limits it."""
    found = set_points(target_g_per_l=target, temperatures_c=[0.0, 1.0, *([12.0, 25.0] if target < 6.0 else [])])
    assert found.highest == ()
    for point in found.points:
        assert point.problem is None
        assert point.vessel_needs is not None
        assert point.vessel_needs.charge_limit_bar == point.dial_bar_gauge.high > point.dial_bar_gauge.typical
        closed = found.setting.closed(point.temperature_c)
        worst = safety.worst_closed(closed, point.dial_bar_gauge.typical).high
        assert point.vessel_needs.closed_limit_bar == pytest.approx(worst, rel=1e-12)
        assert point.vessel_needs.warm_room_c == 30.0


@pytest.mark.parametrize("target, code", [
    (7.0, None), (7.8, None), (8.0, "beyond-usual-bottle"), (9.0, "beyond-usual-bottle"), (14.0, "beyond-equations"),
])  # fmt: skip
def test_what_hardly_a_bottle_bears_is_a_danger_and_no_refusal(target: float, code: str | None) -> None:
    """The usual bottle takes 7.8 to 8.0 g/l so; first computation, common practice. At 10 bar the equations end."""
    notes = Notes()
    (point,) = set_points(target_g_per_l=target, temperatures_c=[1.0], notes=notes).points
    assert point.problem is None
    assert [(c.code, c.severity) for c in notes.cautions] == ([(code, "danger")] if code else [])


def test_a_room_warmer_than_30_c_counts_for_what_a_vessel_would_have_to_bear_and_a_cooler_one_does_not() -> None:
    def needs(room_c: float | None) -> float:
        (point,) = set_points(target_g_per_l=7.0, site=Site(warmest_room_c=room_c)).points
        assert point.problem is None
        assert point.vessel_needs is not None
        assert point.vessel_needs.closed_limit_bar is not None
        return point.vessel_needs.closed_limit_bar

    assert needs(5.0) == needs(None) == needs(30.0) < needs(35.0)


def test_under_the_air_pressure_a_set_point_is_answered_and_told() -> None:
    notes = Notes()
    (point,) = set_points(target_g_per_l=1.0, air=Air("none"), notes=notes).points
    assert point.problem is None
    assert point.dial_bar_gauge.typical < 0.0
    assert point.vessel_needs is not None
    assert point.vessel_needs.charge_limit_bar >= 0.0
    assert [c.code for c in notes.cautions] == ["below-atmospheric"]


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
    levels = [c.state.co2_g_per_l for c in made.typical.charges]
    if here.start_g_per_l <= rest.typical:
        assert all(a <= b * (1.0 + 1e-12) for a, b in pairwise([here.start_g_per_l, *levels]))
        assert levels[-1] <= rest.typical * (1.0 + 1e-12)
        assert made.more.charges[-1].state.co2_g_per_l <= rest.high * (1.0 + 1e-12)
    else:
        assert all(rest.typical <= level <= here.start_g_per_l for level in levels)


def test_bands_widen_with_both_causes() -> None:
    made = runs(plan())
    band = made.band(2, lambda c: c.state.co2_g_per_l)
    slow, fast = (run.charges[1].state.co2_g_per_l for run in (made.slow, made.fast))
    assert band.low < slow < band.typical < fast <= band.high


def test_co2_used_is_what_the_vessel_holds_more() -> None:
    """Nothing is lost: the cylinder gave what liquid and headspace gained. Tolerance: rounding of floats."""
    here = plan(start_g_per_l=2.0)
    last = runs(here).typical.charges[-1]
    gained = (last.state.dissolved_co2_mol_per_l - 2.0 / 44.0095) * last.state.liquid_l + last.state.gas_co2_mol
    assert last.used_mol == pytest.approx(gained, rel=1e-12)


def test_longer_colder_and_more_often_bring_more() -> None:
    def reached(**changed: Any) -> float:
        return runs(plan(**{"count": 2, **changed})).typical.charges[-1].state.co2_g_per_l

    assert reached() < reached(shake_s=45.0)
    assert reached() < reached(temperature_c=0.0)
    assert reached() < reached(count=3)
    assert reached() < reached(dial_bar_gauge=1.8)


def test_charges_needed_are_the_first_that_reach_the_target() -> None:
    here = plan()
    made = runs(replace(here, count=1))
    needed = charges_needed(here, made).typical
    levels = [c.state.co2_g_per_l for c in made.to_the_end_of(replace(here, count=int(needed))).typical.charges]
    assert levels[-1] >= 0.95 * here.target_g_per_l > (levels[-2] if len(levels) > 1 else 0.0)


def test_what_is_not_reached_is_not_made_up() -> None:
    notes = Notes()
    found = charge(gauge_pressure_bar=0.6, target_g_per_l=7.0, notes=notes)
    assert not isfinite(found.charges_needed.low)
    assert "target-not-reached" in {c.code for c in notes.cautions}
    assert {a.code for a in found.advice} >= {"colder", "longer-shake", "one-more-charge", "higher-pressure"}
    before = found.charges[-1].co2_g_per_l.typical
    assert all(a.co2_g_per_l.typical > before for a in found.advice)


def test_advice_is_what_following_it_gives() -> None:
    given: dict[str, Any] = {"target_g_per_l": 6.0, "charge_count": 1, "shake_s": 10.0, "air": Air("squeezed", 20.0)}
    advice = {a.code: a for a in charge(**given).advice}
    longer = charge(**{**given, "shake_s": advice["longer-shake"].params["shake"].value})  # type: ignore[union-attr]
    assert longer.charges[-1].co2_g_per_l == advice["longer-shake"].co2_g_per_l
    more = charge(**{**given, "charge_count": 2})
    assert more.charges[-1].co2_g_per_l == advice["one-more-charge"].co2_g_per_l
    dial = advice["higher-pressure"].params["dial"].value  # type: ignore[union-attr]
    higher = charge(**{**given, "gauge_pressure_bar": dial})
    assert higher.charges[-1].co2_g_per_l == advice["higher-pressure"].co2_g_per_l
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
    assert mild.charges[0].co2_g_per_l.typical > flat.charges[0].co2_g_per_l.typical


def test_several_refusals_come_together_and_their_nearest_work_together() -> None:
    with pytest.raises(SeveralRefused) as refused:
        charge(vessel=VesselGiven("pet-1-l", condition="bulged"), fill=0.95, temperature_c=14.0, target_g_per_l=9.0,
               site=Site(regulator_max_bar=8.0), air=Air("squeezed", 500.0))  # fmt: skip
    assert [r.slug for r in refused.value.refusals] == [
        "vessel-refused", "no-headspace", "air-handling", "regulator-unsafe", "too-warm", "over-vessel-limit",
    ]  # fmt: skip


def test_an_overfull_bottle_is_warned_of() -> None:
    """What passes at the line may not pass above it: 7.5 g/l at 0.90 does not; first computation, common practice."""
    near, far = Notes(), Notes()
    charge(target_g_per_l=7.5, notes=near)
    charge(target_g_per_l=6.0, notes=far)
    assert "overfull" in {c.code for c in near.cautions}
    assert "overfull" not in {c.code for c in far.cautions}
    with pytest.raises(Refused, match="closed-limit"):
        charge(target_g_per_l=7.5, fill=0.9)
    charge(target_g_per_l=6.0, fill=0.9)


# Charging what already holds CO2, and with whatever air


@settings(deadline=None, max_examples=80)
@given(
    method=st.sampled_from(["none", "left", "squeezed", "purged"]), start=st.floats(0.0, 9.0),
    dial=st.floats(0.05, 1.2), fill=st.floats(0.3, 0.9),
    shake_s=st.sampled_from([10.0, 30.0, 3000.0]), count=st.sampled_from([1, 3]),
)  # fmt: skip
def test_no_charged_vessel_goes_higher_than_what_it_is_judged_by(
    method: Any, start: float, dial: float, fill: float, shake_s: float, count: int
) -> None:
    air = {"squeezed": Air("squeezed", 20.0), "purged": Air("purged", None, 2, dial)}.get(method, Air(method))
    here = plan(start_g_per_l=start, dial_bar_gauge=dial, shake_s=shake_s, count=count)
    here = replace(here, setting=replace(here.setting, air=air, fill=fill))
    judged = Judgement(here.setting.closed(1.0, start), dial)
    made = runs(here)
    for run in (made.typical, made.slow, made.fast, made.less, made.more):
        warm = warmed(run.charges[-1].state, 30.0)
        assert balance(contents(warm)).pressure_bar_abs - 1.01325 <= judged.reached_bar_gauge
    as_is = max(case.reached_bar_gauge(dial) for case in judged.closed.cases)
    for run in (made.typical, made.slow, made.fast):
        assert balance(contents(warmed(run.charges[-1].state, 30.0))).pressure_bar_abs - 1.01325 <= as_is + 1e-9


def test_air_on_top_of_what_the_drink_holds_is_judged() -> None:
    """8.5 g/l in the drink, 0.8 bar on the dial and all the air left in: the air comes on top."""
    given: dict[str, Any] = {"start_co2_g_per_l": 8.5, "gauge_pressure_bar": 0.8, "target_g_per_l": 5.0}
    given["air"] = Air("left")
    with pytest.raises(Refused, match="/start_co2") as refused:
        charge(**given)
    (nearest,) = refused.value.nearest
    assert 5.0 < nearest.value.value < 8.5  # type: ignore[union-attr]
    charge(**{**given, "start_co2_g_per_l": nearest.value.value})  # type: ignore[union-attr]


def test_set_points_count_what_sparkling_components_bring() -> None:
    flat = set_points(target_g_per_l=5.0, vessel=BOTTLE).highest[0]
    fizzy = drink(co2_g=8.5 * drink().volume_ml / 1000.0)
    with pytest.raises(Refused, match="over-vessel-limit"):
        set_points(of=fizzy, target_g_per_l=flat.co2_g_per_l - 1.5, vessel=BOTTLE)
    (plain,), (bubbly,) = (set_points(of=made, target_g_per_l=5.0).points for made in (drink(), fizzy))
    assert plain.problem is None
    assert bubbly.problem is None
    assert plain.vessel_needs is not None
    assert bubbly.vessel_needs is not None
    assert (plain.vessel_needs.closed_limit_bar or 0.0) < (bubbly.vessel_needs.closed_limit_bar or 0.0)


# A purge is dialled too


def purge_assumed(notes: Notes) -> float:
    (found,) = (a.value for a in notes.assumptions if a.name == "purge pressure, gauge")
    assert isinstance(found, Quantity)
    assert found.shown == "down"
    return found.value


def test_a_purge_is_never_assumed_over_what_may_be_dialled() -> None:
    """At 2 bar where the keg stands it, less where it does not. A keg five times, a hard bottle three times; common
    practice, no source: a keg's headspace is small, but the beer that air spoils is not.
    """
    notes, soda, strong = Notes(), Notes(), Notes()
    found = charge(vessel=BEER_KEG, target_g_per_l=4.0, notes=notes)
    assert found.never_over_bar_gauge < 2.0
    assert found.never_over_bar_gauge - 0.1 < purge_assumed(notes) <= found.never_over_bar_gauge
    charge(vessel=KEG, target_g_per_l=4.0, notes=soda)
    charge(vessel=STRONG, target_g_per_l=4.0, notes=strong)
    assert purge_assumed(soda) == purge_assumed(strong) == 2.0
    assert [a.value for n in (notes, soda, strong) for a in n.assumptions if a.name == "purges"] == [5.0, 5.0, 3.0]


def test_a_purge_over_what_may_be_dialled_is_refused() -> None:
    given: dict[str, Any] = {"vessel": BEER_KEG, "target_g_per_l": 4.0, "air": Air("purged", None, 3, 2.0)}
    for ask in (charge, set_points):
        with pytest.raises(Refused, match="/air/pressure") as refused:
            ask(**given)
        (nearest,) = refused.value.nearest
        ask(**{**given, "air": Air("purged", None, 3, nearest.value.value)})  # type: ignore[union-attr]
    with pytest.raises(Refused, match="/air/pressure"):
        charge(**{**given, "temperature_c": 8.0, "target_g_per_l": 3.5, "air": Air("purged", None, 3, 2.9)})


def test_the_coldest_of_several_temperatures_holds_the_purge() -> None:
    notes, cold, warm = Notes(), Notes(), Notes()
    set_points(vessel=BEER_KEG, target_g_per_l=4.0, temperatures_c=[6.0, 1.0, -2.0], notes=notes)
    set_points(vessel=BEER_KEG, target_g_per_l=4.0, temperatures_c=[-2.0], notes=cold)
    set_points(vessel=BEER_KEG, target_g_per_l=4.0, temperatures_c=[6.0], notes=warm)
    assert purge_assumed(cold) <= purge_assumed(notes) < purge_assumed(warm)


def test_advice_purges_no_higher_than_may_be_dialled() -> None:
    found = charge(vessel=KEG, connected=False, target_g_per_l=4.0, air=Air("left"), gauge_pressure_bar=0.7)
    (air_out,) = (a for a in found.advice if a.code == "air-out")
    notes = Notes()
    off_gas: dict[str, Any] = {"vessel": KEG, "connected": False, "target_g_per_l": 4.0, "gauge_pressure_bar": 0.7}
    better = charge(**off_gas, air=Air("purged"), notes=notes)
    assert purge_assumed(notes) <= found.never_over_bar_gauge
    assert air_out.co2_g_per_l == better.charges[-1].co2_g_per_l


def test_advice_to_chill_counts_what_the_drink_holds_already() -> None:
    """Colder gas is denser: at the very limit of what may be in the drink before charging, none is to spare."""
    case = plan().setting.closed(4.0)
    case = replace(case, vessel=Vessel("pet-1-l", "pet", 1000.0, 3.5, 6.5, soft=True))

    def excess(start: float) -> float:
        return safety.excess_bar(replace(case, start_co2_g_per_l=start), 0.8)

    most = safety.highest(excess, low=0.0, high=9.0)
    given: dict[str, Any] = {"gauge_pressure_bar": 0.8, "temperature_c": 4.0, "target_g_per_l": 8.5, "fill": 0.8}
    assert "colder" in {a.code for a in charge(**given, start_co2_g_per_l=3.0).advice}
    assert "colder" not in {a.code for a in charge(**given, start_co2_g_per_l=most).advice}


# What is said


@pytest.mark.parametrize("below, said", [(0.11, False), (0.09, True), (0.0, True)])
def test_a_dial_that_a_gauge_cannot_tell_from_the_highest_is_said_to_leave_no_room(below: float, said: bool) -> None:
    """Class 1.6 on a scale to 6 bar: 0.1 bar either way (EN 837-1, from memory). The highest that passes is told."""
    most, notes = charge(target_g_per_l=5.0).never_over_bar_gauge, Notes()
    charge(target_g_per_l=5.0, gauge_pressure_bar=most - below, notes=notes)
    found = [c for c in notes.cautions if c.code == "no-room-for-error"]
    assert [c.severity for c in found] == (["warning"] if said else [])
    assert all(c.params["never_over"] == Quantity("pressure", most, "down") for c in found)


@pytest.mark.parametrize("stated, pointers", [
    ([-17.0, 5.0], {0}), ([-3.0], {0}), ([50.0], {0}), ([50.0, 5.0, -17.0], {0, 2}),
])  # fmt: skip
def test_temperatures_that_cannot_be_computed_are_refused_points(stated: list[float], pointers: set[int]) -> None:
    """Water freezes at 0 degC; Weiss 1974 ends at 40 degC."""
    water = drink(0.0, 0.0)
    if len(pointers) == len(stated):
        with pytest.raises((Refused, SeveralRefused), match=r"/temperatures/0"):
            set_points(of=water, temperatures_c=stated)
        return
    points = set_points(of=water, temperatures_c=stated).points
    assert {i for i, p in enumerate(points) if p.problem is not None} == pointers
    for i in pointers:
        assert points[i].problem.faults[0].pointer == f"/temperatures/{i}"  # type: ignore[union-attr]


def test_everything_that_is_wrong_is_said_at_once_even_of_an_unknown_drink() -> None:
    for ask in (charge, set_points):
        with pytest.raises(SeveralRefused) as refused:
            ask(of=drink(60.0, 0.0), vessel=VesselGiven(material="glass", capacity_ml=750.0), fill=0.99)
        assert [r.slug for r in refused.value.refusals] == ["outside-validity", "vessel-refused", "no-headspace"]


def test_a_connected_keg_is_given_at_rest_on_the_gas() -> None:
    """The gauge then shows the dial; the gas is what liquid and headspace hold more. Tolerance: that of the solver."""
    found = charge(vessel=KEG, target_g_per_l=4.0, air=Air("none"))
    gauge_bar, here = found.closed.gauge_pressure_bar, found.planned
    assert [gauge_bar.low, gauge_bar.typical, gauge_bar.high] == pytest.approx([found.gauge_pressure_bar] * 3, abs=1e-9)
    level, used = here.level_at_rest, found.co2_used_g
    in_gas_g = used.typical - level.typical * here.setting.liquid_l
    pc = found.gauge_pressure_bar + 1.01325 - here.liquid.vapour_bar
    ideal_g = 44.01 * pc * here.setting.headspace_l / (0.0831446 * 274.15)
    assert in_gas_g == pytest.approx(ideal_g, rel=0.02)  # what CO2 is denser than an ideal gas at 3 bar
    assert used.high - used.typical == pytest.approx((level.high - level.typical) * here.setting.liquid_l, rel=1e-6)
    assert found.planned.agitation == "still"  # it is not shaken, and the days agree with that
    assert found.days_to_target is not None
    assert found.days_to_target.low < 5.0 < found.days_to_target.high  # 5 to 14 days; common practice, no source


def test_a_keg_that_is_rolled_takes_minutes() -> None:
    """5 to 30 minutes at serving pressure; common practice, no source. A full keg cannot be shaken like a bottle."""
    found = charge(vessel=KEG, connected=False, target_g_per_l=4.0, agitation="shaken", charge_count=1, shake_s=300.0)
    longer = charge(vessel=KEG, connected=False, target_g_per_l=4.0, agitation="shaken", charge_count=1, shake_s=1800.0)
    assert found.charges[0].co2_g_per_l.typical < 0.95 * 4.0 < longer.charges[0].co2_g_per_l.typical


# The air of a site


@pytest.mark.parametrize("altitude_m, pressure_hpa", published("standard_atmosphere.csv", "altitude_m", "pressure_hpa"))
def test_a_barometer_alone_counts_as_the_altitude_it_belongs_to(altitude_m: float, pressure_hpa: float) -> None:
    """Standard atmosphere, as above; 0.85 bar is about 1450 m."""
    stated, known = Site(barometer_bar=pressure_hpa / 1000.0), Site(altitude_m=geopotential_m(altitude_m))
    assert gauge(site=stated) == pytest.approx(gauge(site=known), abs=0.5e-5)


@pytest.mark.parametrize("barometer_bar, belongs", [(1.04, True), (0.99, True), (1.05, False), (0.97, False)])
def test_weather_moves_a_barometer_by_three_per_cent(barometer_bar: float, belongs: bool) -> None:
    """Highs and lows of the weather, 0.985 to 1.043 bar at sea level; from memory."""
    site = Site(altitude_m=0.0, barometer_bar=barometer_bar)
    if belongs:
        assert gauge(site=site) > 0.0
        return
    with pytest.raises(Refused, match="contradicts-altitude"):
        gauge(site=site)


def test_a_squeezed_bottle_keeps_the_air_that_is_dissolved() -> None:
    """Bunsen coefficient of air in water at 20 degC, 0.0187 (handbooks, from memory). Tolerance: its own, 10 %."""
    water = Liquid(20.0)
    kept = air_left_mol(Air("squeezed", 0.0), water, liquid_l=0.8, headspace_l=0.2, ambient_bar=1.01325)
    assert kept == pytest.approx(0.0187 / 22.4 * 0.8 * (1.01325 - 0.0234) / 1.01325, rel=0.1)


@pytest.mark.parametrize("site, code", [
    (Site(regulator_max_bar=1.0), "regulator-max"),
    (Site(relief_set_bar=1.0), "relief-set"),
    (Site(regulator_max_bar=4.0, relief_set_bar=1.0), "relief-set"),
    (Site(regulator_max_bar=1.0, relief_set_bar=2.0), "regulator-max"),
])  # fmt: skip
def test_no_dial_is_over_what_the_regulator_or_the_relief_valve_lets_through(site: Site, code: str) -> None:
    """The vessel bears the dial; the venue's gear does not reach it."""
    assert charge(target_g_per_l=5.5).gauge_pressure_bar > 1.0
    for asked, at in (({"target_g_per_l": 5.5}, "/target"), ({"gauge_pressure_bar": 1.2}, "/gauge_pressure")):
        with pytest.raises(Refused) as refused:
            charge(**asked, site=site)
        assert (refused.value.slug, refused.value.nearest[0].pointer) == ("unreachable", at)
        assert [(f.pointer, f.code) for f in refused.value.faults] == [(at, code)]
    notes = Notes()
    found = charge(site=site, air=Air("purged"), notes=notes)
    assert found.gauge_pressure_bar <= found.never_over_bar_gauge == 1.0
    assert found.planned.target_g_per_l < 7.0
    assert purge_assumed(notes) <= 1.0
    held = charge(site=site, target_g_per_l=found.planned.target_g_per_l, charge_count=1, shake_s=5.0)
    assert all(a.params["dial"].value <= 1.0 for a in held.advice if a.code == "higher-pressure")


def test_a_target_beyond_vessel_and_regulator_names_both() -> None:
    with pytest.raises(Refused) as refused:
        charge(target_g_per_l=9.0, site=Site(regulator_max_bar=1.0))
    assert refused.value.slug == "over-vessel-limit"
    assert {f.code for f in refused.value.faults} == {"closed-limit", "regulator-max"}
    (nearest,) = refused.value.nearest
    assert charge(target_g_per_l=nearest.value.value, site=Site(regulator_max_bar=1.0)).gauge_pressure_bar <= 1.0


def test_a_point_out_of_the_regulators_reach_is_refused_by_itself() -> None:
    site = Site(regulator_max_bar=1.2)
    found = set_points(target_g_per_l=5.0, temperatures_c=[1.0, 8.0], site=site, vessel=BOTTLE)
    cold, warm = found.points
    assert cold.problem is None
    assert warm.problem is not None
    assert warm.limits[0] == "regulator-max"
    assert all(
        gauge(target_g_per_l=h.co2_g_per_l, temperatures_c=[h.temperature_c]) <= 1.2 + 1e-9 for h in found.highest
    )


@pytest.mark.parametrize("relief_bar, passes", [(3.5, True), (1.5, True), (3.6, False), (None, False)])
def test_a_regulator_that_goes_higher_than_the_bottle_needs_a_relief_valve(
    relief_bar: float | None, passes: bool
) -> None:
    """The bottle is charged at no more than 3.5 bar; common practice, no source. Nobody is told to have a valve."""
    site = Site(regulator_max_bar=8.0, relief_set_bar=relief_bar)
    if passes:
        charge(target_g_per_l=4.0, site=site)
        return
    with pytest.raises(Refused, match="relief-missing") as refused:
        charge(target_g_per_l=4.0, site=site)
    assert not refused.value.nearest
    assert not refused.value.offers


# What a bar measured of its own


def test_a_calibration_moves_the_dial_and_narrows_its_band() -> None:
    """A drink that holds a tenth more needs a tenth less CO2 pressure: 2.5 bar absolute is 0.23 bar less.

    Tolerance: 0.01 bar, what real gas and vapour do to that.
    """
    plain = set_points(target_g_per_l=7.0, vessel=STRONG, air=Air("none")).points[0]
    read = set_points(target_g_per_l=7.0, vessel=STRONG, air=Air("none"), calibration=Calibration(Estimate(1.1, 0.01)))
    own = read.points[0]
    assert plain.problem is None
    assert own.problem is None
    expected = (plain.dial_bar_gauge.typical + 1.01325) / 1.1 - 1.01325
    assert own.dial_bar_gauge.typical == pytest.approx(expected, abs=0.01)
    width = own.dial_bar_gauge.high - own.dial_bar_gauge.low
    assert width < 0.3 * (plain.dial_bar_gauge.high - plain.dial_bar_gauge.low)
    assert width == pytest.approx(2.0 * 1.645 * 0.01 / 1.1 * (own.dial_bar_gauge.typical + 1.01325), rel=0.1)


def test_what_a_cold_reading_does_not_cover_stays_uncertain_when_warm() -> None:
    read = Liquid(1.0, 9.0, 70.0, solubility_factor=1.1, known_spread=0.02)
    assert read.spread == pytest.approx(0.02)
    assert read.at(8.0).spread == pytest.approx(0.02)
    assert read.at(30.0).spread > 0.08  # what the model itself knows less there than in the cold


def test_a_bars_own_uptake_is_what_its_charges_are_stepped_with() -> None:
    slow = Calibration(uptake_per_s=(UptakeEstimate(0.015, 0.001, "shaken"),))
    plain, own = charge(vessel=STRONG), charge(vessel=STRONG, calibration=slow)
    assert own.charges[0].co2_g_per_l.typical < plain.charges[0].co2_g_per_l.typical
    first = own.charges[0].co2_g_per_l
    assert first.high - first.low < plain.charges[0].co2_g_per_l.high - plain.charges[0].co2_g_per_l.low
    rocked = charge(vessel=STRONG, calibration=slow, agitation="rocked")
    assert rocked.charges == charge(vessel=STRONG, agitation="rocked").charges


@pytest.mark.parametrize("factor", [0.8, 0.9, 1.1, 1.2])
def test_no_calibration_lets_a_dial_through_that_the_model_refuses(factor: float) -> None:
    calibration = Calibration(Estimate(factor, 0.0))
    plain, own = charge(target_g_per_l=4.0), charge(target_g_per_l=4.0, calibration=calibration)
    assert own.never_over_bar_gauge <= plain.never_over_bar_gauge
    with pytest.raises(Refused, match="over-vessel-limit"):
        charge(gauge_pressure_bar=plain.never_over_bar_gauge + 0.001, target_g_per_l=4.0, calibration=calibration)
    for found in set_points(target_g_per_l=4.0, calibration=calibration).points:
        assert found.problem is None
        assert found.dial_bar_gauge.typical <= plain.never_over_bar_gauge


@pytest.mark.parametrize("solubility, code", [
    (Estimate(0.75, 0.01), "implausible"), (Estimate(1.3, 0.01), "implausible"), (Estimate(1.0, 0.2), "too-uncertain"),
])  # fmt: skip
def test_a_misreading_is_no_calibration(solubility: Estimate, code: str) -> None:
    for ask in (charge, set_points):
        with pytest.raises(Refused, match=code):
            ask(target_g_per_l=5.0, calibration=Calibration(solubility))


def test_a_calibration_from_elsewhere_is_said() -> None:
    notes, same = Notes(), Notes()
    given = Calibration(Estimate(1.0, 0.02), vessel=VesselGiven("keg-19-l"), model="2020.1.0")
    charge(target_g_per_l=5.0, calibration=given, notes=notes)
    assert {c.code for c in notes.cautions} >= {"calibration-vessel", "calibration-model"}
    charge(target_g_per_l=5.0, calibration=Calibration(Estimate(1.0, 0.02), vessel=VesselGiven("pet-1-l")), notes=same)
    assert not {c.code for c in same.cautions} & {"calibration-vessel", "calibration-model"}


def test_a_rate_that_is_hardly_known_is_never_nought() -> None:
    still = Calibration(uptake_per_s=(UptakeEstimate(1e-5, 1e-5, "still"),))
    days = charge(vessel=KEG, target_g_per_l=4.0, calibration=still).days_to_target
    assert days is not None
    assert days.high / days.typical == pytest.approx(2.645, rel=0.01)  # 1.645 standard errors, about
    assert days.typical / days.low == pytest.approx(2.645, rel=0.01)


# As many as needed, and what is no charge at all


def test_as_many_charges_as_reach_the_target() -> None:
    notes = Notes()
    found = charge(vessel=STRONG, as_needed=True, shake_s=10.0, notes=notes)
    levels = [one.co2_g_per_l.typical for one in found.charges]
    assert levels[-1] >= 0.95 * 7.0 > levels[-2]
    assert {a.name: a.value for a in notes.assumptions}["charges"] == float(len(levels))
    assert len(charge(vessel=STRONG, as_needed=True, start_co2_g_per_l=7.0).charges) == 1


def test_where_no_number_of_charges_does_it_the_usual_is_taken_and_said() -> None:
    notes = Notes()
    found = charge(vessel=STRONG, as_needed=True, gauge_pressure_bar=0.5, notes=notes)
    assert len(found.charges) == 3
    assert "target-not-reached" in {c.code for c in notes.cautions}


@pytest.mark.parametrize("changes, pointer", [
    ({"shake_s": 0.0}, "/shake"), ({"gauge_pressure_bar": 0.0}, "/gauge_pressure"),
    ({"gauge_pressure_bar": -1.5}, "/gauge_pressure"),
])  # fmt: skip
def test_what_is_no_charge_is_refused_with_one_that_is(changes: dict[str, float], pointer: str) -> None:
    with pytest.raises(Refused, match="unreachable") as refused:
        charge(target_g_per_l=5.0, **changes)
    (nearest,) = refused.value.nearest
    assert nearest.pointer == pointer
    (name,) = changes
    charge(target_g_per_l=5.0, **{name: nearest.value.value})  # type: ignore[union-attr]
