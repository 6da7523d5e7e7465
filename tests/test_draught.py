"""A line from a keg to its tap: by hand, by a general library of flow, by the rules of the trade."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from math import exp, pi
from typing import Any

import pytest
from fluids.friction import one_phase_dP
from hypothesis import given, settings
from hypothesis import strategies as st

from service import carbonation, draught
from service.carbonation import SetPointsRequest
from service.draught import DraughtLine, DraughtLineRequest, Segment
from service.draught.asked import AskedPour, Cleaning, Gas, Keg, Tap
from service.drink import Amount, Component, Composition, DrinkGiven, Spec, Sugar, drink_of
from service.errors import Refused, SeveralRefused
from service.money import Money
from service.notes import Notes
from service.science import flow
from service.science.units import Quantity
from service.science.vessel import uptake_per_s
from service.site import Air, Price, Site
from service.vessel import VesselGiven

PSI_BAR, FOOT_M, INCH_M = 0.0689475729, 0.3048, 0.0254
DRINK = DrinkGiven(composition=Composition(abv=9.0, sugar=Sugar(70.0, "g/l")))
CHOKER = Segment("barrier", length_m=4.0, inner_diameter_m=4.8e-3)
SODA_KEG = Keg(VesselGiven(preset="keg-19-l", condition="sound"))
STAMPED = Keg(VesselGiven(
    preset="keg-30-l", charge_limit_bar=7.0, closed_limit_bar=7.0, rated_by="stamp", condition="sound"
))  # fmt: skip
POUR = AskedPour(180.0, 4.0)


def line(*segments: Segment, notes: Notes | None = None, **given: Any) -> DraughtLine:
    usual: dict[str, Any] = {"drink": DRINK, "segments": segments or (CHOKER,), "pour": POUR, "keg": Keg()}
    asked = DraughtLineRequest(**{**usual, **given})
    told = notes or Notes()
    return draught.draught_line(drink_of(asked.drink, told), asked, told, spec=asked.drink.spec)


def codes(call: Callable[[Notes], object]) -> dict[str, str]:
    """Code of each caution with its severity."""
    notes = Notes()
    call(notes)
    return {one.code: one.severity for one in notes.cautions}


# What the line takes


def test_friction_is_what_a_library_of_flow_works_out() -> None:
    """fluids 1.3, Churchill 1977, for each stretch by itself; entry by hand: 1.9 heads of the fastest.
    Tolerance 1e-6: the library takes flow for smooth up to 2,040."""
    trunk, choker = Segment("steel", 20.0, inner_diameter_m=7e-3), CHOKER
    found = line(trunk, choker, dial_bar=2.5)
    drink = drink_of(DRINK, Notes())
    rho, mu = 1000.0 * drink.masses.total_g / drink.volume_ml_at(3.0), flow.viscosity_pa_s(drink.masses, 3.0)
    q = 180e-6 / 4.0
    by_library = sum(
        one_phase_dP(m=rho * q, rho=rho, mu=mu, D=one.inner_diameter_m or 0.0, roughness=wall, L=one.length_m,
                     Method="Churchill_1977")
        for one, wall in ((trunk, 2e-6), (choker, 1.5e-6))
    )  # fmt: skip
    entry = 1.9 * rho * (q / (pi / 4.0 * 4.8e-3**2)) ** 2 / 2.0
    assert found.losses.friction_bar.typical == pytest.approx((by_library + entry) / 1e5, rel=1e-6)


def test_a_rise_is_its_weight_of_drink() -> None:
    """By hand: 9 m of a drink of 1.016 kg/l: 9 %vol (0.988) with 70 g of sugar of 0.62 ml/g; within 0.3 %."""
    found = line(replace(CHOKER, length_m=10.0, rise_m=9.0), dial_bar=2.5)
    assert found.losses.rise_bar == pytest.approx(1016.0 * 9.80665 * 9.0 / 1e5, rel=3e-3)
    fallen = line(replace(CHOKER, length_m=10.0, rise_m=-9.0), dial_bar=2.5)
    assert fallen.losses.rise_bar == -found.losses.rise_bar


def test_what_is_left_at_the_tap_is_the_dial_less_all_that_is_lost() -> None:
    found = line(replace(CHOKER, rise_m=1.0), dial_bar=1.6, fittings_bar=0.08)
    losses = found.losses
    left = 1.6 - losses.friction_bar.typical - losses.rise_bar - 0.08
    assert found.at_tap_bar.typical == pytest.approx(left, abs=1e-12)
    assert found.at_tap_bar.high - found.at_tap_bar.low == pytest.approx(
        losses.friction_bar.high - losses.friction_bar.low, rel=1e-9
    )


def test_the_line_holds_its_geometry() -> None:
    """3/16 in holds 5.4 ml a foot (the trade)."""
    found = line(Segment("vinyl", 10.0 * FOOT_M))  # 3/16 in is usual
    assert found.line_volume_ml == pytest.approx(54.0, abs=0.5)


# What the dial does


def test_a_balanced_line_pours_as_asked_and_leaves_the_tap_its_pressure() -> None:
    found = line(dial_bar=1.5, tap=Tap(0.1), fittings_bar=0.05)
    assert found.balanced_length_m is not None
    balanced = line(
        replace(CHOKER, length_m=found.balanced_length_m.typical), dial_bar=1.5, tap=Tap(0.1), fittings_bar=0.05
    )
    assert balanced.flow.pour_s.typical == pytest.approx(4.0, rel=1e-6)
    assert balanced.at_tap_bar.typical == pytest.approx(0.1, abs=1e-9)


def test_the_balanced_line_of_the_trade_comes_out_longer_here() -> None:
    """12 psi, 2 ft of rise and 1 psi at the tap are about 3.4 ft at the trade's 3 psi/ft. A clean line of 3/16 in with
    beer at a gallon a minute takes two thirds of that by friction alone, so that it may be half as long again, and its
    entry takes some off. Never fitted."""
    beer = DrinkGiven(composition=Composition(abv=5.0, sugar=Sugar(40.0, "g/l")))
    vinyl = Segment("vinyl", 5.0 * FOOT_M, rise_m=2.0 * FOOT_M)
    found = line(vinyl, drink=beer, dial_bar=12.0 * PSI_BAR, tap=Tap(1.0 * PSI_BAR), temperature_c=3.3,
                 pour=AskedPour(3785.411784, 60.0))  # fmt: skip
    assert found.balanced_length_m is not None
    assert 3.4 / 1.5 <= found.balanced_length_m.typical / FOOT_M <= 3.4 * 1.5


def test_pour_and_flow_say_the_same() -> None:
    found = line(dial_bar=1.4)
    assert found.flow.litres_per_min.typical == pytest.approx(0.18 / found.flow.pour_s.typical * 60.0)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.3, 2.5), st.floats(1.0, 12.0), st.floats(4e-3, 1e-2))
def test_a_longer_line_pours_slower_and_a_higher_dial_faster(dial_bar: float, length_m: float, d_m: float) -> None:
    def seconds(dial: float, length: float) -> float:
        return line(Segment("barrier", length, inner_diameter_m=d_m), dial_bar=dial).flow.pour_s.typical

    here = seconds(dial_bar, length_m)
    assert seconds(dial_bar, 1.2 * length_m) > here > seconds(1.2 * dial_bar, length_m)


@pytest.mark.parametrize("abv, sugar", [(0.0, 0.0), (5.0, 40.0), (20.0, 150.0)])
def test_bands_stand_around_what_is_typical(abv: float, sugar: float) -> None:
    found = line(drink=DrinkGiven(composition=Composition(abv=abv, sugar=Sugar(sugar, "g/l"))), dial_bar=1.2)
    for band in (found.flow.pour_s, found.losses.friction_bar, found.at_tap_bar, found.breakout[0].margin_bar):
        assert band.low < band.typical < band.high


def test_a_pour_that_is_not_the_one_asked_for_is_told() -> None:
    slow = codes(lambda notes: line(replace(CHOKER, length_m=20.0), notes=notes))
    fast = codes(lambda notes: line(replace(CHOKER, length_m=0.5), notes=notes))
    assert slow["pours-slowly"] == "warning"
    assert slow["mix-holds"] == "info"
    assert fast["pours-fast"] == "warning"
    assert "balance-line" in fast
    balanced = line(dial_bar=1.5).balanced_length_m
    assert balanced is not None
    told = codes(lambda notes: line(replace(CHOKER, length_m=balanced.typical), dial_bar=1.5, notes=notes))
    assert not told.keys() & {"pours-slowly", "pours-fast", "balance-line"}


# The gas


def test_without_a_dial_it_is_the_set_point() -> None:
    """The same band as /v1/carbonation/set-points has for the same keg without air."""
    found = line(target_g_per_l=5.5)
    points = carbonation.set_points(
        drink_of(DRINK, Notes()),
        SetPointsRequest(
            drink=DRINK,
            target_g_per_l=5.5,
            temperatures_c=(3.0,),
            vessel=VesselGiven(preset="keg-30-l"),
            air=Air("none"),
        ),
        Notes(),
    ).points
    assert points[0].gauge_pressure_bar is not None
    for end in ("low", "typical", "high"):
        there = getattr(points[0].gauge_pressure_bar, end)
        assert getattr(found.gauge_pressure_bar, end) == pytest.approx(there, abs=1e-6)
    assert found.co2_g_per_l.typical == pytest.approx(5.5, rel=1e-6)


def test_the_mix_that_is_told_holds_the_level() -> None:
    told = line(dial_bar=2.5, target_g_per_l=5.0).gas_mix
    assert told is not None
    assert told.co2_percent is not None
    assert told.co2_g_per_l is None
    with_it = line(dial_bar=2.5, target_g_per_l=5.0, gas=Gas(told.co2_percent.typical))
    assert with_it.co2_g_per_l.typical == pytest.approx(5.0, rel=1e-6)
    assert with_it.gas_mix is not None
    assert with_it.gas_mix.co2_g_per_l == with_it.co2_g_per_l
    held = line(target_g_per_l=5.0, gas=Gas(told.co2_percent.typical))
    assert held.gauge_pressure_bar.typical == pytest.approx(2.5, rel=1e-6)


def test_a_mix_by_the_rule_of_the_trade() -> None:
    """(ideal + 1.013) / (applied + 1.013), from memory; 1 % for vapour and fugacity."""
    ideal = line(target_g_per_l=5.0).gauge_pressure_bar.typical
    told = line(dial_bar=2.5, target_g_per_l=5.0).gas_mix
    assert told is not None
    assert told.co2_percent is not None
    assert told.co2_percent.typical == pytest.approx(100.0 * (ideal + 1.01325) / (2.5 + 1.01325), rel=0.01)


def test_no_mix_is_told_where_co2_alone_is_too_little() -> None:
    assert line(replace(CHOKER, length_m=0.5)).gas_mix is None  # the line needs less than the level does
    assert line(dial_bar=0.6, target_g_per_l=6.0).gas_mix is None


def test_nitrogen_alone_lets_it_go_flat() -> None:
    found = line(dial_bar=1.5, gas=Gas(0.0))
    assert found.co2_g_per_l.typical == 0.0
    levels = [day.co2_g_per_l.typical for day in found.by_day]
    assert levels == sorted(levels, reverse=True)
    assert "goes-flat" in codes(lambda notes: line(dial_bar=1.5, gas=Gas(0.0), notes=notes))
    with pytest.raises(Refused) as refused:
        line(gas=Gas(0.0))
    assert refused.value.faults[0].pointer == "/gas/co2_percent"


# Where CO2 comes out


def test_co2_stays_in_where_the_line_keeps_its_pressure() -> None:
    cold, warm = Segment("barrier", 6.0, inner_diameter_m=9.5e-3, temperature_c=2.0), CHOKER
    first, last = line(cold, warm, dial_bar=1.6).breakout
    assert first.comes_out == "no"
    assert first.margin_bar.low > 0.0
    assert last.comes_out == "may"  # of every line: it falls to the pressure of the tap
    told = codes(lambda notes: line(cold, warm, dial_bar=1.6, notes=notes))
    assert told["breaks-out-at-tap"] == "info"
    assert "breaks-out" not in told


@pytest.mark.parametrize(
    "first",
    [
        Segment("barrier", 6.0, inner_diameter_m=9.5e-3, temperature_c=14.0),  # warm
        Segment("barrier", 12.0, inner_diameter_m=4.8e-3),  # narrow
        Segment("barrier", 12.0, inner_diameter_m=9.5e-3, rise_m=11.0),  # high
    ],
)
def test_co2_comes_out_of_a_warm_a_narrow_or_a_high_stretch(first: Segment) -> None:
    notes = Notes()
    found = line(first, CHOKER, notes=notes)
    assert found.breakout[0].margin_bar.high < 0.0
    assert found.breakout[0].comes_out == "yes"
    (told,) = (one for one in notes.cautions if one.code == "breaks-out")
    assert told.pointers == ("/segments/0",)


def test_the_margin_is_what_is_left_less_the_pressure_that_keeps_co2_in() -> None:
    """By the set-point of the same level at the temperature of the stretch, without air, and friction by hand."""
    found = line(replace(CHOKER, temperature_c=8.0), dial_bar=1.6, target_g_per_l=5.0)
    keeps = carbonation.set_points(
        drink_of(DRINK, Notes()),
        SetPointsRequest(drink=DRINK, target_g_per_l=5.0, temperatures_c=(8.0,), air=Air("none")),
        Notes(),
    ).points[0]
    assert keeps.gauge_pressure_bar is not None
    left = 1.6 - found.losses.friction_bar.typical
    assert found.breakout[0].margin_bar.typical == pytest.approx(left - keeps.gauge_pressure_bar.typical, abs=1e-6)


def test_a_warm_line_breaks_out_even_with_the_tap_shut() -> None:
    notes = Notes()
    (only,) = line(replace(CHOKER, temperature_c=16.0), notes=notes).breakout
    assert only.comes_out == "yes"
    assert "breaks-out-standing" in {one.code for one in notes.cautions}


# The keg


def test_glasses_by_hand() -> None:
    """17.98 l in a 19 l keg (18.927 brimful at 0.95), less a line and a heel of 1 %: 99 glasses of 180 ml."""
    found = line(keg=SODA_KEG)
    by_hand = (0.95 * 18927.0 - found.line_volume_ml - 189.27) / 180.0
    assert found.glasses_per_keg.typical == int(by_hand) == 98
    assert found.days_on_tap is None
    assert found.cost_lost is None


def test_cleaning_costs_glasses_by_how_often_it_falls_due() -> None:
    """By hand: 20 glasses a day, 1 l each 7 days: 1000 / (7 * 20) = 7.14 ml a glass."""
    found = line(keg=SODA_KEG, serves_per_day=20.0, cleaning=Cleaning(7 * 86400.0, 1000.0))
    by_hand = (0.95 * 18927.0 - found.line_volume_ml - 189.27) / (180.0 + 1000.0 / 140.0)
    assert found.glasses_per_keg.typical == int(by_hand)
    assert found.days_on_tap is not None
    assert found.days_on_tap.typical == pytest.approx(found.glasses_per_keg.typical / 20.0)
    assert found.lost.cleaning_ml == pytest.approx(1000.0)
    assert len(found.by_day) == 5


def test_what_is_poured_away_costs_by_hand() -> None:
    """Half spirit at 20.00 a litre, half water without a price; lost: line, heel of 189.27 ml, cleaning."""
    spec = Spec("demo", (
        Component("Spirit", Amount(Quantity("volume", 90.0), "ml"), abv=20.0, sugar=Sugar(0.0, "g/l")),
        Component("Water", Amount(Quantity("volume", 90.0), "ml"), abv=0.0, sugar=Sugar(0.0, "g/l")),
    ))  # fmt: skip
    price = Price("Spirit", Amount(Quantity("volume", 1000.0), "l"), Money(Decimal("20.00"), "EUR"))
    found = line(drink=DrinkGiven(spec=spec), prices=(price,), serves_per_day=20.0, keg=SODA_KEG)
    assert found.days_on_tap is not None
    away_ml = found.line_volume_ml + 189.27 + found.line_volume_ml * found.days_on_tap.typical / 14.0
    assert found.cost_lost is not None
    # 0.5 %: the two halves contract when they are mixed
    assert float(found.cost_lost.amount) == pytest.approx(away_ml / 2.0 * 0.02, rel=5e-3)


def test_a_keg_at_its_set_point_stays_there_gas_on_or_off_at_night() -> None:
    for off_s in (0.0, 10 * 3600.0):
        found = line(gas_off_s=off_s, serves_per_day=20.0)
        for day in found.by_day:
            assert day.co2_g_per_l.typical == pytest.approx(5.5, rel=1e-3)


def test_a_dial_too_high_over_carbonates_as_slowly_as_brewers_see() -> None:
    """An unshaken keg takes 5 to 14 days (trade) to 95 %: after seven it is 78 to 98 % of the way."""
    found = line(dial_bar=2.5, target_g_per_l=4.0)
    rest, week = found.co2_g_per_l.typical, found.by_day[6].co2_g_per_l.typical
    assert 0.78 <= (week - 4.0) / (rest - 4.0) <= 0.985
    assert "over-carbonates" in codes(lambda notes: line(dial_bar=2.5, target_g_per_l=4.0, notes=notes))
    per_s = uptake_per_s("still", "keg").typical
    assert week == pytest.approx(rest + (4.0 - rest) * exp(-per_s * 7 * 86400.0), rel=1e-9)


def test_gas_shut_at_night_slows_what_a_dial_too_high_does() -> None:
    on, off = (line(dial_bar=2.5, target_g_per_l=4.0, gas_off_s=s).by_day[3].co2_g_per_l for s in (0.0, 12 * 3600.0))
    assert 4.0 < off.typical < on.typical


# What a keg bears


def test_a_named_keg_is_judged_at_all_the_pressure_of_its_gas() -> None:
    beer_keg = Keg(VesselGiven(preset="keg-30-l", condition="sound"))
    with pytest.raises(Refused) as refused:
        line(keg=beer_keg, dial_bar=2.5, gas=Gas(60.0))
    assert refused.value.slug == "over-vessel-limit"
    assert {fault.pointer for fault in refused.value.faults} == {"/dial"}
    assert line(keg=STAMPED, dial_bar=2.2, gas=Gas(60.0)).gauge_pressure_bar.typical == 2.2


def test_a_keg_that_is_not_named_is_told_and_not_refused() -> None:
    told = codes(lambda notes: line(dial_bar=2.5, notes=notes))
    assert told["beyond-usual-keg"] == "danger"
    assert "beyond-usual-keg" not in codes(lambda notes: line(target_g_per_l=4.5, notes=notes))


def test_a_regulator_that_does_not_reach_the_dial_is_refused_with_any_keg() -> None:
    with pytest.raises(Refused) as refused:
        line(dial_bar=1.5, site=Site(regulator_max_bar=1.2))
    assert refused.value.slug == "unreachable"


@pytest.mark.parametrize("vessel", [VesselGiven(preset="pet-1-l", condition="sound"), VesselGiven(preset="pet-2-l")])
def test_a_bottle_feeds_no_line(vessel: VesselGiven) -> None:
    with pytest.raises((Refused, SeveralRefused)) as refused:
        line(keg=Keg(vessel))
    assert "/keg/vessel" in str(refused.value)


# What is refused


def test_a_rise_over_what_the_dial_lifts_is_refused_with_the_height_that_it_lifts() -> None:
    """1.1 bar lift 11 m of water (hydrostatics)."""
    water = DrinkGiven(composition=Composition(abv=0.0, sugar=Sugar(10.0, "g/l")))
    with pytest.raises(Refused) as refused:
        line(Segment("barrier", 20.0, inner_diameter_m=8e-3, rise_m=18.0), drink=water, dial_bar=1.1)
    facts = {fact.name: fact.value for fact in refused.value.facts}
    assert refused.value.slug == "unreachable"
    assert isinstance(facts["lifts"], Quantity)
    assert facts["lifts"].value == pytest.approx(11.2, abs=0.1)


def test_a_hill_on_the_way_has_to_be_lifted_over_too() -> None:
    up, down = (Segment("barrier", 20.0, inner_diameter_m=8e-3, rise_m=rise) for rise in (18.0, -18.0))
    with pytest.raises(Refused):
        line(up, down, dial_bar=1.1)
    assert line(down, dial_bar=1.1).losses.rise_bar < 0.0


def test_a_stretch_cannot_rise_by_more_than_it_is_long() -> None:
    with pytest.raises(Refused) as refused:
        line(replace(CHOKER, rise_m=-4.5))
    assert [fault.pointer for fault in refused.value.faults] == ["/segments/0/rise"]
    assert [near.pointer for near in refused.value.nearest] == ["/segments/0/length"]


def test_several_faults_are_told_together() -> None:
    icy = replace(CHOKER, temperature_c=-20.0)
    with pytest.raises(SeveralRefused) as refused:
        line(icy, replace(CHOKER, rise_m=5.0), temperature_c=-25.0)
    pointers = {fault.pointer for one in refused.value.refusals for fault in one.faults}
    assert pointers == {"/segments/0/temperature", "/segments/1/rise", "/temperature"}


def test_a_strong_drink_in_vinyl_is_told() -> None:
    assert "vinyl-takes-flavour" in codes(lambda notes: line(replace(CHOKER, material="vinyl"), notes=notes))
    soft = DrinkGiven(composition=Composition(abv=0.0, sugar=Sugar(80.0, "g/l")))
    told = codes(lambda notes: line(replace(CHOKER, material="vinyl"), drink=soft, notes=notes))
    assert "vinyl-takes-flavour" not in told
