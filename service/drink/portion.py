"""The portion of one component in a glass."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.drink.allergens import FININGS
from service.drink.spec import Clarity, Component
from service.science.mixture import Masses

CLARITY_ORDER: tuple[Clarity, ...] = ("clear", "hazy", "pulpy")


@dataclass(frozen=True)
class Portion:
    """The contribution of one component to one glass.

    component: as the spec writes it, its gaps filled in by its reference or its own spec
    mineral_acid_g: the part of its acid that is not organic
    made_of: portions mixed for it where it is made from a spec, all that stays behind included
    """

    component: Component
    volume_ml: float
    masses: Masses
    acid_meq: float = 0.0
    co2_g: float = 0.0
    mineral_acid_g: float = 0.0
    made_of: tuple["Portion", ...] = ()

    def times(self, k: float) -> "Portion":
        """Return k times as much."""
        return Portion(
            self.component,
            self.volume_ml * k,
            self.masses.scaled(k),
            self.acid_meq * k,
            self.co2_g * k,
            self.mineral_acid_g * k,
            tuple([part.times(k) for part in self.made_of]),
        )

    @property
    def started(self) -> float:
        """Mass that it is started from, over its own: 1 where nothing stays behind."""
        return 100.0 / (self.component.yield_percent or 100.0)

    @property
    def allergens(self) -> tuple[str, ...]:
        """Allergens declared of it, of its finings, and of all that it is made of; silence is not absence."""
        fined = filter(None, [FININGS[fining] for fining in self.component.finings or ()])
        inner = [one for part in self.made_of for one in part.allergens]
        return tuple(dict.fromkeys([*(self.component.allergens or ()), *fined, *inner]))


def cloudiest(parts: Sequence[Portion]) -> Clarity:
    """Return the clarity of a mix: that of its cloudiest part; a part that states none is clear."""
    return CLARITY_ORDER[max(CLARITY_ORDER.index(p.component.clarity or "clear") for p in parts)]


def places(parts: Sequence[Portion], field: str, applies: Callable[[Component], bool]) -> tuple[str, ...]:
    """Return JSON Pointers of a field, within the spec, of the components that it applies to.

    Of a component that is made from a spec they are inside that.
    """
    found: list[str] = []
    for i, part in enumerate(parts):
        if applies(part.component):
            inner = places(part.made_of, field, applies)
            found += [f"/components/{i}/{where}" for where in [f"made_from{p}" for p in inner] or [field]]
    return tuple(found)
