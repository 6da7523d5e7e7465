"""The main job end to end: one spec in, a prep sheet out, as JSON and as a ticket."""

import copy
import json
from typing import Any

import pytest
from wcwidth import width

from service.api.openapi import example
from tests.api.conforms import conforms
from tests.api.nearest import offers

PATH = "/v1/prep-sheets"


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createPrepSheet"))


def post(client, body, **kwargs):
    return client.post(PATH, data=json.dumps(body), content_type="application/json", **kwargs)


def sheet(client, body) -> dict[str, Any]:
    response = post(client, body)
    assert response.status_code == 200, response.get_json()
    return response.get_json()


def test_the_demo_is_what_the_document_promises(client, body):
    conforms("createPrepSheet", sheet(client, body))


def test_the_bench_works_in_the_order_of_the_trade(client, body):
    """Order on the bench: common practice, no source."""
    kinds = [step["kind"] for step in sheet(client, body)["steps"]]
    order = [
        "shop",
        "weigh",
        "mix",
        "inspect",
        "fill",
        "air",
        "chill",
        "set",
        "charge",
        "check",
        "label",
        "hold",
        "pour",
    ]
    assert [kind for kind in dict.fromkeys(kinds) if kind in order] == order


def test_the_sheet_says_how_much_ice_its_vessels_melt_and_puts_them_back_between_charges(client, body):
    found = sheet(client, body)
    (chill,) = (s for s in found["steps"] if s["code"] == "chill-batch")
    values = {value["name"]: value for value in chill["values"]}
    kg, goal_c = found["batch"]["totals"]["mass"]["value"] / 1000.0, found["chilling"]["goal_temperature"]["value"]
    start_c = body.get("chill", {}).get("start_temperature", {"value": 20.0})["value"]
    by_hand_g = 1000.0 * kg * 4.1 * (start_c - goal_c) / 334.0 * 1.15  # m c dT of all of it, and what the room melts
    assert found["chilling"]["ice_needed"]["low"] < by_hand_g < found["chilling"]["ice_needed"]["high"]
    assert found["chilling"]["ice_to_fetch"]["value"] >= 2.0 * found["chilling"]["ice_needed"]["high"]
    assert values["ice to fetch"].items() >= found["chilling"]["ice_to_fetch"].items()
    assert all("back in the cold" in s["text"] for s in found["steps"] if s["code"] == "rest")


def test_a_charge_from_flat_is_repeated_three_times_with_at_least_a_minute_between(client, body):
    """Common practice, no source."""
    for name in ("charge_count", "shake", "rest"):
        body["carbonation"].pop(name, None)
    steps = sheet(client, body)["steps"]
    rests = [step for step in steps if step["code"] == "rest"]
    assert [step["code"] for step in steps].count("charge") == 3
    assert all(step["timer_s"] >= 60 for step in rests)


def test_steps_depend_on_earlier_steps_only(client, body):
    steps = sheet(client, body)["steps"]
    assert [step["number"] for step in steps] == list(range(1, len(steps) + 1))
    assert all(before < step["number"] for step in steps for before in step["depends_on"])


def test_the_parts_are_what_the_single_operations_answer(client, body):
    found = sheet(client, body)
    single = {"spec": body["spec"], "size": body["size"], "rounding": body["rounding"], "prices": body["prices"],
              "made_at": body["made_at"], "scale": body["site"]["scale"]}  # fmt: skip
    batch = client.post("/v1/batches", json=single).get_json()
    (mixing,) = (step for step in found["steps"] if step["code"] == "mix-batch")
    batch["label"]["made_at"] = mixing["begins_at"]  # a sheet plans when it is mixed
    assert found["batch"] == {key: batch[key] for key in found["batch"]}
    fill = found["fill"]
    share = fill["liquid"]["value"] / (fill["liquid"]["value"] + fill["headspace"]["value"])
    asked = {"drink": {"spec": body["spec"]}, "vessel": body["vessel"], "fill": share, "site": body["site"],
             "air": body["carbonation"]["air"], "target": body["carbonation"]["target"],
             "temperatures": [body["carbonation"]["temperature"]]}  # fmt: skip
    (alone,) = client.post("/v1/carbonation/set-points", json=asked).get_json()["points"]
    (composed,) = found["carbonation"]["set_points"]["points"]
    for end in ("low", "typical", "high"):
        assert composed["gauge_pressure"][end] == pytest.approx(alone["gauge_pressure"][end], rel=1e-9)


