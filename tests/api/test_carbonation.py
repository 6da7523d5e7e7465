"""Set-points and charges through the API."""

import json
import re
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.api.openapi import example
from service.science.units import from_base
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest, offers, put

SET_POINTS, CHARGES, READING = "createSetPoints", "createCharges", "createReading"
CHARGING = {SET_POINTS: "/v1/carbonation/set-points", CHARGES: "/v1/carbonation/charges"}
PATHS = {**CHARGING, READING: "/v1/carbonation/readings"}
BARE = {"drink": {"composition": {"abv": 9, "sugar": {"value": 70, "unit": "g/l"}}}}
STAMPED = {
    "material": "steel",
    "capacity": {"value": 19, "unit": "l"},
    "charge_limit": {"value": 4, "unit": "bar"},
    "closed_limit": {"value": 8, "unit": "bar"},
    "rated_by": "stamp",
}


def c(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "c"}


def bar(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "bar"}


def gpl(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "g/l"}


def changed(operation: str, changes: dict[str, Any]) -> dict[str, Any]:
    """The example request with values put at pointers; None takes the member out."""
    body = deepcopy(example(operation))
    for pointer, value in changes.items():
        if value is None:
            body.pop(pointer[1:], None)
        else:
            put(body, pointer, value)
    return body


def post(client: FlaskClient, operation: str, body: Any) -> tuple[int, dict[str, Any]]:
    response = client.post(PATHS[operation], data=json.dumps(body), content_type="application/json")
    return response.status_code, response.get_json()


@pytest.mark.parametrize("operation", PATHS)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_example_is_answered_as_the_document_says(client: FlaskClient, operation: str, units: str) -> None:
    status, answer = post(client, operation, changed(operation, {"/units": units}))
    assert status == 200
    conforms(operation, answer)


@pytest.mark.parametrize("operation", CHARGING)
def test_a_drink_alone_is_answered_with_every_default_named(client: FlaskClient, operation: str) -> None:
    status, answer = post(client, operation, {**BARE, "target": gpl(5)})
    assert status == 200
    conforms(operation, answer)
    named = {p for a in answer["assumptions"] for p in a["pointers"]}
    common = {"/vessel", "/fill", "/air", "/site/altitude", "/site/warmest_room"}
    charging = {"/temperature", "/start_co2", "/gauge_pressure", "/charge_count", "/shake", "/rest", "/agitation"}
    assert named >= common | ({"/temperatures"} if operation == SET_POINTS else charging)
    assert answer["cautions"] == []  # what holds every night is no caution
    assert "arithmetic" in answer["safety"]["text"]


def test_the_target_is_a_highball_unless_stated(client: FlaskClient) -> None:
    """7 g/l; common practice, no source."""
    status, answer = post(client, CHARGES, {**BARE, "vessel": STAMPED})
    assert status == 200
    assert next(a for a in answer["assumptions"] if a["name"] == "target")["quantity"] == {"value": 7.0, "unit": "g/l"}


def test_where_the_vessel_stands_less_the_most_it_stands_is_assumed_and_said(client: FlaskClient) -> None:
    weaker = {**BARE, "vessel": {"preset": "pet-1-l", "closed_limit": bar(4)}}
    status, answer = post(client, CHARGES, weaker)
    assert status == 200
    target = next(a for a in answer["assumptions"] if a["name"] == "target")
    assert target["quantity"]["value"] < 7.0
    assert "most that vessel and regulator allow" in target["source"]
    more = {"value": target["quantity"]["value"] + 0.2, "unit": "g/l"}
    status, problem = post(client, CHARGES, {**weaker, "target": more})
    assert (status, problem["type"]) == (422, "/problems/over-vessel-limit")


US = {"pressure": "psi", "temperature": "f", "co2": "volumes", "mass": "g"}
KINDS = {"bar": "pressure", "c": "temperature", "g/l": "co2", "g": "mass"}
ANSWERED = {
    "points", "highest", "charges", "plan", "worst", "check", "never_over", "closed", "co2_used", "gauge_pressure",
    "co2", "by_gauge", "by_weight", "warm_room", "advice",
}  # fmt: skip


