"""PHREEQC with the organic acids of its database minteq.v4, for tests.

The installed databases lack them. log K: NIST 46, as minteq.v4.dat has them (from memory); that they are the same is
seen from tests/data/acid_ph.csv, whose rows were run with the whole database.
"""

from phreeqpython import PhreeqPython

_ACIDS = """
SOLUTION_MASTER_SPECIES
Citrate Citrate-3 2.0 189.102 189.102
Acetate Acetate- 1.0 59.045 59.045
Tartarate Tartarate-2 0.0 148.072 148.072
SOLUTION_SPECIES
Citrate-3 = Citrate-3
 log_k 0
Acetate- = Acetate-
 log_k 0
Tartarate-2 = Tartarate-2
 log_k 0
H+ + Acetate- = H(Acetate)
 log_k 4.757
H+ + Tartarate-2 = H(Tartarate)-
 log_k 4.366
2H+ + Tartarate-2 = H2(Tartarate)
 log_k 7.402
H+ + Citrate-3 = H(Citrate)-2
 log_k 6.396
2H+ + Citrate-3 = H2(Citrate)-
 log_k 11.157
3H+ + Citrate-3 = H3(Citrate)
 log_k 14.285
END
"""
_NAMES = {"citric": "Citrate", "tartaric": "Tartarate", "acetic": "Acetate"}


class Phreeqc:
    """One database, many solutions at 25 degC; acids in mol/kg water."""

    def __init__(self) -> None:
        self._program = PhreeqPython(database="phreeqc.dat")
        self._run(_ACIDS)

    def _run(self, text: str) -> None:
        self._program.ip.run_string(text)

    def ph(self, strong_cation: float = 0.0, **acids: float) -> float:
        """pH that closes the charges; strong_cation: sodium [mol/kg]."""
        self._run(f"SOLUTION 1\n temp 25\n units mol/kgw\n pH 3 charge\n{self._totals(strong_cation, acids)}END\n")
        return float(self._program.ip.get_ph(1))

    def base_to(self, ph: float, **acids: float) -> float:
        """Sodium hydroxide that brings the acids to a pH [mol/kg]."""
        held = f"SOLUTION 1\n temp 25\n units mol/kgw\n pH {ph}\n Na 0.01 charge\n{self._totals(0.0, acids)}END\n"
        self._run(held)
        return float(self._program.ip.get_total_element(1, "Na"))

    @staticmethod
    def _totals(sodium: float, acids: dict[str, float]) -> str:
        lines = [f" {_NAMES[acid]} {mol}" for acid, mol in acids.items()]
        return "\n".join([*lines, f" Na {sodium}" if sodium else "", ""])
