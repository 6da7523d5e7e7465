"""One drink of a reconciliation: expected against counted, and what would explain the difference."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from service.batching import Price
from service.batching.cost import cost_of_glass
from service.declared import MASS, VOLUME, Declared, text
from service.drink import Drink, Portion, mix, portions
from service.errors import Refusals
from service.limits.charging import LONG_CO2_G_PER_L, SHORT_ABV, SHORT_CO2_G_PER_L
from service.limits.readings import MEASURING_PERCENT
from service.money import Money
from service.notes import Notes
from service.reconciliation.asked import DrinkRecord
from service.reconciliation.counting import Variance, Verdict, error_of, volume_of
from service.science.band import Band, combine
from service.science.units import Quantity


@dataclass(frozen=True)
class Ledger:
    """The volumes of one drink in the period [ml]: opening + made + returned = sold + wasted + closing - variance.

    percent: error of each that is measured, which sold is not
    """

    opening: float
    made: float
    returned: float
    sold: float
    wasted: float
    closing: float
    percent: float

    @property
    def expected(self) -> float:
        """Volume that the record leaves."""
        return self.opening + self.made + self.returned - self.sold - self.wasted

    @property
    def used(self) -> float:
        """Volume that must have been made, by what was sold and wasted and by the stock."""
        return self.sold + self.wasted - self.returned + self.closing - self.opening

    @property
    def used_error(self) -> float:
        return error_of((self.opening, self.returned, self.wasted, self.closing), self.percent)

    @property
    def variance(self) -> Variance:
        measured = (self.opening, self.made, self.returned, self.wasted, self.closing)
        return Variance(self.closing - self.expected, error_of(measured, self.percent), max(*measured, self.sold))


@dataclass(frozen=True)
class ReconciledDrink:
    """One drink: expected = opening + made - sold - wasted + returned, and variance = counted - expected.

    glass: its portions; glass_ml: their volume together
    """

    id: Annotated[str, text(64)]
    opening_ml: Annotated[float, VOLUME]
    made_ml: Annotated[float, VOLUME]
    sold_ml: Annotated[float, VOLUME]
    expected_ml: Annotated[float, VOLUME, "Below nothing where more was sold than there was."]
    counted_ml: Annotated[Band, VOLUME]
    variance_ml: Annotated[Band, VOLUME, "Below nothing where less was counted than expected."]
    variance_serves: Declared[Band]
    percent: Annotated[Band | None, "Of the volume sold; absent where nothing was."]
    money: Annotated[Money | None, "Of the variance, below nothing where it is missing; absent without prices."]
    verdict: Annotated[Verdict, "within: the error of measuring explains all of it, and it is no variance."]
    explaining_serve_ml: Annotated[
        Band | None, VOLUME, "The serve that leaves no variance; absent where nothing was sold, or where none does."
    ]
    co2_lost_g: Annotated[Band, MASS, "In what was wasted and what is short."]
    ledger: Ledger
    glass: tuple[Portion, ...]
    glass_ml: float

    def components(self, volume_ml: float) -> list[Portion]:
        """Return what a volume of it is mixed from."""
        return [portion.times(volume_ml / self.glass_ml) for portion in self.glass]


def reconciled(
    record: DrinkRecord, prices: Sequence[Price], notes: Notes, refusals: Refusals, at: str
) -> ReconciledDrink | None:
    """Return one drink reconciled; None where it is refused.

    at: JSON Pointer of the record
    """
    glass: tuple[Portion, ...] = ()
    with refusals.gather():
        glass = portions(record.spec, notes, at=f"{at}/spec")
    if not glass:
        return None
    drink = mix(glass)
    serve_ml = drink.volume_ml if record.serve_ml is None else record.serve_ml
    if record.serve_ml is None:
        notes.assume(
            "serve of {drink}", Quantity("volume", serve_ml), "default", at=f"{at}/serve", code="serve-of-the-drink",
            drink=record.spec.name,
        )  # fmt: skip
    ledger = _ledger(record, drink, serve_ml, notes, refusals, at)
    if ledger is None:
        return None
    variance, sold = ledger.variance, ledger.sold
    found = ReconciledDrink(
        id=record.id,
        opening_ml=ledger.opening,
        made_ml=ledger.made,
        sold_ml=sold,
        expected_ml=ledger.expected,
        counted_ml=_give_or_take(ledger.closing, error_of((ledger.closing,), ledger.percent)),
        variance_ml=variance.band,
        variance_serves=variance.band.map(lambda end: end / serve_ml),
        percent=variance.band.map(lambda end: 100.0 * end / sold) if sold else None,
        money=_money(glass, variance.value / drink.volume_ml, prices),
        verdict=variance.verdict,
        explaining_serve_ml=_explaining(variance, serve_ml, record.sold_serves),
        co2_lost_g=_co2_lost(record, ledger, drink, notes, at),
        ledger=ledger,
        glass=glass,
        glass_ml=drink.volume_ml,
    )
    _caution(record, found, serve_ml, notes, at)
    return found


def _ledger(
    record: DrinkRecord, drink: Drink, serve_ml: float, notes: Notes, refusals: Refusals, at: str
) -> Ledger | None:
    name, before = record.spec.name, len(refusals)
    volumes = {"opening": 0.0, "made": 0.0, "closing": 0.0}
    for field in volumes:
        stock = getattr(record, field)
        with refusals.gather():
            volumes[field] = 0.0 if stock is None else volume_of(stock, drink, name, notes, at=f"{at}/{field}")
    if len(refusals) > before:
        return None
    return Ledger(
        opening=volumes["opening"],
        made=volumes["made"],
        returned=record.returned_ml or 0.0,
        sold=record.sold_serves * serve_ml,
        wasted=record.wasted_ml or 0.0,
        closing=volumes["closing"],
        percent=MEASURING_PERCENT if record.measuring_percent is None else record.measuring_percent,
    )


def _give_or_take(value: float, error: float) -> Band:
    return Band(value - error, value, value + error)


def _money(glass: Sequence[Portion], glasses: float, prices: Sequence[Price]) -> Money | None:
    if not prices:
        return None
    priced = {price.component: price for price in prices}
    found = cost_of_glass([portion.times(glasses) for portion in glass], priced, prices[0].price.currency)
    return Money(found.amount + 0, found.currency)  # no "-0"


def _explaining(variance: Variance, serve_ml: float, sold_serves: int) -> Band | None:
    """Return the serve that leaves no variance: serve - variance / sold."""
    if not sold_serves:
        return None
    found = variance.band.map(lambda end: serve_ml - end / sold_serves)
    return found if found.low > 0.0 else None


def _co2_lost(record: DrinkRecord, ledger: Ledger, drink: Drink, notes: Notes, at: str) -> Band:
    """Return the CO2 in what was wasted and in what is short beyond the error of measuring [g]."""
    variance = ledger.variance
    short = variance.verdict == "short"
    lost_l = (ledger.wasted - (variance.value if short else 0.0)) / 1000.0
    error_l = (variance.error if short else error_of((ledger.wasted,), ledger.percent)) / 1000.0
    stated = record.co2_g_per_l
    if stated is None:
        level = SHORT_CO2_G_PER_L if drink.abv >= SHORT_ABV else LONG_CO2_G_PER_L
        notes.assume("CO2 of {drink} in its vessels", Quantity("co2", level.typical), "common-practice", at=f"{at}/co2",
                     code="co2-of-the-drink", drink=record.spec.name)  # fmt: skip
    else:
        level = Band(stated, stated, stated)
    by_level = (level.low * lost_l, level.high * lost_l)
    by_volume = (level.typical * (lost_l - error_l), level.typical * (lost_l + error_l))
    return combine(level.typical * lost_l, (by_level, by_volume))


def _caution(record: DrinkRecord, found: ReconciledDrink, serve_ml: float, notes: Notes, at: str) -> None:
    """Tell a variance beyond the error of measuring, the serve that explains it, and sales of what was not there."""
    name, variance = record.spec.name, found.ledger.variance
    much = Quantity("volume", abs(variance.value))
    if variance.verdict == "short":
        text = "{drink}: {missing} less is there than the record leaves, and measuring does not explain it."
        notes.caution("drink-short", "warning", text, at=at, drink=name, missing=much)
    elif variance.verdict == "over":
        text = "{drink}: {surplus} more is there than the record leaves, and measuring does not explain it."
        notes.caution("drink-over", "warning", text, at=at, drink=name, surplus=much)
    if variance.verdict != "within" and found.explaining_serve_ml is not None:
        text = "{drink}: {poured} in each glass sold instead of {serve} would explain all of it."
        poured, serve = Quantity("volume", found.explaining_serve_ml.typical), Quantity("volume", serve_ml)
        notes.caution("explaining-serve", "info", text, at=f"{at}/serve", drink=name, poured=poured, serve=serve)
    if found.expected_ml < -variance.error:
        text = (
            "{drink}: {beyond} more was sold and wasted than there was. A batch is not in the record, or another drink "
            "was rung up as this one."
        )
        beyond = Quantity("volume", -found.expected_ml)
        notes.caution("sold-beyond-stock", "warning", text, at=f"{at}/sold_serves", drink=name, beyond=beyond)
