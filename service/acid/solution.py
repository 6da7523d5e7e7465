"""The solution as it is made: weighings in working order, acidity, pH, what the scale and the cold do to it."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.acid import cautions
from service.acid.composition import Mix, SolutionGiven, assume_products
from service.acid.limits import Solubility, mixed, solubilities
from service.acid.ph import ph_of_solution
from service.acid.titration import Titrated, assume_titration, titrations_of
from service.drink import AcidRecipe, Amount, assume_ounces
from service.errors import OutsideValidity
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
from service.site import Scale


@dataclass(frozen=True)
class Weighing:
    """One thing to weigh. form: the product, None for water or spirit; measure_g: what the scale can show."""

    name: str
    form: str | None
    mass_g: float
    measure_g: float


@dataclass(frozen=True)
class ScaleError:
    """What the scale's resolution does to the titratable acidity.

    ta_error_percent: worst case; drift_percent: of the measures as they are shown, against the masses
    smallest_batch_g: keeps the worst case to the tolerance
    """

    ta_error_percent: float
    drift_percent: float
    tolerance_percent: float
    smallest_batch_g: float


@dataclass(frozen=True)
class Haze:
    """Saturation with potassium hydrogen tartrate, were the solution to hold that much potassium."""

    potassium_mmol_per_kg: float
    saturation: Band


@dataclass(frozen=True)
class Solution:
    """An acid solution; ph and haze are None where they do not apply or are not known."""

    mix: Mix
    weigh: tuple[Weighing, ...]
    titrations: tuple[Titrated, ...]
    ph: Band | None
    scale: ScaleError
    solubility: tuple[Solubility, ...]
    haze: Haze | None

    @property
    def keeps_s(self) -> float:
        """How long it keeps, clean, closed and cold."""
        return ASCORBIC_KEEPS_S if "ascorbic" in self.mix.acid_g else ACID_KEEPS_S

    @property
    def totals_g(self) -> dict[str, float]:
        """What is weighed altogether, by name."""
        found: dict[str, float] = {}
        for line in self.weigh:
            found[line.name] = found.get(line.name, 0.0) + line.mass_g
        return found


@dataclass(frozen=True)
class _Conditions:
    scale: Scale
    temperature_c: float
    solvent_abv: float
    coldest_c: float
    tolerance_percent: float


def make_solution(given: SolutionGiven, notes: Notes) -> Solution:
    """An acid solution from products as sold.

    returns: everything for the size asked for
    raises: Refused ("impossible-solution", "outside-validity"), with the strongest that works
    """
    at = _conditions(given, notes)
    ethanol_share = mixture.mass_fraction_from_abv(at.solvent_abv)
    mix = _sized(mixed(given, ethanol_share=ethanol_share, coldest_c=at.coldest_c), given.size, notes)
    assume_products(given, mix.products, notes)
    cautions.of_products(mix.products, notes)
    weigh = _weighings(mix, at.scale.resolution_g)
    solution = Solution(
        mix=mix,
        weigh=weigh,
        titrations=titrations_of(mix),
        ph=ph_of_solution(mix, at.temperature_c, notes),
        scale=_scale_error(mix, weigh, at),
        solubility=solubilities(mix, at.coldest_c),
        haze=_haze(mix, given.potassium_mmol_per_kg, at.coldest_c, notes),
    )
    _assume_model(solution, notes)
    cautions.of_acids(mix, given.basis, notes)
    cautions.of_spirit(at.solvent_abv, notes)
    cautions.of_solubility(solution.solubility, at.coldest_c, notes)
    cautions.of_scale(mix.mass_g, solution.scale.smallest_batch_g, at.scale, at.tolerance_percent, notes)
    return solution


def for_component(recipe: AcidRecipe, volume_ml: float, notes: Notes, *, scale: Scale | None = None) -> Solution:
    """The solution that a component of a spec names, in the volume needed, in water.

    Pointers are those of an acid solution request: /acids/... is the recipe's own, /size the volume, /scale the site's.
    raises: Refused, as `make_solution`
    """
    notes.assume("temperature of the work", Quantity("temperature", ACID_WORK_C), "default")
    notes.assume("coldest storage", Quantity("temperature", ACID_STORAGE_C), "common-practice")
    if any(part.acid == "tartaric" for part in recipe.acids):
        _assume_potassium(notes)
    given = SolutionGiven(
        recipe.acids,
        recipe.basis,
        Amount(Quantity("volume", volume_ml), "ml"),
        scale=scale,
        temperature_c=ACID_WORK_C,
        solvent_abv=0.0,
        coldest_storage_c=ACID_STORAGE_C,
        tolerance_percent=ACID_ERROR_PERCENT,
        potassium_mmol_per_kg=POTASSIUM_MMOL_PER_KG,
    )
    return make_solution(given, notes)


def _conditions(given: SolutionGiven, notes: Notes) -> _Conditions:
    if given.scale is None:
        notes.assume("resolution of the scale", Quantity("mass", ACID_SCALE_G), "common-practice", at="/scale")
    if given.temperature_c is None:
        notes.assume("temperature of the work", Quantity("temperature", ACID_WORK_C), "default", at="/temperature")
    if given.solvent_abv is None:
        notes.assume("strength of the solvent, %vol", 0.0, "default", "water", at="/solvent_abv")
    if given.coldest_storage_c is None:
        notes.assume(
            "coldest storage", Quantity("temperature", ACID_STORAGE_C), "common-practice", at="/coldest_storage"
        )
    if given.tolerance_percent is None:
        notes.assume("error of the acidity that the smallest batch keeps to, %", ACID_ERROR_PERCENT, "common-practice",
                     at="/tolerance_percent")  # fmt: skip
    return _Conditions(
        scale=given.scale or Scale(ACID_SCALE_G),
        temperature_c=ACID_WORK_C if given.temperature_c is None else given.temperature_c,
        solvent_abv=given.solvent_abv or 0.0,
        coldest_c=ACID_STORAGE_C if given.coldest_storage_c is None else given.coldest_storage_c,
        tolerance_percent=ACID_ERROR_PERCENT if given.tolerance_percent is None else given.tolerance_percent,
    )


def _sized(mix: Mix, size: Amount, notes: Notes) -> Mix:
    assume_ounces(("/size",) if size.unit == "oz" else (), notes)
    present = mix.mass_g if size.quantity.kind == "mass" else mix.volume_ml
    return mix.scaled(size.quantity.value / present)


def _weighings(mix: Mix, resolution_g: float) -> tuple[Weighing, ...]:
    """Most of the water, then the acids, then water to finish: acid goes into water."""

    def shown(mass_g: float) -> float:
        return round(mass_g / resolution_g) * resolution_g

    lines = tuple(Weighing(f"{p.acid} acid", p.form, p.product_g, shown(p.product_g)) for p in mix.products)
    if mix.solvent_g <= 1e-9 * mix.mass_g:
        return lines
    name, first_g = "spirit" if mix.ethanol_share else "water", FIRST_SHARE * mix.solvent_g
    finish = Weighing(name, None, mix.solvent_g - first_g, shown(mix.solvent_g) - shown(first_g))
    return (Weighing(name, None, first_g, shown(first_g)), *lines, finish)


def _scale_error(mix: Mix, weigh: Sequence[Weighing], at: _Conditions) -> ScaleError:
    """sum(e_i d/2) / sum(e_i m_i): every acid off by half a step of the scale, the same way."""
    off_meq = sum(p.meq_per_product_g for p in mix.products) * at.scale.resolution_g / 2.0
    percent = 100.0 * off_meq / mix.meq
    measures = {line.form: line.measure_g for line in weigh if line.form}
    weighed_meq = sum(p.meq_per_product_g * measures[p.form] for p in mix.products)
    total_g = sum(line.measure_g for line in weigh)
    drift = drift_percent(weighed_meq / total_g, mix.meq / mix.mass_g) if total_g else -100.0
    return ScaleError(percent, drift, at.tolerance_percent, mix.mass_g * percent / at.tolerance_percent)


def _haze(mix: Mix, potassium: float | None, coldest_c: float, notes: Notes) -> Haze | None:
    if "tartaric" not in mix.acid_g:
        return None
    if potassium is None:
        potassium = POTASSIUM_MMOL_PER_KG
        _assume_potassium(notes, "/potassium_mmol_per_kg")
    try:
        saturation = acids.tartrate_saturation(
            mix.acid_mol_per_kg_water, potassium_mol_per_kg=potassium / 1000.0, temperature_c=coldest_c,
            abv=mix.abv,
        )  # fmt: skip
    except OutsideValidity as outside:
        notes.caution(
            "haze-not-known", "info", "Tartrate haze is not reckoned: {why}.", at="/coldest_storage", why=str(outside)
        )
        return None
    if potassium:
        cautions.of_haze(potassium, saturation, notes)
    return Haze(potassium, saturation)


def _assume_potassium(notes: Notes, *at: str) -> None:
    notes.assume("potassium that the tartaric acid may meet, mmol/kg", POTASSIUM_MMOL_PER_KG, "estimate",
                 "the solution itself holds none; juice and wine bring it", at=at)  # fmt: skip


def _assume_model(solution: Solution, notes: Notes) -> None:
    keeps = Quantity("duration", solution.keeps_s)
    notes.assume("keeps, clean, closed and cold", keeps, "common-practice", "discard it sooner when it is hazy")
    notes.assume("end point of titratable acidity", "pH 8.2, CO2 driven off", "common-practice")
    assume_titration(solution.mix, notes)
    notes.assume("minerals of the water", "none; the carbonate of tap water takes a little acidity away",
                 "common-practice")  # fmt: skip
    if solution.mix.ethanol_share:
        notes.assume("solubility of the acids in spirit", "as in water", "estimate", at="/solvent_abv")