def test_every_vessel_holds_its_share_of_the_batch(client, body):
    found = sheet(client, body)
    fill, batch_ml = found["fill"], found["batch"]["totals"]["volume"]["value"]
    assert fill["count"] * fill["liquid"]["value"] == pytest.approx(batch_ml, rel=1e-9)
    assert fill["liquid"]["value"] <= body["fill"] * 1000


def test_pointers_of_assumptions_lie_in_the_request(client, body):
    found = sheet(client, body)
    known = {"spec", "size", "vessel", "fill", "site", "carbonation", "chill", "shift", "rounding", "prices", "made_at"}
    pointers = [p for note in found["assumptions"] + found["cautions"] for p in note["pointers"]]
    assert pointers
    assert {p.split("/")[1] for p in pointers} <= known, pointers


CONTRADICTION = {"altitude": {"value": 9, "unit": "ft"}, "barometer": {"value": 900, "unit": "hpa"}}


@pytest.mark.parametrize(
    "change, pointer",
    [
        ({"fill": 0.95}, "/fill"),
        ({"carbonation": {"gauge_pressure": {"value": 3.5, "unit": "bar"}}}, "/carbonation/gauge_pressure"),
        ({"carbonation": {"target": {"value": 14, "unit": "g/l"}}}, "/carbonation/target"),
        ({"carbonation": {"temperature": {"value": 14, "unit": "c"}}}, "/carbonation/temperature"),
        ({"carbonation": {"temperature": {"value": -12, "unit": "c"}}}, "/carbonation/temperature"),
        ({"site": CONTRADICTION}, "/site/barometer"),
    ],
)  # fmt: skip
def test_what_a_part_refuses_is_refused_with_the_sheets_own_pointer(client, body, change, pointer):
    response = post(client, {**body, **change})
    problem = response.get_json()
    assert response.status_code == 422
    assert pointer in {e["pointer"] for e in problem["errors"]}, problem
    for mended in offers({**body, **change}, problem):
        again = post(client, mended)
        assert again.status_code == 200, (problem, again.get_json())


@pytest.mark.parametrize(
    "change, pointer",
    [
        ({"vessel": {"material": "glass", "capacity": {"value": 1, "unit": "l"}}}, "/vessel/material"),
        ({"vessel": {"preset": "pet-1-l", "condition": "creased"}}, "/vessel/condition"),
        ({"vessel": {"preset": "pet-1-l", "cycles": 40}}, "/vessel/cycles"),
        (
            {
                "vessel": {
                    "material": "pet",
                    "capacity": {"value": 200, "unit": "ml"},
                    "made_for_carbonation": True,
                }
            },
            "/vessel",
        ),
        ({"site": {"regulator_max": {"value": 10, "unit": "bar"}}}, "/site/relief_set"),
        ({"site": {"gas_source": "cartridge"}}, "/site/gas_source"),
    ],
)  # fmt: skip
def test_what_only_the_bar_knows_is_refused_without_an_offer(client, body, change, pointer):
    response = post(client, {**body, **change})
    problem = response.get_json()
    assert response.status_code == 422
    assert pointer in {e["pointer"] for e in problem["errors"]}, problem
    assert not {"nearest", "offers"} & problem.keys()


