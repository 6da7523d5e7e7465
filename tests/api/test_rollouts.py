"""Rollouts on the wire: JSON, a line for each site while it is computed, and a table."""

import csv
import gc
import io
import json
import time
import tracemalloc
from copy import deepcopy
from datetime import datetime
from importlib import import_module
from zoneinfo import ZoneInfo

import pytest
import requests
from babel import Locale
from babel.dates import format_datetime
from babel.numbers import format_decimal, get_currency_precision

from service.api.openapi import example
from service.api.rollouts.refusing import MOST_TRIES
from service.api.speech import Speech
from service.limits.requests import MOST_KINDS, MOST_SITES
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest, offers
from tests.running import running

PATH = "/v1/rollouts"


@pytest.fixture
def body():
    return example("createRollout")


def with_sites(body, *changes):
    """The station again and again, each time changed and under an id of its own; None takes a field out."""
    (station,) = (one for one in body["sites"] if one["id"] == "station")
    sites = []
    for i, change in enumerate(changes):
        one = {**deepcopy(station), "id": f"no {i}", **deepcopy(change)}
        sites.append({name: value for name, value in one.items() if value is not None})
    return {**body, "sites": sites}


def metres(value):
    return {"value": value, "unit": "m"}


def test_the_example_conforms_and_says_that_it_is_invented(client, body):
    answer = client.post(PATH, json=body)
    assert answer.status_code == 200, answer.json
    conforms("createRollout", answer.json)
    assert answer.json["labels"] == body["labels"]
    assert "invented" in answer.json["labels"]["note"]
    assert [one["id"] for one in answer.json["sites"]] == ["harbour", "hilltop", "station"]
    assert answer.json["refused"] == 0
    assert {"co2", "glass", "abv", "titratable_acidity"} == answer.json["summary"].keys()


def test_the_level_is_the_same_everywhere_and_altitude_moves_the_dial(client, body):
    """A keg-free check over the wire: the spread of the level is far below what a gauge can tell."""
    places = [{"altitude": metres(height)} for height in (0, 600, 1200, 1600)]
    answer = client.post(PATH, json=with_sites(body, *places)).json
    spread = answer["summary"]["co2"]
    assert spread["highest"]["value"] - spread["lowest"]["value"] < 0.01
    dials = [one["gauge_pressure"]["typical"] for one in answer["sites"]]
    assert dials == sorted(dials)
    assert dials[-1] > dials[0] + 0.1
    assert [one["code"] for one in answer["sites"][0]["differs"]].count("altitude") == 0
    (altitude,) = (one for one in answer["sites"][3]["differs"] if one["code"] == "altitude")
    assert altitude["pointer"] == "/sites/3/altitude"
    assert altitude["here"]["value"] - altitude["standard"]["value"] == pytest.approx(dials[3] - dials[0])


def test_every_pointer_is_one_into_the_request(client, body):
    """What is assumed is where it could be stated, what is warned of where it was."""
    answer = client.post(PATH, json=body).json
    for i, one in enumerate(answer["sites"]):
        pointers = [p for said in (*one["cautions"], *one["assumptions"]) for p in said["pointers"]]
        pointers += [differs["pointer"] for differs in one["differs"]]
        assert pointers
        assert {tuple(p.split("/")[1:3]) for p in pointers if p.startswith("/site")} <= {("sites", str(i))}
        assert all(p.split("/")[1] in ("spec", "standard", "sites") for p in pointers)


def test_units_are_those_of_the_site_and_else_of_the_request(client, body):
    places = ({}, {"units": "us"}, {"units": "metric"})
    asked = with_sites(body, *places) | {"units": "us"}
    first, second, third = client.post(PATH, json=asked).json["sites"]
    assert first["gauge_pressure"]["unit"] == second["gauge_pressure"]["unit"] == "psi"
    assert third["gauge_pressure"]["unit"] == "bar"
    assert third["fills"][0]["liquid"]["unit"] == "ml"
    assert first["gauge_pressure"]["typical"] == pytest.approx(
        third["gauge_pressure"]["typical"] * 14.5037738, rel=1e-8
    )


