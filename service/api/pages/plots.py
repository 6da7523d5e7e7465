"""Plots of answers as SVG: dark ink on any light ground, told apart by line and place rather than by colour.

matplotlib is imported with the first plot: it takes longer than all the rest of the service.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Any

from service.api.answers import SHOWN_DIGITS, SHOWN_UNITS
from service.api.pages.paper import MINUS, Paper, Shown
from service.api.pages.svg import INK, SOFT, Caption, inert_svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Body = Mapping[str, Any]
Label = tuple[float, str, str]
"""Height of a line at its right end, its name and its colour."""

BAND, LIMIT, HATCH = "#c3ccd2", "#7a2e1d", "#b9a49d"
_SIZE_IN = (7.2, 4.4)
_MOST_RINGS = 12
"""Points that are drawn large."""
_LABEL_PT = 12.0
"""From one label to the next above it."""
_MOST_TURNS = 24
"""Vessels named along a shift before their names would run into each other."""
_MOST_TICKS = 8
_TICKS_MIN = (5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880)
"""Minutes from one clock time on an axis to the next, the fewest that leave no more than _MOST_TICKS."""


@cache
def _figure() -> "type[Figure]":
    """Return matplotlib's figure, its settings made ours once."""
    import matplotlib as mpl  # noqa: PLC0415 - see the top
    from matplotlib.figure import Figure  # noqa: PLC0415

    mpl.rcdefaults()
    mpl.rcParams.update({
        "svg.fonttype": "none", "svg.hashsalt": "batch-carbonation", "text.parse_math": False, "font.size": 10.0,
        "font.family": "sans-serif", "font.sans-serif": ["DejaVu Sans"], "axes.edgecolor": SOFT, "axes.labelcolor": INK,
        "text.color": INK, "xtick.color": SOFT, "ytick.color": SOFT, "hatch.linewidth": 0.6,
        "figure.dpi": 72.0,
    })  # fmt: skip
    return Figure


def set_points(body: Body, paper: Paper, *, prefix: str = "set-points") -> str:
    """Gauge pressure against temperature: the set-point in its band, what was asked for, the highest dial that passes.

    Without a vessel nothing is judged, and there is no such dial.
    body: an answer of createSetPoints with a `curve`, as its SVG view writes it
    """
    figure, axes = _canvas()
    curve, points = body["curve"], body["points"]
    first = next(point for point in points if point["status"] == "ok")
    unit, degrees = first["gauge_pressure"]["unit"], first["temperature"]["unit"]
    x = [at["temperature"]["value"] for at in curve]
    typical, low, high = ([at["gauge_pressure"][end] for at in curve] for end in ("typical", "low", "high"))
    axes.fill_between(x, low, high, color=BAND, linewidth=0.0)
    axes.plot(x, typical, color=SOFT, linewidth=1.1)
    never_over = _limit(axes, curve, paper)
    fine = [_passes(one) or not body["judged"] for one in curve]
    passing = [(at, dial) for at, dial, passes in zip(x, typical, fine, strict=True) if passes]
    axes.plot(*zip(*passing, strict=True), color=INK, linewidth=2.2)
    _asked(axes, points, paper)
    holds = paper.say("holds {level}", level=_shown(body["target"], paper))
    _label_ends(axes, x[-1], [(typical[-1], holds, INK), *never_over])
    _band_legend(axes, paper)
    axes.set_xlabel(paper.say("temperature of the drink, {unit}", unit=SHOWN_UNITS[degrees]))
    axes.set_ylabel(paper.say("dial, {unit}", unit=unit))
    at, dial = _shown(first["temperature"], paper), _range(first["gauge_pressure"], paper)
    reading = paper.say("At {temperature}: {dial}", temperature=at, dial=dial)
    heading = paper.say("Dial that holds {level} of CO₂", level=_shown(body["target"], paper))
    words = _set_points_in_words(body, reading, paper)
    return _drawn(figure, Caption(heading, str(body.get("name", "")), reading, words), prefix)


def _passes(at: Body) -> bool:
    return "never_over" in at and bool(at["gauge_pressure"]["typical"] <= at["never_over"]["value"])


