"""Batches through the API."""

import json
import re
from copy import deepcopy
from decimal import Decimal
from math import nan

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.api.openapi import example
from service.science.units import from_base, to_base
from tests.api.conforms import conforms
from tests.api.nearest import offers, put

PATH = "/v1/batches"
WATER = {"name": "water", "amount": {"value": 180, "unit": "ml"}, "abv": 0}
GLASS = {"name": "long, invented", "components": [{**WATER, "salt": {"value": 0.5, "unit": "g/l"}}]}
STRONG = {
    "name": "strong, invented",
    "components": [{"name": "spirit", "amount": {"value": 50, "unit": "ml"}, "abv": 40}, *GLASS["components"]],
}


@pytest.fixture
def body():
    return example("createBatch")


def changed(body, change):
    new = deepcopy(body)
    for pointer, value in change.items():
        put(new, pointer, value)
    return new


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"/units": "us"},
        {"/size": {"serves": 32}},
        {"/size": {"volume": {"value": 19, "unit": "l"}}},
        {"/size": {"limited_by": {"component": "Gin", "amount": {"value": 700, "unit": "ml"}}}},
        {"/size": {"limited_by": {"component": "Gin", "amount": {"value": 1, "unit": "kg"}}}},
        {"/dilution": {"to_abv": 8}},
        {"/size": None, "/on_hand": [{"component": "Gin", "amount": {"value": 3, "unit": "l"}}]},
        {"/on_hand": [{"component": "Gin", "amount": {"value": 0, "unit": "g"}},
                      {"component": "dilution water", "amount": {"value": 9, "unit": "kg"}}]},
        {"/melt": {"percent": 20, "of": "finished"}, "/selling_price": {"amount": "11.50", "currency": "EUR"}},
        {"/melt": {"percent": 60, "of": "ice", "ice": {"value": 80, "unit": "g"}}, "/units": "us"},
        {"/rounding": {"batch_may_vary_percent": 3}, "/scale/jug": {"value": 0.4, "unit": "kg"}},
        {"/spec": STRONG, "/prices": None, "/selling_price": None, "/on_hand": None},
        {"/spec": GLASS, "/selling_price": None, "/on_hand": None,
         "/prices": [{"component": "dilution water", "content": {"value": 1, "unit": "lb"},
                      "price": {"amount": "3", "currency": "JPY"}}]},
        {"/against": None, "/melt": None, "/selling_price": None, "/on_hand": None},
    ],
)  # fmt: skip
def test_answers_are_what_the_document_promises(client, body, change):
    asked = {name: value for name, value in changed(body, change).items() if value is not None}
    answer = client.post(PATH, json=asked)
    assert answer.status_code == 200, answer.json
    conforms("createBatch", answer.json)


def test_the_example_by_hand(client, body):
    """Six bottles of 800 ml; 15 % of 4800 ml is water; 4.8 l less 3 % over 182.4 ml is 25 serves."""
    answer = client.post(PATH, json=body).json
    assert answer["totals"]["volume"] == {"value": pytest.approx(4800.0), "unit": "ml"}
    assert answer["components"][-1]["name"] == "dilution water"
    assert answer["components"][-1]["volume"]["value"] == pytest.approx(720.0)
    assert answer["serves"] == 25
    assert answer["use_by"] == "2026-12-01T14:00:00+01:00"
    assert [d["stock_code"] for d in answer["depletion"]] == ["QL-1001", "QL-2004"]
    assert answer["outlay"] == {"amount": "51.40", "currency": "EUR"}  # two of each
    gin, cordial = (line["volume"]["value"] for line in answer["components"][:2])
    assert [held["runs_out_first"] for held in answer["on_hand"]] == [True, False]  # 93 glasses of gin, 110 of cordial
    assert answer["in_glass"]["melt"]["value"] == pytest.approx(11.0, rel=0.002)  # a tenth of 110 g, 0.9982 g/ml
    assert {d["component"] for d in answer["differences"] if d["code"] == "amount-differs"} == {"Gin", "Filtered water"}
    used = gin * 19.5 / 700 + cordial * 6.2 / 500
    assert Decimal(answer["cost"]["batch"]["amount"]) == pytest.approx(Decimal(used), rel=Decimal("1e-11"))
    assert Decimal(answer["cost"]["per_serve"]["amount"]) == round(Decimal(used) / 25, 4)


def test_measures_are_whole_steps(client, body):
    answer = client.post(PATH, json=body).json
    assert all(line["measure"]["value"] % 5 == 0 for line in answer["components"])


