"""Generic ingredients: what a component is made of where the bar names a reference and not an analysis."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, cast

from service.science.acids import meq_per_g
from service.science.tables import rows

Basis = Literal["published", "common-practice", "unverified"]
GRAMS_PER_EQUIVALENT: Mapping[str, float] = MappingProxyType({"gluconic": 196.16, "chlorogenic": 354.31})
"""Acids of ingredients that are never weighed alone [g/eq], each of one proton to pH 8.2; IUPAC atomic weights."""


@dataclass(frozen=True)
class Ingredient:
    """A generic ingredient at 20 degC. bases: field of a component -> how well its value is known.

    density_g_per_ml: None where nothing printed agrees with the rest
    allergens: by its nature; None where that is not known
    keeps_s: once pressed or opened, cold; None where that is not known
    """

    reference: str
    name: str
    abv: float
    sugar_g_per_l: float
    hexose_share: float
    acidity_meq_per_l: float
    density_g_per_ml: float | None
    clarity: Literal["clear", "hazy", "pulpy"]
    foams: bool
    sparkles: bool
    allergens: tuple[str, ...] | None
    keeps_s: float | None
    bases: Mapping[str, Basis]
    source: str


def _ingredient(row: Mapping[str, str]) -> Ingredient:
    return Ingredient(
        reference=row["reference"],
        name=row["name"],
        abv=float(row["abv"]),
        sugar_g_per_l=float(row["sugar_g_per_l"]),
        hexose_share=float(row["hexose_share"]),
        acidity_meq_per_l=_meq_per_l(float(row["acid_g_per_l"]), row["expressed_as"]),
        density_g_per_ml=float(row["density_g_per_ml"]) if row["density_g_per_ml"] else None,
        clarity=_CLARITY[row["clarity"]],
        foams=row["foams"] == "yes",
        sparkles=row["sparkles"] == "yes",
        allergens=_ALLERGENS.get(row["allergens"], (row["allergens"],)),
        keeps_s=3600.0 * float(row["keeps_h"]) if row["keeps_h"] else None,
        bases={name: cast("Basis", row[f"{column}_basis"]) for name, column in _BASED.items()},
        source=row["source"],
    )


_BASED = {
    "abv": "abv",
    "sugar": "sugar",
    "acidity_meq_per_l": "acid",
    "density_g_per_ml": "density",
    "allergens": "allergens",
}
"""Field of a component -> column of the table that says how well it is known."""
_CLARITY: Mapping[str, Literal["clear", "hazy", "pulpy"]] = {"clear": "clear", "hazy": "hazy", "pulpy": "pulpy"}
_ALLERGENS: Mapping[str, tuple[str, ...] | None] = {"": None, "none": ()}


def _meq_per_l(g_per_l: float, acid: str) -> float:
    if not g_per_l:
        return 0.0
    return g_per_l * (1000.0 / GRAMS_PER_EQUIVALENT[acid] if acid in GRAMS_PER_EQUIVALENT else meq_per_g(acid))


INGREDIENTS: Mapping[str, Ingredient] = MappingProxyType(
    {row["reference"]: _ingredient(row) for row in rows("ingredients")}
)
"""By reference, in the table's order; source: ingredients.csv, line by line."""
