"""The allergens of a batch by the European and by the US list, and the components that state none."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from service.declared import Declared, items, text
from service.drink import Component, Spec
from service.drink.allergens import FININGS, PERHAPS_US, eu_groups, us_major
from service.errors import Term
from service.limits.batches import SULPHITES_MG_PER_KG
from service.notes import Notes, listed
from service.science.ingredients import INGREDIENTS

_EU_LAW = "Regulation (EU) No 1169/2011, Annex II"


EuAllergens = Annotated[tuple[Annotated[str, text(40)], ...], items(14)]
"""Groups of Regulation (EU) 1169/2011 Annex II, in their order."""
UsAllergens = Annotated[tuple[Annotated[str, text(40)], ...], items(9)]
"""Major food allergens of the United States, in their order."""


@dataclass(frozen=True)
class AllergenSource:
    """An allergen as it was declared, and the components that bring it."""

    allergen: Annotated[str, text(40)]
    components: Declared[tuple[Annotated[str, text(200)], ...]]


@dataclass(frozen=True)
class Allergens:
    """Allergens to declare, by both lists, and the components that bring them.

    unstated: components that say nothing of allergens
    """

    allergens: EuAllergens
    allergens_us: UsAllergens
    allergen_sources: Declared[tuple[AllergenSource, ...]]
    unstated: tuple[str, ...]


@dataclass(frozen=True)
class _Line:
    """A component as the spec writes it, and the allergens that it brings.

    at: its JSON Pointer
    by_reference: those of its reference; codes: all of them
    known: whether they are all known
    """

    at: str
    component: Component
    by_reference: tuple[str, ...] | None
    codes: tuple[str, ...]
    known: bool


def _line(at: str, component: Component) -> _Line:
    """Return a component with its allergens; acids hold none, and a spec that it is made from tells its own."""
    by_reference = INGREDIENTS[component.reference].allergens if component.reference is not None else None
    stated = by_reference if component.allergens is None else component.allergens
    fined = [FININGS[fining] for fining in component.finings or ()]
    known = not (stated is None and component.acid_solution is None and component.made_from is None)
    return _Line(at, component, by_reference, (*(stated or ()), *filter(None, fined)), known)


def allergens_of(spec: Spec, notes: Notes) -> Allergens:
    """Return every allergen that a component, its finings or its reference brings; silence is not absence."""
    lines = tuple(_lines(spec, "/spec"))
    brought: dict[str, tuple[str, ...]] = {}
    for line in lines:
        for code in dict.fromkeys(line.codes):
            brought[code] = (*brought.get(code, ()), line.component.name)
    silent = [line for line in lines if not line.known]
    _caution_unstated(silent, notes)
    _caution_references(lines, notes)
    _note_limits(lines, notes)
    unstated = tuple([line.component.name for line in silent])
    sources = tuple([AllergenSource(code, components) for code, components in brought.items()])
    return Allergens(eu_groups(brought), us_major(brought), sources, unstated)


def _lines(spec: Spec, at: str) -> Iterator[_Line]:
    for i, component in enumerate(spec.components):
        here = f"{at}/components/{i}"
        yield _line(here, component)
        if component.made_from is not None:
            yield from _lines(component.made_from, f"{here}/made_from")


def _names(lines: Sequence[_Line]) -> str:
    return listed([line.component.name for line in lines])


def _at(lines: Sequence[_Line], field: str = "allergens") -> tuple[str, ...]:
    return tuple(f"{line.at}/{field}" for line in lines)


def _caution_unstated(silent: Sequence[_Line], notes: Notes) -> None:
    if silent:
        notes.caution("allergens-unstated", "warning",
                      "Check the labels of {components} before you serve: nothing is stated of their allergens.",
                      at=_at(silent), components=_names(silent))  # fmt: skip


def _caution_references(lines: Sequence[_Line], notes: Notes) -> None:
    filled = [line for line in lines if line.component.allergens is None and line.by_reference]
    if filled:
        notes.caution("allergens-by-reference", "warning",
                      "Check the labels of {components}: their allergens are those of the generic ingredient.",
                      at=_at(filled), components=_names(filled))  # fmt: skip
    for line in lines:
        missing = [code for code in line.by_reference or () if code not in line.codes]
        if missing:
            notes.caution("allergen-undeclared", "warning",
                          "Check the label of {component}: it declares no {allergens}, which its reference holds.",
                          at=_at([line]), component=line.component.name,
                          allergens=listed([Term(one) for one in sorted(missing)]))  # fmt: skip


def _note_limits(lines: Sequence[_Line], notes: Notes) -> None:
    sulphites = [line for line in lines if "sulphites" in line.codes]
    if sulphites:
        notes.assume("sulphites are declared from, mg/kg or mg/l as total SO2 of the drink as served",
                     SULPHITES_MG_PER_KG, "published", f"{_EU_LAW} point 12; 21 CFR 101.100(a)(4)",
                     at=_at(sulphites), code="sulphites-declared-from")  # fmt: skip
    fined = [line for line in lines if line.component.finings]
    if fined:
        notes.assume("allergens of finings and washes", "declared: only beer and wine are exempt, and not of all",
                     "published", f"{_EU_LAW} point 4 b", at=_at(fined, "finings"))  # fmt: skip
    cereals = [line for line in lines if not PERHAPS_US.isdisjoint(line.codes) and "wheat" not in line.codes]
    if cereals:
        notes.caution("cereal-unstated", "info",
                      "Name the cereal of {components}: gluten without its cereal counts as wheat on the US list.",
                      at=_at(cereals), components=_names(cereals))  # fmt: skip
