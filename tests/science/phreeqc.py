"""PHREEQC as a reference for pH and titrations, in tests only."""

from collections.abc import Mapping
from typing import Any

from tests.published import DATA

_NAMES = {"citric": "Citrate", "tartaric": "Tartarate", "acetic": "Acetate"}


def engine() -> Any:
    """PHREEQC with the acids of minteq.v4.

    raises: ImportError, OSError where its library does not run on this platform
    """
    from phreeqpython import PhreeqPython

    return PhreeqPython(database="minteq_v4_excerpt.dat", database_directory=DATA)


def ph(phreeqc: Any, mol_per_kg: Mapping[str, float], temperature_c: float) -> float:
    """pH at which the charges of acids in pure water close."""
    return float(phreeqc.add_solution(_solution(mol_per_kg, temperature_c) | {"pH": "2 charge"}).pH)


def base_mol_per_kg(phreeqc: Any, mol_per_kg: Mapping[str, float], end_point_ph: float) -> float:
    """Sodium that closes the charges of acids held at a pH."""
    held = _solution(mol_per_kg, 25.0) | {"pH": end_point_ph, "Na": "0.1 charge"}
    return float(phreeqc.add_solution(held).total("Na", units="mol"))


def _solution(mol_per_kg: Mapping[str, float], temperature_c: float) -> dict[str, Any]:
    acids = {_NAMES[acid]: amount for acid, amount in mol_per_kg.items()}
    return {"temp": temperature_c, "units": "mol/kgw", **acids}