KINDS = {
    "ml": "volume", "oz": "volume", "c": "temperature", "f": "temperature", "bar": "pressure", "psi": "pressure",
}  # fmt: skip


def numbers(node, at=""):
    """Every quantity and number of an answer in base units, by pointer."""
    if isinstance(node, dict) and "unit" in node:
        unit = node["unit"]
        kind = KINDS.get(unit)
        for name in ("value", "low", "typical", "high"):
            if name in node:
                yield f"{at}/{name}", to_base(kind, node[name], unit) if kind else node[name]
    elif isinstance(node, dict):
        for key, inner in node.items():
            yield from numbers(inner, f"{at}/{key}")
    elif isinstance(node, list):
        for i, inner in enumerate(node):
            yield from numbers(inner, f"{at}/{i}")
    elif isinstance(node, int | float):
        yield at, node


def test_us_and_metric_answers_agree(client, body):
    """In all that is exact. Where the request states no step, practical measures have that of the caller's units."""
    del body["rounding"]
    metric, us = (client.post(PATH, json=body | {"units": units}).json for units in ("metric", "us"))
    for answer in (metric, us):
        del answer["assumptions"], answer["cautions"], answer["rounding"]["by_measure"]
        for line in answer["components"]:
            del line["measure"], line["drift_percent"]
    one, other = dict(numbers(metric)), dict(numbers(us))
    assert us["totals"]["volume"]["unit"] == "oz"
    assert len(one) > 90
    assert one == pytest.approx(other, rel=1e-9, abs=1e-9)
    assert metric["cost"] == us["cost"]


def test_a_stated_step_makes_even_the_measures_agree(client, body):
    metric, us = (client.post(PATH, json=body | {"units": units}).json["components"] for units in ("metric", "us"))
    assert dict(numbers(metric)) == pytest.approx(dict(numbers(us)), rel=1e-9, abs=1e-9)


GIN_US = {
    "spec": {"name": "us, invented", "components": [
        {"name": "gin", "amount": {"value": 1.5, "unit": "oz"}, "abv": 40},
        {"name": "water", "amount": {"value": 4.03, "unit": "oz"}, "abv": 0},
    ]},
    "size": {"serves": 10},
    "units": "us",
}  # fmt: skip


@pytest.mark.parametrize("sheet", [False, True], ids=["batch", "prep sheet"])
def test_measures_in_ounces_are_quarters(client, sheet):
    """Ten of 1.5 oz are 15 oz; 40.3 oz are 40.25, the nearest quarter. A quarter: common practice, no source."""
    answer = client.post("/v1/prep-sheets" if sheet else PATH, json=GIN_US).json
    lines = (answer["batch"] if sheet else answer)["components"]
    assert [line["measure"] for line in lines] == [{"value": 15.0, "unit": "oz"}, {"value": 40.25, "unit": "oz"}]
    (step,) = [a for a in answer["assumptions"] if "/rounding/volume" in a["pointers"]]
    assert (step["quantity"], step["basis"]) == ({"value": 0.25, "unit": "oz"}, "common-practice")


def test_a_request_in_ounces_is_the_request_in_millilitres(client):
    ounces = changed({"spec": GLASS, "size": {"serves": 8}}, {"/spec/components/0/amount": {"value": 6, "unit": "oz"}})
    millilitres = changed(
        ounces,
        {"/spec/components/0/amount": {"value": from_base("volume", to_base("volume", 6, "oz"), "ml"), "unit": "ml"}},
    )
    one, other = (client.post(PATH, json=b).json["totals"] for b in (ounces, millilitres))
    assert one == other


def test_key_order_does_not_move_the_spec_id(client, body):
    def reordered(node):
        if isinstance(node, dict):
            return {key: reordered(node[key]) for key in reversed(node)}
        return [reordered(inner) for inner in node] if isinstance(node, list) else node

    same = {**body, "spec": reordered(body["spec"])}
    other = changed(body, {"/spec/components/0/abv": 41})
    ids = [client.post(PATH, json=b).json["spec_id"] for b in (body, same, other)]
    assert ids[0] == ids[1] != ids[2]


