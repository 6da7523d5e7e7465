"""Steps for a kitchen display: what waits for what, when to start so that the first serve makes the shift."""

import copy
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest

from service.api.openapi import example

PATH = "/v1/prep-sheets"


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createPrepSheet"))


def sheet(client, body) -> dict[str, Any]:
    response = client.post(PATH, json=body)
    assert response.status_code == 200, response.get_json()
    return response.get_json()


def step(found: dict[str, Any], code: str) -> dict[str, Any]:
    (one,) = (step for step in found["steps"] if step["code"] == code)
    return one


def test_the_first_serve_is_poured_when_the_shift_starts(client, body):
    found = sheet(client, body)
    starts = datetime.fromisoformat(body["shift"]["starts_at"])
    assert datetime.fromisoformat(step(found, "pour")["begins_at"]) == starts
    start = datetime.fromisoformat(found["latest_start"])
    assert timedelta(0) <= starts - start - timedelta(seconds=found["total_s"]) < timedelta(seconds=1)
    assert found["steps"][0]["begins_at"] == found["latest_start"]


def test_no_step_begins_before_what_it_waits_for_is_done(client, body):
    """A step takes the longer of hands and timer; nobody does two things at one time."""
    steps = sheet(client, body)["steps"]
    planned = [step for step in steps if "begins_s" in step]
    done = {s["number"]: s["begins_s"] + max(s["hands_on_s"], s.get("timer_s", 0.0)) for s in planned}
    assert all(s["begins_s"] >= done[number] - 1e-6 for s in planned for number in s["depends_on"])
    for station in ("manager", "bench", "bar"):
        own = [s for s in planned if s["station"] == station]
        assert all(b["begins_s"] >= a["begins_s"] + a["hands_on_s"] - 1e-6 for a, b in pairwise(own))


def test_the_chill_timer_rings_at_the_early_end_and_the_start_counts_with_the_late_one(client, body):
    found = sheet(client, body)
    chill, dial = step(found, "chill-batch"), step(found, "set-regulator")
    assert chill["timer_s"] == pytest.approx(60 * found["chilling"]["time"]["low"], rel=1e-9)
    assert dial["begins_s"] - chill["begins_s"] >= 60 * found["chilling"]["time"]["high"] - 1e-6


def test_without_a_shift_there_is_a_total_but_no_moment(client, body):
    del body["shift"]
    found = sheet(client, body)
    assert "total_s" in found
    assert "latest_start" not in found
    assert not any("begins_at" in step for step in found["steps"])


def test_hands_are_never_busier_than_the_whole_lasts(client, body):
    found = sheet(client, body)
    assert 0 < found["hands_on_s"] < found["total_s"]


def test_mixing_too_late_for_the_shift_is_said(client, body):
    mixing = datetime.fromisoformat(step(sheet(client, body), "mix-batch")["begins_at"])
    for late, said in ((timedelta(minutes=-1), False), (timedelta(minutes=1), True)):
        body["made_at"] = (mixing + late).isoformat()
        assert ("late-for-shift" in {c["code"] for c in sheet(client, body)["cautions"]}) is said


def made(found: dict[str, Any]) -> list[str]:
    """When the label, the step of labelling and the batch's own label say that it was made."""
    lines = [*found["label"]["lines"], *step(found, "label-vessels")["values"]]
    return [line["text"] for line in lines if line["name"] == "made"] + [found["batch"]["label"]["made_at"]]


def test_the_label_says_when_it_is_mixed_and_not_when_the_sheet_was_asked_for(client, body):
    body["made_at"] = "2026-11-28T09:00:00+01:00"
    found = sheet(client, body)
    mixing = step(found, "mix-batch")["begins_at"]
    assert mixing > body["made_at"]
    assert made(found) == [mixing[:16].replace("T", " ")] * 2 + [mixing]
    values = step(found, "label-vessels")["values"]
    assert [{"code": f"label-{line['name']}", **line} for line in found["label"]["lines"]] == values


def test_a_label_is_on_the_clock_of_whoever_asked(client, body):
    body["made_at"] = "2026-11-28T08:00:00+00:00"
    found = sheet(client, body)
    mixing = datetime.fromisoformat(step(found, "mix-batch")["begins_at"])
    assert datetime.fromisoformat(made(found)[-1]) == mixing.replace(microsecond=0)
    assert made(found)[-1].endswith("+00:00")


