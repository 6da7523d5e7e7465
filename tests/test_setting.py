"""The drink in its vessel at the site: dials and levels beside print, gaps and refusals by the rules in words."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from service.calibration import Calibration, Estimate, SolubilityEstimate
from service.drink import Drink
from service.errors import Refusals, Refused, SeveralRefused
from service.notes import Notes
from service.science.mixture import masses_of
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.setting import (
    AIR_G_PER_L_BAR,
    Question,
    Setting,
    SettingGiven,
    attempt,
    beyond_equations,
    check_target,
    set_point_judged,
    setting_of,
    within_limits,
    workable_target,
)
from service.site import Air, Site
from service.vessel import Vessel, VesselGiven
from tests.equilibrium import G_PER_MOL, SEA_LEVEL_BAR, Bottle, dissolved_mol_per_l, solved, vapour_bar
from tests.published import published
from tests.science.gas_residuals import PSI_BAR, STP_L_PER_MOL, beer

BOTTLE = Vessel("pet-1-l", "pet", 1000.0, 3.5, 6.5, soft=True)
SOLUBILITY = 0.02
"""How well the solubility of CO2 in water is known, Weiss 1974; of every comparison in water the tolerance."""
R = 0.0831446  # L bar / (mol K), CODATA 2018


def drink(abv: float = 9.0, sugar: float = 70.0, **more: Any) -> Drink:
    return Drink(masses_of(1000.0, abv=abv, sugar_g_per_l=sugar), 0.0, **more)


WATER, DRINK = drink(0.0, 0.0), drink()


def here(of: Drink = DRINK, **changed: Any) -> Setting:
    usual: dict[str, Any] = {
        "vessel": BOTTLE, "fill": 0.8, "air": Air("none"), "ambient_bar": SEA_LEVEL_BAR, "warm_room_c": 30.0,
    }  # fmt: skip
    return Setting(of, **{**usual, **changed})


# Dials and levels


def test_a_dial_gives_beer_the_level_of_the_printed_chart() -> None:
    """Volumes by temperature and gauge pressure at sea level, tests/data/co2_beer.csv; 5.0 %vol, 45 g/l extract.

    Tolerance: the stated uncertainty of the model for this beer.
    """
    made = here(drink(5.0, 45.0))
    for f, psi, volumes in published(
        "co2_beer.csv", "temperature_f", "pressure_psi_gauge", "volumes", key="miller-1994"
    ):
        temperature_c = (f - 32.0) / 1.8
        level = made.level_g_per_l(made.liquid_at(temperature_c), psi * PSI_BAR)
        assert level == pytest.approx(volumes * G_PER_MOL / STP_L_PER_MOL, rel=beer(temperature_c).spread)


@pytest.mark.parametrize("temperature_c", [1.0, 4.0, 10.0, 20.0])
@pytest.mark.parametrize("level", [3.0, 6.0, 9.0])
def test_the_set_point_of_water_is_that_of_an_equation_of_state_of_its_own(temperature_c: float, level: float) -> None:
    """Without air: CO2 by Span & Wagner 1996 and the vapour of water, as CoolProp has them, less the air outside."""
    co2_bar = solved(lambda bar: dissolved_mol_per_l(temperature_c, bar), level / G_PER_MOL)
    made = here(WATER)
    found = made.set_point_bar_gauge(made.liquid_at(temperature_c), level) + SEA_LEVEL_BAR
    assert found == pytest.approx(co2_bar + vapour_bar(temperature_c), rel=SOLUBILITY)


@pytest.mark.parametrize("dial_bar", [0.5, 1.5, 2.5])
def test_what_rests_on_a_dial_holds_what_an_equation_of_state_of_its_own_gives_it(dial_bar: float) -> None:
    """Drink and headspace together, at 2 degC and 0.8 full."""
    made = here(WATER)
    level = made.level_g_per_l(made.liquid_at(2.0), dial_bar)
    bottle = Bottle(0.8, 2.0)
    co2_bar = dial_bar + SEA_LEVEL_BAR - vapour_bar(2.0)
    in_the_drink = bottle.on_dial_mol(2.0, dial_bar) - bottle.mol(2.0, co2_bar) + dissolved_mol_per_l(2.0, co2_bar)
    assert level / G_PER_MOL == pytest.approx(in_the_drink, rel=SOLUBILITY)


AIRS = st.sampled_from([Air("none"), Air("left"), Air("squeezed", 20.0), Air("purged", None, 3, 2.0)])


@settings(deadline=None, max_examples=60)
@given(
    abv=st.floats(0.0, 20.0), sugar=st.floats(0.0, 150.0), temperature_c=st.floats(0.0, 25.0), fill=st.floats(0.3, 0.9),
    air=AIRS, ambient=st.floats(0.7, 1.05), level=st.floats(1.0, 9.0),
)  # fmt: skip
def test_level_and_dial_are_each_others_inverse(
    abv: float, sugar: float, temperature_c: float, fill: float, air: Air, ambient: float, level: float
) -> None:
    """Two solutions of the same mass balance, one by pressure and one by level. Tolerance: what they settle to."""
    made = here(drink(abv, sugar), fill=fill, air=air, ambient_bar=ambient)
    liquid = made.liquid_at(temperature_c)
    try:
        dial = made.set_point_bar_gauge(liquid, level)
    except OutsideValidity:
        return
    if dial + ambient < 10.0:
        assert made.level_g_per_l(liquid, dial) == pytest.approx(level, rel=1e-8)


@pytest.mark.parametrize("ambient_bar", [0.70121, 0.83528, 1.01325])
def test_thin_air_outside_asks_for_as_much_more_on_the_gauge(ambient_bar: float) -> None:
    """A gauge reads over the air of the place (ISO 2533 at 3000, 1600 and 0 m); the equilibrium knows no place."""
    at_the_sea, up_here = here(), here(ambient_bar=ambient_bar)
    more = up_here.set_point_bar_gauge(DRINK.absorbs_co2(1.0), 6.0) - at_the_sea.set_point_bar_gauge(
        DRINK.absorbs_co2(1.0), 6.0
    )
    assert more == pytest.approx(SEA_LEVEL_BAR - ambient_bar, abs=1e-9)


@pytest.mark.parametrize("air, over_l", [
    (Air("left"), 0.2), (Air("squeezed", 20.0), 0.02), (Air("purged", None, 3, 2.0), 0.2 * (1.01325 / 3.01325) ** 3),
])  # fmt: skip
def test_air_costs_the_pressure_that_it_has_in_the_headspace(air: Air, over_l: float) -> None:
    """By hand, water at 10 degC: 0.0187 volumes of air dissolve at 20 degC and 0.0228 at 10 (handbooks, from memory).
    All the air there is, shared by 0.2 l of gas and 0.8 l of water: p = n / (V / RT + K V).

    Tolerance: 3 %, the share of what is dissolved by its own 10 %, and of the virial gas.
    """
    rt, dry_bar, k = R * 283.15, SEA_LEVEL_BAR - vapour_bar(10.0), 0.0228 / 22.414 / SEA_LEVEL_BAR
    in_all = dry_bar * over_l / rt + dry_bar * k * 0.8
    by_hand = in_all / (0.2 / rt + k * 0.8)
    with_air, without = here(WATER, air=air), here(WATER)
    liquid = WATER.absorbs_co2(10.0)
    cost = with_air.set_point_bar_gauge(liquid, 5.0) - without.set_point_bar_gauge(liquid, 5.0)
    assert cost == pytest.approx(by_hand, rel=0.03)


def test_the_band_of_a_set_point_runs_from_the_most_soluble_to_the_least() -> None:
    """Its ends hold the same level, the drink taking up more or less by what is known of it."""
    made, liquid = here(), DRINK.absorbs_co2(1.0)
    band = made.set_point_band(liquid, 6.0, typical=made.set_point_bar_gauge(liquid, 6.0))
    spread = liquid.spread
    co2_bar = band.typical + SEA_LEVEL_BAR - liquid.vapour_bar
    assert band.low == pytest.approx(band.typical - co2_bar * spread / (1.0 + spread), abs=0.02 * co2_bar * spread)
    assert band.high == pytest.approx(band.typical + co2_bar * spread / (1.0 - spread), abs=0.05 * co2_bar * spread)


def test_a_bars_own_solubility_is_what_its_drink_takes_up() -> None:
    """Reading 1.1 times the model's level, the same dial gives 1.1 times as much."""
    own = Calibration(solubility=SolubilityEstimate(1.1, 0.01))
    read, plain = here(calibration=own), here()
    found = read.level_g_per_l(read.liquid_at(1.0), 1.5)
    assert found == pytest.approx(1.1 * plain.level_g_per_l(plain.liquid_at(1.0), 1.5), rel=1e-9)
    other = Calibration(loss_per_s=Estimate(1e-4, 1e-5))  # type: ignore[arg-type]
    assert here(calibration=other).liquid_at(1.0) == plain.liquid_at(1.0)