@pytest.mark.parametrize("tag", ["de-DE", "fr-FR", "pt-PT", "en-US", "sv-SE", "ar-EG", "hi-IN"])
def test_numbers_and_dates_in_sentences_are_those_of_the_locale(client, body, tag):
    """As Babel writes them from Unicode CLDR; the sentences around them stay English."""
    asked = with_sites(body, {"locale": tag, "time_zone": "Europe/Berlin"})
    response = client.post(PATH, json=asked)
    assert response.headers["Content-Language"] == "en"
    (one,) = response.json["sites"]
    said = {line["code"]: line for line in one["says"]}
    locale = Locale.parse(tag, sep="-")
    dial = one["gauge_pressure"]["typical"]
    assert f"dial {format_decimal(dial, '#,##0.00', locale=locale)} bar" in said["dial"]["text"]
    use_by = datetime.fromisoformat(one["use_by"])
    assert use_by.utcoffset() == ZoneInfo("Europe/Berlin").utcoffset(use_by.replace(tzinfo=None))
    assert said["discard"]["text"] == f"Discard at {format_datetime(use_by, 'medium', locale=locale)}."
    assert "never over" in said["dial"]["text"]


@pytest.mark.parametrize("tag", ["de-DE", "fr-CH", "en-IN", "es-ES", "sv-SE", "fa-IR", "pl-PL"])
@pytest.mark.parametrize("number", [-12.347, -0.5, 0.0, 7.25, 998.75, 999.96, 1234.5, 123456.78])
def test_a_number_is_written_as_babel_writes_it(tag, number):
    locale = Locale.parse(tag, sep="-")
    assert Speech(locale).fixed(number, 2) == format_decimal(number, "#,##0.00", locale=locale)


@pytest.mark.parametrize("currency, amount", [("EUR", "18.90"), ("JPY", "2400"), ("KWD", "6.150"), ("CLF", "0.5")])
def test_cost_is_in_the_currency_of_the_site(client, body, currency, amount):
    """Per serve to two decimals more than the smallest coin has, by ISO 4217 as Babel knows it."""
    price = {
        "component": "Gin",
        "content": {"value": 70, "unit": "cl"},
        "price": {"amount": amount, "currency": currency},
    }
    (one,) = client.post(PATH, json=with_sites(body, {"prices": [price]})).json["sites"]
    decimals = one["cost"]["per_serve"]["amount"].partition(".")[2]
    assert len(decimals) == get_currency_precision(currency) + 2
    assert {one["cost"]["batch"]["currency"], one["outlay"]["currency"]} == {currency}


def test_sites_of_two_currencies_are_no_contradiction(client, body):
    currencies = [one["cost"]["batch"]["currency"] for one in client.post(PATH, json=body).json["sites"]]
    assert currencies == ["EUR", "USD", "CHF"]


def test_a_site_of_several_kinds_of_vessels_is_told_each(client, body):
    kinds = [{"vessel": {"preset": "pet-1-l"}, "count": 4}, {"vessel": {"preset": "pet-500-ml"}, "count": 3}]
    (one,) = client.post(PATH, json=with_sites(body, {"vessels": kinds})).json["sites"]
    assert [fill["vessel"] for fill in one["fills"]] == ["pet-1-l", "pet-500-ml"]
    (other,) = one["other_vessels"]
    assert other["fill"] == one["fills"][1]
    assert other["charges"]["co2"]["typical"] == pytest.approx(one["charges"]["co2"]["typical"], abs=0.01)


def test_a_site_without_vessels_makes_the_size_of_the_standard(client, body):
    asked = with_sites(body, {"vessels": None}, {})
    asked["standard"]["size"] = {"serves": 20}
    first, second = client.post(PATH, json=asked).json["sites"]
    assert first["batch"]["serves"] == 20
    assert sum(fill["count"] for fill in second["fills"]) == 8
    missing = client.post(PATH, json=with_sites(example("createRollout"), {"vessels": None}, {}))
    assert [(e["pointer"], e["code"]) for e in missing.json["errors"]] == [("/sites/0/vessels", "required")]


