"""The prep sheet as a library: prep_sheet(asked, notes). Amounts and times are worked out apart from it, beside each
check; where a part has tests of its own, here is only what composing it adds."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.batching import Size, SizedVessel, WholeServes
from service.carbonation import CarbonationPlan
from service.declared import members
from service.drink import Component, InnerSpec, Spec
from service.errors import Refused, SeveralRefused
from service.notes import Notes
from service.prep_sheet import ChillPlan, PrepSheet, PrepSheetRequest, Step, prep_sheet
from service.prep_sheet.answer import _begins_s
from service.prep_sheet.parts import one_vessel, sized
from service.prep_sheet.step import Steps, Timer
from service.science.units import Quantity
from service.site import Air, Scale, Shift, Site
from service.vessel import VesselGiven
from tests.batches import HIGHBALL, g, ml, price, spirit, water
from tests.published import published
from tests.science.gas_residuals import geopotential_m

LONG = Spec("long drink, invented", (spirit(45.0, 40.0), water(135.0)))
"""A spirit and water, for which print has the density and the strength."""
STARTS = datetime(2026, 11, 28, 18, tzinfo=timezone(timedelta(hours=1)))
SHIFT = Shift(6.0, starts_at=STARTS, lasts_s=5 * 3600.0)
KEG = VesselGiven("keg-19-l")
ASKED = PrepSheetRequest(spec=HIGHBALL, size=Size(serves=32), shift=SHIFT)


def asked(**changed: Any) -> PrepSheetRequest:
    return replace(ASKED, **changed)


@cache
def usual() -> tuple[PrepSheet, Notes]:
    notes = Notes()
    return prep_sheet(ASKED, notes), notes


def sheet(*, notes: Notes | None = None, **changed: Any) -> PrepSheet:
    return prep_sheet(asked(**changed), notes or Notes())


def steps(found: PrepSheet, code: str) -> list[Step]:
    return [step for step in found.steps if step.code == code]


def values(step: Step) -> dict[str, Any]:
    """By name; of a quantity its number in the base unit."""
    told = ((one.name.format(**one.params), one.value) for one in step.values)
    return {name: value.value if isinstance(value, Quantity) else value for name, value in told}


# How much of what


def test_the_batch_is_the_glass_so_many_times_by_mass() -> None:
    """By hand: 45 ml of 40 %vol are 42.66 g (948.05 kg/m3 at 20 degC, OIML R 22, from memory) and 135 ml of water
    134.76 g (998.2 kg/m3, CRC Handbook); 40 glasses 7.097 kg. Its volume is by the printed density of the mixture:
    14.207 g of ethanol (789.2 kg/m3) in 177.42 g are 8.01 % by mass.

    Tolerance: half the last digit of what was taken from memory, 1e-5, and straight lines between rows of the table.
    """
    found = sheet(spec=LONG, size=Size(serves=40)).batch.totals
    glass_g, ethanol_g = 45.0 * 0.94805 + 135.0 * 0.99820, 18.0 * 0.78924
    assert found.mass_g == pytest.approx(40 * glass_g, rel=2e-5)
    percent = 100.0 * ethanol_g / glass_g
    table = published("ethanol_density.csv", "mass_percent", "density_kg_m3", source="perry", temperature_c="20")
    (low, heavy), (high, light) = next((a, b) for a, b in pairwise(table) if a[0] <= percent <= b[0])
    kg_per_m3 = heavy + (light - heavy) * (percent - low) / (high - low)
    volume_ml = 40 * glass_g / (kg_per_m3 / 1000.0)
    assert found.volume_ml == pytest.approx(volume_ml, rel=1e-4)
    assert found.abv == pytest.approx(100.0 * 40 * 18.0 / volume_ml, abs=0.005)


def test_vessels_are_as_many_as_hold_it_and_filled_alike() -> None:
    """By hand: 32 serves of 185 ml are 5.92 l, 8 bottles at 0.8 l, 740 ml in each, which are 4 serves and no heel."""
    found, _ = usual()
    assert found.fill.count == 8
    assert found.fill.liquid_ml == pytest.approx(740.0, rel=0.001)  # mixing makes it 0.04 % more
    assert (found.whole_serves, found.heel_ml) == (32, pytest.approx(0.0, abs=1e-6))
    assert values(steps(found, "fill-vessels")[0])["left empty"] == pytest.approx(1000.0 - found.fill.liquid_ml)


def test_serves_that_cannot_be_poured_whole_are_said() -> None:
    """By hand: 60 serves of 185 ml are 11.1 l in 14 bottles of 793 ml, each of which pours 4 and keeps 53 ml: 56."""
    notes = Notes()
    found = sheet(size=Size(serves=60), notes=notes)
    assert (found.fill.count, found.whole_serves) == (14, 56)
    assert found.heel_ml == pytest.approx(53.0, abs=0.5)
    (told,) = (c for c in notes.cautions if c.code == "heels")
    assert (told.params["whole"], told.params["serves"], told.pointers) == (56.0, 60.0, ("/size/serves",))


def test_without_a_size_it_is_the_whole_serves_of_the_shift() -> None:
    """By hand: six an hour for five hours are 30, in bottles of 4 (740 of 800 ml): 8 bottles."""
    notes = Notes()
    found = sheet(size=None, notes=notes)
    assert (found.fill.count, found.whole_serves) == (8, 32)
    assert [(a.value, a.basis) for a in notes.assumptions if a.pointers == ("/size",)] == [(30.0, "default")]
    assert found.batch.volume_ml == pytest.approx(8 * 800.0)  # whole serves fill each to the line


def test_an_acid_solution_is_made_in_the_amount_that_the_batch_takes() -> None:
    """By hand: 32 times 8 ml are 256 ml of 4 % w/v citric and 2 % malic acid: 10.24 g and 5.12 g."""
    found, _ = usual()
    (only,) = found.acid_solutions
    masses = {line.form: line.mass_g for line in only.solution.weigh if line.form is not None}
    assert only.component == "acids"
    assert masses == {"citric-anhydrous": pytest.approx(10.24), "malic": pytest.approx(5.12)}
    weighed = values(steps(found, "make-acid-solution")[0])
    assert weighed["citric acid (citric-anhydrous)"] == pytest.approx(10.2)  # to the tenth of a gram of the scale
    assert steps(found, "make-acid-solution")[0].params == {"component": "acids"}


def test_the_gas_is_more_than_stays_in_the_vessels_and_less_than_twice_that() -> None:
    """By hand, what stays: the level in 5.92 l, and in 8 headspaces of 0.26 l gas at the dial, p M / (R T) at 1 degC.
    What is lost on purging, leaking and venting is less than that much again; common practice, no source."""
    found, _ = usual()
    dial, level = found.carbonation.charges.gauge_pressure_bar, found.carbonation.set_points.target_g_per_l
    in_gas = 8 * 0.26 * (dial + 1.01325) * 44.0095 / (0.0831446 * 274.15)
    stays_g = level * 5.92 + in_gas
    assert stays_g < found.gas.co2_used_g.typical < 2.0 * stays_g


def test_twice_as_many_serves_take_twice_as_much_and_the_same_dial() -> None:
    """What a glass holds does not depend on how many are made; 8 bottles of 740 ml and 16."""
    once, twice = (sheet(size=Size(vessels=(SizedVessel(VesselGiven("pet-1-l"), n, 0.74),))) for n in (8, 16))
    assert twice.batch.totals.mass_g == pytest.approx(2.0 * once.batch.totals.mass_g)
    assert twice.fill.count == 2 * once.fill.count
    assert twice.carbonation.charges.gauge_pressure_bar == pytest.approx(once.carbonation.charges.gauge_pressure_bar)
    assert twice.gas.co2_used_g.typical == pytest.approx(2.0 * once.gas.co2_used_g.typical)
    assert twice.spec_id == once.spec_id


@pytest.mark.parametrize("altitude_m, pressure_hpa", published("standard_atmosphere.csv", "altitude_m", "pressure_hpa"))
def test_the_dial_makes_up_for_the_air_that_a_place_lacks(altitude_m: float, pressure_hpa: float) -> None:
    """ISO 2533, see the table; without air in the vessel a set-point is higher by just that. Half its last digit."""
    plan = CarbonationPlan(target_g_per_l=4.5, air=Air("none"))

    def dial(altitude: float) -> float:
        found = sheet(carbonation=plan, shift=None, site=Site(altitude_m=altitude))
        point = found.carbonation.set_points.points[0].dial_bar_gauge
        assert point is not None
        return point.typical

    assert dial(geopotential_m(altitude_m)) - dial(0.0) == pytest.approx(1.01325 - pressure_hpa / 1000.0, abs=0.5e-5)


# The order of work, and when it begins


VARIANTS: dict[str, dict[str, Any]] = {
    "usual": {}, "no shift": {"shift": None}, "no size": {"size": None},
    "kegs": {"vessel": KEG, "size": Size(serves=90)},
    "a scale": {"site": Site(scale=Scale(0.1, 2000.0))}, "made then": {"made_at": STARTS - timedelta(hours=9)},
    "purged": {"carbonation": CarbonationPlan(air=Air("purged"), target_g_per_l=5.0)},
    "timed": {"carbonation": CarbonationPlan(held="timed", target_g_per_l=5.0)},
    "warm": {"carbonation": CarbonationPlan(temperature_c=4.0, target_g_per_l=5.0)},
    "freezer": {"chill": ChillPlan("fan-freezer", 20.0)},
    "hazy": {"spec": Spec("hazy, invented", (spirit(45.0, 40.0), replace(water(135.0, "lime"), clarity="pulpy")))},
    "hazy, with acids": {"spec": replace(HIGHBALL, components=(
        HIGHBALL.components[0], replace(HIGHBALL.components[1], clarity="hazy"), *HIGHBALL.components[2:]))},
    "two litres": {"size": Size(vessels=(SizedVessel(VesselGiven("pet-2-l"), 3, 0.75),))},
    "a plan from flat": {"shift": None, "carbonation": CarbonationPlan(charge_count=5, target_g_per_l=4.0)},
}  # fmt: skip
every_variant = pytest.mark.parametrize("changed", VARIANTS.values(), ids=VARIANTS)


@every_variant
def test_every_step_begins_as_soon_as_it_may(changed: dict[str, Any]) -> None:
    """By the rule in words: once what it waits for is done and the hands of its station are free, and no later. That
    leaves one timetable; the work is done when the longest way through it is."""
    found = sheet(**changed)
    done: dict[int, float] = {}
    free: dict[str, float] = {}
    planned = [step for step in found.steps if step.begins_s is not None]
    for step in planned:
        begins = max([free.get(step.station, 0.0), *(done[before] for before in step.depends_on)])
        assert step.begins_s == pytest.approx(begins)
        takes = [step.hands_on_s, step.late_s or 0.0, step.timer.each_s if step.timer else 0.0]
        done[step.number] = begins + max(takes)
        free[step.station] = begins + step.hands_on_s
    assert planned[-1].code == "pour"
    assert found.total_s == pytest.approx(planned[-1].begins_s)
    assert found.hands_on_s == pytest.approx(sum(step.hands_on_s for step in planned[:-1]))


@every_variant
def test_steps_are_numbered_and_wait_for_earlier_ones_alone(changed: dict[str, Any]) -> None:
    found = sheet(**changed)
    assert [step.number for step in found.steps] == list(range(1, len(found.steps) + 1))
    for step in found.steps[1:]:
        assert all(before < step.number for before in step.depends_on), step


ORDER = ["buy", "settle-stock", "make-acid-solution", "mix-batch", "fill-vessels", "take-air-out", "chill-batch",
         "set-regulator", "label-vessels", "hold-cold", "pour", "regas"]  # fmt: skip


@every_variant
def test_the_order_of_work_is_that_of_the_trade(changed: dict[str, Any]) -> None:
    """Filled, then chilled; air out, then charged; labelled, then held: common practice, no source."""
    codes = [step.code for step in sheet(**changed).steps]
    assert [code for code in dict.fromkeys(codes) if code in ORDER] == [code for code in ORDER if code in codes]


@every_variant
def test_no_text_of_a_step_has_a_numeral(changed: dict[str, Any]) -> None:
    """They stand in values and timers, where a display can show them large; CO2 is a name."""
    for step in sheet(**changed).steps:
        for said in (step.text, *(caution.text for caution in step.cautions)):
            assert not re.search(r"\d", said.replace("CO2", "")), said


def test_hands_are_free_while_a_timer_runs() -> None:
    """By hand: settling takes 10 s of hands and 100 in all, so weighing begins at 10 and the pour at 100; what comes
    after the first pour has no time."""
    invented = Steps()
    settled = invented.add("ahead", "bench", "settle", "Settle.", timer=Timer(100.0), hands_on_s=10.0)
    weighed = invented.add("weigh", "bench", "weigh", "Weigh.", hands_on_s=5.0)
    invented.add("mix", "bench", "mix", "Mix.", hands_on_s=20.0, depends_on=(weighed,))
    poured = invented.add("pour", "bar", "pour", "Pour.", hands_on_s=15.0, depends_on=(settled, weighed))
    invented.add("regas", "bar", "regas", "Re-gas.", depends_on=(poured,))
    assert _begins_s(invented.done) == (0.0, 10.0, 15.0, 100.0)


def test_the_work_starts_so_that_the_first_serve_makes_the_shift() -> None:
    """Backwards from the shift, every wait at its late end."""
    found, _ = usual()
    assert found.total_s is not None
    assert found.latest_start == STARTS - timedelta(seconds=found.total_s)
    assert found.steps[0].begins_at == found.latest_start
    assert steps(found, "pour")[0].begins_at == STARTS
    silent = sheet(shift=Shift(6.0, lasts_s=5 * 3600.0))
    assert (silent.latest_start, silent.steps[0].begins_at, silent.total_s) == (None, None, found.total_s)


@settings(deadline=None, max_examples=15)
@given(early_s=st.floats(-4 * 3600.0, 12 * 3600.0))
def test_it_is_mixed_in_time_and_never_before_it_was_said(early_s: float) -> None:
    """Fresh as may be: as late as the shift allows; who says that it is made later than that is warned."""
    found, _ = usual()
    latest = steps(found, "mix-batch")[0].begins_at
    assert latest is not None
    said, notes = latest - timedelta(seconds=early_s), Notes()
    mixed = sheet(made_at=said, notes=notes).batch.label.made_at
    assert mixed is not None
    assert abs(mixed - max(said, latest)) < timedelta(seconds=1)
    if abs(early_s) > 1.0:
        assert ("late-for-shift" in {c.code for c in notes.cautions}) is (early_s < 0.0)


def test_as_many_rounds_as_charges_and_the_last_shuts_the_cylinder() -> None:
    for count in (1, 3, 5):
        found = sheet(carbonation=CarbonationPlan(charge_count=count, target_g_per_l=4.0))
        rounds = [values(step)["round"] for step in steps(found, "charge")]
        assert rounds == list(range(1, count + 1))
        assert len(steps(found, "close-cylinder")) == 1


def test_a_keg_stays_on_its_gas() -> None:
    """Nothing is shaken and nothing re-gassed; common practice, no source."""
    found = sheet(vessel=KEG, size=Size(serves=90))
    assert steps(found, "charge") == steps(found, "regas") == []
    assert found.fill.each.kind == "keg"
    assert "keg" in steps(found, "inspect-vessels")[0].text


def test_without_a_shift_nothing_is_forecast() -> None:
    found = sheet(shift=None)
    assert (found.regas, found.latest_start, steps(found, "regas")) == (None, None, [])
    assert found.total_s is not None


# What is written down


def test_the_ph_over_which_a_batch_is_low_acid_is_kept() -> None:
    """21 CFR 114.3: finished equilibrium pH over 4.6."""
    found, _ = usual()
    (ph,) = (record for record in found.records if record.code == "ph")
    assert (ph.limit, ph.most) == (4.6, True)


def test_the_dial_that_is_never_passed_is_on_the_step_and_in_the_records() -> None:
    found, _ = usual()
    most = found.carbonation.charges.never_over_bar_gauge
    (record,) = (record for record in found.records if record.code == "regulator")
    dialled = values(steps(found, "set-regulator")[0])
    assert isinstance(record.limit, Quantity)
    assert record.limit.value == dialled["never over"] == most
    assert dialled["dial"] == found.carbonation.charges.gauge_pressure_bar <= most
    assert record.limit.shown == "down"  # what is never passed is never rounded up


def test_the_label_has_the_lot_the_date_and_when_to_discard() -> None:
    """By hand: what keeps two days and is made at 09:00 on the 26th is discarded at the same hour on the 28th."""
    lime = Component(
        "lime cordial", ml(30.0), abv=0.0, allergens=(), keeps_s=2 * 86400.0, acidity_meq_per_l=500.0, ph=2.5
    )
    tart = Spec(
        "tart, invented", (replace(spirit(45.0, 40.0), allergens=()), lime, replace(water(105.0), allergens=()))
    )
    found = sheet(
        spec=tart, size=Size(serves=16), lot="QL-2811-A", made_at=datetime(2026, 11, 26, 9, tzinfo=UTC), shift=None
    )
    lines = {line.name: line.value for line in found.label.lines}
    assert (lines["lot"], lines["made"]) == ("QL-2811-A", "2026-11-26 09:00")
    assert lines["allergens"] == "none"
    assert lines["strength"] == "10.0 %vol"  # 18 ml of alcohol in 180
    assert lines["discard"] == "2026-11-28 09:00"
    assert [record.limit for record in found.records if record.code == "discard"] == ["2026-11-28 09:00"]


def test_a_strength_that_nobody_stated_is_not_on_the_label() -> None:
    found, _ = usual()  # of the cordial
    assert {line.name: line.value for line in found.label.lines}["strength"] == "not stated"


# Refusals and notes: pointers of the whole


FIELDS = {one.wire for one in members(PrepSheetRequest)}
WRONG: list[tuple[dict[str, Any], str, str]] = [
    ({"fill": 0.97}, "/fill", "no-headspace"),
    ({"vessel": VesselGiven("pet-1-l", condition="bulged")}, "/vessel/condition", "unsound"),
    ({"carbonation": CarbonationPlan(target_g_per_l=14.0)}, "/carbonation/target", "closed-limit"),
    ({"carbonation": CarbonationPlan(temperature_c=-20.0)}, "/carbonation/temperature", ""),
    ({"carbonation": CarbonationPlan(air=Air("squeezed", 900.0))}, "/carbonation/air/remaining", "more-than-headspace"),
    ({"site": Site(gas_source="cartridge")}, "/site/gas_source", "cartridge"),
    ({"site": Site(altitude_m=1600.0, barometer_bar=1.013)}, "/site/barometer", "contradicts-altitude"),
    ({"size": Size(vessels=(SizedVessel(VesselGiven("pet-1-l"), 1), SizedVessel(VesselGiven("pet-2-l"), 1)))},
     "/size/vessels", "several-kinds"),
    ({"size": Size(vessels=(SizedVessel(VesselGiven("pet-1-l", cycles=50), 4),))}, "/size/vessels/0/vessel/cycles",
     "retired"),
    ({"spec": Spec("a bowl", (spirit(450.0, 40.0), water(1350.0)))}, "/vessel", "holds-no-serve"),
]  # fmt: skip


@pytest.mark.parametrize("changed, at, code", WRONG, ids=[at for _, at, _ in WRONG])
def test_what_a_part_refuses_points_into_the_sheets_own_request(changed: dict[str, Any], at: str, code: str) -> None:
    """The caller has sent a sheet and never the parts that it is composed of."""
    with pytest.raises((Refused, SeveralRefused)) as refused:
        sheet(**changed)
    each = refused.value.refusals if isinstance(refused.value, SeveralRefused) else (refused.value,)
    faults = [fault for one in each for fault in one.faults]
    assert (at, code) in {(fault.pointer, fault.code if code else "") for fault in faults}
    for one in each:
        for pointer in (*(f.pointer for f in one.faults), *(n.pointer for n in one.nearest)):
            assert pointer.split("/")[1] in FIELDS, pointer


def test_refusals_of_different_parts_come_together() -> None:
    """Vessel, fill, target and acid are judged apart; who mends one hears of no other later."""
    with pytest.raises(SeveralRefused) as refused:
        sheet(vessel=VesselGiven("pet-1-l", cycles=50), fill=0.97, site=Site(altitude_m=1600.0, barometer_bar=1.013),
              carbonation=CarbonationPlan(temperature_c=20.0))  # fmt: skip
    told = {fault.pointer for one in refused.value.refusals for fault in one.faults}
    assert {"/vessel/cycles", "/fill", "/site/barometer"} <= told


@every_variant
def test_notes_point_into_the_sheets_own_request(changed: dict[str, Any]) -> None:
    notes = Notes()
    sheet(**changed, notes=notes)
    pointers = {pointer for one in (*notes.cautions, *notes.assumptions) for pointer in one.pointers}
    assert pointers
    assert {pointer.split("/")[1] for pointer in pointers} <= FIELDS


@pytest.mark.parametrize("sent, wrong", [
    ({"size": {"serves": 4}, "vessel": {}, "fill": 0.8}, []),
    ({"size": {"vessels": []}, "vessel": {}, "fill": 0.8}, ["/vessel", "/fill"]),
    ({"size": {"whole_serves": {"count": 4, "fill": 0.8}}}, ["/size/whole_serves/fill"]),
    ({"size": {"whole_serves": {"count": 4, "vessel": {}}}, "vessel": {}}, ["/size/whole_serves/vessel"]),
    ({"size": 3, "vessel": {}}, []), ({}, []),
])  # fmt: skip
def test_the_vessel_of_a_sheet_is_stated_once(sent: dict[str, Any], wrong: list[str]) -> None:
    assert [fault.pointer for fault in one_vessel(sent)] == wrong


@pytest.mark.parametrize("sent, wrong", [
    ({"size": {}}, []), ({"shift": {"serves_per_hour": 6, "lasts": {}}}, []),
    ({"shift": {"serves_per_hour": 6}}, ["/size"]),
    ({}, ["/size"]), ({"shift": [1]}, ["/size"]),
])  # fmt: skip
def test_something_says_how_much_is_made(sent: dict[str, Any], wrong: list[str]) -> None:
    assert [fault.pointer for fault in sized(sent)] == wrong


def test_whole_serves_go_into_the_sheets_own_vessel() -> None:
    """By hand: 2 l at 0.75 are 1.5 l, which pour 8 serves of 185 ml; 7 were asked for."""
    found = sheet(size=Size(whole_serves=WholeServes(7)), vessel=VesselGiven("pet-2-l"), fill=0.75)
    assert (found.fill.vessel, found.fill.count, found.whole_serves) == ("pet-2-l", 1, 8)


def test_a_shift_that_outlasts_the_batch_is_a_danger() -> None:
    """By hand: made at 14:00 and kept six hours it is discarded at 20:00; the shift ends at 23:00, nine hours on."""
    for house_h, said in ((6.0, True), (8.9, True), (9.1, False), (10.0, False)):
        notes = Notes()
        sheet(house_maximum_s=house_h * 3600.0, made_at=STARTS - timedelta(hours=4), notes=notes)
        assert [c.severity for c in notes.cautions if c.code == "past-discard"] == (["danger"] if said else [])


def test_ice_is_told_by_the_mass_that_it_cools() -> None:
    """By hand: m c dT / 334 J/g with 4.1 J/(g K) melts so much at least; bottles and room come on top."""
    found, _ = usual()
    melts_g = found.batch.totals.mass_g * 4.1 * (20.0 - found.chilling.goal_temperature_c) / 334.0
    needed = found.chilling.load.ice_needed_g
    assert needed is not None
    assert melts_g < needed.high < 2.0 * melts_g
    assert values(steps(found, "chill-batch")[0])["ice to fetch"] >= needed.high


def test_what_is_weighed_on_a_scale_adds_up_to_the_batch() -> None:
    """Each line in full jugs and a rest: the sum of what goes on the scale is the mass of the batch, to its steps."""
    spec = Spec("by mass, invented", (spirit(45.0, 40.0), Component("water", g(135.0), abv=0.0)))
    found = sheet(spec=spec, site=Site(scale=Scale(1.0, 2000.0, 200.0)))
    total, times = 0.0, 1.0
    for value in steps(found, "mix-batch")[0].values:
        if value.code == "jugs":
            times = float(value.value)  # type: ignore[arg-type]
        elif value.code == "component":
            assert isinstance(value.value, Quantity)
            assert value.value.value <= 2000.0 - 200.0  # the jug stands on the scale too
            total, times = total + times * value.value.value, 1.0
    assert total == pytest.approx(found.batch.totals.mass_g, abs=1.0)


# What only some sheets say; the rules are common practice, no source


def told_at(found: PrepSheet, code: str) -> set[str]:
    return {caution.code for step in steps(found, code) for caution in step.cautions}


@pytest.mark.parametrize("holding_c, warm", [(None, False), (3.0, False), (5.0, False), (8.0, True)])
def test_a_place_warmer_than_the_label_says_is_warned_of(holding_c: float | None, warm: bool) -> None:
    """5 degC on every label."""
    found = sheet(shift=replace(SHIFT, holding_temperature_c=holding_c))
    assert told_at(found, "hold-cold") == ({"held-over-label"} if warm else set())
    held = values(steps(found, "hold-cold")[0])
    assert held.get("at") == holding_c
    assert ("at most" in held) is (holding_c is None or holding_c < 5.0)


def test_a_dial_next_to_the_highest_leaves_no_room_for_a_gauge_that_is_off() -> None:
    """0.1 bar: class 1.6 of EN 837-1 on a scale to 6 bar (from memory)."""
    most = usual()[0].carbonation.charges.never_over_bar_gauge
    for short_bar, warned in ((0.05, True), (0.15, False)):
        plan = CarbonationPlan(gauge_pressure_bar=most - short_bar, target_g_per_l=7.0)
        assert ("no-room-for-error" in told_at(sheet(carbonation=plan), "set-regulator")) is warned


@pytest.mark.parametrize("temperature_c, back", [
    (-3.0, "never into freezer or salted ice"), (1.0, "into ice and water"), (4.0, "out of ice and freezer"),
])  # fmt: skip
def test_a_vessel_goes_back_where_it_stays_as_cold_as_its_dial_is_for(temperature_c: float, back: str) -> None:
    """Ice in water is at 0 degC: what is charged colder is warmed by it, what is charged warmer goes on cooling."""
    strong = Spec("strong, invented", (spirit(90.0, 40.0), water(90.0)))
    plan = CarbonationPlan(temperature_c=temperature_c, target_g_per_l=4.0)
    found = sheet(spec=strong, size=Size(serves=16), carbonation=plan, chill=ChillPlan("fan-freezer"))
    assert back in str(steps(found, "charge")[0].params["back"])
    assert ("out-of-the-ice" in told_at(found, "set-regulator")) is (temperature_c > 3.0)


def test_a_keg_that_is_rocked_says_so_and_one_that_stands_takes_days() -> None:
    rocked = sheet(vessel=KEG, size=Size(serves=90), carbonation=CarbonationPlan(agitation="rocked", shake_s=300.0))
    (left,) = steps(rocked, "leave-on-gas")
    assert left.params == {"move": "rock"}
    assert values(left)["on the regulator, each"] == 300.0
    (still,) = steps(sheet(vessel=KEG, size=Size(serves=90)), "leave-on-gas")
    assert still.params == {}
    assert still.late_s is not None
    assert still.late_s > 86400.0


def test_a_drink_that_stays_flat_is_said_to_and_not_forecast() -> None:
    """A bottle that stands half a minute on its gas takes up next to nothing."""
    notes = Notes()
    plan = CarbonationPlan(agitation="still", charge_count=1)
    found = sheet(carbonation=plan, notes=notes)
    assert found.regas is None
    assert [(c.severity, c.pointers) for c in notes.cautions if c.code == "stays-flat"] == [
        ("warning", ("/carbonation",))
    ]


def test_whole_packages_are_bought() -> None:
    """By hand: 32 times 45 ml are 1.44 l, three bottles of 70 cl."""
    found = sheet(prices=(price("gin", ml(700.0), "19.50"),))
    assert values(steps(found, "buy")[0])["gin, packages"] == 3.0


def test_what_sparkles_goes_in_last_of_all() -> None:
    soda = Component("soda", ml(112.0), abv=0.0, co2_g_per_l=4.0)
    found = sheet(spec=replace(HIGHBALL, components=(soda, *HIGHBALL.components[:3])))
    (mixed,) = steps(found, "mix-batch")
    assert values(mixed).keys() - {"soda"} == {"gin", "cordial", "acids"}
    assert list(values(mixed))[-1] == "soda"
    assert "sparkling-last" in told_at(found, "mix-batch")


def test_what_has_a_spec_of_its_own_is_made_first() -> None:
    """By hand: 20 ml in each of 32 glasses, three quarters of it juice."""
    inner = InnerSpec("shrub", (water(75.0, "juice"), water(25.0, "vinegar")))
    shrub = Component("shrub", ml(20.0), made_from=inner)
    found = sheet(spec=replace(HIGHBALL, components=(*HIGHBALL.components[:1], shrub, *HIGHBALL.components[2:])))
    (made,) = steps(found, "make-first")
    assert made.params == {"component": "shrub"}
    assert values(made)["juice"] == pytest.approx(32 * 20.0 * 0.75, rel=1e-3)
    assert values(made)["comes to, at least"] == pytest.approx(32 * 20.0)
    assert made.number in steps(found, "mix-batch")[0].depends_on


def test_what_is_cold_already_is_not_chilled() -> None:
    found = sheet(chill=ChillPlan("ice-water", 1.0), carbonation=CarbonationPlan(temperature_c=1.0))
    assert steps(found, "chill-batch") == []
    assert steps(found, "take-air-out")[0].number in steps(found, "set-regulator")[0].depends_on


def test_steps_still_say_their_timer_and_caution_as_they_used_to() -> None:
    """Deprecated: `timer_s` is that of `timer`, and `caution` the cautions, or nothing where there is none."""
    for step in usual()[0].steps:
        assert step.timer_s == (None if step.timer is None else step.timer.each_s)
        assert step.caution == (step.cautions or None)