def figures(answer: Any, at: str = "") -> Iterator[tuple[str, float, str]]:
    """Every figure that has a unit, with where it stands; those of a sentence, rounded as people read it, apart."""
    if isinstance(answer, dict) and "unit" in answer and "name" not in answer:
        yield from ((f"{at}/{end}", answer[end], answer["unit"]) for end in ENDS if end in answer)
    elif isinstance(answer, dict):
        for key, inner in answer.items():
            yield from figures(inner, f"{at}/{key}")
    elif isinstance(answer, list):
        for i, inner in enumerate(answer):
            yield from figures(inner, f"{at}/{i}")


ENDS = ("value", "low", "typical", "high")


@pytest.mark.parametrize("operation, changes", [
    (SET_POINTS, {}), (CHARGES, {}), (CHARGES, {"/charge_count": 1, "/shake": {"value": 10, "unit": "s"}}),
    (CHARGES, {"/vessel": STAMPED, "/air": None, "/connected": True}), (CHARGES, {"/held": "timed"}),
    (SET_POINTS, {"/vessel": None}), (READING, {}),
    (READING, {"/gauge_pressure": bar(2), "/mass_before": None, "/mass_after": None}),
])  # fmt: skip
def test_us_and_metric_answers_agree(client: FlaskClient, operation: str, changes: dict[str, Any]) -> None:
    """A duration reads the same in both."""
    metric, us = (
        list(figures({k: v for k, v in post(client, operation, body)[1].items() if k in ANSWERED}))
        for body in (changed(operation, {**changes, "/units": units}) for units in ("metric", "us"))
    )
    assert [at for at, _, _ in metric] == [at for at, _, _ in us]
    for (_, one, unit), (_, other, us_unit) in zip(metric, us, strict=True):
        kind = KINDS.get(unit)
        assert us_unit == (US[kind] if kind else unit)
        assert other == pytest.approx(from_base(kind, one, us_unit) if kind else one, rel=1e-9, abs=1e-9)
    assert len(metric) > 8