def test_a_low_acid_drink_gets_a_caution_and_no_use_by(client):
    body = {
        "spec": GLASS,
        "size": {"serves": 4},
        "made_at": "2026-11-28T14:00:00Z",
        "house_maximum": {"value": 1, "unit": "d"},
    }
    answer = client.post(PATH, json=body).json
    assert "use_by" not in answer
    said = [caution["code"] for caution in answer["cautions"]]
    assert "use-by-needs-ph" in said
    assert "low-acid" not in said  # that is the danger of what is sealed


def test_the_house_maximum_is_told_in_the_language_of_its_sentence(client, body):
    told = {**body, "house_maximum": {"value": 1, "unit": "h"}, "made_at": "2026-11-28T14:00:00Z"}
    for language, words in (("en", "the house maximum"), ("fr", "la limite de la maison")):
        answer = client.post(PATH, json=told, headers={"Accept-Language": language}).json
        assert words in next(c["text"] for c in answer["cautions"] if c["code"] == "use-by-cold")


def test_defaults_are_assumptions_with_their_pointers(client):
    answer = client.post(PATH, json={"spec": GLASS, "size": {"serves": 4}}).json
    pointers = {pointer for assumption in answer["assumptions"] for pointer in assumption["pointers"]}
    assert {"/loss", "/dilution", "/rounding/volume", "/scale"} <= pointers
    assert not {"cost", "outlay", "fills", "use_by", "depletion"} & set(answer)


def test_nothing_but_water_is_no_drink(client):
    """A batch of water has nothing to buy or to label; soda water has salts."""
    request = {"spec": {"name": "water", "components": [WATER]}, "size": {"serves": 4}}
    for asked in (request, request | {"dilution": {"percent": 20, "of": "finished"}}):
        refused = client.post(PATH, json=asked)
        assert refused.json["type"] == "/problems/impossible-batch"
        assert [(e["pointer"], e["code"]) for e in refused.json["errors"]] == [("/spec/components", "only-water")]
    answer = client.post(PATH, json=request | {"spec": GLASS}).json
    assert (answer["per_serve"]["standard_drinks"], answer["per_serve"]["energy_kcal"]) == ([], 0.0)


def test_what_runs_out_first(client, body):
    """4.2 L of gin at 45 ml are 93 serves and a third, 2.2 L of cordial at 20 ml are 110; 333.3 ml of it are left."""
    del body["size"], body["loss"], body["dilution"]
    body["on_hand"] = [
        {"component": "Gin", "amount": {"value": 4.2, "unit": "l"}},
        {"component": "Bergamot cordial", "amount": {"value": 2.2, "unit": "l"}},
    ]
    answer = client.post(PATH, json=body).json
    gin, cordial = answer["on_hand"]
    assert answer["serves"] == 93
    assert (gin["status"], gin["runs_out_first"], gin["left_over"]) == ("enough", True, {"value": 0.0, "unit": "ml"})
    assert (cordial["status"], cordial["runs_out_first"]) == ("enough", False)
    assert cordial["left_over"]["value"] == pytest.approx(2200.0 - 20.0 * 4200.0 / 45.0)
    body["size"] = {"serves": 100}
    answer = client.post(PATH, json=body).json
    assert [held["status"] for held in answer["on_hand"]] == ["short", "enough"]
    assert answer["on_hand"][0]["short_by"] == {"value": pytest.approx(300.0), "unit": "ml"}
    assert "left_over" not in answer["on_hand"][0]
    assert "stock-short" in [caution["code"] for caution in answer["cautions"]]


def test_pour_cost_and_what_is_left_of_packages(client, body):
    """The cost of a serve over what it sells for; both stand in the answer."""
    answer = client.post(PATH, json=body | {"selling_price": {"amount": "11.50", "currency": "EUR"}}).json
    share = Decimal(answer["cost"]["batch"]["amount"]) / answer["serves"] / Decimal("11.50")
    assert answer["cost"]["pour_cost_percent"] == pytest.approx(float(100 * share), rel=1e-11)
    assert answer["per_serve"]["energy_kj"] > 4.0 * answer["per_serve"]["energy_kcal"]
    lines = {line["component"]: line for line in answer["shopping"]}
    for component in answer["components"]:
        bought = lines.get(component["name"], {})
        assert bought.get("left_over") == component.get("left_over")


