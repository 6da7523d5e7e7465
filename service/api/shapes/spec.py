"""The spec: one glass, as the bar writes it."""

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from marshmallow import ValidationError, fields, post_load

from service.api.endpoint import Closed, Part, rule
from service.api.quantities import (
    AcidityField,
    AmountField,
    Choice,
    Coded,
    Flag,
    Number,
    QuantityField,
    SugarField,
    Text,
    fault,
    says,
)
from service.api.shapes.acids import AcidSolutionSchema
from service.api.shapes.items import Items
from service.drink import Component, Serve, Spec, Syrup
from service.drink.allergens import ALLERGENS, FININGS
from service.limits.requests import MOST_COMPONENTS
from service.science.ingredients import INGREDIENTS


class SyrupSchema(Part):
    """A sucrose syrup by its ratio."""

    loads_to = Syrup

    sugar_to_water = Number(above=0.0, high=4.0, required=True, metadata=says("2 for a two-to-one syrup."))
    by = Choice("mass", "volume", required=True)


class ReferenceField(Choice):
    """A generic ingredient; one that is not known gets those most like it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(*INGREDIENTS, **kwargs)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if isinstance(value, str) and value in INGREDIENTS:
            return value
        near = get_close_matches(value, INGREDIENTS, n=3, cutoff=0.5) if isinstance(value, str) else []
        like = f"Near it: {', '.join(near)}." if near else f"There are {', '.join([*INGREDIENTS][:3])} and more."
        text = f"No ingredient has this reference. {like} GET /v1/references/ingredients lists them all."
        raise fault("unknown-reference", text)


class InnerComponentSchema(Part):
    """One line of a spec that a component is made from."""

    loads_to = Component

    name = Text(required=True, longest=200)
    amount = AmountField(required=True)
    reference = ReferenceField(metadata=says("A generic ingredient: fills in what the component leaves out."))
    abv = Number(low=0.0, high=100.0, metadata=says("Alcoholic strength at 20 °C, %vol."))
    sugar = SugarField()
    hexose_share = Number(low=0.0, high=1.0, metadata=says("Share of the sugar that is glucose or fructose."))
    acidity = AcidityField(attribute="acidity_meq_per_l")
    salt = QuantityField("salt", low=0.0, high=350.0, attribute="salt_g_per_l")
    density_g_per_ml = Number(low=0.7, high=1.7)
    co2 = QuantityField("co2", low=0.0, high=20.0, attribute="co2_g_per_l")
    clarity = Choice("clear", "hazy", "pulpy")
    foams = Flag(metadata=says("Egg, dairy, coconut milk, tea, coffee, gum and the like."))
    live_culture = Flag()
    ph = Number(low=0.0, high=14.0, metadata=says("As measured."))
    allergens = Items(
        Choice(*ALLERGENS),
        most=len(ALLERGENS),
        least=0,
        metadata=says("All that are known; an empty list says that there are none."),
    )
    finings = Items(
        Choice(*FININGS),
        most=len(FININGS),
        metadata=says("What it was clarified or washed with; the allergens of these are declared too."),
    )
    keeps = QuantityField(
        "duration",
        attribute="keeps_s",
        high=10 * 365 * 86400.0,
        metadata=says("How long it keeps once made or opened, cold."),
    )
    yield_percent = Number(
        low=1.0,
        high=100.0,
        metadata=says(
            "Mass that is kept of what it is started from, as fruit or unclarified; amounts are of what is kept."
        ),
    )
    acid_solution = fields.Nested(AcidSolutionSchema)
    syrup = fields.Nested(SyrupSchema)
    stock_code = Text(longest=64, metadata=says("What a stock system calls it."))
    stock_unit = Text(longest=16, metadata=says("Unit of the stock system; depletion comes in it where it is a unit."))

    @rule
    def one_description(self, sent: Mapping[str, Any]) -> None:
        for way, excluded in _TELLS.items():
            if way in sent and (stated := [name for name in excluded if name in sent]):
                text = f"{_TEXTS[way]}; leave out: {', '.join(stated)}."
                raise ValidationError({way: [Coded("described-twice", text)]})

    def handle_error(self, error: ValidationError, data: Any, **kwargs: Any) -> None:
        """A spec in a spec in a spec is not merely an unknown field."""
        if isinstance(error.messages, dict) and "made_from" in error.messages and "made_from" not in self.fields:
            text = "A component may be made from a spec; the components of that spec may not. Flatten it."
            error.messages["made_from"] = [Coded("nested-too-deep", text)]


_ANALYSIS = ("abv", "sugar", "acidity", "salt", "density_g_per_ml", "hexose_share")
_TELLS = {
    "acid_solution": (*_ANALYSIS, "syrup", "reference", "made_from"),
    "made_from": (*_ANALYSIS, "syrup", "reference"),
    "syrup": ("sugar", "reference"),
}
"""What describes a component by itself -> what may not stand beside it."""
_TEXTS = {
    "acid_solution": "An acid solution describes itself",
    "made_from": "What is made from a spec is described by it",
    "syrup": "A syrup describes its sugar",
}


class ServeSchema(Part):
    """How the glass is finished."""

    loads_to = Serve

    glass = Text()
    ice = Text()
    garnish = Text()
    note = Text()


class InnerSpecSchema(Closed):
    """A spec that a component is made from; its amounts are proportions, and its own components are made from none."""

    name = Text(required=True)
    components = Items(InnerComponentSchema, most=MOST_COMPONENTS, required=True)

    @rule
    def unique_names(self, sent: Mapping[str, Any]) -> None:
        components = sent.get("components")
        if not isinstance(components, list) or len(components) > MOST_COMPONENTS:
            return  # the field says so itself
        names = [c.get("name") if isinstance(c, dict) else None for c in components]
        wrong = {
            i: {"name": [Coded("duplicate", "Each name stands once in a spec.")]}
            for i, name in enumerate(names)
            if name is not None and name in names[:i]
        }
        if wrong:
            raise ValidationError({"components": wrong})

    @post_load(pass_original=True)
    def make(self, data: Mapping[str, Any], original: Mapping[str, Any], **kwargs: Any) -> Spec:
        return Spec(**data, original=original)


class ComponentSchema(InnerComponentSchema):
    """One line of a spec, for one glass."""

    made_from = fields.Nested(InnerSpecSchema)


class SpecSchema(InnerSpecSchema):
    """One glass, as the bar writes it."""

    components = Items(ComponentSchema, most=MOST_COMPONENTS, required=True)
    serve = fields.Nested(ServeSchema)

    @rule
    def few_enough(self, sent: Mapping[str, Any]) -> None:
        components = sent.get("components")
        inner = sum(map(_inner_components, components)) if isinstance(components, list) else 0
        if inner > MOST_COMPONENTS:
            text = (
                f"Specs that components are made from have at most {MOST_COMPONENTS} components together, not {inner}."
            )
            raise ValidationError({"components": [Coded("too-many-components", text)]})


def _inner_components(component: object) -> int:
    """Of what a component, as it was sent, is made from."""
    spec = component.get("made_from") if isinstance(component, dict) else None
    inner = spec.get("components") if isinstance(spec, dict) else None
    return len(inner) if isinstance(inner, list) else 0
