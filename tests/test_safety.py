"""The safety judgement, against figures of the trade and an equilibrium worked out apart from the service's own."""

from itertools import pairwise

import pytest
from CoolProp.CoolProp import PT_INPUTS, AbstractState, PropsSI

from service import safety
from service.drink import Drink
from service.errors import OutsideValidity, Refused
from service.notes import Notes
from service.safety import Judgement
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, Liquid, henry_mol_per_l_bar
from service.science.mixture import masses_of
from service.vessel import Vessel

SEA_LEVEL_BAR = 1.01325  # ISO 2533
BOTTLE = Vessel("pet-1-l", "pet", 1000.0, 3.0, 5.0, soft=True)
KEG = Vessel("keg-19-l", "steel", 18927.0, 3.0, 4.0, soft=False)


def drink(abv: float = 9.0, sugar: float = 70.0, **more: object) -> Drink:
    return Drink(masses_of(1000.0, abv=abv, sugar_g_per_l=sugar), 0.0, **more)  # type: ignore[arg-type]


def judged(dial: float, *, vessel: Vessel = BOTTLE, fill: float = 0.8, room: float = 30.0, cold: float = 1.0,
           of: Drink | None = None, start: float = 0.0) -> Judgement:  # fmt: skip
    return safety.judge(
        of or drink(), vessel, fill=fill, dial_bar_gauge=dial, temperature_c=cold, ambient_bar=SEA_LEVEL_BAR,
        warm_room_c=room, start_co2_g_per_l=start,
    )  # fmt: skip


@pytest.mark.parametrize("abv, sugar", [(9.0, 70.0), (20.0, 100.0)])
def test_charged_at_2_5_bar_and_1_c_it_ends_near_7_6_bar_at_35_c(abv: float, sugar: float) -> None:
    """0.85 l in 1 l; common practice, no source. "Near" is taken as the model's own band."""
    worst = judged(2.5, fill=0.85, room=35.0, of=drink(abv, sugar)).worst
    assert worst.low < 7.6 < worst.high


def test_worst_case_is_the_equilibrium_worked_out_with_an_equation_of_state_of_its_own() -> None:
    """Water, pure CO2: the mass balance with the gas density and fugacity of Span & Wagner 1996, as CoolProp has them.

    tolerance: 1 %, the 0.3 to 0.5 % of the virial gas twice over, on the absolute pressure
    """
    water, fill, dial, cold, warm = drink(0.0, 0.0), 0.8, 1.5, 2.5, 30.0
    co2 = AbstractState("HEOS", "CO2")

    def held_mol(t_c: float, co2_bar: float, total_bar: float, filled: float) -> float:
        T = t_c + 273.15
        co2.update(PT_INPUTS, co2_bar * 1e5, T)
        in_gas = co2.rhomolar() / 1000.0 * (1.0 - filled)
        squeezed = 1.0 - 0.0323 * (total_bar - 1.01325) / (0.0831446 * T)  # 32.3 cm3/mol, Weiss 1974
        return float(
            in_gas + henry_mol_per_l_bar(Liquid(t_c)) * co2.fugacity_coefficient(0) * squeezed * co2_bar * filled
        )

    def vapour(t_c: float) -> float:
        return float(PropsSI("P", "T", t_c + 273.15, "Q", 0, "Water")) / 1e5

    charged_bar = dial + SEA_LEVEL_BAR
    charged_mol = held_mol(cold, charged_bar - vapour(cold), charged_bar, fill)
    grown = PropsSI("D", "T", cold + 273.15, "P", 3e5, "Water") / PropsSI("D", "T", warm + 273.15, "P", 3e5, "Water")
    low, high = 0.1, 9.0
    while high - low > 1e-6:
        half = (low + high) / 2.0
        low, high = (half, high) if held_mol(warm, half, half, fill * grown) < charged_mol else (low, half)
    expected = low + vapour(warm)
    found = judged(dial, fill=fill, room=warm, cold=cold, of=water).worst.typical + SEA_LEVEL_BAR
    assert found == pytest.approx(expected, rel=0.01)


