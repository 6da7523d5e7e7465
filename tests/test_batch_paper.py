"""Paper of a batch: its weighing, cost, keeping and label."""

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from babel.numbers import get_currency_precision, list_currencies

from service.batching import Price, Size, canonical, spec_id
from service.drink import Component, Spec
from service.errors import Refused
from service.money import Money, minor_digits
from service.notes import Notes
from service.science.units import Quantity
from service.site import Scale
from tests.batches import ACIDS, HIGHBALL, codes, g, line, ml, price, scale, spirit, water

# Weighing


def shares(kilograms, on, notes=None):
    """So much water by the readings of a scale."""
    spec = Spec("w", (Component("water", g(1000.0)),))
    (weighing,) = scale(spec, Size(serves=kilograms), notes or Notes(), scale=on).weighing
    return [(share.times, share.measure_g) for share in weighing.shares]


def test_the_jug_counts_on_the_scale():
    """7 kg on a scale of 2 kg with a jug of half a kilogram: 1.5 kg a time, so four of them and 1 kg."""
    notes = Notes()
    assert shares(7, Scale(1.0, 2000.0, 500.0), notes) == [(4, 1500.0), (1, 1000.0)]
    assert ("/scale/jug",) not in [a.pointers for a in notes.assumptions]


@pytest.mark.parametrize(
    "kilograms, on, expected",
    [
        (60, Scale(1.0, 5000.0), [(13, 4500.0), (1, 1500.0)]),  # a jug of 500 g leaves 4500: 13 x 4500 = 58 500
        (60, Scale(1.0, 5000.0, 0.0), [(12, 5000.0)]),  # stated: no jug on it
        (60, Scale(1.0, 5000.0, 312.0), [(13, 4600.0), (1, 200.0)]),  # 4688 g, cut to two digits
        (4, Scale(1.0, 5000.0), [(1, 4000.0)]),
        (5, Scale(1.0, 5000.0), [(1, 4500.0), (1, 500.0)]),
        (5, Scale(1.0), [(1, 5000.0)]),  # how much it bears is not stated
    ],
)
def test_full_jugs_are_round_and_then_comes_the_rest(kilograms, on, expected):
    assert shares(kilograms, on) == expected


def test_a_jug_that_is_not_stated_is_an_assumption():
    """A tenth of what the scale bears; common practice, no source."""
    notes = Notes()
    shares(60, Scale(1.0, 5000.0), notes)
    (jug,) = [a for a in notes.assumptions if a.pointers == ("/scale/jug",)]
    assert (jug.value, jug.basis) == (Quantity("mass", 500.0), "common-practice")


def test_a_scale_that_bears_no_step_beside_its_jug_is_refused_with_one_that_does():
    """A tenth of 1 kg is its jug; 900 g are no step of 1 kg, and 1 / 0.9 kg bears one."""
    with pytest.raises(Refused) as refused:
        shares(7, Scale(1000.0, 1000.0))
    (nearest,) = refused.value.nearest
    assert nearest.value.value == pytest.approx(1000.0 / 0.9)
    assert shares(2, Scale(1000.0, nearest.value.value)) == [(2, 1000.0)]


@pytest.mark.parametrize("mass_g, coarse", [(24.9, True), (25.1, False), (2.0, True)])
def test_too_little_for_the_scale_is_flagged(mass_g, coarse):
    """Half a gram of 25 g is 2 %."""
    spec = Spec("w", (water(1000.0), Component("salt water", g(mass_g), salt_g_per_l=200.0)))
    batch = scale(spec, Size(serves=1), Notes(), scale=Scale(1.0))
    assert [w.coarse for w in batch.weighing if w.component == "salt water"] == [coarse]


def test_the_working_order():
    """Water, acids into it, the bulky, small strong ones alone, spirit last: common practice, no source."""
    bitters = Component("bitters", ml(1.0), abv=44.0)
    batch = scale(Spec("all", (*HIGHBALL.components, bitters)), Size(serves=10), Notes())
    assert [(w.component, w.alone) for w in batch.weighing] == [
        ("water", False), ("acids", False), ("cordial", False), ("bitters", True), ("gin", False),
    ]  # fmt: skip


def test_a_coarse_scale_and_a_coarse_measure_are_named():
    notes = Notes()
    spec = Spec("dash", (water(100.0), Component("bitters", ml(0.9), abv=44.0), Component("saline", ml(0.3))))
    batch = scale(spec, Size(serves=1), notes)
    assert {"coarse-scale", "coarse-measure", "under-half-a-step"} <= codes(notes)
    assert line(batch, "saline").measure is None


