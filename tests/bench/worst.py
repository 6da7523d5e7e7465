"""CPU time of the costliest requests that each operation takes, answered and refused. `make worst`."""

import json
import sys
import time
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from service.api.app import OPERATIONS
from service.api.endpoint import MEDIA_TYPES
from service.api.openapi import example
from service.limits.draught import MOST_SEGMENTS
from service.limits.evening import MOST_DRINKS
from service.limits.requests import (
    LARGEST_BODY,
    MOST_BATCH_LINES,
    MOST_EVENTS,
    MOST_ITEMS,
    MOST_KINDS,
    MOST_SITE_LINES,
    MOST_SITES,
    MOST_SPEC_LINES,
    MOST_VESSELS,
)
from service.listed import lines_in
from service.regas.log import MEASURED
from tests.bench.in_process import client

BOUND_MS = 250.0
SITE_MS = 2.0
"""Of each of the sites of the longest rollout."""
VESSEL_MS = 2.5
"""Of each of the most vessels whose logs are read at once."""
PLAN_MS = 1000.0
"""Of an evening of as many drinks, components and tasks as may be."""
SHAPES = ((40, 40), (40, 0), (8, 0), (0, 0))
"""Components of every spec, and parts that they are made from; none is the spec of the example."""

Body = dict[str, Any]


@dataclass(frozen=True)
class Cost:
    """One request: how it was asked and answered, and its CPU time."""

    asked: str
    status: int
    body_kb: float
    answer_kb: float
    milliseconds: float


def wide(node: Any, components: int, parts: int) -> Any:
    """A request with every spec of so many components that it stays the same drink."""
    if isinstance(node, list):
        return [wide(inner, components, parts) for inner in node]
    if not isinstance(node, dict):
        return node
    if "composition" in node and components:
        node = {"spec": example("createBatch")["spec"]}
    if "components" in node and "name" in node and components:  # a spec
        return node | {"components": _spread(node["components"], components, parts)}
    return {key: wide(inner, components, parts) for key, inner in node.items()}


