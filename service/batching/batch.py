"""The batch: one glass, sized, measured, costed and labelled."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from service.batching.cost import Cost, Price, check_prices, cost_of
from service.batching.dilution import DILUTION_WATER, Dilution, dilution_water
from service.batching.label import allergens_of, caution_culture, spec_id, use_by
from service.batching.measures import Line, Rounding, Weighing, check_scale, measured, weighed
from service.batching.sizing import Fill, Loss, Size, Sized, StockLimit, sized
from service.batching.totals import PerServe, Totals, per_serve_of, totals_of
from service.drink import Drink, Portion, Spec, assume_ounces, mix, portions
from service.errors import Refusals
from service.notes import Notes
from service.site import Scale


@dataclass(frozen=True)
class Batch:
    """What is made. drink: all of it, dilution water included; serve: one glass of it."""

    spec_id: str
    serves: int
    serve: Drink
    drink: Drink
    components: tuple[Line, ...]
    totals: Totals
    per_serve: PerServe
    weighing: tuple[Weighing, ...]
    fills: tuple[Fill, ...]
    cost: Cost | None
    allergens: frozenset[str]
    use_by: datetime | None

    @property
    def volume_ml(self) -> float:
        return self.drink.volume_ml

    @property
    def serve_ml(self) -> float:
        return self.serve.volume_ml


def scale(  # noqa: PLR0913 - every argument is one field of the request, and all but three may be left out
    spec: Spec,
    size: Size,
    notes: Notes,
    *,
    loss: Loss | None = None,
    dilution: Dilution | None = None,
    rounding: Rounding | None = None,
    scale: Scale | None = None,
    prices: Sequence[Price] = (),
    made_at: datetime | None = None,
    house_maximum_s: float | None = None,
) -> Batch:
    """One glass scaled to a batch; masses scale, and the volume of the whole is computed from them.

    size: what is wanted; serves are served, a volume, vessels or a stock are made
    loss: what is made but not served
    made_at: aware; without it there is no use-by
    house_maximum_s: longest the house keeps any batch [s]
    raises: Refused, SeveralRefused, OutsideValidity
    """
    glass, found = _sized_glass(spec, size, loss, dilution, prices, scale, notes)
    _assume_ounces(size.limited_by, prices, notes)
    caution_culture(spec, notes)
    lines = measured(glass, found.glasses, rounding, notes)
    drink, serve = mix([line.whole for line in lines]), mix(glass)
    return Batch(
        spec_id=spec_id(spec),
        serves=found.serves,
        serve=serve,
        drink=drink,
        components=lines,
        totals=totals_of(lines, drink, notes),
        per_serve=per_serve_of(serve, notes),
        weighing=weighed(lines, scale, notes),
        fills=found.fills,
        cost=cost_of(lines, prices, found.serves, notes) if prices else None,
        allergens=allergens_of(spec, notes),
        use_by=use_by(spec, drink, made_at, house_maximum_s, notes),
    )


def _sized_glass(
    spec: Spec,
    size: Size,
    loss: Loss | None,
    dilution: Dilution | None,
    prices: Sequence[Price],
    scale: Scale | None,
    notes: Notes,
) -> tuple[tuple[Portion, ...], Sized]:
    """One glass, its dilution water included, and how many of it; all that may be refused is, at once.

    raises: Refused, SeveralRefused
    """
    glass = portions(spec, notes)
    refusals = Refusals()
    glass += dilution_water(glass, dilution, notes, refusals)
    with refusals.gather():
        found = sized(size, glass, loss, notes)
    with refusals.gather():
        check_prices(prices, [c.name for c in spec.components] + [DILUTION_WATER] * (dilution is not None))
    with refusals.gather():
        check_scale(scale)
    refusals.raise_any()
    return glass, found


def _assume_ounces(limit: StockLimit | None, prices: Sequence[Price], notes: Notes) -> None:
    at = tuple(f"/prices/{i}/content" for i, price in enumerate(prices) if price.content.unit == "oz")
    if limit is not None and limit.amount.unit == "oz":
        at = ("/size/limited_by/amount", *at)
    assume_ounces(at, notes)
