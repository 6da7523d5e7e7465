"""Generic ingredients: what a component is made of where the bar names a reference and not an analysis."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from heapq import nlargest
from itertools import pairwise
from types import MappingProxyType
from typing import Literal, cast

from service.science.acids import ACIDS, meq_per_g
from service.science.tables import flag, known, rows

Basis = Literal["published", "common-practice", "unverified"]
GRAMS_PER_EQUIVALENT: Mapping[str, float] = MappingProxyType(
    {row["acid"]: float(row["g_per_eq"]) for row in rows("ingredient_acids")}
)
"""Acids of ingredients that are never weighed alone [g/eq]; source: ingredient_acids.csv."""


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
        clarity=_CLARITY[known("ingredients", row["clarity"], _CLARITY)],
        foams=flag("ingredients", row["foams"]),
        sparkles=flag("ingredients", row["sparkles"]),
        allergens=_allergens(row["allergens"]),
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
_ALLERGENS = tuple(row["code"] for row in rows("allergens"))


def _allergens(text: str) -> tuple[str, ...] | None:
    """Codes of allergens with spaces between them, or none; None where nothing stands."""
    if text == "none":
        return ()
    return tuple(known("ingredients", code, _ALLERGENS) for code in text.split()) or None


def _meq_per_l(g_per_l: float, acid: str) -> float:
    if not g_per_l:
        return 0.0
    known("ingredients", acid, (*GRAMS_PER_EQUIVALENT, *ACIDS))
    return g_per_l * (1000.0 / GRAMS_PER_EQUIVALENT[acid] if acid in GRAMS_PER_EQUIVALENT else meq_per_g(acid))


INGREDIENTS: Mapping[str, Ingredient] = MappingProxyType(
    {row["reference"]: _ingredient(row) for row in rows("ingredients")}
)
"""By reference, in the table's order; source: ingredients.csv, line by line."""


def _pairs(name: str) -> frozenset[tuple[str, str]]:
    """Return the letters of a name in pairs, with its edges."""
    edged = f" {name} "
    return frozenset(pairwise(edged))


_PAIRS = {reference: _pairs(reference) for reference in INGREDIENTS}
_ALIKE = 0.4
"""Share of the pairs of both names from which on they are alike."""


@lru_cache(maxsize=1024)
def like(name: str) -> tuple[str, ...]:
    """Return up to three references like a name, by the pairs that they share: quick, for a sheet may have a thousand.

    source: Dice 1945, doi:10.2307/1932409
    """
    own = _pairs(name)
    shares = {one: 2.0 * len(own & pairs) / (len(own) + len(pairs)) for one, pairs in _PAIRS.items()}
    return tuple([one for one in nlargest(3, shares, key=shares.__getitem__) if shares[one] >= _ALIKE])