FULL = {"vessels": [{"vessel": {"preset": "pet-1-l"}, "count": 8, "fill": 0.95}],
        "warmest_room": {"value": 20, "unit": "c"}}  # fmt: skip
REFUSED = {
    "altitude and barometer": ({"altitude": metres(1600), "barometer": {"value": 1013, "unit": "hpa"}},
                               "site-contradiction", "/sites/1/barometer"),
    "a warm room": ({"warmest_room": {"value": 40, "unit": "c"}}, "over-vessel-limit", "/standard/carbonation/target"),
    "too full": (FULL, "refused", "/sites/1/vessels/0/fill"),
    "too full a keg, not squeezed": ({"vessels": [{"vessel": {"preset": "keg-19-l"}, "count": 1, "fill": 0.97}]},
                                     "refused", "/sites/1/vessels/0/fill"),
    "full in a warm room": ({"vessels": [{"vessel": {"preset": "pet-1-l"}, "count": 8, "fill": 0.9}],
                             "warmest_room": {"value": 33, "unit": "c"}}, "over-vessel-limit",
                            "/standard/carbonation/target"),
    "too full in a warm room": ({**FULL, "warmest_room": {"value": 40, "unit": "c"}}, "refused",
                                "/sites/1/vessels/0/fill"),
}  # fmt: skip


def at_seven(body, **carbonation):
    """A standard of 7 g/l, which a usual bottle stands in a usual room."""
    body["standard"]["carbonation"] |= {"target": {"value": 7, "unit": "g/l"}, **carbonation}
    return body


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("change, slug, pointer", REFUSED.values(), ids=REFUSED)
def test_a_refused_site_is_so_alone_and_its_offer_works(client, body, change, slug, pointer, units):
    asked = with_sites(at_seven(body), {}, {**change, "units": units}, {})
    answer = client.post(PATH, json=asked)
    assert answer.status_code == 200
    conforms("createRollout", answer.json)
    assert [one["status"] for one in answer.json["sites"]] == ["ok", "refused", "ok"]
    assert answer.json["refused"] == 1
    problem = answer.json["sites"][1]["problem"]
    assert problem["type"] == f"/problems/{slug}"
    assert pointer in [error["pointer"] for error in problem["errors"]]
    assert problem["nearest"]
    for mended in offers(asked, problem):
        again = client.post(PATH, json=mended).json
        assert [one["status"] for one in again["sites"]] == ["ok", "ok", "ok"]


@pytest.mark.parametrize("change, slug, pointer", [
    ({"relief_set": None, "regulator_max": {"value": 200, "unit": "bar"}}, "regulator-unsafe", "/sites/1/relief_set"),
    ({"gas_source": "cartridge"}, "regulator-unsafe", "/sites/1/gas_source"),
    ({"vessels": [{"vessel": {"preset": "pet-1-l", "condition": "bulged"}, "count": 8}]}, "vessel-refused",
     "/sites/1/vessels/0/vessel/condition"),
    ({"vessels": [{"vessel": {"preset": "pet-1-l", "closed_limit": {"value": 8, "unit": "bar"}}, "count": 8}]},
     "vessel-refused", "/sites/1/vessels/0/vessel/closed_limit"),
])  # fmt: skip
def test_what_only_the_venue_knows_is_refused_without_an_offer(client, body, change, slug, pointer):
    problem = client.post(PATH, json=with_sites(body, {}, change)).json["sites"][1]["problem"]
    assert problem["type"] == f"/problems/{slug}"
    assert {error["pointer"] for error in problem["errors"]} == {pointer}
    assert not {"nearest", "offers"} & problem.keys()


