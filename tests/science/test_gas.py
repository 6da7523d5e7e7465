"""The gas equations against print. Tolerances are half the last printed digit or the stated uncertainty."""

from math import exp, hypot, inf, log, nan, sqrt

import CoolProp
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutsideValidity
from service.science import gas
from service.science.gas import Liquid
from tests.published import published
from tests.science import gas_residuals as printed

MODEL = 0.02  # of the solubility in water: Sander 2023 lists 3.3e-4 and 3.4e-4, 3 % apart, as equals
WORST = 0.046  # our own largest residual, held so that a change is noticed: IAPWS G7-04 at 0 degC, where Murray & Riley
# 1971, CRC and PHREEQC side with Weiss 1974
CRC_STATED = 0.02  # "about 2 %", in the CRC table itself; its source is Carroll 1991
HALF_DIGIT = {"crc": 0.0005}  # the source prints three decimals

REAL_GAS = 0.003  # stated for Z and phi to 8 bar
REAL_GAS_10_BAR = 0.005  # stated for Z to 10 bar

temperatures = st.floats(-1.0, 40.0)
liquids = st.builds(Liquid, temperatures, abv=st.floats(0.0, 40.0), sucrose_g_per_l=st.floats(0.0, 400.0))
shares = st.floats(0.0, 1.0)


def within_band(liquid, model, value):
    return abs(value / model - 1.0) <= gas.solubility_spread(liquid)


@pytest.mark.parametrize(
    "key",
    [
        "murray-riley-1971",
        "crc",
        "sander-2023",
        "shedlovsky-macinnes-1935",
        "findlay-shen-1912",
        "harned-davis-1943",
        "phreeqc",
        "van-slyke-1939",
        "bohr-1899",
    ],
)
def test_co2_in_water_agrees_within_the_stated_2_percent(key):
    # The 2 % of the model, and half the last printed digit of the CRC table, which is coarse at 35 degC.
    for model, value in printed.water_pairs(key):
        assert abs(model - value) <= MODEL * value + HALF_DIGIT.get(key, 0.0)


def test_co2_in_water_agrees_with_carroll_1991_within_both_uncertainties():
    # The CRC table gives the 2 % for Carroll's evaluation; the model's own 2 % is independent of it.
    for model, value in printed.water_pairs("carroll-1991"):
        assert model == pytest.approx(value, rel=hypot(MODEL, CRC_STATED))


def test_co2_in_water_over_all_sources_stays_within_the_stated_worst_and_rms():
    deviations = [a / b - 1.0 for key in printed.WATER_TABLES for a, b in printed.water_pairs(key)]
    assert len(deviations) == 50
    assert max(map(abs, deviations)) <= WORST
    # our own residual again, held likewise; none of these tables was fitted, the equation is that of Weiss 1974
    assert sqrt(sum(d * d for d in deviations) / len(deviations)) <= 0.015


@pytest.mark.parametrize("key", ["champagne", "liger-belair-2021", "eec-2676-90", "mueller-1889"])
def test_co2_in_wine_lies_inside_the_band(key):
    # Champagne constants (memory) and two levels of Liger-Belair & Cilindre 2021; the formula of Regulation (EEC)
    # 2676/90 from 8 %vol up, made for 8 to 15; Mueller 1889 (memory). All but Liger-Belair & Cilindre were fitted, and
    # they disagree: that no row leaves the band says that the band is as wide as they are apart, not that it is right.
    pairs = [p for p in printed.wine_pairs(key) if key != "eec-2676-90" or p[0].abv >= 8.0]
    assert len(pairs) >= 2
    for liquid, model, value in pairs:
        assert within_band(liquid, model, value), (liquid, model, value)


def test_co2_in_beer_lies_inside_the_band():
    # Fit of a table of the ASBC type, constants from memory; the narrow band holds to 8 degC, the wide one above.
    # The alcohol factor was fitted to it among others: see the test of wine.
    pairs = printed.beer_pairs()
    assert sum(liquid.temperature_c <= 8.0 for liquid, _, _ in pairs) == 6
    for liquid, model, value in pairs:
        assert within_band(liquid, model, value), (liquid, model, value)