def test_over_dilution_shows(client, body):
    """The batch of the example is 15 % water already; a fifth more makes 80 % of its strength and sweetness."""
    answer = client.post(PATH, json=body | {"melt": {"percent": 20, "of": "finished"}}).json
    assert answer["in_glass"]["abv"] == pytest.approx(0.8 * answer["totals"]["abv"], rel=3e-3)  # contraction, a litre
    assert answer["in_glass"]["sugar"]["value"] == pytest.approx(0.8 * answer["totals"]["sugar"]["value"], rel=3e-3)
    assert "diluted-twice" in [caution["code"] for caution in answer["cautions"]]
    del body["melt"]
    unsaid = client.post(PATH, json=body).json
    assert "in_glass" not in unsaid
    assert "ice-on-diluted" in [caution["code"] for caution in unsaid["cautions"]]


def test_the_drift_of_the_dial_is_that_of_the_set_point(client):
    """Without air, and at sea level, the set-points of the drink as written and as measured are as far apart."""
    spec = {"name": "sweet, invented", "components": [
        {"name": "syrup", "amount": {"value": 46, "unit": "ml"}, "sugar": {"value": 300, "unit": "g/l"}},
        {"name": "spirit", "amount": {"value": 44, "unit": "ml"}, "abv": 40},
        {"name": "water", "amount": {"value": 104, "unit": "ml"}},
    ]}  # fmt: skip
    asked = {"spec": spec, "size": {"serves": 1}, "rounding": {"volume": {"value": 10, "unit": "ml"}}}
    answer = client.post(PATH, json=asked).json
    dials = []
    for measured in (False, True):
        drink = deepcopy(spec)
        for component, line in zip(drink["components"], answer["components"], strict=True):
            component["amount"] = line["measure"] if measured else component["amount"]
        points = client.post("/v1/carbonation/set-points", json={
            "drink": {"spec": drink}, "target": {"value": 7, "unit": "g/l"}, "air": {"method": "none"},
            "temperatures": [{"value": 1, "unit": "c"}],
        }).json["points"]  # fmt: skip
        dials.append(points[0]["gauge_pressure"]["typical"])
    assert answer["rounding"]["by_measure"]["set_point"]["value"] == pytest.approx(dials[1] - dials[0], abs=1e-9)
    assert abs(dials[1] - dials[0]) > 1e-4


amounts = st.floats(0.5, 300.0)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(first=amounts, second=amounts, third=amounts, size=st.floats(2.0, 200.0))
def test_units_change_nothing(client, first, second, third, size):
    """The same amounts in other units, to 1e-9: volumes in ml, cl, l and US and imperial ounces, masses in g and lb."""

    def asked(volume, mass, whole):
        def given_in(kind, value, unit):
            return {"value": from_base(kind, value, unit), "unit": unit}

        return {"spec": {"name": "any", "components": [
            {"name": "spirit", "amount": given_in("volume", first, volume), "abv": 40},
            {"name": "syrup", "amount": given_in("mass", second, mass), "sugar": {"value": 50, "unit": "brix"}},
            {"name": "juice", "amount": given_in("volume", third, volume), "acidity": {"value": 90, "unit": "meq/l"}},
        ]}, "size": {"volume": given_in("volume", 1000.0 * size, whole)}, "rounding": {
            "volume": {"value": 1, "unit": "ml"}, "mass": {"value": 1, "unit": "g"}}}  # fmt: skip

    def exact(answer):
        return dict(numbers({name: answer[name] for name in ("serves", "totals", "per_serve")}))

    answers = [client.post(PATH, json=asked(*units)) for units in (("ml", "g", "l"), ("oz", "lb", "gal_us"))]
    if answers[0].status_code == 200:
        one, other = (exact(answer.json) for answer in answers)
        assert one.pop("/serves") == pytest.approx(other.pop("/serves"), abs=1)  # a whole number, at its edge
        assert one == pytest.approx(other, rel=1e-9, abs=1e-9)
    else:
        assert answers[1].status_code == answers[0].status_code


def stock(component, value, unit="ml"):
    return {"/size": {"limited_by": {"component": component, "amount": {"value": value, "unit": unit}}}}


def on_hand(component, value):
    return {"/size": None, "/on_hand": [{"component": component, "amount": {"value": value, "unit": "ml"}}]}


def in_volume(value):
    return {"/size": {"volume": {"value": value, "unit": "ml"}}}


def in_vessels(fill=0.8, **vessel):
    return {
        "/size": {
            "vessels": [{"vessel": {"capacity": {"value": 150, "unit": "ml"}, **vessel}, "count": 9, "fill": fill}]
        }
    }


def with_water(value):
    return {"/spec/components/3/amount": {"value": value, "unit": "ml"}}


