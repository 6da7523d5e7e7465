"""Rollouts against the version before: what each site changes is what two rollouts, one of each, differ in."""

import csv
import io
import json
import re
from copy import deepcopy
from typing import Any

import pytest

from service.api.openapi import example
from service.api.openapi.paths import examples
from service.limits.requests import MOST_KINDS, MOST_SITES
from tests.api.conforms import conforms

PATH = "/v1/rollouts"


@pytest.fixture
def body() -> Any:
    return deepcopy(example("createRollout"))


def answered(client: Any, body: Any) -> Any:
    response = client.post(PATH, json=body)
    assert response.status_code == 200, response.get_json()
    conforms("createRollout", response.get_json())
    return response.get_json()


def changed(client: Any, body: Any, **before: Any) -> list[dict[str, Any]]:
    """The changes of each site, by code; those that a site has several of by pointer as well."""
    found = answered(client, body | {"against": before})
    return [{f"{one['code']} {one['pointer']}": one for one in site["changes"]} for site in found["sites"]]


def other(spec: Any, **amounts: float) -> Any:
    """The spec with other amounts, None for a component that is not there."""
    components = [
        part | {"amount": {"value": amounts.get(part["name"], part["amount"]["value"]), "unit": "ml"}}
        for part in spec["components"]
        if amounts.get(part["name"], 1) is not None
    ]
    return spec | {"components": components}


def test_where_nothing_changes_there_is_nothing(client, body):
    """Another name, another serve, stock codes: nothing that a site would do otherwise."""
    same = deepcopy(body["spec"]) | {"name": "Bergamot highball, last year", "serve": {"garnish": "none"}}
    for part in same["components"]:
        part.pop("stock_code", None)
    assert changed(client, body, spec=same) == [{}, {}, {}]
    assert changed(client, body, standard=body["standard"]) == [{}, {}, {}]


def test_without_a_version_before_there_are_no_changes(client, body):
    assert all("changes" not in site for site in answered(client, body)["sites"])


def test_the_rest_of_the_answer_is_the_same(client, body):
    found = answered(client, body | {"against": {"spec": other(body["spec"], Gin=40)}})
    for site in found["sites"]:
        del site["changes"]
    assert found == answered(client, body)


def test_the_dials_are_those_of_two_rollouts(client, body):
    """Held against a rollout of each version alone; tolerance: what is sent of a parameter, twelve digits."""
    lower = deepcopy(body["standard"])
    lower["carbonation"] |= {"target": {"value": 5.2, "unit": "g/l"}, "charge_count": 2}
    both = changed(client, body, standard=lower)
    was, now = answered(client, body | {"standard": lower}), answered(client, body)
    for i, (site, one, two) in enumerate(zip(both, was["sites"], now["sites"], strict=True)):
        params = {p["name"]: p for p in site[f"dial-changes /sites/{i}/vessels/0"]["params"]}
        assert params["before"]["value"] == pytest.approx(one["gauge_pressure"]["typical"], rel=1e-9)
        assert params["now"]["value"] == pytest.approx(two["gauge_pressure"]["typical"], rel=1e-9)
        assert params["now"]["unit"] == two["gauge_pressure"]["unit"]
        charges = site[f"charges-change /sites/{i}/vessels/0"]
        assert (charges["before"], charges["now"]) == ("2", "3")
        assert not any(key.startswith(("measure", "cost", "serves", "allergens")) for key in site)


def test_the_measures_are_those_of_two_rollouts(client, body):
    old = other(body["spec"], **{"Bergamot cordial": 25, "Citric-malic solution": None})
    both = changed(client, body, spec=old)
    was, now = answered(client, body | {"spec": old}), answered(client, body)
    for site, one, two in zip(both, was["sites"], now["sites"], strict=True):
        lines = [{line["name"]: line for line in of["batch"]["components"]} for of in (one, two)]
        names = [part["name"] for part in body["spec"]["components"]]
        for i, name in enumerate(names):
            key = "component-comes" if name == "Citric-malic solution" else "measure-changes"
            change = site[f"{key} /spec/components/{i}"]
            params = {p["name"]: p.get("value") for p in change["params"]}
            assert params["now"] == lines[1][name]["measure"]["value"]
            assert params["before"] == (lines[0][name]["measure"]["value"] if name in lines[0] else None)
            assert change["text"].count(change["now"]) >= 1
        cost = next(change for change in site.values() if change["code"] == "cost-changes")
        for side, of in (("now", two), ("before", one)):
            assert cost[side].replace(",", ".").startswith(of["cost"]["per_serve"]["amount"])