def test_independent_refusals_come_together(client, body):
    """An offer for one of them does not make the rest possible, so none is made where one of them has none."""
    body |= {"vessel": {"preset": "pet-1-l", "condition": "dropped"}, "fill": 0.97}
    problem = post(client, body).get_json()
    assert problem["type"] == "/problems/refused"
    assert {"/vessel/condition", "/fill"} <= {e["pointer"] for e in problem["errors"]}
    assert "nearest" not in problem
    body["vessel"] = {"preset": "pet-1-l"}
    body["carbonation"] = {"target": {"value": 14, "unit": "g/l"}}
    problem = post(client, body).get_json()
    assert {"/carbonation/target", "/fill"} <= {e["pointer"] for e in problem["errors"]}
    assert [post(client, mended).status_code for mended in offers(body, problem)] == [200] * len(problem["offers"])


def test_vessels_in_the_size_are_the_sheets_vessels(client, body):
    del body["vessel"], body["fill"]
    body["size"] = {"vessels": [{"vessel": {"preset": "pet-2-l"}, "count": 3, "fill": 0.75}]}
    fill = sheet(client, body)["fill"]
    assert (fill["vessel"], fill["count"]) == ("pet-2-l", 3)


def test_vessels_named_twice_are_refused(client, body):
    body["size"] = {"vessels": [{"vessel": {"preset": "pet-2-l"}, "count": 3}]}
    pointers = {e["pointer"] for e in post(client, body).get_json()["errors"]}
    assert {"/vessel", "/fill"} <= pointers


def test_two_kinds_of_vessel_need_two_sheets(client, body):
    del body["vessel"], body["fill"]
    body["size"] = {"vessels": [{"vessel": {"preset": p}, "count": 1} for p in ("pet-1-l", "pet-2-l")]}
    assert post(client, body).get_json()["errors"][0]["pointer"] == "/size/vessels"


def test_without_a_shift_there_is_no_regas(client, body):
    del body["shift"]
    assert "regas" not in sheet(client, body)


def test_us_answers_are_metric_answers_in_other_units(client, body):
    metric = sheet(client, body)
    us = sheet(client, {**body, "units": "us"})
    dial, dial_us = (s["carbonation"]["charges"]["gauge_pressure"] for s in (metric, us))
    assert (dial["unit"], dial_us["unit"]) == ("bar", "psi")
    assert dial_us["value"] == pytest.approx(dial["value"] / 0.0689475729316836, rel=1e-9)  # NIST SP 811
    liquid, liquid_us = (s["fill"]["liquid"]["value"] for s in (metric, us))
    assert liquid_us == pytest.approx(liquid / 29.5735295625, rel=1e-9)


# The ticket


@pytest.mark.parametrize("columns", [32, 42, 48, 80])
def test_the_ticket_keeps_to_its_width(client, body, columns):
    text = post(client, body, query_string=f"format=text&columns={columns}").get_data(as_text=True)
    assert max(width(line) for line in text.splitlines()) <= columns


def test_wide_and_long_names_keep_to_the_width(client, body):
    body["spec"]["name"] = "香檸檬" * 60
    body["spec"]["components"][0]["name"] = "x" * 200
    body["prices"] = body["prices"][1:]
    text = post(client, body, query_string="format=text&columns=32").get_data(as_text=True)
    assert max(width(line) for line in text.splitlines()) <= 32


def test_marks_that_turn_the_direction_stay_off_the_ticket(client, body):
    body["spec"]["name"] = "Sour\u202e05.1"
    text = post(client, body, query_string="format=text").get_data(as_text=True)
    assert "SOUR05.1" in text


def test_the_ticket_is_asked_for_by_accept_or_format(client, body):
    by_accept = post(client, body, headers={"Accept": "text/plain"})
    by_format = post(client, body, query_string="format=text", headers={"Accept": "application/json"})
    assert by_accept.mimetype == by_format.mimetype == "text/plain"
    assert by_accept.get_data() == by_format.get_data()
    assert by_accept.headers["Vary"] == "Accept, Accept-Language"


def test_the_ticket_has_the_dial_and_what_it_must_never_pass(client, body):
    found = sheet(client, body)
    text = post(client, body, headers={"Accept": "text/plain"}).get_data(as_text=True)
    dial = f"{found['carbonation']['charges']['gauge_pressure']['value']:.2f} bar"
    told = " ".join(text.split())
    assert f"SET {dial.upper()}" in told
    assert "Never over" in told
    assert "Buy" not in text
    assert "competent person" in " ".join(text.split())


