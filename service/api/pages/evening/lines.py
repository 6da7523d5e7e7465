"""The tasks of an evening as people read them, for every form."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from math import floor
from typing import Any

from service.api.answers import shown
from service.api.pages.words import mass_text, step_value_text

Body = Mapping[str, Any]
FIGURES = ("dial", "never-over", "round", "rounds", "shake", "liquid-in-each", "chill-to")
"""Codes of the values of a step that are told beside its task; the others stand on the prep sheet of the drink."""
REST_S = 300.0
"""A longer rest between two rounds is told."""
SHORT = {
    "buy-for-evening": "Buy, by the list",
    "set-up-bar": "Set up the bar",
    "make-acid-solution": "Make the acid solution",
    "make-first": "Make first",
    "mix-batch": "Mix the batch",
    "inspect-vessels": "Inspect the vessels",
    "fill-vessels": "Fill to the line",
    "take-air-out": "Air out, cap and seal",
    "weigh-capped": "Weigh, and write it on",
    "chill-batch": "Into the cold",
    "set-regulator": "Set the regulator",
    "charge": "Charge",
    "close-cylinder": "Off the gas, cylinder closed",
    "leave-on-gas": "Onto the gas",
    "gauge-at-rest": "Gauge one at rest, cold",
    "check-each": "Check every vessel",
    "label-vessels": "Label",
}
"""A task in a few words, for whoever has read the sheet of the drink."""


def names(plan: Body) -> dict[str, str]:
    """Return the name of each drink, by its id."""
    return {one["id"]: _name(one) for one in plan["drinks"]}


def _name(drink: Body) -> str:
    found: str = drink.get("batch", {}).get("label", {}).get("name", drink["id"])
    return found


def letters(plan: Body) -> dict[str, str]:
    """Return the letter of each drink, by its id."""
    return {one["id"]: one["letter"] for one in plan["drinks"]}


def hands_on(plan: Body, station: str | None = None) -> list[Body]:
    """Return the tasks that somebody has a hand in, of one station or of all."""
    return [t for t in plan["timetable"] if t["hands_on_s"] and station in (None, t["station"])]


def moment(text: str) -> datetime:
    """Return a moment of the answer."""
    return datetime.fromisoformat(text)


def time_of_day(text: str) -> str:
    """Return the time of day of a moment, to the minute below."""
    return f"{moment(text):%H:%M}"


def short(task: Body) -> str:
    """Return a task in a few words."""
    words: str = task["text"]
    return SHORT.get(task["code"], words)


def runs(tasks: Sequence[Body]) -> list[list[Body]]:
    """Return tasks of one person on one drink that follow each other, with no more than a rest between, together.

    The next lot at the regulator is a run of its own.
    """
    found: list[list[Body]] = []
    for task in tasks:
        last = next((run for run in reversed(found) if run[-1].get("person") == task.get("person")), None)
        if last and task["code"] != "set-regulator" and _follows(last[-1], task):
            last.append(task)
        else:
            found.append([task])
    return found


def _follows(before: Body, task: Body) -> bool:
    if before.get("drink") != task.get("drink"):
        return False
    pause_s = (moment(task["begins_at"]) - moment(before["ends_at"])).total_seconds()
    return pause_s == 0.0 or (before["code"] == "charge" and pause_s <= REST_S)


def told_at_once(run: Sequence[Body]) -> str:
    """Return what is done in a run; the rounds of a charge as one."""
    first, *rest = dict.fromkeys(short(task) for task in run)
    return ", ".join([first, *(one[:1].lower() + one[1:] for one in rest)])


def run_figures(run: Sequence[Body]) -> list[tuple[str, str]]:
    """Return the figures of a run, each once; of the rounds how many there are."""
    found = dict[str, str]()
    for task in run:
        for name, figure in figures(task):
            found.setdefault(name, figure)
    rounds = [task for task in run if task["code"] == "charge"]
    if rounds:
        found = {name: figure for name, figure in found.items() if name not in ("round", "of")}
        found["rounds"] = str(len(rounds))
    return list(found.items())


def at_most(quantity: Body) -> str:
    """Return a pressure that is never passed, rounded down."""
    digits = 2 if quantity["unit"] == "bar" else 1
    return f"{floor(round(quantity['value'] * 10**digits, 6)) / 10**digits:.{digits}f} {quantity['unit']}"


def amount(quantity: Body) -> str:
    """Return an amount as it is fetched: from a thousand grams on in kilograms."""
    return mass_text(shown(quantity["value"], quantity["unit"]), quantity["unit"])


def figures(task: Body, *, amounts: bool = False) -> list[tuple[str, str]]:
    """Return the figures that are told beside a task: what each is, and the figure.

    amounts: those of components as well
    """
    codes = (*FIGURES, "component") if amounts else FIGURES
    found = [("vessels", _param(task, "vessels"))] if _param(task, "vessels") else []
    return found + [(one["name"], step_value_text(one)) for one in task["values"] if one["code"] in codes]


def _param(task: Body, name: str) -> str:
    return next((one["text"] for one in task["params"] if one["name"] == name), "")
