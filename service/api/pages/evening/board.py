"""The board of an evening, to hang up: the time line on one side, the stations on the other. No script."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from markupsafe import Markup

from service.api.pages.evening.lines import (
    FOAMS,
    REGAS_CARE,
    Evening,
    Plan,
    begin_of,
    end_of,
    hands_on,
    on_tap,
    regas_of,
    runs,
    taps_of,
    told_at_once,
)
from service.api.pages.evening.listing import STATIONS
from service.api.pages.evening.timeline import drawn
from service.api.pages.labels import allergens
from service.api.pages.paper import NO_BREAK, Shown
from service.api.pages.printed import Printed
from service.api.pages.ticket import APPROVAL
from service.evening import PlannedTask
from service.science.units import Quantity

_PRINTED = Printed(Path(__file__).parents[1] / "templates", "board.css")
HEADERS = _PRINTED.headers


@dataclass(frozen=True)
class Poured:
    """A drink in the line-up. place: among the drinks, by which its pattern is named"""

    place: int
    letter: str
    name: str
    serves: str
    vessels: str
    ready: str
    dial: Shown | None
    limit: Shown | None
    allergens: str


@dataclass(frozen=True)
class Row:
    """A line of a station: from when to when, who, of which drink, and what, figures set out."""

    begins: str
    ends: str
    who: str
    letter: str
    what: Markup


def board(plan: Plan) -> str:
    """Return the pages of a plan."""
    evening = Evening(plan)
    paper, site, found = evening.paper, plan.asked.site, plan.found
    return _PRINTED.templates.get_template("board.html").render(
        _=paper.say,
        set_out=paper.set_out,
        paper=paper,
        place=(site.name or site.id) if site else None,
        starts_at=plan.asked.service.starts_at,
        facts=list(_facts(evening)),
        bottleneck=list(evening.bottleneck()),
        cares=evening.cares(),
        lineup=list(_lineup(evening)),
        drawn=Markup(drawn(evening, legend=False)),  # noqa: S704 - an XML tree, serialised
        ahead=list(_ahead(evening)),
        stations=[
            (station, name, list(_rows(evening, hands_on(found, station)))) for station, name in STATIONS.items()
        ],
        taps=[(on_tap(letter, line, paper.set_out), line.checks) for letter, line in taps_of(evening)],
        foams=FOAMS,
        regas=regas_of(evening),
        regas_care=REGAS_CARE,
        shopping=list(evening.shopping()),
        outlay=None if found.outlay is None else paper.money(found.outlay),
        approval=APPROVAL,
    )


def _facts(evening: Evening) -> Iterator[tuple[str, str]]:
    paper, found, say = evening.paper, evening.found, evening.paper.say
    yield say("Start by"), evening.when(found.latest_start)
    yield say("Begun early, ready at"), evening.when(found.ready_at)
    if found.ice_to_fetch_g is not None:
        yield say("Ice to fetch"), paper.show(Quantity("mass", found.ice_to_fetch_g, "up"))
    if found.gas.co2_used_g.high:
        yield say("CO₂, at most"), paper.show(Quantity("mass", found.gas.co2_used_g.high, "up"))
    if found.gas.cylinders is not None:
        yield say("of the cylinder, at most"), f"{paper.speech.fixed(100.0 * found.gas.cylinders.high, 0)}{NO_BREAK}%"


def _lineup(evening: Evening) -> Iterator[Poured]:
    """Yield the drinks; pressures are rounded down."""
    paper = evening.paper
    for place, one in enumerate(evening.found.drinks):
        dial, limit = one.gauge_pressure_bar, one.never_over_bar
        yield Poured(
            place, one.letter, evening.names[one.id], str(one.whole_serves), str(one.vessels),
            str(one.ready) if one.ready else "",
            None if dial is None else paper.figure(Quantity("pressure", dial.typical, "down")),
            None if limit is None else paper.figure(Quantity("pressure", limit, "down")),
            _allergens(evening, one.id),
        )  # fmt: skip


def _allergens(evening: Evening, drink: str) -> str:
    declared = next((one for one in evening.found.allergens if one.drink == drink), None)
    return "" if declared is None else allergens(declared.allergens, evening.paper, whole=not declared.unstated)


def _rows(evening: Evening, tasks: Sequence[PlannedTask]) -> Iterator[Row]:
    paper = evening.paper
    for run in runs(tasks):
        who = "" if run[0].person is None else str(run[0].person)
        told = Markup(" ").join(told_at_once(run, evening, paper.set_out))
        begins, ends = paper.time(begin_of(run[0])), paper.time(end_of(run[-1]))
        yield Row(begins, ends, who, evening.letter(run[0].drink), told)


def _ahead(evening: Evening) -> Iterator[tuple[str, Markup]]:
    """Yield what is done the day before, by the letters of the drinks."""
    ahead = evening.found.ahead
    for drink in dict.fromkeys(one.drink for one in ahead):
        tasks = [one for one in ahead if one.drink == drink]
        yield evening.letter(drink), Markup(" ").join(told_at_once(tasks, evening, evening.paper.set_out))
