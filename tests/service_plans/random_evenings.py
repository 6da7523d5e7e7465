"""Random evenings of two to eight drinks, from a seed: the drinks of the demo, in any number, with any gear."""

import copy
from random import Random
from typing import Any

from service.api import wire
from service.api.openapi import example
from service.evening.asked import ServicePlanRequest
from service.evening.places import places_of
from service.evening.planning import Evening, House, Planned, chilling_in, house_of
from service.evening.prepared import Prepared, prepared
from service.notes import SilentNotes

SCHEMA = wire.request_schema(ServicePlanRequest)()


def loaded(body: dict[str, Any]) -> ServicePlanRequest:
    """The request, as the service loads it."""
    found: ServicePlanRequest = SCHEMA.load(body)
    return found


def drinks_and_house(asked: ServicePlanRequest) -> tuple[tuple[Prepared, ...], House]:
    notes = SilentNotes()
    places = places_of(asked, notes)
    house = house_of(asked, places, notes)
    return prepared(asked, chilling_in(asked, places, house), notes), house


def plan_of(body: dict[str, Any]) -> Planned:
    """The plan of an evening, whether it is in time or not."""
    asked = loaded(body)
    drinks, house = drinks_and_house(asked)
    return Evening(asked, drinks).planned(house, SilentNotes())


def evening(seed: int, *, most_drinks: int = 8) -> dict[str, Any]:
    """The request of a random evening, with vessels enough."""
    random = Random(seed)  # noqa: S311 - the same evenings each time
    body: dict[str, Any] = copy.deepcopy(example("createServicePlan"))
    kinds = {"pet-1-l": body["vessels"][0]["vessel"], "pet-500-ml": body["vessels"][1]["vessel"],
             "keg-19-l": body["vessels"][2]["vessel"]}  # fmt: skip
    specs = [one["spec"] for one in body["drinks"]]
    body["drinks"] = [_drink(random, i, random.choice(specs), kinds) for i in range(random.randint(2, most_drinks))]
    body["vessels"] = [{"vessel": kind, "count": 80} for kind in kinds.values()]
    body["crew"], body["regulators"] = random.randint(1, 4), random.randint(1, 3)
    ice, fridge = random.choice(["ice-water", "stirred-ice-water"]), random.choice(["fridge", "walk-in"])
    body["cold"] = [{"kind": ice, "holds": _l(random.choice([60, 90, 140, 200]))}, {"kind": fridge, "holds": _l(250)}]
    if random.random() < 0.5:
        del body["jugs"]
    for name in ("on_hand", "prices", "cylinder"):
        del body[name]
    return body


def _drink(random: Random, i: int, spec: dict[str, Any], kinds: dict[str, Any]) -> dict[str, Any]:
    kind = random.choice(["pet-1-l", "pet-1-l", "pet-1-l", "pet-500-ml", "keg-19-l"])
    keg = kind == "keg-19-l"
    rocked = {"agitation": "rocked", "shake": {"value": random.choice([4, 8, 10]), "unit": "min"}}
    return {
        "id": f"d{i}",
        "spec": spec | {"name": f"{spec['name']} {i}"},
        "demand": {"serves": 60 if keg else random.randint(6, 70 if kind == "pet-1-l" else 24)},
        "vessel": kinds[kind],
        "start_temperature": {"value": random.choice([4, 8, 18, 20]), "unit": "c"},
        "carbonation": {"target": {"value": random.choice([5, 6, 6.5]), "unit": "g/l"},
                        "charge_count": random.choice([2, 3, 3, 4]), **(rocked if keg else {})},
    }  # fmt: skip


def _l(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "l"}
