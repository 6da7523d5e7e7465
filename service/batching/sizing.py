"""How many glasses' worth is made: by serves, by volume, by vessels, or by the stock that runs out first."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from math import ceil, floor, inf, isfinite, log10
from typing import Literal

from service.batching.measures import in_kind
from service.drink import Amount, Portion, mix
from service.errors import Fact, Fault, Nearest, Refusals, Refused
from service.notes import Notes
from service.science.units import Quantity
from service.vessel import MOST_FILL, Vessel, VesselGiven, fill_of, holding, vessel_of

MOST_GLASSES = 1e6
MOST_ML = 1e8
"""Largest batch, in glasses and by volume; bounds of the service, so that every number of an answer is bounded."""
LARGEST_AMOUNT = 1e7
"""Largest amount a request may state [ml or g]; a bound of the service."""
_NOISE = 1e-9
"""Relative; a volume that is a whole number of serves but for binary fractions counts as that number."""


@dataclass(frozen=True)
class SizedVessel:
    """So many vessels, filled so far; fill is a share of brimful."""

    vessel: VesselGiven
    count: int
    fill: float | None = None


@dataclass(frozen=True)
class StockLimit:
    """A component of the spec and how much of it there is."""

    component: str
    amount: Amount


@dataclass(frozen=True)
class Size:
    """Exactly one of these."""

    serves: int | None = None
    volume_ml: float | None = None
    vessels: tuple[SizedVessel, ...] | None = None
    limited_by: StockLimit | None = None


@dataclass(frozen=True)
class Loss:
    """What is made but not served, as a percentage of either."""

    percent: float
    of: Literal["made", "served"]

    @property
    def served_share(self) -> float:
        """Served over made."""
        return 1.0 - self.percent / 100.0 if self.of == "made" else 1.0 / (1.0 + self.percent / 100.0)


@dataclass(frozen=True)
class Fill:
    """So many vessels of one kind, each with so much liquid and headspace."""

    vessel: Vessel
    count: int
    liquid_ml: float
    headspace_ml: float


@dataclass(frozen=True)
class Sized:
    """glasses: what is made, as a multiple of one glass; serves: whole glasses that are served."""

    glasses: float
    serves: int
    fills: tuple[Fill, ...] = ()


@dataclass(frozen=True)
class _Asked:
    """A size as one number at a pointer, and the glasses it makes."""

    pointer: str
    amount: Quantity
    glasses: float

    def nearest(self, glasses: float, digits: Callable[[float], float]) -> list[Nearest]:
        """The amount that makes so many glasses."""
        ratio = glasses / self.glasses if self.glasses else inf
        return _nearest(self.pointer, Quantity(self.amount.kind, digits(self.amount.value * ratio)), LARGEST_AMOUNT)


def fills_for(volume_ml: float, vessel: Vessel, fill: float) -> Fill:
    """The fewest vessels that hold a volume without exceeding a fill, filled evenly.

    volume_ml: liquid [ml], above 0
    fill: wanted, as a share of brimful [-]
    returns: count, liquid and headspace of each [ml]
    """
    count = max(1, ceil(volume_ml / vessel.liquid_ml(fill) * (1.0 - _NOISE)))
    liquid_ml = volume_ml / count
    return Fill(vessel, count, liquid_ml, vessel.capacity_ml - liquid_ml)


def sized(size: Size, glass: Sequence[Portion], loss: Loss | None, notes: Notes) -> Sized:
    """The glasses that a size makes and the serves that come of it.

    raises: Refused ("impossible-batch"; "vessel-refused", "no-headspace" for a vessel), SeveralRefused
    """
    if loss is None:
        notes.assume("loss, percent", 0.0, "default", at="/loss")
    served_share = loss.served_share if loss is not None else 1.0
    serve_ml = mix(glass).volume_ml
    if size.serves is not None:
        return _by_serves(size.serves, serve_ml, served_share)
    if size.vessels is not None:
        return _by_vessels(size.vessels, serve_ml, served_share, notes)
    refusals = Refusals()
    if size.limited_by is not None:
        asked = _by_stock(size.limited_by, glass, refusals)
    else:
        volume = Quantity("volume", size.volume_ml or 0.0)
        asked = _Asked("/size/volume", volume, volume.value / serve_ml)
    with refusals.gather():
        _check_bounds(asked, serve_ml, served_share)
    refusals.raise_any()
    return _whole_serves(asked.glasses, served_share)


def _whole_serves(glasses: float, served_share: float, fills: tuple[Fill, ...] = ()) -> Sized:
    return Sized(glasses, floor(glasses * served_share * (1.0 + 2.0 * _NOISE)), fills)


def _by_serves(serves: int, serve_ml: float, served_share: float) -> Sized:
    most = floor(_most_glasses(serve_ml) * served_share)
    if not serves <= most:
        raise _too_large("/size/serves", serve_ml, [Nearest("/size/serves", most)] if most else [])
    return Sized(serves / served_share, serves)


def _by_stock(limit: StockLimit, glass: Sequence[Portion], refusals: Refusals) -> _Asked:
    """A name that is not in the spec is refused, and read as the one most like it so that the amount is judged too."""
    portions = {p.component.name: p for p in glass}
    unknown = Fault("/size/limited_by/component", "unknown-component", "The spec has no component of this name.")
    like = [limit.component] if limit.component in portions else get_close_matches(limit.component, portions, n=1)
    if not like:
        raise Refused("impossible-batch", [unknown])
    with refusals.gather():
        if like[0] != limit.component:
            raise Refused("impossible-batch", [unknown], nearest=[Nearest(unknown.pointer, like[0])])
    stock = limit.amount.quantity
    in_glass = in_kind(portions[like[0]], stock.kind)
    return _Asked("/size/limited_by/amount", stock, stock.value / in_glass if in_glass else inf)


def _by_vessels(given: Sequence[SizedVessel], serve_ml: float, served_share: float, notes: Notes) -> Sized:
    fills = _fills_of(given, serve_ml / served_share, notes)
    glasses = sum(fill.count * fill.liquid_ml for fill in fills) / serve_ml
    if not glasses <= _most_glasses(serve_ml):
        raise _too_large("/size/vessels", serve_ml, [])
    return _whole_serves(glasses, served_share, fills)


def _fills_of(given: Sequence[SizedVessel], least_ml: float, notes: Notes) -> tuple[Fill, ...]:
    """The vessels filled as asked; each holds a serve at least."""
    fills: list[Fill] = []
    refusals = Refusals()
    for i, group in enumerate(given):
        at = f"/size/vessels/{i}"
        vessel, fill = (
            vessel_of(None, Notes()),
            MOST_FILL,
        )  # what a refusal of either offers, so that the rest is judged
        with refusals.gather():
            vessel = vessel_of(group.vessel, notes, at=f"{at}/vessel")
        with refusals.gather():
            fill = fill_of(group.fill, notes, at=f"{at}/fill")
        with refusals.gather():
            _check_holds_a_serve(vessel, fill, least_ml, f"{at}/vessel/capacity")
        fills.append(Fill(vessel, group.count, vessel.liquid_ml(fill), vessel.headspace_ml(fill)))
    refusals.raise_any()
    return tuple(fills)


def _check_holds_a_serve(vessel: Vessel, fill: float, least_ml: float, at: str) -> None:
    if vessel.liquid_ml(fill) >= least_ml * (1.0 - _NOISE):
        return
    text = "Filled so, this vessel holds {liquid}; one serve takes {serve}, losses included."
    liquid, serve = Quantity("volume", vessel.liquid_ml(fill)), Quantity("volume", least_ml)
    raise Refused("impossible-batch", [Fault(at, "under-one-serve", text, (("liquid", liquid), ("serve", serve)))],
                  facts=[Fact("liquid", liquid), Fact("one_serve", serve)],
                  nearest=holding(least_ml, fill, at=at.removesuffix("/capacity")))  # fmt: skip


def _check_bounds(asked: _Asked, serve_ml: float, served_share: float) -> None:
    """At least one serve, at most the largest batch."""
    least, most = 1.0 / served_share, _most_glasses(serve_ml)
    if not asked.glasses >= least * (1.0 - _NOISE):
        text = "This makes less than one serve of {serve}, losses included."
        serve = Quantity("volume", serve_ml)
        raise Refused("impossible-batch", [Fault(asked.pointer, "under-one-serve", text, (("serve", serve),))],
                      facts=[Fact("one_serve", serve)], nearest=asked.nearest(least, _up))  # fmt: skip
    if not asked.glasses <= most * (1.0 + _NOISE):
        raise _too_large(asked.pointer, serve_ml, asked.nearest(most, _down))


def _most_glasses(serve_ml: float) -> float:
    return min(MOST_GLASSES, MOST_ML / serve_ml)


def _too_large(pointer: str, serve_ml: float, nearest: Sequence[Nearest]) -> Refused:
    most = Quantity("volume", _most_glasses(serve_ml) * serve_ml)
    text = "This makes more than the largest batch that is computed, {most}."
    return Refused("impossible-batch", [Fault(pointer, "too-large", text, (("most", most),))],
                   facts=[Fact("largest_batch", most)], nearest=nearest)  # fmt: skip


def _nearest(pointer: str, offered: Quantity, most: float) -> list[Nearest]:
    """The offer, where a request may state it."""
    return [Nearest(pointer, offered)] if 0.0 < offered.value <= most else []


def _up(value: float) -> float:
    """Three digits, rounded up."""
    step = _third_digit(value)
    return ceil(value / step) * step if step else value


def _down(value: float) -> float:
    """Three digits, rounded down."""
    step = _third_digit(value)
    return floor(value / step) * step if step else value


def _third_digit(value: float) -> float:
    """What one in the third digit is worth; 0 for what has no digits."""
    return 10.0 ** (floor(log10(value)) - 2) if isfinite(value) and value > 0.0 else 0.0
