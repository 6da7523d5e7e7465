"""A dose of acid solution in a drink: what it does to acidity and pH, and the dose for a wanted acidity."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from math import isclose
from typing import Annotated, Any

from service.acid.additions import Addition, addition_of_solution
from service.acid.liquid import Liquid
from service.acid.ph import (
    Buffer,
    Ph,
    buffer_of_portions,
    buffer_of_products,
    buffer_of_reading,
    ph_of,
    pointers_of_read,
    pointers_of_unknown,
)
from service.acid.reach import MOST_PERCENT_WW, SAME, check_holds, check_reach, grams_to_reach, refuse
from service.acid.titration import MAIN_ACID
from service.declared import (
    ACIDITY,
    MASS,
    THREE_WAYS,
    VOLUME,
    Declared,
    Inline,
    acidity,
    number,
    shape,
    temperature,
    volume,
)
from service.drink import AcidName, AcidRecipe, Drink, DrinkGiven, Portion, drink_of, mix, portions
from service.errors import Fault, Refused
from service.limits.acids import ACID_STORAGE_C, ACID_WORK_C, ACIDITY_AGREES
from service.notes import Notes
from service.request import PlacedRequest
from service.science.band import Band, combine
from service.science.units import Quantity
from service.science.validity import OutsideValidity

OTHER_ACIDS = ("malic", "tartaric")
"""Acids that a juice or wine may mostly hold in place of MAIN_ACID; the pH after a dose differs by them."""


@dataclass(frozen=True)
class MeasuredAcid:
    """The drink before the dose as measured, CO2 driven off: what its pH after a dose is reckoned from."""

    acidity_meq_per_l: Annotated[float, acidity(low=0.01), "To pH 8.2."]
    ph: Annotated[float, number(low=1.0, high=7.0)]
    main_acid: Annotated[AcidName | None, "What most of its acid is; citric unless stated."] = None


def dose_or_target(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find neither or both of a dose and a target."""
    if len({"dose", "target"} & sent.keys()) != 1:
        yield Fault("", "exactly-one", "Give exactly one of: dose, target.")


@shape(rules=[dose_or_target])
@dataclass(frozen=True, kw_only=True)
class AcidDoseRequest(PlacedRequest):
    """A drink, an acid solution, and either a dose of it or the titratable acidity wanted."""

    drink: Declared[DrinkGiven]
    serve_ml: Annotated[float, volume(low=1.0)]
    solution: Declared[AcidRecipe]
    dose_ml: Annotated[float | None, volume(), "Of the solution; either this or a target."] = None
    target_meq_per_l: Annotated[float | None, acidity(low=0.01), "To pH 8.2; either this or a dose."] = None
    measured: Annotated[MeasuredAcid | None, "Without it the pH of juice or wine is not given."] = None
    temperature_c: Annotated[
        float | None, temperature(low=0.0, high=40.0), "Where pH is read; 20 °C unless stated."
    ] = None


@dataclass(frozen=True)
class UndosedServe:
    """The serve before the dose."""

    liquid: Liquid
    ph: Ph

    @property
    def titratable_acidity_meq_per_l(self) -> Annotated[float, ACIDITY, THREE_WAYS]:
        return self.liquid.titratable_acidity_meq_per_l


@dataclass(frozen=True)
class DosedServe:
    """The serve with the dose."""

    liquid: Inline[Liquid]
    ph: Ph


@shape("AcidDose")
@dataclass(frozen=True)
class Dose:
    """The dose, and the serve with it at 20 °C. ph: absent where the acids are not known; a caution says why."""

    dose_ml: Annotated[float, VOLUME]
    dose_mass_g: Annotated[float, MASS]
    before: Declared[UndosedServe]
    after: Inline[DosedServe]


_Acids = Callable[[str], Buffer]
"""Acids of the serve, by what the acid that is known by its titration alone is taken for."""


def dose(asked: AcidDoseRequest, notes: Notes) -> Dose:
    """Return what a dose of acid solution makes of a serve.

    raises: Refused ("impossible-composition", "impossible-reading", "impossible-solution", "unreachable"), with what
        can be reached; OutsideValidity
    """
    drink, parts = _drink(asked.drink, notes)
    serve = _serve(asked, drink, notes)
    temperature_c = _temperature_c(asked, notes)
    own = _own_acids(asked, serve, parts, asked.serve_ml / drink.volume_ml, temperature_c, notes)
    addition = addition_of_solution(asked.solution, ACID_STORAGE_C, notes, at="/solution")
    density = addition.ingredients[0].density_g_per_ml or 1.0
    grams = _grams(asked, serve, addition, density)
    after = serve + addition.gram.scaled(grams)
    if not after.acid_percent_ww <= MOST_PERCENT_WW:
        raise OutsideValidity("acid in the dosed drink", after.acid_percent_ww, 0.0, MOST_PERCENT_WW, "% w/w")
    added = buffer_of_products(addition.products).scaled(grams)
    _assume_model(asked, notes)
    return Dose(
        dose_ml=grams / density,
        dose_mass_g=grams,
        before=UndosedServe(serve, _ph(own, Buffer(), serve, temperature_c, notes)),
        after=DosedServe(after, _ph(own, added, after, temperature_c, notes)),
    )


