"""The batch: one glass, sized, measured, costed and labelled."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from service.batching.allergens import Allergens, allergens_of
from service.batching.cost import Cost, check_prices, cost_of
from service.batching.depletion import Depletion, depletion_of
from service.batching.differences import Difference, differences_of, standard_glass
from service.batching.dilution import Dilution
from service.batching.drift import Drifts
from service.batching.fills import Fill, whole_serves_of
from service.batching.in_glass import InGlass, Melt, caution_ice, in_glass
from service.batching.keeping import use_by
from service.batching.label import Label, caution_culture, spec_id
from service.batching.making import glass_of, make
from service.batching.measures import Line, Rounding
from service.batching.sizing import Loss, Size
from service.batching.stock import OnHand, StockLimit, check_components, on_hand_of
from service.batching.supplies import Supply, by_name, names_of, supplies
from service.batching.totals import PerServe, Totals, per_serve_of, totals_of
from service.batching.weighing import Weighing, check_scale
from service.drink import DILUTION_WATER, Drink, Portion, Spec, assume_ounces, without_strength
from service.errors import Fault, Refusals, Refused
from service.money import Money
from service.notes import Notes
from service.site import Price, Scale

_SUCH_AS = "spirit-40"
"""A reference that a newcomer may try."""


@dataclass(frozen=True)
class Batch:
    """What is made. drink: all of it, dilution water included; serve: one glass of it.

    shopping: what is bought, for what is made from a spec of its own and has no price that of its components
    differences: from the standard; None without one

    factor: the batch over what was asked for; other than 1 only where it may vary so that whole steps fit
    whole_serves: whole pours that the vessels give; None where no vessels are named
    heel_ml: left in each vessel after them; None where there is more than one kind, or none
    """

    spec_id: str
    serves: int
    serve: Drink
    drink: Drink
    components: tuple[Line, ...]
    totals: Totals
    per_serve: PerServe
    weighing: tuple[Weighing, ...]
    factor: float
    drifts: Drifts
    fills: tuple[Fill, ...]
    whole_serves: int | None
    heel_ml: float | None
    on_hand: tuple[OnHand, ...]
    in_glass: InGlass | None
    cost: Cost | None
    shopping: tuple[Supply, ...]
    depletion: tuple[Depletion, ...]
    differences: tuple[Difference, ...] | None
    label: Label

    @property
    def allergens(self) -> Allergens:
        return self.label.allergens

    @property
    def use_by(self) -> datetime | None:
        return self.label.use_by

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
    selling_price: Money | None = None,
    on_hand: Sequence[StockLimit] = (),
    melt: Melt | None = None,
    made_at: datetime | None = None,
    house_maximum_s: float | None = None,
    against: Spec | None = None,
    now: datetime | None = None,
) -> Batch:
    """One glass scaled to a batch; masses scale, and the volume of the whole is computed from them.

    size: what is wanted; serves are served, a volume, vessels or a stock are made
    loss: what is made but not served
    on_hand: what is in the house, to be held against what the batch takes
    melt: of the ice in the glass
    selling_price: of one serve
    made_at: aware; without it there is no use-by
    house_maximum_s: longest the house keeps any batch [s]
    against: the standard that this spec is compared with
    now: by which the age of vessels is judged; made_at unless stated
    raises: Refused, SeveralRefused, OutsideValidity
    """
    refusals = Refusals()
    names = [*names_of(spec), *[DILUTION_WATER] * (dilution is not None)]
    with refusals.gather():
        check_prices(prices, selling_price, [*names, *(names_of(against) if against else ())])
    with refusals.gather():
        check_components([held.component for held in on_hand], names, "/on_hand", "stock")
    with refusals.gather():
        check_scale(scale)
    standard: tuple[Portion, ...] = ()
    if against is not None:
        with refusals.gather():
            standard = standard_glass(against, dilution, notes)
    glass = glass_of(spec, dilution, notes, refusals)
    made = make(glass, size, notes, refusals, loss=loss, rounding=rounding, scale=scale, now=now or made_at)
    lines, drink, serve = made.components, made.drink, glass.serve
    taken_ml = serve.volume_ml / (loss.served_share if loss is not None else 1.0)
    _assume_ounces(size.limited_by, prices, on_hand, notes)
    caution_culture(serve, notes)
    caution_ice(spec, dilution, melt, notes)
    unstated = tuple(name for _, name in without_strength(glass.parts))
    return Batch(
        spec_id=spec_id(spec),
        serves=made.serves,
        serve=serve,
        drink=drink,
        components=lines,
        totals=totals_of(lines, drink, notes),
        per_serve=per_serve_of(serve, notes),
        weighing=made.weighing,
        factor=made.factor,
        drifts=made.drifts,
        fills=made.fills,
        whole_serves=whole_serves_of(made.fills, taken_ml) if made.fills else None,
        heel_ml=made.fills[0].heel_ml(taken_ml) if len(made.fills) == 1 else None,
        on_hand=on_hand_of(lines, on_hand, notes),
        in_glass=in_glass(serve, melt, dilution, notes) if melt is not None else None,
        cost=cost_of(lines, prices, selling_price, made.serves, notes) if prices else None,
        shopping=_shopping(lines, prices),
        depletion=depletion_of(lines, notes),
        differences=differences_of(glass, standard, prices, notes) if standard else None,
        label=Label(
            spec.name,
            None if unstated else drink.abv,
            unstated,
            allergens_of(spec, notes),
            made_at,
            use_by(spec, glass.parts, drink, made_at=made_at, house_maximum_s=house_maximum_s, notes=notes),
        ),
    )


def more_than_water(batch: Batch) -> Batch:
    """The batch, where there is a drink to mix, buy and label; water alone is only ever charged.

    raises: Refused
    """
    if all(line.glass.masses.water_g == line.glass.masses.total_g for line in batch.components):
        text = (
            "Nothing in this spec says that it holds more than water. State abv, the strength in %vol, or sugar or "
            "acidity of its components, or name a reference, such as {reference}; for soda water, its salt."
        )
        fault = Fault("/spec/components", "only-water", text, (("reference", _SUCH_AS),))
        raise Refused("impossible-batch", [fault])
    return batch


def _shopping(lines: Sequence[Line], prices: Sequence[Price]) -> tuple[Supply, ...]:
    """What is bought; water to dilute with only where it has a price."""
    priced = {price.component for price in prices}
    taken = by_name(supplies((line.whole for line in lines), priced))
    return tuple(one for one in taken.values() if one.name != DILUTION_WATER or one.name in priced)


def _assume_ounces(
    limit: StockLimit | None, prices: Sequence[Price], on_hand: Sequence[StockLimit], notes: Notes
) -> None:
    at = [f"/prices/{i}/content" for i, price in enumerate(prices) if price.content.unit == "oz"]
    at += [f"/on_hand/{i}/amount" for i, held in enumerate(on_hand) if held.amount.unit == "oz"]
    if limit is not None and limit.amount.unit == "oz":
        at.insert(0, "/size/limited_by/amount")
    assume_ounces(tuple(at), notes)