def test_sugar_factor_follows_usher_1910():
    # From memory, as quoted in Seidell. The sucrose coefficient was fitted to these rows: 0.7 % is the misfit, and the
    # check one of transcription. Nothing outside tests the coefficient of hexoses, an estimate.
    for model, value in printed.usher_pairs():
        assert model == pytest.approx(value, rel=0.007)


@pytest.mark.parametrize("temperature_c", [-1.0, 0.0, 10.0, 20.0, 30.0, 40.0])
@pytest.mark.parametrize(
    "pressure, allowed", [(1.0, REAL_GAS), (3.0, REAL_GAS), (5.0, REAL_GAS), (8.0, REAL_GAS), (10.0, REAL_GAS_10_BAR)]
)
def test_pure_co2_follows_span_wagner_1996(temperature_c, pressure, allowed):
    state = CoolProp.AbstractState("HEOS", "CO2")
    state.update(CoolProp.PT_INPUTS, pressure * 1e5, temperature_c + 273.15)
    z = gas.compressibility(temperature_c, pressure, 1.0)
    phi = exp(gas.ln_fugacity_coefficient(temperature_c, pressure, 1.0))
    assert z == pytest.approx(state.compressibility_factor(), rel=allowed)
    assert phi == pytest.approx(state.fugacity_coefficient(0), rel=allowed)


@pytest.mark.parametrize("temperature_c", [0.0, 20.0, 40.0])
@pytest.mark.parametrize("co2_share", [0.05, 0.1, 0.3, 0.5, 0.7, 0.9])  # mostly air: there the cross term counts
@pytest.mark.parametrize("pressure", [1.0, 3.0, 5.0, 8.0])
def test_co2_with_air_follows_coolprop_mixtures(temperature_c, co2_share, pressure):
    state = CoolProp.AbstractState("HEOS", "CO2&Nitrogen&Oxygen")
    state.set_mole_fractions([co2_share, 0.79 * (1.0 - co2_share), 0.21 * (1.0 - co2_share)])
    state.specify_phase(CoolProp.iphase_gas)
    state.update(CoolProp.PT_INPUTS, pressure * 1e5, temperature_c + 273.15)
    z = gas.compressibility(temperature_c, pressure, co2_share)
    phi = exp(gas.ln_fugacity_coefficient(temperature_c, pressure, co2_share))
    assert z == pytest.approx(state.compressibility_factor(), rel=REAL_GAS)
    assert phi == pytest.approx(state.fugacity_coefficient(0), rel=REAL_GAS)


@pytest.mark.parametrize("temperature_c, b", published("second_virial_kaye_laby.csv", "temperature_c", "b_cm3_per_mol"))
def test_second_virial_coefficient_agrees_with_kaye_laby(temperature_c, b):
    # 2 cm3/mol: uncertainty of compiled values of B near room temperature, Dymond & Smith 1980, from memory.
    assert gas.second_virial_cm3_per_mol(temperature_c) == pytest.approx(b, abs=2.0)


def test_one_volume_of_co2_is_22_26_litres_a_mole():
    # IUPAC-NIST Solubility Database SRD 106, note c: 22.2605 L/mol, real gas at 0 degC, 1 atm. Stated Z: 0.3 %.
    molar_l = gas.compressibility(0.0, 1.01325, 1.0) * 0.0831446 * 273.15 / 1.01325
    assert molar_l == pytest.approx(22.2605, rel=REAL_GAS)


@pytest.mark.parametrize("temperature_c", [1.0, 5.0, 10.0, 20.0, 30.0, 40.0])
def test_water_vapour_follows_iapws_95(temperature_c):
    # 0.05 %: stated for the 1996 coefficients, from memory.
    value = PropsSI("P", "T", temperature_c + 273.15, "Q", 0, "Water") / 1e5
    assert gas.water_vapour_bar(temperature_c) == pytest.approx(value, rel=5e-4)


@pytest.mark.parametrize("temperature_c", [0.0, 10.0, 20.0, 30.0, 40.0])
def test_ethanol_vapour_follows_coolprop(temperature_c):
    # 1 mbar of 3 bar is 0.03 %, far below the 2 % that the solubility is known to.
    value = PropsSI("P", "T", temperature_c + 273.15, "Q", 0, "Ethanol") / 1e5
    assert gas.ethanol_vapour_bar(temperature_c) == pytest.approx(value, abs=1e-3)