# What is in the vessel, by hand


def test_liquid_and_headspace_make_up_the_vessel() -> None:
    """0.8 of a litre, and a fifth of it."""
    made = here()
    assert made.liquid_l == pytest.approx(0.8)
    assert made.headspace_l == pytest.approx(0.2)


def test_what_sparkling_components_bring_is_spread_over_the_drink() -> None:
    """4.2 g in 1000 ml are 4.2 g/l, and in half as much twice that."""
    assert here(replace(DRINK, co2_g=4.2)).brought_g_per_l == pytest.approx(4.2)
    half = Drink(masses_of(500.0, abv=9.0, sugar_g_per_l=70.0), 0.0, co2_g=4.2)
    assert here(half).brought_g_per_l == pytest.approx(8.4)


def test_a_squeezed_bottle_that_is_round_again_displaces_room_air() -> None:
    """0.2 l of headspace of which 20 ml were left: 0.18 l of air at 20 degC and half saturated, by CoolProp (ASHRAE
    RP-1485). Tolerance: half the last digit of the constant, 0.005 of 1.19, and its neglect of what vapour does."""
    grams_per_l = 1.0 / HAPropsSI("Vha", "T", 293.15, "P", 101325.0, "R", 0.5)  # kg/m3 is g/l
    assert pytest.approx(AIR_G_PER_L_BAR * SEA_LEVEL_BAR, abs=0.01) == grams_per_l
    assert here(air=Air("squeezed", 20.0)).swelling_g == pytest.approx(0.18 * grams_per_l, rel=0.01)
    for air in (Air("none"), Air("left"), Air("purged", None, 3, 2.0), Air("squeezed", 250.0)):
        assert here(air=air).swelling_g == 0.0