def test_judged_at_the_upper_end_of_the_band() -> None:
    passing = judged(1.0)
    most = judged(passing.never_over_bar_gauge)
    assert most.passes
    assert most.worst.high == pytest.approx(BOTTLE.closed_limit_bar_gauge, abs=1e-6)  # solved to 1e-9
    assert most.worst.typical < BOTTLE.closed_limit_bar_gauge
    over = judged(passing.never_over_bar_gauge + 0.01)
    assert not over.passes
    assert over.worst.typical < BOTTLE.closed_limit_bar_gauge < over.worst.high


def test_band_takes_both_uncertainties_as_independent() -> None:
    """Plain water is known to 2 % at both ends; each moves the warm pressure by nearly that much."""
    worst = judged(1.5, of=drink(0.0, 0.0), cold=2.5).worst
    reach = (worst.high - worst.typical) / (worst.typical + SEA_LEVEL_BAR)
    assert 0.02 < reach < 0.02 * 2.0**0.5 * 1.1


@pytest.mark.parametrize(
    "milder, harsher",
    [
        ({"fill": 0.75}, {"fill": 0.85}),
        ({"room": 25.0}, {"room": 35.0}),
        ({"start": 0.0}, {"start": 9.0}),
        ({"of": drink(9.0, 70.0), "cold": 3.0}, {"of": drink(9.0, 70.0), "cold": 1.0}),
    ],
    ids=["largest fill", "warmest room", "CO2 already in it", "colder takes up more"],
)
def test_harsher_case_allows_less(milder: dict, harsher: dict) -> None:
    assert judged(1.5, **harsher).worst.high > judged(1.5, **milder).worst.high
    assert judged(1.5, **harsher).never_over_bar_gauge < judged(1.5, **milder).never_over_bar_gauge


def test_worst_case_rises_with_the_dial() -> None:
    highs = [judged(0.2 * i).worst.high for i in range(12)]
    assert all(a < b for a, b in pairwise(highs))


def test_charge_limit_caps_the_dial_by_itself() -> None:
    strong = Vessel("steel vessel", "steel", 1000.0, 1.0, 8.0, soft=False)
    assert judged(0.9, vessel=strong).never_over_bar_gauge == 1.0
    with pytest.raises(Refused) as refused:
        safety.check(judged(1.1, vessel=strong), Notes())
    assert [f.code for f in refused.value.faults] == ["charge-limit"]


def test_beyond_the_gas_equations_is_refused_and_never_extrapolated() -> None:
    stamped = Vessel("steel vessel", "steel", 1000.0, 8.0, 20.0, soft=False)
    judgement = judged(7.5, vessel=stamped)
    assert not judgement.passes
    assert judged(judgement.never_over_bar_gauge, vessel=stamped).worst.high < GAS_PRESSURE_LIMIT_BAR_ABS
    with pytest.raises(Refused) as refused:
        safety.check(judgement, Notes())
    assert [f.code for f in refused.value.faults] == ["beyond-equations"]
    with pytest.raises(OutsideValidity):
        safety.worst_closed(drink(), stamped, fill=0.8, dial_bar_gauge=7.5, temperature_c=1.0,
                            ambient_bar=SEA_LEVEL_BAR, warm_room_c=30.0)  # fmt: skip


def test_refusal_says_it_as_the_trade_does_and_offers_what_works() -> None:
    with pytest.raises(Refused) as refused:
        safety.check(judged(2.5, fill=0.85, room=35.0), Notes())
    (fault,) = refused.value.faults
    assert fault.text.startswith(
        "Do not charge: this {vessel} could reach {reached} at {room}; its limit is {closed_limit}."
    )
    assert fault.text.endswith(
        "The maker's rating, local code and a competent person decide; this is arithmetic, not approval."
    )
    (nearest,) = refused.value.nearest
    safety.check(judged(nearest.value.value, fill=0.85, room=35.0), Notes())  # type: ignore[union-attr]


def test_warns_over_four_fifths_of_a_limit() -> None:
    quiet, near = Notes(), Notes()
    safety.check(judged(0.5), quiet)
    safety.check(judged(judged(0.5).never_over_bar_gauge), near)
    assert quiet.cautions == []
    assert [c.code for c in near.cautions] == ["near-limit"]