def test_every_way_out_of_a_standard_is_offered_to_each_venue(client, body):
    """Four at the most, each tried alone: there is a try for every one of them at every venue of the longest list."""
    full = [{"vessel": {"preset": "pet-1-l"}, "count": 8, "fill": 0.8}]
    sites = [{"vessels": full, "altitude": metres(i)} for i in (0, 9)]
    asked = with_sites(at_seven(body, air={"method": "left"}), *sites)
    for i, one in enumerate(client.post(PATH, json=asked).json["sites"]):
        ways = offers(asked, one["problem"])
        codes = [offer["code"] for offer in one["problem"]["offers"]]
        assert codes == ["air-squeezed", "air-purged", "lower-level"]
        assert {client.post(PATH, json=way).json["sites"][i]["status"] for way in ways} == {"ok"}


def test_air_pressure_may_be_off_by_weather_and_no_more(client, body):
    """Weather moves the barometer by 3 % of what ISO 2533 prints for 1600 m, 835.2 hPa."""
    standard_hpa = 1013.25 * (1 - 0.0065 * 1600 / 288.15) ** (9.80665 / (0.0065 * 287.05287))
    for share, status in ((0.971, "ok"), (1.029, "ok"), (0.969, "refused"), (1.031, "refused")):
        barometer = {"value": standard_hpa * share, "unit": "hpa"}
        asked = with_sites(body, {"altitude": metres(1600), "barometer": barometer})
        assert client.post(PATH, json=asked).json["sites"][0]["status"] == status, share


def test_sites_that_differ_by_name_alone_share_a_problem_and_each_has_its_own_pointers(client, body, monkeypatch):
    monkeypatch.setattr("service.api.rollouts.refusing.MOST_TRIES", 1)
    asked = with_sites(body, *[FULL] * 5, {**FULL, "altitude": metres(10)})
    *alike, other = (one["problem"] for one in client.post(PATH, json=asked).json["sites"])
    for i, problem in enumerate(alike):
        assert [near["pointer"] for near in problem["nearest"]] == [f"/sites/{i}/vessels/0/fill"]
    assert "nearest" not in other  # there is no try left for it


def test_every_venue_of_a_long_list_that_is_refused_is_offered_what_works(client, body):
    """Each is another one: none may share its offer, and there is a try for each."""
    warm = [{"altitude": metres(i), "warmest_room": {"value": 35 + i % 5, "unit": "c"}} for i in range(60)]
    asked = with_sites(at_seven(body, target={"value": 7.5, "unit": "g/l"}), *warm)
    refused = [one["problem"] for one in client.post(PATH, json=asked).json["sites"]]
    for i in (0, 31, 59):
        for way in offers(asked, refused[i]):
            assert client.post(PATH, json=way).json["sites"][i]["status"] == "ok"
    assert all("nearest" in problem for problem in refused)
    assert MOST_TRIES >= 4 * MOST_SITES


@pytest.mark.parametrize("carbonation", [{}, {"air": {"method": "left"}}])
def test_an_offer_is_tried_without_what_it_leaves_as_it_was(client, body, monkeypatch, carbonation):
    """The glass is of the spec and the batch of what a venue makes, which no target and no air changes."""
    batching, counted = import_module("service.rollout.shared_work").batching, {"glass_of": 0, "make": 0}

    def counting(name, original):
        def count(*args, **kwargs):
            counted[name] += 1
            return original(*args, **kwargs)

        return count

    for name in counted:
        monkeypatch.setattr(batching, name, counting(name, getattr(batching, name)))
    warm = [{"warmest_room": {"value": 40, "unit": "c"}, "altitude": metres(10 * i)} for i in range(20)]
    asked = with_sites(at_seven(body, **carbonation), *warm)
    refused = [one["problem"] for one in client.post(PATH, json=asked).json["sites"]]
    assert all("nearest" in problem for problem in refused)
    assert {near["pointer"] for one in refused for near in one["nearest"]} == {"/standard/carbonation/target"}
    targets = {near["value"]["value"] for one in refused for near in one["nearest"]}
    assert counted == {"glass_of": 1, "make": 1 + 1 + len(targets)}  # and one for the place of each standard