SQUEEZED = {"method": "squeezed", "remaining": {"value": 20, "unit": "ml"}}
REFUSED: list[tuple[str, dict[str, Any]]] = [
    ("no-headspace", {"/fill": 0.95, "/target": gpl(4.5)}),
    ("no-headspace", {"/fill": 1.0, "/target": gpl(4.5)}),
    ("no-headspace", {"/vessel": {"preset": "keg-19-l"}, "/air": None, "/fill": 0.97, "/target": gpl(4.5)}),
    ("over-vessel-limit", {"/target": gpl(9)}),
    ("over-vessel-limit", {"/target": {"value": 5, "unit": "volumes"}}),
    ("over-vessel-limit", {"/target": gpl(15)}),
    ("over-vessel-limit", {"/site/warmest_room": c(40), "/target": gpl(7)}),
    ("over-vessel-limit", {"/fill": 0.9, "/target": gpl(7.5)}),
    ("over-vessel-limit", {"/vessel/closed_limit": bar(2.5)}),
    ("over-vessel-limit", {"/vessel/charge_limit": bar(0.8), "/site/relief_set": bar(0.8)}),
    ("over-vessel-limit", {"/air": {"method": "left"}, "/target": gpl(7)}),
    ("over-vessel-limit", {"/air": {"method": "purged", "pressure": bar(5)}}),
    ("over-vessel-limit", {"/vessel": STAMPED, "/target": gpl(12), "/air": None, "/site/relief_set": bar(4)}),
    ("over-vessel-limit", {"/vessel": {"preset": "pet-2-l"}, "/target": gpl(7.5)}),
    ("over-vessel-limit", {"/vessel": {"preset": "keg-30-l"}, "/target": gpl(7), "/air": None}),
    ("unreachable", {"/target": gpl(1.5), "/air": {"method": "none"}}),
    ("air-handling", {"/air": {**SQUEEZED, "remaining": {"value": 900, "unit": "ml"}}, "/target": gpl(3.5)}),
    ("air-handling", {"/vessel": {"preset": "keg-19-l"}, "/air": SQUEEZED, "/target": gpl(4.5)}),
    ("unreachable", {"/site": {"regulator_max": bar(0.7)}}),
    ("unreachable", {"/site": {"regulator_max": bar(4), "relief_set": {"value": 10, "unit": "psi"}}}),
    ("over-vessel-limit", {"/site": {"regulator_max": bar(0.7)}, "/target": gpl(9)}),
    (
        "over-vessel-limit",
        {"/site/relief_set": bar(0.7), "/air": {"method": "purged", "pressure": bar(1)}, "/target": gpl(3)},
    ),
    ("outside-validity", {"/drink": {"composition": {"abv": 44, "sugar": gpl(0)}}, "/target": gpl(4.5)}),
    ("site-contradiction", {"/site/altitude": {"value": 1600, "unit": "m"}, "/site/barometer": bar(1.0)}),
]
OF_CHARGES: list[tuple[str, dict[str, Any]]] = [
    ("would-freeze", {"/temperature": c(-6)}),
    ("too-warm", {"/temperature": c(10.5)}),
    ("too-warm", {"/temperature": {"value": 68, "unit": "f"}}),
    ("over-vessel-limit", {"/gauge_pressure": bar(2.4)}),
    ("over-vessel-limit", {"/gauge_pressure": {"value": 60, "unit": "psi"}}),
    ("over-vessel-limit", {"/start_co2": gpl(14)}),
    ("over-vessel-limit", {"/held": "timed", "/target": gpl(9)}),
    ("over-vessel-limit", {"/held": "timed", "/gauge_pressure": bar(3)}),
    ("timed-charging", {"/held": "timed", "/vessel": {"preset": "keg-19-l"}, "/air": None}),
    ("timed-charging", {"/held": "timed", "/vessel": {"preset": "pet-2-l"}}),
    ("left-connected", {"/connected": True}),
    ("unreachable", {"/shake": {"value": 0, "unit": "s"}}),
    ("unreachable", {"/gauge_pressure": bar(-1.5)}),
    ("unreachable", {"/gauge_pressure": {"value": 0, "unit": "psi"}}),
    ("refused", {"/shake": {"value": 0, "unit": "min"}, "/gauge_pressure": bar(-1.1), "/fill": 0.95}),
    ("refused", {"/target": gpl(1), "/start_co2": gpl(14), "/air": {"method": "none"}}),
    ("refused", {"/fill": 0.97, "/temperature": c(25), "/target": gpl(9), "/connected": True,
                 "/air": {**SQUEEZED, "remaining": {"value": 500, "unit": "ml"}}}),
    ("refused", {"/start_co2": gpl(14), "/gauge_pressure": bar(2.8), "/temperature": c(-8)}),
]  # fmt: skip
OF_SET_POINTS: list[tuple[str, dict[str, Any]]] = [
    ("would-freeze", {"/temperatures": [c(-6), c(-9)]}),
    ("too-warm", {"/temperatures": [c(11), c(20)]}),
    ("refused", {"/temperatures": [c(-6), c(20)]}),
    ("refused", {"/temperatures": [c(20), c(5), c(-6)], "/target": gpl(8), "/fill": 0.95}),
]
OF_THE_VESSEL: list[tuple[str, dict[str, Any]]] = [
    ("vessel-refused", {"/vessel": {"preset": "pet-1-l", "material": "glass"}}),
    ("vessel-refused", {"/vessel": {"material": "pet", "capacity": {"value": 1, "unit": "l"}}}),
    ("vessel-refused", {"/vessel": {"preset": "pet-1-l", "made_for_carbonation": False}}),
    ("vessel-refused", {"/vessel": {"preset": "pet-1-l", "cycles": 10}}),
    ("vessel-refused", {"/vessel": {"preset": "pet-1-l", "cycles": 20, "refillable": True}}),
    ("vessel-refused", {"/vessel": {"preset": "pet-1-l", "closed_limit": bar(6.6)}}),
    ("vessel-refused", {"/vessel": {"preset": "pet-1-l", "closed_limit": bar(7), "rated_by": "maker"}}),
    ("vessel-refused", {"/vessel": {"preset": "pet-1-l", "closed_limit": bar(6.8), "rated_by": "stamp"}}),
    ("vessel-refused", {"/vessel": {"preset": "keg-30-l", "closed_limit": bar(7)}, "/air": None}),
    ("vessel-refused", {"/vessel": {**STAMPED, "rated_by": "maker"}, "/air": None}),
    ("vessel-refused", {"/vessel": {**STAMPED, "charge_limit": bar(10), "closed_limit": bar(20)}, "/air": None}),
    ("vessel-refused", {"/vessel": {"material": "steel", "capacity": {"value": 19, "unit": "l"}}}),
    ("vessel-refused", {"/vessel": {}}),
    *(
        ("vessel-refused", {"/vessel": {"preset": "pet-1-l", "condition": condition}})
        for condition in ("creased", "whitened", "bulged", "dropped", "unknown")
    ),
    (
        "vessel-refused",
        {"/vessel": {"preset": "pet-1-l", "first_used": "2026-03-02"}, "/now": "2026-11-28T16:30:00+00:00"},
    ),
    ("regulator-unsafe", {"/site/relief_set": bar(3.6)}),
    ("regulator-unsafe", {"/site/gas_source": "cartridge"}),
    ("refused", {"/vessel": {"preset": "pet-1-l", "condition": "bulged"}, "/fill": 0.97, "/target": gpl(9)}),
]
OF_READINGS: list[tuple[str, dict[str, Any]]] = [
    ("impossible-reading", {"/gauge_pressure": {"value": -20, "unit": "psi"}}),
    ("impossible-reading", {"/gauge_pressure": bar(15), "/mass_before": None, "/mass_after": None}),
    ("impossible-reading", {"/mass_after": {"value": 800, "unit": "g"}}),
    ("too-warm", {"/temperature": c(45)}),
    ("would-freeze", {"/temperature": c(-8)}),
]


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("operation, slug, changes", [
    *((CHARGES, *case) for case in (*REFUSED, *OF_CHARGES)),
    *((SET_POINTS, *case) for case in (*REFUSED, *OF_SET_POINTS)),
])  # fmt: skip
def test_what_a_refusal_offers_works(
    client: FlaskClient, operation: str, slug: str, changes: dict[str, Any], units: str
) -> None:
    body = changed(operation, {**changes, "/units": units})
    status, problem = post(client, operation, body)
    assert (status, problem["type"]) == (422, f"/problems/{slug}"), problem
    assert {n["pointer"] for n in problem["nearest"]}
    for mended in offers(body, problem):
        status, again = post(client, operation, mended)
        assert status == 200, again


