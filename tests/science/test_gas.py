"""The gas equations against print. Tolerances are half the last printed digit or the stated uncertainty."""

import itertools
from math import exp, hypot, inf, log, nan, sqrt
from pathlib import Path

import CoolProp
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, given
from hypothesis import strategies as st

from service.science import gas
from service.science.gas import Liquid
from service.science.validity import OutsideValidity
from tests import residuals
from tests.published import published
from tests.science import gas_fit
from tests.science import gas_residuals as printed

MODEL = 0.025  # of the solubility in water, half-width of its band: two in a hundred leave 2 %, and one in ten should
WORST = 0.046  # our own largest residual, held so that a change is noticed: IAPWS G7-04 at 0 degC, where Murray & Riley
# 1971, CRC and PHREEQC side with Weiss 1974
CRC_STATED = 0.02  # "about 2 %", in the CRC table itself; its source is Carroll 1991
HALF_DIGIT = {"crc": 0.0005}  # the source prints three decimals

REAL_GAS = 0.003  # stated for Z and phi to 8 bar
REAL_GAS_10_BAR = 0.005  # stated for Z to 10 bar

temperatures = st.floats(-0.5, 40.0)
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
        "yeh-peterson-1964",
        "findlay-williams-1913",
    ],
)
def test_co2_in_water_agrees_within_the_stated_2_5_percent(key):
    # The 2.5 % of the model, and half the last printed digit of the CRC table, which is coarse at 35 degC.
    for model, value in printed.water_pairs(key):
        assert abs(model - value) <= MODEL * value + HALF_DIGIT.get(key, 0.0)


def test_co2_in_water_agrees_with_carroll_1991_within_both_uncertainties():
    # The CRC table gives the 2 % for Carroll's evaluation; the model's own 2.5 % is independent of it.
    for model, value in printed.water_pairs("carroll-1991"):
        assert model == pytest.approx(value, rel=hypot(MODEL, CRC_STATED))


def test_co2_in_water_over_all_sources_stays_within_the_stated_worst_and_rms():
    deviations = [a / b - 1.0 for key in printed.WATER_TABLES for a, b in printed.water_pairs(key)]
    assert len(deviations) == 58
    assert max(map(abs, deviations)) <= WORST
    # our own residual again, held likewise; none of these tables was fitted, the equation is that of Weiss 1974
    assert sqrt(sum(d * d for d in deviations) / len(deviations)) <= 0.015


FAMILIES = {label: row for row in residuals.rows() for label in [row.label] if label.endswith("together")}


def test_the_families_are_large_enough_to_be_counted():
    # 289 printed values in eight families; those of six are twenty or more.
    assert sum(row.n >= 20 for row in FAMILIES.values()) == 7  # six, and all together
    assert FAMILIES["CO2, all families together"].n == 289


@pytest.mark.parametrize("row", FAMILIES.values(), ids=FAMILIES)
def test_each_family_lies_inside_the_band_nine_times_in_ten(row):
    # 85 %: nine in ten with the scatter of twenty to eighty rows. The sources are named in `residuals`; most rows of
    # beer, wine and Champagne were fitted, but to two constants, and they disagree: that they lie inside says that the
    # band is as wide as they are apart. Water was not fitted.
    assert row.coverage >= 0.85


def test_the_band_is_not_so_wide_that_it_never_misses():
    assert FAMILIES["CO2, all families together"].coverage <= 0.98


def test_the_page_of_the_science_says_what_was_counted():
    together, water = FAMILIES["CO2, all families together"], FAMILIES["CO2 in water, together"]
    page = (Path(__file__).parents[2] / "service/science/README.md").read_text(encoding="utf-8")
    assert f"Of {together.n} printed values {100.0 * together.coverage:.0f} % lie inside" in page
    assert f"{water.n} rows of fourteen authors, none fitted: {100.0 * water.coverage:.0f} % inside" in page


def test_every_source_of_twenty_rows_lies_inside_the_band_nine_times_in_ten():
    sources = [row for row in residuals.rows() if row.coverage is not None and row.n >= 20]
    assert len(sources) >= 6
    assert all(row.coverage >= 0.85 for row in sources), sources


