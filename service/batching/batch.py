"""The batch: one glass, sized, measured, costed and labelled."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

from service.batching.allergens import Allergens, allergens_of
from service.batching.cost import Cost, ShoppingLine, check_prices, cost_of, shopping_of, with_purchase
from service.batching.differences import Difference, differences_of, standard_glass
from service.batching.dilution import Dilution, InGlass, Melt, caution_ice, in_glass
from service.batching.fills import HEEL, WHOLE_SERVES, Fill, whole_serves_of
from service.batching.label import Label, caution_culture, spec_id, use_by
from service.batching.making import Glass, glass_of, make
from service.batching.measures import Line, Rounding, by_jug_of
from service.batching.sizing import Loss, Size
from service.batching.stock import OnHand, Stock, check_components, on_hand_of
from service.batching.supplies import Depletion, depletion_of, names_of
from service.batching.totals import PerServe, Totals, per_serve_of, totals_of
from service.batching.weighing import BatchRounding, Weighing, check_scale
from service.declared import AS_STATED, VOLUME, Declared, Inline, duration, items, number, shape, text
from service.drink import DILUTION_WATER, Drink, Portion, Spec, assume_ounces, without_strength
from service.errors import Fault, Refusals, Refused
from service.money import Money
from service.notes import Notes
from service.request import PlacedRequest
from service.site import Price, Scale

_SUCH_AS = "spirit-40"
"""A reference that a newcomer may try."""


def what_goes_together(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a batch of no size, and a selling price beside no prices."""
    if "size" not in sent and not sent.get("on_hand"):
        yield Fault("/size", "required", "This field is required, unless on_hand sizes the batch.")
    if "selling_price" in sent and not sent.get("prices"):
        yield Fault("/prices", "required", "A selling price needs the prices of what it is made of.")


@shape(rules=[what_goes_together])
@dataclass(frozen=True, kw_only=True)
class BatchRequest(PlacedRequest):
    """One glass and how much of it. Without a size it is the most that on_hand makes."""

    spec: Declared[Spec]
    size: Declared[Size | None] = None
    on_hand: Annotated[
        tuple[Stock, ...], items(41, least=0), "What is in the house; the answer says what runs out first."
    ] = ()
    loss: Declared[Loss | None] = None
    dilution: Declared[Dilution | None] = None
    rounding: Declared[Rounding | None] = None
    scale: Declared[Scale | None] = None
    prices: Annotated[tuple[Price, ...], items(41, least=0)] = ()
    selling_price: Annotated[Money | None, number(above=0.0), "Of one serve, for the pour cost; goes with prices."] = (
        None
    )
    melt: Declared[Melt | None] = None
    made_at: Declared[datetime | None] = None
    against: Annotated[Spec | None, "The standard that this spec is compared with."] = None
    house_maximum_s: Annotated[
        float | None, duration(high=10 * 365 * 86400.0), "Longest the house keeps any batch."
    ] = None

    @property
    def sized(self) -> Size:
        """The size that is stated; without one, all that can be made of what is in the house."""
        return self.size or Size(on_hand=self.on_hand)


@shape("BatchBody")
@dataclass(frozen=True)
class Batch:
    """The batch.

    shopping: for what is made from a spec of its own and has no price, that of its components
    differences: from the standard; None without one, none where the two are one drink
    serve: one glass; drink: all that is made, dilution water included
    """

    spec_id: Annotated[str, text(100)]
    serves: Declared[int]
    components: Declared[tuple[Line, ...]]
    totals: Declared[Totals]
    per_serve: Declared[PerServe]
    in_glass: Declared[InGlass | None]
    weighing: Declared[tuple[Weighing, ...]]
    rounding: Declared[BatchRounding]
    on_hand: Declared[tuple[OnHand, ...] | None]
    fills: Declared[tuple[Fill, ...] | None]
    whole_serves: Annotated[int | None, WHOLE_SERVES]
    heel_ml: Annotated[float | None, VOLUME, f"{HEEL} Absent with several kinds of vessel."]
    shopping: Declared[tuple[ShoppingLine, ...]]
    cost: Declared[Cost | None]
    to_declare: Inline[Allergens]
    label: Declared[Label]
    depletion: Declared[tuple[Depletion, ...] | None]
    differences: Declared[tuple[Difference, ...] | None]
    serve: Drink
    drink: Drink

    @property
    def outlay(self) -> Declared[Money | None]:
        """Money spent on whole packages; None without prices."""
        return None if self.cost is None else self.cost.outlay

    @property
    def use_by(self) -> Annotated[datetime | None, AS_STATED]:
        """The moment that the label gives."""
        return self.label.use_by

    @property
    def volume_ml(self) -> float:
        return self.drink.volume_ml

    @property
    def serve_ml(self) -> float:
        return self.serve.volume_ml


