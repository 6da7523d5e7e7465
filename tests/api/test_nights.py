"""Ordinary nights of the trade, through the API: what passes at the defaults, what is refused, and what is said.

Each drink holds 4 g/l of citric acid and is charged at 1 degC, squeezed to 20 ml, at fill 0.8, in a room of 30 degC,
unless a night says otherwise. What a bar does so every night is common practice, no source. The judged ends are a first
computation, made before the service was written to pass them; a night may lie 0.1 bar off it.
"""

import json
from typing import Any

import pytest
from flask.testing import FlaskClient

CHARGES, SET_POINTS = "/v1/carbonation/charges", "/v1/carbonation/set-points"
READINGS, STATES, FORECASTS = "/v1/carbonation/readings", "/v1/regas/states", "/v1/regas/forecasts"
VOLUME_G_PER_L = 1.9768
"""A litre of CO2 at 0 degC and 1 atm weighs so much [g]; CRC Handbook, from memory."""
FIRST_COMPUTED_BAR = 0.1
REFITTED_SHARE = 0.05
"""How far the refit of the solubility moved the judged end of a night, share of it: the first computation had an ethanol
term too deep at 5 %vol and too shallow from 12 on, bands that jumped at 50 and 150 g/l of sugar, and three purges of a
keg instead of five (service/science/README.md, CHANGELOG.md)."""


def of(unit: str, value: float) -> dict[str, Any]:
    return {"value": value, "unit": unit}


def drink(abv: float, sugar: float, *, acid: float = 4.0) -> dict[str, Any]:
    acidity = {"value": acid, "unit": "g/l", "expressed_as": "citric"}
    return {"composition": {"abv": abv, "sugar": of("g/l", sugar), "acidity": acidity}}


def night(abv: float, sugar: float, co2_g_per_l: float, **more: Any) -> dict[str, Any]:
    """The request of a charge."""
    bottle = {"air": {"method": "squeezed", "remaining": of("ml", 20)}, "fill": 0.8}
    usual = {} if "keg" in str(more.get("vessel")) else bottle
    acid = more.pop("acid", 4.0)
    return {
        "drink": drink(abv, sugar, acid=acid), "target": of("g/l", co2_g_per_l), "temperature": of("c", 1), **usual,
        **more,
    }  # fmt: skip


def room(value: float) -> dict[str, Any]:
    return {"warmest_room": of("c", value)}


def post(client: FlaskClient, path: str, body: dict[str, Any]) -> tuple[int, dict[str, Any]]:
    response = client.post(path, data=json.dumps(body), content_type="application/json")
    return response.status_code, response.get_json()


SODA_KEG, BEER_KEG = {"preset": "keg-19-l"}, {"preset": "keg-30-l"}
PURGED = {"method": "purged", "times": 3}
VOLUMES_4, VOLUMES_3_5 = 4.0 * VOLUME_G_PER_L, 3.5 * VOLUME_G_PER_L
PASS: dict[str, tuple[dict[str, Any], float | None]] = {
    "highball 6": (night(9, 70, 6), 4.82),
    "highball 7": (night(9, 70, 7), 5.71),
    "highball 7 at 4 C": (night(9, 70, 7, temperature=of("c", 4)), 5.76),
    "highball 7 at fill 0.85": (night(9, 70, 7, fill=0.85), 6.27),
    "highball 7.5": (night(9, 70, 7.5), 6.17),
    "highball 8 at fill 0.75": (night(9, 70, 8, fill=0.75), 6.11),
    "highball 8 without air": (night(9, 70, 8, air={"method": "none"}), 6.16),
    "light 7": (night(6, 60, 7), 5.56),
    "dry 8": (night(10, 10, 8), 6.22),
    "spritz 6": (night(9, 60, 6), 4.78),
    "wine and soda 5": (night(8, 40, 5), 3.73),
    "soda water of 4 volumes": (night(0, 0, VOLUMES_4, acid=0.0), 5.09),
    "soft drink of 80 g/l, 4 volumes": (night(0, 80, VOLUMES_4), 5.98),
    "soft drink of 108 g/l, 4 volumes": (night(0, 108, VOLUMES_4), 6.11),
    "soft drink of 90 g/l, 7": (night(0, 90, 7), 5.26),
    "sparkling style 8": (night(12, 10, 8), 6.29),
    "short 6": (night(14, 70, 6), 4.94),
    "strong 6": (night(20, 90, 6), 5.26),
    "strong 7 at -1 C": (night(20, 90, 7, temperature=of("c", -1)), 6.21),
    "highball 7 at 2,250 m": (night(9, 70, 7, site={"altitude": of("m", 2250)}), 5.85),
    "highball 7 in a room of 35 C": (night(9, 70, 7, site=room(35)), 6.49),
    "highball of 3.5 volumes": (night(9, 70, VOLUMES_3_5), 5.64),
    "soda keg 5": (night(9, 70, 5, vessel=SODA_KEG, fill=0.95), 5.36),
    "soda keg 7": (night(9, 70, 7, vessel=SODA_KEG, fill=0.95), 7.55),
    "soda keg 5.5, unshaken on its gas": (
        night(9, 70, 5.5, vessel=SODA_KEG, agitation="still", connected=True), None,
    ),
    "soda water at 0.5 C": (night(0, 0, 7, acid=0.0, temperature=of("c", 0.5)), None),
    "beer keg 5 at 12 C": (night(9, 70, 5, vessel=BEER_KEG), 2.68),
    "beer keg 5.5 at 12 C": (night(9, 70, 5.5, vessel=BEER_KEG), 2.99),
    "soda keg 5.5 in a room of 40 C": (night(9, 70, 5.5, vessel=SODA_KEG, site=room(40)), 8.17),
}  # fmt: skip
"""The last was first computed to be over its limit of 8 bar; purged five times it is just under."""
REFITTED = {
    "light 7", "soft drink of 80 g/l, 4 volumes", "soft drink of 108 g/l, 4 volumes", "soft drink of 90 g/l, 7",
    "sparkling style 8", "short 6", "strong 6", "strong 7 at -1 C", "soda keg 5", "soda keg 7", "sparkling style 9",
    "soda keg 5.5 in a room of 40 C",
}  # fmt: skip