def _limit(axes: "Axes", curve: Sequence[Body], paper: Paper) -> list[Label]:
    """The highest dial that passes, hatched above; where none does the line ends. Its label, if it has one."""
    passing = [(at["temperature"]["value"], at["never_over"]["value"]) for at in curve if "never_over" in at]
    if not passing:
        return []
    x, never_over = zip(*passing, strict=True)
    axes.plot(x, never_over, color=LIMIT, linewidth=1.6, dashes=(6, 2.5), zorder=3)
    top = 1.12 * max(*never_over, *(at["gauge_pressure"]["high"] for at in curve))
    axes.set_ylim(top=top)
    axes.fill_between(x, never_over, top, facecolor="none", hatch="////", edgecolor=HATCH, linewidth=0.0)
    return [(never_over[-1], paper.say("never over this"), LIMIT)]


def _band_legend(axes: "Axes", paper: Paper) -> None:
    """A legend of the band alone: every line is named at its end."""
    from matplotlib.patches import Patch  # noqa: PLC0415 - see the top

    band = Patch(facecolor=BAND, label=paper.say("9 times in 10 within"))
    axes.legend(handles=[band], loc="lower right", bbox_to_anchor=(1.22, 1.02), frameon=False, fontsize=9.0)


def _asked(axes: "Axes", points: Sequence[Body], paper: Paper) -> None:
    fine = [point for point in points if point["status"] == "ok"]
    x = [point["temperature"]["value"] for point in fine]
    y = [point["gauge_pressure"]["typical"] for point in fine]
    size = 8.0 if len(x) <= _MOST_RINGS else 4.0
    axes.plot(x, y, "o", markersize=size, markerfacecolor="white", markeredgecolor=INK, markeredgewidth=0.22 * size)
    refused = [point["temperature"]["value"] for point in points if point["status"] != "ok"]
    if refused:
        bottom = axes.get_ylim()[0]
        axes.plot(refused, [bottom] * len(refused), "x", color=LIMIT, markersize=8.0, markeredgewidth=2.0,
                  clip_on=False)  # fmt: skip
        axes.annotate(paper.say("refused"), (refused[0], bottom), xytext=(0, 8), textcoords="offset points",
                      ha="center", color=LIMIT, fontsize=9.5)  # fmt: skip


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
    """CO2 against time: in the glass with its band, in the bottle, the floor, and where a vessel is re-gassed.

    body: an answer of createRegasForecast; its `floor` is drawn where it has one, and the clock where it has times
    """
    figure, axes = _canvas()
    pours = body["pours"]
    unit = pours[0]["glass"]["unit"]
    x = [pour["after"]["value"] for pour in pours]
    low, glass, high = ([pour["glass"][end] for pour in pours] for end in ("low", "typical", "high"))
    bottle = [pour["bottle"]["typical"] for pour in pours]
    x, low, glass, high, bottle = (_held(values) for values in (x, low, glass, high, bottle))
    x[-1] += (x[-1] - x[0]) / (len(pours) - 1) if len(pours) > 1 else 1.0
    axes.fill_between(x, low, high, step="post", color=BAND, linewidth=0.0)
    axes.plot(x, bottle, color=SOFT, linewidth=1.1, drawstyle="steps-post")
    axes.plot(x, glass, color=INK, linewidth=2.2, drawstyle="steps-post")
    floor = [body["floor"]["value"]] if "floor" in body else []
    least, most = min(*low, *floor), max(*high, *bottle, *floor)
    axes.set_ylim(max(0.0, least - 0.3 * (most - least)), most + 0.3 * (most - least))
    _turns(axes, pours, paper)
    labels = [(bottle[-1], paper.say("in the vessel"), SOFT), (glass[-1], paper.say("in the glass"), INK)]
    _label_ends(axes, x[-1], [*labels, *_floor(axes, body, x, paper)])
    _band_legend(axes, paper)
    _clock(axes, pours, x, paper)
    axes.set_ylabel(paper.say("CO₂, {unit}", unit=unit))
    return _drawn(figure, _regas_caption(body, paper), prefix)


