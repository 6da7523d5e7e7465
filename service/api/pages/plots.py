"""Plots of answers as SVG: told apart by line, pattern and place rather than by colour."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from service.api.answers import SHOWN_DIGITS, SHOWN_UNITS
from service.api.pages.chart import Caption, Chart, End, Key, Point, Text, Tick, room, round_steps
from service.api.pages.paper import MINUS, Paper, Shown

Body = Mapping[str, Any]
_MOST_RINGS = 12
"""Points that are drawn large."""
_MOST_UP = 6
"""Ticks of a vertical axis."""
_TICKS_MIN = (5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880)
"""Minutes from one clock time on an axis to the next."""


def set_points(body: Body, paper: Paper, *, prefix: str = "set-points") -> str:
    """Draw gauge pressure by temperature: the set-point in its band, what was asked for, the highest dial that passes.

    Without a vessel nothing is judged, and there is no such dial. Where the set-point does not pass its line is thin.
    body: an answer of createSetPoints with a `curve`, as its SVG view writes it
    """
    curve, points = body["curve"], body["points"]
    low, typical, high = ([_point(at, at["gauge_pressure"][end]) for at in curve] for end in ("low", "typical", "high"))
    never_over = [_point(at, at["never_over"]["value"]) for at in curve if "never_over" in at]
    least, most = min(y for _, y in low), max(y for _, y in [*high, *never_over])
    spare = 0.05 * (most - least)
    top = 1.12 * most if never_over else most + spare
    ends = [End(typical[-1], paper.say("holds {level}", level=_shown(body["target"], paper)), "main")]
    ends += [End(at, paper.say("never over this"), "limit") for at in never_over[-1:]]
    asked = next(point for point in points if point["status"] == "ok")
    chart = Chart(_dial_caption(body, asked, paper), paper.say("dial, {unit}", unit=asked["gauge_pressure"]["unit"]),
                  _span(curve, points), (least - spare, top), ends, _dial_legend(points, paper))  # fmt: skip
    chart.area(high, low, "band")
    chart.line(typical, "thin")
    if never_over:
        chart.area([(x, top) for x, _ in never_over], never_over, "hatch")
        chart.line(never_over, "limit")
    chart.line([at for at, one in zip(typical, curve, strict=True) if not body["judged"] or _passes(one)], "main")
    _mark(chart, points)
    degrees = paper.say("temperature of the drink, {unit}", unit=SHOWN_UNITS[asked["temperature"]["unit"]])
    along = _numbers(chart.x, chart.most_across("−10"), paper)
    return chart.svg(prefix, degrees, along, _numbers(chart.y, _MOST_UP, paper))


def _dial_legend(points: Sequence[Body], paper: Paper) -> list[Key]:
    legend = [Key("band", paper.say("9 times in 10 within")), Key("ring", paper.say("temperature asked for"))]
    if any(point["status"] != "ok" for point in points):
        legend.append(Key("cross", paper.say("refused")))
    return legend


def _span(curve: Sequence[Body], points: Sequence[Body]) -> Point:
    """Return the least and the highest temperature of the curve and of what was asked for, refused or not."""
    all_of = [at["temperature"]["value"] for at in (*curve, *points)]
    return min(all_of), max(all_of)


def _point(at: Body, y: float) -> Point:
    return at["temperature"]["value"], y


def _passes(at: Body) -> bool:
    return "never_over" in at and bool(at["gauge_pressure"]["typical"] <= at["never_over"]["value"])


def _mark(chart: Chart, points: Sequence[Body]) -> None:
    """Mark the temperatures asked for, small where they are many, and at the bottom where they are refused."""
    radius = 4.0 if len(points) <= _MOST_RINGS else 2.0
    for point in points:
        if point["status"] == "ok":
            chart.mark("ring", _point(point, point["gauge_pressure"]["typical"]), radius)
        else:
            chart.mark("cross", _point(point, chart.y[0]), 4.0)


def _numbers(span: Point, most: int, paper: Paper) -> list[Tick]:
    at, decimals = round_steps(*span, most)
    return [Tick(each, paper.speech.fixed(each, decimals).replace("-", MINUS)) for each in at]


def _dial_caption(body: Body, first: Body, paper: Paper) -> Caption:
    at, dial = _shown(first["temperature"], paper), _range(first["gauge_pressure"], paper)
    reading = paper.say("At {temperature}: {dial}", temperature=at, dial=dial)
    heading = paper.say("Dial that holds {level} of CO₂", level=_shown(body["target"], paper))
    return Caption(heading, str(body.get("name", "")), reading, _set_points_in_words(body, reading, paper))


def _set_points_in_words(body: Body, reading: str, paper: Paper) -> str:
    told = [
        paper.say(
            "Dial against the temperature of the drink: the set-point as a line in its band, the temperatures asked "
            "for as circles."
        )
    ]
    if body["judged"]:
        told.append(
            paper.say("The line is thin where it is over the highest dial that passes, which is a dashed line.")
        )
    told.append(f"{reading}.")
    refused = sum(point["status"] != "ok" for point in body["points"])
    if refused:
        told.append(
            paper.many(
                "1 of the temperatures asked for is refused.",
                "{count} of the temperatures asked for are refused.",
                refused,
                count=float(refused),
            )
        )
    return " ".join(told)


def regas(body: Body, paper: Paper, *, prefix: str = "regas") -> str:
    """Draw CO2 by time: in the glass with its band, in the bottle, the floor, and where a vessel is re-gassed.

    body: an answer of createRegasForecast; its `floor` is drawn where it has one, and the clock where it has times
    """
    pours = body["pours"]
    begins = [pour["after"]["value"] for pour in pours]
    begins.append(begins[-1] + ((begins[-1] - begins[0]) / (len(pours) - 1) if len(pours) > 1 else 1.0))
    low, glass, high = (_steps(begins, [pour["glass"][end] for pour in pours]) for end in ("low", "typical", "high"))
    bottle = _steps(begins, [pour["bottle"]["typical"] for pour in pours])
    floor = [(x, body["floor"]["value"]) for x in (begins[0], begins[-1])] if "floor" in body else []
    levels = [y for _, y in [*low, *high, *bottle, *floor]]
    spare = 0.3 * (max(levels) - min(levels))
    bottom, top = max(0.0, min(levels) - spare), max(levels) + spare
    ends = [
        End(glass[-1], paper.say("in the glass"), "main"),
        End(bottle[-1], paper.say("in the vessel"), "thin"),
        End((begins[-1], top - 0.03 * (top - bottom)), paper.say("vessel"), "soft"),
    ]
    ends += [End(at, paper.say("floor {level}", level=_shown(body["floor"], paper)), "limit") for at in floor[-1:]]
    chart = Chart(_regas_caption(body, paper), paper.say("CO₂, {unit}", unit=pours[0]["glass"]["unit"]),
                  (begins[0], begins[-1]), (bottom, top), ends, _regas_legend(pours, paper))  # fmt: skip
    chart.area(high, low, "band")
    chart.line(bottle, "thin")
    if floor:
        chart.line(floor, "limit")
    chart.line(glass, "main")
    _turns(chart, pours)
    return chart.svg(prefix, *_clock(chart, pours, paper), _numbers(chart.y, _MOST_UP, paper))


def _regas_legend(pours: Sequence[Body], paper: Paper) -> list[Key]:
    legend = [Key("band", paper.say("9 times in 10 within"))]
    if any(pour["regassed"] for pour in pours):
        legend.append(Key("triangle", paper.say("re-gas")))
    return legend


def _steps(begins: Sequence[float], levels: Sequence[float]) -> list[Point]:
    """Return the corners of levels that each hold until the next begins, the last until the last of all."""
    return [(x, y) for span, y in zip(pairwise(begins), levels, strict=True) for x in span]


def _clock(chart: Chart, pours: Sequence[Body], paper: Paper) -> tuple[str, list[Tick]]:
    """Return clock times along the shift; minutes where nobody said when it starts."""
    first, last = chart.x
    if "at" not in pours[0]:
        return paper.say("minutes since the start"), _numbers(chart.x, chart.most_across(f"{last:.0f}"), paper)
    starts = datetime.fromisoformat(pours[0]["at"]) - timedelta(minutes=pours[0]["after"]["value"])
    most = chart.most_across(paper.time(starts))
    step = next((each for each in _TICKS_MIN if (last - first) / each <= most), _TICKS_MIN[-1])
    since_midnight = 60 * starts.hour + starts.minute
    begins = -(-since_midnight // step) * step - since_midnight
    at = [minutes for minutes in range(begins, int(last) + 1, step) if minutes >= first]
    return paper.say("time"), [Tick(each, paper.time(starts + timedelta(minutes=each))) for each in at]


def _turns(chart: Chart, pours: Sequence[Body]) -> None:
    """Tell by its number which vessel takes over where, as far as there is room, and where one is re-gassed."""
    (bottom, top), until = chart.y, chart.left
    serving = None
    for pour in pours:
        at, number = pour["after"]["value"], str(pour["vessel"])
        if pour["regassed"]:
            chart.mark("triangle", (at, bottom + 0.045 * (top - bottom)), 4.0)
        if number != serving and chart.across(at) >= until:
            chart.line([(at, top - 0.05 * (top - bottom)), (at, top)], "turn")
            chart.texts.append(Text(chart.across(at) + 3.0, chart.top + 10.0, [number], "soft"))
            until = chart.across(at) + room(number) + 6.0
        serving = number


def _regas_caption(body: Body, paper: Paper) -> Caption:
    pours = body["pours"]
    marks = sum(pour["regassed"] for pour in pours)
    first, last = (_range(pours[i]["glass"], paper) for i in (0, -1))
    if "floor_crossed" in body:
        crossed = str(body["floor_crossed"]["pour"])
        reading = paper.say("In the glass: first {first}, last {last}; first below the floor: glass {number}",
                            first=first, last=last, number=crossed)  # fmt: skip
    else:
        reading = paper.say("In the glass: first {first}, last {last}", first=first, last=last)
    words = paper.say(
        "CO₂ through the shift: in the glass as a line in its band, in the vessel as a thin line, each re-gas as a "
        "triangle. {reading}. Glasses: {glasses}. Re-gasses: {marks}.",
        reading=reading, glasses=str(len(pours)), marks=str(marks),
    )  # fmt: skip
    return Caption(paper.say("CO₂ through the shift"), str(body.get("name", "")), reading, words)


def _shown(quantity: Body, paper: Paper) -> Shown:
    unit: str = quantity["unit"]
    return Shown(_number(quantity["value"], unit, paper), SHOWN_UNITS.get(unit, unit))


def _range(band: Body, paper: Paper) -> str:
    unit: str = band["unit"]
    low, typical, high = (_number(band[end], unit, paper) for end in ("low", "typical", "high"))
    middle = Shown(typical, SHOWN_UNITS.get(unit, unit))
    return paper.say("{typical} ({low} to {high})", typical=middle, low=low, high=high)


def _number(value: float, unit: str, paper: Paper) -> str:
    return paper.speech.fixed(value, SHOWN_DIGITS[unit]).replace("-", MINUS)
