"""An evening as text: what one station does task by task, or what all do in few words."""

from collections.abc import Iterator, Mapping

from service.api.pages.columns import Columns
from service.api.pages.evening.lines import (
    FOAMS,
    REGAS_CARE,
    Evening,
    Plan,
    begin_of,
    figures,
    hands_on,
    on_tap,
    regas_of,
    runs,
    taps_of,
    told_at_once,
)
from service.api.pages.paper import NO_BREAK
from service.api.pages.ticket import APPROVAL, DEFAULT_COLUMNS, rules_for
from service.api.pages.words import _, left_to_right
from service.evening import PlannedTask
from service.prep_sheet import Station

STATIONS: dict[Station, str] = {"bench": _("Bench"), "bar": _("Bar"), "manager": _("Manager")}
BOX, INDENT = "[ ] ", "  "


def listing(plan: Plan) -> str:
    """Return the tasks in the order of the clock.

    query: station, one of them, whose tasks are then told one by one; columns, 32 to 80; charset
    """
    query = plan.query
    form = _List(Evening(plan), Columns(int(query.get("columns", DEFAULT_COLUMNS)), query.get("charset") == "ascii"))
    named: dict[str, Station] = {one: one for one in STATIONS}
    station = named.get(query.get("station", ""))
    lines = form.overview() if station is None else form.station(station)
    return "\n".join(left_to_right(line.rstrip()) for line in lines) + "\n"


class _List:
    """Sets an evening in columns."""

    def __init__(self, evening: Evening, columns: Columns) -> None:
        self.evening, self.columns = evening, columns
        self.paper, self.found = evening.paper, evening.found
        self.wrapped, self.rule = columns.wrapped, columns.rule

    def overview(self) -> Iterator[str]:
        """Yield what all stations do, a line for what goes in one."""
        yield from self._head()
        warnings = sum(not care.danger for _about, care in self.evening.cares())
        if warnings:
            told = self.paper.many("1 warning stands on the board.", "{count} warnings stand on the board.", warnings,
                                   count=float(warnings))  # fmt: skip
            yield from self.wrapped(told)
        yield from self._ahead()
        for station, name in STATIONS.items():
            told_here = list(self._in_short(station))
            if told_here:
                yield self.rule(self.paper.say(name))
                yield from told_here
        yield self.rule()
        yield from self.wrapped(self.paper.say(APPROVAL))

    def _in_short(self, station: Station) -> Iterator[str]:
        """Yield what one station does, a line for what goes in one."""
        for run in runs(hands_on(self.found, station)):
            yield from self._timed(run[0], " ".join(told_at_once(run, self.evening, self.paper.say)))
        if station == "bar":
            yield from self._regas()
        items = [f"{name} {amount}" for name, amount, _outlay in self.evening.shopping()]
        if station == "manager" and items:
            yield from self.wrapped("; ".join(item.replace(" ", NO_BREAK) for item in items))

    def station(self, station: Station) -> Iterator[str]:
        """Yield what one station does, each task with its whole text and its figures."""
        yield from self._head()
        if station != "manager":
            yield from self._before()
        if station == "bench":
            yield from self._ahead()
        yield self.rule(self.paper.say(STATIONS[station]))
        for task in hands_on(self.found, station):
            yield from self._timed(task, self.evening.text(task.text, task.params), BOX)
            told = "; ".join(f"{name} {figure}" for name, figure in figures(task, self.paper))
            yield from self.wrapped(told, INDENT, INDENT) if told else ()
        if station == "bar":
            yield from self._taps()
        if station == "bar" and self.found.regas:
            yield from self.wrapped(self.paper.say(REGAS_CARE), "!! ", "   ")
            yield from self._regas()
        if station == "manager":
            for name, amount, _outlay in self.evening.shopping():
                yield from self.columns.pair(name, amount, BOX)
        yield self.rule()
        yield from self.wrapped(self.paper.say(APPROVAL))

    def _head(self) -> Iterator[str]:
        say, found = self.paper.say, self.found
        start, ready = self.evening.when(found.latest_start), self.evening.when(found.ready_at)
        yield from self.wrapped(
            say("Start at {start} at the latest. Begun as early as may be, all is ready at {ready}.",
                start=start, ready=ready)
        )  # fmt: skip
        sets, *reliefs = self.evening.bottleneck()
        yield from self.wrapped(" ".join([sets, *reliefs[:1]]))  # the first saves the most; the board has them all
        for one in found.drinks:
            counts = {"serves": float(one.whole_serves), "vessels": float(one.vessels), "ready": float(one.ready)}
            yield from self.wrapped(self._of_a_drink(one.letter, self.evening.names[one.id], counts), "", INDENT)
        for about, care in self.evening.cares():
            if care.danger:
                yield from self._care(about, care.text)

    def _of_a_drink(self, letter: str, name: str, counts: Mapping[str, float]) -> str:
        if not counts["ready"]:
            return self.paper.say("{letter} {name}: serves {serves}, to fill {vessels}", letter=letter, name=name,
                                  serves=counts["serves"], vessels=counts["vessels"])  # fmt: skip
        text = _("{letter} {name}: serves {serves}, to fill {vessels}, charged already {ready}")
        return self.paper.say(text, letter=letter, name=name, **counts)

    def _care(self, about: str, text: str) -> Iterator[str]:
        yield from self.wrapped(f"{about}: {text}" if about else text, "!! ", "   ")

    def _before(self) -> Iterator[str]:
        """Yield what is read before the work: what tonight asks for, and the rules that kill."""
        yield self.rule(self.paper.say("Before you start"))
        for about, care in self.evening.cares():
            if not care.danger:
                yield from self._care(about, care.text)
        yield from self.wrapped(" ".join(f"{self.paper.say(one.short)}." for one in rules_for("keg")))

    def _ahead(self) -> Iterator[str]:
        ahead = self.found.ahead
        if ahead:
            yield self.rule(self.paper.say("The day before"))
        for drink in dict.fromkeys(one.drink for one in ahead):
            told = " ".join(told_at_once([one for one in ahead if one.drink == drink], self.evening, self.paper.say))
            yield from self.wrapped(told, f"{self.evening.letter(drink)} ", INDENT)

    def _timed(self, task: PlannedTask, text: str, box: str = "") -> Iterator[str]:
        """Yield a task with its time, the letter of its drink, and its person's number."""
        at = self.columns.plain(self.paper.time(begin_of(task)))
        who = f"{self.evening.letter(task.drink) or ' '}{task.person or ' '}"
        head = f"{box}{at} {who} "
        yield from self.wrapped(text, head, INDENT if box else " " * len(head))

    def _taps(self) -> Iterator[str]:
        for letter, line in taps_of(self.evening):
            yield from self.wrapped(f"{on_tap(letter, line, self.paper.say)} {self.paper.say(FOAMS)}", "", INDENT)
            for check in line.checks:
                yield from self.columns.pair(check.name, str(check.figure), INDENT)

    def _regas(self) -> Iterator[str]:
        for one in regas_of(self.evening):
            text = self.paper.say("Re-gas {drink}: set {dial}, never over {limit}.", drink=one.letter, dial=one.dial,
                                  limit=one.limit)  # fmt: skip
            yield from self.wrapped(f"{text} {'; '.join(one.calls)}.", "", INDENT)
