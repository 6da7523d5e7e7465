"""The solution as it is made: weighings in working order, acidity, pH, what the scale and the cold do to it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from service.acid import cautions
from service.acid.composition import Mix, SolutionGiven, assume_products
from service.acid.limits import Solubility, mixed, solubilities
from service.drink import AcidRecipe, Amount, assume_ounces
from service.errors import OutsideValidity
from service.notes import Notes
from service.science import acids, mixture
from service.science.band import Band
from service.science.units import Quantity
from service.site import Scale

SCALE_G = 0.1
WORK_C = 20.0
COLDEST_C = 4.0
FIRST_SHARE = 0.8
"""Part of the water that goes in before the acids; common practice, no source, like the three above."""
TOLERANCE_PERCENT = 1.0
"""Error of the titratable acidity that the smallest batch keeps to; common practice, no source."""
POTASSIUM_MMOL_PER_KG = 10.0
"""Potassium that the solution may meet; estimate: lemon-like juice holds about 35, a drink with some of it a third."""


@dataclass(frozen=True)
class Weighing:
    """One thing to weigh. form: the product, None for water or spirit; measure_g: what the scale can show."""

    name: str
    form: str | None
    mass_g: float
    measure_g: float


@dataclass(frozen=True)
class ScaleError:
    """What the scale's resolution does. ta_error_percent: worst case; smallest_batch_g: keeps it to one per cent."""

    ta_error_percent: float
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
    ph: Band | None
    scale: ScaleError
    solubility: tuple[Solubility, ...]
    haze: Haze | None

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
    solution = Solution(
        mix=mix,
        weigh=_weighings(mix, at.scale.resolution_g),
        ph=_ph(mix, at.temperature_c, notes),
        scale=_scale_error(mix, at.scale.resolution_g),
        solubility=solubilities(mix, at.coldest_c),
        haze=_haze(mix, at.coldest_c, notes),
    )
    _assume_model(mix, notes)
    cautions.of_acids(mix, given.basis, notes)
    cautions.of_solubility(solution.solubility, at.coldest_c, notes)
    cautions.of_scale(mix.mass_g, solution.scale.smallest_batch_g, at.scale, notes)
    return solution


def for_component(recipe: AcidRecipe, volume_ml: float, notes: Notes, *, scale: Scale | None = None) -> Solution:
    """The solution that a component of a spec names, in the volume needed, in water.

    Pointers are those of an acid solution request: /acids/... is the recipe's own, /size the volume, /scale the site's.
    raises: Refused, as `make_solution`
    """
    notes.assume("temperature of the work", Quantity("temperature", WORK_C), "default")
    notes.assume("coldest storage", Quantity("temperature", COLDEST_C), "common-practice")
    size = Amount(Quantity("volume", volume_ml), "ml")
    given = SolutionGiven(recipe.acids, recipe.basis, size, scale=scale, temperature_c=WORK_C, solvent_abv=0.0,
                          coldest_storage_c=COLDEST_C)  # fmt: skip
    return make_solution(given, notes)


def _conditions(given: SolutionGiven, notes: Notes) -> _Conditions:
    if given.scale is None:
        notes.assume("resolution of the scale", Quantity("mass", SCALE_G), "common-practice", at="/scale")
    if given.temperature_c is None:
        notes.assume("temperature of the work", Quantity("temperature", WORK_C), "default", at="/temperature")
    if given.solvent_abv is None:
        notes.assume("strength of the solvent, %vol", 0.0, "default", "water", at="/solvent_abv")
    if given.coldest_storage_c is None:
        notes.assume("coldest storage", Quantity("temperature", COLDEST_C), "common-practice", at="/coldest_storage")
    return _Conditions(
        scale=given.scale or Scale(SCALE_G),
        temperature_c=WORK_C if given.temperature_c is None else given.temperature_c,
        solvent_abv=given.solvent_abv or 0.0,
        coldest_c=COLDEST_C if given.coldest_storage_c is None else given.coldest_storage_c,
    )