RATED = {
    "material": "pet",
    "made_for_carbonation": True,
    "charge_limit": {"value": 3, "unit": "bar"},
    "closed_limit": {"value": 5, "unit": "bar"},
}
GIN_DENSITY = "/spec/components/0/density_g_per_ml"
TINY_GIN = {"/spec/components/0/amount": {"value": 0.01, "unit": "ml"}}
TINY_SCALE = {"resolution": {"value": 1, "unit": "kg"}, "capacity": {"value": 500, "unit": "g"}}
REFUSED = {
    "too little volume": (in_volume(100), "/size/volume"),
    "too little stock": (stock("Gin", 1, "oz"), "/size/limited_by/amount"),
    "too much of a drop": (stock("Gin", 9e6) | TINY_GIN, "/size/limited_by/amount"),
    "a name misspelt": (stock("Gim", 1, "oz"), "/size/limited_by/component"),
    "too full a vessel": ({"/size/vessels/0/fill": 0.95}, "/size/vessels/0/fill"),
    "stronger by water": ({"/dilution": {"to_abv": 40}}, "/dilution/to_abv"),
    "alcohol from nothing": ({"/dilution": {"to_abv": 5}, "/spec/components/0/abv": 0}, "/dilution/to_abv"),
    "a name of the answer's own": ({"/spec/components/3/name": "dilution water"}, "/spec/components/3/name"),
    "a density of something else": ({GIN_DENSITY: 1.3}, GIN_DENSITY),
    "a price misspelt": ({"/prices/0/component": "Jin"}, "/prices/0/component"),
    "a scale that carries less than its step": ({"/scale": TINY_SCALE}, "/scale/capacity"),
    "a jug that the scale does not carry": ({"/scale/jug": {"value": 2.5, "unit": "kg"}}, "/scale/capacity"),
    "a stock misspelt": (on_hand("Gim", 700) | {"/size": {"serves": 9}}, "/on_hand/0/component"),
    "too little in the house": (on_hand("Gin", 20), "/on_hand/0/amount"),
    "nothing in the house": (on_hand("Gin", 0), "/on_hand/0/amount"),
    "misspelt and too little in the house": (on_hand("Gim", 20), "/on_hand/0/component"),
    "too much in the house": (on_hand("Gin", 9e6) | TINY_GIN, "/on_hand/0/amount"),
    "serves beyond bounds": ({"/size": {"serves": 100_000}} | with_water(2000), "/size/serves"),
    "several at once": (
        in_volume(10) | {"/dilution": {"to_abv": 39}, "/prices/1/component": "Bergamot"}, "/prices/1/component"
    ),
}  # fmt: skip


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("change, pointer", REFUSED.values(), ids=REFUSED)
def test_what_a_refusal_offers_works(client, body, change, pointer, units):
    asked = {name: value for name, value in changed(body | {"units": units}, change).items() if value is not None}
    refused = client.post(PATH, json=asked)
    assert refused.status_code == 422, refused.json
    assert pointer in [error["pointer"] for error in refused.json["errors"]]
    assert "{" not in refused.json["detail"]
    for mended in offers(asked, refused.json):
        again = client.post(PATH, json=mended)
        assert again.status_code == 200, (refused.json, again.json)


VESSELS_REFUSED = {
    "too small": (in_vessels(**RATED), ["capacity"]),
    "small, full and glass": (in_vessels(0.99, material="glass"), ["material", "fill"]),
    "a glass for two litres": (in_vessels(material="glass") | with_water(2000), ["material", "capacity"]),
}


@pytest.mark.parametrize("change, at", VESSELS_REFUSED.values(), ids=VESSELS_REFUSED)
def test_a_vessel_that_is_refused_is_not_replaced_by_one_that_the_bar_may_not_have(client, body, change, at):
    refused = client.post(PATH, json=changed(body, change))
    assert refused.status_code == 422, refused.json
    assert {error["pointer"].rpartition("/")[2] for error in refused.json["errors"]} == set(at)
    assert not {"nearest", "offers"} & refused.json.keys()


