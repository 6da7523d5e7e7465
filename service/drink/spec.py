"""Drinks as the bar writes them: a spec of components, or an analysis."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, Literal

from service.declared import (
    ACIDITY,
    AS_SENT,
    SUGAR,
    Declared,
    amount,
    choice,
    co2,
    duration,
    items,
    number,
    salt,
    shape,
    text,
)
from service.drink.allergens import ALLERGENS, FININGS
from service.errors import Fault, Names, Term
from service.limits.requests import MOST_ACIDS, MOST_COMPONENTS
from service.listed import repeated
from service.science.acids import ACIDS, FORMS
from service.science.ingredients import INGREDIENTS, like
from service.science.units import Quantity

Clarity = Literal["clear", "hazy", "pulpy"]


@dataclass(frozen=True)
class Amount:
    """A volume [ml] or a mass [g] with the unit it was written in."""

    quantity: Quantity
    unit: str


@dataclass(frozen=True)
class Sugar:
    """Sugar as grams per litre, or as degrees Brix (g per 100 g)."""

    value: float
    unit: Literal["g/l", "brix"]


ACID_NAMES = tuple(ACIDS)
DILUTION_WATER = "dilution water"
"""Name of the water that stands in for ice melt; no component of a spec has it."""
AcidName = Annotated[str, choice(ACID_NAMES)]


def form_of_the_acid(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a form that another acid is sold in."""
    acid, form = sent.get("acid"), sent.get("form")
    if acid in ACID_NAMES and isinstance(form, str) and form in FORMS and FORMS[form].acid != acid:
        fits = Names(name for name, form in FORMS.items() if form.acid == acid)
        params = (("acid", Term(acid)), ("forms", fits))
        yield Fault("/form", "form-of-another-acid", "Take one of the forms of {acid} acid: {forms}.", params)


@shape(rules=[form_of_the_acid])
@dataclass(frozen=True)
class AcidPart:
    """One acid of a solution."""

    acid: AcidName
    percent: Annotated[float | None, number(low=0.0001, high=100.0)] = None
    share: Annotated[
        float | None,
        number(low=0.0001, high=1000.0),
        "Part by mass of a blend, where a target TA sets the total.",
    ] = None
    form: Annotated[str | None, choice(FORMS), "The product as weighed; the common one of the acid when left out."] = (
        None
    )
    purity_percent: Annotated[
        float | None, number(low=50.0, high=100.0), "Assay of the product, of its nominal acid."
    ] = None


def each_percent(acids: object) -> Iterator[Fault]:
    """Find acids as sent that stand twice, lack a percent, or have a share."""
    needed = Fault("/percent", "required", "This field is required.")
    return once_each(acids, needed=(needed,), not_needed=(_NO_SHARE,))


def each_share(acids: object, *, at: str = "/acids") -> Iterator[Fault]:
    """Find acids as sent that stand twice, have a percent, or lack a share where there are several."""
    several = isinstance(acids, list) and len(acids) > 1
    return once_each(acids, needed=(_A_SHARE,) if several else (), not_needed=(_NO_PERCENT,), at=at)


def once_each(
    acids: object, *, needed: tuple[Fault, ...] = (), not_needed: tuple[Fault, ...] = (), at: str = "/acids"
) -> Iterator[Fault]:
    """Find acids as sent that stand twice, lack a field that is needed, or have one that is not."""
    if not isinstance(acids, list) or len(acids) > MOST_ACIDS:
        return  # the field says so itself
    for i, part in enumerate(acids):
        if not isinstance(part, Mapping):
            continue
        for fault in needed:
            if fault.pointer[1:] not in part:
                yield replace(fault, pointer=f"{at}/{i}{fault.pointer}")
        for fault in not_needed:
            if fault.pointer[1:] in part:
                yield replace(fault, pointer=f"{at}/{i}{fault.pointer}")
        before = [other["acid"] for other in acids[:i] if isinstance(other, Mapping) and "acid" in other]
        if "acid" in part and part["acid"] in before:
            yield Fault(f"{at}/{i}/acid", "duplicate", "Each acid stands once.")


