"""Acids on the wire: one module per operation."""

from service.api.acid import adjustments, doses, equivalents, solutions
from service.api.acid.solutions import AcidSolutionBody, write

__all__ = ["OPERATIONS", "AcidSolutionBody", "write"]

OPERATIONS = (solutions.OPERATION, adjustments.OPERATION, equivalents.OPERATION, doses.OPERATION)
