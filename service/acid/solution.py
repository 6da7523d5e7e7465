"""The solution as it is made: weighings in working order, acidity, pH, what the scale and the cold do to it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from service.acid import cautions
from service.acid.composition import NAME, Mix, Strength, assume_products
from service.acid.limits import Solubility, mixed, solubilities
from service.acid.ph import Ph, ph_of_solution
from service.acid.solution_request import AcidSolutionRequest, check_card, pointers_on
from service.acid.titration import Titrated, assume_titration, titrations_of
from service.declared import DURATION, MASS, TERM, Declared, Inline, shape
from service.drink import AcidRecipe, Amount, assume_ounces
from service.errors import Term, outside_in_words
from service.limits.acids import (
    ACID_ERROR_PERCENT,
    ACID_KEEPS_S,
    ACID_STORAGE_C,
    ACID_WORK_C,
    ASCORBIC_KEEPS_S,
    FIRST_SHARE,
    POTASSIUM_MMOL_PER_KG,
)
from service.limits.batches import ACID_SCALE_G
from service.notes import Notes
from service.science import acids, mixture
from service.science.band import Band
from service.science.rounding import drift_percent
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.site import Scale


@shape("AcidWeighing")
@dataclass(frozen=True)
class Weighing:
    """One thing to weigh. measure: the mass as the scale can show it.

    form: the product, None for water or spirit
    """

    name: Annotated[str, TERM, NAME]
    form: Annotated[str | None, NAME]
    mass_g: Annotated[float, MASS]
    measure_g: Annotated[float, MASS]


@dataclass(frozen=True)
class AcidTotal:
    """The whole weight of one thing."""

    name: Annotated[str, TERM, NAME]
    mass_g: Annotated[float, MASS]


@shape("AcidScaleError")
@dataclass(frozen=True)
class ScaleError:
    """The effect of the scale's resolution on the titratable acidity.

    ta_error_percent: at worst; drift_percent: of the measures as they are shown; smallest_batch keeps the worst to the
    tolerance.
    """

    ta_error_percent: Declared[float]
    drift_percent: Declared[float]
    tolerance_percent: Declared[float]
    smallest_batch_g: Annotated[float, MASS]


@shape("TartrateHaze")
@dataclass(frozen=True)
class Haze:
    """Saturation with potassium hydrogen tartrate at the coldest storage, were there that much potassium.

    Below 1 it is clear, from 1 to 2 it may hold, above 2 crystals are likely.
    """

    potassium_mmol_per_kg: Declared[float]
    saturation: Declared[Band]


@shape("AcidSolutionBody")
@dataclass(frozen=True)
class Solution:
    """An acid solution, weighed. weigh is in working order: acid goes into water.

    ph and haze are None where they do not apply or are not known
    """

    mix: Inline[Mix]
    weigh: Declared[tuple[Weighing, ...]]
    titrations: Declared[tuple[Titrated, ...]]
    ph: Ph
    scale: Declared[ScaleError]
    solubility: Declared[tuple[Solubility, ...]]
    haze: Declared[Haze | None]

    @property
    def abv(self) -> Declared[float | None]:
        """Strength of one in spirit."""
        return self.mix.abv if self.mix.ethanol_share else None

    @property
    def keeps_s(self) -> Annotated[float, DURATION, "Clean, closed and cold; common practice."]:
        return ASCORBIC_KEEPS_S if "ascorbic" in self.mix.acid_g else ACID_KEEPS_S

    @property
    def totals(self) -> Declared[tuple[AcidTotal, ...]]:
        found: dict[str, float] = {}
        for line in self.weigh:
            found[line.name] = found.get(line.name, 0.0) + line.mass_g
        return tuple(AcidTotal(name, mass_g) for name, mass_g in found.items())


@dataclass(frozen=True)
class _Conditions:
    """Conditions of the work and the storage. potassium_mmol_per_kg: None where it is yet to be assumed."""

    scale: Scale
    temperature_c: float = ACID_WORK_C
    solvent_abv: float = 0.0
    coldest_c: float = ACID_STORAGE_C
    tolerance_percent: float = ACID_ERROR_PERCENT
    potassium_mmol_per_kg: float | None = POTASSIUM_MMOL_PER_KG


def make_solution(asked: AcidSolutionRequest, notes: Notes) -> Solution:
    """Return an acid solution, weighed from products as sold in the size asked for.

    raises: Refused ("impossible-solution", "outside-validity"), with the strongest that works, or of a recipe as
        weighed the water that works
    """
    card = asked.as_weighed
    if card is None:
        assert asked.basis is not None
        assert asked.size is not None
        strength = Strength(asked.acids, asked.basis, asked.target_meq_per_l)
        return _made(strength, asked.size, _conditions(asked, notes), notes)
    with notes.within(pointers_on(card, asked.size)):
        at = _conditions(asked, notes)
        check_card(card, coldest_c=at.coldest_c)
        return _made(card.strength, asked.size or card.size, at, notes)


def _made(strength: Strength, size: Amount, at: _Conditions, notes: Notes) -> Solution:
    """Return the solution as it is made under these conditions.

    raises: Refused, as `make_solution`
    """
    ethanol_share = mixture.mass_fraction_from_abv(at.solvent_abv)
    mix = _sized(mixed(strength, ethanol_share=ethanol_share, coldest_c=at.coldest_c), size, notes)
    assume_products(strength, mix.products, notes)
    cautions.of_products(mix.products, notes)
    weigh = _weighings(mix, at.scale.resolution_g)
    solution = Solution(
        mix=mix,
        weigh=weigh,
        titrations=titrations_of(mix),
        ph=ph_of_solution(mix, at.temperature_c, notes),
        scale=_scale_error(mix, weigh, at),
        solubility=solubilities(mix, at.coldest_c),
        haze=_haze(mix, at, notes),
    )
    _assume_model(solution, notes)
    cautions.of_acids(mix, strength.basis, notes)
    cautions.of_spirit(at.solvent_abv, notes)
    cautions.of_solubility(solution.solubility, at.coldest_c, notes)
    cautions.of_scale(mix.mass_g, solution.scale.smallest_batch_g, at.scale, at.tolerance_percent, notes)
    return solution


def for_component(recipe: AcidRecipe, volume_ml: float, notes: Notes, *, scale: Scale | None = None) -> Solution:
    """Return the solution that a component of a spec names, in the volume needed, in water.

    Pointers are those of an acid solution request: /acids/... is the recipe's own, /size the volume, /scale the site's.
    raises: Refused, as `make_solution`
    """
    notes.assume("temperature of the work", Quantity("temperature", ACID_WORK_C), "default")
    notes.assume("coldest storage", Quantity("temperature", ACID_STORAGE_C), "common-practice")
    if any(part.acid == "tartaric" for part in recipe.acids):
        _assume_potassium(notes)
    size = Amount(Quantity("volume", volume_ml), "ml")
    return _made(Strength(recipe.acids, recipe.basis), size, _Conditions(scale or _usual_scale(notes)), notes)


def _usual_scale(notes: Notes) -> Scale:
    notes.assume("resolution of the scale", Quantity("mass", ACID_SCALE_G), "common-practice", at="/scale")
    return Scale(ACID_SCALE_G)


def _conditions(asked: AcidSolutionRequest, notes: Notes) -> _Conditions:
    """Return the conditions with their gaps filled; a recipe as weighed is in water, which needs no assuming."""
    scale = asked.scale or _usual_scale(notes)
    if asked.temperature_c is None:
        notes.assume("temperature of the work", Quantity("temperature", ACID_WORK_C), "default", at="/temperature")
    if asked.solvent_abv is None and asked.as_weighed is None:
        notes.assume("strength of the solvent, %vol", 0.0, "default", "water", at="/solvent_abv")
    if asked.coldest_storage_c is None:
        notes.assume(
            "coldest storage", Quantity("temperature", ACID_STORAGE_C), "common-practice", at="/coldest_storage"
        )
    if asked.tolerance_percent is None:
        notes.assume("error of the acidity that the smallest batch keeps to, %", ACID_ERROR_PERCENT, "common-practice",
                     at="/tolerance_percent")  # fmt: skip
    return _Conditions(
        scale,
        temperature_c=ACID_WORK_C if asked.temperature_c is None else asked.temperature_c,
        solvent_abv=asked.solvent_abv or 0.0,
        coldest_c=ACID_STORAGE_C if asked.coldest_storage_c is None else asked.coldest_storage_c,
        tolerance_percent=ACID_ERROR_PERCENT if asked.tolerance_percent is None else asked.tolerance_percent,
        potassium_mmol_per_kg=asked.potassium_mmol_per_kg,
    )


def _sized(mix: Mix, size: Amount, notes: Notes) -> Mix:
    """Return the solution in a size, by mass or by volume."""
    assume_ounces(("/size",) if size.unit == "oz" else (), notes)
    present = mix.mass_g if size.quantity.kind == "mass" else mix.volume_ml
    return mix.scaled(size.quantity.value / present)


def _weighings(mix: Mix, resolution_g: float) -> tuple[Weighing, ...]:
    """Return most of the water, then the acids, then water to finish: acid goes into water."""

    def shown(mass_g: float) -> float:
        return round(mass_g / resolution_g) * resolution_g

    lines = tuple(Weighing(Term(f"{p.acid} acid"), p.form, p.mass_g, shown(p.mass_g)) for p in mix.products)
    if mix.solvent_g <= 1e-9 * mix.mass_g:
        return lines
    name, first_g = Term("spirit") if mix.ethanol_share else Term("water"), FIRST_SHARE * mix.solvent_g
    finish = Weighing(name, None, mix.solvent_g - first_g, shown(mix.solvent_g) - shown(first_g))
    return (Weighing(name, None, first_g, shown(first_g)), *lines, finish)


def _scale_error(mix: Mix, weigh: Sequence[Weighing], at: _Conditions) -> ScaleError:
    """Return the error with every acid off by half a step of the scale, the same way: sum(e_i d/2) / sum(e_i m_i)."""
    off_meq = sum(p.meq_per_product_g for p in mix.products) * at.scale.resolution_g / 2.0
    percent = 100.0 * off_meq / mix.meq
    measures = {line.form: line.measure_g for line in weigh if line.form}
    weighed_meq = sum(p.meq_per_product_g * measures[p.form] for p in mix.products)
    total_g = sum(line.measure_g for line in weigh)
    drift = drift_percent(weighed_meq / total_g, mix.meq / mix.mass_g) if total_g else -100.0
    return ScaleError(percent, drift, at.tolerance_percent, mix.mass_g * percent / at.tolerance_percent)


def _haze(mix: Mix, at: _Conditions, notes: Notes) -> Haze | None:
    """Return the haze to expect of tartaric acid; None without it, and with a caution where it is not known."""
    if "tartaric" not in mix.acid_g:
        return None
    potassium = at.potassium_mmol_per_kg
    if potassium is None:
        potassium = POTASSIUM_MMOL_PER_KG
        _assume_potassium(notes, "/potassium_mmol_per_kg")
    try:
        saturation = acids.tartrate_saturation(
            mix.acid_mol_per_kg_water, potassium_mol_per_kg=potassium / 1000.0, temperature_c=at.coldest_c,
            abv=mix.abv,
        )  # fmt: skip
    except OutsideValidity as outside:
        notes.caution(
            "haze-not-known",
            "info",
            ("Look for tartrate haze yourself: it is not reckoned here. {why}"),
            at="/coldest_storage",
            why=outside_in_words(outside),
        )
        return None
    if potassium:
        cautions.of_haze(potassium, saturation, notes)
    return Haze(potassium, saturation)


def _assume_potassium(notes: Notes, *at: str) -> None:
    notes.assume("potassium that the tartaric acid may meet, mmol/kg", POTASSIUM_MMOL_PER_KG, "estimate",
                 "the solution itself holds none; juice and wine bring it", at=at)  # fmt: skip


def _assume_model(solution: Solution, notes: Notes) -> None:
    """Note what the numbers rest on."""
    keeps = Quantity("duration", solution.keeps_s)
    notes.assume("keeps, clean, closed and cold", keeps, "common-practice", "discard it sooner when it is hazy")
    notes.assume("end point of titratable acidity", "pH 8.2, CO2 driven off", "common-practice")
    assume_titration(solution.mix, notes)
    notes.assume("minerals of the water", "none; the carbonate of tap water takes a little acidity away",
                 "common-practice")  # fmt: skip
    if solution.mix.ethanol_share:
        notes.assume("solubility of the acids in spirit", "as in water", "estimate", at="/solvent_abv")
