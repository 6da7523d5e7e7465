"""Reconciliations: the sum that always closes, a planted loss that is found, and measuring told apart from it."""

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from math import sqrt
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.drink import Amount, Component, Spec, Sugar, mix, portions
from service.errors import Refused, SeveralRefused
from service.money import Money
from service.notes import Notes
from service.reconciliation import Reconciliation, ReconciliationRequest, reconcile
from service.reconciliation.asked import ComponentRecord, DrinkRecord, StockQuantity, Weighed
from service.reconciliation.drinks import Ledger
from service.science.units import Quantity
from service.site import Price
from service.vessel import SizedVessel, VesselGiven

BEGAN = datetime.fromisoformat("2026-11-13T17:00:00+01:00")
ENDED = BEGAN + timedelta(hours=9)


def ml(value: float) -> Amount:
    return Amount(Quantity("volume", value), "ml")


def g(value: float) -> Amount:
    return Amount(Quantity("mass", value), "g")


HIGHBALL = Spec(
    "Quarry Lane highball",
    (
        Component("Gin", ml(45.0), abv=41.0, allergens=()),
        Component("Cordial", ml(20.0), abv=0.0, sugar=Sugar(600.0, "g/l"), allergens=()),
        Component("Water", ml(120.0), reference="water"),
    ),
)
NEAT = Spec("Neat", (Component("Gin", ml(45.0), abv=34.0 * 946.8 / 789.3),))
"""34 % of ethanol by mass weigh 946.8 g/l at 20 °C, and ethanol itself 789.3; CRC Handbook, 102nd ed. 2021."""
SERVE_ML = mix(portions(HIGHBALL, Notes())).volume_ml
EUROS = (
    Price("Gin", ml(1000.0), Money(Decimal("30.00"), "EUR")),
    Price("Cordial", ml(1000.0), Money(Decimal("5.00"), "EUR")),
)


def volume(value: float) -> StockQuantity:
    return StockQuantity(volume_ml=value)


def record(**more: object) -> DrinkRecord:
    plain = DrinkRecord(
        "qlh", HIGHBALL, volume(0.0), volume(0.0), 0, serve_ml=185.0, made=volume(0.0), wasted_ml=0.0, returned_ml=0.0,
        co2_g_per_l=7.0, measuring_percent=0.0,
    )  # fmt: skip
    return replace(plain, **more)  # type: ignore[arg-type]


def asked(*drinks: DrinkRecord, **more: object) -> ReconciliationRequest:
    return ReconciliationRequest(from_=BEGAN, to=ENDED, drinks=drinks, **more)  # type: ignore[arg-type]


def found(*drinks: DrinkRecord, **more: object) -> Reconciliation:
    return reconcile(asked(*drinks, **more), Notes())


whole_ml = st.integers(0, 10_000_000).map(float)
any_ml = st.floats(0.0, 1e7, allow_subnormal=False)


@given(whole_ml, whole_ml, whole_ml, whole_ml, whole_ml, st.integers(0, 10_000), st.integers(1, 2000))
def test_the_sum_closes_exactly(opening, made, returned, wasted, left, serves, serve):
    """Conservation: opening + made + returned = sold + wasted + left - variance, to the last digit in millilitres."""
    (one,) = found(
        record(opening=volume(opening), made=volume(made), returned_ml=returned, wasted_ml=wasted, closing=volume(left),
               sold_serves=serves, serve_ml=float(serve))
    ).drinks  # fmt: skip
    assert one.opening_ml + one.made_ml + returned == one.sold_ml + wasted + left - one.variance_ml.typical
    assert one.counted_ml.typical == left
    assert one.variance_ml.typical == left - one.expected_ml


@given(any_ml, any_ml, any_ml, any_ml, any_ml, st.integers(0, 10_000), st.floats(1.0, 2000.0), st.floats(0.0, 50.0))
def test_the_sum_closes_for_any_volumes(opening, made, returned, wasted, left, serves, serve, percent):
    """Tolerance: sixteen roundings of binary fractions of the largest sum."""
    ledger = Ledger(opening, made, returned, serves * serve, wasted, left, percent)
    came, went = opening + made + returned, ledger.sold + wasted + left
    assert abs(came - (went - ledger.variance.value)) <= 16 * 2.0**-53 * max(came, went)
    assert ledger.used == pytest.approx(made + ledger.variance.value, abs=1e-14 * max(came, went, 1.0))


