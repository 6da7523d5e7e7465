"""pH: of an acid solution, and of a drink by its acids, as far as they are known in kind."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial, reduce
from operator import add
from typing import Annotated

from service.acid.composition import Mix, Product
from service.acid.liquid import Liquid
from service.declared import TENTHS
from service.drink import Portion
from service.errors import Fact, Fault, Nearest, Refused, within_validity
from service.notes import Notes
from service.science import acids
from service.science.band import Band
from service.science.validity import OutsideValidity

Ph = Annotated[Band | None, TENTHS]
"""pH, which no reading shows to be better known than to a tenth; None where it is not known."""
_PH_TENTHS = range(10, 71)
"""Where a pH is looked for that goes with an acidity, in tenths."""


def ph_of_solution(mix: Mix, temperature_c: float, notes: Notes) -> Band | None:
    """Return the pH of an acid solution; None, and a caution, where it is too strong for the model."""
    total = sum(mix.acid_mol_per_kg_water.values())
    if not total <= acids.MAX_ACID_MOL_PER_KG:
        notes.caution("ph-not-known", "info",
                      "Measure the pH: {total} mol of acid in a kilogram of water is past what the model covers, "
                      "{most}.",
                      at="/acids", total=total, most=acids.MAX_ACID_MOL_PER_KG)  # fmt: skip
        return None
    return acids.ph_band(mix.acid_mol_per_kg_water, temperature_c=temperature_c, abv=mix.abv)


@dataclass(frozen=True)
class Buffer:
    """Acids by kind, and strong cations less strong anions [mol]."""

    acid_mol: Mapping[str, float] = field(default_factory=dict)
    strong_mol: float = 0.0

    def __add__(self, other: "Buffer") -> "Buffer":
        kinds = {*self.acid_mol, *other.acid_mol}
        both = {acid: self.acid_mol.get(acid, 0.0) + other.acid_mol.get(acid, 0.0) for acid in sorted(kinds)}
        return Buffer(both, self.strong_mol + other.strong_mol)

    def scaled(self, k: float) -> "Buffer":
        """Return k times as much of each."""
        return Buffer({acid: mol * k for acid, mol in self.acid_mol.items()}, self.strong_mol * k)


def ph_of(buffer: Buffer, liquid: Liquid, temperature_c: float) -> Band:
    """Return the pH of a liquid by charge balance, alcohol's effect in its band.

    raises: OutsideValidity
    """
    water_kg = liquid.masses.water_g / 1000.0
    return acids.ph_band(
        {acid: mol / water_kg for acid, mol in buffer.acid_mol.items()},
        strong_cation_mol_per_kg=buffer.strong_mol / water_kg,
        temperature_c=temperature_c,
        abv=liquid.abv,
    )


def buffer_of_products(products: Sequence[Product]) -> Buffer:
    """Return the acids of products as they are weighed."""
    return Buffer({p.acid: p.acid_g / acids.ACIDS[p.acid].molar_mass_g_per_mol for p in products})


def buffer_of_reading(main_acid: str, liquid: Liquid, ph: float, temperature_c: float, at: str) -> Buffer:
    """Return one acid and one strong cation that give a liquid its titratable acidity and its pH.

    at: JSON Pointer of the pH
    raises: Refused ("impossible-reading") where no such pair does, with a pH that has one; OutsideValidity
    """
    water_kg = liquid.masses.water_g / 1000.0

    def pair(measured_ph: float) -> acids.Calibrated:
        return acids.calibrated(
            main_acid,
            titratable_mol_per_kg=liquid.meq / 1000.0 / water_kg,
            measured_ph=measured_ph,
            temperature_c=temperature_c,
            abv=liquid.abv,
        )

    with within_validity(at, partial(_impossible_reading, ph, pair)):
        found = pair(ph)
    return Buffer({main_acid: found.acid_mol_per_kg_water}, found.strong_cation_mol_per_kg).scaled(water_kg)


def _impossible_reading(
    ph: float, pair: Callable[[float], acids.Calibrated], outside: OutsideValidity, at: str
) -> Refused:
    """Return the refusal of a pH, with the nearest that goes with the acidity.

    raises: OutsideValidity, the one given, where it is not of a pH
    """
    if outside.unit != "pH":
        raise outside

    def goes(tenths: int) -> bool:
        with suppress(OutsideValidity):
            pair(tenths / 10.0)
            return True
        return False

    text = "Read both again: by the model no liquid of that acidity has that pH."
    going = sorted((tenths / 10.0 for tenths in _PH_TENTHS if goes(tenths)), key=lambda other: abs(other - ph))
    return Refused("impossible-reading", [Fault(at, "impossible-reading", text)],
                   facts=[Fact("nearest_ph", other) for other in going[:1]],
                   nearest=[Nearest(at, other) for other in going[:1]])  # fmt: skip


def buffer_of_portions(parts: Sequence[Portion], main_acid: str, temperature_c: float, at: str) -> Buffer:
    """Return the acids of what is in the glass; those of a component that states acidity and pH by its reading.

    at: JSON Pointer of the spec
    raises: Refused ("impossible-reading"); OutsideValidity
    """
    found = (_buffer_of_portion(part, main_acid, temperature_c, f"{at}/components/{i}") for i, part in enumerate(parts))
    return reduce(add, found, Buffer())


def _buffer_of_portion(part: Portion, main_acid: str, temperature_c: float, at: str) -> Buffer:
    """Return the acids of one component; none of one whose acid is not known in kind."""
    recipe, ph = part.component.acid_solution, part.component.ph
    if part.made_of:
        return buffer_of_portions(part.made_of, main_acid, temperature_c, f"{at}/made_from").scaled(1.0 / part.started)
    if recipe is not None:
        percent = sum(one.percent or 0.0 for one in recipe.acids)
        grams = {one.acid: part.masses.acid_g * (one.percent or 0.0) / percent for one in recipe.acids}
        return Buffer({acid: g / acids.ACIDS[acid].molar_mass_g_per_mol for acid, g in grams.items()})
    if part.acid_meq > 0.0 and ph is not None:
        return buffer_of_reading(main_acid, Liquid(part.masses, part.acid_meq), ph, temperature_c, f"{at}/ph")
    return Buffer()


def pointers_of_unknown(parts: Sequence[Portion], at: str) -> tuple[str, ...]:
    """Return JSON Pointers of components whose acid is not known in kind: acidity without pH, or cloudy and silent.

    at: of the spec
    """
    found: list[str] = []
    for where, part in _by_analysis(parts, at):
        one = part.component
        if part.acid_meq > 0.0 and one.ph is None:
            found.append(f"{where}/ph")
        if one.acidity_meq_per_l is None and one.clarity in ("hazy", "pulpy"):
            found.append(f"{where}/acidity")
    return tuple(found)


def pointers_of_read(parts: Sequence[Portion], at: str) -> tuple[str, ...]:
    """Return JSON Pointers of components whose acid is known by acidity and pH."""
    return tuple(f"{where}/ph" for where, part in _by_analysis(parts, at)
                 if part.acid_meq > 0.0 and part.component.ph is not None)  # fmt: skip


def _by_analysis(parts: Sequence[Portion], at: str) -> Iterator[tuple[str, Portion]]:
    """Yield components that are no acid solutions, down to what they are made from, with their JSON Pointers."""
    for i, part in enumerate(parts):
        where = f"{at}/components/{i}"
        if part.made_of:
            yield from _by_analysis(part.made_of, f"{where}/made_from")
        elif part.component.acid_solution is None:
            yield where, part
