"""A juice, wine or batch from its acidity to a target: what to add, and what comes of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import isclose
from typing import Annotated, Any

from service.acid import cautions
from service.acid.additions import (
    SALT,
    Addition,
    Bicarbonate,
    DilutionWater,
    Ingredient,
    Neutralised,
    acids_in,
    addition_of_bicarbonate,
    addition_of_dry_acids,
    addition_of_solution,
    addition_of_water,
    caution_bicarbonate,
)
from service.acid.composition import NAME, Mix
from service.acid.liquid import AdjustedLiquid, Liquid, liquid_of
from service.acid.reach import SAME, check_direction, check_holds, check_reach, grams_to_reach
from service.acid.solution_request import ColdestStorage
from service.declared import ACIDITY, MASS, THREE_WAYS, VOLUME, Declared, Inline, acidity, items, shape
from service.drink import AcidPart, AcidRecipe, each_share
from service.errors import Fault
from service.limits.acids import ACID_STORAGE_C, ADJUSTING_ERROR_PERCENT, LEAST_LEFT
from service.limits.requests import MOST_ACIDS
from service.notes import Notes
from service.request import PlacedRequest
from service.science.units import Quantity
from service.site import Scale


def shares_of_the_blend(sent: Mapping[str, Any]) -> Iterable[Fault]:
    """Find dry acids that stand twice, have a percent, or lack a share where there are several."""
    return each_share(sent.get("dry"), at="/dry")


@shape(exactly_one=True, rules=[shares_of_the_blend])
@dataclass(frozen=True)
class AdjustmentMeans:
    """The addition: exactly one. Acids raise the acidity; water and potassium bicarbonate lower it."""

    solution: Declared[AcidRecipe | None] = None
    dry: Annotated[tuple[AcidPart, ...] | None, items(MOST_ACIDS), "Acids as sold, by share."] = None
    water: Declared[DilutionWater | None] = None
    bicarbonate: Declared[Bicarbonate | None] = None

    @property
    def lowers(self) -> bool:
        return self.water is not None or self.bicarbonate is not None


@dataclass(frozen=True, kw_only=True)
class AcidAdjustmentRequest(PlacedRequest):
    """A liquid, the titratable acidity it is to have, and what it is to be brought there with."""

    liquid: Declared[AdjustedLiquid]
    target_meq_per_l: Annotated[float, acidity(low=0.01), "To pH 8.2."]
    using: Declared[AdjustmentMeans]
    scale: Annotated[Scale | None, "Adds what it can show, and what it does to the acidity."] = None
    coldest_storage_c: ColdestStorage = None


@shape("AcidAddition")
@dataclass(frozen=True)
class Added:
    """One thing to add. volume: of a liquid; measure: the mass as the scale can show it, where a scale is given."""

    ingredient: Ingredient
    mass_g: Annotated[float, MASS]
    measure_g: Annotated[float | None, MASS]

    @property
    def name(self) -> Annotated[str, NAME]:
        return self.ingredient.name

    @property
    def form(self) -> Annotated[str | None, NAME]:
        return self.ingredient.form

    @property
    def volume_ml(self) -> Annotated[float | None, VOLUME]:
        density = self.ingredient.density_g_per_ml
        return None if density is None else self.mass_g / density


@shape("AcidAdjustment")
@dataclass(frozen=True)
class Adjustment:
    """The addition, and the finished liquid at 20 °C.

    before: the acidity it starts from. ta_error_percent: what the scale may do to the acidity at worst. co2_released,
    potassium_added: with bicarbonate only.
    """

    start: Liquid
    add: Declared[tuple[Added, ...]]
    finished: Inline[Liquid]
    ta_error_percent: Declared[float | None] = None
    neutralised: Neutralised | None = None

    @property
    def before_meq_per_l(self) -> Annotated[float, ACIDITY, THREE_WAYS]:
        return self.start.titratable_acidity_meq_per_l

    @property
    def mass_g(self) -> Annotated[float, MASS]:
        return self.finished.mass_g

    @property
    def co2_released_g(self) -> Annotated[float | None, MASS]:
        return None if self.neutralised is None else self.neutralised.co2_g

    @property
    def potassium_added_g(self) -> Annotated[float | None, MASS]:
        return None if self.neutralised is None else self.neutralised.potassium_g


def adjust(asked: AcidAdjustmentRequest, notes: Notes) -> Adjustment:
    """Return what brings a liquid from its titratable acidity to a target.

    meq(liquid) + x meq(gram added) = target V(liquid + x added), solved for x [g]

    raises: Refused ("impossible-composition", "impossible-reading", "impossible-solution", "unreachable",
        "outside-validity"), with what can be reached
    """
    start = liquid_of(asked.liquid, notes)
    check_direction(start, asked.target_meq_per_l, lowers=asked.using.lowers)
    coldest_c = _coldest_c(asked, notes)
    addition = _addition(asked.using, coldest_c, notes)
    grams = _grams(start, addition, asked, coldest_c)
    finished = start + addition.gram.scaled(grams)
    neutralised = Neutralised((start.meq - finished.meq) / SALT.meq_per_g)
    adjustment = Adjustment(
        start=start,
        add=_lines(addition, grams, asked.scale),
        finished=finished,
        ta_error_percent=_ta_error_percent(addition, finished, asked.scale),
        neutralised=neutralised if asked.using.bicarbonate else None,
    )
    _note(asked, adjustment, acids_in(addition, grams, finished), notes)
    return adjustment


def _coldest_c(asked: AcidAdjustmentRequest, notes: Notes) -> float:
    if asked.coldest_storage_c is not None:
        return asked.coldest_storage_c
    if not asked.using.lowers:
        notes.assume(
            "coldest storage", Quantity("temperature", ACID_STORAGE_C), "common-practice", at="/coldest_storage"
        )
    return ACID_STORAGE_C


def _addition(using: AdjustmentMeans, coldest_c: float, notes: Notes) -> Addition:
    """Return what is added, whichever of the four it is.

    raises: Refused ("impossible-solution", "outside-validity")
    """
    if using.solution is not None:
        return addition_of_solution(using.solution, coldest_c, notes, at="/using/solution")
    if using.dry is not None:
        return addition_of_dry_acids(using.dry, notes, at="/using/dry")
    if using.water is not None:
        return addition_of_water(using.water, notes, at="/using/water")
    assert using.bicarbonate is not None
    return addition_of_bicarbonate(using.bicarbonate, notes, at="/using/bicarbonate")


def _grams(start: Liquid, addition: Addition, asked: AcidAdjustmentRequest, coldest_c: float) -> float:
    """Return how much of the addition reaches the target [g].

    raises: Refused ("unreachable", "outside-validity")
    """
    now, target = start.titratable_acidity_meq_per_l, asked.target_meq_per_l
    if isclose(now, target, rel_tol=SAME):
        return 0.0
    least = LEAST_LEFT * now if asked.using.bicarbonate else 0.0
    check_reach(start, addition, target, least=least)
    grams = grams_to_reach(start, addition.gram, target)
    if addition.products:
        check_holds(start, addition, grams, coldest_c=coldest_c)
    return grams


def _lines(addition: Addition, grams: float, scale: Scale | None) -> tuple[Added, ...]:
    """Return each thing to add, with what the scale can show of it."""
    masses = ((one, grams * one.share) for one in addition.ingredients)
    return tuple(
        Added(one, g, round(g / scale.resolution_g) * scale.resolution_g if scale else None) for one, g in masses
    )


def _ta_error_percent(addition: Addition, finished: Liquid, scale: Scale | None) -> float | None:
    """Return the error with every weighing off by half a step, the same way; None without a scale."""
    if scale is None:
        return None
    right = finished.titratable_acidity_meq_per_l
    off = (finished + one.gram.scaled(0.5 * scale.resolution_g) for one in addition.ingredients)
    return 100.0 * sum(abs(other.titratable_acidity_meq_per_l / right - 1.0) for other in off)


def _note(asked: AcidAdjustmentRequest, found: Adjustment, acids_added: Mix, notes: Notes) -> None:
    """Note what the numbers rest on, and what the bar must know beside them."""
    notes.assume("end point of titratable acidity", "pH 8.2, CO2 driven off", "common-practice")
    notes.assume("acid of the liquid, for its mass and volume", "as citric", "estimate")
    if asked.using.dry is not None:
        with notes.within({"/acids": "/using/dry"}):
            cautions.of_acids(acids_added, "ta", notes)
    if acids_added.products:
        with notes.within({"/solvent_abv": "/liquid/abv"}):
            cautions.of_spirit(found.start.abv, notes)
    if found.neutralised is not None:
        caution_bicarbonate(found.neutralised, found.finished, notes, at="/using/bicarbonate")
    if asked.scale is not None and found.ta_error_percent is not None:
        _caution_scale(asked.scale, found, found.ta_error_percent, notes)


def _caution_scale(scale: Scale, found: Adjustment, error_percent: float, notes: Notes) -> None:
    """Tell of a scale that is too coarse for the addition, or too small."""
    if error_percent > ADJUSTING_ERROR_PERCENT:
        notes.caution("scale-too-coarse", "warning",
                      "Adjust more liquid at once: a scale of {resolution} may put the acidity off by {percent} %.",
                      at=("/scale/resolution", "/liquid/volume"), resolution=Quantity("mass", scale.resolution_g),
                      percent=error_percent)  # fmt: skip
    heaviest = max(one.mass_g for one in found.add)
    if scale.capacity_g is not None and heaviest > scale.capacity_g:
        notes.caution("over-scale-capacity", "warning",
                      "Weigh in parts: {mass} is more than the scale holds, {capacity}.",
                      at="/scale/capacity", mass=Quantity("mass", heaviest),
                      capacity=Quantity("mass", scale.capacity_g))  # fmt: skip
