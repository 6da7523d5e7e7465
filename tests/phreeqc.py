"""PHREEQC as a reference for pH and titrations, in tests only, with the acids of its database minteq.v4.

minteq.v4 gives the ions of these acids the limiting law of Debye and Hueckel, which holds at high dilution only;
`with_davies` gives them the equation of Davies in its place, at the same constants.
"""

from collections.abc import Mapping
from typing import Any

from tests.published import DATA

_DATABASE = "minteq_v4_excerpt.dat"
_LIMITING_LAW = "\t-gamma 0 0\n"
_NAMES = {"citric": "Citrate", "tartaric": "Tartarate", "acetic": "Acetate"}


def engine() -> Any:
    """PHREEQC with the acids as minteq.v4 has them.

    raises: ImportError, OSError where its library does not run on this platform
    """
    from phreeqpython import PhreeqPython

    return PhreeqPython(database=_DATABASE, database_directory=DATA)


def with_davies() -> Any:
    """The same with activity coefficients of ions by Davies; raises as `engine`."""
    phreeqc = engine()
    phreeqc.ip.run_string((DATA / _DATABASE).read_text().replace(_LIMITING_LAW, ""))
    return phreeqc


def ph(phreeqc: Any, mol_per_kg: Mapping[str, float], temperature_c: float = 25.0, *, sodium: float = 0.0) -> float:
    """pH at which the charges of acids in water close; sodium: strong cations [mol/kg]."""
    held = {"Na": sodium} if sodium else {}
    return float(phreeqc.add_solution(_solution(mol_per_kg, temperature_c) | held | {"pH": "2 charge"}).pH)


def base_mol_per_kg(phreeqc: Any, mol_per_kg: Mapping[str, float], end_point_ph: float) -> float:
    """Sodium that closes the charges of acids held at a pH."""
    held = _solution(mol_per_kg, 25.0) | {"pH": end_point_ph, "Na": "0.1 charge"}
    return float(phreeqc.add_solution(held).total("Na", units="mol"))


def ion_product(phreeqc: Any, tartaric_mol_per_kg: float, sodium: float, temperature_c: float) -> float:
    """Activities of a strong cation and of hydrogen tartrate, multiplied."""
    held = _solution({"tartaric": tartaric_mol_per_kg}, temperature_c) | {"Na": sodium, "pH": "3 charge"}
    solution = phreeqc.add_solution(held)
    return float(solution.activity("Na+", units="mol")) * float(solution.activity("H(Tartarate)-", units="mol"))


def _solution(mol_per_kg: Mapping[str, float], temperature_c: float) -> dict[str, Any]:
    acids = {_NAMES[acid]: amount for acid, amount in mol_per_kg.items()}
    return {"temp": temperature_c, "units": "mol/kgw", **acids}