def scale(asked: BatchRequest, notes: Notes, *, now: datetime | None = None) -> Batch:
    """Return one glass scaled to a batch; masses scale, and the volume of the whole is computed from them.

    now: by which the age of vessels is judged; made_at unless stated
    raises: Refused, SeveralRefused, OutsideValidity
    """
    spec, dilution, refusals = asked.spec, asked.dilution, Refusals()
    _check_lists(asked, refusals)
    standard: tuple[Portion, ...] = ()
    if asked.against is not None:
        with refusals.gather():
            standard = standard_glass(asked.against, dilution, notes)
    glass = glass_of(spec, dilution, notes, refusals)
    made = make(glass, asked.sized, notes, refusals, loss=asked.loss, rounding=by_jug_of(asked.system, asked.rounding),
                scale=asked.scale, now=now or asked.made_at)  # fmt: skip
    lines, drink, serve = made.components, made.drink, glass.serve
    taken_ml = serve.volume_ml / (asked.loss.served_share if asked.loss is not None else 1.0)
    _assume_ounces(asked, notes)
    caution_culture(serve, notes)
    caution_ice(spec, dilution, asked.melt, notes)
    totals, per_serve = totals_of(lines, drink, notes), per_serve_of(serve, notes)
    on_hand = on_hand_of(lines, asked.on_hand, notes)
    melted = in_glass(serve, asked.melt, dilution, notes) if asked.melt is not None else None
    cost = cost_of(lines, asked.prices, asked.selling_price, made.serves, notes) if asked.prices else None
    bought = {} if cost is None else {one.component: one for one in cost.purchases}
    depletion = depletion_of(lines, notes)
    differences = differences_of(glass, standard, asked.prices, asked.system, notes) if standard else None
    to_declare = allergens_of(spec, notes)
    return Batch(
        spec_id=spec_id(spec),
        serves=made.serves,
        components=tuple([with_purchase(line, bought.get(line.name)) for line in lines]),
        totals=totals,
        per_serve=per_serve,
        in_glass=melted,
        weighing=made.weighing,
        rounding=made.rounding,
        on_hand=on_hand or None,
        fills=made.fills or None,
        whole_serves=whole_serves_of(made.fills, taken_ml) if made.fills else None,
        heel_ml=made.fills[0].heel_ml(taken_ml) if len(made.fills) == 1 else None,
        shopping=shopping_of(lines, asked.prices, bought),
        cost=cost,
        to_declare=to_declare,
        label=_label(asked, glass, drink, to_declare, notes),
        depletion=depletion or None,
        differences=differences,
        serve=serve,
        drink=drink,
    )


def _check_lists(asked: BatchRequest, refusals: Refusals) -> None:
    """Gather what is wrong with the lists beside the spec, and with the scale."""
    names = [*names_of(asked.spec), *[DILUTION_WATER] * (asked.dilution is not None)]
    with refusals.gather():
        others = names_of(asked.against) if asked.against else ()
        check_prices(asked.prices, asked.selling_price, [*names, *others])
    with refusals.gather():
        check_components([held.component for held in asked.on_hand], names, "/on_hand", "stock")
    with refusals.gather():
        check_scale(asked.scale)


def _label(asked: BatchRequest, glass: Glass, drink: Drink, allergens: Allergens, notes: Notes) -> Label:
    unstated = tuple(name for _, name in without_strength(glass.parts))
    return Label(
        name=asked.spec.name,
        abv=None if unstated else drink.abv,
        abv_unstated=unstated,
        allergens=allergens.allergens,
        allergens_us=allergens.allergens_us,
        allergens_unstated=allergens.unstated,
        made_at=asked.made_at,
        use_by=use_by(asked.spec, glass.parts, drink, made_at=asked.made_at, house_maximum_s=asked.house_maximum_s,
                      notes=notes),
    )  # fmt: skip


def more_than_water(batch: Batch) -> Batch:
    """Return the batch, where there is a drink to mix, buy and label; water alone is only ever charged.

    raises: Refused
    """
    if all(line.glass.masses.water_g == line.glass.masses.total_g for line in batch.components):
        text = (
            "State abv, the strength in %vol, or sugar or acidity of its components, or name a reference, such as "
            "{reference}; for soda water, its salt: nothing in this spec says that it holds more than water."
        )
        fault = Fault("/spec/components", "only-water", text, (("reference", _SUCH_AS),))
        raise Refused("impossible-batch", [fault])
    return batch


def _assume_ounces(asked: BatchRequest, notes: Notes) -> None:
    at = [f"/prices/{i}/content" for i, price in enumerate(asked.prices) if price.content.unit == "oz"]
    at += [f"/on_hand/{i}/amount" for i, held in enumerate(asked.on_hand) if held.amount.unit == "oz"]
    limit = asked.sized.limited_by
    if limit is not None and limit.amount.unit == "oz":
        at.insert(0, "/size/limited_by/amount")
    assume_ounces(tuple(at), notes)
