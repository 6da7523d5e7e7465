"""An evening as people read it, for every form: its tasks in few words, what to mind, what to buy."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from string import Formatter
from typing import Any, TypeVar

from service.api.endpoint import Served
from service.api.pages.draught import Draught, draught_of
from service.api.pages.names import package
from service.api.pages.paper import Paper
from service.api.pages.ticket import SHORT_CARES
from service.api.pages.words import _
from service.api.pages.work import Care, care_of
from service.evening import PlannedTask, ServicePlan, ServicePlanRequest
from service.notes import Value
from service.science.units import Quantity

Plan = Served[ServicePlanRequest, ServicePlan]
Run = Sequence[PlannedTask]
Text = TypeVar("Text", bound=str)
REST_S = 300.0
"""A longer rest between two rounds is told."""
SHORT = {
    "buy-for-evening": _("Have all of the list in."),
    "set-up-bar": _("Set up the bar."),
    "make-acid-solution": _("Make the {component}."),
    "make-first": _("Make the {component} first."),
    "settle-stock": _("Settle the {component}, cold."),
    "filter-stock": _("Draw off and filter the {component}."),
    "mix-batch": _("Mix."),
    "inspect-vessels": _("Inspect each."),
    "fill-vessels": _("Fill {vessels}: {liquid_in_each} each."),
    "take-air-out": _("Air out, cap."),
    "weigh-capped": _("Weigh, and write it on."),
    "chill-batch": _("Chill to {chill_to}."),
    "set-regulator": _("Set {dial}, never over {never_over}."),
    "charge": _("Charge {vessels}: {rounds} × {shake}."),
    "close-cylinder": _("Gas off."),
    "leave-on-gas": _("Leave on the gas."),
    "gauge-at-rest": _("Gauge one, cold."),
    "check-each": _("Check every one."),
    "label-vessels": _("Label {vessels}."),
    "connect-line": _("Set {line_dial}, never over {never_over}; connect, pour {pour_away} away."),
    "time-pour": _("Time {glass}: {takes_from} to {takes_to}."),
}
"""A task in a few words by its code, for whoever has read the sheet of the drink."""
ONE_ROUND = _("Charge {vessels}: round {round} of {rounds}, {shake}.")
"""Of a round that a longer rest stands before or after."""
ON_THE_SHEET = ("vessels", "vessel", "left-empty", "scale-takes", "relief")
"""Codes of the values of a step that stand on the prep sheet of the drink; the others are told beside its task."""


class Evening:
    """A plan while it is put on paper. names, letters: of its drinks, by their ids"""

    def __init__(self, plan: Plan) -> None:
        self.asked, self.found, self.cautions = plan.asked, plan.found, plan.notes.cautions
        self.paper = Paper(plan.answer)
        self.names = {one.id: one.spec.name for one in plan.asked.drinks}
        self.letters = {one.id: one.letter for one in plan.found.drinks}

    def letter(self, drink: str | None) -> str:
        """Return the letter of a drink, nothing for what is done for all."""
        return "" if drink is None else self.letters[drink]

    def when(self, moment: datetime) -> str:
        """Return the time of day of a moment, with its day where that is not the day of the service."""
        days = [self.paper.speech.here(one).date() for one in (moment, self.asked.service.starts_at)]
        return self.paper.time(moment) if days[0] == days[1] else self.paper.moment(moment)

    def text(self, sentence: str, params: Mapping[str, Value]) -> str:
        """Return a sentence of the plan, moments as times of the day."""
        shown = {name: self.when(one) if isinstance(one, datetime) else one for name, one in params.items()}
        return self.paper.filled(self.paper.speech.say(sentence), shown)

    def bottleneck(self) -> Iterator[str]:
        """Yield what sets the time, and what would relieve it."""
        sets = self.found.bottleneck
        yield self.text(sets.text, sets.params)
        for one in sets.relief:
            yield self.text(one.text, one.params)

    def cares(self) -> list[tuple[str, Care]]:
        """Return what to mind, each with the letters of the drinks that it is about; of products in one sentence."""
        found: dict[str, tuple[str, Care]] = {}
        for caution in self.cautions:
            care = care_of(caution, self.paper)
            if care.severity == "info":
                continue
            if care.of_a_product and not care.danger:
                care = Care("handling", "warning", self.paper.say("Goggles, no dust; read the data sheet."))
            drinks = {at.split("/")[2] for at in caution.pointers if at.startswith("/drinks/")}
            before, _same = found.get(care.text, ("", care))
            about = {*before, *(self.found.drinks[int(one)].letter for one in drinks)}
            found[care.text] = ("".join(sorted(about)), care)
        return sorted(found.values(), key=lambda one: not one[1].danger)

    def shopping(self) -> Iterator[tuple[str, str, str]]:
        """Yield what is to be bought: its name, how much, and what is spent on it."""
        site = self.asked.site
        contents = {one.component: one.content for one in self.asked.prices or (site.prices if site else ())}
        for line in self.found.shopping:
            if not line.to_buy.value:
                continue
            amount = self.paper.show(line.to_buy)
            if line.packages and line.component in contents:
                size = package(contents[line.component], self.paper)
                amount = self.paper.say("{count} × {package}", count=float(line.packages), package=size)
            yield self.paper.show(line.component), amount, "" if line.outlay is None else self.paper.money(line.outlay)
        if self.found.ice_to_fetch_g is not None:
            yield self.paper.say("ice"), self.paper.show(Quantity("mass", self.found.ice_to_fetch_g, "up")), ""


@dataclass(frozen=True)
class Regas:
    """The re-gassings of one drink: its dial, its limit, and which vessel when."""

    letter: str
    dial: Quantity
    limit: Quantity
    calls: tuple[str, ...]


def regas_of(evening: Evening) -> list[Regas]:
    """Return the re-gassings drink by drink, in the order of the evening; pressures are rounded down."""
    paper, found = evening.paper, []
    calls = sorted(evening.found.regas, key=lambda one: (evening.letter(one.drink), one.gauge_pressure_bar, one.at))
    for (letter, dial, limit), some in groupby(
        calls, key=lambda one: (evening.letter(one.drink), one.gauge_pressure_bar, one.never_over_bar)
    ):
        told = tuple(
            paper.say("{time} vessel {number}", time=paper.time(one.at), number=float(one.vessel)) for one in some
        )
        found.append(Regas(letter, Quantity("pressure", dial, "down"), Quantity("pressure", limit, "down"), told))
    return found


def taps_of(evening: Evening) -> Iterator[tuple[str, Draught]]:
    """Yield the line of each drink on draught, by the letter of the drink."""
    for one, asked in zip(evening.found.drinks, evening.asked.drinks, strict=True):
        if one.draught is not None and asked.draught is not None:
            yield one.letter, draught_of(one.draught, asked.draught, evening.paper)


def on_tap(letter: str, line: Draught, say: Callable[..., Text]) -> Text:
    """Return what a line is set to, and how long a glass takes.

    say: of the paper, plain or with its figures set out
    """
    low, high = line.takes
    return say(ON_TAP, drink=letter, dial=line.dial, limit=line.never_over, glass=line.glass, low=low, high=high)


ON_TAP = _("{drink} on tap: set {dial}, never over {limit}; {glass} takes {low} to {high} with the tap fully open.")
FOAMS = _("When it foams, look at these in turn:")
REGAS_CARE = SHORT_CARES["regas-dial-only"]
"""What a bottle must be to be re-gassed."""


def hands_on(found: ServicePlan, station: str | None = None) -> list[PlannedTask]:
    """Return the tasks that somebody has a hand in, of one station or of all, second fillings in the service last."""
    tasks = (*found.timetable, *found.in_service)
    return [one for one in tasks if one.hands_on_s and station in (None, one.station)]


def begin_of(task: PlannedTask) -> datetime:
    """Return when a task of the timetable begins, to the second below."""
    assert task.begins_at is not None
    return task.begins_at.replace(microsecond=0)


def end_of(task: PlannedTask) -> datetime:
    """Return when a task of the timetable ends, to the second below."""
    assert task.ends_at is not None
    return task.ends_at.replace(microsecond=0)


def runs(tasks: Sequence[PlannedTask]) -> list[list[PlannedTask]]:
    """Return tasks of one person on one drink that follow each other, with no more than a rest between, together.

    The next lot at the regulator is a run of its own.
    """
    found: list[list[PlannedTask]] = []
    for task in tasks:
        last = next((run for run in reversed(found) if run[-1].person == task.person), None)
        if last and task.code != "set-regulator" and _follows(last[-1], task):
            last.append(task)
        else:
            found.append([task])
    return found


def _follows(before: PlannedTask, task: PlannedTask) -> bool:
    if before.drink != task.drink:
        return False
    pause_s = (begin_of(task) - end_of(before)).total_seconds()
    return pause_s == 0.0 or (before.code == "charge" and pause_s <= REST_S)


def told_at_once(run: Run, evening: Evening, say: Callable[..., str]) -> Iterator[str]:
    """Yield what is done in a run, each thing once in a sentence; the rounds of a charge as one where all are in it.

    say: of the paper, plain or with its figures set out
    """
    yield from dict.fromkeys(_short(task, run, evening, say) for task in run)


def _short(task: PlannedTask, run: Run, evening: Evening, say: Callable[..., str]) -> str:
    known: Mapping[str, Any] = {**{one.code.replace("-", "_"): one.value for one in task.values}, **task.params}
    sentence = SHORT.get(task.code)
    if task.code == "charge" and sum(one.code == "charge" for one in run) != known.get("rounds"):
        sentence = ONE_ROUND
    names = {name for _, name, _, _ in Formatter().parse(sentence or "") if name}
    if sentence is None or not names <= known.keys():
        return evening.text(task.text, task.params)
    return say(sentence, **{name: known[name] for name in names})


def figures(task: PlannedTask, paper: Paper) -> Iterator[tuple[str, str]]:
    """Yield the figures that are told beside a task with its whole text: what each is, and the figure."""
    if "vessels" in task.params:
        yield paper.say("vessels"), paper.show(task.params["vessels"])
    for one in task.values:
        if one.code not in ON_THE_SHEET:
            name = paper.filled(paper.speech.say(one.name), one.params)
            yield name, str(paper.figure(one.value, weighed=one.code == "component"))