def test_a_component_that_goes_is_named_and_may_have_a_price(client, body):
    old = deepcopy(body["spec"])
    bitters = {"name": "Bitters", "amount": {"value": 2, "unit": "ml"}, "abv": 40, "allergens": ["sulphites"]}
    old["components"].append(bitters)
    for site in body["sites"]:
        site["locale"] = "en-GB"
        price = site["prices"][0]["price"]
        site["prices"].append({"component": "Bitters", "content": {"value": 100, "unit": "ml"}, "price": price})
    for site in changed(client, body, spec=old):
        gone = site["component-goes /spec/components"]
        assert gone["text"].startswith("Leave out Bitters")
        allergens = site["allergens-change /spec"]
        assert (allergens["before"], allergens["now"]) == ("sulphites", "none")
        assert any(key.startswith("cost-changes") for key in site)


def test_money_in_a_sentence_is_written_as_the_place_writes_numbers(client, body):
    """A decimal comma in Portugal, by CLDR."""
    old = deepcopy(body["spec"])
    old["components"][0]["amount"]["value"] *= 1.1
    body["sites"][0]["locale"] = "pt-PT"
    site, *_ = changed(client, body, spec=old)
    text = next(change["text"] for key, change in site.items() if key.startswith("cost-changes"))
    assert re.search(r": \d+,\d{2,4} EUR instead of \d+,\d{2,4} EUR\.", text)


def test_another_size_of_the_standard_changes_vessels(client, body):
    """Only where a site states no vessels of its own."""
    for site in body["sites"]:
        del site["vessels"]
    sound = {"condition": "sound", "cycles": 1}
    small, large = ({"vessels": [{"vessel": {"preset": preset, **sound}, "count": count}]}
                    for preset, count in (("pet-500-ml", 8), ("pet-1-l", 4)))  # fmt: skip
    body["standard"]["size"] = large
    site, *_ = changed(client, body, standard=body["standard"] | {"size": small})
    vessel = site["vessel-changes /sites/0/vessels/0"]
    assert (vessel["before"], vessel["now"]) == ("500 ml PET bottle", "1 l PET bottle")
    fewer = {"vessels": [large["vessels"][0] | {"count": 3, "fill": 0.75}]}
    site, *_ = changed(client, body, standard=body["standard"] | {"size": fewer})
    count = site["vessel-count-changes /sites/0/vessels/0"]
    assert (count["before"], count["now"]) == ("3", "4")
    assert "fill-changes /sites/0/vessels/0" in site


def test_a_site_that_was_refused_before_says_so(client, body):
    strong = deepcopy(body["standard"])
    strong["carbonation"]["target"] = {"value": 9, "unit": "g/l"}
    for site in answered(client, body | {"against": {"standard": strong}})["sites"]:
        assert [one["code"] for one in site["changes"]] == ["refused-before"]


def test_a_site_that_is_refused_now_has_its_problem_alone(client, body):
    body["sites"][0]["vessels"][0]["vessel"]["condition"] = "creased"
    refused, *others = answered(client, body | {"against": {"spec": other(body["spec"], Gin=40)}})["sites"]
    assert refused["status"] == "refused"
    assert "changes" not in refused
    assert all(site["changes"] for site in others)


@pytest.mark.parametrize("against, pointer, code", [
    ({}, "/against", "required"),
    ({"spec": {}}, "/against/spec/name", "required"),
    ({"sites": []}, "/against/sites", "unknown-field"),
    ({"spec": {"name": "x", "components": [{"name": "k", "amount": {"value": 9, "unit": "ml"}, "live_culture": True}]}},
     "/against/spec/components/0/live_culture", "live-culture"),
])  # fmt: skip
def test_a_version_that_cannot_be_is_refused_by_its_pointer(client, body, against, pointer, code):
    response = client.post(PATH, json=body | {"against": against})
    assert response.status_code == 422
    assert (pointer, code) in [(error["pointer"], error["code"]) for error in response.get_json()["errors"]]


def test_two_versions_count_twice(client, body):
    site = body["sites"][0]
    kinds = [site["vessels"][0]] * 50
    body["sites"] = [site | {"id": f"n{i}", "vessels": kinds} for i in range(MOST_KINDS // 50)]
    response = client.post(PATH, json=body | {"against": {"spec": body["spec"]}})
    assert [error["code"] for error in response.get_json()["errors"]] == ["too-many-vessels"]
    body["sites"] = [site | {"id": f"n{i}", "vessels": kinds[:1]} for i in range(MOST_SITES // 2 + 1)]
    response = client.post(PATH, json=body | {"against": {"spec": body["spec"]}})
    assert [error["code"] for error in response.get_json()["errors"]] == ["too-many-sites"]


def test_lines_and_tables_have_the_changes_too(client):
    body = examples("createRollout")["against"]["value"]
    sites = answered(client, body)["sites"]
    lines = client.post(f"{PATH}?format=ndjson", json=body).get_data(as_text=True).splitlines()
    assert [json.loads(line)["changes"] for line in lines[:-1]] == [site["changes"] for site in sites]
    rows = list(csv.DictReader(io.StringIO(client.post(f"{PATH}?format=csv", json=body).text, newline="")))
    told = {row["id"]: row["changes"] for row in rows}
    assert told == {site["id"]: " ".join(one["text"] for one in site["changes"]) for site in sites}