def _clock(axes: "Axes", pours: Sequence[Body], x: Sequence[float], paper: Paper) -> None:
    """Clock times along the shift; minutes where nobody said when it starts."""
    if "at" not in pours[0]:
        axes.set_xlabel(paper.say("minutes since the start"))
        return
    starts = datetime.fromisoformat(pours[0]["at"]) - timedelta(minutes=pours[0]["after"]["value"])
    step = next((each for each in _TICKS_MIN if (x[-1] - x[0]) / each <= _MOST_TICKS), _TICKS_MIN[-1])
    first = -(-(60 * starts.hour + starts.minute) // step) * step - (60 * starts.hour + starts.minute)
    ticks = [minutes for minutes in range(first, int(x[-1]) + 1, step) if minutes >= x[0]]
    axes.set_xticks(ticks, [paper.time(starts + timedelta(minutes=minutes)) for minutes in ticks])
    axes.set_xlabel(paper.say("time"))


def _held(values: list[float]) -> list[float]:
    """The values with the last once more, so that its step has a length."""
    return [*values, values[-1]]


def _turns(axes: "Axes", pours: Sequence[Body], paper: Paper) -> None:
    """Where another vessel takes over, and where one is re-gassed."""
    bottom, top = axes.get_ylim()
    height = top - bottom
    begins = [i for i, pour in enumerate(pours) if i == 0 or pour["vessel"] != pours[i - 1]["vessel"]]
    if len(begins) <= _MOST_TURNS:
        for i in begins:
            at = pours[i]["after"]["value"]
            axes.plot([at, at], [top - 0.035 * height, top], color=SOFT, linewidth=0.9)
            number = str(pours[i]["vessel"])
            words = number if i else paper.say("vessel {number}", number=number)
            axes.annotate(words, (at, top), xytext=(3, -9), textcoords="offset points", color=SOFT,
                          fontsize=9.0)  # fmt: skip
    marks = [pour["after"]["value"] for pour in pours if pour["regassed"]]
    if marks:
        low = bottom + 0.045 * height
        axes.plot(marks, [low] * len(marks), "^", color=INK, markersize=7.0)
        axes.annotate(paper.say("re-gas"), (marks[0], low), xytext=(7, -3.5), textcoords="offset points", fontsize=9.5)


def _floor(axes: "Axes", body: Body, x: Sequence[float], paper: Paper) -> list[Label]:
    """The floor, and its label, where it has one."""
    if "floor" not in body:
        return []
    floor = body["floor"]["value"]
    axes.plot([x[0], x[-1]], [floor, floor], color=LIMIT, linewidth=1.6, dashes=(6, 2.5))
    return [(floor, paper.say("floor {level}", level=_shown(body["floor"], paper)), LIMIT)]


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


def _canvas() -> "tuple[Figure, Axes]":
    figure = _figure()(figsize=_SIZE_IN)
    figure.patch.set_visible(False)
    axes = figure.add_axes((0.095, 0.125, 0.73, 0.655))
    axes.patch.set_visible(False)
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_position(("outward", 6))
    axes.locator_params(steps=[1, 2, 5, 10])
    return figure, axes


def _label_ends(axes: "Axes", x: float, labels: Sequence[Label]) -> None:
    """Write the names of lines at their right ends, not in a legend; one above the other where they would touch."""
    least_pt = 0.0
    for y, words, color in sorted(labels):
        at_pt = axes.transData.transform((x, y))[1]  # a dot is a point
        up_pt = max(0.0, least_pt - at_pt)
        axes.annotate(words, (x, y), xytext=(8, up_pt), textcoords="offset points", va="center", fontsize=9.5,
                      color=color, annotation_clip=False)  # fmt: skip
        least_pt = at_pt + up_pt + _LABEL_PT


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


def _drawn(figure: "Figure", caption: Caption, prefix: str) -> str:
    file = BytesIO()
    figure.savefig(file, format="svg", metadata={"Date": None})
    return inert_svg(file.getvalue(), caption, prefix=prefix)
