"""Every factor of the unit table against `pint`, a general-purpose library, or print where pint knows nothing."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.science.constants import CO2_G_PER_MOL
from service.science.units import ANSWER_UNITS, FACTORS, from_base, to_base

IN_PINT = {
    "volume": {
        "ml": "milliliter",
        "cl": "centiliter",
        "l": "liter",
        "oz": "fluid_ounce",
        "oz_imp": "imperial_fluid_ounce",
        "cup_us": "cup",
        "pint_us": "liquid_pint",
        "qt_us": "liquid_quart",
        "gal_us": "gallon",
    },
    "mass": {"g": "gram", "kg": "kilogram", "oz_av": "ounce", "lb": "pound"},
    "pressure": {"bar": "bar", "kpa": "kilopascal", "psi": "psi", "hpa": "hectopascal", "inhg": "inch_Hg"},
    "duration": {"s": "second", "min": "minute", "h": "hour", "d": "day"},
    "co2": {"g/l": "gram/liter"},
    "sugar": {"g/l": "gram/liter"},
    "length": {"m": "meter", "ft": "foot", "mm": "millimeter", "in": "inch"},
    "density": {"g/ml": "gram/milliliter"},
    "salt": {"g/l": "gram/liter"},
}
NOT_IN_PINT = {
    ("volume", "dash"),
    ("volume", "barspoon"),
    ("volume", "drop"),
    ("co2", "volumes"),
    ("acidity", "meq/l"),  # its own base unit; pint has no equivalents
}
ROWS = [(kind, unit) for kind, table in FACTORS.items() for unit in table]
UNITS = pint.UnitRegistry()


def test_every_row_is_compared_somewhere():
    named = {(kind, unit) for kind, table in IN_PINT.items() for unit in table}
    assert named | NOT_IN_PINT == set(ROWS)
    assert not named & NOT_IN_PINT


@pytest.mark.parametrize("kind, unit", [row for row in ROWS if row not in NOT_IN_PINT])
def test_a_factor_is_that_of_pint(kind, unit):
    # 1e-9: all are exact by definition; room for rounding, none for another inch of mercury (1.4e-7 apart)
    base = next(name for name, factor in FACTORS[kind].items() if factor == 1.0)
    printed = UNITS.Quantity(1.0, IN_PINT[kind][unit]).to(IN_PINT[kind][base]).magnitude
    assert FACTORS[kind][unit] == pytest.approx(printed, rel=1e-9, abs=0.0)


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 4.0, 20.0, 100.0])
def test_temperatures_are_those_of_pint(celsius):
    fahrenheit = UNITS.Quantity(celsius, "degC").to("degF").magnitude
    assert from_base("temperature", celsius, "f") == pytest.approx(fahrenheit, abs=1e-9)
    assert to_base("temperature", fahrenheit, "f") == pytest.approx(celsius, abs=1e-9)
    assert from_base("temperature", celsius, "c") == to_base("temperature", celsius, "c") == celsius


def test_an_inch_of_mercury_is_the_conventional_one():
    # NIST SP 811 (2008), Appendix B: 3.386 389 E+03 Pa; half its last digit
    assert to_base("pressure", 1.0, "inhg") * 1e5 == pytest.approx(3386.389, abs=0.0005)


def test_one_volume_of_co2_is_a_litre_of_real_gas_in_a_litre():
    # IUPAC-NIST Solubility Database SRD 106, note c: 22.2605 L/mol at 0 degC, 1 atm; half the last digit of 1.977
    assert to_base("co2", 1.0, "volumes") == pytest.approx(CO2_G_PER_MOL / 22.2605, abs=0.0005)


@pytest.mark.parametrize(
    "unit, low, high",
    [
        ("dash", 0.6, 1.0),  # common practice, no source; 1/8 US teaspoon is 0.62 ml, 1/32 fl oz 0.92 ml
        ("barspoon", 2.5, 5.0),  # common practice, no source
        ("drop", 0.05, 0.05),  # 20 drops to the ml: pharmacy convention, from memory
    ],
)
def test_a_bar_measure_lies_in_the_range_in_use(unit, low, high):
    assert low <= to_base("volume", 1.0, unit) <= high


@given(st.sampled_from(ROWS), st.floats(1e-6, 1e6))
def test_a_unit_turns_back(row, value):
    kind, unit = row
    assert from_base(kind, to_base(kind, value, unit), unit) == pytest.approx(value, rel=1e-12)


def test_answers_are_written_in_units_that_exist():
    for units in ANSWER_UNITS.values():
        assert set(units) == set(FACTORS) | {"temperature"}
        assert all(unit in FACTORS[kind] for kind, unit in units.items() if kind != "temperature")