@pytest.mark.parametrize("operation, slug, changes", [
    *((CHARGES, *case) for case in OF_THE_VESSEL), *((SET_POINTS, *case) for case in OF_THE_VESSEL),
    *((READING, *case) for case in OF_READINGS),
])  # fmt: skip
def test_what_only_the_bar_knows_is_refused_without_an_offer(
    client: FlaskClient, operation: str, slug: str, changes: dict[str, Any]
) -> None:
    """Its vessel, its relief valve, its gas, and what it read: words say what would do, and no value stands in."""
    status, problem = post(client, operation, changed(operation, changes))
    assert (status, problem["type"]) == (422, f"/problems/{slug}"), problem
    assert problem["errors"]
    assert not {"nearest", "offers"} & problem.keys()


@pytest.mark.parametrize("operation", PATHS)
@pytest.mark.parametrize("slug, pointer, drink", [
    ("live-culture", "/drink/composition/live_culture",
     {"composition": {"abv": 12, "sugar": gpl(40), "live_culture": True}}),
    ("outside-validity", "/drink", {"spec": {"name": "Neat", "components": [
        {"name": "Spirit", "amount": {"value": 50, "unit": "ml"}, "abv": 41}]}}),
    ("outside-validity", "/drink", {"composition": {"abv": 10, "sugar": gpl(410)}}),
])  # fmt: skip
def test_drinks_that_nothing_mends(client: FlaskClient, operation: str, slug: str, pointer: str, drink: Any) -> None:
    status, problem = post(client, operation, changed(operation, {"/drink": drink}))
    assert (status, problem["type"]) == (422, f"/problems/{slug}")
    assert [e["pointer"] for e in problem["errors"]] == [pointer]
    assert "nearest" not in problem