@given(st.integers(20, 500), st.floats(1.06, 1.3), st.integers(0, 5000), st.integers(0, 3000))
def test_a_heavy_hand_that_was_planted_is_found(sold, heavy, opening, wasted):
    """A bar pours more than the serve: the serve that explains it is the one that was planted, within its band."""
    true_serve = 185.0 * heavy
    made = sold * true_serve + 1000.0
    left = opening + made - wasted - sold * true_serve
    (one,) = found(
        record(opening=volume(opening), made=volume(made), closing=volume(left), wasted_ml=float(wasted),
               sold_serves=sold, measuring_percent=1.0)
    ).drinks  # fmt: skip
    assert one.explaining_serve_ml is not None
    assert one.explaining_serve_ml.typical == pytest.approx(true_serve, rel=1e-9)
    assert one.variance_ml.typical == pytest.approx(-sold * 185.0 * (heavy - 1.0), rel=1e-9)
    told = sold * 185.0 * (heavy - 1.0) > 0.01 * sqrt(opening**2 + made**2 + left**2 + wasted**2)
    assert one.verdict == ("short" if told else "within")


def test_measuring_alone_is_called_a_variance_one_time_in_ten():
    """A simulated bar that loses nothing and measures with an error drawn at random: nine nights in ten are within.

    3 % at nine times in ten is a standard deviation of 3 / 1.645 % (normal distribution, from memory). Tolerance: four
    standard deviations of 2,000 draws.
    """
    draw, within, nights, sigma = Random(20), 0, 2000, 0.03 / 1.645  # noqa: S311 - noise that repeats

    def measured(value: float) -> float:
        return value * draw.gauss(1.0, sigma)

    for _ in range(nights):
        opening, made, wasted = draw.uniform(0, 5000), draw.uniform(10_000, 30_000), draw.uniform(0, 1000)
        sold = int((opening + made - wasted) * draw.uniform(0.5, 0.95) / 185.0)
        left = opening + made - wasted - 185.0 * sold
        ledger = Ledger(measured(opening), measured(made), 0.0, 185.0 * sold, measured(wasted), measured(left), 3.0)
        within += ledger.variance.verdict == "within"
    assert within / nights == pytest.approx(0.9, abs=4 * sqrt(0.9 * 0.1 / nights))


def test_a_variance_inside_the_error_is_none_and_costs_nothing_in_total():
    loss = record(opening=volume(10_000.0), closing=volume(6_000.0), sold_serves=20, measuring_percent=3.0)
    inside = found(loss, prices=EUROS)
    assert inside.drinks[0].verdict == "within"  # 300 ml short, give or take 350
    assert inside.drinks[0].variance_ml.low < -300.0 < 0.0 < inside.drinks[0].variance_ml.high
    assert inside.total == Money(Decimal(0), "EUR")
    better = found(replace(loss, measuring_percent=2.0), prices=EUROS)
    assert better.drinks[0].verdict == "short"
    assert better.total == better.drinks[0].money


def test_money_is_the_priced_part_of_what_is_missing():
    """By hand: a glass of 45 ml at 30.00 a litre and 20 ml at 5.00 a litre is 1.45; ten glasses are missing."""
    (one,) = found(
        record(opening=volume(20 * SERVE_ML), closing=volume(5 * SERVE_ML), sold_serves=5, serve_ml=SERVE_ML),
        prices=EUROS,
    ).drinks
    assert one.verdict == "short"
    assert one.variance_serves.typical == pytest.approx(-10.0)
    assert one.money == Money(Decimal("-14.5000"), "EUR")


def test_over_is_told_as_such_and_a_serve_that_cannot_be_is_not():
    """More is left than before, and three serves were sold: no smaller serve explains it."""
    (one,) = found(record(opening=volume(1000.0), closing=volume(5000.0), sold_serves=3)).drinks
    assert (one.verdict, one.explaining_serve_ml) == ("over", None)
    (none_sold,) = found(record(opening=volume(1000.0), closing=volume(900.0))).drinks
    assert (none_sold.verdict, none_sold.explaining_serve_ml, none_sold.percent) == ("short", None, None)


def test_co2_goes_with_what_was_wasted_and_what_is_short():
    """By hand: 7 g/l in 400 ml wasted, and in the 1,000 ml that 1,600 counted are short of 2,600, is 9.8 g."""
    (one,) = found(record(opening=volume(3000.0), closing=volume(1600.0), wasted_ml=400.0)).drinks
    assert one.co2_lost_g.typical == pytest.approx(9.8)
    (spread,) = found(record(opening=volume(3000.0), closing=volume(1600.0), co2_g_per_l=None)).drinks
    assert spread.co2_lost_g.low == pytest.approx(6.0 * 1.4)  # a highball: 6 to 8 g/l, see service.limits
    assert spread.co2_lost_g.high == pytest.approx(8.0 * 1.4)


