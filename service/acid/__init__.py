"""Acid solutions by strength or by titratable acidity: what to weigh, and what comes of it."""

from service.acid.composition import Mix, Product, SolutionGiven
from service.acid.limits import Solubility
from service.acid.solution import Haze, ScaleError, Solution, Weighing, for_component, make_solution

__all__ = [
    "Haze",
    "Mix",
    "Product",
    "ScaleError",
    "Solubility",
    "Solution",
    "SolutionGiven",
    "Weighing",
    "for_component",
    "make_solution",
]