def test_a_glass_that_differs_is_told_by_how_much(client, body):
    """Never as two figures that look alike: at 1600 m it is 0.07 g/l less, of 5.2 g/l at both."""
    (site,) = client.post(PATH, json=with_sites(body, {"altitude": metres(1600), "locale": "en"})).json["sites"]
    (glass,) = (one for one in site["differs"] if one["code"] == "glass")
    change = glass["standard"]["value"] - glass["here"]["value"]
    assert glass["text"] == f"CO2 in the first glass: {change:.1f} g/l less than in the standard."


def test_all_may_be_refused(client, body):
    asked = with_sites(body, {"warmest_room": {"value": 40, "unit": "c"}})
    asked["standard"]["carbonation"]["target"] = {"value": 14, "unit": "g/l"}
    answer = client.post(PATH, json=asked)
    assert answer.status_code == 200
    conforms("createRollout", answer.json)
    assert (answer.json["refused"], answer.json["summary"]) == (1, {})


@pytest.mark.parametrize(
    "change, pointer, code",
    [
        ({"sites": []}, "/sites", "length"),
        ({"sites": 7}, "/sites", "not-a-list"),
        ({"sites": None}, "/sites", "null"),
        ({"standard": {"size": {"serves": 2}, "carbonation": {"gauge_pressure": {"value": 1, "unit": "bar"}}}},
         "/standard/carbonation/gauge_pressure", "unknown-field"),
        ({"spec": {"name": "none", "components": []}}, "/spec/components", "length"),
    ],
)  # fmt: skip
def test_what_is_not_valid_refuses_the_whole(client, body, change, pointer, code):
    answer = client.post(PATH, json=body | change)
    assert answer.status_code == 422
    assert (pointer, code) in [(e["pointer"], e["code"]) for e in answer.json["errors"]]


@pytest.mark.parametrize(
    "change, pointer, code",
    [
        ({"nonsense": 1}, "/sites/1/nonsense", "unknown-field"),
        ({"id": 7}, "/sites/1/id", "not-a-string"),
        ({"id": "no 0"}, "/sites/1/id", "duplicate"),
        ({"altitude": metres(90_000)}, "/sites/1/altitude/value", "out-of-range"),
        ({"locale": "xx-XX"}, "/sites/1/locale", "unknown-locale"),
        ({"locale": "../en"}, "/sites/1/locale", "unknown-locale"),
        ({"time_zone": "Moon/Sea_of_Rains"}, "/sites/1/time_zone", "unknown-time-zone"),
        ({"time_zone": "../../etc/passwd"}, "/sites/1/time_zone", "unknown-time-zone"),
        ({"time_zone": "Europe"}, "/sites/1/time_zone", "unknown-time-zone"),
        ({"units": "furlongs"}, "/sites/1/units", "not-a-choice"),
        ({"vessels": []}, "/sites/1/vessels", "length"),
        ({"prices": [{"component": "Gin"}]}, "/sites/1/prices/0/price", "required"),
    ],
)
@pytest.mark.parametrize("form", ["json", "ndjson", "csv"])
def test_nonsense_of_one_site_refuses_the_whole_and_names_it(client, body, change, pointer, code, form):
    """Also where the answer would be sent part by part: the problem comes before the first."""
    answer = client.post(f"{PATH}?format={form}", json=with_sites(body, {}, change, {}))
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    assert (pointer, code) in [(e["pointer"], e["code"]) for e in answer.json["errors"]]


def test_a_list_of_501_sites_is_refused(client, body):
    answer = client.post(PATH, json=with_sites(body, *[{}] * (MOST_SITES + 1)))
    assert [(e["pointer"], e["code"]) for e in answer.json["errors"]] == [("/sites", "length")]


