"""Viscosity, friction and rise against print, libraries and hand-worked examples; mixes of gas against Dalton."""

from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI
from fluids.friction import Churchill_1977, Colebrook
from hypothesis import given
from hypothesis import strategies as st

from service.science import flow, gas, mixture
from service.science.flow import Line, Tube, friction_factor
from service.science.mixture import Masses
from service.science.validity import OutsideValidity
from tests.science import flow_residuals as residuals
from tests.science.flow_residuals import FOOT_M, GALLON_A_MINUTE, INCH_M, PSI_BAR

WATER = Masses(water_g=100.0)


def tube(diameter_m: float, length_m: float, *, rise_m: float = 0.0, kg: float = 1000.0, pa_s: float = 1e-3) -> Tube:
    return Tube(diameter_m, length_m, rise_m, 1.5e-6, kg, pa_s)


# Viscosity


@pytest.mark.parametrize("temperature_c", [0.01, 5.0, 10.0, 20.0, 30.0, 40.0])
def test_water_is_as_viscous_as_by_iapws_2008(temperature_c):  # CoolProp; 0.1 %: a tenth of what IAPWS claims
    iapws = PropsSI("V", "T", temperature_c + 273.15, "P", 101325, "Water")
    assert flow.water_viscosity_pa_s(temperature_c) == pytest.approx(iapws, rel=1e-3)


def test_sucrose_is_within_the_stated_error_of_the_other_table_of_the_crc_handbook():
    assert max(map(abs, residuals.sucrose())) <= 4.0  # the error that is stated; 2 % is seen


def test_ethanol_is_within_the_stated_error_of_melinder():
    assert max(map(abs, residuals.ethanol())) <= 4.0  # the error that is stated


def test_the_stated_error_holds_most_of_another_mixing_rule():
    # Laliberte 2009, fitted to other measurements; itself 4 to 20 % off Melinder where it is cold and strong,
    # and of sucrose from 15 degC on. 85 %: what every family of twenty rows or more must be held to.
    offs = [(abs(off), 100.0 * flow.viscosity_spread(drink, t)) for drink, t, off in residuals.mixed()]
    assert sum(off <= spread for off, spread in offs) >= 0.85 * len(offs)


def test_champagne_is_as_viscous_as_liger_belair_and_cilindre_print():
    # About 2.2 mPa s at 10 degC, ACS Omega 6:9672 (2021); 12.5 %vol and 10 g/l taken; its lager holds dextrins.
    champagne = mixture.masses_of(1000.0, abv=12.5, sugar_g_per_l=10.0)
    assert 1e3 * flow.viscosity_pa_s(champagne, 10.0) == pytest.approx(2.2, rel=0.05)


@given(
    st.floats(0.0, 0.39), st.floats(0.0, 0.38), st.floats(-8.0, 39.5),
)  # fmt: skip
def test_a_drink_thickens_with_sugar_and_thins_with_warmth(p, w, t):
    drink = Masses((1.0 - w) * p, (1.0 - w) * (1.0 - p), w)
    more = Masses((0.99 - w) * p, (0.99 - w) * (1.0 - p), w + 0.01)
    assert flow.viscosity_pa_s(more, t) > flow.viscosity_pa_s(drink, t) > flow.viscosity_pa_s(drink, t + 0.5)
    assert 0.04 <= flow.viscosity_spread(drink, t) < 0.8


@pytest.mark.parametrize(
    "drink, t", [(WATER, 41.0), (WATER, -9.0), (Masses(45.0, 55.0), 5.0), (Masses(0.0, 55.0, 45.0), 5.0)]
)
def test_nothing_is_extrapolated(drink, t):
    with pytest.raises(OutsideValidity):
        flow.viscosity_pa_s(drink, t)


# Friction


@pytest.mark.parametrize("relative_roughness", [0.0, 1e-4, 1e-3, 1e-2])
@pytest.mark.parametrize("reynolds", [1.0, 50.0, 600.0, 1900.0, 2100.0, 2600.0, 3500.0, 4200.0, 9000.0, 6e4, 1e6])
def test_friction_is_churchill_s_as_fluids_has_it(reynolds, relative_roughness):
    library = Churchill_1977(Re=reynolds, eD=relative_roughness)
    assert friction_factor(reynolds, relative_roughness) == pytest.approx(library, rel=1e-9)


@pytest.mark.parametrize("reynolds", [1.0, 100.0, 1000.0, 1500.0, 2000.0])
def test_friction_of_smooth_flow_is_hagen_and_poiseuille_s(reynolds):
    assert friction_factor(reynolds, 3e-4) == pytest.approx(64.0 / reynolds, rel=0.002)  # as stated


def test_friction_of_turbulent_flow_is_within_the_stated_error_of_colebrook():
    assert max(map(abs, residuals.colebrook())) <= 3.0


