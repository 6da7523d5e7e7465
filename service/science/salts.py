"""Salts that a bar adds to a drink, and what they do to its acid."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from service.science.constants import CO2_G_PER_MOL
from service.science.tables import rows

POTASSIUM_G_PER_MOL = 39.098
"""Molar mass of potassium [g/mol]; CIAAW abridged standard atomic weights 2021."""
WATER_G_PER_MOL = 18.015
"""Molar mass of water [g/mol]; CIAAW abridged standard atomic weights 2021."""


@dataclass(frozen=True)
class Salt:
    """A pure salt. acid_eq_per_mol: acid that a mole neutralises, one water formed for each."""

    name: str
    formula: str
    cas: str
    e_number: str
    molar_mass_g_per_mol: float
    acid_eq_per_mol: float
    co2_mol_per_mol: float
    potassium_mol_per_mol: float

    @property
    def meq_per_g(self) -> float:
        """Acid that a gram neutralises [meq/g]."""
        return 1000.0 * self.acid_eq_per_mol / self.molar_mass_g_per_mol

    @property
    def co2_g_per_g(self) -> float:
        """CO2 that a gram sets free [g/g]."""
        return self.co2_mol_per_mol * CO2_G_PER_MOL / self.molar_mass_g_per_mol

    @property
    def potassium_g_per_g(self) -> float:
        """Potassium that a gram leaves behind [g/g]."""
        return self.potassium_mol_per_mol * POTASSIUM_G_PER_MOL / self.molar_mass_g_per_mol

    @property
    def water_g_per_g(self) -> float:
        """Water that a gram forms with the acid [g/g]."""
        return self.acid_eq_per_mol * WATER_G_PER_MOL / self.molar_mass_g_per_mol


def _salt(row: dict[str, str]) -> Salt:
    return Salt(
        name=row["salt"],
        formula=row["formula"],
        cas=row["cas"],
        e_number=row["e_number"],
        molar_mass_g_per_mol=float(row["molar_mass_g_per_mol"]),
        acid_eq_per_mol=float(row["acid_eq_per_mol"]),
        co2_mol_per_mol=float(row["co2_mol_per_mol"]),
        potassium_mol_per_mol=float(row["potassium_mol_per_mol"]),
    )


SALTS: Mapping[str, Salt] = MappingProxyType({row["salt"]: _salt(row) for row in rows("salts")})