def _spread(given: list[Body], components: int, parts: int) -> list[Body]:
    """Each component as several that make it up, and the very first as made from parts."""
    shares = [components // len(given) + (i < components % len(given)) for i in range(len(given))]
    first, *rest = [part for component, share in zip(given, shares, strict=True) for part in _shared(component, share)]
    inner = _shared(first | {"name": "part"}, parts)
    return [{"name": first["name"], "amount": first["amount"], "made_from": {"name": "it", "components": inner}}
            if parts else first, *rest]  # fmt: skip


def _shared(component: Body, count: int) -> list[Body]:
    """So many components that make up one; the first keeps its name, which prices may mention."""
    amount = component["amount"] | {"value": component["amount"]["value"] / max(count, 1)}
    return [
        component | {"name": f"{component['name']} {i}" if i else component["name"], "amount": amount}
        for i in range(count)
    ]


def _numbered(items: list[Body], most: int) -> list[Body]:
    """Copies of the items, each with an id of its own, up to so many or to what a body holds."""
    room = LARGEST_BODY - 20_000
    most = min(most, len(items) * max(1, room // len(json.dumps(items))))
    return [deepcopy(items[i % len(items)]) | ({"id": f"n{i}"} if "id" in items[0] else {}) for i in range(most)]


def sites(body: Body, count: int = MOST_SITES) -> Body:
    """A rollout to so many sites, or as many as such a spec may go to, of one kind of vessel each, no two alike."""
    most = min(count, MOST_SITE_LINES // lines_in(body["spec"], ("components",)))
    found = _numbered([site | {"vessels": site["vessels"][:1]} for site in body["sites"]], most)
    return body | {"sites": [site | {"altitude": {"value": i, "unit": "m"}} for i, site in enumerate(found)]}


def _own_scales(body: Body) -> Body:
    """No two scales alike either, so that every site's batch is weighed and written anew."""
    found = sites(body)["sites"]
    return body | {"sites": [site | {"scale": _scale(i)} for i, site in enumerate(found)]}


def _scale(i: int) -> Body:
    return {"resolution": {"value": 1, "unit": "g"}, "capacity": {"value": 5000 + i, "unit": "g"}}


def _kinds(body: Body) -> Body:
    """Two kinds of vessel at as many sites as may have them, each as full as no other."""
    pet = {"material": "pet", "condition": "sound", "cycles": 1}
    fills = (0.8 - 0.0001 * i for i in range(MOST_KINDS))
    found = [site | {"vessels": [
        {"vessel": pet | {"preset": f"pet-{size}"}, "count": 4, "fill": next(fills)} for size in ("1-l", "500-ml")
    ]} for site in sites(body, MOST_KINDS // 2)["sites"]]  # fmt: skip
    return body | {"sites": found}


def _against(body: Body) -> Body:
    """Half as many sites, each under two versions of spec and standard."""
    before = deepcopy(body["standard"])
    before["carbonation"]["target"]["value"] -= 0.5
    return sites(body, MOST_SITES // 2) | {"against": {"spec": body["spec"], "standard": before}}


def _counted(body: Body) -> Body:
    """Return the largest number of drinks, with every component of one of them counted as stock."""
    lines = max(len(drink["spec"]["components"]) for drink in body["drinks"])
    drinks = _numbered(body["drinks"], min(MOST_ITEMS, MOST_SPEC_LINES // lines))
    amount = {"value": 9, "unit": "l"}
    names = dict.fromkeys(part["name"] for drink in body["drinks"] for part in drink["spec"]["components"])
    return body | {"drinks": drinks, "components": [{"name": n, "opening": amount, "closing": amount} for n in names]}


def _temperatures(body: Body) -> Body:
    return body | {"temperatures": [{"value": 0.5 + 0.1 * i, "unit": "c"} for i in range(50)]}


def logged(body: Body, measured: str, *, events: int = 5000, vessels: int = 1) -> Body:
    """The log of so many vessels, with so many events in all, one in five of which is measured in that way."""
    each = _events(body["now"], (measured, "opened", "poured", "closed", "opened"), events // vessels)
    return body | {"vessels": [vessel | {"events": each} for vessel in _numbered(body["vessels"], vessels)]}


def _events(now: str, round_of: tuple[str, ...], count: int) -> list[Body]:
    dial, pours = {"gauge_pressure": {"value": 1.0, "unit": "bar"}}, 0
    more = {"poured": {"volume": {"value": 10, "unit": "ml"}}, "charged": dial, "read": dial,
            "moved": {"temperature": {"value": 3, "unit": "c"}}}  # fmt: skip
    found: list[Body] = []
    for i in range(count):
        at = datetime.fromisoformat(now) - timedelta(seconds=2 * (count - i))
        kind = round_of[i % len(round_of)]
        pours += kind == "poured"
        kind = "opened" if kind == "poured" and pours > 40 else kind  # 40 of 10 ml, which a bottle holds
        found.append({"id": f"e{i}", "at": at.isoformat(), "kind": kind, **more.get(kind, {})})
    return found


def _logs(measured: str, vessels: int) -> Callable[[Body], Body]:
    return lambda body: logged(body, measured, vessels=vessels)


def _till(body: Body) -> Body:
    """As many vessels as there may be in one pool, and as many sales, to the last drop and beyond."""
    now = datetime.fromisoformat(body["now"])
    one = {"drink_key": "it", "start": body["vessels"][0]["start"]}
    sales = [{"id": f"s{i}", "at": (now - timedelta(seconds=2 * (MOST_EVENTS - i))).isoformat(), "drink_key": "it"}
             for i in range(MOST_EVENTS)]  # fmt: skip
    vessels = [one | {"id": f"n{i}"} for i in range(MOST_VESSELS)]
    return body | {"drinks": {"it": body["drink"]}, "vessels": vessels, "sales": sales}


def _evening(body: Body) -> Body:
    """Return a plan of the most drinks, one on draught, near the bound on tasks, with vessels for all."""
    each = [deepcopy(body["drinks"][i % 4]) for i in range(MOST_DRINKS - 1)]
    drinks = [drink | {"id": f"d{i}", "demand": {"serves": 14}} for i, drink in enumerate(each)]
    for drink in drinks:
        drink["carbonation"] = drink.get("carbonation", {}) | {"charge_count": 2}
    found = _room(body) | {"drinks": [*drinks, body["drinks"][4]]}
    return found | {"crew": 4, "regulators": 3, "begins_at": "2026-11-27T18:00:00+01:00"}


def _room(body: Body) -> Body:
    """The house with vessels and cold for anything, and no jugs."""
    vessels = [one | {"count": 95} for one in body["vessels"]]
    bath = body["cold"][0] | {"holds": {"value": 300, "unit": "l"}, "ice": {"value": 900, "unit": "kg"}}
    kept = {key: value for key, value in body.items() if key != "jugs"}
    return kept | {"vessels": vessels, "cold": [bath, body["cold"][1]]}


def _late(body: Body) -> Body:
    """The same with too little time, so that everything that may be offered is tried."""
    return _evening(body) | {"begins_at": "2026-11-28T16:30:00+01:00"}


def _scarce(body: Body) -> Body:
    """Fewer drinks of which fewer vessels are filled and many again, and too little time even so."""
    found = _room(body) | {"begins_at": "2026-11-28T15:00:00+01:00"}
    drinks = [drink | {"demand": {"serves": 60}} for drink in body["drinks"][:4]]
    washed = [one | {"count": 40, "washed_in": {"value": 1, "unit": "min"}} for one in found["vessels"]]
    return found | {"drinks": drinks, "vessels": washed}


def _stretches(body: Body) -> Body:
    """A line of as many stretches as may be, no two alike, for as many days as are told."""
    one = body["segments"][0]
    segments = [one | {"length": {"value": 0.3 + 0.01 * i, "unit": "m"}, "rise": {"value": 0.01, "unit": "m"}}
                for i in range(MOST_SEGMENTS)]  # fmt: skip
    return body | {"segments": segments, "serves_per_day": 2}


def _listed(name: str, most: int) -> Callable[[Body], Body]:
    return lambda body: body | {name: _numbered(body[name], most)}


def _rich(_: Body) -> Body:
    """As many batches as may be that ask for everything there is, each held against another spec."""
    one = _batch(example("createBatch"))
    lines = sum(len(one[spec]["components"]) for spec in ("spec", "against"))
    return {"items": [{"id": f"n{i}", "request": one} for i in range(min(100, MOST_BATCH_LINES // lines))]}


def _acids(body: Body) -> Body:
    names = ["citric", "malic", "tartaric", "lactic", "acetic", "phosphoric", "ascorbic", "succinic"]
    return body | {"acids": [{"acid": name, "percent": 0.5} for name in names]}


def _batch(body: Body) -> Body:
    vessels = [{"vessel": {"preset": "pet-1-l"}, "count": 3 + i, "fill": 0.8} for i in range(50)]
    return body | {"size": {"vessels": vessels}, "against": body["spec"]}


MANY: dict[str, tuple[Callable[[Body], Body], ...]] = {
    "createSetPoints": (_temperatures,),
    "createGasSupply": (_listed("batches", 50),),
    "createBatchList": (_listed("items", 100), _rich),
    "createSpecCheck": (_listed("items", 100),),
    "createCalibration": (_listed("readings", 50),),
    "createRegasState": (*(_logs(kind, vessels) for kind in MEASURED for vessels in (1, MOST_VESSELS)), _till),
    "createRollout": (sites, _own_scales, _kinds, _against),
    "createServicePlan": (_evening, _late, _scarce),
    "createDraughtLine": (_stretches,),
    "createReconciliation": (_counted,),
    "createAcidSolution": (_acids,),
    "createBatch": (_batch,),
}
"""How the lists of an operation are filled to their bounds."""


def _changed(name: str, value: Any) -> Callable[[Body], Body | None]:
    """The request with that in place of what it says, wherever it says it; None where it does not."""

    def change(body: Body) -> Body | None:
        found = deepcopy(body)
        return found if _put(found, name, value) else None

    return change


def _put(node: Any, name: str, value: Any) -> bool:
    inner = node if isinstance(node, list) else list(node.values()) if isinstance(node, dict) else []
    here = isinstance(node, dict) and name in node
    if here:
        node[name] = value
    deeper = [_put(each, name, value) for each in inner]
    return here or any(deeper)


AMISS: dict[str, Callable[[Body], Body | None]] = {
    "as it should be": deepcopy,
    "too much CO2": _changed("target", {"value": 11, "unit": "g/l"}),
    "a creased vessel": _changed("condition", "creased"),
    "too full": _changed("fill", 0.97),
    "too high a place": _changed("altitude", {"value": 8000, "unit": "m"}),
    "a misspelt unit": _changed("unit", "mll"),
}


def _tables() -> Iterator[tuple[str, bytes]]:
    """Tables of as many rows as may be: of many specs, and with as much wrong in each row as there is room for."""
    header, end = "spec,component,amount,unit,abv,sugar_g_per_l,reference,allergens,acid_1,percent_1", "\r\n"
    ways = {
        "many specs": "Spec {0},Part {1},20,ml,12,90,,,,",
        "acids": "Spec {0},Part {1},20,ml,,,,,citric,4",
        "formulas": "Spec {0},=A{1},=1,=1,=1,=1,=1,=1,=1,=1",
        "of nothing": "Spec {0},Part {1},20,ml,,,spirit-4,x,,",
        "no reference that there is": "Spec {0},Part {1},20,ml,,,lemon-juice-{1},,,",
    }
    for way, row in ways.items():
        rows = (row.format(i % MOST_ITEMS, i) for i in range(MOST_SPEC_LINES))
        yield way, end.join((header, *rows)).encode()


def bodies(operation: Any) -> Iterator[tuple[str, bytes]]:
    """The costly requests of an operation."""
    if operation.takes == "csv":
        yield from _tables()
        return
    for components, parts in SHAPES:
        shaped = wide(example(operation.operation_id), components, parts)
        for many in MANY.get(operation.operation_id, (deepcopy,)):
            full = many(shaped)
            for amiss, change in AMISS.items():
                data = json.dumps(change(full), separators=(",", ":")).encode()
                if data != b"null" and len(data) <= LARGEST_BODY:
                    yield f"{components} x {parts}, {amiss}", data


def costs(operation: Any) -> Iterator[Cost]:
    """Measure each costly request, in each form."""
    asking = client()
    for asked, data in bodies(operation):
        for form in ("json", *operation.further_forms):
            headers = {"Content-Type": MEDIA_TYPES[operation.takes], "Accept": MEDIA_TYPES[form]}
            taken = []
            for _ in range(2):
                began = time.process_time()
                response = asking.post(operation.path, data=data, headers=headers)
                answer = response.get_data()
                taken.append(1e3 * (time.process_time() - began))
            sizes = len(data) / 1024.0, len(answer) / 1024.0
            yield Cost(f"{asked}, {form}", response.status_code, *sizes, min(taken))
            if response.status_code != 200:
                break


BOUNDS = {
    "createRollout": SITE_MS * MOST_SITES,
    "createRegasState": VESSEL_MS * MOST_VESSELS,
    "createServicePlan": PLAN_MS,
}


NONSENSE = {
    "empty lists": b"[" + b"[]," * 349_000 + b"[]]",
    "empty objects": b"[" + b"{}," * 349_000 + b"{}]",
    "opened": b"[" * 1_000_000,
    "as many lists as may be": b"[" + b",".join([b"[" * 60 + b"]" * 60] * 660) + b"]",
    "as many objects as may be": b"[" + b'{"a":1},' * 39_000 + b"{}]",
    "numbers": b"[" + b"1e5," * 250_000 + b"1]",
    "unknown fields": b"{" + b",".join(b'"%x":1' % i for i in range(100_000)) + b"}",
}
"""Bodies of a million bytes or so that are no request."""
NONSENSE_MS = 50.0


def nonsense() -> Iterator[Cost]:
    """Measure what is no request."""
    asking = client()
    for name, data in NONSENSE.items():
        taken, answer = [], b""
        for _ in range(3):
            began = time.process_time()
            response = asking.post(OPERATIONS[0].path, data=data, headers={"Content-Type": "application/json"})
            answer = response.get_data()
            taken.append(1e3 * (time.process_time() - began))
        yield Cost(name, response.status_code, len(data) / 1024.0, len(answer) / 1024.0, min(taken))


def main() -> int:
    """Print the costliest answered and refused request of each operation; returns how many are over their bound."""
    print(f"{'':24}{'CPU ms':>8}{'body kB':>9}{'answer kB':>11}  status, components x parts of each, fault, form")
    over = 0
    for operation in OPERATIONS:
        found = list(costs(operation))
        bound = BOUNDS.get(operation.operation_id, BOUND_MS)
        for status in (200, 422):
            if not (those := [cost for cost in found if cost.status == status]):
                continue
            most = max(those, key=lambda cost: cost.milliseconds)
            over += _told(operation.operation_id, most, bound)
    return over + sum([_told("nonsense", cost, NONSENSE_MS) for cost in nonsense()])


def _told(name: str, cost: Cost, bound: float) -> bool:
    """Print a line; return whether the request is over its bound."""
    over = cost.milliseconds > bound
    numbers = f"{cost.milliseconds:8.0f}{cost.body_kb:9.0f}{cost.answer_kb:11.0f}"
    print(f"{name:24}{numbers}  {cost.status}, {cost.asked}{'  OVER' if over else ''}", flush=True)
    return over


if __name__ == "__main__":
    sys.exit(main())
