"""POST /v1/regas/states over the wire."""

import copy
import json
import re
from typing import Any

import pytest

from service.api.openapi import example
from service.science.units import to_base
from tests.api.conforms import conforms
from tests.api.nearest import put

PATH = "/v1/regas/states"


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createRegasState"))


def post(client, body):
    return client.post(PATH, data=json.dumps(body), content_type="application/json")


def answered(client, body):
    response = post(client, body)
    answer = response.get_json()
    assert response.status_code == 200, answer
    conforms("createRegasState", answer)
    return answer


def poured(i: int, **more: Any) -> dict[str, Any]:
    at = f"2026-11-28T21:{i // 60 % 40:02d}:{i % 60:02d}+01:00"
    return {"id": f"e{i}", "at": at, "kind": "poured", **more}


def bar(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "bar"}


def test_the_example_is_what_the_document_promises(client, body):
    answer = answered(client, body)
    assert [vessel["status"] for vessel in answer["vessels"]] == ["ok", "ok", "ok"]
    assert answer["next"] == "fizz-1"
    assert answer["vessels"][1]["recharge"]["squeeze_first"]
    assert answer["vessels"][1]["corrections"][0]["event"] == "g-0004"
    assert answer["vessels"][2]["hold_pressure"]["unit"] == "bar"
    assert "duplicate-event" in {caution["code"] for caution in answer["cautions"]}


def test_what_is_to_be_discarded_gets_no_gas(client, body):
    """Past its use-by: no recharge, never next, and a danger that says so; before it as ever."""
    (first,) = [one["start"] for one in body["vessels"] if one["id"] == "fizz-1"]
    first["use_by"] = "2026-11-20T12:00:00+01:00"
    answer = answered(client, body)
    (found,) = [one for one in answer["vessels"] if one["id"] == "fizz-1"]
    assert "recharge" not in found
    assert answer.get("next") != "fizz-1"
    (told,) = [one for one in answer["cautions"] if one["code"] == "discard"]
    assert told["severity"] == "danger"
    assert all(pointer.startswith("/vessels/") for pointer in told["pointers"])
    first["use_by"] = "2027-01-20T12:00:00+01:00"
    later = answered(client, body)
    assert "discard" not in {one["code"] for one in later["cautions"]}
    assert later["next"] == "fizz-1"


def test_silence_is_filled_and_said(client, body):
    asked = {
        "now": body["now"],
        "vessels": [{"id": "one", "drink": body["drink"], "start": {"co2": {"value": 5, "unit": "g/l"}}}],
    }
    answer = answered(client, asked)
    pointers = {pointer for a in answer["assumptions"] for pointer in a["pointers"]}
    assert {"/vessel", "/vessels/0/start/fill", "/temperature", "/pour/volume", "/pour/manner", "/floor", "/open_for",
            "/site/altitude", "/vessels/0/air"} <= pointers  # fmt: skip
    assert "due_at" not in answer["vessels"][0]


def test_what_is_said_of_several_vessels_is_said_once(client, body):
    one = {"id": "one", "start": {"co2": {"value": 5, "unit": "g/l"}}}
    asked = {**body, "vessels": [{**one, "id": str(i)} for i in range(50)]}
    answer = answered(client, asked)
    (fill,) = (a for a in answer["assumptions"] if a["name"] == "fill, share of brimful")
    assert fill["pointers"] == [f"/vessels/{i}/start/fill" for i in range(50)]


@pytest.mark.parametrize("measured", [
    {"kind": "charged", "gauge_pressure": bar(2.5), "shake": {"value": 40, "unit": "s"}},
    {"kind": "moved", "temperature": {"value": 12, "unit": "c"}},
    {"kind": "opened"},
])  # fmt: skip
def test_a_vessel_comes_out_the_same_beside_others_that_begin_alike(client, body, measured):
    """The log of one vessel changes nothing for another that begins like it, and each has its own notes."""
    alike = {"start": {"co2": {"value": 6, "unit": "g/l"}}}
    logs = [{**alike, "id": "busy", "events": [{**measured, "id": "m", "at": body["now"]}, poured(1)]},
            {**alike, "id": "quiet"}, {**alike, "id": "poured", "events": [poured(1), poured(2)]}]  # fmt: skip
    alone = [answered(client, {**body, "vessels": [log]}) for log in logs]
    together = answered(client, {**body, "vessels": logs})
    assert together["vessels"] == [one["vessels"][0] for one in alone]
    for notes in ("cautions", "assumptions"):
        told = {(one["code"], one["text"], at) for one in together[notes] for at in one["pointers"]}
        assert told == {
            (one["code"], one["text"], at.replace("/vessels/0", f"/vessels/{i}"))
            for i, answer in enumerate(alone) for one in answer[notes] for at in one["pointers"]
        }  # fmt: skip


