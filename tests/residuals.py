"""How far the science is from print, a row a table. `python -m tests.residuals` prints it."""

from tests.science.acid_residuals import acid_residuals
from tests.science.gas_residuals import gas_residuals
from tests.science.mixture_residuals import mixture_residuals

Row = tuple[str, int, float, float, float, str]
"""Label, number of values, then mean, largest (either side) and root-mean-square residual, and their unit."""


def rows() -> list[Row]:
    """Residuals of every outside table that the science is held against."""
    return [*gas_residuals(), *mixture_residuals(), *acid_residuals()]


if __name__ == "__main__":
    print(f"{'':60}   n     mean  largest      rms")
    for label, n, mean, largest, rms, unit in rows():
        print(f"{label:60} {n:3d} {mean:+8.4f} {largest:8.4f} {rms:8.4f} {unit}")