def test_refusal_reads_as_the_trade_says_it(client: FlaskClient) -> None:
    _, problem = post(client, CHARGES, changed(CHARGES, {"/target": gpl(8)}))
    assert problem["detail"].startswith("Do not charge: this 1 l PET bottle could reach 6.")
    assert "its limit is 6.50 bar. The maker's rating" in problem["detail"]
    assert problem["detail"].endswith("not approval. Nearest that works: Fill to 0.75 of brimful.")
    assert not any("Nearest" in e["text"] for e in problem["errors"])
    assert {f["name"] for f in problem["facts"]} == {"dial", "reached", "charge_limit", "closed_limit"}


PRINTED = re.compile(r"([0-9.]+) (psi|bar|volumes|g/l|of brimful)")


def printed(text: str) -> list[tuple[float, str]]:
    return [(float(number), unit) for number, unit in PRINTED.findall(text)]


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("fill", [0.8, 0.83, 0.87])
@pytest.mark.parametrize("pointer, value", [
    ("/target", gpl(8.3)), ("/target", gpl(9.3)), ("/gauge_pressure", bar(2.9)), ("/gauge_pressure", bar(4)),
    ("/start_co2", gpl(12)),
])  # fmt: skip
def test_the_figure_that_is_printed_works(
    client: FlaskClient, pointer: str, value: Any, fill: float, units: str
) -> None:
    """No figure is rounded to its unsafe side: the one in the sentence is the one that is offered, and it passes."""
    body = changed(CHARGES, {"/fill": fill, "/target": gpl(5), "/units": units} | {pointer: value})
    status, problem = post(client, CHARGES, body)
    assert status == 422
    first, *_ = problem["offers"]
    assert problem["detail"].endswith(f" Nearest that works: {first['text']}")
    for offer in problem["offers"]:
        (near,) = offer["nearest"]
        in_words = printed(offer["text"])
        if offer["code"] == "fill-less":
            assert in_words == [(near["value"], "of brimful")]
        elif not offer["code"].startswith("air-"):
            assert in_words == [(near["value"]["value"], near["value"]["unit"])]
        again = deepcopy(body)
        put(again, near["pointer"], near["value"])
        assert post(client, CHARGES, again)[0] == 200


def test_what_is_assumed_is_in_the_callers_units(client: FlaskClient) -> None:
    for units, pressure in (("metric", "bar"), ("us", "psi")):
        _, answer = post(client, CHARGES, {**BARE, "target": gpl(5), "units": units})
        assumed = {a["name"]: a for a in answer["assumptions"]}
        assert assumed["rest"]["quantity"] == {"value": 1.0, "unit": "min"}
        assert (assumed["shake"]["quantity"], assumed["shake"]["value"]) == ({"value": 0.5, "unit": "min"}, "30 s")
        assert assumed["dial, gauge"]["quantity"]["unit"] == pressure