def test_us_units_say_the_same(client, body):
    """Tolerance 1e-9: twelve digits on the wire."""
    metric, us = answered(client, body), answered(client, {**body, "units": "us"})
    for one, other in zip(metric["vessels"], us["vessels"], strict=True):
        assert to_base("volume", **_value(other["liquid"])) == pytest.approx(one["liquid"]["value"], rel=1e-9)
        for end in ("low", "typical", "high"):
            found = to_base("co2", other["glass"][end], other["glass"]["unit"])
            assert found == pytest.approx(one["glass"][end], rel=1e-9)


def _value(quantity: dict[str, Any]) -> dict[str, Any]:
    return {"value": quantity["value"], "unit": quantity["unit"]}


@pytest.mark.parametrize(
    "events, slug, pointers",
    [
        ([poured(0), poured(60, volume={"value": 700, "unit": "ml"})], "pour-too-large", ["1/volume"]),
        ([poured(0), poured(60, serves=9)], "pour-too-large", ["1/serves"]),
        ([poured(0, volume={"value": 500, "unit": "ml"}), poured(60, serves=2), poured(120)], "pour-too-large",
         ["1/serves"]),
        ([poured(0), {**poured(60), "at": "2026-11-28T22:00:00+01:00"}], "log-contradiction", ["1/at"]),
        ([poured(0), {"id": "v", "at": "2026-11-28T21:10:00+01:00", "kind": "voided", "voids": "no"}],
         "log-contradiction", ["1/voids"]),
    ],
)  # fmt: skip
def test_an_event_is_refused_alone_and_nothing_that_happened_is_rewritten(client, body, events, slug, pointers):
    plain = answered(client, body)
    body["vessels"][0]["events"] = events
    answer = answered(client, body)
    assert [vessel["status"] for vessel in answer["vessels"]] == ["ok", "ok", "ok"]
    assert answer["vessels"][1:] == plain["vessels"][1:]
    refused = answer["vessels"][0]["refused_events"]
    problems = [one["problem"] for one in refused]
    assert [problem["type"] for problem in problems] == [f"/problems/{slug}"] * len(pointers)
    assert [e["pointer"] for p in problems for e in p["errors"]] == [f"/vessels/0/events/{at}" for at in pointers]
    assert all(e["pointer"].startswith(one["pointer"]) for one in refused for e in one["problem"]["errors"])
    assert not any({"nearest", "offers"} & problem.keys() for problem in problems)
    told = {int(one["pointer"].rpartition("/")[2]) for one in refused}
    body["vessels"][0]["events"] = [event for i, event in enumerate(events) if i not in told]
    without = answered(client, body)["vessels"]
    del answer["vessels"][0]["refused_events"]
    assert answer["vessels"] == without


