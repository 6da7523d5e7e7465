"""One component of a reconciliation: what the drinks account for against what the stock says was used."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Annotated

from service.batching import Price, names_of
from service.batching.cost import cost_of_supply
from service.batching.supplies import Supply, by_name, supplies
from service.declared import AMOUNT, Declared, text
from service.drink import Amount, Portion
from service.errors import Fault, Refusals, Refused
from service.limits.readings import MEASURING_PERCENT
from service.money import Money
from service.notes import Notes
from service.reconciliation.asked import ComponentRecord, ReconciliationRequest
from service.reconciliation.counting import Variance, Verdict, error_of
from service.reconciliation.drinks import ReconciledDrink
from service.science.band import Band
from service.science.units import Kind, Quantity


@dataclass(frozen=True)
class Spread:
    """An estimate of a volume [ml] or of a mass [g]."""

    kind: Kind
    band: Band


@dataclass(frozen=True)
class ReconciledComponent:
    """One component: variance = used_by_sales - used_by_count, below nothing where more is gone than sales explain.

    beyond_drinks: of its variance, what no drink's own variance explains already, in money
    """

    name: Annotated[str, text(200)]
    used_by_sales: Annotated[
        Quantity, AMOUNT, "By what was sold and wasted of the drinks, and by what their stock grew or shrank."
    ]
    used_by_count: Annotated[Quantity, AMOUNT, "Opening and bought, less closing."]
    variance: Declared[Spread]
    percent: Annotated[Band | None, "Of used_by_sales; absent where that is nothing."]
    money: Annotated[Money | None, "Of the variance, below nothing where it is missing; absent without its price."]
    verdict: Annotated[Verdict, "within: the error of measuring explains all of it, and it is no variance."]
    beyond_drinks: Money | None


def check_names(asked: ReconciliationRequest) -> None:
    """Refuse a component that no spec has, one that is counted twice, and one within another that is counted.

    raises: Refused, SeveralRefused
    """
    known = {name for record in asked.drinks for name in names_of(record.spec)}
    within = _within(asked)
    counted = [one.name for one in asked.components]
    refusals = Refusals()
    for i, name in enumerate(counted):
        at = f"/components/{i}/name"
        with refusals.gather():
            if name not in known:
                raise Refused(
                    "impossible-reading", [Fault(at, "unknown-component", "No spec has a component of this name.")]
                )
            if name in counted[:i]:
                raise Refused("impossible-reading", [Fault(at, "duplicate", "Each component is counted once.")])
            if name in within:
                text = "Count one of the two: it is part of {whole}, which is counted ready made."
                raise Refused("impossible-reading", [Fault(at, "counted-within", text, (("whole", within[name]),))])
    refusals.raise_any()


def _within(asked: ReconciliationRequest) -> Mapping[str, str]:
    """Return what stands in a spec only as a part of components that are counted themselves, with one of those."""
    counted = {one.name for one in asked.components}
    parts: dict[str, str] = {}
    others: set[str] = set()
    for component in (one for record in asked.drinks for one in record.spec.components):
        inner = [] if component.made_from is None else names_of(component.made_from)
        if component.name in counted:
            parts |= dict.fromkeys(inner, component.name)
            others.add(component.name)
        else:
            others.update((component.name, *inner))
    return {name: whole for name, whole in parts.items() if name not in others}


def reconciled(
    asked: ReconciliationRequest, drinks: Sequence[ReconciledDrink], notes: Notes
) -> tuple[ReconciledComponent, ...]:
    """Return each counted component against what the drinks account for."""
    names = {one.name for one in asked.components}
    prices = {price.component: price for price in asked.prices}
    by_drink = [_Taken.of(drink, names) for drink in drinks]
    return tuple(
        _reconciled(record, [one for one in by_drink if record.name in one.each], prices.get(record.name), notes,
                    f"/components/{i}")
        for i, record in enumerate(asked.components)
    )  # fmt: skip


@dataclass(frozen=True)
class _Taken:
    """The share of each component in a millilitre of a drink, and the drink."""

    drink: ReconciledDrink
    each: Mapping[str, Supply]

    @classmethod
    def of(cls, drink: ReconciledDrink, names: set[str]) -> "_Taken":
        portions: list[Portion] = drink.components(1.0)
        return cls(drink, by_name(supplies(portions, names)))


def _reconciled(
    record: ComponentRecord, taken: Sequence[_Taken], price: Price | None, notes: Notes, at: str
) -> ReconciledComponent:
    kind = record.opening.quantity.kind
    shares = [one.each[record.name].in_kind(kind) for one in taken]
    ledgers = [one.drink.ledger for one in taken]
    supply = taken[0].each[record.name]
    amounts = {"opening": record.opening, "bought": record.bought, "closing": record.closing}
    stock = {name: _in_kind(amount, supply, kind) for name, amount in amounts.items()}
    percent = MEASURING_PERCENT if record.measuring_percent is None else record.measuring_percent
    by_sales = sum(share * ledger.used for share, ledger in zip(shares, ledgers, strict=True))
    by_count = stock["opening"] + stock["bought"] - stock["closing"]
    error = hypot(
        error_of((stock["opening"], stock["closing"]), percent),
        *(share * ledger.used_error for share, ledger in zip(shares, ledgers, strict=True)),
    )
    moved = max(map(abs, (*stock.values(), by_sales)))
    variance = Variance(by_sales - by_count, error, moved)
    explained = sum(share * ledger.variance.beyond for share, ledger in zip(shares, ledgers, strict=True))
    _caution(record.name, variance, kind, notes, at)
    return ReconciledComponent(
        name=record.name,
        used_by_sales=Quantity(kind, by_sales),
        used_by_count=Quantity(kind, by_count),
        variance=Spread(kind, variance.band),
        percent=variance.band.map(lambda end: 100.0 * end / by_sales) if by_sales > 0.0 else None,
        money=_money(variance.value, kind, supply, price),
        verdict=variance.verdict,
        beyond_drinks=_money(variance.beyond and variance.value - explained, kind, supply, price),
    )


def _in_kind(amount: Amount | None, supply: Supply, kind: Kind) -> float:
    """Return an amount of a component by volume [ml] or mass [g]; the other is by its density in the spec."""
    if amount is None:
        return 0.0
    quantity = amount.quantity
    if quantity.kind == kind:
        return quantity.value
    return quantity.value * supply.in_kind(kind) / supply.in_kind(quantity.kind)


def _money(value: float, kind: Kind, supply: Supply, price: Price | None) -> Money | None:
    if price is None:
        return None
    times = value / supply.in_kind(kind)
    return cost_of_supply(Supply(supply.component, supply.volume_ml * times, supply.mass_g * times), price)


def _caution(name: str, variance: Variance, kind: Kind, notes: Notes, at: str) -> None:
    much = Quantity("volume", abs(variance.value)) if kind == "volume" else Quantity("mass", abs(variance.value))
    if variance.verdict == "short":
        text = (
            "Count {component} again: {missing} more is gone than the drinks account for, and measuring does not "
            "explain it."
        )
        notes.caution("component-short", "warning", text, at=at, component=name, missing=much)
    elif variance.verdict == "over":
        text = (
            "Count {component} again: {surplus} less is gone than the drinks account for, and measuring does not "
            "explain it."
        )
        notes.caution("component-over", "warning", text, at=at, component=name, surplus=much)