def test_a_us_ticket_has_psi(client, body):
    text = post(client, {**body, "units": "us"}, headers={"Accept": "text/plain"}).get_data(as_text=True)
    assert " psi" in text
    assert " bar\n" not in text


@pytest.mark.parametrize("columns", ["31", "81", "x", "-40", "40.5", "9" * 30, ""])
def test_other_widths_are_refused(client, body, columns):
    response = post(client, body, query_string=f"format=text&columns={columns}")
    assert response.get_json()["errors"][0] | {"text": ""} == {
        "in": "query",
        "pointer": "/columns",
        "code": "out-of-range",
        "text": "",
        "params": [{"name": "low", "text": "32", "value": 32}, {"name": "high", "text": "80", "value": 80}],
    }


def test_a_refusal_is_a_problem_whatever_accept_says(client, body):
    response = post(client, {**body, "fill": 0.95}, headers={"Accept": "text/plain"})
    assert response.mimetype == "application/problem+json"


# Kegs, and what a shift makes of the level


@pytest.fixture
def keg(body) -> dict[str, Any]:
    body |= {"vessel": {"preset": "keg-19-l"}, "size": {"serves": 80}}
    body["carbonation"] = {"target": {"value": 5, "unit": "g/l"}, "temperature": {"value": 1, "unit": "c"}}
    return body


def test_a_keg_stays_on_the_gas_and_needs_no_regas(client, keg):
    """Common practice, no source."""
    found = sheet(client, keg)
    codes = [step["code"] for step in found["steps"]]
    assert "leave-on-gas" in codes
    assert not {"charge", "regas"} & set(codes)
    (held,) = (step for step in found["steps"] if step["code"] == "hold-cold")
    assert [value["name"] for value in held["values"]] == ["at", "on gas, so held, at"]
    assert "connected" in {a["name"] for a in found["assumptions"]}


def test_a_keg_over_its_stamp_is_refused_with_a_target_that_works(client, keg):
    keg["carbonation"]["target"] = {"value": 11, "unit": "g/l"}
    problem = post(client, keg).get_json()
    assert problem["errors"][0]["pointer"] == "/carbonation/target"
    assert "8.00 bar" in problem["detail"]  # a soda keg, closed: a bar below its usual stamp
    assert [post(client, mended).status_code for mended in offers(keg, problem)] == [200] * len(problem["offers"])


def test_a_drink_that_stays_flat_gets_a_sheet_and_a_caution_but_no_forecast(client, body):
    body["carbonation"] |= {"agitation": "still", "charge_count": 1}
    found = sheet(client, body)
    assert "regas" not in found
    assert "stays-flat" in {c["code"] for c in found["cautions"]}


def test_the_regas_step_says_what_the_rotation_plans(client, body):
    found = sheet(client, body)
    planned = any(turn["regas_before"] for turn in found["regas"]["rotation"])
    (step,) = (s for s in found["steps"] if s["code"] == "regas")
    assert step["text"].startswith("Re-gas each" if planned else "Only where a glass is flat")
    assert ("from-pour" if planned else "before-pour") not in {value["code"] for value in step["values"]}
    assert [one["code"] for one in step["cautions"]] == ["regas-dial-only"]


def test_about_7_ml_of_a_6_percent_solution_per_long_drink(client, body):
    """Common practice, no source: about 7 ml of 6 % w/v acid in a drink of 185 ml. By hand: citric, 60 g/l, is
    60 / 64.041 eq/l (192.1235 g/mol over three protons), so 7 ml brings 6.558 meq."""
    components = body["spec"]["components"]
    components[1].pop("acidity")
    components[2] |= {"amount": {"value": 7, "unit": "ml"},
                      "acid_solution": {"basis": "w/v", "acids": [{"acid": "citric", "percent": 6}]}}  # fmt: skip
    found = sheet(client, body)["batch"]
    acidity = found["totals"]["titratable_acidity"]["meq_per_l"]
    assert acidity * found["per_serve"]["volume"]["value"] / 1000 == pytest.approx(6.558, abs=0.0005)
    assert 1.5 < found["totals"]["titratable_acidity"]["as_citric"]["value"] < 3  # sour enough for a long drink


