"""The time that a batch of it keeps, as far as its components say."""

from collections.abc import Iterator, Sequence

from service.drink import Portion
from service.limits.serving import COLD_HOLD_C, FRESH_S
from service.notes import Severity, Value
from service.science.units import Quantity
from service.spec_check.finding import Finding
from service.spec_check.line import Line


def shelf_life(glass: Sequence[Portion], lines: Sequence[Line], at: str) -> Iterator[Finding]:
    """Yield the shortest of all keeping times, and the components likely to go off sooner than anything says.

    at: JSON Pointer of the spec
    """
    stated = [(p.component.keeps_s, i) for i, p in enumerate(glass) if p.component.keeps_s is not None]
    if stated:
        shortest_s, i = min(stated)
        yield _shortest(shortest_s, glass[i].component.name, f"{at}/components/{i}/keeps")
    else:
        text = "No component states how long it keeps: a batch of it gets no use-by."
        yield Finding("shelf-life-unstated", "info", f"{at}/components", text, "default")
    for line in lines:
        yield from _fresh(line)


def _shortest(keeps_s: float, component: str, at: str) -> Finding:
    """Return the finding of the shortest keeping time; a batch is not made ahead that does not outlast its night."""
    severity: Severity = "info"
    text = "It keeps {keeps} at {cold} or below, as {component} does: date every vessel."
    if keeps_s <= FRESH_S:
        severity = "warning"
        text = "It keeps {keeps} at {cold} or below, as {component} does: make it on the day, and discard what is left."
    params: dict[str, Value] = {
        "keeps": Quantity("duration", keeps_s),
        "cold": Quantity("temperature", COLD_HOLD_C),
        "component": component,
    }
    return Finding("shelf-life", severity, at, text, "common-practice", params)


def _fresh(line: Line) -> Iterator[Finding]:
    clarity = line.known.clarity
    if clarity is None or clarity == "clear" or line.known.keeps_s is not None or line.component.made_from is not None:
        return
    text = "{component} is {clarity} and states no keeping time: fresh juice keeps {fresh}, cold."
    params: dict[str, Value] = {
        "component": line.component.name,
        "clarity": clarity,
        "fresh": Quantity("duration", FRESH_S),
    }
    yield Finding("keeps-unstated", "warning", f"{line.at}/keeps", text, "common-practice", params)
