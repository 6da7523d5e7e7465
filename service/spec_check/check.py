"""One spec, checked before it goes out."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from service import safety
from service.batching.label import use_by
from service.drink import Spec, assume_ounces, caution_bubbles, mix, portions
from service.errors import Refused, SeveralRefused, within_validity
from service.notes import Notes
from service.spec_check.finding import Checked, Finding, Line, lines_of, of_cautions, of_refusal
from service.spec_check.smallest import BOTTLE, Smallest, rounding
from service.spec_check.style import shelf_life, style_of
from service.spec_check.unstated import not_acid, unstated
from service.vessel import VesselGiven, vessel_of

_VESSEL = vessel_of(VesselGiven(preset=BOTTLE), Notes())
_GRAVITY = ("danger", "warning", "info")


def check(spec: Spec, smallest: Smallest, notes: Notes, *, at: str = "/spec") -> Checked:
    """Return all findings in a spec, the gravest first; a liquid that cannot exist is one of them.

    A value that the spec leaves out is a finding, and therefore no assumption as well.

    at: JSON Pointer of the spec in the request
    """
    lines = tuple(lines_of(spec, at))
    assume_ounces(tuple(f"{line.at}/amount" for line in lines if line.component.amount.unit == "oz"), notes)
    own = Notes()
    try:
        with within_validity(at):
            found = list(_of_the_drink(spec, lines, smallest, own, at))
    except Refused as refused:
        found = list(of_refusal(refused))
    found += [*of_cautions(own.cautions), *unstated(lines)]
    return Checked(tuple(sorted(found, key=lambda finding: _GRAVITY.index(finding.severity))))


def _of_the_drink(spec: Spec, lines: Sequence[Line], smallest: Smallest, own: Notes, at: str) -> Iterator[Finding]:
    """Yield the findings in the drink that the components make together.

    own: takes the cautions of the parts
    raises: Refused, OutsideValidity where they make no liquid
    """
    glass = portions(spec, own, at=at)
    drink = mix(glass)
    part = partial(_part, own, at)
    yield from part(partial(safety.check_dead, drink))
    beyond = part(partial(safety.check_known, drink))
    if beyond:
        yield from beyond
        part(partial(caution_bubbles, drink, own))
    else:
        dead = replace(drink, live_culture=False) if drink.live_culture else drink
        yield from part(partial(safety.check_fit_to_charge, dead, _VESSEL, safety.cold_c(drink), own))
        if not drink.live_culture:  # no level is named for a drink that is never charged
            yield from style_of(drink, at)
    if not _little_acid(own):
        part(partial(use_by, spec, glass, drink, made_at=None, house_maximum_s=None, notes=own))
    if _little_acid(own):
        yield from not_acid(lines)
    yield from shelf_life(glass, lines, at)
    yield from rounding(glass, drink, smallest, at)


def _part(own: Notes, at: str, judge: Callable[[], object]) -> list[Finding]:
    """Return the refusal of a part, with pointers into the spec; those to fields that no spec has are left out."""
    try:
        with own.within({"/drink/spec": at, "/drink": at, "/spec": at, "/temperature": None, "/vessel": None}):
            judge()
    except (Refused, SeveralRefused) as refused:
        return list(of_refusal(refused))
    return []


def _little_acid(own: Notes) -> bool:
    """Tell whether a caution names germs that grow without acid: one of sealed drinks, or one of keeping."""
    return any(caution.code in ("low-acid", "use-by-needs-ph") for caution in own.cautions)
