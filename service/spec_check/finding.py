"""Findings in a spec, the lines that they point to, and what they make of the question whether to carbonate."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal

from service.declared import CODE, Declared, Inline, Params, Sentence, text
from service.drink import Component, Spec
from service.drink.references import filled
from service.errors import Fault, Refused, SeveralRefused
from service.notes import Basis, Caution, Severity
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
        """Tell whether it has acids or a spec of its own."""
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


Verdict = Literal["yes", "care", "no"]


@dataclass(frozen=True)
class Finding:
    """One thing to put right or to know.

    source: of the basis, where that can be named
    """

    code: Annotated[str, CODE]
    severity: Declared[Severity]
    pointer: Annotated[str, text(500), "Into this request; of a sheet, into this answer."]
    text: Sentence
    basis: Declared[Basis]
    params: Params = field(default_factory=dict)
    source: Declared[str | None] = None
    carbonate: Annotated[
        Literal["care", "no"] | None, "What it makes of carbonating; absent where it is about something else."
    ] = None


@dataclass(frozen=True)
class Checked:
    """All that is found in one spec, the gravest first."""

    findings: Declared[tuple[Finding, ...]]

    @property
    def carbonate(self) -> Annotated[Verdict, "The worst that any finding makes of it: arithmetic, not approval."]:
        met = {finding.carbonate for finding in self.findings}
        return "no" if "no" in met else "care" if "care" in met else "yes"


@dataclass(frozen=True)
class SpecCheckResult:
    """The findings about one spec, the gravest first."""

    id: Annotated[str, text(64)]
    found: Inline[Checked]


@dataclass(frozen=True)
class SpecChecks:
    """One result for each spec, in the order of the request."""

    items: Declared[tuple[SpecCheckResult, ...]]


_ACID_FOODS = "21 CFR 114.3: above pH 4.6 a food is low-acid"
_DENSITIES = "densities of OIML R 22 and of ICUMSA"
_SOLUBILITY = "the data on CO2 in alcohol and sugar, and on freezing, end there"
_SHAPES = "/openapi.json"
_CAUTIONS: Mapping[str, tuple[Basis, str | None, Literal["care"] | None]] = {
    "gushing": ("common-practice", None, "care"),
    "foams": ("common-practice", None, "care"),
    "strong-drink": ("estimate", None, "care"),
    "low-acid": ("published", _ACID_FOODS, "care"),
    "use-by-needs-ph": ("published", _ACID_FOODS, "care"),
    "shared-heads": ("common-practice", None, None),
    "co2-unstated": ("common-practice", None, None),
    "density-differs": ("published", _DENSITIES, None),
}
"""Basis and source of a caution of the parts, and its word on carbonating."""
_REFUSALS: Mapping[str, tuple[Basis, str | None]] = {
    "impossible-composition": ("published", _DENSITIES),
    "outside-validity": ("published", _SOLUBILITY),
    "live-culture": ("common-practice", None),
}
"""Basis and source of a refusal of the parts."""


def of_cautions(cautions: Iterable[Caution]) -> Iterator[Finding]:
    """Yield the cautions of the parts, one finding for each place; one without a place is said of every drink.

    A caution about several components at once is left to the finding about each of them.
    """
    for caution in (one for one in cautions if not one.about):
        basis, source, verdict = _CAUTIONS.get(caution.code, ("common-practice", None, None))
        for pointer in caution.pointers:
            yield Finding(caution.code, caution.severity, pointer, caution.text, basis, caution.params, source, verdict)


def of_refusal(refused: Refused | SeveralRefused) -> Iterator[Finding]:
    """Yield the refusals of the parts, one finding for each fault: such a drink is not carbonated."""
    for one in refused.refusals if isinstance(refused, SeveralRefused) else (refused,):
        basis, source = _REFUSALS.get(one.slug, ("common-practice", None))
        for fault in one.faults:
            yield Finding(fault.code, "danger", fault.pointer, fault.text, basis, dict(fault.params), source, "no")


def findings_of_faults(faults: Iterable[Fault], at: str) -> Checked:
    """Return the faults of a document that is no spec, as findings: a drink that cannot be read is not carbonated.

    at: JSON Pointer of the document in the request; those of the faults are into it
    """
    return Checked(
        tuple(
            Finding(one.code, "danger", at + one.pointer, one.text, "published", dict(one.params), _SHAPES, "no")
            for one in faults
        )
    )