@pytest.mark.parametrize(
    "change, pointer, code",
    [
        ({"/prices/1/price/currency": "USD"}, "/prices/1/price/currency", "two-currencies"),
        ({"/prices/1/component": "Gin"}, "/prices/1/component", "duplicate"),
        ({"/prices/1/component": "quite another thing"}, "/prices/1/component", "unknown-component"),
        (stock("zzz", 1000), "/size/limited_by/component", "unknown-component"),
        ({"/selling_price": {"amount": "9", "currency": "USD"}}, "/selling_price/currency", "two-currencies"),
        ({"/on_hand": 2 * on_hand("Gin", 9)["/on_hand"]}, "/on_hand/1/component", "duplicate"),
    ],
)  # fmt: skip
def test_what_has_no_nearest_offers_none(client, body, change, pointer, code):
    refused = client.post(PATH, json=changed(body, change))
    assert refused.status_code == 422
    assert (pointer, code) in [(e["pointer"], e["code"]) for e in refused.json["errors"]]
    assert "nearest" not in refused.json


GIN_SUGAR = "/spec/components/0/sugar"


@pytest.mark.parametrize(
    "change, pointer, code",
    [
        ({"/nonsense": 1}, "/nonsense", "unknown-field"),
        ({"/size": {}}, "/size", "exactly-one"),
        ({"/size": {"serves": 1, "volume": {"value": 1, "unit": "l"}}}, "/size", "exactly-one"),
        ({"/size": {"serves": 0}}, "/size/serves", "out-of-range"),
        ({"/size": {"serves": 1.5}}, "/size/serves", "not-an-integer"),
        ({"/size": {"serves": 100_001}}, "/size/serves", "out-of-range"),
        ({"/size": {"serves": None}}, "/size/serves", "null"),
        ({"/size": {"serves": True}}, "/size/serves", "not-a-number"),
        ({"/size": {"volume": {"value": -1, "unit": "l"}}}, "/size/volume/value", "out-of-range"),
        ({"/size": {"volume": {"value": 1, "unit": "kg"}}}, "/size/volume/unit", "unit"),
        ({"/size/vessels": []}, "/size/vessels", "length"),
        ({"/size/vessels/0": {"count": 2}}, "/size/vessels/0/vessel", "required"),
        ({"/loss": {"percent": 51, "of": "made"}}, "/loss/percent", "out-of-range"),
        ({"/loss": {"percent": 5}}, "/loss/of", "required"),
        ({"/dilution": {"percent": 25}}, "/dilution/of", "required"),
        ({"/melt": {"percent": 25}}, "/melt/of", "required"),
        ({"/melt": {"percent": 25, "of": "ice"}}, "/melt/ice", "required"),
        ({"/melt": {"percent": 25, "of": "poured", "ice": {"value": 9, "unit": "g"}}}, "/melt/ice", "not-needed"),
        ({"/melt": {"percent": 96, "of": "finished"}}, "/melt/percent", "out-of-range"),
        ({"/prices": []}, "/prices", "required"),
        ({"/on_hand": [{"component": "Gin", "amount": {"value": -1, "unit": "l"}}]}, "/on_hand/0/amount/value",
         "out-of-range"),
        ({"/selling_price": {"amount": "0.00", "currency": "EUR"}}, "/selling_price/amount", "out-of-range"),
        ({"/rounding": {"batch_may_vary_percent": 21}}, "/rounding/batch_may_vary_percent", "out-of-range"),
        ({"/dilution": {"of": "finished"}}, "/dilution/percent", "required"),
        ({"/dilution": {"to_abv": 8, "percent": 25, "of": "finished"}}, "/dilution/percent", "not-needed"),
        ({"/dilution": {"percent": 96, "of": "finished"}}, "/dilution/percent", "out-of-range"),
        ({"/dilution": {}}, "/dilution/of", "required"),
        ({"/rounding": {"volume": {"value": 0, "unit": "ml"}}}, "/rounding/volume/value", "out-of-range"),
        ({"/scale": {"capacity": {"value": 1, "unit": "kg"}}}, "/scale/resolution", "required"),
        ({"/prices/0/price": {"amount": 19.5, "currency": "EUR"}}, "/prices/0/price/amount", "amount"),
        ({"/prices/0/price": {"amount": "19.5", "currency": "eur"}}, "/prices/0/price/currency", "currency"),
        ({"/prices/0/price": {"amount": "NaN", "currency": "EUR"}}, "/prices/0/price/amount", "amount"),
        *(
            ({"/prices/0/price": {"amount": amount, "currency": "EUR"}}, "/prices/0/price/amount", "amount")
            for amount in ("-1", "+1", ".5", "5.", "1e3", "1,5", "", " 1", "1\n", "١", "123456789", "1.1234567")
        ),
        ({GIN_SUGAR: {"value": 84.5, "unit": "brix"}}, f"{GIN_SUGAR}/value", "out-of-range"),
        ({"/spec/components/0/name": "x" * 201}, "/spec/components/0/name", "length"),
        ({"/_schema": 1}, "/_schema", "unknown-field"),
        ({"/size/_schema": 1}, "/size/_schema", "unknown-field"),
        ({"/size/volume": {"value": 1, "unit": "l", "_schema": 1}}, "/size/volume/_schema", "unknown-field"),
        ({"/size": {"nonsense": 1}}, "/size", "exactly-one"),
        ({"/made_at": "2026-11-28T14:00:00.1234567890Z"}, "/made_at", "not-a-moment"),
        ({"/made_at": "2026-11-28T14:00:00.Z"}, "/made_at", "not-a-moment"),
        ({"/made_at": "2026-11-28T14:00:00"}, "/made_at", "not-a-moment"),
        ({"/made_at": "2026-11-28 14:00:00+01:00"}, "/made_at", "not-a-moment"),
        ({"/made_at": "2026-11-28T14:00+01:00"}, "/made_at", "not-a-moment"),
        ({"/made_at": "2026-02-29T14:00:00Z"}, "/made_at", "not-a-moment"),
        ({"/made_at": "2026-11-28T14:00:00+25:00"}, "/made_at", "not-a-moment"),
        ({"/made_at": "9999-11-28T14:00:00Z"}, "/made_at", "out-of-range"),
        ({"/made_at": 1_700_000_000}, "/made_at", "not-a-moment"),
        ({"/house_maximum": {"value": 0, "unit": "d"}}, "/house_maximum/value", "out-of-range"),
        ({"/spec/components/1/name": "Gin"}, "/spec/components/1/name", "duplicate"),
    ],
)  # fmt: skip
def test_bad_fields_are_named(client, body, change, pointer, code):
    refused = client.post(PATH, json=changed(body, change))
    assert refused.status_code == 422, refused.json
    assert refused.json["type"] == "/problems/invalid-request"
    assert (pointer, code) in [(e["pointer"], e["code"]) for e in refused.json["errors"]]


