"""Allergens by the European and the US list, and those that finings and washes bring."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from service.science.tables import rows

_ROWS = rows("allergens")
_EU: Mapping[str, str] = MappingProxyType({row["code"]: row["eu"] for row in _ROWS})
_US: Mapping[str, str] = MappingProxyType(
    {row["code"]: row["us"].removeprefix("perhaps ") for row in _ROWS if row["us"]}
)
ALLERGEN_NAMES: Mapping[str, str] = MappingProxyType({row["code"]: row["name"] for row in _ROWS})
PERHAPS_US = frozenset(row["code"] for row in _ROWS if row["us"].startswith("perhaps "))
"""Codes that may or may not be on the US list; they are counted as on it."""
ALLERGENS = tuple(_EU)
"""Codes that a component may declare; the groups of Regulation (EU) No 1169/2011 Annex II first."""
EU_GROUPS = tuple(dict.fromkeys(_EU.values()))
"""The fourteen groups, in the order of the Annex."""
FININGS: Mapping[str, str] = MappingProxyType({row["fining"]: row["allergen"] for row in rows("finings")})
"""Finings and washes -> the allergen that each brings, "" for none."""


def eu_groups(codes: Iterable[str]) -> tuple[str, ...]:
    """Return the groups of Annex II that codes belong to, in its order."""
    found = {_EU[code] for code in codes}
    return tuple(group for group in EU_GROUPS if group in found)


def us_major(codes: Iterable[str]) -> tuple[str, ...]:
    """Return the major food allergens of the United States among codes, by the same words."""
    found = {_US[code] for code in codes if code in _US}
    return tuple(code for code in ALLERGENS if code in found)
