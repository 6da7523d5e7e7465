"""The number of glasses made: by serves, volume, vessels, whole serves of vessels, or the stock that runs out first."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from difflib import get_close_matches
from math import ceil, floor, inf
from typing import Annotated, Literal, NamedTuple

from service.batching.fills import NOISE, Fill, WholeServes
from service.batching.stock import StockLimit, takes_of
from service.batching.supplies import Supply
from service.declared import Declared, items, number, shape, volume
from service.drink import Portion
from service.errors import Fact, Fault, Nearest, Refusals, Refused
from service.limits.batches import MORE_THAN_ASKED
from service.limits.requests import LARGEST, MOST_GLASSES, MOST_ML
from service.notes import Notes
from service.science.rounding import rounded_up, three_digits_down, three_digits_up
from service.science.units import Quantity
from service.setting import attempt
from service.vessel import SizedVessel, Vessel, VesselGiven, fill_of, most_fill, vessel_of


class Kind(NamedTuple):
    """A kind of vessel that a size names, and where in the size it does."""

    at: str
    vessel: VesselGiven | None
    fill: float | None


@shape("BatchSize", exactly_one=True)
@dataclass(frozen=True)
class Size:
    """The size of a batch, by exactly one of these. Serves are served; a volume, vessels or a stock are made.

    A serve takes its losses from the vessel that it is poured from.

    on_hand: where the request states no size, of which the first to run out makes the batch
    """

    serves: Annotated[int | None, number(low=1, high=100_000)] = None
    volume_ml: Annotated[float | None, volume(), "Finished, contraction included."] = None
    vessels: Annotated[tuple[SizedVessel, ...] | None, items(50)] = None
    whole_serves: Declared[WholeServes | None] = None
    limited_by: Declared[StockLimit | None] = None
    on_hand: tuple[StockLimit, ...] | None = None

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """Each kind of vessel that is filled; none where the size names none."""
        if self.whole_serves is not None:
            return (Kind("/whole_serves", self.whole_serves.vessel, self.whole_serves.fill),)
        return tuple(Kind(f"/vessels/{i}", one.vessel, one.fill) for i, one in enumerate(self.vessels or ()))


@dataclass(frozen=True)
class Loss:
    """The volume that is made but not served."""

    percent: Annotated[float, number(low=0.0, high=50.0)]
    of: Declared[Literal["made", "served"]]

    @property
    def served_share(self) -> float:
        """Share of what is made that is served, 0 to 1."""
        return 1.0 - self.percent / 100.0 if self.of == "made" else 1.0 / (1.0 + self.percent / 100.0)


@dataclass(frozen=True)
class Sized:
    """The size of a batch in glasses.

    glasses: made, as a multiple of one glass; serves: whole glasses that are served
    least, most: glasses that serve as many and are no more than fits, or than there is; serves alone may be exceeded
    """

    glasses: float
    serves: int
    least: float
    most: float
    fills: tuple[Fill, ...] = ()

    def resized(self, glasses: float) -> "Sized":
        """Return another size, its vessels filled accordingly."""
        if glasses == self.glasses:
            return self
        return replace(self, glasses=glasses, fills=tuple(f.scaled(glasses / self.glasses) for f in self.fills))


@dataclass(frozen=True)
class _Amount:
    """A size as an amount at a pointer. a_glass: taken of it by one glass"""

    pointer: str
    amount: Quantity
    a_glass: float

    @property
    def glasses(self) -> float:
        return self.amount.value / self.a_glass if self.a_glass else inf

    def nearest(self, glasses: float, digits: Callable[[float], float]) -> list[Nearest]:
        """Return the amount that makes a number of glasses."""
        return _nearest(self.pointer, Quantity(self.amount.kind, digits(self.a_glass * glasses)), LARGEST)


def sized(
    size: Size,
    glass: Sequence[Portion],
    serve_ml: float,
    loss: Loss | None,
    notes: Notes,
    *,
    now: datetime | None = None,
) -> Sized:
    """Return the glasses that a size makes and the serves that come of it.

    serve_ml: volume of the glass, dilution water and contraction included
    now: by which the age of vessels is judged
    raises: Refused ("impossible-batch"; "vessel-refused", "no-headspace" for a vessel), SeveralRefused
    """
    if loss is None:
        notes.assume("loss, percent", 0.0, "default", at="/loss")
    served_share = loss.served_share if loss is not None else 1.0
    if size.serves is not None:
        return _by_serves(size.serves, serve_ml, served_share)
    if size.kinds:
        return _by_vessels(size, serve_ml, served_share, notes, now)
    refusals = Refusals()
    asked = _amounts(size, glass, serve_ml, refusals)
    for one in asked:
        with refusals.gather():
            _check_serve(one, serve_ml, served_share)
    first = min(asked, key=lambda one: one.glasses)
    with refusals.gather():
        _check_largest(first, serve_ml)
    refusals.raise_any()
    return _whole_serves(first.glasses, served_share)


def _whole_serves(glasses: float, served_share: float, fills: tuple[Fill, ...] = ()) -> Sized:
    serves = floor(glasses * served_share * (1.0 + 2.0 * NOISE))
    return Sized(glasses, serves, min(serves / served_share, glasses), glasses, fills)


def _by_serves(serves: int, serve_ml: float, served_share: float) -> Sized:
    most = floor(_most_glasses(serve_ml) * served_share)
    if not serves <= most:
        raise _too_large("/size/serves", serve_ml, [Nearest("/size/serves", most)] if most else [])
    return Sized(serves / served_share, serves, serves / served_share, inf)


def _amounts(size: Size, glass: Sequence[Portion], serve_ml: float, refusals: Refusals) -> list[_Amount]:
    """Return the amounts of which the first to run out makes the batch."""
    if size.volume_ml is not None:
        return [_Amount("/size/volume", Quantity("volume", size.volume_ml), serve_ml)]
    stock = {f"/on_hand/{i}": held for i, held in enumerate(size.on_hand or ())}
    if size.limited_by is not None:
        stock = {"/size/limited_by": size.limited_by}
    taken = takes_of(glass, stock.values())
    return [_of_stock(held, taken, at, refusals) for at, held in stock.items()]


def _of_stock(limit: StockLimit, taken: Mapping[str, Supply], at: str, refusals: Refusals) -> _Amount:
    """Return a stock as an amount.

    A name that is not in the spec is refused, and read as the one most like it so that the amount is judged too.
    """
    unknown = Fault(f"{at}/component", "unknown-component", "The spec has no component of this name.")
    like = [limit.component] if limit.component in taken else get_close_matches(limit.component, taken, n=1)
    if not like:
        raise Refused("impossible-batch", [unknown])
    with refusals.gather():
        if like[0] != limit.component:
            raise Refused("impossible-batch", [unknown], nearest=[Nearest(unknown.pointer, like[0])])
    stock = limit.amount.quantity
    return _Amount(f"{at}/amount", stock, taken[like[0]].in_kind(stock.kind))


def _by_vessels(size: Size, serve_ml: float, served_share: float, notes: Notes, now: datetime | None) -> Sized:
    refusals, taken_ml = Refusals(), serve_ml / served_share
    fills = [_filled(kind, taken_ml, notes, refusals, now) for kind in size.kinds]
    refusals.raise_any()
    if size.whole_serves is not None:
        return _by_whole_serves(size.whole_serves.count, fills[0], serve_ml, served_share, notes)
    fills = [replace(fill, count=group.count) for fill, group in zip(fills, size.vessels or (), strict=True)]
    glasses = sum(fill.count * fill.liquid_ml for fill in fills) / serve_ml
    if not glasses <= _most_glasses(serve_ml):
        raise _too_large("/size/vessels", serve_ml, [])
    return _whole_serves(glasses, served_share, tuple(fills))


def _by_whole_serves(asked: int, one: Fill, serve_ml: float, served_share: float, notes: Notes) -> Sized:
    """Return the fewest vessels that pour the whole serves, each filled to the line, so that one dial fits them all.

    one: of these vessels
    """
    each, at = one.pours(serve_ml / served_share), "/size/whole_serves/count"
    count, most = ceil(asked / each), floor(_most_glasses(serve_ml) * serve_ml / one.liquid_ml)
    if count > most:
        raise _too_large(at, serve_ml, [Nearest(at, most * each)] if most else [])
    serves = count * each
    if serves - asked > MORE_THAN_ASKED * asked:
        text = "Filled to the line, so that one dial fits, the vessels give {more} whole serves more than asked for."
        notes.caution("more-than-asked", "info", text, at=at, more=float(serves - asked))
    glasses = count * one.liquid_ml / serve_ml
    return Sized(glasses, serves, min(serves / served_share, glasses), glasses, (replace(one, count=count),))


def _filled(kind: Kind, least_ml: float, notes: Notes, refusals: Refusals, now: datetime | None) -> Fill:
    """Return one vessel of a kind; offers of a refusal of it or of its fill stand in, so that the rest is judged."""
    at = f"/size{kind.at}"
    vessel = attempt(
        refusals,
        lambda: vessel_of(kind.vessel, notes, at=f"{at}/vessel", now=now),
        lambda: vessel_of(None, Notes()),
    )
    fill = attempt(refusals, lambda: fill_of(kind.fill, vessel, notes, at=f"{at}/fill"), lambda: most_fill(vessel))
    with refusals.gather():
        _check_holds_a_serve(vessel, fill, least_ml, at)
    return Fill(vessel, 1, vessel.liquid_ml(fill), vessel.headspace_ml(fill))


def _check_holds_a_serve(vessel: Vessel, fill: float, least_ml: float, at: str) -> None:
    """Refuse a vessel that holds no whole serve, with the fill at which it does where there is one.

    raises: Refused ("impossible-batch")
    """
    if vessel.liquid_ml(fill) >= least_ml * (1.0 - NOISE):
        return
    liquid, serve = Quantity("volume", vessel.liquid_ml(fill)), Quantity("volume", least_ml)
    fuller = rounded_up(least_ml / vessel.capacity_ml * (1.0 - NOISE), 0.01)
    if fuller <= most_fill(vessel):
        text = "Fill more: filled so, this vessel holds {liquid}, and one serve takes {serve}, losses included."
        nearest = [Nearest(f"{at}/fill", fuller)]
    else:
        text = "Take a larger vessel: filled so, this one holds {liquid}, and one serve takes {serve}, losses included."
        nearest = []
    fault = Fault(f"{at}/vessel/capacity", "under-one-serve", text, (("liquid", liquid), ("serve", serve)))
    facts = [Fact("liquid", liquid), Fact("one_serve", serve)]
    raise Refused("impossible-batch", [fault], facts=facts, nearest=nearest)


def _check_serve(asked: _Amount, serve_ml: float, served_share: float) -> None:
    """Refuse less than one serve."""
    least = 1.0 / served_share
    if not asked.glasses >= least * (1.0 - NOISE):
        text = "Make more: this is less than one serve of {serve}, losses included."
        serve = Quantity("volume", serve_ml)
        raise Refused("impossible-batch", [Fault(asked.pointer, "under-one-serve", text, (("serve", serve),))],
                      facts=[Fact("one_serve", serve)], nearest=asked.nearest(least, three_digits_up))  # fmt: skip


def _check_largest(asked: _Amount, serve_ml: float) -> None:
    """Refuse more than the largest batch."""
    most = _most_glasses(serve_ml)
    if not asked.glasses <= most * (1.0 + NOISE):
        raise _too_large(asked.pointer, serve_ml, asked.nearest(most, three_digits_down))


def _most_glasses(serve_ml: float) -> float:
    return min(MOST_GLASSES, MOST_ML / serve_ml)


def _too_large(pointer: str, serve_ml: float, nearest: Sequence[Nearest]) -> Refused:
    most = Quantity("volume", _most_glasses(serve_ml) * serve_ml)
    text = "Make less at once: this is more than the largest batch that is computed, {most}."
    return Refused("impossible-batch", [Fault(pointer, "too-large", text, (("most", most),))],
                   facts=[Fact("largest_batch", most)], nearest=nearest)  # fmt: skip


def _nearest(pointer: str, offered: Quantity, most: float) -> list[Nearest]:
    """Return the offer, where a request may state it."""
    return [Nearest(pointer, offered)] if 0.0 < offered.value <= most else []
