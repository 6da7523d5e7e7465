"""An evening as text: what one station does, task by task, or all of them."""

from collections.abc import Iterator, Mapping

from wcwidth import wrap

from service.api.pages.evening.lines import (
    Body,
    amount,
    at_most,
    figures,
    hands_on,
    letters,
    names,
    run_figures,
    runs,
    time_of_day,
    told_at_once,
)
from service.api.pages.ticket import APPROVAL, DEFAULT_COLUMNS
from service.api.pages.words import ascii_only, left_to_right, strip_control_marks

STATIONS = ("bench", "bar", "manager")
INDENT = " " * 9


def listing(plan: Body, query: Mapping[str, str]) -> str:
    """Return the tasks in the order of the clock.

    query: station, one of them, whose tasks are then told one by one; columns, 32 to 80; charset
    """
    columns = int(query.get("columns", DEFAULT_COLUMNS))
    say = ascii_only if query.get("charset") == "ascii" else strip_control_marks
    stations = [query["station"]] if "station" in query else list(STATIONS)
    lines = [*_head(plan, columns)]
    for station in stations:
        lines += ["=" * columns, station.upper(), *_station(plan, station, columns, whole="station" in query)]
    lines += ["=" * columns, *wrap(APPROVAL, columns)]
    return "\n".join(left_to_right(say(line).rstrip()) for line in lines) + "\n"


def _head(plan: Body, columns: int) -> Iterator[str]:
    yield from wrap(
        f"Start at {time_of_day(plan['latest_start'])} at the latest. Begun as early as may be, all is ready at "
        f"{time_of_day(plan['ready_at'])}.", columns,
    )  # fmt: skip
    yield from wrap(plan["bottleneck"]["text"], columns)
    for relief in plan["bottleneck"]["relief"]:
        yield from wrap(relief["text"], columns)
    for one in plan["drinks"]:
        vessels = f"{one['vessels']} to fill" + (f", {one['ready']} ready" if one["ready"] else "")
        yield from wrap(f"{one['letter']} {names(plan)[one['id']]}: {one['whole_serves']} serves, {vessels}", columns)


def _station(plan: Body, station: str, columns: int, *, whole: bool) -> Iterator[str]:
    """Yield what a station does. whole: each task with all its figures, in place of a line for what goes in one"""
    letter = letters(plan)
    tasks = hands_on(plan, station)
    for run in ([task] for task in tasks) if whole else runs(tasks):
        first = run[0]
        told = figures(first, amounts=True) if whole else run_figures(run)
        text = told_at_once(run) + "".join(f"; {name} {figure}" for name, figure in told)
        who = f"{letter.get(first.get('drink', ''), ' ')}{first.get('person', ' ')}"
        yield from _line(f"{time_of_day(first['begins_at'])} {who}", text, columns)
    if station == "bar":
        yield from _regas(plan, letter, columns)
    if station == "manager":
        yield from _shopping(plan, columns)


def _line(head: str, text: str, columns: int) -> Iterator[str]:
    first, *rest = wrap(text, columns - len(INDENT)) or [""]
    yield f"{head:{len(INDENT)}}{first}"
    yield from (INDENT + line for line in rest)


def _regas(plan: Body, letter: Mapping[str, str], columns: int) -> Iterator[str]:
    for call in plan["regas"]:
        dial, most = at_most(call["gauge_pressure"]), at_most(call["never_over"])
        text = f"Re-gas vessel {call['vessel']}; dial {dial}; never over {most}"
        yield from _line(f"{time_of_day(call['at'])} {letter[call['drink']]}", text, columns)


def _shopping(plan: Body, columns: int) -> Iterator[str]:
    yield from wrap("To have in the house:", columns)
    for line in plan["shopping"]:
        if not line["to_buy"]["value"]:
            continue
        packages = f", packages {line['packages']}" if line.get("packages") else ""
        yield from wrap(f"[ ] {line['component']}: {amount(line['to_buy'])}{packages}", columns)
    if "ice_to_fetch" in plan:
        yield from wrap(f"[ ] ice: {amount(plan['ice_to_fetch'])}", columns)
