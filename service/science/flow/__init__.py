"""Drink on its way through a line: viscosity, friction, rise, and the flow that a pressure pushes."""

from service.science.flow.pipe import (
    ENTRY_HEADS,
    GRAVITY_M_PER_S2,
    LAMINAR_TO,
    MATERIALS,
    TURBULENT_FROM,
    Line,
    LineMaterial,
    Material,
    Regime,
    Tube,
    flow_m3_per_s,
    friction_factor,
)
from service.science.flow.viscosity import viscosity_pa_s, viscosity_spread, water_viscosity_pa_s

__all__ = [
    "ENTRY_HEADS",
    "GRAVITY_M_PER_S2",
    "LAMINAR_TO",
    "MATERIALS",
    "TURBULENT_FROM",
    "Line",
    "LineMaterial",
    "Material",
    "Regime",
    "Tube",
    "flow_m3_per_s",
    "friction_factor",
    "viscosity_pa_s",
    "viscosity_spread",
    "water_viscosity_pa_s",
]