# Cost


def test_cost_of_what_is_used_and_outlay_of_what_is_opened():
    """40 x 45 mL of gin from bottles of 700 mL at 21.00: 1800/700 x 21 = 54, three bottles 63, 300 mL left."""
    cost = scale(HIGHBALL, Size(serves=40), Notes(), prices=[price("gin", ml(700.0), "21.00")]).cost
    used, each, spent = (one.amount for one in (cost.batch, cost.per_serve, cost.outlay))
    assert (used, each, spent) == (Decimal(54), Decimal("1.3500"), Decimal("63.00"))
    (bought,) = cost.purchases
    assert (bought.packages, bought.left_over.value) == (3, pytest.approx(300.0))


def test_pour_cost_is_a_share_of_the_selling_price():
    """1.35 a serve, sold at 9.00, is 15 %; sold at 7.00 it is 19.2857."""
    for amount, percent in (("9.00", Decimal(15)), ("7.00", Decimal(135) / Decimal(7))):
        selling = Money(Decimal(amount), "EUR")
        cost = scale(
            HIGHBALL, Size(serves=40), Notes(), prices=[price("gin", ml(700.0), "21.00")], selling_price=selling
        ).cost
        assert cost.pour_cost_percent == pytest.approx(percent, rel=Decimal("1e-20"))


def test_a_full_package_is_not_opened_twice_for_a_binary_fraction():
    batch = scale(Spec("w", (water(0.1),)), Size(serves=30), Notes(), prices=[price("water", ml(3.0), "1")])
    assert batch.cost.purchases[0].packages == 1


@pytest.mark.parametrize(
    "currency, unit_price, per_serve",
    [  # ties go to the even digit, two decimals below the smallest coin
        ("EUR", "0.00105", "0.0010"), ("EUR", "0.00115", "0.0012"),
        ("JPY", "0.105", "0.10"), ("JPY", "0.115", "0.12"),
        ("KWD", "0.000105", "0.00010"), ("KWD", "0.000115", "0.00012"),
    ],
)  # fmt: skip
def test_cost_per_serve_is_half_even(currency, unit_price, per_serve):
    prices = [price("water", ml(100.0), unit_price, currency)]
    cost = scale(Spec("w", (water(100.0),)), Size(serves=7), Notes(), prices=prices).cost
    assert str(cost.per_serve.amount) == per_serve
    assert cost.batch.amount == 7 * Decimal(unit_price)


@pytest.mark.parametrize(
    "currency, digits", [("EUR", 2), ("USD", 2), ("JPY", 0), ("ISK", 0), ("KWD", 3), ("TND", 3), ("CLF", 4)]
)
def test_minor_units_of_iso_4217(currency, digits):
    """ISO 4217:2015 list one, from memory."""
    assert minor_digits(currency) == digits


