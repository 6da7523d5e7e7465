"""Specs before they go out: each on its own, and told what the other operations would make of it."""

from copy import deepcopy

import pytest

from service.api.openapi import example
from service.limits.requests import MOST_SPEC_LINES
from tests.api.conforms import conforms
from tests.api.nearest import put

PATH = "/v1/spec-checks"


def part(name, ml, **more):
    return {"name": name, "amount": {"value": ml, "unit": "ml"}, **more}


NONE = {"value": 0, "unit": "g/l"}
GIN = part("gin", 45, reference="spirit-40")
WATER = part("water", 110, reference="water")
CORDIAL = part("cordial", 20, abv=0, sugar={"value": 600, "unit": "g/l"}, acidity={"value": 400, "unit": "meq/l"},
               ph=2.9, allergens=[], keeps={"value": 14, "unit": "d"})  # fmt: skip


def spec(*components):
    return {"name": "long, invented", "components": list(components)}


LONG = spec(GIN, CORDIAL, WATER)


def listed(*specs, **more):
    return {"items": [{"id": f"no-{i}", "spec": one} for i, one in enumerate(specs)], **more}


def checked(client, *specs, **more):
    answer = client.post(PATH, json=listed(*specs, **more))
    assert answer.status_code == 200, answer.json
    conforms("createSpecCheck", answer.json)
    return answer.json["items"]


def at(document, pointer):
    """Tell whether the node at a JSON Pointer is there, or may be put there."""
    changed = deepcopy(document)
    put(changed, pointer, None)
    return changed != document


def test_the_example_conforms_and_judges_each_drink(client):
    body = example("createSpecCheck")
    answer = client.post(PATH, json=body).json
    conforms("createSpecCheck", answer)
    assert [item["id"] for item in answer["items"]] == [item["id"] for item in body["items"]]
    assert [item["carbonate"] for item in answer["items"]] == ["yes", "care", "care"]
    for i, item in enumerate(answer["items"]):
        for finding in item["findings"]:
            assert finding["pointer"].startswith(f"/items/{i}/spec")
            assert at(body, finding["pointer"])
            assert "{" not in finding["text"]


DRINKS = [
    ("yes", LONG),
    ("care", spec(GIN, CORDIAL | {"foams": True}, WATER)),
    ("care", spec(GIN, CORDIAL)),
    ("care", spec(part("spirit", 50, abv=39, sugar=NONE), CORDIAL | {"amount": {"value": 1, "unit": "ml"}})),
    ("no", spec(GIN, CORDIAL | {"live_culture": True}, WATER)),
    ("no", spec(part("spirit", 50, abv=45, sugar=NONE))),
    ("no", spec(part("syrup", 50, sugar={"value": 600, "unit": "g/l"}))),
    ("no", spec(part("x", 50, abv=80, sugar={"value": 600, "unit": "g/l"}))),
    ("no", spec(part("x", 50, abv=10, density_g_per_ml=1.5))),
    ("no", spec(part("x", 50, abv=-1))),
]


@pytest.mark.parametrize("verdict, drink", DRINKS)
def test_no_is_what_the_set_points_refuse_and_yes_what_they_answer(client, verdict, drink):
    (item,) = checked(client, drink)
    assert item["carbonate"] == verdict
    asked = {
        "drink": {"spec": drink},
        "temperatures": [{"value": 4, "unit": "c"}],
        "target": {"value": 4, "unit": "g/l"},
    }
    assert (client.post("/v1/carbonation/set-points", json=asked).status_code == 200) == (verdict != "no")


def test_the_verdict_is_the_worst_that_a_finding_makes_of_it(client):
    for item in checked(client, *[drink for _, drink in DRINKS]):
        made = {finding.get("carbonate", "yes") for finding in item["findings"]}
        assert item["carbonate"] == next(v for v in ("no", "care", "yes") if v in made | {"yes"})
        grave = [("danger", "warning", "info").index(finding["severity"]) for finding in item["findings"]]
        assert grave == sorted(grave)


def test_one_that_cannot_be_is_a_finding_and_fails_no_other(client):
    both = checked(client, DRINKS[-3][1], LONG, DRINKS[-1][1])
    assert [item["carbonate"] for item in both] == ["no", "yes", "no"]
    assert [item["findings"][0]["code"] for item in both] == ["impossible-composition", "usual-level", "out-of-range"]
    assert both[1]["findings"] == [
        finding | {"pointer": finding["pointer"].replace("/items/0/", "/items/1/")}
        for finding in checked(client, LONG)[0]["findings"]
    ]


@pytest.mark.parametrize(
    "broken, pointer, code",
    [
        ({}, "/items/0/spec/components", "required"),
        (7, "/items/0/spec", "not-an-object"),
        ([LONG], "/items/0/spec", "not-an-object"),
        (spec(GIN, GIN), "/items/0/spec/components/1/name", "duplicate"),
        (spec(GIN | {"ph": 15}), "/items/0/spec/components/0/ph", "out-of-range"),
        (spec(GIN | {"a/b": 1}), "/items/0/spec/components/0/a~1b", "unknown-field"),
        (spec(GIN | {"reference": "no-such"}), "/items/0/spec/components/0/reference", "unknown-reference"),
        (LONG | {"serve": None}, "/items/0/spec/serve", "null"),
    ],
)
def test_one_that_cannot_be_read_is_found_faulty_alone(client, broken, pointer, code):
    wrong, right = checked(client, broken, LONG)
    assert (wrong["carbonate"], right["carbonate"]) == ("no", "yes")
    assert (pointer, code) in [(f["pointer"], f["code"]) for f in wrong["findings"]]
    assert {(f["severity"], f["source"]) for f in wrong["findings"]} == {("danger", "/openapi.json")}


