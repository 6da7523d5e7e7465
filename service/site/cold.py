"""The cold places of a house: where vessels are chilled, and where they stand until they are served."""

from dataclasses import dataclass
from typing import Annotated, Literal

from service.declared import Declared, mass, number, temperature, volume

EnvironmentKey = Literal[
    "still-freezer", "fan-freezer", "fridge", "walk-in", "ice-water", "stirred-ice-water", "salted-ice"
]


@dataclass(frozen=True)
class ColdPlace:
    """A cold place: what it is, and how much it takes."""

    kind: Declared[EnvironmentKey]
    holds_ml: Annotated[
        float,
        volume(low=100.0),
        "Brimful capacities that fit at once, not the size of the tub: about half of it, with the ice.",
    ]
    temperature_c: Annotated[
        float | None, temperature(low=-40.0, high=25.0), "The usual one of its kind unless stated."
    ] = None
    ice_g: Annotated[float | None, mass(low=10.0, high=5e6), "That there is for it; of ice baths alone."] = None
    cooling_power_w: Annotated[
        float | None,
        number(above=0.0, high=100_000.0),
        "Heat that it takes out, in watts, which is not what it draws; estimated by its kind unless stated.",
    ] = None