def test_sensitivities_are_said_in_the_callers_units(client: FlaskClient) -> None:
    def said(units: str) -> list[str]:
        _, answer = post(client, SET_POINTS, {**BARE, "target": gpl(5), "units": units})
        return [s["change"] for s in answer["sensitivities"]]

    assert said("metric")[0] == "2.0 °C instead of 1.0 °C"
    assert said("us")[0] == "36 °F instead of 34 °F"
    assert said("us")[3] == "2.78 volumes of CO2 instead of 2.53 volumes"  # 5.5 and 5 g/l over 1.977


@pytest.mark.parametrize("operation", CHARGING)
def test_the_component_that_is_alive_is_named(client: FlaskClient, operation: str) -> None:
    body = changed(operation, {"/drink/spec/components/1/live_culture": True})
    _, problem = post(client, operation, body)
    assert [e["pointer"] for e in problem["errors"]] == ["/drink/spec/components/1/live_culture"]


@pytest.mark.parametrize("operation", CHARGING)
def test_a_purge_over_what_may_be_dialled_is_refused_with_one_that_works(client: FlaskClient, operation: str) -> None:
    for units in ("metric", "us"):
        purged = {"method": "purged", "pressure": bar(2.4)}
        body = changed(operation, {"/air": purged, "/target": gpl(5), "/units": units})
        status, problem = post(client, operation, body)
        assert (status, [e["pointer"] for e in problem["errors"]]) == (422, ["/air/pressure"])
        assert [post(client, operation, mended)[0] for mended in offers(body, problem)] == [200]


def test_temperatures_out_of_range_are_refused_where_they_stand(client: FlaskClient) -> None:
    body = {"drink": {"composition": {"abv": 0, "sugar": gpl(0)}}, "temperatures": [c(-17), c(5)]}
    status, answer = post(client, SET_POINTS, body)
    assert (status, [p["status"] for p in answer["points"]]) == (200, ["refused", "ok"])
    assert answer["points"][0]["problem"]["errors"][0]["pointer"] == "/temperatures/0"
    for only in (-3, -17, 50):
        status, problem = post(client, SET_POINTS, {**body, "temperatures": [c(only)]})
        assert (status, [e["pointer"] for e in problem["errors"]]) == (422, ["/temperatures/0"])


def test_each_point_of_a_set_stands_for_itself(client: FlaskClient) -> None:
    """A point that is refused carries its own problem, whose nearest makes that point ok."""
    body = changed(SET_POINTS, {"/temperatures": [c(-6), c(1), c(15)]})
    status, answer = post(client, SET_POINTS, body)
    assert status == 200
    conforms(SET_POINTS, answer)
    assert [p["status"] for p in answer["points"]] == ["refused", "ok", "refused"]
    assert [p["limits"] for p in answer["points"]][::2] == [["freezing"], ["too-warm"]]
    for i in (0, 2):
        again = post(client, SET_POINTS, apply_nearest(body, answer["points"][i]["problem"]))[1]
        assert again["points"][i]["status"] == "ok"


def test_the_dial_never_asks_for_more_than_it_may(client: FlaskClient) -> None:
    _, answer = post(client, CHARGES, example(CHARGES))
    assert answer["gauge_pressure"]["value"] <= answer["never_over"]["value"]
    body = changed(CHARGES, {"/gauge_pressure": answer["never_over"]})
    assert post(client, CHARGES, body)[0] == 200
    body = changed(CHARGES, {"/gauge_pressure": bar(answer["never_over"]["value"] + 0.001)})
    assert post(client, CHARGES, body)[0] == 422


def test_a_keg_on_the_gas_counts_in_days(client: FlaskClient) -> None:
    changes = {"/vessel": STAMPED, "/connected": True, "/air": None, "/charge_count": None, "/agitation": None}
    status, answer = post(client, CHARGES, changed(CHARGES, changes))
    assert status == 200
    conforms(CHARGES, answer)
    assert answer["days_to_target"]["typical"] > 0.5
    assert "charges_to_target" not in answer