def test_the_alcohol_factor_is_the_one_that_the_printed_families_give():
    # Tolerance: half a per cent of the factor, a tenth of what the sources are apart. 16 %vol: where it is deepest.
    a, b = gas_fit.fitted()
    for t in (0.0, 25.0):
        assert gas.ethanol_factor(16.0, t) == pytest.approx(exp(-(a + b * t) * gas_fit.shape(16.0)), rel=0.005)


def test_sugar_lowers_the_solubility_by_more_than_usher_and_less_than_the_regulation():
    # Usher 1910 from memory, as quoted in Seidell: 0.862 at 171 g/L; Regulation (EEC) 2676/90: 1 - 0.00144 S.
    for _, model, usher, _ in printed.sugar_pairs("usher-1910"):
        assert model < usher
    for sugar in (25.0, 50.0, 100.0, 150.0):
        assert gas.sugar_factor(sugar, 0.0) > 1.0 - 0.00144 * sugar


def test_alcohol_does_next_to_nothing_in_cold_beer_and_more_the_warmer_and_the_stronger():
    # Beer charts at 0 degC: 5 to 6 % less than water with 45 g/L of extract; Champagne at 20 to 25 degC 15 to 18 %.
    assert 0.975 <= gas.ethanol_factor(5.0, 0.0) <= 1.0
    assert gas.ethanol_factor(12.5, 20.0) <= 0.88
    assert gas.ethanol_factor(12.5, 25.0) < gas.ethanol_factor(12.5, 0.0)


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
    for pair in printed.sparkling_pairs():
        assert pair.model == pytest.approx(pair.value, rel=pair.spread, abs=0.05 * (1.0 + 7.5 / 4.7))


def test_reduction_to_20_degrees_agrees_with_the_oiv_ratios():
    # OIV-MA-AS314-02, ratios from memory. 5 % is our own residual on absolute pressure, held so that a change is
    # noticed. It was 2.8 % while alcohol lowered the solubility alike at every temperature: these ratios and Liger-
    # Belair et al. 2017 want that, the Champagne constants want the effect to double from 0 to 25 degC.
    deviations = [pair.model / pair.value - 1.0 for pair in printed.oiv_pairs()]
    assert sqrt(sum(d * d for d in deviations) / len(deviations)) <= 0.05


def test_a_worked_set_point():
    # Common practice, no source: 9 %vol, 70 g/L sugar, 7 g/L at 1 degC asks for about 1.5 bar on the gauge.
    pressure = gas.pressure_for_bar_abs(Liquid(1.0, abv=9.0, sucrose_g_per_l=70.0), co2_g_per_l=7.0)
    assert pressure - gas.standard_atmosphere_bar(0.0) == pytest.approx(1.5, abs=0.05)


@pytest.mark.parametrize(
    "liquid, half_width",
    [
        (Liquid(1.0), 0.025),
        (Liquid(40.0), 0.025),
        (Liquid(1.0, sucrose_g_per_l=50.0), hypot(0.025, 0.03)),
        (Liquid(1.0, sucrose_g_per_l=100.0, hexose_g_per_l=50.0), hypot(0.025, 0.07)),
        (Liquid(1.0, hexose_g_per_l=75.0), hypot(0.025, 0.04)),
        (Liquid(4.0, abv=5.0), hypot(0.025, 0.05)),
        (Liquid(10.0, abv=5.0), hypot(0.025, 0.085)),
        (Liquid(16.0, abv=5.0), hypot(0.025, 0.12)),
        (Liquid(25.0, abv=8.0), hypot(0.025, 0.08)),
        (Liquid(35.0, abv=8.0), hypot(0.025, 0.08) + 0.04),
        (Liquid(-5.0, abv=20.0), hypot(0.025, 0.10) + 0.02),
        (Liquid(40.0, abv=35.0, sucrose_g_per_l=250.0), hypot(0.025, 0.14, 0.11) + 0.06),
        (Liquid(1.0, abv=9.0, sucrose_g_per_l=70.0), hypot(0.025, 0.054, 0.038)),
    ],
)
def test_band_is_the_stated_one(liquid, half_width):
    assert gas.solubility_spread(liquid) == pytest.approx(half_width)


