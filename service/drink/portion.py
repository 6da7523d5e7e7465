"""What one component brings to a glass."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.drink.allergens import FININGS
from service.drink.spec import Clarity, Component
from service.science.mixture import Masses

CLARITY_ORDER: tuple[Clarity, ...] = ("clear", "hazy", "pulpy")


@dataclass(frozen=True)
class Portion:
    """What one component brings to one glass.

    component: as the spec writes it, with what its reference or its own spec fills in
    mineral_acid_g: of its acid, what is not organic
    made_of: what is mixed for it where it has a spec of its own, all that stays behind included
    """

    component: Component
    volume_ml: float
    masses: Masses
    acid_meq: float = 0.0
    co2_g: float = 0.0
    mineral_acid_g: float = 0.0
    made_of: tuple["Portion", ...] = ()

    def times(self, k: float) -> "Portion":
        """k times as much."""
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
        """How many times as much it is started from, by mass: 1 where nothing stays behind."""
        return 100.0 / (self.component.yield_percent or 100.0)

    @property
    def allergens(self) -> tuple[str, ...]:
        """What is declared of it, of its finings, and of all that it is made of; silence is not absence."""
        fined = filter(None, [FININGS[fining] for fining in self.component.finings or ()])
        inner = [one for part in self.made_of for one in part.allergens]
        return tuple(dict.fromkeys([*(self.component.allergens or ()), *fined, *inner]))


def cloudiest(parts: Sequence[Portion]) -> Clarity:
    """The clarity of a mix: that of its cloudiest part; what states none is clear."""
    return CLARITY_ORDER[max(CLARITY_ORDER.index(p.component.clarity or "clear") for p in parts)]


def places(parts: Sequence[Portion], field: str, applies: Callable[[Component], bool]) -> tuple[str, ...]:
    """JSON Pointers of a field, within the spec, of what is so; where it comes from a spec of its own, inside that."""
    found: list[str] = []
    for i, part in enumerate(parts):
        if applies(part.component):
            inner = places(part.made_of, field, applies)
            found += [f"/components/{i}/{where}" for where in [f"made_from{p}" for p in inner] or [field]]
    return tuple(found)