def test_what_is_mixed_late_or_without_a_shift_is_made_when_it_was_said(client, body):
    mixing = datetime.fromisoformat(step(sheet(client, body), "mix-batch")["begins_at"])
    body["made_at"] = (mixing + timedelta(minutes=10)).isoformat()
    assert made(sheet(client, body)) == [body["made_at"][:16].replace("T", " ")] * 2 + [body["made_at"]]
    del body["shift"]
    assert made(sheet(client, body))[-1] == body["made_at"]
    del body["made_at"]
    found = sheet(client, body)
    assert not [line for line in found["label"]["lines"] if line["name"] == "made"]
    assert "made_at" not in found["batch"]["label"]


def test_a_label_gives_no_strength_that_nobody_stated(client, body):
    """Contents as before, the strength of one component left out: no 0.0 %vol, and none of the others' either."""
    stated = {line["name"]: line["text"] for line in sheet(client, body)["label"]["lines"]}
    assert stated["strength"].endswith(" %vol")
    gin = next(component for component in body["spec"]["components"] if component.get("abv"))
    del gin["abv"]
    body["carbonation"]["temperature"] = {"value": 4, "unit": "c"}  # without alcohol it freezes sooner
    found = sheet(client, body)
    for lines in (found["label"]["lines"], step(found, "label-vessels")["values"]):
        assert {line["name"]: line["text"] for line in lines}["strength"] == "not stated"
    assert "abv" not in found["batch"]["label"]
    assert found["batch"]["label"]["abv_unstated"] == [gin["name"]]
    said = [caution for caution in found["cautions"] if caution["code"] == "counts-as-water"]
    at = body["spec"]["components"].index(gin)
    assert [caution["pointers"] for caution in said] == [[f"/spec/components/{at}/abv"]]
    page = client.post(PATH, json=body, headers={"Accept": "text/html"}).get_data(as_text=True)
    assert "<dt>strength</dt><dd>not stated</dd>" in page
    assert " %vol</dd>" not in page.replace("<bdi>", "")


@pytest.mark.parametrize("clarity", ["hazy", "pulpy"])
def test_what_is_not_clear_is_settled_and_filtered_the_day_before(client, body, clarity):
    """Common practice, no source: settled cold overnight, then filtered, before it is mixed."""
    body["spec"]["components"][1]["clarity"] = clarity
    found = sheet(client, body)
    settle, filtered, seen = (step(found, code) for code in ("settle-stock", "filter-stock", "check-clear"))
    assert settle["timer_s"] >= 8 * 3600
    assert settle["number"] in filtered["depends_on"]
    assert filtered["number"] in seen["depends_on"]
    assert seen["number"] in step(found, "mix-batch")["depends_on"]
    assert found["total_s"] > 8 * 3600
    assert "Bergamot cordial" in settle["text"]


def test_what_makes_a_stock_of_its_own_hazy_is_named(client, body):
    body["spec"]["components"][1] = {
        "name": "Cordial", "amount": {"value": 20, "unit": "ml"},
        "made_from": {"name": "Cordial", "components": [
            {"name": "Bergamot juice", "amount": {"value": 10, "unit": "ml"}, "abv": 0, "allergens": [],
             "sugar": {"value": 30, "unit": "g/l"}, "acidity": {"value": 50, "unit": "g/l", "expressed_as": "citric"},
             "clarity": "hazy"},
            {"name": "Syrup", "amount": {"value": 10, "unit": "ml"}, "allergens": [],
             "syrup": {"sugar_to_water": 1, "by": "mass"}},
        ]},
    }  # fmt: skip
    body["prices"] = body["prices"][:1]
    assert "Bergamot juice" in step(sheet(client, body), "settle-stock")["text"]


