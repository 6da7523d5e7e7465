"""POST /v1/draught/lines over the wire."""

import copy
import json
import re
from typing import Any

import pytest
from flask.testing import FlaskClient
from wcwidth import width

from service.api.openapi import example
from service.api.openapi.paths import examples
from service.science.units import to_base
from tests.api.conforms import conforms
from tests.api.nearest import offers, put

PATH, OPERATION = "/v1/draught/lines", "createDraughtLine"
EXAMPLES = {name: shown["value"] for name, shown in examples(OPERATION).items()}
BARE = {
    "drink": {"composition": {"abv": 8, "sugar": {"value": 55, "unit": "g/l"}}},
    "segments": [{"material": "barrier", "length": {"value": 4, "unit": "m"}}],
}


def post(client: FlaskClient, body: Any) -> tuple[int, dict[str, Any]]:
    response = client.post(PATH, data=json.dumps(body), content_type="application/json")
    return response.status_code, response.get_json()


def changed(body: dict[str, Any], **at: Any) -> dict[str, Any]:
    new = copy.deepcopy(body)
    for pointer, value in at.items():
        put(new, "/" + pointer.replace("__", "/"), value)
    return new


def m(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "m"}


def bar(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "bar"}


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_are_answered_as_the_document_says(client: FlaskClient, name: str, units: str) -> None:
    status, answer = post(client, {**EXAMPLES[name], "units": units})
    assert status == 200, answer
    conforms(OPERATION, answer)


def test_the_answer_has_what_the_contract_names(client: FlaskClient) -> None:
    _, answer = post(client, {**example(OPERATION), "gas": {"co2_percent": 80}})
    assert answer.keys() - {"model", "cautions", "assumptions", "safety", "labels"} == {
        "gauge_pressure", "flow", "losses", "at_tap", "balanced_length", "breakout", "gas_mix", "line_volume",
        "glasses_per_keg", "lost", "days_on_tap", "cost_lost", "co2", "by_day",
    }  # fmt: skip
    assert set(answer["flow"]) == {"pour_s", "litres_per_min", "reynolds"}
    assert set(answer["losses"]) == {"friction", "rise", "fittings"}
    assert set(answer["gas_mix"]) <= {"co2_percent", "co2"}
    assert set(answer["lost"]) == {"first_pour", "cleaning", "heel"}
    assert set(answer["breakout"][0]) == {"segment", "margin", "comes_out"}
    assert set(answer["by_day"][0]) == {"day", "co2"}
    for band in (answer["gauge_pressure"], answer["at_tap"], answer["balanced_length"], answer["co2"]):
        assert set(band) == {"low", "typical", "high", "unit"}
    for band in (answer["flow"]["pour_s"], answer["glasses_per_keg"], answer["days_on_tap"]):
        assert set(band) == {"low", "typical", "high"}


def test_silence_is_filled_and_said(client: FlaskClient) -> None:
    status, answer = post(client, BARE)
    assert status == 200
    conforms(OPERATION, answer)
    pointers = {pointer for a in answer["assumptions"] for pointer in a["pointers"]}
    assert {"/temperature", "/target", "/gas/co2_percent", "/segments/0/inner_diameter", "/tap/pressure",
            "/pour/volume", "/pour/lasts", "/keg/vessel", "/keg/fill", "/cleaning/every", "/cleaning/flush",
            "/site/altitude"} <= pointers  # fmt: skip
    assert "days_on_tap" not in answer
    assert "cost_lost" not in answer
    assert len(answer["by_day"]) == 7


def test_us_units_say_the_same(client: FlaskClient) -> None:
    """Tolerance 1e-9: twelve digits on the wire."""
    (_, metric), (_, us) = (post(client, {**BARE, "units": units}) for units in ("metric", "us"))
    for name, kind in (("gauge_pressure", "pressure"), ("balanced_length", "length"), ("co2", "co2")):
        for end in ("low", "typical", "high"):
            there = to_base(kind, us[name][end], us[name]["unit"])
            assert there == pytest.approx(to_base(kind, metric[name][end], metric[name]["unit"]), rel=1e-9)
    for name in ("pour_s", "litres_per_min", "reynolds"):
        assert us["flow"][name] == pytest.approx(metric["flow"][name])


