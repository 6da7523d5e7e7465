"""Batches through the API."""

import json
import re
from copy import deepcopy
from decimal import Decimal
from math import nan

import pytest

from service.api.openapi import example
from service.science.units import from_base, to_base
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest, put

PATH = "/v1/batches"
GLASS = {"name": "long, invented", "components": [{"name": "water", "amount": {"value": 180, "unit": "ml"}, "abv": 0}]}
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
        {"/spec": STRONG, "/prices": None},
        {"/spec": GLASS, "/prices": [{"component": "dilution water", "content": {"value": 1, "unit": "lb"},
                                      "price": {"amount": "3", "currency": "JPY"}}]},
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
    used = gin * 19.5 / 700 + cordial * 6.2 / 500
    assert Decimal(answer["cost"]["batch"]["amount"]) == pytest.approx(Decimal(used), rel=Decimal("1e-11"))
    assert Decimal(answer["cost"]["per_serve"]["amount"]) == round(Decimal(used) / 25, 4)


def test_measures_are_whole_steps(client, body):
    answer = client.post(PATH, json=body).json
    assert all(line["measure"]["value"] % 5 == 0 for line in answer["components"])


def numbers(node, at=""):
    """Every quantity and number of an answer in base units, by pointer."""
    if isinstance(node, dict) and "unit" in node:
        unit = node["unit"]
        kind = {"ml": "volume", "oz": "volume", "c": "temperature", "f": "temperature"}.get(unit)
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
        del answer["assumptions"], answer["cautions"]
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
    assert "low-acid" in [caution["code"] for caution in answer["cautions"]]


def test_defaults_are_assumptions_with_their_pointers(client):
    answer = client.post(PATH, json={"spec": GLASS, "size": {"serves": 4}}).json
    pointers = {pointer for assumption in answer["assumptions"] for pointer in assumption["pointers"]}
    assert {"/loss", "/dilution", "/rounding/volume", "/scale"} <= pointers
    assert not {"cost", "outlay", "fills", "use_by", "depletion"} & set(answer)


def test_nothing_but_water_is_answered(client):
    """Water at 20 degC is 0.9982 g/mL (CRC Handbook) and freezes at 0 degC; 4 x 180 mL."""
    answer = client.post(PATH, json={"spec": GLASS, "size": {"serves": 4}}).json
    totals = answer["totals"]
    assert (totals["volume"]["value"], totals["abv"], totals["brix"]) == (pytest.approx(720.0), 0.0, 0.0)
    assert totals["density_g_per_ml"] == pytest.approx(0.9982, abs=0.00005)
    assert totals["freezing_point"]["low"] <= 0.0 <= totals["freezing_point"]["high"]
    assert (answer["per_serve"]["standard_drinks"], answer["per_serve"]["energy_kcal"]) == ([], 0.0)
    assert "low-acid" in [caution["code"] for caution in answer["cautions"]]


def stock(component, value, unit="ml"):
    return {"/size": {"limited_by": {"component": component, "amount": {"value": value, "unit": unit}}}}


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


GIN_DENSITY = "/spec/components/0/density_g_per_ml"
TINY_GIN = {"/spec/components/0/amount": {"value": 0.01, "unit": "ml"}}
TINY_SCALE = {"resolution": {"value": 1, "unit": "kg"}, "capacity": {"value": 500, "unit": "g"}}
REFUSED = {
    "too little volume": (in_volume(100), "/size/volume"),
    "too little stock": (stock("Gin", 1, "oz"), "/size/limited_by/amount"),
    "too much of a drop": (stock("Gin", 9e6) | TINY_GIN, "/size/limited_by/amount"),
    "a name misspelt": (stock("Gim", 1, "oz"), "/size/limited_by/component"),
    "too small a vessel": (in_vessels(preset="pet-500-ml"), "/size/vessels/0/vessel/capacity"),
    "too full a vessel": ({"/size/vessels/0/fill": 0.95}, "/size/vessels/0/fill"),
    "small, full and glass": (in_vessels(0.99, material="glass"), "/size/vessels/0/vessel/material"),
    "a glass for two litres": (in_vessels(material="glass") | with_water(2000), "/size/vessels/0/vessel/capacity"),
    "stronger by water": ({"/dilution": {"to_abv": 40}}, "/dilution/to_abv"),
    "alcohol from nothing": ({"/dilution": {"to_abv": 5}, "/spec/components/0/abv": 0}, "/dilution/to_abv"),
    "a name of the answer's own": ({"/spec/components/3/name": "dilution water"}, "/spec/components/3/name"),
    "a density of something else": ({GIN_DENSITY: 1.3}, GIN_DENSITY),
    "a price misspelt": ({"/prices/0/component": "Jin"}, "/prices/0/component"),
    "a scale that carries less than its step": ({"/scale": TINY_SCALE}, "/scale/capacity"),
    "serves beyond bounds": ({"/size": {"serves": 100_000}} | with_water(2000), "/size/serves"),
    "several at once": (
        in_volume(10) | {"/dilution": {"to_abv": 39}, "/prices/1/component": "Bergamot"}, "/prices/1/component"
    ),
}  # fmt: skip


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("change, pointer", REFUSED.values(), ids=REFUSED)
def test_what_a_refusal_offers_works(client, body, change, pointer, units):
    asked = changed(body | {"units": units}, change)
    refused = client.post(PATH, json=asked)
    assert refused.status_code == 422, refused.json
    assert pointer in [error["pointer"] for error in refused.json["errors"]]
    assert "{" not in refused.json["detail"]
    again = client.post(PATH, json=apply_nearest(asked, refused.json))
    assert again.status_code == 200, (refused.json, again.json)


@pytest.mark.parametrize(
    "change, pointer, code",
    [
        ({"/prices/1/price/currency": "USD"}, "/prices/1/price/currency", "two-currencies"),
        ({"/prices/1/component": "Gin"}, "/prices/1/component", "duplicate"),
        ({"/prices/1/component": "quite another thing"}, "/prices/1/component", "unknown-component"),
        (stock("zzz", 1000), "/size/limited_by/component", "unknown-component"),
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
    del body[name]
    errors = client.post(PATH, json=body).json["errors"]
    assert [(e["pointer"], e["code"]) for e in errors] == [(f"/{name}", "required")]


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
    components = [{"name": f"{i:02d}" + "x" * 198, "amount": {"value": 0.1, "unit": "ml"}} for i in range(40)]
    answer = client.post(PATH, json={"spec": {"name": "n", "components": components}, "size": {"serves": 1}})
    assert answer.status_code == 200
    conforms("createBatch", answer.json)