def test_the_allergens_asked_for_are_those_that_a_batch_misses(client):
    foam, juice = part("foam", 20, reference="egg-white"), part("juice", 20, reference="lemon-juice-fresh")
    cordial = {name: value for name, value in CORDIAL.items() if name != "allergens"}
    drink = spec(GIN, foam, juice, cordial)
    batch = client.post("/v1/batches", json={"spec": drink, "size": {"serves": 4}}).json
    (item,) = checked(client, drink)
    silent = [f["params"][0]["text"] for f in item["findings"] if f["code"] == "allergens-unstated"]
    assert silent == batch["label"]["allergens_unstated"]
    (by_reference,) = [f for f in item["findings"] if f["code"] == "allergens-by-reference"]
    assert [p["text"] for p in by_reference["params"] if p["name"] == "allergens"] == batch["allergens"] == ["eggs"]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_least_batch_that_a_finding_names_can_be_posted(client, units):
    """The batch that the sentence shows, rounded up, mends it; so does a finer scale."""
    acid = part("acid", 1.5, acid_solution={"basis": "w/v", "acids": [{"acid": "citric", "percent": 30}]})
    drink = spec(GIN, acid, WATER)
    (item,) = checked(client, drink, units=units)
    (coarse,) = [f for f in item["findings"] if f["code"] == "rounding-acidity"]
    text, unit = next(p["text"] for p in coarse["params"] if p["name"] == "least").split()
    assert unit == {"metric": "ml", "us": "oz"}[units]
    for mend in (
        {"smallest_batch": {"value": float(text), "unit": unit}},
        {"scale": {"resolution": {"value": 0.1, "unit": "g"}}},
    ):
        (mended,) = checked(client, drink, units=units, **mend)
        assert "rounding-acidity" not in {f["code"] for f in mended["findings"]}


def test_what_is_taken_of_the_smallest_venue_is_an_assumption(client):
    answer = client.post(PATH, json=listed(LONG)).json
    assert [a["pointers"] for a in answer["assumptions"]] == [["/smallest_batch"], ["/scale"]]
    stated = {"smallest_batch": {"value": 2, "unit": "l"}, "scale": {"resolution": {"value": 2, "unit": "g"}}}
    assert client.post(PATH, json=listed(LONG, **stated)).json["assumptions"] == []


def test_which_ounce_is_meant_is_an_assumption(client):
    """NIST Handbook 44, Appendix C."""
    ounces = spec(GIN | {"amount": {"value": 1.5, "unit": "oz"}}, CORDIAL, WATER)
    (said,) = [a for a in client.post(PATH, json=listed(LONG, ounces)).json["assumptions"] if "ounce" in a["name"]]
    assert said["pointers"] == ["/items/1/spec/components/0/amount"]


@pytest.mark.parametrize(
    "asked, pointer, code",
    [
        ({"items": []}, "/items", "length"),
        ({"items": [{"id": f"{i}", "spec": LONG} for i in range(101)]}, "/items", "length"),
        ({"items": [{"id": "a", "spec": LONG}] * 2}, "/items/1/id", "duplicate"),
        ({"items": [{"id": "a"}]}, "/items/0/spec", "required"),
        ({"items": [{"id": "a", "spec": None}]}, "/items/0/spec", "null"),
        ({"items": [{"spec": LONG}]}, "/items/0/id", "required"),
        ({"items": [{"id": 7, "spec": LONG}]}, "/items/0/id", "not-a-string"),
        ({"items": [{"id": "a", "spec": LONG, "size": 1}]}, "/items/0/size", "unknown-field"),
        ({"items": 7}, "/items", "not-a-list"),
        ({}, "/items", "required"),
        (listed(LONG, smallest_batch={"value": 1, "unit": "ml"}), "/smallest_batch/value", "out-of-range"),
        (listed(LONG, scale={}), "/scale/resolution", "required"),
    ],
)
def test_what_refuses_the_whole_list(client, asked, pointer, code):
    refused = client.post(PATH, json=asked)
    assert refused.status_code == 422, refused.json
    assert (pointer, code) in [(e["pointer"], e["code"]) for e in refused.json["errors"]]


def test_all_lines_together_are_bounded(client):
    """A hundred specs of twelve; components of which others are made count, and so do acids."""
    twelve = spec(*[part(f"{i}", 5, abv=10) for i in range(12)])
    assert len(checked(client, *[twelve] * 100)) * 12 == MOST_SPEC_LINES
    inner = {"name": "inner, invented", "components": [part("x", 5)]}
    acids = {"basis": "w/v", "acids": [{"acid": "citric", "percent": 4}]}
    for more in ({"made_from": inner}, {"acid_solution": acids}):
        longer = deepcopy(twelve)
        longer["components"][0] = part("0", 5, **more)
        refused = client.post(PATH, json=listed(*[twelve] * 99, longer))
        assert [(e["pointer"], e["code"]) for e in refused.json["errors"]] == [("/items", "too-many-lines")]