@pytest.mark.parametrize("air, share", [
    (Air("none"), 1.0), (Air("purged", None, 3, 2.0), 1.0 - (1.01325 / 3.01325) ** 3), (Air("left"), 0.0),
    (Air("squeezed", 20.0), 0.0), (Air("purged", None, 1, 1.0), 1.0 - 1.01325 / 2.01325),
])  # fmt: skip
def test_purging_and_filling_under_co2_leave_it_over_the_drink(air: Air, share: float) -> None:
    """n = p V / (Z R T) of what is neither air nor vapour, by hand. Z is 1 - 0.0068 at 1 atm and 1 degC (CO2 by Span &
    Wagner, from CoolProp) times the square of the share of CO2 in the gas, air being next to ideal.

    Tolerance: 0.3 % of the virial gas."""
    co2_bar = share * (SEA_LEVEL_BAR - vapour_bar(1.0))
    z = 1.0 - (1.0 - PropsSI("Z", "T", 274.15, "P", 101325.0, "CO2")) * (co2_bar / SEA_LEVEL_BAR) ** 2
    by_hand = co2_bar * 0.2 / (z * R * 274.15)
    assert here(WATER, air=air).co2_left_mol(WATER.absorbs_co2(1.0)) == pytest.approx(by_hand, rel=0.003)


def test_the_capped_vessel_holds_its_air_and_no_gas_yet() -> None:
    made = here(air=Air("left"))
    liquid = made.liquid_at(1.0)
    flat = made.flat(liquid, co2_g_per_l=2.2)
    assert (flat.gas_co2_mol, flat.air_mol) == (0.0, made.air_mol(liquid))
    assert flat.dissolved_co2_mol_per_l == pytest.approx(2.2 / G_PER_MOL)
    assert (flat.liquid_l, flat.headspace_l) == (made.liquid_l, made.headspace_l)


def test_the_warmest_room_is_told_whether_the_vessel_is_judged_there_or_not() -> None:
    assert here().room_c == 30.0
    assert here(warm_room_c=12.0, stated_room_c=30.0).room_c == 30.0
    assert here().closed(1.0).warm_room_c == 30.0
    assert here(warm_room_c=12.0, stated_room_c=30.0).closed(1.0).warm_room_c == 12.0


def test_a_closed_vessel_is_judged_without_the_air_that_was_taken_out() -> None:
    """No air that a bar says it took out, or left in, counts in a vessel's favour."""
    cases = [
        here(air=air).closed(1.0).never_over_bar_gauge for air in (Air("none"), Air("left"), Air("squeezed", 20.0))
    ]
    assert len(set(cases)) == 1