STEP = 0.01
MOST_A_STEP = 0.002  # of an end of the band: nobody sees a jump of a fifth of a per cent


def steps(low, high):
    return [low + STEP * i for i in range(round((high - low) / STEP) + 1)]


@pytest.mark.parametrize(
    "sweep",
    [
        *(lambda x, t=t, s=s: Liquid(t, x, s) for t in (1.0, 8.0, 22.0, 35.0) for s in (0.0, 70.0, 150.0)),
        *(lambda x, t=t, a=a: Liquid(t, a, 10.0 * x) for t in (1.0, 22.0, 35.0) for a in (0.0, 9.0, 30.0)),
        *(lambda x, a=a, s=s: Liquid(x, a, s) for a in (0.01, 5.0, 9.0, 15.0, 40.0) for s in (0.0, 70.0, 150.0)),
        lambda x: Liquid(x, 9.0, 70.0, known_spread=0.03),
    ],
)
def test_no_end_of_the_band_jumps(sweep):
    # In steps of 0.01 %vol, 0.1 g/L of sugar and 0.01 degC. Sea level and 2.5 bar gauge.
    ends = [
        [
            gas.dissolved_co2_g_per_l(end, pressure_bar_abs=3.5)
            for end in (drink.less_soluble, drink, drink.more_soluble)
        ]
        for drink in map(sweep, steps(0.0, 40.0))
    ]
    for before, after in itertools.pairwise(ends):
        assert all(abs(b / a - 1.0) <= MOST_A_STEP for a, b in zip(before, after, strict=True)), (before, after)
        assert after[0] < after[1] < after[2]


@pytest.mark.parametrize("abv, sugar", [(9.0, 70.0), (15.0, 150.0), (15.0, 149.99), (8.0, 50.0)])
def test_what_going_by_masses_and_back_adds_moves_nothing(abv, sugar):
    # 150 g/L that came back as 150.00000000001 stood in another class, 5 % of the drink's pressure further.
    here, there = Liquid(1.0, abv, sugar), Liquid(1.0, abv + 1e-9, sugar + 1e-9)
    assert there.spread == pytest.approx(here.spread, rel=1e-9)


@given(st.floats(-8.0, 39.9), st.floats(0.1, 40.0), st.floats(0.0, 300.0), st.floats(0.05, 5.0))
def test_a_warmer_or_sweeter_drink_takes_up_less(temperature_c, abv, sugar, more):
    drink = Liquid(temperature_c, abv, sugar)
    assert Liquid(min(40.0, temperature_c + more), abv, sugar).henry < drink.henry
    assert Liquid(temperature_c, abv, sugar + more).henry < drink.henry


def test_below_freezing_a_drink_is_carried_on_with_a_band_that_grows_and_water_is_not():
    # No measurements there: an extrapolation, and it says so. Water ends at -0.5 degC.
    spreads = [Liquid(t, abv=25.0, sucrose_g_per_l=50.0).spread for t in (0.0, -2.0, -5.0, -8.0)]
    assert spreads == sorted(spreads)
    assert spreads[-1] - spreads[0] == pytest.approx(8 * 0.004)
    for ask in (lambda: Liquid(-8.1, abv=25.0), lambda: Liquid(-0.6)):
        with pytest.raises(OutsideValidity):
            ask()


@pytest.mark.parametrize(
    "ask",
    [
        lambda: gas.co2_solubility_mol_per_l_atm(-8.1),
        lambda: gas.co2_solubility_mol_per_l_atm(40.1),
        lambda: gas.co2_solubility_mol_per_l_atm(nan),
        lambda: gas.ethanol_factor(40.1, 1.0),
        lambda: gas.ethanol_factor(nan, 1.0),
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
        lambda: gas.air_solubility_mol_per_l_bar(-8.1),
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
    """Up to the end of the equations: a strong, warm drink holds less than 7 g/l there."""
    assume(level + more <= gas.dissolved_co2_g_per_l(liquid, pressure_bar_abs=gas.GAS_PRESSURE_LIMIT_BAR_ABS))
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
