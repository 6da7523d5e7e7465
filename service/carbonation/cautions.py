"""What is said of charges that come short, or that only a fill to the line makes safe."""

from dataclasses import replace
from math import isfinite

from service import safety
from service.carbonation.runs import MOST_CHARGES, Plan
from service.notes import Notes
from service.science.band import Band
from service.science.units import Quantity
from service.vessel import MOST_FILL


def warn_overfull(plan: Plan, notes: Notes) -> None:
    """The judgement holds at the stated fill; say so where a fuller vessel would not pass."""
    fuller = replace(plan.setting, fill=MOST_FILL).closed(plan.temperature_c, plan.start_g_per_l)
    if safety.excess_bar(fuller, plan.dial_bar_gauge) > 0.0:
        text = (
            "Fill to the line and no further: filled to {most} of brimful, this dial could pass the limit of {limit}."
        )
        limit = Quantity("pressure", plan.setting.vessel.closed_limit_bar_gauge, "down")
        notes.caution("overfull", "warning", text, at="/fill", most=MOST_FILL, limit=limit)


def say_how_far(plan: Plan, needed: Band, notes: Notes) -> None:
    """A number of charges that cannot be given is not made up."""
    most = float(MOST_CHARGES)
    if isfinite(needed.typical):
        text = "Uptake may be so slow that {most} charges do not reach the target, where {typical} is typical."
        notes.caution("slow-uptake", "warning", text, at="/agitation", most=most, typical=needed.typical)
        return
    level, target = plan.level_at_rest.typical, plan.target_g_per_l
    text = "{most} charges do not reach {target} like this; at rest under this dial the drink would hold {level}."
    notes.caution(
        "target-not-reached", "warning", text, at="/target", most=most,
        target=Quantity("co2", target), level=Quantity("co2", level),
    )  # fmt: skip
