"""A period reconciled: each drink, each component, and what it comes to."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from service.batching import check_prices, names_of
from service.batching.cost import caution_unpriced
from service.declared import Declared
from service.drink import assume_ounces
from service.errors import Fault, Refusals, Refused
from service.limits.readings import MEASURING_PERCENT
from service.money import Money
from service.notes import Notes
from service.reconciliation import components, drinks
from service.reconciliation.asked import ComponentRecord, DrinkRecord, ReconciliationRequest
from service.reconciliation.components import ReconciledComponent, check_names
from service.reconciliation.drinks import ReconciledDrink


@dataclass(frozen=True)
class Reconciliation:
    """Each drink and each component in the order of the request."""

    drinks: Declared[tuple[ReconciledDrink, ...]]
    components: Declared[tuple[ReconciledComponent, ...]]
    total: Annotated[
        Money | None,
        "Of all that measuring does not explain, below nothing where it is missing. Each loss counts once: of a "
        "component what no drink's variance holds already. Absent without prices.",
    ]


def reconcile(asked: ReconciliationRequest, notes: Notes) -> Reconciliation:
    """Hold what was counted against what the record accounts for; nothing is refused for the state of a vessel.

    raises: Refused, SeveralRefused for a record that cannot be
    """
    refusals = Refusals()
    with refusals.gather():
        _check_period(asked)
    with refusals.gather():
        check_names(asked)
    with refusals.gather():
        check_prices(asked.prices, None, [name for one in asked.drinks for name in names_of(one.spec)])
    found = [
        drinks.reconciled(record, asked.prices, notes, refusals, f"/drinks/{i}")
        for i, record in enumerate(asked.drinks)
    ]
    refusals.raise_any()
    whole = tuple(one for one in found if one is not None)
    counted = components.reconciled(asked, whole, notes)
    if asked.prices:
        caution_unpriced([portion for one in whole for portion in one.glass], asked.prices, notes)
    _assume_silent(asked, notes)
    _assume_ounces(asked, notes)
    return Reconciliation(whole, counted, _total(asked, whole, counted))


def _check_period(asked: ReconciliationRequest) -> None:
    if asked.to <= asked.from_:
        text = "The period ends before it has begun."
        raise Refused("impossible-reading", [Fault("/to", "ends-before-it-begins", text)])


def _assume_silent(asked: ReconciliationRequest, notes: Notes) -> None:
    """Note what the record leaves out, and the error of measuring where none is stated."""
    records: list[tuple[str, tuple[str, ...], DrinkRecord | ComponentRecord]]
    records = [(f"/drinks/{i}", ("made", "wasted_ml", "returned_ml"), one) for i, one in enumerate(asked.drinks)]
    records += [(f"/components/{i}", ("bought",), one) for i, one in enumerate(asked.components)]
    none = [
        f"{at}/{name.removesuffix('_ml')}" for at, names, one in records for name in names if getattr(one, name) is None
    ]
    if none:
        notes.assume("what the record leaves out", "none", "default", at=tuple(none))
    unstated = tuple(f"{at}/measuring_percent" for at, _, one in records if one.measuring_percent is None)
    if unstated:
        notes.assume("error of each measured amount, %", float(MEASURING_PERCENT), "estimate", at=unstated)


def _assume_ounces(asked: ReconciliationRequest, notes: Notes) -> None:
    at = [f"/prices/{i}/content" for i, price in enumerate(asked.prices) if price.content.unit == "oz"]
    for i, record in enumerate(asked.components):
        for name in ("opening", "bought", "closing"):
            amount = getattr(record, name)
            if amount is not None and amount.unit == "oz":
                at.append(f"/components/{i}/{name}")
    assume_ounces(tuple(at), notes)


def _total(
    asked: ReconciliationRequest, found: Sequence[ReconciledDrink], counted: Sequence[ReconciledComponent]
) -> Money | None:
    if not asked.prices:
        return None
    parts = [one.money for one in found if one.verdict != "within"] + [one.beyond_drinks for one in counted]
    amount = sum((part.amount for part in parts if part is not None), Decimal(0))
    return Money(amount, asked.prices[0].price.currency)