def test_all_kinds_of_vessels_together_are_bounded(client, body):
    kinds = [{"vessel": {"preset": "pet-1-l"}, "count": 1}] * 50
    answer = client.post(PATH, json=with_sites(body, *[{"vessels": kinds}] * (MOST_KINDS // 50 + 1)))
    assert [(e["pointer"], e["code"]) for e in answer.json["errors"]] == [("/sites", "too-many-vessels")]


def test_components_times_venues_are_bounded(client, body):
    """Forty components at 200 venues are as much as there may be; so are those of which a component is made."""
    component = {"amount": {"value": 4, "unit": "ml"}, "abv": 10}
    body["spec"]["components"] = [{**component, "name": f"{i}, invented"} for i in range(40)]
    body["standard"] = {}
    for site in body["sites"]:
        site.pop("prices", None)
    full = with_sites(body, *[{}] * 200)
    assert client.post(PATH, json=full).status_code == 200
    answer = client.post(PATH, json=with_sites(body, *[{}] * 201))
    assert [(e["pointer"], e["code"]) for e in answer.json["errors"]] == [("/sites", "too-many-lines")]
    inner = {"name": "inner, invented", "components": [{**component, "name": "x"}]}
    made = {"name": "0, invented", "amount": component["amount"], "made_from": inner}
    full["spec"]["components"][0] = made
    answer = client.post(PATH, json=full)
    assert [(e["pointer"], e["code"]) for e in answer.json["errors"]] == [("/sites", "too-many-lines")]


@pytest.mark.parametrize("form", ["json", "ndjson", "csv"])
def test_a_spec_that_no_site_could_make_refuses_the_whole(client, body, form):
    body["spec"]["components"][1]["live_culture"] = True
    answer = client.post(f"{PATH}?format={form}", json=body)
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    assert answer.json["type"] == "/problems/live-culture"
    assert [e["pointer"] for e in answer.json["errors"]] == ["/spec/components/1/live_culture"]


def test_the_offer_for_a_standard_that_cannot_be_works(client, body):
    body["standard"]["dilution"] = {"to_abv": 90}
    problem = client.post(PATH, json=body).json
    assert [e["pointer"] for e in problem["errors"]] == ["/standard/dilution/to_abv"]
    assert client.post(PATH, json=apply_nearest(body, problem)).status_code == 200


def without_ids(node):
    if isinstance(node, dict):
        return {key: without_ids(value) for key, value in node.items() if key != "request_id"}
    return [without_ids(one) for one in node] if isinstance(node, list) else node


def test_the_lines_are_the_answer(client, body):
    asked = with_sites(body, {}, {"vessels": [{"vessel": {"preset": "pet-1-l"}, "count": 8, "fill": 0.95}]}, {})
    whole = client.post(PATH, json=asked).json
    response = client.post(PATH, json=asked, headers={"Accept": "application/x-ndjson"})
    assert response.mimetype == "application/x-ndjson"
    assert response.headers["Cache-Control"] == "no-store"
    *sites, end = [json.loads(line) for line in response.text.splitlines()]
    assert {one.pop("kind") for one in sites} == {"site"}
    assert without_ids(sites) == without_ids(whole["sites"])
    assert (end.pop("kind"), end.pop("sites"), end["refused"]) == ("end", 3, 1)
    del whole["sites"]
    assert end == whole


def test_the_table_has_a_row_for_each_kind_of_vessel(client, body):
    body["sites"][1]["name"] = "=HYPERLINK(0)"
    body["sites"][2]["vessels"] = [{"vessel": {"preset": "pet-1-l"}, "count": 8, "fill": 0.95}]
    response = client.post(PATH, json=body, headers={"Accept": "text/csv"})
    assert response.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert response.text.count("\r\n") == response.text.count("\n") == 5
    rows = list(csv.DictReader(io.StringIO(response.text, newline="")))
    assert [(row["id"], row["vessel"]) for row in rows] == [
        ("harbour", "pet-1-l"), ("harbour", "pet-500-ml"), ("hilltop", "pet-1-l"), ("station", "")]  # fmt: skip
    assert rows[2]["name"] == "'=HYPERLINK(0)"
    assert [row["status"] for row in rows] == ["ok", "ok", "ok", "refused"]
    assert "nothing cushions the pressure" in rows[3]["problem"]
    whole = client.post(PATH, json=body).json["sites"]
    assert json.loads(rows[3]["nearest"]) == whole[2]["problem"]["nearest"]
    assert {row["nearest"] for row in rows[:3]} == {""}
    assert float(rows[2]["dial_typical"]) == whole[1]["gauge_pressure"]["typical"]
    assert float(rows[1]["co2_typical"]) == whole[0]["other_vessels"][0]["charges"]["co2"]["typical"]
    assert rows[0]["cost_per_serve"] == whole[0]["cost"]["per_serve"]["amount"]
    assert rows[0]["regas_at"] == whole[0].get("regas_at", "")


@pytest.mark.parametrize("floor, due", [(4.5, False), (5.05, True)])
def test_a_re_gas_is_announced_only_where_one_is_usually_due(client, body, floor, due):
    """A litre's four glasses that usually all make the floor end with an empty bottle, which nobody re-gasses."""
    asked = with_sites(body, {})
    asked["standard"]["shift"]["floor"] = {"value": floor, "unit": "g/l"}
    (site,) = client.post(PATH, json=asked).json["sites"]
    (said,) = (one["text"] for one in site["says"] if one["code"] == "regas")
    serves_of_a_litre = 800 // 185
    assert (site["regas_after"]["pours"]["typical"] < serves_of_a_litre) is due
    assert ("regas_at" in site) is due
    assert ("re-gas after" in said) is due
    assert said.endswith("never below a third full.")


def test_a_query_that_does_not_exist_is_refused(client, body):
    assert client.post(f"{PATH}?format=html", json=body).status_code == 406
    assert client.post(f"{PATH}?columns=40", json=body).status_code == 400


def test_a_stream_holds_no_more_for_more_sites(client, body, monkeypatch):
    """Beside the request itself: what is kept for venues to come is bounded, here by less than usual."""
    for module in ("service.rollout.shared_work", "service.api.rollouts.streams"):
        monkeypatch.setattr(import_module(module), "KEPT", 4)
    del body["standard"]["shift"]

    def peak(count):
        data = json.dumps(with_sites(body, *[{"altitude": metres(i)} for i in range(count)]))
        response = client.post(f"{PATH}?format=ndjson", data=data, content_type="application/json", buffered=False)
        tracemalloc.reset_peak()
        before, _ = tracemalloc.get_traced_memory()
        sent = 0
        for i, line in enumerate(response.response):
            sent += len(line)
            if i % 15 == 0:
                gc.collect()  # what is in a circle is free, if not yet given back
        return tracemalloc.get_traced_memory()[1] - before, sent

    peak(5)
    tracemalloc.start()
    try:
        (few, sent_few), (many, sent_many) = peak(20), peak(80)
    finally:
        tracemalloc.stop()
    assert sent_many - sent_few > 400_000
    assert many - few < 100_000


def test_a_client_reads_the_first_site_while_the_last_is_not_computed(body):
    asked = with_sites(body, *[{"altitude": metres(i), "warmest_room": {"value": 25, "unit": "c"}} for i in range(150)])
    with running() as url, requests.post(f"{url}{PATH}?format=ndjson", json=asked, stream=True, timeout=60) as response:
        begun, seconds, lines = time.perf_counter(), [], []
        for line in response.iter_lines():
            seconds.append(time.perf_counter() - begun)
            lines.append(json.loads(line))
    assert response.headers["Transfer-Encoding"] == "chunked"
    assert [one["id"] for one in lines[:-1]] == [f"no {i}" for i in range(150)]
    assert {name: lines[-1][name] for name in ("kind", "sites", "refused")} == {
        "kind": "end",
        "sites": 150,
        "refused": 0,
    }
    assert seconds[0] < 0.25 * seconds[-1]
    assert seconds[75] < 0.75 * seconds[-1]
