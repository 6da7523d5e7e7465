"""A juice, wine or batch from its acidity to a target: what to add, and what comes of it."""

from dataclasses import dataclass
from math import isclose

from service.acid import cautions, deacidifying
from service.acid.additions import Addition, Ingredient, Water, acids_in, of_dry_acids, of_solution, of_water
from service.acid.composition import Mix
from service.acid.deacidifying import Bicarbonate, Neutralised, of_bicarbonate
from service.acid.liquid import Liquid, LiquidGiven, liquid_of
from service.acid.reach import SAME, check_direction, check_holds, check_reach, grams_to_reach
from service.drink import AcidPart, AcidRecipe
from service.limits.acids import ACID_STORAGE_C, ADJUSTING_ERROR_PERCENT, LEAST_LEFT
from service.notes import Notes
from service.science.units import Quantity
from service.site import Scale


@dataclass(frozen=True)
class Using:
    """Exactly one of the four."""

    solution: AcidRecipe | None = None
    dry: tuple[AcidPart, ...] | None = None
    water: Water | None = None
    bicarbonate: Bicarbonate | None = None

    @property
    def lowers(self) -> bool:
        return self.water is not None or self.bicarbonate is not None


@dataclass(frozen=True)
class AdjustmentGiven:
    """What a bar asks for; None where the request is silent."""

    liquid: LiquidGiven
    target_meq_per_l: float
    using: Using
    scale: Scale | None = None
    coldest_storage_c: float | None = None


@dataclass(frozen=True)
class Added:
    """One thing to add. measure_g: what the scale can show, None without a scale."""

    ingredient: Ingredient
    mass_g: float
    measure_g: float | None

    @property
    def volume_ml(self) -> float | None:
        """None for a powder."""
        density = self.ingredient.density_g_per_ml
        return None if density is None else self.mass_g / density


@dataclass(frozen=True)
class Adjustment:
    """What to add, and the finished liquid. ta_error_percent: what the scale may do to its acidity at worst.

    neutralised: None unless bicarbonate was used
    """

    start: Liquid
    add: tuple[Added, ...]
    finished: Liquid
    ta_error_percent: float | None = None
    neutralised: Neutralised | None = None


def adjust(given: AdjustmentGiven, notes: Notes) -> Adjustment:
    """What brings a liquid from its titratable acidity to a target.

    meq(liquid) + x meq(gram added) = target V(liquid + x added), solved for x [g]

    raises: Refused ("impossible-composition", "impossible-reading", "impossible-solution", "unreachable",
        "outside-validity"), with what can be reached
    """
    start = liquid_of(given.liquid, notes)
    check_direction(start, given.target_meq_per_l, lowers=given.using.lowers)
    coldest_c = _coldest_c(given, notes)
    addition = _addition(given.using, coldest_c, notes)
    grams = _grams(start, addition, given, coldest_c)
    finished = start + addition.gram.scaled(grams)
    neutralised = Neutralised((start.meq - finished.meq) / deacidifying.SALT.meq_per_g)
    adjustment = Adjustment(
        start=start,
        add=_lines(addition, grams, given.scale),
        finished=finished,
        ta_error_percent=_ta_error_percent(addition, finished, given.scale),
        neutralised=neutralised if given.using.bicarbonate else None,
    )
    _say(given, adjustment, acids_in(addition, grams, finished), notes)
    return adjustment


def _coldest_c(given: AdjustmentGiven, notes: Notes) -> float:
    if given.coldest_storage_c is not None:
        return given.coldest_storage_c
    if not given.using.lowers:
        notes.assume(
            "coldest storage", Quantity("temperature", ACID_STORAGE_C), "common-practice", at="/coldest_storage"
        )
    return ACID_STORAGE_C


def _addition(using: Using, coldest_c: float, notes: Notes) -> Addition:
    if using.solution is not None:
        return of_solution(using.solution, coldest_c, notes, at="/using/solution")
    if using.dry is not None:
        return of_dry_acids(using.dry, notes, at="/using/dry")
    if using.water is not None:
        return of_water(using.water, notes, at="/using/water")
    assert using.bicarbonate is not None
    return of_bicarbonate(using.bicarbonate, notes, at="/using/bicarbonate")


def _grams(start: Liquid, addition: Addition, given: AdjustmentGiven, coldest_c: float) -> float:
    target = given.target_meq_per_l
    if isclose(start.meq_per_l, target, rel_tol=SAME):
        return 0.0
    least = LEAST_LEFT * start.meq_per_l if given.using.bicarbonate else 0.0
    check_reach(start, addition, target, least=least)
    grams = grams_to_reach(start, addition.gram, target)
    if addition.products:
        check_holds(start, addition, grams, coldest_c=coldest_c)
    return grams


def _lines(addition: Addition, grams: float, scale: Scale | None) -> tuple[Added, ...]:
    masses = ((one, grams * one.share) for one in addition.ingredients)
    return tuple(
        Added(one, g, round(g / scale.resolution_g) * scale.resolution_g if scale else None) for one, g in masses
    )


def _ta_error_percent(addition: Addition, finished: Liquid, scale: Scale | None) -> float | None:
    """Every weighing off by half a step, the same way; None without a scale."""
    if scale is None:
        return None
    off = (finished + one.gram.scaled(0.5 * scale.resolution_g) for one in addition.ingredients)
    return 100.0 * sum(abs(other.meq_per_l / finished.meq_per_l - 1.0) for other in off)


def _say(given: AdjustmentGiven, found: Adjustment, acids_added: Mix, notes: Notes) -> None:
    """What the bar must know beside the numbers."""
    notes.assume("end point of titratable acidity", "pH 8.2, CO2 driven off", "common-practice")
    notes.assume("acid of the liquid, for its mass and volume", "as citric", "estimate")
    if given.using.dry is not None:
        with notes.within({"/acids": "/using/dry"}):
            cautions.of_acids(acids_added, "ta", notes)
    if acids_added.products:
        with notes.within({"/solvent_abv": "/liquid/abv"}):
            cautions.of_spirit(found.start.abv, notes)
    if found.neutralised is not None:
        deacidifying.beware(found.neutralised, found.finished, notes, at="/using/bicarbonate")
    if given.scale is not None and found.ta_error_percent is not None:
        _say_scale(given.scale, found, found.ta_error_percent, notes)


def _say_scale(scale: Scale, found: Adjustment, error_percent: float, notes: Notes) -> None:
    if error_percent > ADJUSTING_ERROR_PERCENT:
        notes.caution("scale-too-coarse", "warning",
                      "A scale of {resolution} may put the acidity off by {percent} %; adjust more liquid at once.",
                      at=("/scale/resolution", "/liquid/volume"), resolution=Quantity("mass", scale.resolution_g),
                      percent=error_percent)  # fmt: skip
    heaviest = max(one.mass_g for one in found.add)
    if scale.capacity_g is not None and heaviest > scale.capacity_g:
        notes.caution("over-scale-capacity", "warning",
                      "Weigh in parts: {mass} is more than the scale holds, {capacity}.",
                      at="/scale/capacity", mass=Quantity("mass", heaviest),
                      capacity=Quantity("mass", scale.capacity_g))  # fmt: skip