def test_vapour_over_ethanol_and_water_agrees_with_print():
    # Stated: up to 3 mbar too high.
    for _, model, value in printed.vapour_pairs():
        assert 0.0 <= model - value <= 3.0


@pytest.mark.parametrize(
    "temperature_c, mole_fraction", published("air_solubility.csv", "temperature_c", "mole_fraction_per_bar_e6")
)
def test_air_dissolves_as_nbs_says(temperature_c, mole_fraction):
    # 10 %: what this model, one gas for two, claims; air is a small part of any headspace
    value = mole_fraction * 1e-6 * printed.water_kg_per_l(temperature_c) / printed.WATER_KG_PER_MOL
    assert gas.air_solubility_mol_per_l_bar(temperature_c) == pytest.approx(value, rel=0.10)


def test_pressure_presses_out_the_volume_of_dissolved_co2():
    # Partial molar volume in water: 32.3 (Weiss 1974) to 33.9 cm3/mol (Moore et al. 1982, J. Chem. Eng. Data 27:22;
    # memory), others to 36 (memory). One of them is 0.04 % of the level at 10 bar.
    per_bar = -log(gas.poynting(25.0, 10.0)) / (10.0 - 1.01325)
    assert 32.0 <= 1000.0 * per_bar * 0.0831446 * 298.15 <= 36.0


@pytest.mark.parametrize(
    "temperature_c, value", published("co2_saturation.csv", "temperature_c", "pressure_bar_abs")[:-1]
)
def test_cylinder_pressure_agrees_with_span_wagner_1996(temperature_c, value):
    assert gas.cylinder_pressure_bar_abs(temperature_c) == pytest.approx(value, abs=0.005)


def test_a_cylinder_holds_liquid_up_to_the_critical_point():
    # CoolProp: 304.1282 K and 73.77 bar; 0.005 bar is half the last digit printed.
    critical_c, critical_bar = PropsSI("Tcrit", "CO2") - 273.15, PropsSI("pcrit", "CO2") / 1e5
    assert gas.cylinder_pressure_bar_abs(critical_c - 1e-6) == pytest.approx(critical_bar, abs=0.005)
    with pytest.raises(OutsideValidity):
        gas.cylinder_pressure_bar_abs(critical_c + 0.01)


def test_atmosphere_agrees_with_the_standard_tables():
    for model_hpa, value in printed.atmosphere_pairs():
        assert model_hpa == pytest.approx(value, abs=0.005)


def test_sparkling_wine_pressures_agree_with_liger_belair_2017():
    # 4.7, 5.8 and 7.5 bar at 6, 12 and 20 degC in one bottle. Half the last digit of the row that sets the level
    # and of the row compared, and the band of the model between them.
    for temperature_c, model, value in printed.sparkling_pairs():
        band = gas.solubility_spread(Liquid(temperature_c, abv=12.5, sucrose_g_per_l=10.0))
        assert model == pytest.approx(value, rel=band, abs=0.05 * (1.0 + 7.5 / 4.7))


def test_reduction_to_20_degrees_agrees_with_the_oiv_ratios():
    # OIV-MA-AS314-02, ratios from memory, not fitted. 2.8 % is our own residual on absolute pressure, held so that a
    # change is noticed; the band of the level in wine, 5 to 10 %, would allow more.
    deviations = [model / value - 1.0 for _, model, value in printed.oiv_pairs()]
    assert sqrt(sum(d * d for d in deviations) / len(deviations)) <= 0.028


def test_a_worked_set_point():
    # Common practice, no source: 9 %vol, 70 g/L sugar, 7 g/L at 1 degC asks for about 1.5 bar on the gauge.
    pressure = gas.pressure_for_bar_abs(Liquid(1.0, abv=9.0, sucrose_g_per_l=70.0), co2_g_per_l=7.0)
    assert pressure - gas.standard_atmosphere_bar(0.0) == pytest.approx(1.5, abs=0.05)