@pytest.mark.parametrize("reynolds", [2100.0, 3000.0, 3900.0])
def test_between_smooth_and_turbulent_either_may_be_asked_for(reynolds):
    smooth, turbulent = (friction_factor(reynolds, 3e-4, regime) for regime in ("laminar", "turbulent"))
    assert smooth == pytest.approx(64.0 / reynolds)
    # The turbulent branch below its range: Colebrook, within 10 %, what charts of the region differ by (estimate).
    assert turbulent == pytest.approx(Colebrook(Re=reynolds, eD=3e-4), rel=0.10)
    assert smooth <= friction_factor(reynolds, 3e-4) <= turbulent


def test_poiseuille_by_hand():
    # 128 mu L Q / (pi D^4) = 128 * 2e-3 * 2 * 5e-6 / (3.14159 * (6e-3)^4) = 628.8 Pa; Re = 530
    thick = Line((tube(6e-3, 2.0, pa_s=2e-3),), entry_heads=0.0)
    assert thick.reynolds(5e-6) == pytest.approx(530.5, rel=1e-3)
    assert sum(thick.friction_bars(5e-6)) == pytest.approx(628.8e-5, rel=1e-3)
    assert residuals.poiseuille_bar(6e-3, 2.0, 5e-6, 2e-3) == pytest.approx(628.8e-5, rel=1e-3)


def test_a_flow_pushes_what_it_takes():
    line = Line((tube(8e-3, 12.0), tube(4.8e-3, 1.5)))
    for pushing_bar in (0.001, 0.1, 1.0, 3.0):
        q = flow.flow_m3_per_s(line, pushing_bar, at_end_bar=0.1, at_flow_m3_per_s=4e-5)
        taken = sum(line.friction_bars(q)) + 0.1 * (q / 4e-5) ** 2
        assert taken == pytest.approx(pushing_bar, rel=1e-9)


def test_a_narrower_stretch_costs_its_speed_and_a_wider_one_wins_none_back():
    narrow, wide = tube(4.8e-3, 1.0), tube(9.5e-3, 1.0)
    after, before = Line((wide, narrow)).friction_bars(5e-5), Line((narrow, wide)).friction_bars(5e-5)
    # Bernoulli by hand: v = 5e-5 / (pi/4 d^2) = 2.763 and 0.705 m/s, heads of 3.817 and 0.249 kPa
    assert narrow.head_bar(5e-5) == pytest.approx(0.03817, rel=1e-3)
    assert wide.head_bar(5e-5) == pytest.approx(0.00249, rel=2e-3)
    assert before[0] - after[1] == pytest.approx(1.9 * 0.00249, rel=2e-3)
    assert before[1] < after[0]


@pytest.mark.parametrize("inches, printed, here", residuals.restrictions())
def test_restrictions_of_the_trade_are_within_a_factor_of_two(inches, printed, here):
    # Never fitted. The trade's figures are rules for balancing with entry, couplings and some gas come out in them, and
    # they do not agree among themselves: from 1/4 in vinyl to 5/16 in barrier they fall by 8.5, where D^-4.75 is 2.9.
    assert 0.5 <= here / printed <= 2.0


@pytest.mark.parametrize("inches, millilitres", [(3 / 16, 5.4), (1 / 4, 9.7)])
def test_a_foot_of_line_holds_what_geometry_says(inches, millilitres):
    # 5.4 ml is printed for 3/16 in (trade); 9.65 by hand: pi/4 * 6.35^2 mm2 * 304.8 mm
    assert 1e6 * tube(inches * INCH_M, FOOT_M).volume_m3 == pytest.approx(millilitres, abs=0.05)


def test_a_foot_of_water_weighs_0_43_psi():
    # 62.4 lb/ft3 over 144 in2; the trade prints 0.43
    cold = 1000.0 * mixture.density_g_per_ml(WATER, 4.0)
    assert tube(5e-3, FOOT_M, rise_m=FOOT_M, kg=cold).rise_bar / PSI_BAR == pytest.approx(0.43, abs=0.005)


def test_the_balanced_line_of_the_trade():
    # 12 psi, 2 ft of rise, 3 psi a foot, 1 psi left: (12 - 0.87 - 1) / 3 = 3.4 ft
    rise_bar = tube(5e-3, 2.0 * FOOT_M, rise_m=2.0 * FOOT_M).rise_bar
    left_psi = (12.0 * PSI_BAR - rise_bar - 1.0 * PSI_BAR) / PSI_BAR
    assert left_psi / 3.0 == pytest.approx(3.4, abs=0.05)


