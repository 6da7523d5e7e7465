"""CPU of evenings by the number of drinks: `python -m tests.bench.evenings`. Shares and growth within one run."""

import copy
from collections.abc import Callable
from statistics import median
from time import process_time
from typing import Any

from service.api.openapi import example
from service.evening import service_plan
from service.evening.plan import tried_plan
from service.evening.planning import Evening
from service.notes import Notes, SilentNotes
from tests.service_plans.random_evenings import drinks_and_house, loaded

REPEATS = 5
DRINKS = (1, 2, 4, 6, 8, 10, 12)


def evening(count: int) -> dict[str, Any]:
    """The Saturday with so many drinks, those of it by turns, in two rounds so that they come to no more tasks than a
    plan may have."""
    body: dict[str, Any] = copy.deepcopy(example("createServicePlan"))
    drinks = [body["drinks"][i % 4] | {"id": f"d{i}", "demand": {"serves": 16}} for i in range(count)]
    for one in drinks:
        one["carbonation"] = one.get("carbonation", {}) | {"charge_count": 2}
    body["vessels"][0]["count"], body["vessels"][1]["count"] = 80, 80
    body["cold"][0]["holds"]["value"], body["cold"][0]["ice"]["value"] = 120, 400
    del body["jugs"], body["on_hand"], body["prices"]
    return body | {"drinks": drinks, "begins_at": "2026-11-27T18:00:00+01:00"}


def cpu_ms(work: Callable[[], object]) -> float:
    times = []
    for _ in range(REPEATS):
        begun = process_time()
        work()
        times.append(1000.0 * (process_time() - begun))
    return median(times)


def main() -> None:
    print("drinks  tasks  all ms  without relief and re-gas ms  scheduling ms  ms a squared hundred tasks")
    for count in DRINKS:
        _measure(count)


def _measure(count: int) -> None:
    asked = loaded(evening(count))
    drinks, house = drinks_and_house(asked)
    tasks = len(service_plan(asked, Notes()).timetable)
    whole, less, alone = map(
        cpu_ms,
        (
            lambda: service_plan(asked, Notes()),
            lambda: tried_plan(asked, Notes()),
            lambda: Evening(asked, drinks).planned(house, SilentNotes()),
        ),
    )
    print(f"{count:6} {tasks:6} {whole:7.0f} {less:29.0f} {alone:14.0f} {whole / (tasks / 100.0) ** 2:12.0f}")


if __name__ == "__main__":
    main()
