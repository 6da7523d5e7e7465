"""The steps of a sheet as paper has them: rounds in one line, a caution at its step, each figure by name and unit."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Literal

from service.api.pages.names import product, vessel
from service.api.pages.paper import Paper, Shown
from service.api.pages.rounds import rounds
from service.api.pages.words import _
from service.batching import Batch, Share
from service.notes import Caution, Severity
from service.prep_sheet import PrepSheet, PrepSheetRequest, PrepSolution, Step, StepCaution, StepValue, sparkling
from service.science.units import Quantity

Role = Literal["", "dial", "limit"]
_MANY, _LONG = 9, 70
"""Figures, and characters of one with its name, that fit beside what is to be done."""


@dataclass(frozen=True)
class Line:
    """A figure of a task. tick: it is weighed or measured, and ticked off; words: it is no number."""

    code: str
    name: str
    figure: Shown
    tick: bool = False
    role: Role = ""
    words: bool = False


@dataclass(frozen=True)
class Gauge:
    """A gauge reading at rest at a temperature, with its limit; about is None where nobody asks."""

    at: Shown
    about: Shown | None
    most: Shown


@dataclass(frozen=True)
class Care:
    """A caution where it is read: before what it is about."""

    code: str
    severity: Severity
    text: str

    @property
    def danger(self) -> bool:
        return self.severity == "danger"

    @property
    def of_a_product(self) -> bool:
        return self.code.startswith("handling-")


@dataclass(frozen=True)
class Task:
    """One thing to do, of one step or of several that are one round after the other."""

    steps: tuple[Step, ...]
    text: str
    cares: tuple[Care, ...] = ()
    lines: tuple[Line, ...] = ()
    gauge: tuple[Gauge, ...] = ()

    @property
    def code(self) -> str:
        return self.steps[0].code

    @property
    def ticks(self) -> tuple[int, ...]:
        """Return the numbers of the steps that are ticked off: of rounds each, without the rests between."""
        return tuple(step.number for step in self.steps if step.code == self.code)

    @property
    def long(self) -> bool:
        """Tell whether it takes the breadth of the paper, and may go on over its end: many figures, or long words."""
        longest = max((len(line.name) + len(line.figure.number) for line in self.lines), default=0)
        return len(self.lines) > _MANY or longest > _LONG or (len(self.text) > 3 * _LONG and len(self.lines) > 0)

    @property
    def numbers(self) -> str:
        first, last = self.steps[0].number, self.steps[-1].number
        return str(first) if first == last else f"{first}\u2013{last}"

    @property
    def begins_at(self) -> datetime | None:
        return self.steps[0].begins_at


@dataclass(frozen=True)
class Work:
    """All that is done, and what is to be read before it. tap, foams: of a drink on draught"""

    before: tuple[Care, ...]
    bench: tuple[Task, ...]
    bar: tuple[Task, ...]
    tap: tuple[Task, ...]
    foams: Task | None


@dataclass(frozen=True)
class _Sheet:
    """A sheet while its steps are set out. cautions: by the number of the step that they are read at."""

    asked: PrepSheetRequest
    found: PrepSheet
    paper: Paper
    cautions: Mapping[int, Sequence[Caution]]


def work_of(asked: PrepSheetRequest, found: PrepSheet, cautions: Sequence[Caution], paper: Paper) -> Work:
    """Return the work of bench and bar; the manager's steps are on a page of their own."""
    at: dict[int, list[Caution]] = {}
    before: list[Care] = []
    for caution in cautions:
        if caution.severity == "info":
            continue
        number = _step_about(caution, asked, found)
        if number is None:
            before.append(care_of(caution, paper))
        elif all(one.code != caution.code for one in found.steps[number - 1].cautions):
            at.setdefault(number, []).append(caution)
    sheet = _Sheet(asked, found, paper, at)
    tasks = [_task(sheet, steps) for steps in _together(found.steps)]
    bench = [task for task in tasks if task.steps[0].station == "bench"]
    bar = [task for task in tasks if task.steps[0].station == "bar"]
    tap = [task for task in bar if found.draught is not None and task.code in _AT_THE_TAP]
    foams = next((task for task in bar if task.code == _FOAMS), None)
    rest = [task for task in bar if task not in tap and task != foams]
    return Work(tuple(before), tuple(bench), tuple(rest), tuple(tap), foams)


_AT_THE_TAP, _FOAMS = ("connect-line", "time-pour", "pour"), "when-it-foams"
"""Steps of a drink on draught, which have a page of their own."""


_ABOUT = (
    ("/spec/components/{}/acid_solution", "make-acid-solution"), ("/spec", "mix-batch"), ("/vessel", "inspect-vessels"),
    ("/fill", "fill-vessels"), ("/chill", "chill-batch"), ("/carbonation", "set-regulator"), ("/site", "set-regulator"),
    ("/draught", "connect-line"),
)  # fmt: skip
"""Where a caution points, and the step that it is read at; all else is read before the work."""


def _step_about(caution: Caution, asked: PrepSheetRequest, found: PrepSheet) -> int | None:
    """Return the number of the step that a caution is read at."""
    at = next(iter(caution.pointers), "")
    place = at.split("/")[3] if at.startswith("/spec/components/") else ""
    name = asked.spec.components[int(place)].name if place.isdigit() else None
    for prefix, code in _ABOUT:
        if at.startswith(prefix.format(place)):
            steps = [step for step in found.steps if step.code == code]
            own = [step for step in steps if step.params.get("component") == name]
            return next((step.number for step in own or steps), None)
    return None


