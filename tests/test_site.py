"""The site: its air pressure, warmest room and scale, its regulator, and the air that is left in a vessel."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import Refused
from service.notes import Notes
from service.science.gas import Liquid
from service.site import (
    Air,
    Scale,
    Site,
    air_left_mol,
    air_of,
    ambient_bar,
    check_air,
    check_regulator,
    fitting_air,
    fitting_purge,
    note_source,
    purge_of,
    scale_step_g,
    usual_air_handling,
    usual_purge,
    warmest_room_c,
)
from service.site.air import fields_of_the_method
from service.vessel import Vessel
from tests.published import published
from tests.science.gas_residuals import geopotential_m

BOTTLE = Vessel("pet-1-l", "pet", 1000.0, 3.5, 6.5, soft=True)
HARD_BOTTLE = Vessel("pet vessel", "pet", 1000.0, 3.5, 6.5, soft=False)
FLASK = Vessel("steel vessel", "steel", 1000.0, 5.0, 8.0, soft=False)
KEG = Vessel("keg-19-l", "steel", 18_927.0, 6.0, 8.0, soft=False)
SEA_LEVEL_BAR = 1.01325  # ISO 2533
ATMOSPHERE = published("standard_atmosphere.csv", "altitude_m", "pressure_hpa")
"""Of ISO 2533, see the table."""
HALF_DIGIT_BAR = 0.5e-5
"""Half the last digit of the table."""
R = 0.0831446  # L bar / (mol K), CODATA 2018


def assumed(notes: Notes) -> dict[str, Any]:
    return {pointer: getattr(a.value, "value", a.value) for a in notes.assumptions for pointer in a.pointers}


def told(notes: Notes) -> list[tuple[str, str, tuple[str, ...]]]:
    return [(c.code, c.severity, c.pointers) for c in notes.cautions]


# Air pressure


@pytest.mark.parametrize("altitude_m, pressure_hpa", ATMOSPHERE)
def test_the_air_pressure_of_an_altitude_is_that_of_the_standard_atmosphere(
    altitude_m: float, pressure_hpa: float
) -> None:
    """ISO 2533, whose equation takes geopotential metres."""
    notes = Notes()
    found = ambient_bar(Site(altitude_m=geopotential_m(altitude_m)), notes)
    assert found == pytest.approx(pressure_hpa / 1000.0, abs=HALF_DIGIT_BAR)
    assert assumed(notes) == {"/site/barometer": found}  # where a caller would say better


@pytest.mark.parametrize("site", [None, Site(), Site(warmest_room_c=25.0)])
def test_a_site_that_says_nothing_lies_at_the_sea(site: Site | None) -> None:
    """1013.25 hPa, ISO 2533."""
    notes = Notes()
    assert ambient_bar(site, notes) == SEA_LEVEL_BAR
    assert assumed(notes) == {"/site/altitude": SEA_LEVEL_BAR}


def test_a_barometer_is_taken_as_it_reads() -> None:
    notes = Notes()
    assert ambient_bar(Site(barometer_bar=0.8349), notes) == 0.8349
    assert assumed(notes) == {}
    assert told(notes) == []


@pytest.mark.parametrize("altitude_m, pressure_hpa", ATMOSPHERE)
@pytest.mark.parametrize(
    "share, belongs", [(0.9705, True), (1.0, True), (1.0295, True), (0.9695, False), (1.0305, False)]
)
def test_a_barometer_belongs_to_its_altitude_within_what_weather_does(
    altitude_m: float, pressure_hpa: float, share: float, belongs: bool
) -> None:
    """Three per cent either way of the standard atmosphere: 0.985 to 1.043 bar at sea level, from memory."""
    site = Site(altitude_m=geopotential_m(altitude_m), barometer_bar=share * pressure_hpa / 1000.0)
    if belongs:
        assert ambient_bar(site, Notes()) == site.barometer_bar
        return
    with pytest.raises(Refused, match="site-contradiction") as refused:
        ambient_bar(site, Notes())
    assert [(f.pointer, f.code) for f in refused.value.faults] == [("/site/barometer", "contradicts-altitude")]
    (nearest,) = refused.value.nearest
    assert nearest.value.value == pytest.approx(pressure_hpa / 1000.0, abs=HALF_DIGIT_BAR)  # type: ignore[union-attr]


def test_the_sea_level_figure_of_a_weather_report_is_never_taken_in_the_mountains() -> None:
    """Reports are reduced to sea level, so read about 1013 hPa everywhere; at 500 m the air has 954.6 (ISO 2533)."""
    for altitude_m in (500.0, 1600.0, 3000.0):
        with pytest.raises(Refused, match="contradicts-altitude"):
            ambient_bar(Site(altitude_m=altitude_m, barometer_bar=1.013), Notes())


def test_a_barometer_that_reads_like_a_place_over_3000_m_is_warned_of() -> None:
    """701.21 hPa at 3000 m, ISO 2533; read too low, every dial comes out too high by as much."""
    (high_hpa,) = published("standard_atmosphere.csv", "pressure_hpa", altitude_m="3000")[0]
    for barometer_bar, warned in ((high_hpa / 1000.0, False), (0.99 * high_hpa / 1000.0, True)):
        notes = Notes()
        assert ambient_bar(Site(barometer_bar=barometer_bar), notes) == barometer_bar
        assert told(notes) == ([("low-barometer", "warning", ("/site/barometer",))] if warned else [])
    notes = Notes()
    ambient_bar(Site(altitude_m=3500.0, barometer_bar=0.66), notes)  # where the altitude says the same, it is right
    assert told(notes) == []


# Room, scale


@pytest.mark.parametrize("stated_c, judged_c, cautioned", [
    (5.0, 30.0, True), (29.9, 30.0, True), (30.0, 30.0, False), (38.0, 38.0, False),
])  # fmt: skip
def test_no_room_is_judged_cooler_than_30_degrees(stated_c: float, judged_c: float, cautioned: bool) -> None:
    """A promise of the safety rules: a caller may warm the room, never cool it. 30 degC: common practice, no source."""
    notes = Notes()
    assert warmest_room_c(Site(warmest_room_c=stated_c), notes) == judged_c
    assert told(notes) == ([("cool-room", "info", ("/site/warmest_room",))] if cautioned else [])
    quiet = Notes()
    assert warmest_room_c(Site(warmest_room_c=stated_c), quiet, judged=False) == judged_c
    assert told(quiet) == []  # of a keg that is kept cold


def test_a_room_that_nobody_stated_is_shown() -> None:
    for site in (None, Site()):
        notes = Notes()
        assert warmest_room_c(site, notes) == 30.0
        assert assumed(notes) == {"/site/warmest_room": 30.0}


def test_a_vessel_is_weighed_to_the_step_of_the_scale() -> None:
    """A kitchen scale shows grams; common practice, no source."""
    notes = Notes()
    assert scale_step_g(Site(scale=Scale(5.0)), notes) == 5.0
    assert assumed(notes) == {}
    assert scale_step_g(Site(), notes) == 1.0
    assert assumed(notes) == {"/site/scale": 1.0}


# The regulator, by the rule in words: what can go higher than the vessel bears needs a relief valve set no higher.


@pytest.mark.parametrize("regulator_bar, relief_bar, passes", [
    (None, None, True), (3.5, None, True), (3.6, None, False), (3.6, 3.6, False), (3.6, 3.5, True), (200.0, 3.0, True),
    (200.0, None, False), (None, 9.0, True),
])  # fmt: skip
def test_a_regulator_that_can_pass_the_vessels_limit_needs_a_relief_valve_at_it(
    regulator_bar: float | None, relief_bar: float | None, passes: bool
) -> None:
    """The rule of the trade, common practice, no source; the bottle is charged to 3.5 bar at the most."""
    site = Site(regulator_max_bar=regulator_bar, relief_set_bar=relief_bar)
    if passes:
        check_regulator(site, BOTTLE)
        return
    with pytest.raises(Refused, match="regulator-unsafe") as refused:
        check_regulator(site, BOTTLE)
    assert [(f.pointer, f.code) for f in refused.value.faults] == [("/site/relief_set", "relief-missing")]
    assert not refused.value.nearest  # a valve is a fact of the venue, which nobody else states
    assert not refused.value.offers


def test_a_cartridge_never_charges_a_bottle() -> None:
    """It has no regulator; common practice, no source."""
    for vessel in (BOTTLE, HARD_BOTTLE, FLASK):
        with pytest.raises(Refused, match="/site/gas_source cartridge"):
            check_regulator(Site(gas_source="cartridge"), vessel)
    check_regulator(Site(gas_source="cartridge"), KEG)
    check_regulator(None, BOTTLE)


def test_where_the_gas_comes_from_is_told_unless_it_is_stated() -> None:
    for site, shown in ((None, True), (Site(), True), (Site(gas_source="regulator"), False)):
        notes = Notes()
        note_source(site, notes)
        assert list(assumed(notes)) == (["/site/gas_source"] if shown else [])


# Air: defaults are common practice, no source


@pytest.mark.parametrize("vessel, given_air, filled_in", [
    (BOTTLE, None, Air("squeezed", 20.0)),  # 2 % of 1 l
    (BOTTLE, Air("squeezed", 5.0), Air("squeezed", 5.0)),
    (BOTTLE, Air("purged"), Air("purged", None, 3)),
    (HARD_BOTTLE, None, Air("purged", None, 3)),
    (FLASK, Air("purged", times=7), Air("purged", None, 7)),
    (KEG, None, Air("purged", None, 5)),
    (KEG, Air("left"), Air("left")), (KEG, Air("none"), Air("none")),
])  # fmt: skip
def test_gaps_of_the_air_are_filled_as_the_vessel_allows(vessel: Vessel, given_air: Air | None, filled_in: Air) -> None:
    notes = Notes()
    assert air_of(given_air, vessel, 0.8, notes) == filled_in
    stated = {"/air"} if given_air is None else set()
    stated |= {f"/air/{name}" for name, of in (("remaining", "remaining_ml"), ("times", "times"))
               if getattr(filled_in, of) is not None and getattr(given_air, of, None) is None}  # fmt: skip
    assert set(assumed(notes)) == stated  # every gap that was filled is shown


def test_what_is_taken_to_be_left_is_no_more_than_the_headspace() -> None:
    """0.99 full, 10 ml are empty: less than the usual 20."""
    assert air_of(None, BOTTLE, 0.99, Notes()).remaining_ml == pytest.approx(10.0)


@pytest.mark.parametrize("vessel", [HARD_BOTTLE, FLASK, KEG])
def test_what_is_hard_cannot_be_squeezed(vessel: Vessel) -> None:
    with pytest.raises(Refused, match="/air/method not-soft") as refused:
        air_of(Air("squeezed"), vessel, 0.8, Notes())
    (nearest,) = refused.value.nearest
    assert (nearest.pointer, nearest.value) == ("/air", {"method": "purged"})


def test_more_air_is_not_left_than_there_is_room_for() -> None:
    """0.8 full, 200 ml of a litre are empty."""
    assert check_air(Air("squeezed", 200.0), BOTTLE, 0.8) == Air("squeezed", 200.0)
    with pytest.raises(Refused, match="/air/remaining more-than-headspace") as refused:
        check_air(Air("squeezed", 200.2), BOTTLE, 0.8)
    (nearest,) = refused.value.nearest
    assert nearest.value.value == pytest.approx(200.0, abs=0.1)  # type: ignore[union-attr]


@given(remaining_ml=st.floats(0.0, 2000.0), fill=st.floats(0.05, 0.99))
def test_what_is_offered_in_place_of_too_much_air_always_fits(remaining_ml: float, fill: float) -> None:
    fits = fitting_air(Air("squeezed", remaining_ml), BOTTLE, fill)
    assert fits.remaining_ml is not None
    assert 0.0 <= fits.remaining_ml <= remaining_ml
    assert check_air(fits, BOTTLE, fill) is fits


@pytest.mark.parametrize("never_over_bar, usual_bar", [
    (3.0, 2.0), (2.0, 2.0), (1.99, 1.9), (0.56, 0.5), (0.04, 0.04), (0.0, 0.0), (-0.3, 0.0),
])  # fmt: skip
def test_a_purge_is_dialled_at_two_bar_or_what_may_be_dialled(never_over_bar: float, usual_bar: float) -> None:
    """2 bar: common practice, no source. Downward to a tenth, which a regulator shows."""
    notes = Notes()
    found = purge_of(Air("purged", times=3), never_over_bar, notes)
    assert found.pressure_bar_gauge == pytest.approx(usual_bar)
    assert set(assumed(notes)) == {"/air/pressure"}
    assert usual_purge(KEG, never_over_bar).pressure_bar_gauge == pytest.approx(usual_bar)


@given(stated_bar=st.floats(0.01, 6.0), never_over_bar=st.floats(-1.0, 6.0))
def test_no_purge_is_dialled_over_what_no_charge_may_be(stated_bar: float, never_over_bar: float) -> None:
    """A purge is a charge to the vessel. At or under no pressure every dial is refused elsewhere."""
    air = Air("purged", times=3, pressure_bar_gauge=stated_bar)
    if stated_bar <= never_over_bar or never_over_bar <= 0.0:
        assert purge_of(air, never_over_bar, Notes()) == air
        return
    with pytest.raises(Refused, match="over-vessel-limit") as refused:
        purge_of(air, never_over_bar, Notes())
    (nearest,) = refused.value.nearest
    assert 0.0 < nearest.value.value <= never_over_bar  # type: ignore[union-attr]
    offered = fitting_purge(air, never_over_bar)
    assert purge_of(offered, never_over_bar, Notes()) is offered


def test_only_a_purge_has_a_pressure() -> None:
    for air in (Air("left"), Air("none"), Air("squeezed", 20.0)):
        assert purge_of(air, 0.1, Notes()) is air
        assert fitting_purge(air, 0.1) is air


def test_a_soft_bottle_is_squeezed_and_all_else_purged() -> None:
    assert usual_air_handling(BOTTLE, 3.0) == Air("squeezed", 20.0)
    assert usual_air_handling(KEG, 3.0) == Air("purged", None, 5, 2.0)
    assert usual_air_handling(HARD_BOTTLE, 1.0) == Air("purged", None, 3, 1.0)


@pytest.mark.parametrize("sent, wrong", [
    ({"method": "squeezed", "remaining": 1}, []), ({"method": "purged", "times": 3, "pressure": 1}, []),
    ({"method": "left", "remaining": 1, "times": 3}, ["/remaining", "/times"]),
    ({"method": "purged", "remaining": 1}, ["/remaining"]), ({"method": "none", "pressure": 1}, ["/pressure"]),
    ({"method": "shaken", "times": 1}, []), ({}, []), ({"method": ["left"], "times": 1}, []),
])  # fmt: skip
def test_a_field_goes_with_its_method(sent: dict[str, Any], wrong: list[str]) -> None:
    """What is no method at all is told as that alone."""
    assert [fault.pointer for fault in fields_of_the_method(sent)] == wrong


# How much air, worked out by hand: n = p V / (R T) of dry air over water at 20 degC, whose vapour is 0.02339 bar (CRC
# Handbook), and 0.0187 volumes of it dissolved under an atmosphere (Bunsen coefficient, handbooks, from memory).

WATER, DRY_BAR = Liquid(20.0), SEA_LEVEL_BAR - 0.02339
OVER_MOL_PER_L = DRY_BAR / (R * 293.15)
"""0.04061 mol in each litre of headspace."""
DISSOLVED_MOL = 0.0187 / 22.414 * 0.8 * DRY_BAR / SEA_LEVEL_BAR
"""0.00065 mol in 0.8 l."""


@pytest.mark.parametrize("air, left_l", [
    (Air("left"), 0.2), (Air("squeezed", 20.0), 0.020), (Air("squeezed", 0.0), 0.0),
    (Air("purged", None, 3, 2.0), 0.2 * (1.01325 / 3.01325) ** 3),  # each purge leaves the same share: 0.0380 of all
    (Air("purged", None, 5, 1.0), 0.2 * (1.01325 / 2.01325) ** 5),  # 0.0323
])  # fmt: skip
def test_air_left_is_that_over_the_drink_and_that_in_it(air: Air, left_l: float) -> None:
    """Tolerance: 10 % of what is dissolved, by its source, and 0.1 % of what is over it, vapour and constants."""
    found = air_left_mol(air, WATER, liquid_l=0.8, headspace_l=0.2, ambient_bar=SEA_LEVEL_BAR)
    by_hand = OVER_MOL_PER_L * left_l + DISSOLVED_MOL
    assert found == pytest.approx(by_hand, abs=0.1 * DISSOLVED_MOL + 0.001 * OVER_MOL_PER_L * left_l)


def test_no_air_is_left_after_filling_under_co2() -> None:
    assert air_left_mol(Air("none"), WATER, liquid_l=0.8, headspace_l=0.2, ambient_bar=SEA_LEVEL_BAR) == 0.0


@pytest.mark.parametrize("altitude_m, pressure_hpa", ATMOSPHERE)
def test_thin_air_leaves_less_of_it(altitude_m: float, pressure_hpa: float) -> None:
    """In proportion to what is not vapour (Dalton); pressures of ISO 2533."""
    at_the_sea = air_left_mol(Air("left"), WATER, liquid_l=0.8, headspace_l=0.2, ambient_bar=SEA_LEVEL_BAR)
    here = air_left_mol(Air("left"), WATER, liquid_l=0.8, headspace_l=0.2, ambient_bar=pressure_hpa / 1000.0)
    assert here / at_the_sea == pytest.approx((pressure_hpa / 1000.0 - 0.02339) / DRY_BAR, rel=1e-4)