# Stock


def test_vessels_hold_their_fill():
    stock = StockQuantity(
        vessels=(
            SizedVessel(VesselGiven(preset="pet-1-l"), 6, 0.8),
            SizedVessel(VesselGiven(preset="keg-20-l"), 1, 0.35),
        )
    )
    (one,) = found(record(opening=stock)).drinks
    assert one.opening_ml == pytest.approx(6 * 800.0 + 0.35 * 20_000.0)


def test_a_worn_or_overfull_vessel_is_counted_all_the_same():
    """What is there is observed, and refused for nothing; an overfull one is a danger."""
    notes = Notes()
    creased = SizedVessel(VesselGiven(preset="pet-1-l", condition="creased", cycles=50), 2, 1.0)
    assert reconcile(asked(record(opening=StockQuantity(vessels=(creased,)))), notes).drinks[0].opening_ml == 2000.0
    assert [(c.code, c.severity) for c in notes.cautions if c.code == "no-headspace"] == [("no-headspace", "danger")]


def test_weight_is_volume_by_the_density_of_the_drink():
    """A litre of NEAT weighs 946.8 g. Tolerance: half the last digit of that density."""
    scale = StockQuantity(weighed=Weighed(gross_g=946.8 + 231.0, tare_g=231.0))
    (one,) = found(record(spec=NEAT, opening=scale)).drinks
    assert one.opening_ml == pytest.approx(1000.0, abs=0.05 / 0.9468)


def test_what_weighs_no_more_than_empty_is_empty():
    (one,) = found(record(closing=StockQuantity(weighed=Weighed(231.0, 231.0)))).drinks
    assert one.counted_ml.typical == 0.0


# Components


def test_a_component_is_used_by_sales_waste_and_stock_of_its_drinks():
    """By hand, in glasses: 40 sold, 4 wasted, 6 more in stock than before, 2 brought back: 48 of 45 ml."""
    drink = record(
        opening=volume(10 * SERVE_ML), made=volume(48 * SERVE_ML), closing=volume(16 * SERVE_ML), sold_serves=40,
        serve_ml=SERVE_ML, wasted_ml=4 * SERVE_ML, returned_ml=2 * SERVE_ML,
    )  # fmt: skip
    gin = ComponentRecord("Gin", ml(5000.0), ml(3340.0), bought=ml(700.0), measuring_percent=0.0)
    (one,) = found(drink, components=(gin,), prices=EUROS).components
    assert one.used_by_sales.value == pytest.approx(48 * 45.0)
    assert one.used_by_count.value == 2360.0
    assert one.variance.band.typical == pytest.approx(-200.0)
    assert (one.verdict, one.money) == ("short", Money(Decimal("-6.0000"), "EUR"))


def test_a_loss_that_the_drink_tells_already_counts_once():
    """A heavy hand leaves drink and gin short alike; a bottle of gin that went besides is counted beside it."""
    drink = record(made=volume(50 * SERVE_ML), sold_serves=40, serve_ml=SERVE_ML)
    gin = ComponentRecord("Gin", ml(5000.0), ml(5000.0 - 50 * 45.0), measuring_percent=0.0)
    alone = found(drink, components=(gin,), prices=EUROS)
    assert [one.verdict for one in (*alone.drinks, *alone.components)] == ["short", "short"]
    assert alone.components[0].variance.band.typical == pytest.approx(-450.0)
    assert alone.total == Money(Decimal("-14.5000"), "EUR")
    besides = found(drink, components=(replace(gin, closing=ml(5000.0 - 50 * 45.0 - 700.0)),), prices=EUROS)
    assert besides.total == Money(Decimal("-14.5000") - Decimal("21.0000"), "EUR")


def test_a_component_may_be_weighed_though_the_spec_measures_it():
    """45 ml of NEAT weigh 42.606 g. Tolerance: half the last digit of its density."""
    gin = ComponentRecord("Gin", g(5000.0), g(5000.0), measuring_percent=0.0)
    (one,) = found(record(spec=NEAT, made=volume(45.0), sold_serves=1, serve_ml=45.0), components=(gin,)).components
    assert one.used_by_sales.kind == "mass"
    assert one.used_by_sales.value == pytest.approx(45.0 * 0.9468, abs=45.0 * 0.00005)
    mixed = ComponentRecord("Gin", g(1000.0), ml(1000.0), measuring_percent=0.0)
    (other,) = found(record(spec=NEAT), components=(mixed,)).components
    assert other.used_by_count.value == pytest.approx(1000.0 - 946.8, abs=0.05)