def _together(steps: Sequence[Step]) -> Iterator[tuple[Step, ...]]:
    """Yield the rounds of charging, with the rests between them, as one; every other step by itself."""
    for in_rounds, some in groupby(steps, key=lambda step: step.code in ("charge", "rest")):
        if in_rounds:
            yield tuple(some)
        else:
            yield from ((step,) for step in some)


def _task(sheet: _Sheet, steps: tuple[Step, ...]) -> Task:
    step, paper = steps[0], sheet.paper
    told: list[Caution | StepCaution] = [caution for one in steps for caution in sheet.cautions.get(one.number, ())]
    told += {caution.text: caution for one in steps for caution in one.cautions}.values()
    cares = tuple(care_of(caution, paper) for caution in told)
    if step.code == "charge":
        goggles = Care("goggles", "info", paper.say("Goggles on."))
        return Task(steps, rounds(sheet.found.carbonation.charges, steps, paper), (goggles, *cares))
    text = paper.filled(paper.speech.say(step.text), step.params)
    gauge = tuple(_gauges(step.values, paper)) if step.kind == "check" else ()
    return Task(steps, text, cares, tuple(_lines(sheet, step)), gauge)


def care_of(caution: Caution | StepCaution, paper: Paper) -> Care:
    """Return a caution in words."""
    if caution.severity == "danger":
        told = paper.warned(caution.text, caution.params)
    else:
        told = paper.filled(paper.speech.say(caution.text), caution.params)
    return Care(caution.code, caution.severity, told)


def _lines(sheet: _Sheet, step: Step) -> Iterator[Line]:
    """Yield the figures of a step, with its timer among them, each with a name that says what it is for."""
    paper, found = sheet.paper, sheet.found
    if step.code == "label-vessels":
        return  # the labels have a page of their own
    if step.code == "inspect-vessels":
        of, count = vessel(found.fill.each, paper), str(found.fill.count)
        yield Line(
            "vessel", paper.say("take"), Shown(paper.say("{count} × {vessel}", count=count, vessel=of)), words=True
        )
        return
    if step.code == "make-acid-solution":
        yield from _to_weigh(step, found.acid_solutions, paper)
        return
    if step.code == "mix-batch" and sheet.asked.site is not None and sheet.asked.site.scale is not None:
        yield from _weighed_in(step, found.batch, paper)
        return
    for value in step.values:
        if value.code not in ("gauge-about", "gauge-not-over", "stop-over"):
            yield _line(step, value, paper)
    if step.timer is not None:
        name = paper.say(_TIMERS.get(step.code, _("timer")))
        yield Line("timer", name, paper.figure(Quantity("duration", step.timer.each_s)))


_TIMERS = {
    "settle-stock": _("leave it for"),
    "chill-batch": _("first look after"),
    "cold-rest": _("rest for"),
    "regas": _("shake for"),
    "check-each": _("wait, each"),
}
"""The purpose of each timer."""


def _line(step: Step, value: StepValue, paper: Paper) -> Line:
    if value.code == "chill-latest" and step.begins_at is not None and step.late_s is not None:
        latest = step.begins_at + timedelta(seconds=step.late_s)
        return Line(value.code, paper.say("at the latest by"), Shown(paper.time(latest)))
    name = paper.filled(paper.speech.say(value.name), value.params)
    figure = paper.figure(value.value, weighed=value.code in ("component", "scale-takes"))
    role: Role = (
        "dial" if value.code in ("dial", "line-dial") else "limit" if value.code in ("never-over", "relief") else ""
    )
    return Line(value.code, name, figure, value.code in ("component", "jugs"), role, isinstance(value.value, str))


def _to_weigh(step: Step, solutions: Sequence[PrepSolution], paper: Paper) -> Iterator[Line]:
    """Yield what is weighed for an acid solution, by the names of its products; of water the last is the rest."""
    named = next(one for one in solutions if one.component == step.params["component"])
    weigh = named.solution.weigh
    for i, (value, line) in enumerate(zip(step.values, weigh, strict=True)):
        if line.form is not None:
            name = product(line.form, paper)
        elif 0 < i == len(weigh) - 1:
            name = paper.say("{liquid}, to make up", liquid=line.name)
        else:
            name = paper.show(line.name)
        yield Line(value.code, name, paper.figure(value.value, weighed=True), tick=True)


def _weighed_in(step: Step, batch: Batch, paper: Paper) -> Iterator[Line]:
    """Yield a line a component, with what sparkles at the end: on the scale at once, or in full jugs and a rest."""
    for value in step.values:
        if value.code == "scale-takes":
            yield _line(step, value, paper)
    last = sparkling(batch)
    for weighing in sorted(batch.weighing, key=lambda one: one.component in last):
        figure = Shown(" + ".join(_share(share, paper) for share in weighing.shares), "g")
        name = (
            paper.say("{component}, on its own", component=weighing.component) if weighing.alone else weighing.component
        )
        yield Line("component", name, figure, tick=True)


def _share(share: Share, paper: Paper) -> str:
    grams = paper.figure(Quantity("mass", share.measure_g), weighed=True).number
    return grams if share.times == 1 else f"{share.times} × {grams}"


def _gauges(values: Sequence[StepValue], paper: Paper) -> Iterator[Gauge]:
    """Yield the table of the check: what the gauge shows by temperature."""
    about = {value.params["at"]: value.value for value in values if value.code == "gauge-about"}
    for value in values:
        if value.code in ("gauge-not-over", "stop-over"):
            at = value.params["at"]
            shown = paper.figure(about[at]) if at in about else None
            yield Gauge(paper.figure(at), shown, paper.figure(value.value))