def test_what_has_a_spec_of_its_own_is_made_first_with_its_own_solutions(client, body):
    """Shares of the glass by hand: of 20 ml a glass, four fifths juice at a yield of 90 % by mass."""
    body["spec"]["components"][1] = {
        "name": "Verjus blend", "amount": {"value": 20, "unit": "ml"},
        "made_from": {"name": "Verjus blend", "components": [
            {"name": "Verjus", "amount": {"value": 80, "unit": "ml"}, "yield_percent": 90, "clarity": "hazy",
             "acidity": {"value": 18, "unit": "g/l", "expressed_as": "tartaric"}},
            {"name": "Malic solution", "amount": {"value": 20, "unit": "ml"},
             "acid_solution": {"acids": [{"acid": "malic", "percent": 6}], "basis": "w/v"}},
        ]},
    }  # fmt: skip
    body["prices"] = body["prices"][:1]
    found = sheet(client, body)
    made = step(found, "make-first")
    values = {value["name"]: value["value"] for value in made["values"]}
    assert values["Verjus"] == pytest.approx(4 * values["Malic solution"], rel=1e-9)
    assert values["comes to, at least"] == pytest.approx(20 * found["batch"]["serves"], rel=1e-9)
    settled = next(value for value in step(found, "settle-stock")["values"] if value["name"] == "started from")
    bought = next(value for value in step(found, "buy")["values"] if value["name"] == "Verjus")
    assert settled["value"] == pytest.approx(bought["value"])
    assert "Malic solution" in {solution["component"] for solution in found["acid_solutions"]}
    solutions = [one["number"] for one in found["steps"] if one["code"] == "make-acid-solution"]
    assert {*solutions, step(found, "check-clear")["number"]} <= set(made["depends_on"])
    assert made["number"] in step(found, "mix-batch")["depends_on"]


def test_a_clear_drink_needs_nothing_the_day_before(client, body):
    assert "ahead" not in {step["kind"] for step in sheet(client, body)["steps"]}


def test_a_keg_on_gas_starts_days_before(client, body):
    """A keg that stands on the gas needs days: common practice, no source."""
    body |= {"vessel": {"preset": "keg-19-l"}, "size": {"serves": 80}}
    body["carbonation"] = {"target": {"value": 5, "unit": "g/l"}, "temperature": {"value": 1, "unit": "c"}}
    found = sheet(client, body)
    days = found["carbonation"]["charges"].get("days_to_target")
    if days is None:
        assert "total_s" not in found
    else:
        assert found["total_s"] > 86400 * days["high"]


def test_the_pour_says_how_the_spec_is_served(client, body):
    values = {value["name"]: value["text"] for value in step(sheet(client, body), "pour")["values"]}
    assert {"glass": "tall, chilled", "ice": "one clear spear", "garnish": "bergamot peel"}.items() <= values.items()


def test_the_dial_of_a_re_gas_has_its_limit_beside_it(client, body):
    """It passes no limit of the bottle, 3.5 bar on the regulator; the ticket has it in the same sentence."""
    found = client.post("/v1/prep-sheets", json=body).get_json()
    (values,) = (step["values"] for step in found["steps"] if step["code"] == "regas")
    by_code = {one["code"]: one for one in values}
    assert found["regas"]["recharge"]["gauge_pressure"]["value"] <= by_code["never-over"]["value"] <= 3.5
    ticket = " ".join(client.post("/v1/prep-sheets?format=text", json=body).get_data(as_text=True).split())
    assert f"set {by_code['regas-dial']['text']}, never over {by_code['never-over']['text']}" in ticket


def test_a_line_of_one_full_jug_and_a_rest_says_then_of_the_rest_alone(client, body):
    body["size"] = {"serves": 50}
    body["site"]["scale"] = {"resolution": {"value": 1, "unit": "g"}, "capacity": {"value": 5, "unit": "kg"}}
    found = client.post("/v1/prep-sheets", json=body).get_json()
    (mixed,) = (step for step in found["steps"] if step["code"] == "mix-batch")
    water = [one["name"] for one in mixed["values"] if one["name"].startswith("Filtered water")]
    assert water == ["Filtered water", "Filtered water, then"]


def test_what_the_scale_does_not_bear_at_once_is_weighed_in_full_jugs(client, body):
    """500 glasses of 112 ml of water are 55.9 kg: on 5 kg, with a jug of half a kilogram, twelve of 4.5 kg and a rest.
    The text has no numeral; what the scale takes, and how many jugs of how much, are values."""
    body |= {"size": {"serves": 500}, "units": "us"}
    body["site"]["scale"] = {"resolution": {"value": 1, "unit": "g"}, "capacity": {"value": 5, "unit": "kg"}}
    body["carbonation"]["target"] = {"value": 5, "unit": "g/l"}
    mix = step(sheet(client, body), "mix-batch")
    (apart,) = mix["cautions"]
    assert apart["text"] == "Weigh each line in its own jug, then combine in this order."
    assert not any(character.isdigit() for character in mix["text"] + apart["text"])
    values = {one["name"]: (one["value"], one.get("unit")) for one in mix["values"]}
    assert values["the scale takes, jug included"] == (5000.0, "g")
    assert values["Filtered water, full jugs"] == (12.0, None)
    assert values["Filtered water, in each"] == (4500.0, "g")
    assert values["Filtered water, then"][0] == pytest.approx(500 * 112 * 0.9982 - 12 * 4500, abs=3)  # CRC: 0.9982 g/ml