# From a request: gaps and refusals. Defaults are common practice, no source, but for the sea, ISO 2533.


def made(question: Question = "planned", *, of: Drink = DRINK, notes: Notes | None = None, **given_so: Any) -> Setting:
    refusals = Refusals()
    found = setting_of(of, SettingGiven(**given_so), question, notes or Notes(), refusals)
    refusals.raise_any()
    return found


def assumed(notes: Notes) -> set[str]:
    return {pointer for a in notes.assumptions for pointer in a.pointers}


def test_a_plan_that_says_nothing_is_a_squeezed_litre_of_pet_at_the_sea_in_a_warm_room() -> None:
    notes = Notes()
    found = made(notes=notes)
    assert (found.vessel.name, found.fill, found.air) == ("pet-1-l", 0.8, Air("squeezed", 20.0))
    assert (found.ambient_bar, found.warm_room_c, found.room_c) == (SEA_LEVEL_BAR, 30.0, 30.0)
    shown = {"/vessel", "/fill", "/air", "/site/altitude", "/site/warmest_room", "/site/gas_source"}
    assert shown <= assumed(notes)


def test_what_is_asked_without_a_vessel_is_judged_by_none() -> None:
    """`Question`: no vessel is judged unless one is named; a plan always has one."""
    assert not made("asked").vessel.is_judged
    assert made("asked", vessel=VesselGiven("pet-1-l")).vessel.is_judged
    for question in ("planned", "observed"):
        assert made(question).vessel.is_judged  # type: ignore[arg-type]


UNSOUND: list[tuple[dict[str, Any], str, str]] = [
    ({"vessel": VesselGiven("pet-1-l", condition="creased")}, "/vessel/condition", "unsound"),
    ({"vessel": VesselGiven("pet-1-l", cycles=50)}, "/vessel/cycles", "retired"),
    ({"fill": 0.97}, "/fill", "no-headspace"),
]


@pytest.mark.parametrize("given_so, at, code", UNSOUND)
def test_a_plan_is_refused_for_what_an_observation_is_told_of(given_so: dict[str, Any], at: str, code: str) -> None:
    """`Question`: what exists is never refused for its state."""
    with pytest.raises(Refused) as refused:
        made(**given_so)
    assert [(f.pointer, f.code) for f in refused.value.faults] == [(at, code)]
    notes = Notes()
    made("observed", **given_so, notes=notes)
    assert [(c.pointers, c.severity) for c in notes.cautions if c.code == code] == [((at,), "danger")]


def test_a_regulator_is_judged_for_a_plan_and_not_for_what_exists() -> None:
    wild = Site(regulator_max_bar=8.0)
    with pytest.raises(Refused, match="/site/relief_set relief-missing"):
        made(site=wild)
    notes = Notes()
    made("observed", site=wild, notes=notes)
    assert "/site/gas_source" not in assumed(notes)
    made("asked", site=wild)  # no vessel is judged


def test_every_refusal_comes_at_once() -> None:
    """Each is about something else; the caller hears of all of them."""
    with pytest.raises(SeveralRefused) as refused:
        made(vessel=VesselGiven("pet-1-l", condition="dropped"), fill=0.97, air=Air("squeezed", 900.0),
             site=Site(altitude_m=1600.0, barometer_bar=1.013, regulator_max_bar=9.0),
             calibration=Calibration(solubility=SolubilityEstimate(1.4, 0.01)))  # fmt: skip
    assert {fault.pointer for one in refused.value.refusals for fault in one.faults} == {
        "/vessel/condition", "/fill", "/air/remaining", "/site/barometer", "/site/relief_set",
        "/calibration/solubility/value",
    }  # fmt: skip


def test_a_drink_that_nothing_can_be_computed_for_ends_it() -> None:
    """96 %vol is no drink that CO2 equations know (their print ends far lower)."""
    with pytest.raises(Refused):
        made(of=drink(96.0, 0.0))


def test_a_keg_is_judged_where_it_is_kept_and_the_warm_room_is_still_told() -> None:
    """12 degC in a cold room; common practice, no source."""
    found = made(vessel=VesselGiven("keg-20-l"), site=Site(warmest_room_c=35.0))
    assert (found.warm_room_c, found.room_c) == (12.0, 35.0)


