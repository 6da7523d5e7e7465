"""How far the science is from print, a row a table. `python -m tests.residuals` prints it.

Coverage is the share of the printed values inside the band that the service states, where it states one: it is meant
to be about nine in ten. "fitted" are sources that the model's constants were fitted to, "unseen" those that were kept
from the fit; without either nothing is fitted.
"""

from tests.science.acid_residuals import acid_residuals
from tests.science.flow_residuals import flow_residuals
from tests.science.gas_residuals import Residual, gas_residuals
from tests.science.mixture_residuals import mixture_residuals


def rows() -> list[Residual]:
    """Residuals of every outside table that the science is held against."""
    others = (Residual(*row) for row in (*mixture_residuals(), *acid_residuals()))
    return [*gas_residuals(), *others, *flow_residuals()]


if __name__ == "__main__":
    print(f"{'':50} role      n     mean  largest      rms       coverage")
    for label, n, mean, largest, rms, unit, role, coverage in rows():
        share = "" if coverage is None else f"{coverage:7.0%}"
        print(f"{label:50} {role:6} {n:4d} {mean:+8.4f} {largest:8.4f} {rms:8.4f} {unit:6} {share}")
