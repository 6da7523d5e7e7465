"""Gaps of a spec that numbers, labels and safety rest on."""

from collections.abc import Iterator, Mapping, Sequence

from service.drink.allergens import FININGS
from service.drink.water import COUNTS_AS_WATER, is_water_by_name, states_no_strength
from service.limits.safety import ACID_ENOUGH_PH
from service.notes import Value
from service.spec_check.finding import Finding, Line

_ANALYSIS: Mapping[str, str] = {"abv": "strength", "sugar": "sugar", "acidity_meq_per_l": "acidity"}
"""Field of a component -> its name in a sentence."""
_ALLERGEN_LAW = "Regulation (EU) No 1169/2011, Annex II"


def unstated(lines: Sequence[Line]) -> Iterator[Finding]:
    """Yield strength, sugar, acidity, density and allergens that are not stated, or only by a generic ingredient."""
    for line in lines:
        yield from _analysis(line)
        yield from _by_reference(line)
        yield from _allergens(line)


def _analysis(line: Line) -> Iterator[Finding]:
    if line.describes_itself or line.component.syrup is not None or is_water_by_name(line.component):
        return
    if states_no_strength(line.component):
        params = {"components": line.component.name}
        yield Finding(
            "counts-as-water", "warning", f"{line.at}/abv", COUNTS_AS_WATER, "default", params, carbonate="care"
        )
    missing = [name for field, name in _ANALYSIS.items() if field != "abv" and getattr(line.known, field) is None]
    if missing:
        text = "{component} states no {fields}: it counts as holding none."
        params = {"component": line.component.name, "fields": " and no ".join(missing)}
        yield Finding("counts-as-none", "info", line.at, text, "default", params)
    if line.component.amount.quantity.kind == "mass" and line.known.density_g_per_ml is None:
        text = "{component} is written by mass without a density: its volume is what strength, sugar and acid make."
        params = {"component": line.component.name}
        yield Finding("density-unstated", "info", f"{line.at}/density_g_per_ml", text, "default", params)


def _by_reference(line: Line) -> Iterator[Finding]:
    ingredient = line.ingredient
    if ingredient is None:
        return
    rough = [
        name
        for field, name in _ANALYSIS.items()
        if getattr(line.component, field) is None and ingredient.bases[field] == "unverified"
    ]
    if rough:
        text = "{fields} of {component} are those of the reference, and not verified: state your own."
        fields = ", ".join(rough)
        params = {"component": line.component.name, "fields": fields[:1].upper() + fields[1:]}
        yield Finding(
            "reference-unverified", "info", f"{line.at}/reference", text, "unverified", params, ingredient.source
        )


def _allergens(line: Line) -> Iterator[Finding]:
    component, ingredient, at = line.component, line.ingredient, f"{line.at}/allergens"
    if line.known.allergens is None and not line.describes_itself:
        text = "{component} says nothing of allergens. Check its label; an empty list says that there are none."
        params = {"component": component.name}
        yield Finding("allergens-unstated", "warning", at, text, "published", params, _ALLERGEN_LAW)
    if ingredient is None or not ingredient.allergens:
        return
    fined = {FININGS[fining] for fining in component.finings or ()}
    missing = [code for code in ingredient.allergens if code not in {*(component.allergens or ()), *fined}]
    if not missing:
        return
    params = {"component": component.name, "allergens": ", ".join(missing)}
    if component.allergens is None:
        text = "{component} holds {allergens} by its reference, not by a label: declare it where the label does."
        yield Finding("allergens-by-reference", "warning", at, text, "published", params, _ALLERGEN_LAW)
    else:
        text = "{component} declares no {allergens}, which its reference holds. Check the label."
        yield Finding("allergen-undeclared", "warning", at, text, "published", params, _ALLERGEN_LAW)


def not_acid(lines: Sequence[Line]) -> Iterator[Finding]:
    """Yield components of a drink of little acid that state no pH, spirit and water apart, or a high one."""
    for line in lines:
        stated, at = line.component.ph, f"{line.at}/ph"
        params: dict[str, Value] = {"component": line.component.name, "ph": ACID_ENOUGH_PH}
        if stated is None and _may_feed(line):
            text = "The drink has little acid, and {component} no pH: measure it. Up to {ph} throughout it is acid."
            yield Finding("ph-unstated", "warning", at, text, "published", params, "21 CFR 114.3", carbonate="care")
        elif stated is not None and stated > ACID_ENOUGH_PH:
            text = "{component} is over pH {ph}, and the drink has little acid: what grows in it goes on growing."
            yield Finding("ph-high", "warning", at, text, "published", params, "21 CFR 114.3", carbonate="care")


def _may_feed(line: Line) -> bool:
    """Tell whether a component holds, or may hold, more than water and alcohol."""
    known = line.known
    stated = [known.acidity_meq_per_l, known.salt_g_per_l, known.sugar.value if known.sugar is not None else None]
    silent = known.abv is None and all(value is None for value in stated) and not is_water_by_name(line.component)
    return not line.describes_itself and (silent or known.syrup is not None or any(stated))