def first_computed(name: str, bar: float) -> Any:
    """The first figure of a night, as far as it may be off."""
    return pytest.approx(bar, abs=max(FIRST_COMPUTED_BAR, REFITTED_SHARE * bar if name in REFITTED else 0.0))


REFUSED: dict[str, tuple[dict[str, Any], float | None, list[str] | None]] = {
    "fill 0.90 at 7": (night(9, 70, 7, fill=0.9), 7.03, ["fill-less", "lower-level"]),
    "air left in at 7": (night(9, 70, 7, air={"method": "left"}), 7.73, ["air-squeezed", "air-purged", "lower-level"]),
    "highball 8": (night(9, 70, 8), 6.62, ["fill-less", "air-purged", "lower-level"]),
    "sparkling style 9": (night(12, 10, 9), 7.15, None),
    "a room of 38 C at 7": (night(9, 70, 7, site=room(38)), 6.96, None),
    "highball 10.5 in a room of 5 C": (night(9, 70, 10.5, site=room(5)), None, None),
    "highball 8 in a room of 25 C": (night(9, 70, 8, site=room(25)), 6.62, None),
}
"""With the judged end, and the ways out in their order."""


@pytest.mark.parametrize("name", PASS)
def test_an_ordinary_night_passes_with_few_words(client: FlaskClient, name: str) -> None:
    """Its judged end is the one that was first computed; it draws at most three cautions, and no danger."""
    body, first_bar = PASS[name]
    status, answer = post(client, CHARGES, body)
    assert status == 200, answer
    if first_bar is not None:
        assert answer["worst"]["gauge_pressure"]["value"] == first_computed(name, first_bar)
    said = [(c["code"], c["severity"]) for c in answer["cautions"]]
    assert len(said) <= 3, said
    assert "danger" not in {severity for _, severity in said}, said
    assert answer["safety"]["href"] == "/v1/references/safety-rules"
    assert answer["never_over"]["value"] >= answer["gauge_pressure"]["value"] > 0.0


@pytest.mark.parametrize("name", REFUSED)
def test_what_could_pass_its_limit_is_refused_with_the_ways_out_that_work(client: FlaskClient, name: str) -> None:
    """The same level first, by less in the bottle or less air, a lower level last; each way is tried."""
    body, first_bar, ways = REFUSED[name]
    status, problem = post(client, CHARGES, body)
    assert (status, problem["type"]) == (422, "/problems/over-vessel-limit"), problem
    assert {error["code"] for error in problem["errors"]} == {"closed-limit"}
    if first_bar is not None:
        reached = next(fact["value"] for fact in problem["facts"] if fact["name"] == "reached")
        assert reached == first_computed(name, first_bar)
    offers = problem.get("offers", [])
    assert offers
    if ways is not None:
        assert [offer["code"] for offer in offers] == ways
    for offer in offers:
        changed = dict(body)
        for one in offer["nearest"]:
            changed[one["pointer"].removeprefix("/")] = one["value"]
        assert post(client, CHARGES, changed)[0] == 200, offer
    told = json.dumps(offers)
    for fact in ("rated_by", "warmest_room", "kept_at", "condition", "cycles", "closed_limit", '"none"'):
        assert fact not in told  # nobody but the bar knows it


