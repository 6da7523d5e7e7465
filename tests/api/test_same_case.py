"""The same case through every operation that judges it: one dial, one level, and never a higher limit."""

from random import Random
from typing import Any

import pytest
from flask.testing import FlaskClient

CARBONATION, REGAS = "/v1/carbonation/", "/v1/regas/"
POUR = {"volume": {"value": 60, "unit": "ml"}, "manner": "straight"}
NOW, EARLIER = "2026-11-28T20:00:00Z", "2026-11-28T19:00:00Z"
VESSELS: tuple[dict[str, Any], ...] = (
    {"preset": "pet-1-l"}, {"preset": "pet-500-ml"}, {"preset": "keg-19-l"},
    {"material": "steel", "capacity": {"value": 1, "unit": "l"}, "charge_limit": {"value": 4, "unit": "bar"},
     "closed_limit": {"value": 7, "unit": "bar"}, "rated_by": "stamp"},
)  # fmt: skip


def q(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


def ends(band: dict[str, Any]) -> tuple[float, float, float]:
    return band["low"], band["typical"], band["high"]


def made(seed: int) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    """A case that some drink, vessel and venue make, its temperature, and its level."""
    any_of = Random(seed).choice  # noqa: S311 - cases that come again
    component = {
        "name": "Base",
        "amount": q(100, "ml"),
        "abv": any_of([0, 9, 22, 30]),
        "sugar": q(any_of([0, 70]), "g/l"),
    }
    sparkling = {"name": "Sparkling", "amount": q(any_of([60, 300]), "ml"), "abv": 11, "sugar": q(10, "g/l"),
                 "co2": q(any_of([6, 12]), "g/l")}  # fmt: skip
    spec = {"name": "demo", "components": [component, *any_of([[], [sparkling]])]}
    site = {"altitude": q(any_of([0, 1600]), "m"), "warmest_room": q(any_of([25, 30, 35]), "c")}
    case = {"drink": {"spec": spec}, "vessel": any_of(VESSELS), "fill": any_of([0.3, 0.6, 0.9]), "site": site}
    factor = any_of([None, 0.85, 1.15])
    own = {} if factor is None else {"calibration": {"solubility": {"value": factor, "standard_error": 0.01}}}
    return {**case, **own}, q(any_of([-0.5, 1, 4, 8]), "c"), q(any_of([3, 4, 5, 6]), "g/l")


def dials(client: FlaskClient, case: dict[str, Any], cold: dict[str, Any], level: dict[str, Any]) -> dict[str, float]:
    """Return the highest dial by each operation, or the dials for a re-gas [bar]."""
    shift = {"serves_per_hour": 20, "floor": q(0.85 * level["value"], "g/l")}
    fill = {"fill": case["fill"]}
    shared = {name: value for name, value in case.items() if name != "fill"}
    poured = [{"id": str(i), "at": EARLIER, "kind": "poured"} for i in range(2)]
    requests = {
        CARBONATION + "set-points": {**case, "temperatures": [cold], "target": level},
        CARBONATION + "readings": {**case, "temperature": cold, "target": level, "gauge_pressure": q(0.4, "bar")},
        REGAS + "forecasts": {**case, "temperature": cold, "co2": level, "pour": POUR, "shift": shift},
        REGAS + "states": {**shared, "now": NOW, "temperature": cold, "pour": POUR, "floor": level, "vessels": [
            {"id": "one", "start": {"co2": level, **fill}, "events": poured}]},
    }  # fmt: skip
    found = {}
    for path, body in requests.items():
        answer = client.post(path, json=body).get_json()
        tops = [answer.get("recharge"), *(vessel.get("recharge") for vessel in answer.get("vessels", ()))]
        found |= {f"{path} {i}": top["gauge_pressure"]["value"] for i, top in enumerate(tops) if top}
        said = (p for advice in answer.get("advice", ()) for p in advice["params"] if p["name"] == "dial")
        found |= {f"{path} advice {i}": dial["value"] for i, dial in enumerate(said)}
        for highest in answer.get("highest", ()):
            most = {**body, "target": q(min(15.0, (1.0 - 1e-6) * highest["co2"]["value"]), "g/l")}
            (point,) = client.post(path, json=most).get_json()["points"]
            found[f"{path} highest"] = point["gauge_pressure"]["typical"]
    return found


def test_no_operation_names_a_higher_dial_than_charges_do(client: FlaskClient) -> None:
    compared = 0
    for seed in range(60):
        case, cold, level = made(seed)
        answer = client.post(CARBONATION + "charges", json={**case, "temperature": cold, "target": level})
        if answer.status_code == 200:
            most = answer.get_json()["never_over"]["value"]
            named = dials(client, case, cold, level)
            assert {path: dial for path, dial in named.items() if dial > most + 1e-6} == {}, seed
            compared += len(named)
    assert compared > 100


def test_every_operation_says_the_same_of_one_case(client: FlaskClient) -> None:
    case = {
        "drink": {"composition": {"abv": 9, "sugar": q(70, "g/l")}}, "vessel": {"preset": "pet-1-l"}, "fill": 0.8,
        "site": {"altitude": q(1600, "m"), "warmest_room": q(28, "c")},
    }  # fmt: skip
    cold, level = {"temperature": q(1, "c")}, q(6, "g/l")

    def ask(path: str, **more: Any) -> Any:
        response = client.post(path, json={**case, **more})
        assert response.status_code == 200, response.get_json()
        return response.get_json()

    (point,) = ask(CARBONATION + "set-points", temperatures=[cold["temperature"]], target=level)["points"]
    dial = point["gauge_pressure"]["typical"]
    charged = ask(CARBONATION + "charges", **cold, target=level)
    assert charged["gauge_pressure"]["value"] == pytest.approx(dial, rel=1e-9)
    read = ask(CARBONATION + "readings", **cold, target=level, gauge_pressure=q(dial, "bar"))
    assert read["co2"]["typical"] == pytest.approx(6.0, rel=1e-9)
    warm, worst = read["warm_room"], charged["worst"]
    assert warm["temperature"] == worst["temperature"] == q(30.0, "c")  # never judged in a cooler room than that
    assert worst["gauge_pressure"]["value"] == pytest.approx(warm["gauge_pressure"]["high"], rel=1e-6)
    comes_to = charged["closed"]["warm_room"]["gauge_pressure"]
    assert comes_to["high"] < worst["gauge_pressure"]["value"]  # no charge puts more in than the dial does at rest
    first = ask(REGAS + "forecasts", **cold, co2=level, pour=POUR, shift={"serves_per_hour": 10})["pours"][0]
    assert ends(first["gauge_pressure"]) == pytest.approx(ends(point["gauge_pressure"]), rel=1e-9)
    fill = case.pop("fill")
    logs = [{"id": "one", "start": {"co2": level, "fill": fill}}]
    (vessel,) = ask(REGAS + "states", **cold, now=NOW, pour=POUR, vessels=logs)["vessels"]
    assert ends(vessel["glass"]) == pytest.approx(ends(first["glass"]), rel=1e-9)
    site, batch = case.pop("site"), {**case, **cold, "fill": fill, "target": level, "volume": q(800, "ml")}
    case.clear()
    gas = ask(CARBONATION + "gas-supply", batches=[batch], site=site, cylinder={"content": q(1, "kg")})
    assert gas["batches"][0]["gauge_pressure"]["value"] == pytest.approx(dial, rel=1e-9)


@pytest.mark.parametrize("air", [{"method": "squeezed"}, {"method": "purged", "times": 3, "pressure": q(1, "bar")}])
def test_a_sheet_counts_gas_as_the_supply_does(client: FlaskClient, air: dict[str, Any]) -> None:
    """One batch of filled bottles, asked both ways. Tolerance 1e-9: the fill goes there and back by volumes."""
    spec = {"name": "demo", "components": [{"name": "Base", "amount": q(200, "ml"), "abv": 9, "sugar": q(70, "g/l")}]}
    cold, target = q(1, "c"), q(5, "g/l")
    sheet = client.post("/v1/prep-sheets", json={
        "spec": spec, "size": {"vessels": [{"vessel": {"preset": "pet-1-l"}, "count": 14, "fill": 0.8}]},
        "carbonation": {"target": target, "temperature": cold, "air": air},
    }).get_json()  # fmt: skip
    batch = {"drink": {"spec": spec}, "volume": q(14 * 0.8, "l"), "target": target, "temperature": cold, "air": air,
             "vessel": {"preset": "pet-1-l"}, "fill": 0.8}  # fmt: skip
    supply = client.post(CARBONATION + "gas-supply", json={"batches": [batch], "cylinder": {"content": q(10, "kg")}})
    assert ends(sheet["gas"]["co2_used"]) == pytest.approx(ends(supply.get_json()["co2_per_batch"]), rel=1e-9)