@pytest.mark.parametrize("operation, pointer, value, at, code", [
    (CHARGES, "/shake", {"value": -1, "unit": "s"}, "/shake/value", "out-of-range"),
    (CHARGES, "/rest", {"value": -1, "unit": "min"}, "/rest/value", "out-of-range"),
    (CHARGES, "/charge_count", 0, "/charge_count", "out-of-range"),
    (CHARGES, "/charge_count", 1.5, "/charge_count", "not-an-integer"),
    (CHARGES, "/gauge_pressure", bar(-2.5), "/gauge_pressure/value", "out-of-range"),
    (CHARGES, "/as_needed", True, "/charge_count", "described-twice"),
    (READING, "/mass_after", None, "/mass_after", "required"),
    (READING, "/temperature", None, "/temperature", "required"),
    (READING, "/vessel/first_used", "2026-02-30", "/vessel/first_used", "not-a-date"),
    (READING, "/vessel/first_used", "20260101", "/vessel/first_used", "not-a-date"),
    (READING, "/now", "yesterday", "/now", "not-a-moment"),
    (READING, "/calibration", {"solubility": {"value": 1}}, "/calibration/solubility/standard_error", "required"),
    (CHARGES, "/gauge_pressure", {"value": 1, "unit": "g/l"}, "/gauge_pressure/unit", "unit"),
    (CHARGES, "/gauge_pressure", 1.5, "/gauge_pressure", "not-a-quantity"),
    (CHARGES, "/connected", "yes", "/connected", "not-a-boolean"),
    (CHARGES, "/agitation", "stirred", "/agitation", "not-a-choice"),
    (CHARGES, "/start_co2", gpl(-1), "/start_co2/value", "out-of-range"),
    (CHARGES, "/temperature", {"value": 1, "unit": "x"}, "/temperature/unit", "unit"),
    (SET_POINTS, "/temperatures", [], "/temperatures", "length"),
    (SET_POINTS, "/temperatures", [c(1)] * 51, "/temperatures", "length"),
    (SET_POINTS, "/temperatures", [c(1), {"value": 1, "unit": "bar"}], "/temperatures/1/unit", "unit"),
    (SET_POINTS, "/site/barometer", bar(-0.1), "/site/barometer/value", "out-of-range"),
    *((o, "/target", gpl(0), "/target/value", "out-of-range") for o in PATHS),
    *((o, "/target", "lots", "/target", "not-a-quantity") for o in PATHS),
    *((o, "/fill", -0.1, "/fill", "out-of-range") for o in PATHS),
    *((o, "/dial", 1, "/dial", "unknown-field") for o in PATHS),
    *((o, "/vessel/volume", 1, "/vessel/volume", "unknown-field") for o in PATHS),
])  # fmt: skip
def test_bad_input_is_named(client: FlaskClient, operation: str, pointer: str, value: Any, at: str, code: str) -> None:
    status, problem = post(client, operation, changed(operation, {pointer: value}))
    assert (status, problem["type"]) == (422, "/problems/invalid-request")
    assert [(e["pointer"], e["code"]) for e in problem["errors"]] == [(at, code)]


@pytest.mark.parametrize("operation", PATHS)
def test_missing_null_and_nan(client: FlaskClient, operation: str) -> None:
    status, problem = post(client, operation, changed(operation, {"/drink": None}))
    assert (status, problem["errors"][0]["pointer"], problem["errors"][0]["code"]) == (422, "/drink", "required")
    body = changed(operation, {})
    body["fill"] = None
    status, problem = post(client, operation, body)
    assert (status, problem["errors"][0]["pointer"], problem["errors"][0]["code"]) == (422, "/fill", "null")
    status, problem = post(client, operation, changed(operation, {"/fill": float("nan")}))
    assert (status, problem["type"]) == (400, "/problems/invalid-json")


def test_a_sentence_that_all_points_are_refused_with_is_said_once(client: FlaskClient) -> None:
    status, problem = post(client, SET_POINTS, changed(SET_POINTS, {"/temperatures": [c(20), c(20), c(20)]}))
    assert status == 422
    said = {error["text"] for error in problem["errors"]}
    assert len(problem["errors"]) == 3
    assert all(problem["detail"].count(text) == 1 for text in said)