def _sized(mix: Mix, size: Amount, notes: Notes) -> Mix:
    assume_ounces(("/size",) if size.unit == "oz" else (), notes)
    present = mix.mass_g if size.quantity.kind == "mass" else mix.volume_ml
    return mix.scaled(size.quantity.value / present)


def _weighings(mix: Mix, resolution_g: float) -> tuple[Weighing, ...]:
    """Most of the water, then the acids, then water to finish: acid goes into water."""
    lines: list[tuple[str, str | None, float]] = [(f"{p.acid} acid", p.form, p.product_g) for p in mix.products]
    if mix.solvent_g > 1e-9 * mix.mass_g:
        name = "spirit" if mix.ethanol_share else "water"
        first_g = FIRST_SHARE * mix.solvent_g
        lines = [(name, None, first_g), *lines, (name, None, mix.solvent_g - first_g)]
    return tuple(Weighing(name, form, g, round(g / resolution_g) * resolution_g) for name, form, g in lines)


def _ph(mix: Mix, temperature_c: float, notes: Notes) -> Band | None:
    """pH to 0.1, its ends outward."""
    total = sum(mix.acid_mol_per_kg_water.values())
    if not total <= acids.MAX_ACID_MOL_PER_KG:
        notes.caution("ph-not-known", "info",
                      "{total} mol of acid in a kilogram of water is beyond what the pH model covers, {most}; no pH is "
                      "given.",
                      at="/acids", total=total, most=acids.MAX_ACID_MOL_PER_KG)  # fmt: skip
        return None
    band = acids.ph_band(mix.acid_mol_per_kg_water, temperature_c=temperature_c, abv=mix.abv)
    return Band(floor(10.0 * band.low) / 10.0, round(10.0 * band.typical) / 10.0, ceil(10.0 * band.high) / 10.0)


def _scale_error(mix: Mix, resolution_g: float) -> ScaleError:
    """sum(e_i d/2) / sum(e_i m_i): every acid off by half a step of the scale, the same way."""
    off_meq = sum(p.meq_per_product_g for p in mix.products) * resolution_g / 2.0
    percent = 100.0 * off_meq / mix.meq
    return ScaleError(percent, mix.mass_g * percent / TOLERANCE_PERCENT)


def _haze(mix: Mix, coldest_c: float, notes: Notes) -> Haze | None:
    if "tartaric" not in mix.acid_g:
        return None
    notes.assume("potassium that the tartaric acid may meet, mmol/kg", POTASSIUM_MMOL_PER_KG, "estimate",
                 "the solution itself holds none; juice and wine bring it")  # fmt: skip
    try:
        saturation = acids.tartrate_saturation(
            mix.acid_mol_per_kg_water, potassium_mol_per_kg=POTASSIUM_MMOL_PER_KG / 1000.0, temperature_c=coldest_c,
            abv=mix.abv,
        )  # fmt: skip
    except OutsideValidity as outside:
        notes.caution(
            "haze-not-known", "info", "Tartrate haze is not reckoned: {why}.", at="/coldest_storage", why=str(outside)
        )
        return None
    cautions.of_haze(saturation, notes)
    return Haze(POTASSIUM_MMOL_PER_KG, saturation)


def _assume_model(mix: Mix, notes: Notes) -> None:
    statements: Sequence[tuple[str, str]] = (
        ("end point of titratable acidity", "pH 8.2, CO2 driven off"),
        ("minerals of the water", "none; the carbonate of tap water takes a little acidity away"),
        (
            "keeps, clean, closed and cold",
            "two weeks (one to four in use), with ascorbic acid a day; discard it when hazy",
        ),
    )
    for name, value in statements:
        notes.assume(name, value, "common-practice")
    if mix.ethanol_share:
        notes.assume("solubility of the acids in spirit", "as in water", "estimate", at="/solvent_abv")