def test_calibration_does_not_reach_the_judgement() -> None:
    """Neither the drink nor the judgement has a place for one: a bar's own reading can never relax a limit."""
    assert "solubility" not in " ".join(safety.judge.__annotations__)
    assert drink().absorbs_co2(1.0).solubility_factor == 1.0


def test_live_culture_is_refused() -> None:
    with pytest.raises(Refused, match="live-culture"):
        safety.check_fit_to_charge(drink(live_culture=True), BOTTLE, 1.0, Notes())


@pytest.mark.parametrize("temperature, vessel, slug", [
    (10.1, BOTTLE, "too-warm"), (10.0, BOTTLE, None), (12.0, KEG, None), (40.1, KEG, "too-warm"),
    (-0.9, BOTTLE, None), (-1.1, BOTTLE, "would-freeze"), (float("nan"), BOTTLE, "would-freeze"),
])  # fmt: skip
def test_temperature_of_charging(temperature: float, vessel: Vessel, slug: str | None) -> None:
    """A bottle over 10 degC is refused; common practice, no source. Weiss 1974 begins at -1 degC."""
    if slug is None:
        safety.check_temperature(drink(), vessel, temperature)
        return
    with pytest.raises(Refused, match=slug) as refused:
        safety.check_temperature(drink(), vessel, temperature)
    (nearest,) = refused.value.nearest
    safety.check_temperature(drink(), vessel, nearest.value.value)  # type: ignore[union-attr]


def test_weak_drink_is_not_charged_where_it_freezes() -> None:
    """Water freezes at 0 degC; a still drink without alcohol or sugar is kept well above."""
    with pytest.raises(Refused, match="would-freeze"):
        safety.check_temperature(drink(0.0, 0.0), BOTTLE, 0.5)
    assert safety.cold_c(drink(0.0, 0.0)) > 1.0


@pytest.mark.parametrize("made, temperature, code", [
    (drink(), 5.1, "warm-charging"), (drink(foams=True), 1.0, "foams"), (drink(clarity="pulpy"), 1.0, "gushing"),
    (drink(clarity="hazy"), 1.0, "gushing"), (drink(32.0), 1.0, "strong-drink"),
])  # fmt: skip
def test_cautions_that_depend_on_the_drink(made: Drink, temperature: float, code: str) -> None:
    with_it, without = Notes(), Notes()
    safety.check_fit_to_charge(made, BOTTLE, temperature, with_it)
    safety.check_fit_to_charge(drink(), BOTTLE, 1.0, without)
    assert {c.code for c in with_it.cautions} - {c.code for c in without.cautions} == {code}


def test_gas_is_always_cautioned_about() -> None:
    bottle, keg = Notes(), Notes()
    safety.check_fit_to_charge(drink(), BOTTLE, 1.0, bottle)
    safety.check_fit_to_charge(drink(), KEG, 1.0, keg)
    always = {"goggles", "regulator-order", "co2-pools", "metal-contact"}
    assert {c.code for c in bottle.cautions} == {*always, "bottle-unattended"}
    assert {c.code for c in keg.cautions} == always


def test_over_40_per_cent_is_not_computed() -> None:
    with pytest.raises(Refused, match="outside-validity"):
        safety.check_known(drink(41.0, 0.0))


@pytest.mark.parametrize("slope, bend", [(1.0, 0.0), (0.2, 3.0), (5.0, 0.5)])
def test_highest_finds_the_crossing_from_the_safe_side(slope: float, bend: float) -> None:
    def excess(x: float) -> float:
        return slope * (x - 0.7) + bend * (x**3 - 0.343) if x < 2.0 else float("inf")

    found = safety.highest(excess, low=-0.9, high=3.0)
    assert found <= 0.7
    assert found == pytest.approx(0.7, abs=1e-8)
    assert safety.highest(lambda x: x + 2.0, low=-0.9, high=3.0) == -0.9
    assert safety.highest(lambda x: x - 4.0, low=-0.9, high=3.0) == 3.0
