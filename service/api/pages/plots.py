"""Plots of answers as SVG: dark ink on any light ground, told apart by line and place rather than by colour.

matplotlib is imported with the first plot: it takes longer than all the rest of the service.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Any

from service.api.answers import SHOWN_DIGITS, SHOWN_UNITS
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


def set_points(body: Body, *, prefix: str = "set-points") -> str:
    """Draw gauge pressure against temperature: the set-point with its band, the asked points, the highest dial.

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
    never_over = _limit(axes, curve)
    fine = [_passes(one) or not body["judged"] for one in curve]
    passing = [(at, dial) for at, dial, passes in zip(x, typical, fine, strict=True) if passes]
    axes.plot(*zip(*passing, strict=True), color=INK, linewidth=2.2)
    _asked(axes, points)
    _label_ends(axes, x[-1], [(typical[-1], f"holds {_shown(body['target'])}", INK), *never_over])
    axes.set_xlabel(f"temperature of the drink, {SHOWN_UNITS[degrees]}")
    axes.set_ylabel(f"gauge pressure, {unit}")
    reading = f"At {_shown(first['temperature'])}: {_range(first['gauge_pressure'])}"
    heading, name = f"Set-point for {_shown(body['target'])} of CO2", str(body.get("name", ""))
    return _drawn(figure, Caption(heading, name, reading, _set_points_in_words(body, reading)), prefix)


def _passes(at: Body) -> bool:
    return "never_over" in at and bool(at["gauge_pressure"]["typical"] <= at["never_over"]["value"])


def _limit(axes: "Axes", curve: Sequence[Body]) -> list[Label]:
    """Draw the highest dial that passes, hatched above, ending where none does; return its label, if it has one."""
    passing = [(at["temperature"]["value"], at["never_over"]["value"]) for at in curve if "never_over" in at]
    if not passing:
        return []
    x, never_over = zip(*passing, strict=True)
    axes.plot(x, never_over, color=LIMIT, linewidth=1.6, dashes=(6, 2.5))
    top = 1.12 * max(*never_over, *(at["gauge_pressure"]["high"] for at in curve))
    axes.set_ylim(top=top)
    axes.fill_between(x, never_over, top, facecolor="none", hatch="////", edgecolor=HATCH, linewidth=0.0)
    return [(never_over[-1], "never over this", LIMIT)]


def _asked(axes: "Axes", points: Sequence[Body]) -> None:
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
        axes.annotate("refused", (refused[0], bottom), xytext=(0, 8), textcoords="offset points", ha="center",
                      color=LIMIT, fontsize=9.5)  # fmt: skip


def _set_points_in_words(body: Body, reading: str) -> str:
    refused = sum(point["status"] != "ok" for point in body["points"])
    more = f" {refused} of the temperatures asked for are refused." if refused else ""
    limit = ", thin where it is over the highest dial that passes, which is a dashed line" if body["judged"] else ""
    return (
        "Gauge pressure against the temperature of the drink: the set-point as a line in its band, the temperatures "
        f"asked for as circles{limit}. {reading}.{more}"
    )


def regas(body: Body, *, prefix: str = "regas") -> str:
    """Draw CO2 against time: in the glass with its band, in the bottle, the floor, and where a vessel is re-gassed.

    body: an answer of createRegasForecast; its `floor` is drawn where it has one
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
    _turns(axes, pours)
    labels = [(bottle[-1], "in the vessel", SOFT), (glass[-1], "in the glass", INK)]
    _label_ends(axes, x[-1], [*labels, *_floor(axes, body, x)])
    axes.set_xlabel("minutes since the start")
    axes.set_ylabel(f"CO2, {unit}")
    return _drawn(figure, _regas_caption(body), prefix)


def _held(values: list[float]) -> list[float]:
    """Return values with the last one repeated, so that its step has a length."""
    return [*values, values[-1]]


def _turns(axes: "Axes", pours: Sequence[Body]) -> None:
    """Draw where another vessel takes over, and where one is re-gassed."""
    bottom, top = axes.get_ylim()
    height = top - bottom
    begins = [i for i, pour in enumerate(pours) if i == 0 or pour["vessel"] != pours[i - 1]["vessel"]]
    if len(begins) <= _MOST_TURNS:
        for i in begins:
            at = pours[i]["after"]["value"]
            axes.plot([at, at], [top - 0.035 * height, top], color=SOFT, linewidth=0.9)
            words = f"{'' if i else 'vessel '}{pours[i]['vessel']}"
            axes.annotate(words, (at, top), xytext=(3, -9), textcoords="offset points", color=SOFT,
                          fontsize=9.0)  # fmt: skip
    marks = [pour["after"]["value"] for pour in pours if pour["regassed"]]
    if marks:
        low = bottom + 0.045 * height
        axes.plot(marks, [low] * len(marks), "^", color=INK, markersize=7.0)
        axes.annotate("re-gas", (marks[0], low), xytext=(7, -3.5), textcoords="offset points", fontsize=9.5)


def _floor(axes: "Axes", body: Body, x: Sequence[float]) -> list[Label]:
    """Draw the floor, where there is one, and return its label."""
    if "floor" not in body:
        return []
    floor = body["floor"]["value"]
    axes.plot([x[0], x[-1]], [floor, floor], color=LIMIT, linewidth=1.6, dashes=(6, 2.5))
    return [(floor, f"floor {_shown(body['floor'])}", LIMIT)]


def _regas_caption(body: Body) -> Caption:
    pours = body["pours"]
    marks = sum(pour["regassed"] for pour in pours)
    first, last = (_range(pours[i]["glass"]) for i in (0, -1))
    reading = f"In the glass: first {first}, last {last}"
    if "floor_crossed" in body:
        reading += f"; first below the floor: glass {body['floor_crossed']['pour']}"
    words = (
        "CO2 against minutes since the start: in the glass as a line in its band, in the vessel as a thin line, each "
        f"re-gassing as a triangle. {reading}, of {len(pours)}; re-gassed {marks} times."
    )
    return Caption("CO2 through the shift", str(body.get("name", "")), reading, words)


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


def _shown(quantity: Body) -> str:
    unit = quantity["unit"]
    return f"{quantity['value']:.{SHOWN_DIGITS[unit]}f} {SHOWN_UNITS.get(unit, unit)}"


def _range(band: Body) -> str:
    unit, digits = band["unit"], SHOWN_DIGITS[band["unit"]]
    low, typical, high = (f"{band[end]:.{digits}f}" for end in ("low", "typical", "high"))
    return f"{typical} {SHOWN_UNITS.get(unit, unit)} ({low} to {high})"


def _drawn(figure: "Figure", caption: Caption, prefix: str) -> str:
    file = BytesIO()
    figure.savefig(file, format="svg", metadata={"Date": None})
    return inert_svg(file.getvalue(), caption, prefix=prefix)