@pytest.mark.parametrize(
    "change, faults",
    [
        (
            {"/spec/components/1/name": "Gin", "/spec/components/0/amount": {}},
            {
                ("/spec/components/1/name", "duplicate"),
                ("/spec/components/0/amount/value", "required"),
                ("/spec/components/0/amount/unit", "required"),
            },
        ),
        (
            {"/size": {"serves": 0, "volume": {"value": 1, "unit": "l"}}},
            {("/size", "exactly-one"), ("/size/serves", "out-of-range")},
        ),
        (
            {"/size": {"serves": 0, "nonsense": 1}},
            {("/size/nonsense", "unknown-field"), ("/size/serves", "out-of-range")},
        ),
        (
            {"/dilution": {"to_abv": 101, "of": "melted"}},
            {
                ("/dilution/to_abv", "out-of-range"),
                ("/dilution/of", "not-a-choice"),
                ("/dilution/of", "not-needed"),
            },
        ),
        (
            {
                "/spec/components/1": {
                    "name": "acids",
                    "abv": 101,
                    "acid_solution": {
                        "basis": "w/x",
                        "acids": [{"acid": "citric", "form": "malic"}, {"acid": "citric", "percent": 0, "share": 1}],
                    },
                }
            },
            {
                ("/spec/components/1/amount", "required"),
                ("/spec/components/1/abv", "out-of-range"),
                ("/spec/components/1/acid_solution", "described-twice"),
                ("/spec/components/1/acid_solution/basis", "not-a-choice"),
                ("/spec/components/1/acid_solution/acids/0/percent", "required"),
                ("/spec/components/1/acid_solution/acids/0/form", "form-of-another-acid"),
                ("/spec/components/1/acid_solution/acids/1/percent", "out-of-range"),
                ("/spec/components/1/acid_solution/acids/1/share", "not-needed"),
                ("/spec/components/1/acid_solution/acids/1/acid", "duplicate"),
            },
        ),
    ],
    ids=["names", "size", "size and unknown", "dilution", "acids"],
)
def test_all_faults_come_at_once(client, body, change, faults):
    refused = client.post(PATH, json=changed(body, change))
    assert refused.status_code == 422
    assert {(e["pointer"], e["code"]) for e in refused.json["errors"]} == faults


def test_too_long_a_list_is_one_fault(client, body):
    body["spec"]["components"] = [body["spec"]["components"][0]] * 41
    errors = client.post(PATH, json=body).json["errors"]
    assert [(e["pointer"], e["code"]) for e in errors] == [("/spec/components", "length")]