def _drink(given: DrinkGiven, notes: Notes) -> tuple[Drink, tuple[Portion, ...]]:
    """Return the drink, and its components where a spec names them."""
    if given.spec is None:
        return drink_of(given, notes), ()
    parts = portions(given.spec, notes, at="/drink/spec")
    return mix(parts), parts


def _serve(asked: AcidDoseRequest, drink: Drink, notes: Notes) -> Liquid:
    """Return the serve before the dose; a measured acidity stands over that of the drink as described."""
    k = asked.serve_ml / drink.volume_ml
    if asked.measured is None:
        return Liquid(drink.masses.scaled(k), drink.acid_meq * k)
    read, described = asked.measured.acidity_meq_per_l, drink.acid_meq_per_l
    if not isclose(read, described, rel_tol=ACIDITY_AGREES):
        notes.caution("measured-acidity-differs", "info",
                      "The acidity measured, {read}, stands; the drink as described would have {described}.",
                      at="/measured/acidity", read=Quantity("acidity", read),
                      described=Quantity("acidity", described))  # fmt: skip
    return Liquid(drink.masses.scaled(k), read * asked.serve_ml / 1000.0)


def _temperature_c(asked: AcidDoseRequest, notes: Notes) -> float:
    if asked.temperature_c is None:
        notes.assume("temperature that pH is for", Quantity("temperature", ACID_WORK_C), "default", at="/temperature")
        return ACID_WORK_C
    return asked.temperature_c


def _own_acids(
    asked: AcidDoseRequest, serve: Liquid, parts: tuple[Portion, ...], serves: float, temperature_c: float, notes: Notes
) -> _Acids | None:
    """Return the acids of the serve; None, and a caution, where they are not known in kind."""
    if asked.measured is not None:
        measured = asked.measured
        if measured.main_acid is None:
            notes.assume("main acid of the drink", MAIN_ACID, "estimate", at="/measured/main_acid")
        return lambda acid: buffer_of_reading(
            measured.main_acid or acid, serve, measured.ph, temperature_c, "/measured/ph"
        )
    unknown = pointers_of_unknown(parts, "/drink/spec")
    if asked.drink.composition is not None and asked.drink.composition.acidity_meq_per_l != 0.0:
        unknown = ("/drink/composition/acidity",)
    if unknown:
        notes.caution("ph-not-known", "warning",
                      "No pH is given: the acidity of a juice or wine does not tell it, since its minerals hold part "
                      "of the acid back. Drive the CO2 off, titrate the drink, read its pH, and send both as measured.",
                      at=("/measured", *unknown))  # fmt: skip
        return None
    if readings := pointers_of_read(parts, "/drink/spec"):
        notes.assume("main acid of components that state acidity and pH", MAIN_ACID, "estimate", at=readings)
    return lambda acid: buffer_of_portions(parts, acid, temperature_c, "/drink/spec").scaled(serves)


def _grams(asked: AcidDoseRequest, serve: Liquid, addition: Addition, density_g_per_ml: float) -> float:
    """Return the dose that is asked for, or that reaches the target [g].

    raises: Refused ("unreachable", "outside-validity")
    """
    target = asked.target_meq_per_l
    if target is None:
        return (asked.dose_ml or 0.0) * density_g_per_ml
    now = serve.titratable_acidity_meq_per_l
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
    """Return the pH with its band: the model, alcohol, and what the acid known by its titration alone may be."""
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


def _assume_model(asked: AcidDoseRequest, notes: Notes) -> None:
    """Note what the numbers rest on."""
    notes.assume("coldest storage of the solution", Quantity("temperature", ACID_STORAGE_C), "common-practice")
    notes.assume("end point of titratable acidity", "pH 8.2, CO2 driven off", "common-practice")
    notes.assume("CO2 in the drink, for its pH", "left out; it moves the pH of an acid drink by less than 0.01",
                 "estimate")  # fmt: skip
    notes.assume("what alcohol does to pH", "every pKa up by 0.0092 for 1 %vol, and the band wider", "published",
                 "Prenesti et al. 2012, The Scientific World Journal 249041, to 12 %vol")  # fmt: skip
    if asked.measured is None:
        notes.assume("minerals in spirits, syrups and water, for the pH", "none", "estimate", at="/measured")