@pytest.mark.parametrize("level", [5.0, 6.0, 7.0, 9.0])
def test_a_bare_set_point_is_answered_with_one_caution_at_most(client: FlaskClient, level: float) -> None:
    """Without a vessel none is judged: it tells what one would have to bear. A danger over the usual bottle's limit."""
    status, answer = post(client, SET_POINTS, {"drink": drink(9, 70), "target": of("g/l", level)})
    assert status == 200
    (point,) = answer["points"]
    assert point["status"] == "ok"
    assert answer["highest"] == []
    needs = point["vessel_needs"]
    assert needs["warm_room"]["value"] == 30.0
    assert (needs["closed_limit"]["value"] > 6.5) is (level == 9.0)
    assert [c["code"] for c in answer["cautions"]] == (["beyond-usual-bottle"] if level == 9.0 else [])


def test_a_bottle_read_at_8_7_is_answered(client: FlaskClient) -> None:
    """Charged somehow, it is there: what it holds, that it is dangerous, and what to do. Nothing else is offered."""
    dial = {"drink": drink(9, 70), "target": of("g/l", 8.7), "air": {"method": "squeezed", "remaining": of("ml", 20)}}
    (point,) = post(client, SET_POINTS, dial)[1]["points"]
    body = {
        "drink": drink(9, 70), "vessel": {"preset": "pet-1-l"}, "fill": 0.8, "temperature": of("c", 1),
        "gauge_pressure": of("bar", point["gauge_pressure"]["typical"]), "target": of("g/l", 7),
    }  # fmt: skip
    status, answer = post(client, READINGS, body)
    assert status == 200
    assert answer["co2"]["typical"] == pytest.approx(8.7, abs=0.01)
    (danger,) = (c for c in answer["cautions"] if c["severity"] == "danger")
    assert danger["code"] == "over-vessel-limit"
    assert "cool it where it stands" in danger["text"]
    assert answer["advice"] == []


def test_a_bottle_re_gassed_half_empty_is_followed(client: FlaskClient) -> None:
    events = [
        {"id": "a", "at": "2026-11-28T19:00:00Z", "kind": "poured", "volume": of("ml", 400)},
        {"id": "b", "at": "2026-11-28T19:10:00Z", "kind": "charged", "gauge_pressure": of("bar", 1.5),
         "shake": of("s", 60)},
    ]  # fmt: skip
    start = {"co2": of("g/l", 7), "fill": 0.8, "temperature": of("c", 2)}
    body = {
        "now": "2026-11-28T20:00:00Z", "drink": drink(9, 70), "vessel": {"preset": "pet-1-l"},
        "pour": {"volume": of("ml", 185)}, "vessels": [{"id": "one", "start": start, "events": events}],
    }  # fmt: skip
    status, answer = post(client, STATES, body)
    assert status == 200
    (one,) = answer["vessels"]
    assert one["status"] == "ok"
    assert one["bottle"]["typical"] > 5.0
    assert "danger" not in {c["severity"] for c in answer["cautions"]}


def test_a_keg_unshaken_on_its_gas_takes_days_and_is_told_so(client: FlaskClient) -> None:
    """5 to 14 days; common practice, no source."""
    body, _ = PASS["soda keg 5.5, unshaken on its gas"]
    _, answer = post(client, CHARGES, body)
    days = answer["days_to_target"]
    assert days["low"] < 5.0 < days["high"]
    assert answer["plan"]["fits"]


def test_a_beer_keg_is_told_what_a_failed_cold_room_makes_of_it(client: FlaskClient) -> None:
    """Judged where it is kept, with the pressure at 30 degC beside it: under the 5.36 bar of a judged soda keg."""
    _, answer = post(client, CHARGES, PASS["beer keg 5 at 12 C"][0])
    assert answer["worst"]["temperature"]["value"] == 12.0
    warm = answer["closed"]["warm_room"]
    assert 3.0 < warm["gauge_pressure"]["typical"] < 5.36
    (caution,) = (c for c in answer["cautions"] if c["code"] == "cold-room-fails")
    assert "vent it" in caution["text"]