@pytest.mark.parametrize(
    "at, value, pointer, code",
    [
        ("segments__0__inner_diameter", m(0.0), "/segments/0/inner_diameter/value", "out-of-range"),
        (
            "segments__0__inner_diameter",
            {"value": -3, "unit": "mm"},
            "/segments/0/inner_diameter/value",
            "out-of-range",
        ),
        ("segments__0__length", m(0.0), "/segments/0/length/value", "out-of-range"),
        ("segments__0__material", "copper", "/segments/0/material", "not-a-choice"),
        ("segments__0__material", "Vinyl", "/segments/0/material", "not-a-choice"),
        ("segments", [], "/segments", "length"),
        ("gas", {"co2_percent": 140}, "/gas/co2_percent", "out-of-range"),
        ("gas", {"co2_percent": -1}, "/gas/co2_percent", "out-of-range"),
        ("dial", bar(0.0), "/dial/value", "out-of-range"),
        ("dial", {"value": 1, "unit": "volumes"}, "/dial/unit", "unit"),
        ("pour", {"volume": {"value": 0, "unit": "ml"}}, "/pour/volume/value", "out-of-range"),
        ("serves_per_day", 0, "/serves_per_day", "out-of-range"),
        ("gas_off", {"value": 25, "unit": "h"}, "/gas_off/value", "out-of-range"),
        ("fittings", bar(-0.1), "/fittings/value", "out-of-range"),
        ("segment", [], "/segment", "unknown-field"),
    ],
)
def test_bad_input_is_named_by_its_pointer_with_what_works(
    client: FlaskClient, at: str, value: Any, pointer: str, code: str
) -> None:
    status, problem = post(client, changed(BARE, **{at: value}))
    assert status == 422
    assert problem["type"] == "/problems/invalid-request"
    (error,) = problem["errors"]
    assert (error["pointer"], error["code"]) == (pointer, code)


def test_materials_that_exist_are_named(client: FlaskClient) -> None:
    _, problem = post(client, changed(BARE, segments__0__material="copper"))
    for material in ("vinyl", "polyethylene", "barrier", "steel"):
        assert material in problem["errors"][0]["text"]


