"""The tables that the service computes with, each value with its source and how well it is known."""

from service.api import spec_sheets
from service.api.references.goods import LIST_ACIDS, LIST_ALLERGENS, LIST_INGREDIENTS, LIST_VESSELS
from service.api.references.terms import LIST_CODES, LIST_LIMITS, LIST_SAFETY_RULES, LIST_SOURCES, LIST_UNITS

__all__ = ["REFERENCES"]

REFERENCES = (
    LIST_ACIDS,
    LIST_INGREDIENTS,
    LIST_VESSELS,
    LIST_UNITS,
    LIST_ALLERGENS,
    LIST_SOURCES,
    LIST_LIMITS,
    LIST_SAFETY_RULES,
    LIST_CODES,
    spec_sheets.TEMPLATE,
)
