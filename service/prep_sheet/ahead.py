"""The steps of the day before: hazy and pulpy stocks are settled, drawn off and filtered, so that they hold CO2."""

from collections.abc import Iterator, Sequence

from service.batching import amount_of
from service.drink import Portion
from service.limits.batches import SETTLE_S
from service.prep_sheet.parts import Parts
from service.prep_sheet.step import StepCaution, Steps, StepValue, Timer
from service.science.units import Quantity

_HAZY = "The day before: let the {component} settle, cold and undisturbed."
_PULPY = StepCaution("strain-first", "info", "Strain it first; a centrifuge is faster.")


def clear(sheet: Parts, steps: Steps, before: int) -> tuple[int, ...]:
    """Write down how each stock that is not clear is cleared, but those made first; return the last step of each."""
    lines = [line.whole for line in sheet.batch.components]
    return tuple(clear_one(part, steps, before) for part in unclear_parts(lines) if not part.made_of)


def unclear_parts(parts: Sequence[Portion]) -> Iterator[Portion]:
    """Yield the components that are hazy or pulpy; inside a component made from a spec, those that make it so."""
    for part in parts:
        if part.component.clarity not in (None, "clear"):
            yield from list(unclear_parts(part.made_of)) or [part]


def clear_one(part: Portion, steps: Steps, before: int) -> int:
    """Write down how one stock is settled, drawn off and looked through; return the number of the last step."""
    pulpy, named = part.component.clarity == "pulpy", {"component": part.component.name}
    started = StepValue("started-from", "started from", Quantity("mass", part.masses.total_g * part.started))
    settled = steps.add(
        "ahead",
        "bench",
        "settle-stock",
        _HAZY,
        StepValue("clear-at-least", "at least, once clear", amount_of(part)),
        *([started] if part.started > 1.0 else []),
        params=named,
        timer=Timer(SETTLE_S),
        hands_on_s=180.0,
        cautions=(_PULPY,) if pulpy else (),
        depends_on=(before,),
    )
    filtered = steps.add(
        "ahead",
        "bench",
        "filter-stock",
        "Draw off the clear part of the {component}; leave the sediment, and filter what was drawn off.",
        params=named,
        hands_on_s=900.0,
        depends_on=(settled,),
    )
    return steps.add(
        "ahead",
        "bench",
        "check-clear",
        "Look through the {component} at a light. Hazy still: filter it again. Taste it: sugar and acid may have "
        "moved.",
        params=named,
        hands_on_s=120.0,
        depends_on=(filtered,),
        cautions=(StepCaution("gushes", "warning", "Haze and pulp seed bubbles: it gushes when it is opened."),),
    )