_A_SHARE = Fault("/share", "required", "Several acids need a share each.")
_NO_SHARE = Fault("/share", "not-needed", "Shares go with the basis ta only.")
_NO_PERCENT = Fault("/percent", "not-needed", "The titratable acidity sets the strength.")


@shape("AcidSolution", rules=[lambda sent: each_percent(sent.get("acids"))])
@dataclass(frozen=True)
class AcidRecipe:
    """An acid solution by per cent, as a component of a spec."""

    acids: Annotated[tuple[AcidPart, ...], items(MOST_ACIDS)]
    basis: Declared[Literal["w/w", "w/v"]]


@dataclass(frozen=True)
class Syrup:
    """A sucrose syrup by its ratio."""

    sugar_to_water: Annotated[float, number(above=0.0, high=4.0), "2 for a two-to-one syrup."]
    by: Declared[Literal["mass", "volume"]]


def unknown_reference(value: object) -> Fault:
    """Return the fault of a reference that is none, with those most like it."""
    near = like(value) if isinstance(value, str) else ()
    text = "No ingredient has this reference. There are: {references}. GET /v1/references/ingredients lists them all."
    if near:
        text = "No ingredient has this reference. Near it: {references}. GET /v1/references/ingredients lists them all."
    references = Names(near) if near else Names(INGREDIENTS, most=3)
    return Fault("", "unknown-reference", text, (("references", references),))


_ANALYSIS = ("abv", "sugar", "acidity", "salt", "density_g_per_ml", "hexose_share")
_DESCRIBED_BY = {
    "acid_solution": (*_ANALYSIS, "syrup", "reference", "made_from"),
    "made_from": (*_ANALYSIS, "syrup", "reference"),
    "syrup": ("sugar", "reference"),
}
"""Field that describes a component by itself -> fields that may not stand beside it."""
_TEXTS = {
    "acid_solution": "An acid solution describes itself: leave out {fields}.",
    "made_from": "What is made from a spec is described by it: leave out {fields}.",
    "syrup": "A syrup describes its sugar: leave out {fields}.",
}


