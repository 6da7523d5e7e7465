"""The drink by weight, and the cautions about components whose strength nobody stated."""

import pytest

from service.drink import (
    Amount,
    Component,
    Composition,
    Drink,
    DrinkGiven,
    Spec,
    Sugar,
    Syrup,
    drink_of,
    mix,
    portions,
    without_strength,
)
from service.limits.safety import BOTULINUM_STOPS_PERCENT_WW
from service.notes import Notes
from service.science.units import Quantity
from tests.batches import ACIDS, codes, ml, water
from tests.published import published

ETHANOL = 789.24
"""kg/m3 at 20 degC; OIML R 22."""
SUCROSE_ML_PER_G = (1.0 / 1.0381 - 0.9 / 0.99821) / 0.1
"""Room that a gram of sucrose takes in a dilute drink: CRC Handbook, 10 % w/w has 1.0381 g/ml; 0.617."""


def drink(abv: float, sugar: float = 0.0, **more) -> Drink:
    return drink_of(DrinkGiven(composition=Composition(abv, Sugar(sugar, "g/l"), **more)), Notes())


def spec(*components: Component, notes: Notes | None = None) -> Drink:
    return drink_of(DrinkGiven(spec=Spec("any, invented", components)), notes if notes is not None else Notes())


# Alcohol by weight


SPIRITS = [row for row in published("ethanol_density.csv", "mass_percent", "density_kg_m3", source="crc")
           if row[0] <= 34.0]  # fmt: skip
"""To 41 %vol: the strongest that is charged has 40."""


@pytest.mark.parametrize("percent, density", SPIRITS)
def test_alcohol_by_weight_is_that_of_the_tables(percent, density):
    """Spirit and water: %vol = p rho / 789.24, rho of the CRC Handbook; half its last digit is up to 0.004 % w/w,
    and OIML's own as much."""
    assert drink(percent * density / ETHANOL).alcohol_percent_w_w == pytest.approx(percent, abs=0.006)


@pytest.mark.parametrize("sugar, stops_abv", [(0.0, 7.51), (70.0, 7.71), (150.0, 7.94)])
def test_six_per_cent_by_weight_by_hand(sugar, stops_abv):
    """A litre at the strength: ethanol 7.8924 g a %vol; sugar's room by the CRC; the rest spirit of that strength.

    The density of the spirit between Perry's rows of 6 and 8 % w/w, 987.80 and 984.78 kg/m3. Tolerance: half a digit
    of the strength, 0.005 %vol, is 0.004 % w/w; and 0.006 for the room of the sugar, 1 % of 93 ml in a litre.
    """
    ((low, at_low),) = [row for row in published("ethanol_density.csv", "mass_percent", "density_kg_m3", source="perry")
                        if row[0] == 6.0]  # fmt: skip
    ((high, at_high),) = [row for row in published("ethanol_density.csv", "mass_percent", "density_kg_m3",
                                                   source="perry") if row[0] == 8.0]  # fmt: skip
    ethanol_g = stops_abv * 7.8924
    rest_ml = 1000.0 - sugar * SUCROSE_ML_PER_G
    share = ethanol_g / (rest_ml * 0.987)
    density = at_low + (100.0 * share - low) / (high - low) * (at_high - at_low)
    total_g = rest_ml * density / 1000.0 + sugar
    assert 100.0 * ethanol_g / total_g == pytest.approx(BOTULINUM_STOPS_PERCENT_WW, abs=0.01)
    assert drink(stops_abv, sugar).alcohol_percent_w_w == pytest.approx(6.0, abs=0.01)
    assert drink(stops_abv + 0.02, sugar).alcohol_stops_botulinum
    assert not drink(stops_abv - 0.02, sugar).alcohol_stops_botulinum


def test_growth_stops_at_six_per_cent_by_weight():
    """Daifas et al. 2003, J. Food Prot. 66:610, from its abstract: completely inhibited by 6 % (wt/wt), not by 4 %."""
    assert BOTULINUM_STOPS_PERCENT_WW == 6.0
    for abv in (0.0, 3.0, 5.0, 6.0, 7.0):  # 6 %vol is 4.8 % by weight
        assert not drink(abv).alcohol_stops_botulinum
    for abv in (8.0, 12.0, 40.0):
        assert drink(abv, 150.0).alcohol_stops_botulinum


def test_alcohol_by_weight_does_not_depend_on_the_amount():
    glass = mix(portions(Spec("x", (Component("gin", ml(45.0), abv=40.0), water(105.0))), Notes()))
    assert glass.times(40.0).alcohol_percent_w_w == pytest.approx(glass.alcohol_percent_w_w)
    assert drink(0.0).alcohol_percent_w_w == 0.0
    # 45 ml of 40 %vol hold 18 ml of 0.78924 g/ml; 42.67 g by OIML 948.05 kg/m3, and 105 ml of water
    assert glass.alcohol_percent_w_w == pytest.approx(100 * 18 * 0.78924 / (45 * 0.94805 + 105 * 0.99820), rel=1e-4)


# What counts as water


GIN = Component("gin", ml(45.0), abv=40.0)
TOLD = [
    Component("x", ml(20.0), abv=0.0),
    Component("x", ml(20.0), reference="tonic-water"),
    Component("x", ml(20.0), acid_solution=ACIDS),
    Component("x", ml(20.0), syrup=Syrup(1.0, "mass")),
    Component("x", ml(20.0), made_from=Spec("y", (GIN, water(10.0)))),
]


