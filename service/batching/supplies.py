"""Supplies that the house takes from its stock or buys: of components, or of all that is mixed for them."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from service.drink import Component, Portion, Spec
from service.science.units import Kind


@dataclass(frozen=True)
class Supply:
    """An amount of one component, as it is started from."""

    component: Component
    volume_ml: float
    mass_g: float

    @property
    def name(self) -> str:
        return self.component.name

    def in_kind(self, kind: Kind) -> float:
        """Return the amount by volume [ml] or by mass [g]."""
        return self.volume_ml if kind == "volume" else self.mass_g

    @property
    def kind(self) -> Kind:
        """Kind that the spec writes it in; mass where only part of it is kept, since a yield is by mass."""
        return self.component.amount.quantity.kind if self.component.yield_percent is None else "mass"


def supplies(parts: Iterable[Portion], as_such: Collection[str]) -> list[Supply]:
    """Return the supplies that the parts take, in their order.

    as_such: names that are taken ready made, though the spec tells what they are made from
    """
    return [_supply(taken) for part in parts for taken in _taken(part, as_such)]


def by_name(taken: Iterable[Supply]) -> dict[str, Supply]:
    """Return supplies by name, those of one name together."""
    found: dict[str, Supply] = {}
    for one in taken:
        before = found.get(one.name)
        found[one.name] = one if before is None else Supply(
            before.component, before.volume_ml + one.volume_ml, before.mass_g + one.mass_g
        )  # fmt: skip
    return found


def names_of(spec: Spec) -> list[str]:
    """Return every name that may be taken for a spec: its components, and those of specs they are made from."""
    inner = [name for c in spec.components if c.made_from is not None for name in names_of(c.made_from)]
    return [*(c.name for c in spec.components), *inner]


def _taken(part: Portion, as_such: Collection[str]) -> Iterator[Portion]:
    if not part.made_of or part.component.name in as_such:
        yield part
    else:
        yield from part.made_of


def _supply(part: Portion) -> Supply:
    return Supply(part.component, part.volume_ml * part.started, part.masses.total_g * part.started)
