"""A dose of acid solution in a drink: what it does to acidity and pH, and the dose for a wanted acidity."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from math import isclose

from service.acid.additions import Addition, of_solution
from service.acid.liquid import Liquid
from service.acid.ph import Buffer, of_portions, of_products, of_reading, ph_of, read_at, unknown_at
from service.acid.reach import MOST_PERCENT_WW, SAME, check_holds, check_reach, grams_to_reach, refuse
from service.acid.titration import MAIN_ACID
from service.drink import AcidRecipe, Drink, DrinkGiven, Portion, drink_of, mix, portions
from service.errors import OutsideValidity, Refused
from service.limits.acids import ACID_STORAGE_C, ACID_WORK_C, ACIDITY_AGREES
from service.notes import Notes
from service.science.band import Band, combine
from service.science.units import Quantity

OTHER_ACIDS = ("malic", "tartaric")
"""What the acid of a juice or wine may mostly be beside MAIN_ACID; the pH after a dose differs by them."""


@dataclass(frozen=True)
class Measured:
    """Titratable acidity and pH of the drink before the dose, CO2 driven off."""

    acidity_meq_per_l: float
    ph: float
    main_acid: str | None = None


@dataclass(frozen=True)
class DoseGiven:
    """What a bar asks for, with exactly one of dose and target; None where the request is silent."""

    drink: DrinkGiven
    serve_ml: float
    solution: AcidRecipe
    dose_ml: float | None = None
    target_meq_per_l: float | None = None
    measured: Measured | None = None
    temperature_c: float | None = None


@dataclass(frozen=True)
class ServeState:
    """A serve. ph: None where it is not known."""

    liquid: Liquid
    ph: Band | None


@dataclass(frozen=True)
class Dose:
    """A dose, and the serve before and after it."""

    dose_ml: float
    dose_g: float
    before: ServeState
    after: ServeState


_Acids = Callable[[str], Buffer]
"""Acids of the serve, by what the acid that is known by its titration alone is taken for."""


def dose(given: DoseGiven, notes: Notes) -> Dose:
    """What a dose of acid solution makes of a serve.

    raises: Refused ("impossible-composition", "impossible-reading", "impossible-solution", "unreachable"), with what
        can be reached; OutsideValidity
    """
    drink, parts = _drink(given.drink, notes)
    serve = _serve(given, drink, notes)
    temperature_c = _temperature_c(given, notes)
    own = _own_acids(given, serve, parts, given.serve_ml / drink.volume_ml, temperature_c, notes)
    addition = of_solution(given.solution, ACID_STORAGE_C, notes, at="/solution")
    density = addition.ingredients[0].density_g_per_ml or 1.0
    grams = _grams(given, serve, addition, density)
    after = serve + addition.gram.scaled(grams)
    if not after.acid_percent_ww <= MOST_PERCENT_WW:
        raise OutsideValidity("acid in the dosed drink", after.acid_percent_ww, 0.0, MOST_PERCENT_WW, "% w/w")
    added = of_products(addition.products).scaled(grams)
    _say(given, notes)
    return Dose(
        dose_ml=grams / density,
        dose_g=grams,
        before=ServeState(serve, _ph(own, Buffer(), serve, temperature_c, notes)),
        after=ServeState(after, _ph(own, added, after, temperature_c, notes)),
    )


def _drink(given: DrinkGiven, notes: Notes) -> tuple[Drink, tuple[Portion, ...]]:
    """The drink, and its components where a spec names them."""
    if given.spec is None:
        return drink_of(given, notes), ()
    parts = portions(given.spec, notes, at="/drink/spec")
    return mix(parts), parts


def _serve(given: DoseGiven, drink: Drink, notes: Notes) -> Liquid:
    k = given.serve_ml / drink.volume_ml
    if given.measured is None:
        return Liquid(drink.masses.scaled(k), drink.acid_meq * k)
    read, described = given.measured.acidity_meq_per_l, drink.acid_meq_per_l
    if not isclose(read, described, rel_tol=ACIDITY_AGREES):
        notes.caution("measured-acidity-differs", "info",
                      "The acidity measured, {read}, stands; the drink as described would have {described}.",
                      at="/measured/acidity", read=Quantity("acidity", read),
                      described=Quantity("acidity", described))  # fmt: skip
    return Liquid(drink.masses.scaled(k), read * given.serve_ml / 1000.0)


def _temperature_c(given: DoseGiven, notes: Notes) -> float:
    if given.temperature_c is None:
        notes.assume("temperature that pH is for", Quantity("temperature", ACID_WORK_C), "default", at="/temperature")
        return ACID_WORK_C
    return given.temperature_c


def _own_acids(
    given: DoseGiven, serve: Liquid, parts: tuple[Portion, ...], serves: float, temperature_c: float, notes: Notes
) -> _Acids | None:
    """The acids of the serve; None, and a caution, where they are not known in kind."""
    if given.measured is not None:
        measured = given.measured
        if measured.main_acid is None:
            notes.assume("main acid of the drink", MAIN_ACID, "estimate", at="/measured/main_acid")
        return lambda acid: of_reading(measured.main_acid or acid, serve, measured.ph, temperature_c, "/measured/ph")
    unknown = unknown_at(parts, "/drink/spec")
    if given.drink.composition is not None and given.drink.composition.acidity_meq_per_l != 0.0:
        unknown = ("/drink/composition/acidity",)
    if unknown:
        notes.caution("ph-not-known", "warning",
                      "No pH is given: the acidity of a juice or wine does not tell it, since its minerals hold part "
                      "of the acid back. Drive the CO2 off, titrate the drink, read its pH, and send both as measured.",
                      at=("/measured", *unknown))  # fmt: skip
        return None
    if readings := read_at(parts, "/drink/spec"):
        notes.assume("main acid of components that state acidity and pH", MAIN_ACID, "estimate", at=readings)
    return lambda acid: of_portions(parts, acid, temperature_c, "/drink/spec").scaled(serves)


def _grams(given: DoseGiven, serve: Liquid, addition: Addition, density_g_per_ml: float) -> float:
    target = given.target_meq_per_l
    if target is None:
        return (given.dose_ml or 0.0) * density_g_per_ml
    now = serve.meq_per_l
    if isclose(now, target, rel_tol=SAME):
        return 0.0
    if target < now:
        text = "The drink has {start} already, and a dose of acid only raises it."
        raise refuse("below-the-start", text, start=now, reach=now)
    check_reach(serve, addition, target)
    grams = grams_to_reach(serve, addition.gram, target)
    check_holds(serve, addition, grams, coldest_c=ACID_STORAGE_C)
    return grams


def _ph(own: _Acids | None, added: Buffer, liquid: Liquid, temperature_c: float, notes: Notes) -> Band | None:
    """pH with its band: the model, alcohol, and what the acid known by its titration alone may be."""
    if own is None:
        return None
    try:
        band = ph_of(own(MAIN_ACID) + added, liquid, temperature_c)
    except OutsideValidity as outside:
        text = "No pH is given, since this is past what the pH model covers: {why}."
        notes.caution("ph-not-known", "info", text, at="/drink", why=str(outside))
        return None
    others = []
    for acid in OTHER_ACIDS:
        with suppress(OutsideValidity, Refused):
            others.append(ph_of(own(acid) + added, liquid, temperature_c).typical)
    ends = ((band.typical, other) for other in others)
    return combine(band.typical, [(band.low, band.high), *ends])


def _say(given: DoseGiven, notes: Notes) -> None:
    """What the numbers rest on."""
    notes.assume("coldest storage of the solution", Quantity("temperature", ACID_STORAGE_C), "common-practice")
    notes.assume("end point of titratable acidity", "pH 8.2, CO2 driven off", "common-practice")
    notes.assume("CO2 in the drink, for its pH", "left out; it moves the pH of an acid drink by less than 0.01",
                 "estimate")  # fmt: skip
    notes.assume("what alcohol does to pH", "every pKa up by 0.0092 for 1 %vol, and the band wider", "published",
                 "Prenesti et al. 2012, The Scientific World Journal 249041, to 12 %vol")  # fmt: skip
    if given.measured is None:
        notes.assume("minerals in spirits, syrups and water, for the pH", "none", "estimate", at="/measured")
