"""What the bar writes: a spec of components, or a drink by its analysis."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

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


@dataclass(frozen=True)
class AcidPart:
    """One acid of a solution: percent of the basis (or share of a blend), as the product weighed."""

    acid: str
    percent: float | None = None
    share: float | None = None
    form: str | None = None
    purity_percent: float | None = None


@dataclass(frozen=True)
class AcidRecipe:
    """Acids by per cent, w/w or w/v."""

    acids: tuple[AcidPart, ...]
    basis: Literal["w/w", "w/v"]


@dataclass(frozen=True)
class Syrup:
    """Sucrose to water, by mass or by (bulk) volume."""

    sugar_to_water: float
    by: Literal["mass", "volume"]


@dataclass(frozen=True)
class Component:
    """One line of a spec. None means the bar did not say.

    finings: what it was clarified or washed with
    keeps_s: once made or opened, cold
    yield_percent: what is left of what it is started from, by mass
    reference: a generic ingredient, which fills in what is not said
    made_from: a spec of its own, one level deep
    """

    name: str
    amount: Amount
    abv: float | None = None
    sugar: Sugar | None = None
    hexose_share: float | None = None
    acidity_meq_per_l: float | None = None
    salt_g_per_l: float | None = None
    density_g_per_ml: float | None = None
    co2_g_per_l: float | None = None
    clarity: Clarity | None = None
    foams: bool | None = None
    live_culture: bool | None = None
    ph: float | None = None
    allergens: tuple[str, ...] | None = None
    finings: tuple[str, ...] | None = None
    keeps_s: float | None = None
    yield_percent: float | None = None
    reference: str | None = None
    acid_solution: AcidRecipe | None = None
    syrup: Syrup | None = None
    made_from: "Spec | None" = None
    stock_code: str | None = None
    stock_unit: str | None = None


@dataclass(frozen=True)
class Serve:
    """How the glass is finished; for people, not for arithmetic."""

    glass: str | None = None
    ice: str | None = None
    garnish: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class Spec:
    """One glass, as the bar writes it."""

    name: str
    components: tuple[Component, ...]
    serve: Serve = field(default_factory=Serve)
    original: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)
    """The spec as received, which `spec_id` is computed over."""


@dataclass(frozen=True)
class Composition:
    """A drink known by its analysis, not by its recipe."""

    abv: float
    sugar: Sugar
    acidity_meq_per_l: float | None = None
    hexose_share: float | None = None
    salt_g_per_l: float | None = None
    clarity: Clarity | None = None
    foams: bool | None = None
    live_culture: bool | None = None


@dataclass(frozen=True)
class DrinkGiven:
    """Exactly one of the two."""

    spec: Spec | None = None
    composition: Composition | None = None