# What must not contradict itself


def test_a_shift_past_the_discard_time_is_a_danger(client, body):
    body["house_maximum"] = {"value": 6, "unit": "h"}  # made at 14:00, served from 18:00 for five hours
    cautions = {c["code"]: c for c in sheet(client, body)["cautions"]}
    assert cautions["past-discard"]["severity"] == "danger"
    body["house_maximum"] = {"value": 10, "unit": "h"}
    assert "past-discard" not in {c["code"] for c in sheet(client, body)["cautions"]}


def test_what_sparkles_goes_in_last(client, body):
    """Common practice, no source."""
    body["spec"]["components"][3] = {"name": "Sparkling water", "amount": {"value": 112, "unit": "ml"},
                                     "co2": {"value": 1, "unit": "g/l"}}  # fmt: skip
    (mix,) = (step for step in sheet(client, body)["steps"] if step["code"] == "mix-batch")
    assert mix["values"][-1]["name"].startswith("Sparkling water")
    assert "sparkling-last" in [one["code"] for one in mix["cautions"]]


def test_the_holding_step_says_the_temperature_that_was_computed_with(client, body):
    body["shift"]["holding_temperature"] = {"value": 8, "unit": "c"}
    (held,) = (step for step in sheet(client, body)["steps"] if step["code"] == "hold-cold")
    assert [(v["name"], v["value"]) for v in held["values"]] == [("at", 8.0)]


def test_a_keg_sheet_speaks_of_kegs(client, keg):
    text = " ".join(step["text"] for step in sheet(client, keg)["steps"])
    assert "bottle" not in text


def test_the_dial_of_a_regas_is_told_apart_from_that_of_the_charge(client, body):
    found = sheet(client, body)
    names = {step["code"]: [v["name"] for v in step["values"]] for step in found["steps"]}
    assert "dial" in names["set-regulator"]
    assert "dial" not in names["regas"]


def test_a_calibration_moves_the_dial_and_what_the_charges_come_to(client, body):
    body["carbonation"]["target"] = {"value": 5, "unit": "g/l"}
    plain = sheet(client, body)["carbonation"]
    own = {"solubility": {"value": 0.9, "standard_error": 0.01}}
    found = sheet(client, {**body, "calibration": own})["carbonation"]
    dial, (point,) = found["charges"]["gauge_pressure"], found["set_points"]["points"]
    assert dial["value"] > plain["charges"]["gauge_pressure"]["value"]
    assert point["gauge_pressure"]["typical"] == pytest.approx(dial["value"], abs=1e-9)
    assert found["charges"]["never_over"]["value"] <= plain["charges"]["never_over"]["value"]
    off = {**body, "calibration": {"solubility": {"value": 1.3, "standard_error": 0.01}}}
    assert [e["pointer"] for e in post(client, off).get_json()["errors"]] == ["/calibration/solubility/value"]


def test_as_many_charges_as_needed_are_steps(client, body):
    body["carbonation"].pop("charge_count", None)
    body["carbonation"]["as_needed"] = True
    found = sheet(client, body)
    assert len([s for s in found["steps"] if s["kind"] == "charge"]) == len(found["carbonation"]["charges"]["charges"])


def test_a_bottle_too_old_when_the_batch_is_made_is_refused(client, body):
    """Three months of PET; common practice, no source."""
    body["made_at"] = "2026-11-28T14:00:00+01:00"
    vessel = {"preset": "pet-1-l", "first_used": "2026-02-01"}
    if "vessels" in body["size"]:
        body["size"]["vessels"][0]["vessel"] = vessel
        at = "/size/vessels/0/vessel/first_used"
    else:
        body["vessel"], at = vessel, "/vessel/first_used"
    problem = post(client, body).get_json()
    assert at in [e["pointer"] for e in problem["errors"]]
    assert "nearest" not in problem  # how old it is, no offer says