@pytest.mark.parametrize(
    "liquid, half_width",
    [
        (Liquid(1.0), 0.02),
        (Liquid(40.0), 0.02),
        (Liquid(1.0, sucrose_g_per_l=50.0), 0.03),
        (Liquid(1.0, sucrose_g_per_l=100.0, hexose_g_per_l=50.0), 0.07),
        (Liquid(1.0, hexose_g_per_l=151.0), 0.12),
        (Liquid(8.0, abv=15.0), 0.05),
        (Liquid(8.1, abv=15.0), 0.10),
        (Liquid(1.0, abv=15.1), 0.13),
        (Liquid(1.0, abv=30.1), 0.15),
        (Liquid(25.1, sucrose_g_per_l=100.0), hypot(0.12, 0.07)),
        (Liquid(25.0, abv=10.0), 0.10),
        (Liquid(26.0, abv=10.0), 0.126),
        (Liquid(35.0, abv=10.0), 0.18),
        (Liquid(26.0, abv=35.0), 0.15),
        (Liquid(40.0, abv=35.0, sucrose_g_per_l=200.0), hypot(0.21, 0.12)),
        (Liquid(1.0, abv=9.0, sucrose_g_per_l=70.0), hypot(0.05, 0.07)),
    ],
)
def test_band_is_the_stated_one(liquid, half_width):
    assert gas.solubility_spread(liquid) == pytest.approx(half_width)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: gas.co2_solubility_mol_per_l_atm(-1.1),
        lambda: gas.co2_solubility_mol_per_l_atm(40.1),
        lambda: gas.co2_solubility_mol_per_l_atm(nan),
        lambda: gas.ethanol_factor(40.1),
        lambda: gas.ethanol_factor(nan),
        lambda: gas.sugar_factor(300.0, 101.0),
        lambda: gas.sugar_factor(-1.0, 2.0),
        lambda: gas.sugar_factor(nan, 0.0),
        lambda: gas.henry_mol_per_l_bar(Liquid(1.0, solubility_factor=nan)),
        lambda: gas.second_virial_cm3_per_mol(47.0),
        lambda: gas.compressibility(1.0, 10.1, 1.0),
        lambda: gas.compressibility(1.0, 1.0, 1.1),
        lambda: gas.ln_fugacity_coefficient(1.0, nan, 1.0),
        lambda: gas.poynting(1.0, inf),
        lambda: gas.effective_solubility_mol_per_l_bar(Liquid(1.0), pressure_bar_abs=11.0, co2_share=1.0),
        lambda: gas.water_vapour_bar(46.0),
        lambda: gas.ethanol_vapour_bar(nan),
        lambda: gas.vapour_pressure_bar(1.0, 41.0),
        lambda: gas.air_solubility_mol_per_l_bar(-6.0),
        lambda: gas.standard_atmosphere_bar(5001.0),
        lambda: gas.dissolved_co2_g_per_l(Liquid(1.0), pressure_bar_abs=0.9, air_bar=1.0),
        lambda: gas.dissolved_co2_g_per_l(Liquid(1.0), pressure_bar_abs=10.1),
        lambda: gas.pressure_for_bar_abs(Liquid(20.0), co2_g_per_l=30.0),
        lambda: gas.pressure_for_bar_abs(Liquid(20.0), co2_g_per_l=nan),
        lambda: gas.pressure_for_bar_abs(Liquid(20.0), co2_g_per_l=-1.0),
        lambda: gas.settle(0.01, lambda _pressure, _share: (nan, 0.0)),
        lambda: gas.settle(0.01, lambda _pressure, _share: (12.0, 0.0)),
        lambda: gas.settle(0.0, lambda _pressure, _share: (0.0, 0.0)),
    ],
)
def test_outside_its_source_an_equation_refuses(ask):
    with pytest.raises(OutsideValidity):
        ask()


def test_a_refusal_names_the_highest_level_that_works():
    liquid = Liquid(20.0, abv=20.0)
    with pytest.raises(OutsideValidity) as refused:
        gas.pressure_for_bar_abs(liquid, co2_g_per_l=30.0)
    assert refused.value.quantity == "CO2 level"
    highest = 0.9999 * refused.value.high
    assert gas.pressure_for_bar_abs(liquid, co2_g_per_l=highest) < gas.GAS_PRESSURE_LIMIT_BAR_ABS


@given(liquids, st.floats(1.3, 9.9), st.floats(0.0, 1.1))
def test_level_and_pressure_are_inverse(liquid, pressure, air_bar):
    level = gas.dissolved_co2_g_per_l(liquid, pressure_bar_abs=pressure, air_bar=air_bar)
    back = gas.pressure_for_bar_abs(liquid, co2_g_per_l=level, air_bar=air_bar)
    assert back == pytest.approx(pressure, rel=1e-11)


