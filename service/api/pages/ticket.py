"""The bench ticket: a prep sheet as narrow text, with boxes to tick, for a kitchen printer."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from string import Formatter
from typing import Any

from service.api.endpoint import Served
from service.api.pages.columns import Columns
from service.api.pages.draught import Draught, draught_of
from service.api.pages.labels import label_of
from service.api.pages.names import vessel
from service.api.pages.paper import Paper
from service.api.pages.words import _, left_to_right
from service.api.pages.work import Care, Line, Task, Work, work_of
from service.prep_sheet import PrepSheet, PrepSheetRequest
from service.safety_rules import SAFETY_RULES, SafetyRule

DEFAULT_COLUMNS = 48
QUERY: dict[str, dict[str, Any]] = {
    "columns": {
        "type": "integer",
        "format": "int32",
        "minimum": 32,
        "maximum": 80,
        "description": f"Width of the ticket in characters, {DEFAULT_COLUMNS} unless stated; with text only. Wide "
        "characters count two.",
    },
    "charset": {
        "type": "string",
        "enum": ["utf-8", "ascii"],
        "description": "Characters of the ticket, utf-8 unless stated; with text only. ascii is for printers that know "
        "no other: accents are dropped, signs are spelt, the rest becomes a question mark.",
    },
}
APPROVAL = _("Arithmetic, not approval: the maker's rating, local code and a competent person decide.")
_BOX, _INDENT = "[ ] ", "  "


SHORT: dict[str, tuple[str, ...]] = {
    "settle-stock": (_("The day before: settle the {component}, cold, for {timer}."),),
    "filter-stock": (_("Draw off the clear {component}, and filter it."),),
    "make-acid-solution": (_("Make the {component}; stir until clear."),),
    "make-first": (_("Make the {component} first; stir until even."),),
    "mix-batch": (_("Mix in this order, until even."),),
    "inspect-vessels": (_("Inspect each; in doubt, bin it."),),
    "fill-vessels": (_("Fill {liquid_in_each} each; {left_empty} empty."),),
    "chill-batch": (
        _(
            "Chill to {chill_to}, never below {never_below}: look after {timer}, at the latest {chill_latest}. "
            "Fetch {ice_to_fetch} of ice."
        ),
        _("Chill to {chill_to}, never below {never_below}: look after {timer}, at the latest {chill_latest}."),
    ),
    "set-regulator": (
        _("Goggles on; relief at most {relief}. Back the regulator off, stand aside, open the cylinder slowly, set:"),
    ),
    "leave-on-gas": (_("Goggles on. Connect, leave on the gas at {gas_at}, upright: {days_from} to {days_to} days."),),
    "close-cylinder": (_("All off; close the cylinder, vent the hose, back the regulator off."),),
    "label-vessels": (_("Label:"),),
    "connect-line": (_("Goggles on. Back the regulator off, set, connect, and pour {pour_away} away."),),
    "time-pour": (_("Time one glass into a jug, tap fully open: {glass} in {takes_from} to {takes_to}."),),
    "cold-rest": (_("Rest {timer}, upright and cold."),),
    "gauge-at-rest": (_("Gauge one at rest, cold. Over its most: vent cold, wait, gauge all."),),
    "hold-cold": (
        _("Hold upright, dark, at {hold_at}."),
        _("Hold upright, dark, at {hold_at_most} at most."),
    ),
    "regas": (
        _(
            "Before pour {before_pour}: goggles on, gas on, set {regas_dial}, never over {never_over}, squeeze, "
            "connect, shake {timer}, disconnect, gas off, rest cold."
        ),
        _(
            "Only if a glass is flat, at pour {from_pour} or later: goggles on, gas on, set {regas_dial}, never over "
            "{never_over}, squeeze, connect, shake {timer}, disconnect, gas off, rest cold."
        ),
    ),
}
"""Steps in fewer words than on the pages, by code: the first whose figures are there, which are no lines then."""
_MOVED = "shake"
"""A figure of a keg that is moved while it takes up its gas; its step is told in full."""
SHORT_CARES = {
    "weigh-apart": _("Weigh each line in its own jug."),
    "regas-dial-only": _("Only a bottle poured from, at most twice, never under a third full."),
}
"""Cautions likewise."""
_AT_THE_DIAL = "goggles"
"""What is to mind from the dial on, and is told there."""
_SET_APART = ("dial", "line-dial", "never-over")
_ON_THE_PAGES = ("scale-takes", "vessel", "chill-usually")
_UNNAMED = ("each-serve", "serve-glass", "serve-ice", "serve-garnish")
"""Figures that the pages alone have."""


def ticket(served: Served[PrepSheetRequest, PrepSheet]) -> str:
    """Return the ticket of a prep sheet: what bench and bar do. The manager's part is not on it.

    query: columns, 32 to 80; charset
    """
    paper, query = Paper(served.answer), served.query
    form = _Ticket(int(query.get("columns", DEFAULT_COLUMNS)), query.get("charset") == "ascii", paper=paper)
    work = work_of(served.asked, served.found, served.notes.cautions, paper)
    lines = (
        *form.head(served.asked, served.found),
        *form.before(work, served.found.fill.each.kind),
        *form.station(paper.say("Bench"), work.bench, _to_write(served, paper)),
        *form.station(paper.say("Bar"), work.bar),
        *form.draught(served.asked, served.found, work),
    )
    return "\n".join(left_to_right(line.rstrip()) for line in lines) + "\n"


def rules_for(kind: str) -> list[SafetyRule]:
    """Return the rules of the night that a ticket has, those that kill; the pages have them all.

    kind: of the vessels, bottle or keg
    """
    deadly = [rule for rule in SAFETY_RULES if rule.severity == "danger" or rule.code == "not-approval"]
    return [rule for rule in deadly if kind == "keg" or rule.code != "cold-room-fails"]


def _to_write(served: Served[PrepSheetRequest, PrepSheet], paper: Paper) -> str:
    """Return what is written on every label, beside the name."""
    label = label_of(served.asked, served.found, paper)
    return "; ".join(f"{name} {text}" for name, text in label.lines if text != served.asked.lot)  # that is at the head


def _as_sentence(figures: str) -> str:
    """Return figures behind a sentence as one of their own."""
    return f"{figures[:1].upper()}{figures[1:]}."


@dataclass(frozen=True)
class _Ticket(Columns):
    """Sets the sentences and figures of a sheet in columns."""

    paper: Paper = field(kw_only=True)

    def head(self, asked: PrepSheetRequest, found: PrepSheet) -> Iterator[str]:
        say, fill = self.paper.say, found.fill
        yield from self.wrapped(found.label.name.upper())
        place = (asked.site.name or asked.site.id) if asked.site else None
        lot = None if asked.lot is None else say("lot {lot}", lot=asked.lot)
        if place or lot:
            yield from self.pair(place or "", lot or "")
        serves = self.paper.many("1 serve", "{count} serves", found.batch.serves, count=float(found.batch.serves))
        each = vessel(fill.each, self.paper)
        yield from self.pair(serves, say("{count} × {vessel}", count=float(fill.count), vessel=each))
        takes = None if found.total_s is None else self.paper.clock(found.total_s, up=True)
        if found.latest_start is not None and takes is not None:
            yield from self._start(found.latest_start, say("takes {time}", time=takes))
        elif takes is not None:
            yield from self.pair(say("first serve after"), takes)

    def _start(self, start: datetime, takes: str) -> Iterator[str]:
        """Yield the latest start and the time it takes, on one line where they fit without the year."""
        told = list[str]()
        for moment in (self.paper.moment(start), f"{self.paper.day(start)} {self.paper.time(start)}"):
            told = list(self.pair(self.paper.say("start by {moment}", moment=moment), takes))
            if len(told) == 1:
                break
        yield from told

    def before(self, work: Work, kind: str) -> Iterator[str]:
        """Yield what is read before the work: the rules that kill, and what no step of this sheet is about."""
        yield self.rule(self.paper.say("Before you start"))
        for care in work.before:
            yield from self.wrapped(care.text, "!! ", "   ")
        yield from self.wrapped(" ".join(f"{self.paper.say(rule.short)}." for rule in rules_for(kind)))

    def station(self, name: str, tasks: Sequence[Task], to_write: str = "") -> Iterator[str]:
        yield self.rule(name)
        for task in tasks:
            yield from self.task(task, to_write if task.code == "label-vessels" else "")

    def draught(self, asked: PrepSheetRequest, found: PrepSheet, work: Work) -> Iterator[str]:
        """Yield the line of a drink on draught: its stretches, a glass to time, what to change when it foams."""
        if found.draught is None or asked.draught is None or work.foams is None:
            return
        on, most = draught_of(found.draught, asked.draught, self.paper), self.paper.say("no warmer than")
        yield from self.station(self.paper.say("Draught"), work.tap)
        yield from self.wrapped(self.paper.say("Line, from the keg to the tap:"))
        for i, one in enumerate(on.stretches, start=1):
            told = "; ".join([one.name, one.run, f"{most} {one.warmest}", one.comes_out])
            yield from self.wrapped(told, f"{i}. ", "   ")
        yield from self._foams(on, work.foams)
        yield from self.wrapped(self.paper.say("From one keg:"))
        for name, text in on.keg:
            yield from self.pair(name, text, _INDENT)

    def _foams(self, on: Draught, foams: Task) -> Iterator[str]:
        yield from self.wrapped(foams.text, _BOX, _INDENT)
        for i, check in enumerate(on.checks, start=1):
            yield from self.pair(f"{i}. {check.name}", str(check.figure), _INDENT)
            yield from self.wrapped(check.change, _INDENT + "   ", _INDENT + "   ")

    def task(self, task: Task, to_write: str) -> Iterator[str]:
        """Yield a task: what to mind, what to do, and its figures."""
        for care in self._cares(task.cares):
            yield from self.wrapped(care, "!! ", "   ")
        words, lines = self._in_short(task)
        others = [line for line in lines if not line.tick and line.code not in _SET_APART]
        figures = [str(one.figure) if one.code in _UNNAMED else f"{one.name} {one.figure}" for one in others]
        told = [words, *([_as_sentence("; ".join(figures))] if figures else []), *([to_write] if to_write else [])]
        at = "" if task.begins_at is None else f"{self.plain(self.paper.time(task.begins_at))} "
        yield from self.wrapped(" ".join(told), f"{_BOX * len(task.ticks)}{at}", _INDENT)
        yield from self._set(lines)
        yield from self._ticked(lines)
        for gauge in task.gauge:
            about = [] if gauge.about is None else [self.paper.say("about {pressure}", pressure=gauge.about)]
            shown = "; ".join([*about, self.paper.say("most {pressure}", pressure=gauge.most)])
            yield from self.pair(str(gauge.at), shown, _INDENT)

    def _cares(self, cares: Sequence[Care]) -> Iterator[str]:
        """Yield what to mind; of products that are no danger in one sentence."""
        for care in cares:
            if care.code != _AT_THE_DIAL and (care.danger or not care.of_a_product):
                yield self.paper.say(SHORT_CARES[care.code]) if care.code in SHORT_CARES else care.text
        if any(care.of_a_product and not care.danger for care in cares):
            yield self.paper.say("Goggles, no dust; read the data sheet.")

    def _in_short(self, task: Task) -> tuple[str, Sequence[Line]]:
        """Return a task in fewer words, and the figures that do not stand in them."""
        lines = [line for line in task.lines if line.code not in _ON_THE_PAGES]
        figures = {line.code.replace("-", "_"): line.figure for line in lines if not line.tick}
        known: Mapping[str, Any] = {**figures, **task.steps[0].params}
        for short in SHORT.get(task.code, ()):
            names = {name for _, name, _, _ in Formatter().parse(short) if name}
            if names <= known.keys() and _MOVED not in figures:
                told = self.paper.say(short, **{name: known[name] for name in names})
                return told, [line for line in lines if line.tick or line.code.replace("-", "_") not in names]
        return task.text, lines

    def _set(self, lines: Sequence[Line]) -> Iterator[str]:
        """Yield the dial and its limit, which no other line stands beside."""
        by_code = {line.code: line.figure for line in lines}
        dialled = by_code.get("dial", by_code.get("line-dial"))
        if dialled is not None and "never-over" in by_code:
            dial = self.paper.say("Set {dial}", dial=dialled)
            limit = self.paper.say("Never over {limit}", limit=by_code["never-over"])
            yield from self.pair(dial.upper(), limit, _INDENT)

    def _ticked(self, lines: Sequence[Line]) -> Iterator[str]:
        for line in lines:
            if line.tick:
                yield from self.pair(line.name, str(line.figure), _INDENT + _BOX)