def dangers(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """Code and pointer of each."""
    found = [caution for caution in answer["cautions"] if caution["severity"] == "danger"]
    assert all(re.search("(cool|let) it (thaw )?where it stands", caution["text"]) for caution in found)
    return [(caution["code"], at) for caution in found for at in caution["pointers"]]


AT = "/vessels/0/events/0/gauge_pressure"


@pytest.mark.parametrize(
    "event, told, known",
    [
        ({"kind": "charged", "gauge_pressure": bar(4)}, ["over-vessel-limit", "charged-over-limit"], True),
        ({"kind": "charged", "gauge_pressure": bar(30)},
         ["over-vessel-limit", "charged-over-limit", "level-not-known"], False),
        ({"kind": "charged", "gauge_pressure": bar(1), "temperature": {"value": 15, "unit": "c"}}, [], True),
        ({"kind": "read", "gauge_pressure": bar(8)}, ["over-limit-now"], True),
        ({"kind": "read", "gauge_pressure": bar(30)}, ["over-limit-now", "level-not-known"], False),
        ({"kind": "moved", "temperature": {"value": -5, "unit": "c"}}, ["may-hold-ice"], False),
        ({"kind": "moved", "temperature": {"value": 90, "unit": "c"}}, ["level-not-known"], False),
    ],
)  # fmt: skip
def test_what_was_done_with_a_vessel_never_refuses_it_and_its_danger_is_told(client, body, event, told, known):
    body["vessels"][0]["events"] = [{**poured(0), **event}]
    answer = answered(client, body)
    assert [vessel["status"] for vessel in answer["vessels"]] == ["ok", "ok", "ok"]
    assert dangers(answer) == [
        (code, "/vessels/0" if code in ("level-not-known", "may-hold-ice") else AT) for code in told
    ]
    first = answer["vessels"][0]
    assert ({"bottle", "glass"} <= first.keys()) == known
    assert "recharge" not in first
    assert answer.get("next") != first["id"]


def test_a_start_that_the_vessel_does_not_stand_is_told_as_a_danger(client, body):
    body["vessels"][1]["start"]["co2"]["value"] = 9
    answer = answered(client, body)
    assert dangers(answer) == [("over-vessel-limit", "/vessels/1/start/co2")]
    assert {vessel["status"] for vessel in answer["vessels"]} == {"ok"}


def test_a_conflicting_id_is_offered_nothing(client, body):
    body["vessels"][0]["events"][2]["serves"] = 2
    (refused,) = answered(client, body)["vessels"][0]["refused_events"]
    problem = refused["problem"]
    assert [(e["pointer"], e["code"]) for e in problem["errors"]] == [("/vessels/0/events/2/id", "conflicting-id")]
    assert "nearest" not in problem


def test_all_vessels_may_be_refused(client, body):
    for vessel in body["vessels"]:
        vessel.pop("drink", None)
        vessel["drink_key"] = "nonsense"
    answer = answered(client, body)
    assert {vessel["status"] for vessel in answer["vessels"]} == {"refused"}
    assert "next" not in answer
    for i, vessel in enumerate(answer["vessels"]):
        assert vessel.keys() == {"id", "status", "problem"}
        assert [(e["pointer"], e["code"]) for e in vessel["problem"]["errors"]] == [
            (f"/vessels/{i}/drink_key", "unknown-key")
        ]


def faults(client, body):
    response = post(client, body)
    assert response.status_code == 422
    return {(error["pointer"], error["code"]) for error in response.get_json()["errors"]}


def test_5001_events_are_too_many(client, body):
    """The count is of one vessel, or of all of them together; 5,000 are not too many."""
    body["vessels"][0]["events"] = [poured(i % 2400, volume={"value": 10, "unit": "ml"}) for i in range(5001)]
    assert ("/vessels/0/events", "length") in faults(client, body)
    body["vessels"][0]["events"].pop()
    assert faults(client, body) == {("/vessels", "length")}
    body["vessels"] = body["vessels"][:1]
    answered(client, body)


@pytest.mark.parametrize("kind", ["charged", "read", "moved"])
def test_events_that_are_measured_are_bounded_in_all(client, body, kind):
    """1,000 of them; what names each stays within what a list of pointers may hold."""
    more = {"temperature": {"value": 3, "unit": "c"}} if kind == "moved" else {}
    more |= {} if kind == "moved" else {"gauge_pressure": {"value": 1, "unit": "bar"}}
    event = {"id": "", "at": "2026-11-28T21:00:00+01:00", "kind": kind, **more}
    closed = {**event, "kind": "closed"}
    del closed["temperature" if kind == "moved" else "gauge_pressure"]
    body["vessels"] = body["vessels"][:1]
    body["vessels"][0]["events"] = [{**event, "id": f"m{i}"} for i in range(1000)]
    body["vessels"][0]["events"] += [{**closed, "id": f"c{i}"} for i in range(10)]
    answered(client, body)
    body["vessels"][0]["events"].append({**event, "id": "one more"})
    assert faults(client, body) == {("/vessels", "length")}


def test_components_of_all_drinks_are_bounded(client, body):
    component = {"amount": {"value": 5, "unit": "ml"}, "abv": 10}
    spec = {"name": "Twelve, invented", "components": [{**component, "name": f"{i}"} for i in range(12)]}
    vessel = {**body["vessels"][0], "drink": {"spec": spec}, "events": []}
    body["vessels"] = [{**vessel, "id": f"v{i}"} for i in range(50)]
    answered(client, body)
    longer = {**spec, "components": [*spec["components"], {**component, "name": "12"}]}
    body["vessels"][7] = {**vessel, "id": "v7", "drink": {"spec": longer}}
    assert faults(client, body) == {("/vessels", "too-many-lines")}


@pytest.mark.parametrize("at", ["2026-11-28T21:00:00", "2026-11-28 21:00:00+01:00", "21:00", 5])
def test_a_time_has_its_offset(client, body, at):
    put(body, "/vessels/0/events/0/at", at)
    assert faults(client, body) == {("/vessels/0/events/0/at", "not-a-moment")}


@pytest.mark.parametrize(
    "pointer, value, code",
    [
        ("/now", "2026-11-28T21:40:00", "not-a-moment"),
        ("/nonsense", 1, "unknown-field"),
        ("/vessels/0/nonsense", 1, "unknown-field"),
        ("/vessels/0/events/0/nonsense", 1, "unknown-field"),
        ("/vessels/0/events/0/kind", "spilt", "not-a-choice"),
        ("/vessels/0/events/0/serves", 0, "out-of-range"),
        ("/vessels/0/events/0/serves", None, "null"),
        ("/vessels/0/events/0/temperature", {"value": 3, "unit": "c"}, "not-needed"),
        ("/vessels/0/events/2/serves", 1, "not-needed"),
        ("/vessels/0/events/0", "poured", "not-an-object"),
        ("/vessels/0/events", {}, "not-a-list"),
        ("/vessels/1/id", "highball-1", "duplicate"),
        ("/serves_per_hour", 0, "out-of-range"),
    ],
)
def test_bad_input_is_named(client, body, pointer, value, code):
    body["vessels"][0]["events"][2] = poured(5, volume={"value": 60, "unit": "ml"})
    put(body, pointer, value)
    assert faults(client, body) == {(pointer, code)}


@pytest.mark.parametrize(
    "kind, lacks", [("charged", "gauge_pressure"), ("read", "gauge_pressure"), ("moved", "temperature")]
)
def test_an_event_says_what_its_kind_needs(client, body, kind, lacks):
    body["vessels"][0]["events"] = [{**poured(0), "kind": kind}]
    assert faults(client, body) == {(f"/vessels/0/events/0/{lacks}", "required")}


def test_every_fault_of_every_event_is_named(client, body):
    body["vessels"][0]["events"] = [{"id": "a", "kind": "poured"}, poured(1), {**poured(2), "at": "late", "serves": -1}]
    assert faults(client, body) == {
        ("/vessels/0/events/0/at", "required"),
        ("/vessels/0/events/2/at", "not-a-moment"),
        ("/vessels/0/events/2/serves", "out-of-range"),
    }


def test_every_vessel_has_a_drink(client, body):
    del body["drink"]
    assert faults(client, body) == {("/vessels/0/drink", "required")}


@pytest.mark.parametrize("name", ["now", "vessels"])
def test_what_is_required(client, body, name):
    del body[name]
    assert (f"/{name}", "required") in faults(client, body)


def test_of_very_many_refusals_the_first_are_told_and_how_many_more(client, body):
    later = "2026-11-28T23:00:00+01:00"
    body["vessels"][0]["events"] = [{"id": f"e{i}", "at": later, "kind": "poured"} for i in range(1200)]
    answer = answered(client, body)
    assert len(answer["vessels"][0]["refused_events"]) == 1000
    (told,) = [c for c in answer["cautions"] if c["code"] == "more-refused"]
    assert [param["value"] for param in told["params"]] == [200]