@pytest.mark.parametrize("amount", ["0", "00012.50", "99999999", "99999999.999999"])
def test_money_that_fits_the_document_is_taken(client, body, amount):
    body["prices"][0]["price"]["amount"] = amount
    answer = client.post(PATH, json=body)
    assert answer.status_code == 200, answer.json
    conforms("createBatch", answer.json)


def test_a_bound_is_stated_in_the_unit_that_it_has(client, body):
    """Ten years of 365 days are 315 360 000 s."""
    errors = client.post(PATH, json=body | {"house_maximum": {"value": 3651, "unit": "d"}}).json["errors"]
    assert [e["text"] for e in errors] == ["Must be over 0 and at most 315360000 s."]


def test_the_document_states_the_bounds_of_every_quantity(client, body):
    document = client.get("/openapi.json").json
    schemas = document["components"]["schemas"]
    requests = [item["post"]["requestBody"] for item in document["paths"].values() if "post" in item]
    stated = dict(bounds_of(requests, schemas, set()))
    assert len(stated) > 40
    assert {where for where, text in stated.items() if not BOUNDS.search(text)} == set()
    _, low, high, unit = BOUNDS.search(stated["Vessel/capacity"]).groups()
    for value in (float(low) * 0.999, float(high) * 1.001):
        vessels = [{"vessel": {"capacity": {"value": value, "unit": unit}}, "count": 1}]
        errors = client.post(PATH, json=body | {"size": {"vessels": vessels}}).json["errors"]
        assert [e["pointer"] for e in errors] == ["/size/vessels/0/vessel/capacity/value"]


BOUNDS = re.compile(r"(From|Over) (-?[0-9.]+),? (?:up )?to ([0-9.]+) ([a-z/ ]+)")


def bounds_of(node, schemas, seen, where=""):
    """Place and description of every quantity under a node of the document."""
    if isinstance(node, list):
        for inner in node:
            yield from bounds_of(inner, schemas, seen, where)
    elif isinstance(node, dict) and "$ref" in node:
        name = node["$ref"].rsplit("/", 1)[1]
        if {"value", "unit"} <= schemas[name].get("properties", {}).keys():
            yield where, node.get("description", "")
        elif name not in seen:
            seen.add(name)
            for key, inner in schemas[name].get("properties", {}).items():
                yield from bounds_of(inner, schemas, seen, f"{name}/{key}")
    elif isinstance(node, dict):
        for key, inner in node.items():
            if key not in ("example", "examples"):
                yield from bounds_of(inner, schemas, seen, where)


@pytest.mark.parametrize("name", ["spec", "size"])
def test_required_fields(client, body, name):
    del body[name], body["on_hand"]  # which may stand for a size
    errors = client.post(PATH, json=body).json["errors"]
    assert [(e["pointer"], e["code"]) for e in errors] == [(f"/{name}", "required")]


def test_a_selling_price_needs_prices(client, body):
    del body["prices"]
    errors = client.post(PATH, json=body | {"selling_price": {"amount": "9", "currency": "EUR"}}).json["errors"]
    assert [(e["pointer"], e["code"]) for e in errors] == [("/prices", "required")]


def test_nan_is_not_json(client, body):
    body["loss"]["percent"] = nan
    assert client.post(PATH, data=json.dumps(body), content_type="application/json").status_code == 400


@pytest.mark.parametrize(
    "made_at",
    [
        "2026-11-28t14:00:00z",
        "2026-11-28T14:00:00.25-08:00",
        "2026-11-28T14:00:00.123456789Z",
        "2026-11-28T14:00:00.9999999Z",
    ],
)
def test_moments_of_rfc_3339(client, body, made_at):
    """RFC 3339, section 5.6: T and Z may be lower case, a second may have a fraction."""
    answer = client.post(PATH, json=body | {"made_at": made_at})
    assert answer.status_code == 200
    assert answer.json["use_by"].startswith("2026-12-01T14:00:00")


def test_many_long_names_stay_within_the_document(client):
    amount = {"value": 0.1, "unit": "ml"}
    components = [{"name": f"{i:02d}" + "x" * 198, "amount": amount, "abv": 1} for i in range(40)]
    answer = client.post(PATH, json={"spec": {"name": "n", "components": components}, "size": {"serves": 1}})
    assert answer.status_code == 200
    conforms("createBatch", answer.json)