@given(liquids, st.floats(0.1, 5.0), st.floats(0.05, 2.0))
def test_a_higher_target_asks_for_more_pressure(liquid, level, more):
    low = gas.pressure_for_bar_abs(liquid, co2_g_per_l=level)
    assert gas.pressure_for_bar_abs(liquid, co2_g_per_l=level + more) > low


@given(liquids, st.floats(0.5, 5.0), temperatures)
def test_a_warmer_drink_asks_for_more_pressure(liquid, level, other_c):
    cold, warm = sorted((liquid.temperature_c, other_c))
    low = gas.pressure_for_bar_abs(liquid.at(cold), co2_g_per_l=level)
    high = gas.pressure_for_bar_abs(liquid.at(warm), co2_g_per_l=level)
    assert high >= low
    assert high > low or warm - cold < 1e-6


@given(liquids, st.floats(0.5, 5.0), st.floats(-500.0, 5000.0), st.floats(-500.0, 5000.0))
def test_a_bar_higher_up_dials_a_higher_gauge(liquid, level, one_m, other_m):
    pressure = gas.pressure_for_bar_abs(liquid, co2_g_per_l=level)
    down, up = sorted((one_m, other_m))
    gauge_down, gauge_up = (pressure - gas.standard_atmosphere_bar(h) for h in (down, up))
    assert gauge_up > gauge_down or up - down < 1e-6


@given(liquids, st.floats(0.5, 4.0))
def test_the_weaker_end_of_the_band_asks_for_more_pressure(liquid, level):
    spread = gas.solubility_spread(liquid)
    typical = gas.pressure_for_bar_abs(liquid, co2_g_per_l=level)
    assert gas.pressure_for_bar_abs(liquid.scaled(1.0 - spread), co2_g_per_l=level) > typical


@given(liquids, st.floats(1.3, 5.0))
def test_air_left_in_the_headspace_costs_its_own_pressure_and_more_nothing(liquid, pressure):
    # Henry's law: the level follows the partial pressure; only the real gas moves it, by less than its own 3 %.
    air_bar = 1.0
    with_air = gas.dissolved_co2_g_per_l(liquid, pressure_bar_abs=pressure, air_bar=air_bar)
    without = gas.dissolved_co2_g_per_l(liquid, pressure_bar_abs=pressure)
    shares = (pressure - air_bar - liquid.vapour_bar) / (pressure - liquid.vapour_bar)
    assert with_air / without == pytest.approx(shares, rel=0.03)


@given(liquids, st.floats(0.1, 9.9), shares)
def test_solubility_is_the_product_of_its_factors(liquid, pressure, co2_share):
    # s = K phi Poynting, each factor by itself. Tolerance: rounding.
    phi = exp(gas.ln_fugacity_coefficient(liquid.temperature_c, pressure, co2_share))
    product = gas.henry_mol_per_l_bar(liquid) * phi * gas.poynting(liquid.temperature_c, pressure)
    s = gas.effective_solubility_mol_per_l_bar(liquid, pressure_bar_abs=pressure, co2_share=co2_share)
    assert s == pytest.approx(product, rel=1e-13)


@given(temperatures, st.floats(0.5, 1.1), shares)
def test_share_of_a_real_gas_is_its_ideal_share_times_z(temperature_c, pressure, ideal):
    # pc V = n Z R T at a given total pressure. Tolerance: rounding.
    share = gas.gas_phase(temperature_c).share(pressure, ideal)
    assert share == pytest.approx(ideal * gas.gas_phase(temperature_c).z(pressure, share), rel=1e-13, abs=1e-15)


@given(st.floats(1.0, 4.0), st.floats(0.0, 1.0), st.floats(-0.1, 0.1), st.floats(-0.1, 0.1))
def test_settling_finds_the_fixed_point_of_a_linear_step(co2, air, a, b):
    # Chosen so that the solution is (co2, air). Tolerance: the one stated, 1e-12 of the total, ten times over.
    def step(pressure, _share):
        return co2 + a * (pressure - co2 - air - 0.01), air + b * (pressure - co2 - air - 0.01)

    assert gas.settle(0.01, step) == pytest.approx((co2, air), rel=1e-11, abs=1e-11)
