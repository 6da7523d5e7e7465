"""What differs from the standard, in the caller's units."""

from collections.abc import Sequence

from service.api.answers import Answer, tidy
from service.api.batching.money import write_money
from service.api.endpoint import Body
from service.batching import Compared, Difference
from service.money import Money
from service.notes import Value
from service.science.acids import as_g_per_l
from service.science.units import Quantity


def write_differences(differences: Sequence[Difference], answer: Answer) -> list[Body]:
    """Every difference as a sentence and as numbers."""
    return [_difference(found, answer) for found in differences]


def _difference(found: Difference, answer: Answer) -> Body:
    sides = {name: side for name, side in (("here", found.here), ("standard", found.standard)) if side is not None}
    params: dict[str, Value] = {"what": found.what, **{name: _shown(side, answer) for name, side in sides.items()}}
    return {
        "code": found.code,
        **({"component": found.component} if found.component is not None else {}),
        "text": answer.sentence(found.text, params),
        "params": answer.params(params.items()),
        **{name: _side(side, answer) for name, side in sides.items()},
    }


def _shown(side: Compared, answer: Answer) -> Value:
    """With four digits, so that what differs is seen to."""
    if isinstance(side, Money):
        return f"{side.amount:f} {side.currency}"
    if isinstance(side, Quantity) and side.kind == "acidity":
        return f"{as_g_per_l(side.value, 'citric'):.4g} g/l as citric"
    if isinstance(side, Quantity):
        amount = answer.q(side.kind, side.value)
        return f"{amount['value']:.4g} {amount['unit']}"
    return side


def _side(side: Compared, answer: Answer) -> Body:
    if isinstance(side, Money):
        return {"money": write_money(side.amount, side.currency)}
    if isinstance(side, Quantity):
        return answer.q(side.kind, side.value)
    return {"words": side} if isinstance(side, str) else {"value": tidy(side)}
