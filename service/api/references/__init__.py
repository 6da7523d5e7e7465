"""The tables that the service computes with, each value with its source and how well it is known."""

from service.api import spec_sheets
from service.api.references import (
    acids,
    allergens,
    codes,
    ingredients,
    limits,
    safety_rules,
    sources,
    units,
    vessels,
)

__all__ = ["REFERENCES"]

REFERENCES = (
    acids.REFERENCE,
    ingredients.REFERENCE,
    vessels.REFERENCE,
    units.REFERENCE,
    allergens.REFERENCE,
    sources.REFERENCE,
    limits.REFERENCE,
    safety_rules.REFERENCE,
    codes.REFERENCE,
    spec_sheets.TEMPLATE,
)
