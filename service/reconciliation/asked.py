"""The request for a reconciliation: what was there, what came and went by the record, and what is left."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

from service.declared import Declared, amount, co2, items, mass, number, shape, text, volume, whole
from service.drink import Amount, Spec
from service.errors import Fault
from service.limits.readings import MEASURING_PERCENT
from service.limits.requests import MOST_COUNTED, MOST_GLASSES, MOST_ITEMS, MOST_ML, MOST_SPEC_LINES
from service.listed import listed
from service.request import PlacedRequest
from service.site import Price
from service.vessel import SizedVessel

MeasuringPercent = Annotated[
    float | None,
    number(low=0.0, high=50.0),
    f"Error of each measured amount, at nine times in ten; {MEASURING_PERCENT:g} unless stated.",
]


@dataclass(frozen=True)
class Weighed:
    """Vessels on the scale; the liquid in them is by the density of the drink."""

    gross_g: Annotated[float, mass()]
    tare_g: Annotated[float, mass(low=0.0), "Of the same vessels, empty."]


@shape("StockQuantity", exactly_one=True)
@dataclass(frozen=True)
class StockQuantity:
    """An amount of a drink: exactly one of the three."""

    volume_ml: Annotated[float | None, volume(low=0.0, high=MOST_ML)] = None
    vessels: Annotated[tuple[SizedVessel, ...] | None, items(50), "Each kind, how many, and how full they are."] = None
    weighed: Declared[Weighed | None] = None


@shape("ReconciliationDrink")
@dataclass(frozen=True)
class DrinkRecord:
    """One drink: what was there, what came and went by the record, and what was counted at the end."""

    id: Annotated[str, text(64)]
    spec: Declared[Spec]
    opening: Annotated[StockQuantity, "There when the period began."]
    closing: Annotated[StockQuantity, "Counted when it ended."]
    sold_serves: Annotated[int, whole(low=0, high=MOST_GLASSES), "By the till."]
    serve_ml: Annotated[
        float | None, volume(low=1.0, high=2000.0), "Poured for each; one glass of the spec unless stated."
    ] = None
    made: Annotated[StockQuantity | None, "Batched in the period; none unless stated."] = None
    wasted_ml: Annotated[
        float | None, volume(low=0.0, high=MOST_ML), "Thrown away by the record; none unless stated."
    ] = None
    returned_ml: Annotated[
        float | None, volume(low=0.0, high=MOST_ML), "Come back into the stock; none unless stated."
    ] = None
    co2_g_per_l: Annotated[
        float | None, co2(low=0.0, high=20.0), "In the vessels; what such drinks are charged to unless stated."
    ] = None
    measuring_percent: MeasuringPercent = None


@shape("ReconciliationComponent")
@dataclass(frozen=True)
class ComponentRecord:
    """One component: what was there, what was bought, and what was counted at the end."""

    name: Annotated[str, text(200), "As the specs have it."]
    opening: Annotated[Amount, amount(low=0.0), "There when the period began."]
    closing: Annotated[Amount, amount(low=0.0), "Counted when it ended."]
    bought: Annotated[Amount | None, amount(low=0.0), "Come in, by the labels of its packages; none unless stated."] = (
        None
    )
    measuring_percent: MeasuringPercent = None


def _told_apart_and_bounded(sent: Mapping[str, Any]) -> Iterator[Fault]:
    return listed(sent.get("drinks"), lines=("components", "acids"), most_lines=MOST_SPEC_LINES, name="drinks")


@shape(rules=[_told_apart_and_bounded])
@dataclass(frozen=True, kw_only=True)
class ReconciliationRequest(PlacedRequest):
    """A period, its drinks by the record and as counted, and the components that went into them."""

    from_: Annotated[datetime, "When the opening stock was counted."]
    to: Annotated[datetime, "When the closing stock was counted."]
    drinks: Annotated[
        tuple[DrinkRecord, ...],
        items(MOST_ITEMS),
        f"Ids differ; components and acids of all specs come to at most {MOST_SPEC_LINES} together.",
    ]
    components: Annotated[tuple[ComponentRecord, ...], items(MOST_COUNTED, least=0)] = ()
    prices: Annotated[tuple[Price, ...], items(MOST_COUNTED, least=0), "In one currency."] = ()