@pytest.mark.parametrize("site, ends_at, most_bar", [
    (Site(regulator_max_bar=3.0), "regulator-max", 3.0), (Site(relief_set_bar=2.0), "relief-set", 2.0),
    (Site(regulator_max_bar=3.0, relief_set_bar=2.0), "relief-set", 2.0),
    (Site(regulator_max_bar=2.0, relief_set_bar=3.0), "regulator-max", 2.0),
    (Site(), "regulator-max", float("inf")), (None, "regulator-max", float("inf")),
])  # fmt: skip
def test_a_dial_reaches_as_far_as_the_first_of_regulator_and_relief_valve(
    site: Site | None, ends_at: str, most_bar: float
) -> None:
    reach = made(site=site).reach
    assert (reach.ends_at, reach.most_bar_gauge) == (ends_at, most_bar)


@pytest.mark.parametrize("coldest_c, warned", [(-18.0, True), (-5.0, True), (0.0, False), (2.0, False), (None, False)])
def test_a_place_that_could_freeze_the_drink_is_a_danger(coldest_c: float | None, warned: bool) -> None:
    """A drink of 9 %vol freezes between -3 and -5 degC (CRC Handbook); a cold place swings by 2, common practice."""
    notes = Notes()
    made(site=Site(coldest_c=coldest_c), notes=notes)
    told = [(c.severity, c.pointers) for c in notes.cautions if c.code == "could-freeze"]
    assert told == ([("danger", ("/site/coldest",))] if warned else [])


def test_the_age_of_a_vessel_is_judged_by_the_moment_of_the_request() -> None:
    """Three months; common practice, no source."""
    old = VesselGiven("pet-1-l", first_used=datetime(2026, 8, 1, tzinfo=UTC).date())
    with pytest.raises(Refused, match="/vessel/first_used retired"):
        made(vessel=old, now=datetime(2026, 12, 1, tzinfo=UTC))
    made(vessel=old, now=datetime(2026, 9, 1, tzinfo=UTC))
    made(vessel=old)


# Purges


def test_a_purge_keeps_to_the_lowest_of_the_dials_that_are_never_passed() -> None:
    """The colder the drink, the more it takes up, and the lower the dial that its bottle stands."""
    planned = made(air=Air("purged", times=3), vessel=VesselGiven("pet-1-l", closed_limit_bar=4.0))
    refusals = Refusals()
    found = within_limits(planned, [1.0, 8.0], notes=Notes(), refusals=refusals)
    refusals.raise_any()
    cold, warm = (planned.closed(t).never_over_bar_gauge for t in (1.0, 8.0))
    assert cold + 0.1 < warm < 2.0  # both under the usual purge
    assert found.air.pressure_bar_gauge is not None
    assert cold - 0.1 < found.air.pressure_bar_gauge <= cold
    assert found.air.times == 3


def test_a_purge_that_was_made_is_taken_as_it_was() -> None:
    planned = made("observed", air=Air("purged", times=3, pressure_bar_gauge=5.5))
    refusals = Refusals()
    found = within_limits(planned, [1.0], observed=True, notes=Notes(), refusals=refusals)
    assert len(refusals) == 0
    assert found.air.pressure_bar_gauge == 5.5
    within_limits(planned, [1.0], notes=Notes(), refusals=refusals)
    with pytest.raises(Refused, match="/air/pressure never-over"):
        refusals.raise_any()


def test_what_is_not_purged_is_left_as_it_is() -> None:
    planned = made()
    assert within_limits(planned, [1.0], notes=Notes(), refusals=Refusals()) is planned


# Targets


def judged(setting: Setting, target: float, temperature_c: float = 1.0) -> Any:
    return set_point_judged(setting, setting.closed(temperature_c), target)


def test_a_target_whose_set_point_passes_is_not_refused() -> None:
    planned = made()
    judgement = judged(planned, 5.0)
    assert judgement.dial_bar_gauge == planned.set_point_bar_gauge(planned.liquid_at(1.0), 5.0)
    check_target(planned, judgement, 5.0, Notes())