def test_minor_units_are_those_of_unicode_but_where_coins_went_out_of_use():
    """Babel has the decimals in use by Unicode CLDR. ISO 4217 keeps minor units that are coined no more; those of the
    codes named here are 2, and 3 for the dinar of Iraq (from memory). Codes withdrawn from ISO 4217 are left out."""
    out_of_use = {"AFN", "ALL", "IQD", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK", "RSD", "SOS", "SYP", "YER"}
    withdrawn = {"ADP", "BYR", "ESP", "ITL", "LUF", "MGF", "MRO", "SLL", "STD", "TMM", "TRL", "VEF", "ZMK", "ZWD"}
    current = list_currencies() - withdrawn
    assert {code for code in current if minor_digits(code) != get_currency_precision(code)} == out_of_use


def test_a_price_by_mass_of_a_component_by_volume():
    """1 L of water is 998.2 g at 20 degC (CRC Handbook): 998.2/500 x 1.00."""
    prices = [Price("water", g(500.0), Money(Decimal("1.00"), "EUR"))]
    cost = scale(Spec("w", (water(1000.0),)), Size(serves=1), Notes(), prices=prices).cost
    assert float(cost.batch.amount) == pytest.approx(1.9964, abs=0.0001)


# Labels


def test_use_by_is_the_shortest_keeping_time_in_the_same_offset():
    spec = Spec("sour", (Component("acids", ml(30.0), acid_solution=ACIDS, keeps_s=86400.0 * 9), water(70.0)))
    made = datetime(2026, 11, 28, 14, tzinfo=timezone(timedelta(hours=1)))
    assert scale(spec, Size(serves=1), Notes(), made_at=made).use_by == made + timedelta(days=9)
    house = scale(spec, Size(serves=1), Notes(), made_at=made, house_maximum_s=3 * 86400.0).use_by
    assert house.isoformat() == "2026-12-01T14:00:00+01:00"
    assert scale(spec, Size(serves=1), Notes(), house_maximum_s=3 * 86400.0).use_by is None
    notes = Notes()
    assert (
        scale(
            Spec("sour", (Component("acids", ml(30.0), acid_solution=ACIDS),)), Size(serves=1), notes, made_at=made
        ).use_by
        is None
    )
    assert "no-use-by" in codes(notes)


@pytest.mark.parametrize("ph, given", [(None, False), (4.7, False), (4.6, True), (3.2, True)])
def test_a_low_acid_drink_has_no_use_by_unless_its_ph_is_known(ph, given):
    """pH 4.6: 21 CFR 114.3."""
    spec = Spec("tea", (Component("tea", ml(150.0), ph=ph, acidity_meq_per_l=5.0),))
    notes = Notes()
    batch = scale(spec, Size(serves=1), notes, made_at=datetime(2026, 1, 1, tzinfo=UTC), house_maximum_s=86400.0)
    assert (batch.use_by is not None) == given
    assert ("use-by-needs-ph" in codes(notes)) != given


def test_allergens_add_up_and_silence_is_said():
    notes = Notes()
    assert scale(HIGHBALL, Size(serves=1), notes).to_declare.allergens == ("sulphites",)
    assert "allergens-unstated" not in codes(notes)
    scale(Spec("w", (water(10.0),)), Size(serves=1), notes)
    assert "allergens-unstated" in codes(notes)


def test_live_cultures_are_not_sealed_in():
    notes = Notes()
    scale(Spec("k", (Component("kombucha", ml(100.0), live_culture=True),)), Size(serves=1), notes)
    assert [c.severity for c in notes.cautions if c.code == "live-culture"] == ["danger"]


RFC_8785 = {  # its examples, from memory: sections 3.2.2 and 3.2.3, appendix B
    '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
    '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}': {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/",
        "literals": [None, True, False],
    },
    '{"\\r":"Carriage Return","1":"One","\u0080":"Control","ö":"Latin Small Letter O With Diaeresis",'
    '"€":"Euro Sign","😀":"Emoji: Grinning Face"}': {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    },
    "[0,5e-324,1.7976931348623157e+308,9007199254740992,9.999999999999997e+22,1e+23]": [
        -0.0, 5e-324, 1.7976931348623157e308, 9007199254740992.0, 9.999999999999997e22, 1e23,
    ],
}  # fmt: skip


@pytest.mark.parametrize("expected, document", RFC_8785.items())
def test_the_canonical_form_is_that_of_rfc_8785(document, expected):
    assert canonical(document).decode() == expected


def test_strings_are_composed_which_moves_a_letter_out_of_its_place():
    """U+FB33, last in the example of section 3.2.3, decomposes under NFC (Unicode composition exclusions) to U+05D3."""
    assert canonical({"\ufb33": "Hebrew Letter Dalet With Dagesh"}).decode().startswith('{"\u05d3\u05bc"')


def test_a_spec_id_is_of_the_content_alone():
    def named(original):
        return spec_id(Spec("x", (), original=original))

    one = named({"name": "Caf\u00e9", "components": [{"amount": {"value": 45, "unit": "ml"}, "name": "a"}]})
    assert one == named({"components": [{"name": "a", "amount": {"unit": "ml", "value": 45.0}}], "name": "Cafe\u0301"})
    assert one != named({"name": "Café", "components": [{"amount": {"value": 46, "unit": "ml"}, "name": "a"}]})
    # SHA-256 of the two bytes {} (FIPS 180-4, reckoned by sha256sum)
    assert named({}) == "sha256:44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"


def test_a_freezing_point_that_is_not_known_is_left_out():
    notes = Notes()
    batch = scale(Spec("strong", (spirit(50.0, 96.0),)), Size(serves=1), notes)
    assert (batch.totals.freezing_point_c, batch.totals.lowest_safe_c) == (None, None)
    assert "freezing-point-unknown" in codes(notes)