def test_the_parts_of_a_component_are_counted_through_it():
    inner = Spec("Cordial", (Component("Syrup", ml(300.0), sugar=Sugar(800.0, "g/l")), Component("Juice", ml(700.0))))
    spec = Spec("Sour", (Component("Cordial", ml(50.0), made_from=inner), Component("Gin", ml(50.0), abv=40.0)))
    drink = record(spec=spec, made=volume(10_000.0), sold_serves=0, closing=volume(10_000.0))
    (syrup,) = found(drink, components=(ComponentRecord("Syrup", ml(3000.0), ml(0.0)),)).components
    assert syrup.used_by_sales.value == pytest.approx(1500.0, rel=0.01)  # contraction is below a hundredth
    both = (ComponentRecord("Cordial", ml(0.0), ml(0.0)), ComponentRecord("Syrup", ml(0.0), ml(0.0)))
    with pytest.raises(Refused) as refused:
        found(drink, components=both)
    assert [(f.pointer, f.code) for f in refused.value.faults] == [("/components/1/name", "counted-within")]


# What cannot be


@pytest.mark.parametrize("change, pointer, code", [
    ({"to": BEGAN - timedelta(minutes=1)}, "/to", "ends-before-it-begins"),
    ({"to": BEGAN}, "/to", "ends-before-it-begins"),
    ({"drinks": (record(closing=StockQuantity(weighed=Weighed(200.0, 231.0))),)},
     "/drinks/0/closing/weighed/gross", "gross-below-tare"),
    ({"drinks": (record(made=StockQuantity(vessels=(SizedVessel(VesselGiven(material="steel"), 1),))),)},
     "/drinks/0/made/vessels/0/vessel/capacity", "unknown-vessel"),
    ({"components": (ComponentRecord("Rum", ml(1.0), ml(1.0)),)}, "/components/0/name", "unknown-component"),
    ({"components": (ComponentRecord("Gin", ml(1.0), ml(1.0)),) * 2}, "/components/1/name", "duplicate"),
    ({"prices": (Price("Rum", ml(1000.0), Money(Decimal(9), "EUR")),)}, "/prices/0/component", "unknown-component"),
])  # fmt: skip
def test_a_record_that_cannot_be_is_refused_by_its_pointer(change, pointer, code):
    with pytest.raises(Refused) as refused:
        reconcile(replace(asked(record()), **change), Notes())
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [(pointer, code)]


def test_every_fault_is_told_at_once():
    wrong = record(closing=StockQuantity(weighed=Weighed(200.0, 231.0)))
    with pytest.raises(SeveralRefused) as refused:
        reconcile(replace(asked(wrong, wrong), to=BEGAN), Notes())
    pointers = [fault.pointer for one in refused.value.refusals for fault in one.faults]
    assert pointers == ["/to", "/drinks/0/closing/weighed/gross", "/drinks/1/closing/weighed/gross"]


def test_what_is_left_out_is_none_and_is_told():
    notes = Notes()
    silent = replace(record(), made=None, wasted_ml=None, returned_ml=None, measuring_percent=None)
    reconcile(asked(silent, components=(ComponentRecord("Gin", ml(1.0), ml(1.0)),)), notes)
    said = {assumption.code: assumption.pointers for assumption in notes.assumptions}
    assert said["what-the-record-leaves-out"] == (
        "/drinks/0/made", "/drinks/0/wasted", "/drinks/0/returned", "/components/0/bought",
    )  # fmt: skip
    assert said["error-of-each-measured-amount"] == ("/drinks/0/measuring_percent", "/components/0/measuring_percent")


def test_sales_of_what_was_not_there_are_told():
    notes = Notes()
    reconcile(asked(record(opening=volume(1000.0), sold_serves=100)), notes)
    assert "sold-beyond-stock" in {caution.code for caution in notes.cautions}


@settings(max_examples=50)
@given(st.permutations([0, 1, 2]))
def test_drinks_do_not_depend_on_each_other(order):
    drinks = [record(id=f"d{i}", opening=volume(1000.0 * i), sold_serves=i) for i in range(3)]
    alone = {one.id: found(one).drinks[0] for one in drinks}
    assert {one.id: one for one in found(*(drinks[i] for i in order)).drinks} == alone