def said(*components: Component) -> list[tuple[str, ...]]:
    notes = Notes()
    spec(*components, notes=notes)
    return [caution.pointers for caution in notes.cautions if caution.code == "counts-as-water"]


@pytest.mark.parametrize("told", TOLD)
def test_what_tells_its_alcohol_is_not_asked_for_it(told):
    assert said(GIN, told) == []
    assert spec(GIN, told).strength_unstated_at == ()


def test_all_that_state_no_strength_are_one_caution():
    cordial = Component("cordial", ml(20.0), sugar=Sugar(600.0, "g/l"), acidity_meq_per_l=400.0)
    house = Component("house mix", ml(20.0), made_from=Spec("y", (water(5.0), Component("amaro", ml(5.0)))))
    at = ("/drink/spec/components/1/abv", "/drink/spec/components/2/abv",
          "/drink/spec/components/3/made_from/components/1/abv")  # fmt: skip
    parts = GIN, cordial, Component("bitters", ml(1.0)), house
    assert said(*parts) == [at]
    assert spec(*parts).strength_unstated_at == tuple(one.removeprefix("/drink") for one in at)
    glass = portions(Spec("any", parts), Notes())
    assert dict(without_strength(glass)) == {"/components/1/abv": "cordial", "/components/2/abv": "bitters",
                                             "/components/3/made_from/components/1/abv": "amaro"}  # fmt: skip
    notes = Notes()
    spec(*parts, notes=notes)
    (caution,) = (one for one in notes.cautions if one.code == "counts-as-water")
    assert (caution.severity, caution.params["components"]) == ("warning", "cordial, bitters, amaro")


def test_two_drinks_in_one_request_are_one_caution():
    notes = Notes()
    for i, name in enumerate(("tea", "verjus", "tea")):
        drink_of(DrinkGiven(spec=Spec("any", (Component(name, ml(90.0)),))), notes, at=f"/batches/{i}/drink")
    (caution,) = notes.cautions
    assert caution.params["components"] == "tea, verjus"
    assert caution.pointers == tuple(f"/batches/{i}/drink/spec/components/0/abv" for i in range(3))


@pytest.mark.parametrize("name", ["Water", "soda  water", " Soda", "Sparkling Water", "AGUA CON GAS", "Eau pétillante"])
def test_plain_water_is_known_by_its_name(name):
    """Names as bars write them; common practice, no source."""
    assert said(GIN, Component(name, ml(100.0))) == []


@pytest.mark.parametrize(
    "component",
    [
        Component("Rose water", ml(5.0)),
        Component("Coconut water", ml(50.0)),
        Component("Kirschwasser", ml(20.0)),
        Component("Agua de Valencia", ml(100.0)),
        Component("Eau de vie", ml(20.0)),
        Component("Firewater", ml(20.0)),
        Component("Water", ml(20.0), sugar=Sugar(50.0, "g/l")),
    ],
)
def test_no_other_name_or_content_makes_water(component):
    assert said(GIN, component) == [("/drink/spec/components/1/abv",)]


@pytest.mark.parametrize(
    "parts, plain",
    [
        ((Component("Soda water", ml(100.0)),), True),
        ((Component("x", ml(100.0), reference="water"),), True),
        ((Component("x", ml(100.0), reference="club-soda", salt_g_per_l=0.5),), True),
        ((Component("x", ml(100.0), abv=0.0, sugar=Sugar(0.0, "g/l")),), True),
        ((Component("x", ml(9.0), made_from=Spec("y", (Component("water", ml(1.0)),))),), True),
        ((Component("Green tea", ml(100.0)),), False),
        ((Component("Green tea", ml(100.0), abv=0.0),), False),
        ((Component("Soda water", ml(100.0)), Component("Tea", ml(5.0))), False),
        ((Component("x", ml(100.0), reference="tonic-water"),), False),
        ((Component("water", ml(100.0)), Component("x", ml(1.0), acid_solution=ACIDS)), False),
        ((Component("Water", ml(100.0), clarity="hazy"),), False),
        ((Component("Water", ml(100.0), live_culture=True),), False),
    ],
)
def test_what_is_known_to_be_water_and_what_is_only_silent(parts, plain):
    assert spec(*parts).plain_water is plain


def test_an_analysis_of_water_is_water():
    assert drink(0.0).plain_water
    assert drink(0.0, salt_g_per_l=1.0).plain_water
    for other in (drink(0.5), drink(0.0, 1.0), drink(0.0, acidity_meq_per_l=1.0), drink(0.0, foams=True)):
        assert not other.plain_water


def test_what_is_silent_moves_no_number():
    """The caution says so and nothing else changes: it still counts as holding none."""
    silent, stated = (spec(GIN, Component("tea", ml(100.0), abv=abv)) for abv in (None, 0.0))
    assert silent.masses == stated.masses
    assert silent.abv == stated.abv


def test_amounts_in_ounces_and_by_mass_are_asked_like_any():
    assert said(GIN, Component("tea", Amount(Quantity("mass", 100.0), "g"))) == [("/drink/spec/components/1/abv",)]
    assert "counts-as-water" not in codes(Notes())