def test_the_jug_counts_where_the_whole_batch_goes_on_the_scale(client, body):
    """32 glasses of 185 ml weigh about 6.06 kg: a scale of 6.5 kg bears them, but not in a jug of a kilogram."""
    weighed = {}
    for jug in (0.2, 1.0):
        body["site"]["scale"] = {"resolution": {"value": 1, "unit": "g"}, "capacity": {"value": 6.5, "unit": "kg"},
                                 "jug": {"value": jug, "unit": "kg"}}  # fmt: skip
        weighed[jug] = [one["code"] for one in step(sheet(client, body), "mix-batch")["cautions"]]
    assert weighed == {0.2: ["tare-each"], 1.0: ["weigh-apart"]}


@pytest.mark.parametrize("temperature, back", [(1, "back into ice and water"), (8, "out of ice and freezer")])
def test_a_vessel_goes_back_where_its_dial_is_for(client, body, temperature, back):
    """A dial for a warmer drink passes the limit in ice."""
    body["carbonation"] |= {"temperature": {"value": temperature, "unit": "c"}, "target": {"value": 5, "unit": "g/l"}}
    rounds = [one for one in sheet(client, body)["steps"] if one["code"] == "charge"]
    assert rounds
    assert all(back in one["text"] for one in rounds)


def test_by_the_clock_it_is_weighed_capped_and_checked_and_not_forecast_as_a_danger(client, body):
    body |= {"vessel": {"preset": "pet-1-l"}, "fill": 0.8}
    target = {"value": 6.5, "unit": "g/l"}
    body["carbonation"] = {"target": target, "temperature": {"value": 1, "unit": "c"}, "held": "timed"}
    found = sheet(client, body)
    weighed, checked = step(found, "weigh-capped"), step(found, "check-each")
    assert step(found, "take-air-out")["number"] in weighed["depends_on"]
    assert weighed["number"] < step(found, "chill-batch")["number"] < checked["number"]
    assert [one["code"] for one in found["cautions"] if one["severity"] == "danger"] == []


def test_gas_is_shut_off_after_the_last_charge_and_a_keg_stays_on_it(client, body):
    found = sheet(client, body)
    last = max(one["number"] for one in found["steps"] if one["code"] == "charge")
    assert step(found, "close-cylinder")["depends_on"] == [last]
    body |= {"vessel": {"preset": "keg-19-l"}, "size": {"serves": 80}}
    body["carbonation"] = {"target": {"value": 5, "unit": "g/l"}, "temperature": {"value": 1, "unit": "c"}}
    assert "close-cylinder" not in {one["code"] for one in sheet(client, body)["steps"]}


def test_the_gauge_sends_no_good_vessel_to_be_vented(client, body):
    """Vented is what could pass its limit, not what is a little over its target."""
    found = sheet(client, body)
    shown = {value["code"]: value["value"] for value in step(found, "gauge-at-rest")["values"]}
    ends = found["carbonation"]["charges"]["check"]["gauge"][-1]["gauge_pressure"]
    assert shown["gauge-about"] == pytest.approx(ends["typical"], abs=0.01)
    assert shown["gauge-not-over"] > ends["typical"]


def test_a_label_says_that_it_is_under_pressure(client, body):
    lines = {line["name"]: line["text"] for line in sheet(client, body)["label"]["lines"]}
    assert (lines["keep"], lines["open"]) == ("upright and cold", "slowly: under CO2 pressure")
    assert lines["warmest"] == "5.0 °C"


def test_a_keg_that_is_rocked_within_a_time_is_not_given_days(client, body):
    body |= {"vessel": {"preset": "keg-19-l"}, "size": {"serves": 80}}
    body["carbonation"] = {
        "target": {"value": 5, "unit": "g/l"}, "temperature": {"value": 1, "unit": "c"}, "agitation": "rocked",
        "within": {"value": 30, "unit": "min"},
    }  # fmt: skip
    found = sheet(client, body)
    on_gas = step(found, "leave-on-gas")
    shown = {value["code"]: value for value in on_gas["values"]}
    assert "rock it on the gas" in on_gas["text"]
    assert shown["gas-at"]["text"] == "1.0 °C"
    assert "days-to" not in shown
    assert found["total_s"] < 86400.0
    body["carbonation"] |= {"agitation": "still"}
    del body["carbonation"]["within"]
    assert sheet(client, body)["total_s"] > 86400.0
