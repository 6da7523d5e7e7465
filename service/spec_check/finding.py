"""What is found in a spec before it goes out, and what it makes of the question whether to carbonate."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from service.errors import Refused, SeveralRefused
from service.notes import Basis, Caution, Severity, Value

Verdict = Literal["yes", "care", "no"]


@dataclass(frozen=True)
class Finding:
    """One thing found. text holds {names} that are filled from params.

    pointer: JSON Pointer of the one place in the request that it is about
    source: what the basis is, where that can be named
    verdict: what it makes of carbonating; yes where it is about something else
    """

    code: str
    severity: Severity
    pointer: str
    text: str
    basis: Basis
    params: Mapping[str, Value] = field(default_factory=dict)
    source: str = ""
    verdict: Verdict = "yes"


@dataclass(frozen=True)
class Checked:
    """All that is found in one spec, in its order."""

    findings: tuple[Finding, ...]

    @property
    def carbonate(self) -> Verdict:
        """The worst that any finding makes of it."""
        met = {finding.verdict for finding in self.findings}
        return "no" if "no" in met else "care" if "care" in met else "yes"


_ACID_FOODS = "21 CFR 114.3: above pH 4.6 a food is low-acid"
_DENSITIES = "densities of OIML R 22 and of ICUMSA"
_SOLUBILITY = "the data on CO2 in alcohol and sugar, and on freezing, end there"
_CAUTIONS: Mapping[str, tuple[Basis, str, Verdict]] = {
    "gushing": ("common-practice", "", "care"),
    "foams": ("common-practice", "", "care"),
    "strong-drink": ("estimate", "", "care"),
    "low-acid": ("published", _ACID_FOODS, "care"),
    "use-by-needs-ph": ("published", _ACID_FOODS, "care"),
    "shared-heads": ("common-practice", "", "yes"),
    "co2-unstated": ("common-practice", "", "yes"),
    "density-differs": ("published", _DENSITIES, "yes"),
}
"""What a caution of the parts rests on, and what it makes of carbonating."""
_REFUSALS: Mapping[str, tuple[Basis, str]] = {
    "impossible-composition": ("published", _DENSITIES),
    "outside-validity": ("published", _SOLUBILITY),
    "live-culture": ("common-practice", ""),
}
"""What a refusal of the parts rests on."""


def of_cautions(cautions: Iterable[Caution]) -> Iterator[Finding]:
    """Cautions of the parts, one finding for each place; what is without a place is said of every drink.

    What is said once of several components is left to the finding about each of them.
    """
    for caution in (one for one in cautions if not one.about):
        basis, source, verdict = _CAUTIONS.get(caution.code, ("common-practice", "", "yes"))
        for pointer in caution.pointers:
            yield Finding(caution.code, caution.severity, pointer, caution.text, basis, caution.params, source, verdict)


def of_refusal(refused: Refused | SeveralRefused) -> Iterator[Finding]:
    """What the parts refuse, one finding for each fault: such a drink is not carbonated."""
    for one in refused.refusals if isinstance(refused, SeveralRefused) else (refused,):
        basis, source = _REFUSALS.get(one.slug, ("common-practice", ""))
        for fault in one.faults:
            yield Finding(fault.code, "danger", fault.pointer, fault.text, basis, dict(fault.params), source, "no")