REFUSED = {
    "a rise over what the dial lifts": (
        changed(BARE, dial=bar(1.1), segments__0__length=m(20), segments__0__rise=m(18)), "unreachable", "/segments"),
    "a rise over the length": (changed(BARE, segments__0__rise=m(6)), "impossible-line", "/segments/0/rise"),
    "a fall over the length": (changed(BARE, segments__0__rise=m(-6)), "impossible-line", "/segments/0/rise"),
    "nitrogen alone": (changed(BARE, gas={"co2_percent": 0}), "unreachable", "/gas/co2_percent"),
    "a frozen keg": (changed(BARE, temperature={"value": -20, "unit": "c"}), "would-freeze", "/temperature"),
    "a frozen stretch": (changed(BARE, segments__0__temperature={"value": -20, "unit": "c"}), "would-freeze",
                         "/segments/0/temperature"),
    "a named keg over its limit": (
        changed(BARE, dial=bar(2.9), keg={"vessel": {"preset": "keg-20-l", "condition": "sound"}}), "over-vessel-limit",
        "/dial"),
    "a level that a named keg does not stand": (
        changed(BARE, target={"value": 9, "unit": "g/l"}, keg={"vessel": {"preset": "keg-20-l", "condition": "sound"}}),
        "over-vessel-limit", "/target"),
    "a keg filled to the brim": (changed(BARE, keg={"fill": 1.0}), "no-headspace", "/keg/fill"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_refused_offers_what_works(client: FlaskClient, name: str) -> None:
    body, slug, pointer = REFUSED[name]
    status, problem = post(client, body)
    assert (status, problem["type"]) == (422, f"/problems/{slug}")
    assert pointer in {error["pointer"] for error in problem["errors"]}
    tried = offers(body, problem)
    assert tried
    for again in tried:
        status, answer = post(client, again)
        assert status == 200, answer


def test_a_stretch_too_warm_for_so_much_co2_is_refused_where_it_is_and_in_words(client: FlaskClient) -> None:
    """No temperature of a line is offered: only the bar knows how cold it can be."""
    cool = {"material": "barrier", "length": m(2)}
    warm = {**cool, "temperature": {"value": 38, "unit": "c"}}
    body = {**BARE, "target": {"value": 9, "unit": "g/l"}, "dial": bar(1), "segments": [cool, warm]}
    status, problem = post(client, body)
    assert (status, problem["type"]) == (422, "/problems/outside-validity")
    assert [one["pointer"] for one in problem["errors"]] == ["/segments/1/temperature"]
    assert problem["errors"][0]["text"].startswith("Cool this stretch")
    assert "nearest" not in problem


def test_the_dial_that_does_not_lift_the_drink_says_how_far_it_does(client: FlaskClient) -> None:
    _, problem = post(client, REFUSED["a rise over what the dial lifts"][0])
    assert "set 2.67 bar for the pour you ask for: this dial lifts 11.0 m at most" in problem["detail"]
    mixed = problem["offers"][0]
    assert mixed["code"] == "mixed-gas"
    _, answer = post(client, offers(REFUSED["a rise over what the dial lifts"][0], problem)[0])
    assert answer["co2"]["low"] < 5.5 < answer["co2"]["high"]  # the default target holds


KEG = {"vessel": {"preset": "keg-30-l", "condition": "sound"}}
STAMPED = {"vessel": {**KEG["vessel"], "charge_limit": bar(7), "closed_limit": bar(7), "rated_by": "stamp"}}


@pytest.mark.parametrize(
    "keg, segment",
    [
        (KEG, {"length": m(40), "inner_diameter": m(4.8e-3)}),  # needs 18 bar
        (KEG, {"length": m(12), "inner_diameter": m(6.35e-3), "rise": m(11)}),  # needs 2.6
        (STAMPED, {"length": m(60), "inner_diameter": m(9.5e-3), "rise": m(35)}),  # not lifted
        (STAMPED, {"length": m(100), "inner_diameter": m(9.5e-3), "rise": m(80)}),  # not lifted by any dial of this keg
    ],
)
def test_no_answer_and_no_refusal_advises_a_dial_that_the_named_keg_does_not_bear(
    client: FlaskClient, keg: dict[str, Any], segment: dict[str, Any]
) -> None:
    body = {**BARE, "keg": keg, "segments": [{"material": "barrier", **segment}]}
    _, refused = post(client, {**BARE, "keg": keg, "dial": bar(8.9)})
    most = refused["nearest"][0]["value"]["value"]
    status, answer = post(client, body)
    texts = [one["text"] for one in [*answer.get("errors", []), *answer.get("offers", []), *answer.get("cautions", [])]]
    for text in texts:
        for told in re.findall(r"(?:[Ss]et|with) (\d+\.\d+) bar", text):
            assert float(told) <= most + 0.005, text
    if status == 422:
        assert answer["errors"][0]["text"].startswith("Lead the line less high, or pump it")
    else:
        assert any("more than the keg bears" in text for text in texts)


def test_of_a_usual_keg_a_mix_is_told_under_the_condition_of_its_stamp(client: FlaskClient) -> None:
    segment = {"material": "barrier", "length": m(12), "inner_diameter": m(6.35e-3), "rise": m(9)}
    for keg, starts in (({}, "Where the stamp of the keg bears it, push with"), ({"keg": STAMPED}, "Push with")):
        _, answer = post(client, {**BARE, **keg, "segments": [segment]})
        (told,) = (one for one in answer["cautions"] if one["code"] == "mix-holds")
        assert told["text"].startswith(starts)


def test_a_regulator_that_does_not_go_so_high_is_no_fault_of_the_usual_keg(client: FlaskClient) -> None:
    status, problem = post(client, {**BARE, "dial": bar(5), "site": {"regulator_max": bar(4)}})
    assert status == 422
    assert [(one["pointer"], one["code"]) for one in problem["errors"]] == [("/dial", "regulator-max")]
    (again,) = offers({**BARE, "dial": bar(5), "site": {"regulator_max": bar(4)}}, problem)
    status, answer = post(client, again)
    assert status == 200
    assert {"beyond-usual-keg", "line-rating"} & {one["code"] for one in answer["cautions"]} == {"beyond-usual-keg"}


@pytest.mark.parametrize(
    "changes, code, starts",
    [
        ({"dial": bar(2.5), "gas": {"co2_percent": 25}}, "goes-flat", "Take gas that has about"),
        ({"dial": bar(0.4)}, "goes-flat", "Set 1.0"),
        ({"dial": bar(2.5)}, "over-carbonates", "Set 1.0"),
        ({"dial": bar(2.5), "target": {"value": 4, "unit": "g/l"}, "gas": {"co2_percent": 100}}, "over-carbonates",
         "Set 0.50 bar, or take gas"),
    ],
)  # fmt: skip
def test_a_level_that_moves_is_told_with_what_holds_it(
    client: FlaskClient, changes: dict[str, Any], code: str, starts: str
) -> None:
    _, answer = post(client, {**BARE, **changes})
    (told,) = (one for one in answer["cautions"] if one["code"] == code)
    assert told["text"].startswith(starts)
    params = {one["name"]: one for one in told["params"]}
    ways = [{"dial": bar(params["holds"]["value"])}] if "holds" in params else []
    ways += [{"gas": {"co2_percent": params["percent"]["value"]}}] if "percent" in params else []
    assert ways
    for way in ways:  # each by itself holds the target
        _, again = post(client, {**BARE, **changes, **way})
        assert not {"goes-flat", "over-carbonates"} & {one["code"] for one in again["cautions"]}


def test_a_line_under_much_pressure_and_a_keg_for_months_are_warned_of(client: FlaskClient) -> None:
    _, answer = post(client, {**BARE, "dial": bar(3.5), "serves_per_day": 2, "segments": [
        {"material": "barrier", "length": m(10), "rise": m(-9)}, {"material": "barrier", "length": m(2)}]})  # fmt: skip
    told = {one["code"]: one for one in answer["cautions"]}
    # 3.5 bar and 9 m of a drink of 1.01 kg/l by hand: 4.39 bar
    assert told["line-rating"]["params"][0]["value"] == pytest.approx(3.5 + 1010 * 9.80665 * 9 / 1e5, abs=0.01)
    assert told["long-on-tap"]["params"][0]["value"] > 60


def test_a_warm_keg_is_told_to_be_kept_colder_not_to_be_set_for_a_cold_one(client: FlaskClient) -> None:
    _, answer = post(client, {**BARE, "temperature": {"value": 12, "unit": "c"}})
    codes = {one["code"] for one in answer["cautions"]}
    assert "held-warm" in codes
    assert "warm-charging" not in codes


@pytest.mark.parametrize("vessel", [{"preset": "pet-1-l", "condition": "sound"}, {"material": "glass",
                                    "capacity": {"value": 5, "unit": "l"}}])  # fmt: skip
def test_what_is_no_keg_is_refused_without_an_offer(client: FlaskClient, vessel: dict[str, Any]) -> None:
    status, problem = post(client, changed(BARE, keg={"vessel": vessel}))
    assert status == 422
    assert "nearest" not in problem
    assert any(error["pointer"].startswith("/keg/vessel") for error in problem["errors"])


def test_a_price_of_what_is_not_in_the_drink_is_refused(client: FlaskClient) -> None:
    body = copy.deepcopy(example(OPERATION))
    body["prices"][0]["component"] = "Gim"
    status, problem = post(client, body)
    assert (status, problem["type"]) == (422, "/problems/impossible-batch")
    assert problem["errors"][0]["pointer"] == "/prices/0/component"
    assert post(client, offers(body, problem)[0])[0] == 200


def q(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


@pytest.mark.parametrize(
    "changes, status",
    [
        ({"target": q(0.5, "g/l")}, 422),
        ({"target": q(0.5, "g/l"), "gas": {"co2_percent": 50}}, 422),
        ({"target": q(15, "g/l")}, 200),
        ({"target": q(9, "g/l"), "gas": {"co2_percent": 5}}, 422),
        ({"dial": bar(8.9)}, 200),
        ({"dial": bar(0.001)}, 200),
        ({"dial": bar(2), "gas": {"co2_percent": 0}}, 200),
        ({"segments": [{"material": "steel", "length": m(300), "inner_diameter": q(1, "mm")}]}, 200),
        ({"segments": [{"material": "steel", "length": q(1, "mm"), "inner_diameter": q(50, "mm")}]}, 200),
        ({"segments": [{"material": "vinyl", "length": m(1)}] * 20}, 200),
        ({"segments": [{"material": "barrier", "length": m(40), "rise": m(-30)}]}, 200),
        ({"segments": [{"material": "barrier", "length": m(1), "temperature": q(50, "c")}]}, 422),
        ({"drink": {"composition": {"abv": 0, "sugar": q(0, "g/l")}}}, 200),
        ({"drink": {"composition": {"abv": 20, "sugar": q(350, "g/l")}}}, 200),
        ({"drink": {"composition": {"abv": 45, "sugar": q(0, "g/l")}}}, 422),
        ({"drink": {"composition": {"abv": 5, "sugar": q(40, "g/l"), "live_culture": True}}}, 422),
        ({"gas_off": q(24, "h")}, 200),
        ({"serves_per_day": 0.1, "cleaning": {"every": q(1, "h"), "flush": q(50, "l")}}, 200),
        ({"pour": {"volume": q(5, "l"), "lasts": q(0.5, "s")}}, 200),
        ({"temperature": q(38, "c"), "target": q(2, "g/l")}, 200),
        ({"site": {"altitude": m(5000)}}, 200),
    ],
)
def test_the_ends_of_what_may_be_asked(client: FlaskClient, changes: dict[str, Any], status: int) -> None:
    body = {**BARE, **changes}
    found, answer = post(client, body)
    assert found == status, answer
    if status == 200:
        conforms(OPERATION, answer)
    elif "nearest" in answer:
        assert all(post(client, again)[0] == 200 for again in offers(body, answer))


# On a prep sheet

SHEET = examples("createPrepSheet")["draught"]["value"]


def prepare(client: FlaskClient, body: Any) -> tuple[int, dict[str, Any]]:
    response = client.post("/v1/prep-sheets", data=json.dumps(body), content_type="application/json")
    return response.status_code, response.get_json()


def test_a_sheet_on_draught_has_its_line_and_its_steps(client: FlaskClient) -> None:
    status, sheet = prepare(client, SHEET)
    assert status == 200, sheet
    conforms("createPrepSheet", sheet)
    steps = {step["code"]: step for step in sheet["steps"]}
    assert [step["code"] for step in sheet["steps"][-5:]] == [
        "hold-cold", "connect-line", "time-pour", "pour", "when-it-foams",
    ]  # fmt: skip
    dial = next(one for one in steps["connect-line"]["values"] if one["code"] == "line-dial")
    assert dial["value"] == pytest.approx(sheet["draught"]["gauge_pressure"]["typical"])
    causes = [one["code"] for one in steps["when-it-foams"]["values"]]
    assert causes == [
        "keg-at-most", "line-at-most", "dial-at", "not-faster", "last-stretch", "cleaned-within", "rest-gauge",
    ]  # fmt: skip
    assert all("value" in one for one in steps["when-it-foams"]["values"])  # each with the number that shows it
    assert not any(character.isdigit() for step in sheet["steps"] for character in step["text"])


def test_the_line_of_a_sheet_is_the_line_by_itself(client: FlaskClient) -> None:
    _, sheet = prepare(client, SHEET)
    share = sheet["fill"]["liquid"]["value"] / (sheet["fill"]["liquid"]["value"] + sheet["fill"]["headspace"]["value"])
    timed = next(step for step in sheet["steps"] if step["code"] == "time-pour")
    (glass,) = (one for one in timed["values"] if one["code"] == "glass")
    pour = {**SHEET["draught"]["pour"], "volume": {"value": glass["value"], "unit": glass["unit"]}}
    alone = {
        **SHEET["draught"], "pour": pour, "drink": {"spec": SHEET["spec"]}, "target": SHEET["carbonation"]["target"],
        "site": SHEET["site"], "keg": {"vessel": SHEET["vessel"], "fill": share},
    }  # fmt: skip
    _, answer = post(client, alone)
    for name in ("gauge_pressure", "flow", "losses", "at_tap", "breakout", "lost", "co2"):
        assert close(sheet["draught"][name]) == close(answer[name])


def close(node: Any) -> Any:
    """The same with numbers to ten digits: the pour was read out of an answer."""
    if isinstance(node, dict):
        return {key: close(inner) for key, inner in node.items()}
    if isinstance(node, list):
        return [close(inner) for inner in node]
    return float(f"{node:.10g}") if isinstance(node, float) else node


def test_a_sheet_on_draught_tells_one_dial_for_the_shift(client: FlaskClient) -> None:
    """Show the dial of the line alone; a keg held by itself would need another, to make up for its air."""
    shift = {
        "lasts": {"value": 5, "unit": "h"},
        "serves_per_hour": 10,
        "holding_temperature": {"value": 3, "unit": "c"},
    }
    status, sheet = prepare(client, {**SHEET, "shift": shift})
    assert status == 200, sheet
    assert "regas" not in sheet
    assert not {"keg-on-gas", "gas-runs-out"} & {one["code"] for one in sheet["cautions"]}
    held = next(step for step in sheet["steps"] if step["code"] == "hold-cold")
    assert {one["code"] for one in held["values"]} == {"hold-at", "hold-at-most"}


def test_a_sheet_from_bottles_has_no_line(client: FlaskClient) -> None:
    _, sheet = prepare(client, examples("createPrepSheet")["demo"]["value"])
    assert "draught" not in sheet
    assert "connect-line" not in {step["code"] for step in sheet["steps"]}


@pytest.mark.parametrize("form", ["html", "text", "csv"])
def test_a_sheet_on_draught_is_printed(client: FlaskClient, form: str) -> None:
    response = client.post(f"/v1/prep-sheets?format={form}", json=SHEET)
    assert response.status_code == 200
    text = " ".join(re.sub("<[^>]*>", " ", response.get_data(as_text=True)).split())
    for told in ("dial on draught" if form == "csv" else "Never over", "gauge of the keg at rest", "1.07"):
        assert told in text


@pytest.mark.parametrize("form", ["html", "text"])
def test_paper_has_each_stretch_each_cause_of_foam_and_what_a_keg_gives(client: FlaskClient, form: str) -> None:
    cool = {"material": "steel", "inner_diameter": {"value": 0.25, "unit": "in"}, "length": m(2), "rise": m(-1)}
    draught = {**SHEET["draught"], "gas": {"co2_percent": 70}, "segments": [cool, *SHEET["draught"]["segments"]]}
    _, sheet = prepare(client, {**SHEET, "draught": draught})
    response = client.post(
        f"/v1/prep-sheets?format={form}&columns=80".removesuffix("&columns=80" if form == "html" else ""),
        json={**SHEET, "draught": draught},
    )
    text = " ".join(re.sub("<[^>]*>", " ", response.get_data(as_text=True)).replace("\u00a0", " ").split())
    found = sheet["draught"]
    for told in (
        "steel, 6.3 mm inside", "2.0 m, down 1.0 m", "barrier, 4.8 mm inside", "3.2 m, up 0.4 m",  # 1/4 in is 6.35 mm
        "CO₂ in the gas", "Cool the keg; leave the dial as it is.", "Clean line, coupler and tap",
        f"{found['glasses_per_keg']['low']:.0f} to {found['glasses_per_keg']['high']:.0f}", "poured away when tapped",
    ):  # fmt: skip
        assert told in text
    order = [text.index(one) for one in ("keg, no warmer", "line, stretch", "dial, at", "a glass, no faster",
                                         "line cleaned within", "CO₂ in the keg, about")]  # fmt: skip
    assert order == sorted(order)


def test_the_tap_s_limit_is_the_most_that_its_keg_bears(client: FlaskClient) -> None:
    """One hundredth more is refused, that much is not."""
    _, sheet = prepare(client, SHEET)
    (connect,) = (step for step in sheet["steps"] if step["code"] == "connect-line")
    never = next(one for one in connect["values"] if one["code"] == "never-over")["value"]
    for dial, expected in ((never - 1e-6, 200), (never + 0.01, 422)):
        status, answer = prepare(client, {**SHEET, "draught": {**SHEET["draught"], "dial": bar(dial)}})
        assert status == expected, answer


def test_a_sheet_takes_the_keg_of_its_line(client: FlaskClient) -> None:
    """A 30 l beer keg where none is named, and 5.5 g/l; both said."""
    for keg in ({}, {"keg": {"vessel": SHEET["vessel"]}}):
        body = {**SHEET, "draught": {**SHEET["draught"], **keg}, "carbonation": {}}
        body.pop("vessel")
        body.pop("site")  # its regulator goes over a beer keg's limit
        status, sheet = prepare(client, body)
        assert status == 200, sheet
        assert sheet["fill"]["vessel"] == ("keg-19-l" if keg else "keg-30-l")
        assert {"keg", "target-on-draught"} - {a["code"] for a in sheet["assumptions"]} == ({"keg"} if keg else set())


@pytest.mark.parametrize(
    "changes, pointer, code",
    [
        ({"serve_at": "bottle"}, "/draught", "not-needed"),
        ({"serve_at": None}, "/draught", "not-needed"),
        ({"draught": None}, "/draught", "required"),
        ({"draught": {**SHEET["draught"], "keg": {"fill": 0.9}}}, "/draught/keg", "described-twice"),
        ({"draught": {**SHEET["draught"], "target": {"value": 5, "unit": "g/l"}}}, "/draught/target", "unknown-field"),
        ({"draught": {**SHEET["draught"], "segments": []}}, "/draught/segments", "length"),
        ({"serve_at": "cask"}, "/serve_at", "not-a-choice"),
    ],
)
def test_a_sheet_names_what_does_not_go_together(
    client: FlaskClient, changes: dict[str, Any], pointer: str, code: str
) -> None:
    body = {key: value for key, value in {**SHEET, **changes}.items() if value is not None}
    status, problem = prepare(client, body)
    assert status == 422
    assert (pointer, code) in {(error["pointer"], error["code"]) for error in problem["errors"]}


@pytest.mark.parametrize(
    "changes, pointer",
    [
        ({"draught": {**SHEET["draught"], "dial": bar(5.5)}}, "/draught/dial"),
        ({"draught": {**SHEET["draught"], "dial": bar(0.02)}}, "/draught/segments"),
        ({"draught": {**SHEET["draught"], "gas": {"co2_percent": 0}}}, "/draught/gas/co2_percent"),
        ({"vessel": {"preset": "pet-1-l", "condition": "sound"}, "site": {}}, "/vessel"),
    ],
)
def test_what_a_line_refuses_is_refused_at_its_place_on_the_sheet(
    client: FlaskClient, changes: dict[str, Any], pointer: str
) -> None:
    status, problem = prepare(client, {**SHEET, **changes})
    assert status == 422
    assert pointer in {error["pointer"] for error in problem["errors"]}
    if "nearest" in problem:
        for again in offers({**SHEET, **changes}, problem):
            assert prepare(client, again)[0] == 200


@pytest.mark.parametrize("locale", ["en", "es", "fr", "de"])
def test_the_ticket_of_a_tap_keeps_its_width(client: FlaskClient, locale: str) -> None:
    for columns in (32, 48, 80):
        for charset in ("utf-8", "ascii"):
            body = {**SHEET, "site": {**SHEET["site"], "locale": locale}}
            response = client.post(f"/v1/prep-sheets?format=text&columns={columns}&charset={charset}", json=body)
            text = response.get_data(as_text=True)
            assert max(width(line) for line in text.split("\n")) <= columns
            assert charset != "ascii" or text.isascii()
            assert "{" not in text