def test_what_forbids_the_target_at_every_temperature_is_said_once(client: FlaskClient) -> None:
    temperatures = [c(1 + 0.15 * i) for i in range(50)]
    status, problem = post(client, SET_POINTS, changed(SET_POINTS, {"/temperatures": temperatures, "/target": gpl(9)}))
    assert (status, problem["type"]) == (422, "/problems/over-vessel-limit")
    found = sorted((error["pointer"], error["code"]) for error in problem["errors"])
    assert found == [("/target", "charge-limit"), ("/target", "closed-limit"), ("/target", "relief-set")]


def test_as_many_charges_as_needed(client: FlaskClient) -> None:
    status, answer = post(client, CHARGES, changed(CHARGES, {"/charge_count": None, "/as_needed": True}))
    assert status == 200
    conforms(CHARGES, answer)
    assert len(answer["charges"]) == answer["charges_to_target"]["typical"]
    assert "/as_needed" in {p for a in answer["assumptions"] for p in a["pointers"]}


def test_a_reading_says_verdict_band_and_danger(client: FlaskClient) -> None:
    """7 g/l at 1 degC in a bottle; see `tests.test_reading`."""
    only = {**BARE, "gauge_pressure": bar(2.4), "temperature": c(1), "air": {"method": "none"}, "target": gpl(5)}
    status, answer = post(client, READING, only)
    assert (status, answer["verdict"]) == (200, "over")
    conforms(READING, answer)
    assert answer["co2"] == answer["by_gauge"]
    assert "by_weight" not in answer
    (danger,) = (x for x in answer["cautions"] if x["severity"] == "danger")
    assert "cool it where it stands" in danger["text"]
    assert "vent it only once it is cold" in danger["text"]
    assert danger["text"].endswith("this is arithmetic, not approval.")


def test_nothing_read_is_said(client: FlaskClient) -> None:
    status, problem = post(client, READING, {**BARE, "temperature": c(1)})
    assert (status, [e["code"] for e in problem["errors"]]) == (422, ["nothing-read"])


def test_what_no_figure_mends_is_refused_without_one(client: FlaskClient) -> None:
    status, problem = post(client, READING, changed(READING, {"/gauge_pressure": bar(15)}))
    assert status == 422
    assert "nearest" not in problem


@pytest.mark.parametrize("calibration, code", [
    ({"solubility": {"value": 1.3, "standard_error": 0.01}}, "implausible"),
    ({"solubility": {"value": 1.0, "standard_error": 0.4}}, "too-uncertain"),
    ({"uptake_per_s": [{"agitation": "shaken", "value": 1e-9, "standard_error": 0}]}, "implausible"),
    ({"uptake_per_s": [{"agitation": "still", "value": 1e-4, "standard_error": 1}]}, "too-uncertain"),
    ({"loss_per_s": {"value": 1, "standard_error": 0.1}}, "implausible"),
])  # fmt: skip
@pytest.mark.parametrize("operation", [CHARGES, READING])
def test_a_calibration_that_is_no_drinks_is_refused_and_the_model_offered(
    client: FlaskClient, operation: str, calibration: dict[str, Any], code: str
) -> None:
    body = changed(operation, {"/calibration": calibration})
    status, problem = post(client, operation, body)
    assert (status, problem["type"]) == (422, "/problems/calibration-refused")
    assert [e["code"] for e in problem["errors"]] == [code]
    assert post(client, operation, apply_nearest(body, problem))[0] == 200


def test_an_old_bottle_is_not_judged_without_a_moment(client: FlaskClient) -> None:
    _, answer = post(client, CHARGES, changed(CHARGES, {"/vessel/first_used": "2020-01-01"}))
    assert "age-not-judged" in {x["code"] for x in answer["cautions"]}