@pytest.mark.parametrize("given_so", [
    {}, {"air": Air("left")}, {"fill": 0.9}, {"fill": 0.9, "air": Air("left")}, {"site": Site(altitude_m=1600.0)},
    {"vessel": VesselGiven("keg-20-l"), "air": Air("left")},
])  # fmt: skip
@pytest.mark.parametrize("target", [8.0, 10.0])
def test_every_way_that_is_offered_out_of_too_high_a_target_works(given_so: dict[str, Any], target: float) -> None:
    """Contract of an offer: applied alone, the refusal goes away."""
    planned = made(**given_so)
    judgement = judged(planned, target)
    with pytest.raises(Refused, match="over-vessel-limit") as refused:
        check_target(planned, judgement, target, Notes())
    assert refused.value.faults[0].pointer == "/target"
    assert refused.value.offers
    for offer in refused.value.offers:
        changed, level = dict(given_so), target
        for near in offer.nearest:
            if near.pointer == "/target":
                assert isinstance(near.value, Quantity)
                level = near.value.value
            elif near.pointer == "/fill":
                changed["fill"] = near.value
            else:
                assert isinstance(near.value, dict)
                changed["air"] = Air(**near.value)
        mended = within_limits(made(**changed), [1.0], notes=Notes(), refusals=Refusals())
        check_target(mended, judged(mended, level), level, Notes())


def test_the_offered_level_is_the_highest_to_a_tenth_that_passes() -> None:
    """Found by going down from the target a tenth of a gram at a time."""
    planned = made()
    passes = next(level / 10.0 for level in range(120, 0, -1) if judged(planned, level / 10.0).passes)
    assert workable_target(planned, judged(planned, 12.0)) == pytest.approx(passes)


def test_no_regulator_goes_under_the_air_pressure() -> None:
    """At the air pressure alone water of 1 degC takes up 1.6471 l/l (Murray & Riley 1971 at 1.04 degC, tests/data),
    times 1.977 g/l, less what the vapour takes of the pressure, 0.6 %."""
    planned = made("asked", of=WATER, vessel=VesselGiven("pet-1-l"), air=Air("none"))
    with pytest.raises(Refused, match="unreachable: /target below-atmospheric") as refused:
        check_target(planned, judged(planned, 2.0), 2.0, Notes())
    (fact,) = refused.value.facts
    assert fact.value.value == pytest.approx(1.6471 * 1.977 * 0.994, rel=SOLUBILITY)  # type: ignore[union-attr]
    (nearest,) = refused.value.nearest
    level = nearest.value.value  # type: ignore[union-attr]
    assert fact.value.value <= level <= fact.value.value + 0.1  # type: ignore[union-attr]
    check_target(planned, judged(planned, level), level, Notes())


def test_where_the_gas_equations_end_a_dial_is_refused_by_name() -> None:
    """10 bar absolute, the end of the virial gas; 14 g/l at 25 degC lies beyond it (Henry: 14 / 1.45 bar)."""
    planned = made("asked", of=WATER)
    with pytest.raises(OutsideValidity) as outside:
        planned.set_point_bar_gauge(planned.liquid_at(25.0), 16.0)
    refused = beyond_equations(outside.value, "/temperatures/0")
    assert (refused.slug, refused.faults[0].pointer) == ("outside-validity", "/temperatures/0")
    assert refused.facts[0].value == Quantity("pressure", 10.0)
    judgement = set_point_judged(made(), made().closed(25.0), 16.0)  # a vessel is judged all the same: it does not pass
    assert not judgement.passes
    cold = OutsideValidity("temperature", -40.0, -10.0, 40.0, "degC")
    with pytest.raises(OutsideValidity):
        beyond_equations(cold, "/temperatures/0")


# Attempts


def test_an_attempt_that_is_refused_is_kept_and_the_rest_goes_on() -> None:
    refusals = Refusals()

    def refuse() -> int:
        raise Refused("unreachable", [])

    assert attempt(refusals, lambda: 1, lambda: 2) == 1
    assert len(refusals) == 0
    assert attempt(refusals, refuse, lambda: 2) == 2
    assert len(refusals) == 1
    with pytest.raises(ZeroDivisionError):
        attempt(refusals, lambda: 1 // 0, lambda: 2)  # a fault of the program is no refusal


def test_a_vessel_that_no_dial_suits_is_offered_no_level() -> None:
    """A drink that brought 9 g/l and warms to 40 degC is over the limit of a bottle with no pressure added."""
    planned = made(of=replace(DRINK, co2_g=12.0), site=Site(warmest_room_c=40.0))
    closed = planned.closed(1.0, planned.brought_g_per_l)
    assert closed.never_over_bar_gauge <= 0.0
    assert workable_target(planned, set_point_judged(planned, closed, 9.0)) == 0.0


def test_what_no_equation_covers_is_raised_as_it_is() -> None:
    """Only a pressure beyond the gas is judged; a temperature that no source reaches is not."""
    planned = made()
    with pytest.raises(OutsideValidity) as outside:
        set_point_judged(planned, planned.closed(-60.0), 5.0)
    assert outside.value.quantity == "temperature"