def one_description(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a component that is described in two ways."""
    for way, excluded in _DESCRIBED_BY.items():
        if way in sent and (stated := [name for name in excluded if name in sent]):
            yield Fault(f"/{way}", "described-twice", _TEXTS[way], (("fields", Names(stated)),))


@shape(rules=[one_description])
@dataclass(frozen=True)
class Component:
    """One line of a spec, for one glass."""

    name: Annotated[str, text(200)]
    amount: Annotated[Amount, amount()]
    reference: Annotated[
        str | None,
        choice(INGREDIENTS, unknown_reference),
        "A generic ingredient: fills in what the component leaves out.",
    ] = None
    abv: Annotated[float | None, number(low=0.0, high=100.0), "Alcoholic strength at 20 °C, %vol."] = None
    sugar: Annotated[Sugar | None, SUGAR] = None
    hexose_share: Annotated[
        float | None, number(low=0.0, high=1.0), "Share of the sugar that is glucose or fructose."
    ] = None
    acidity_meq_per_l: Annotated[float | None, ACIDITY] = None
    salt_g_per_l: Annotated[float | None, salt(low=0.0, high=350.0)] = None
    density_g_per_ml: Annotated[float | None, number(low=0.7, high=1.7)] = None
    co2_g_per_l: Annotated[float | None, co2(low=0.0, high=20.0)] = None
    clarity: Declared[Clarity | None] = None
    foams: Annotated[bool | None, "Egg, dairy, coconut milk, tea, coffee, gum and the like."] = None
    live_culture: Declared[bool | None] = None
    ph: Annotated[float | None, number(low=0.0, high=14.0), "As measured."] = None
    allergens: Annotated[
        tuple[Annotated[str, choice(ALLERGENS)], ...] | None,
        items(len(ALLERGENS), least=0),
        "All that are known; an empty list says that there are none.",
    ] = None
    finings: Annotated[
        tuple[Annotated[str, choice(FININGS)], ...] | None,
        items(len(FININGS)),
        "What it was clarified or washed with; the allergens of these are declared too.",
    ] = None
    keeps_s: Annotated[
        float | None, duration(high=10 * 365 * 86400.0), "How long it keeps once made or opened, cold."
    ] = None
    yield_percent: Annotated[
        float | None,
        number(low=1.0, high=100.0),
        "Mass that is kept of what it is started from, as fruit or unclarified; amounts are of what is kept.",
    ] = None
    acid_solution: Declared[AcidRecipe | None] = None
    syrup: Declared[Syrup | None] = None
    stock_code: Annotated[str | None, text(64), "What a stock system calls it."] = None
    stock_unit: Annotated[
        str | None, text(16), "Unit of the stock system; depletion comes in it where it is a unit."
    ] = None
    made_from: Declared["InnerSpec | None"] = None


def unique_names(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find components that share a name."""
    components = sent.get("components")
    if not isinstance(components, list) or len(components) > MOST_COMPONENTS:
        return  # the field says so itself
    names = [c.get("name") if isinstance(c, dict) else None for c in components]
    for i in repeated(names):
        yield Fault(f"/components/{i}/name", "duplicate", "Each name stands once in a spec.")


def few_enough(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find specs that components are made from whose components are too many together."""
    components = sent.get("components")
    inner = sum(map(_inner_components, components)) if isinstance(components, list) else 0
    if inner > MOST_COMPONENTS:
        text = "Specs that components are made from have at most {most} components together, not {count}."
        params = (("most", float(MOST_COMPONENTS)), ("count", float(inner)))
        yield Fault("/components", "too-many-components", text, params)


def _inner_components(component: object) -> int:
    """Count what a component, as it was sent, is made from."""
    spec = component.get("made_from") if isinstance(component, dict) else None
    inner = spec.get("components") if isinstance(spec, dict) else None
    return len(inner) if isinstance(inner, list) else 0


@dataclass(frozen=True)
class Serve:
    """The finish of the glass."""

    glass: Declared[str | None] = None
    ice: Declared[str | None] = None
    garnish: Declared[str | None] = None
    note: Declared[str | None] = None


@shape(rules=[unique_names, few_enough])
@dataclass(frozen=True)
class Spec:
    """One glass, as the bar writes it."""

    name: Declared[str]
    components: Annotated[tuple[Component, ...], items(MOST_COMPONENTS)]
    serve: Declared[Serve] = field(default_factory=Serve)
    original: Annotated[Mapping[str, Any], AS_SENT] = field(default_factory=dict, compare=False, repr=False)
    """The spec as received, which `spec_id` is computed over."""


@shape(
    elsewhere=[
        Fault(
            "/made_from",
            "nested-too-deep",
            "A component may be made from a spec; the components of that spec may not. Flatten it.",
        )
    ],
)
@dataclass(frozen=True)
class InnerComponent(Component):
    """One line of a spec that a component is made from."""

    made_from: None = None


@dataclass(frozen=True)
class InnerSpec(Spec):
    """A spec that a component is made from; its amounts are proportions, and its own components are made from none."""

    components: Annotated[tuple[InnerComponent, ...], items(MOST_COMPONENTS)]
    serve: Serve = field(default_factory=Serve)


@dataclass(frozen=True)
class Composition:
    """A drink by its analysis."""

    abv: Annotated[float, number(low=0.0, high=100.0)]
    sugar: Annotated[Sugar, SUGAR]
    acidity_meq_per_l: Annotated[float | None, ACIDITY] = None
    hexose_share: Annotated[float | None, number(low=0.0, high=1.0)] = None
    salt_g_per_l: Annotated[float | None, salt(low=0.0, high=350.0)] = None
    clarity: Declared[Clarity | None] = None
    foams: Declared[bool | None] = None
    live_culture: Declared[bool | None] = None


@shape("Drink", exactly_one=True)
@dataclass(frozen=True)
class DrinkGiven:
    """The drink: exactly one of the two."""

    spec: Declared[Spec | None] = None
    composition: Declared[Composition | None] = None
