"""The lines of a spec as they are written, those of specs that components are made from included."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.drink import Component, Spec
from service.drink.references import filled
from service.science.ingredients import INGREDIENTS, Ingredient


@dataclass(frozen=True)
class Line:
    """One component. at: its JSON Pointer; known: with what its reference fills in."""

    at: str
    component: Component
    known: Component

    @property
    def ingredient(self) -> Ingredient | None:
        return None if self.component.reference is None else INGREDIENTS[self.component.reference]

    @property
    def describes_itself(self) -> bool:
        """True where it has acids or a spec of its own."""
        return self.component.acid_solution is not None or self.component.made_from is not None


def lines_of(spec: Spec, at: str) -> Iterator[Line]:
    """Yield every component of the spec, and of the specs that they are made from.

    at: JSON Pointer of the spec
    """
    for i, component in enumerate(spec.components):
        here = f"{at}/components/{i}"
        yield Line(here, component, filled(component))
        if component.made_from is not None:
            yield from lines_of(component.made_from, f"{here}/made_from")
