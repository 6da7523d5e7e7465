"""Observed vessels are never refused for their state: they are answered as far as the equations hold, with dangers."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from tests.api.conforms import conforms
from tests.api.nearest import problems_in

READINGS, STATES = "/v1/carbonation/readings", "/v1/regas/states"
NOW = "2026-11-28T21:40:00+01:00"
BEYOND = {"impossible-reading", "would-freeze", "too-warm"}
"""What a reading is refused as where no equation holds for it."""
CONDITIONS = ("sound", "creased", "whitened", "bulged", "dropped", "unknown")
observed = settings(
    deadline=None, max_examples=150, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def q(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


def drink(abv: float, sugar: float) -> dict[str, Any]:
    return {"composition": {"abv": abv, "sugar": q(sugar, "g/l"), "acidity": q(4, "g/l") | {"expressed_as": "citric"}}}


drinks = st.sampled_from([drink(9, 70), drink(0, 0), drink(0, 108), drink(12, 10), drink(20, 90), drink(38, 0)])
pressures = st.sampled_from([0, 0.05, 1, 3.4, 6.5, 8.7, 8.98, 9, 9.5, 12, 30]) | st.floats(0, 30)
temperatures = st.sampled_from([-30, -5, -1, 0, 1, 5, 10.5, 25, 30, 38, 40, 41, 90]) | st.floats(-30, 90)
levels = st.sampled_from([0, 0.1, 3, 7, 8.7, 12, 20, 30]) | st.floats(0, 30)
fills = st.sampled_from([0.05, 0.3, 0.8, 0.95, 0.99, 1.0]) | st.floats(0.05, 1)
worn = st.fixed_dictionaries({}, optional={
    "condition": st.sampled_from(CONDITIONS), "cycles": st.sampled_from([0, 4, 9, 10, 21, 10_000]),
    "first_used": st.sampled_from(["2019-05-01", "2026-11-01", "2027-01-01"]), "made_for_carbonation": st.booleans(),
    "charge_limit": st.sampled_from([0.1, 2, 10]).map(lambda bar: q(bar, "bar")),
    "closed_limit": st.sampled_from([0.1, 5, 8, 20]).map(lambda bar: q(bar, "bar")),
    "rated_by": st.sampled_from(["maker", "stamp"]),
})  # fmt: skip
kinds = st.sampled_from(["pet-500-ml", "pet-1-l", "pet-2-l", "keg-9-l", "keg-19-l", "keg-30-l"]).map(
    lambda preset: {"preset": preset}
) | st.builds(
    lambda material, ml: {"material": material, "capacity": q(ml, "ml")},
    st.sampled_from(["pet", "glass", "steel", "aluminium"]), st.sampled_from([330, 1000, 5000, 20_000]),
)  # fmt: skip
vessels = st.builds(lambda kind, wear: {**kind, **wear}, kinds, worn)


def made(strategy: dict[str, Any], **optional: Any) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(strategy, optional=optional)


read = made({"gauge_pressure": pressures.map(lambda bar: q(bar, "bar"))}) | st.floats(0, 30).map(
    lambda gained: {"mass_before": q(900, "g"), "mass_after": q(900 + gained, "g")}
)
where = made({"temperature": temperatures.map(lambda t: q(t, "c"))}) | st.just({"stood_in": "ice-water"})


@observed
@given(of=drinks, vessel=vessels | st.none(), fill=fills, what=read, at=where)
def test_a_reading_is_answered_wherever_the_equations_hold(
    client: FlaskClient, of: Any, vessel: Any, fill: float, what: dict[str, Any], at: dict[str, Any]
) -> None:
    named = {} if vessel is None else {"vessel": vessel}
    response = client.post(READINGS, json={"drink": of, **named, "fill": fill, **what, **at, "now": NOW})
    answer = response.get_json()
    if response.status_code == 422:
        event("beyond the equations")
        assert answer["type"].removeprefix("/problems/") in BEYOND, answer
        assert not {"nearest", "offers"} & answer.keys(), answer
        temperature = at.get("temperature", q(1, "c"))["value"]
        gauge = what.get("gauge_pressure", q(0, "bar"))["value"]
        allowed = {
            "/temperature": not 0.0 <= temperature <= 40.0,  # plain water freezes at 0 degC
            "/gauge_pressure": gauge > 8.8,  # 10 bar absolute less its error
            "/mass_after": what.get("mass_after", q(0, "g"))["value"] > 905.0,  # more than 5 g in 15 ml and more
        }
        for error in answer["errors"]:
            assert allowed[error["pointer"]], answer
            words = "let it thaw" if error["code"] == "may-hold-ice" else "cool it"
            assert f"{words} where it stands" in error["text"]
        return
    assert response.status_code == 200, answer
    conforms("createReading", answer)
    dangers = {caution["code"] for caution in answer["cautions"] if caution["severity"] == "danger"}
    if vessel and vessel.get("condition", "sound") != "sound":
        assert "unsound" in dangers
    if vessel and vessel.get("material") == "glass":
        assert "glass" in dangers


measured = {
    "charged": made({"gauge_pressure": pressures.map(lambda bar: q(bar, "bar"))},
                    temperature=temperatures.map(lambda t: q(t, "c"))),
    "read": made({"gauge_pressure": pressures.map(lambda bar: q(bar, "bar"))},
                 temperature=temperatures.map(lambda t: q(t, "c"))),
    "moved": made({"temperature": temperatures.map(lambda t: q(t, "c"))}),
    "opened": st.just({}), "closed": st.just({}),
}  # fmt: skip
events = st.lists(
    st.sampled_from(list(measured)).flatmap(lambda kind: measured[kind].map(lambda of: {"kind": kind, **of})),
    max_size=4,
).map(lambda all_of: [{**one, "id": str(i), "at": f"2026-11-28T20:{i:02d}:00+01:00"} for i, one in enumerate(all_of)])
starts = made({"co2": levels.map(lambda level: q(level, "g/l")), "fill": fills.filter(lambda share: share > 0.1)},
              temperature=temperatures.map(lambda t: q(t, "c")))  # fmt: skip


@observed
@given(of=drinks, vessel=vessels, start=starts, log=events)
def test_a_vessel_of_a_log_is_never_refused_for_how_it_is(
    client: FlaskClient, of: Any, vessel: dict[str, Any], start: dict[str, Any], log: list[dict[str, Any]]
) -> None:
    sound = {"id": "sound", "vessel": {"preset": "pet-1-l"}, "start": {"co2": q(6, "g/l"), "fill": 0.8}}
    one = {"id": "one", "vessel": vessel, "start": start, "events": log}
    pour = {"volume": q(30, "ml")}
    body = {"now": NOW, "drink": of, "temperature": q(4, "c"), "pour": pour, "vessels": [one, sound]}
    response = client.post(STATES, json=body)
    answer = response.get_json()
    assert response.status_code == 200, answer
    conforms("createRegasState", answer)
    found, other = answer["vessels"]
    assert (found["status"], other["status"]) == ("ok", "ok"), answer
    assert list(problems_in(answer)) == []
    told = [caution for caution in answer["cautions"] if caution["severity"] == "danger"]
    if "bottle" not in found and found["liquid"]["value"] > 0.0:
        event("level not known")
        assert "glass" not in found
        assert "/vessels/0" in [at for caution in told for at in caution["pointers"]]
        assert answer.get("next") != "one"
    if vessel.get("condition", "sound") != "sound" or vessel.get("material") == "glass":
        among = [param["text"] for c in told if c["code"] == "frozen-and-in-danger" for param in c["params"]]
        assert {"unsound", "glass"} & {*(caution["code"] for caution in told), *", ".join(among).split(", ")}
        assert "recharge" not in found
        assert answer.get("next") != "one"


@pytest.mark.parametrize("condition", CONDITIONS[1:])
@pytest.mark.parametrize("path", [READINGS, STATES])
def test_what_is_damaged_is_told_as_a_danger_that_says_what_to_do(
    client: FlaskClient, path: str, condition: str
) -> None:
    vessel = {"preset": "pet-1-l", "condition": condition}
    body: dict[str, Any] = {"drink": drink(9, 70), "vessel": vessel, "temperature": q(3, "c")}
    if path == READINGS:
        body |= {"gauge_pressure": q(1.5, "bar")}
    else:
        body |= {"now": NOW, "vessels": [{"id": "one", "start": {"co2": q(6, "g/l")}}]}
    answer = client.post(path, json=body).get_json()
    (danger,) = (caution for caution in answer["cautions"] if caution["severity"] == "danger")
    assert (danger["code"], danger["pointers"]) == ("unsound", ["/vessel/condition"])
    for words in ("cool it where it stands", "vent it only once it is cold", "away from faces", "A cap is no relief"):
        assert words in danger["text"]


@pytest.mark.parametrize("pointer, value", [
    ("gauge_pressure", q(30.1, "bar")), ("temperature", q(-30.1, "c")), ("temperature", q(90.1, "c")), ("fill", 1.01),
])  # fmt: skip
def test_what_cannot_exist_is_not_taken(client: FlaskClient, pointer: str, value: Any) -> None:
    """-30 to 90 degC, 0 to 30 bar, fill to 1."""
    body = {"drink": drink(9, 70), "temperature": q(3, "c"), "gauge_pressure": q(1, "bar"), pointer: value}
    problem = client.post(READINGS, json=body).get_json()
    assert problem["type"] == "/problems/invalid-request"
    assert [error["code"] for error in problem["errors"]] == ["out-of-range"]


@pytest.mark.parametrize("co2", [0, 1e-9])
def test_a_flat_drink_is_followed_too(client: FlaskClient, co2: float) -> None:
    """A level of none is answered, in a forecast as in a log."""
    body: dict[str, Any] = {"drink": drink(9, 70), "temperature": q(4, "c"), "pour": {"volume": q(150, "ml")}}
    shift = {"serves_per_hour": 10}
    forecast = client.post("/v1/regas/forecasts", json={**body, "co2": q(co2, "g/l"), "shift": shift})
    assert forecast.status_code == 200, forecast.get_json()
    assert all(pour["glass"]["high"] < 0.1 for pour in forecast.get_json()["pours"])
    log = {"id": "one", "start": {"co2": q(co2, "g/l")}, "events": [{"id": "0", "at": NOW, "kind": "poured"}]}
    (found,) = client.post(STATES, json={**body, "now": NOW, "vessels": [log]}).get_json()["vessels"]
    assert found["bottle"]["high"] < 0.1


def test_no_more_air_is_taken_to_be_left_than_a_full_bottle_has_room_for(client: FlaskClient) -> None:
    """A hundredth of a litre, where a squeezed bottle is usually taken to keep two."""
    body = {"drink": drink(9, 70), "temperature": q(1, "c"), "now": NOW,
            "vessels": [{"id": "one", "start": {"co2": q(6, "g/l"), "fill": 0.99}}]}  # fmt: skip
    answer = client.post(STATES, json=body).get_json()
    assert [vessel["status"] for vessel in answer["vessels"]] == ["ok"]
    assert "no-headspace" in {caution["code"] for caution in answer["cautions"] if caution["severity"] == "danger"}
    (left,) = (one for one in answer["assumptions"] if one["name"] == "air left after squeezing")
    assert left["quantity"]["value"] == pytest.approx(10.0)


def test_a_vessel_that_stood_in_ice_needs_no_thermometer(client: FlaskClient) -> None:
    """0 to 2 degC, and the answer says that it took that; the band is as wide as a thermometer read at either end."""
    body = {"drink": drink(9, 70), "gauge_pressure": q(1.6, "bar"), "stood_in": "ice-water"}
    answer = client.post(READINGS, json=body).get_json()
    conforms("createReading", answer)
    (assumed,) = (one for one in answer["assumptions"] if one["pointers"] == ["/temperature"])
    assert assumed["quantity"] == q(1.0, "c")
    assert "melting ice" in assumed["source"]
    del body["stood_in"]
    cold, here, warm = (client.post(READINGS, json={**body, "temperature": q(t, "c")}).get_json() for t in (0, 1, 2))
    assert answer["co2"]["typical"] == pytest.approx(here["co2"]["typical"], rel=1e-9)
    assert answer["co2"]["low"] < min(here["co2"]["low"], warm["co2"]["typical"])
    assert answer["co2"]["high"] > max(here["co2"]["high"], cold["co2"]["typical"])
    problem = client.post(READINGS, json=body).get_json()
    assert [(error["pointer"], error["code"]) for error in problem["errors"]] == [("/temperature", "required")]