def test_what_has_to_be_lifted_first_is_the_highest_point():
    up, down = tube(5e-3, 5.0, rise_m=4.0), tube(5e-3, 5.0, rise_m=-3.0)
    line = Line((up, down))
    assert line.rise_bar == pytest.approx(1000.0 * 9.80665 * 1.0 / 1e5)
    assert line.highest_bar == pytest.approx(1000.0 * 9.80665 * 4.0 / 1e5)
    assert Line((down,)).highest_bar == 0.0


@given(st.floats(3e-3, 2e-2), st.floats(0.1, 100.0), st.floats(1e-6, 2e-4), st.floats(1e-3, 1e-2))
def test_friction_rises_with_flow_and_falls_with_width_and_rises_with_thickness_but_where_that_calms_it(
    diameter_m, length_m, q, pa_s
):
    line = Line((tube(diameter_m, length_m, pa_s=pa_s),))
    here = sum(line.friction_bars(q))
    assert sum(line.friction_bars(1.05 * q)) > here
    thicker = Line((replace(line.tubes[0], pa_s=1.05 * pa_s),))
    if not flow.LAMINAR_TO < thicker.reynolds(q) < flow.TURBULENT_FROM:
        assert sum(thicker.friction_bars(q)) >= here
    assert sum(Line((replace(line.tubes[0], inner_diameter_m=1.05 * diameter_m),)).friction_bars(q)) < here


def test_a_gallon_a_minute_of_water_is_as_the_trade_works_it_out():
    # About 1.9 psi/ft in 3/16 in and 0.49 in 1/4, worked out elsewhere by Churchill; how cold is not told: 5 %.
    ice_cold = flow.viscosity_pa_s(WATER, 0.5)
    for inches, psi in ((3 / 16, 1.9), (1 / 4, 0.49)):
        line = Line((tube(inches * INCH_M, FOOT_M, pa_s=ice_cold),))
        per_ft = line.friction_per_m_bar(line.tubes[0], GALLON_A_MINUTE) * FOOT_M / PSI_BAR
        assert per_ft == pytest.approx(psi, rel=0.05)


# Mixes of CO2 and nitrogen


def test_co2_alone_holds_what_it_holds():
    liquid = gas.Liquid(3.0, 9.0, 70.0)
    alone = gas.pressure_for_bar_abs(liquid, co2_g_per_l=5.5)
    mixed = gas.mixed_pressure_for_bar_abs(liquid, co2_g_per_l=5.5, co2_share=1.0)
    assert mixed == pytest.approx(alone, rel=1e-9)


@pytest.mark.parametrize("ideal_psi, applied_psi", [(11.0, 22.0), (13.0, 25.0), (10.0, 18.0)])
def test_a_blend_is_the_ratio_of_absolute_pressures(ideal_psi, applied_psi):
    # (ideal + 14.7) / (applied + 14.7), the rule of the trade for blenders, from memory; 2 %: fugacity and vapour.
    liquid = gas.Liquid(3.3, 5.0, 40.0)
    ideal_bar, applied_bar = (1.01325 + psi * PSI_BAR for psi in (ideal_psi, applied_psi))
    level = gas.dissolved_co2_g_per_l(liquid, pressure_bar_abs=ideal_bar)
    share = gas.co2_share_for(liquid, co2_g_per_l=level, pressure_bar_abs=applied_bar)
    assert share == pytest.approx((ideal_psi + 14.7) / (applied_psi + 14.7), rel=0.02)


@given(st.floats(0.2, 1.0), st.floats(1.3, 6.0), st.floats(0.0, 12.0))
def test_level_pressure_and_share_of_a_mix_agree(share, pressure, t):
    liquid = gas.Liquid(t, 8.0, 60.0)
    level = gas.mixed_level_g_per_l(liquid, pressure_bar_abs=pressure, co2_share=share)
    back = gas.mixed_pressure_for_bar_abs(liquid, co2_g_per_l=level, co2_share=share)
    assert back == pytest.approx(pressure, rel=1e-8)
    assert gas.co2_share_for(liquid, co2_g_per_l=level, pressure_bar_abs=pressure) == pytest.approx(share, rel=1e-8)


def test_no_mix_holds_a_level_under_less_than_its_vapour():
    liquid = gas.Liquid(3.0, 8.0, 60.0)
    with pytest.raises(OutsideValidity):
        gas.co2_share_for(liquid, co2_g_per_l=5.0, pressure_bar_abs=0.005)


def test_every_material_has_a_wall_and_a_usual_size():
    assert set(flow.MATERIALS) == {"vinyl", "polyethylene", "barrier", "steel"}
    # Roughness of drawn tube and stainless steel is under 3 micrometres in handbooks (from memory).
    assert all(0.0 < one.roughness_m <= 3e-6 for one in flow.MATERIALS.values())
    # 3/16 in is the usual choker (Draught Beer Quality for Retailers prints restrictions for it).
    assert flow.MATERIALS["vinyl"].usual_inner_diameter_m == pytest.approx(3 / 16 * INCH_M)
