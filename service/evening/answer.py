"""The plan of an evening as it is answered."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from service.batching import WHOLE_SERVES, Batch
from service.declared import (
    AMOUNT,
    CO2,
    CODE,
    DURATION,
    MASS,
    PRESSURE,
    VOLUME,
    Declared,
    Params,
    Sentence,
    items,
    shape,
    text,
)
from service.draught import DraughtLine
from service.evening.asked import DrinkId
from service.evening.demand import Basis
from service.limits.evening import MOST_TASKS
from service.money import Money
from service.prep_sheet import Station, StepValue
from service.science.band import Band
from service.science.units import Quantity

TaskId = Annotated[str, text(60)]


@dataclass(frozen=True)
class EveningDrinkPlan:
    """One drink of the evening.

    vessels: to be filled; second_filling: of them, those that are filled again in the service
    ready: charged already, and counted in whole_serves
    """

    id: DrinkId
    letter: Annotated[str, text(1), "By which it is told apart on the board and in the ids of tasks."]
    whole_serves: Annotated[int, WHOLE_SERVES]
    basis: Declared[Basis]
    vessels: Declared[int]
    second_filling: Declared[int | None]
    ready: Declared[int]
    fill: Declared[float]
    heel_ml: Annotated[float, VOLUME, "Left in each vessel after its whole serves."]
    batch: Annotated[Batch | None, "What is still to be mixed; absent where nothing is."]
    gauge_pressure_bar: Annotated[Band | None, PRESSURE, "The dial."]
    never_over_bar: Annotated[float | None, PRESSURE]
    charge_count: Declared[int | None]
    co2: Annotated[Band | None, CO2, "The level that the charges come to."]
    draught: Annotated[DraughtLine | None, "Its line, where it is served through one that is stated."]


@dataclass(frozen=True)
class TaskUse:
    """A thing that a task holds from its begin to its end."""

    kind: Annotated[str, text(20), "crew, regulator, cold, jug or vessel."]
    name: Annotated[str, text(100)]
    count: Annotated[float, "Of a cold place, litres of brimful capacity."]


@shape("EveningTask")
@dataclass(frozen=True)
class PlannedTask:
    """One thing to do or to wait for. What is done the day before has no times.

    person, regulator: by whom and on which, numbered from 1
    """

    id: TaskId
    drink: Annotated[DrinkId | None, "Absent where it is done for all of them."]
    station: Declared[Station]
    code: Annotated[str, CODE]
    text: Sentence
    params: Params
    begins_at: Declared[datetime | None]
    ends_at: Declared[datetime | None]
    hands_on_s: Declared[int]
    uses: Declared[tuple[TaskUse, ...]]
    depends_on: Declared[tuple[TaskId, ...]]
    values: Annotated[tuple[StepValue, ...], "Figures of the step, one a line."]
    person: Declared[int | None] = None
    regulator: Declared[int | None] = None


@dataclass(frozen=True)
class Relief:
    """A relief of the bottleneck, computed."""

    code: Annotated[str, CODE]
    text: Sentence
    params: Params
    ready_at: Declared[datetime]


@dataclass(frozen=True)
class Bottleneck:
    """The thing that sets the time, and its reliefs."""

    code: Annotated[str, CODE]
    text: Sentence
    params: Params
    relief: Declared[tuple[Relief, ...]]


@shape("EveningLoad")
@dataclass(frozen=True)
class Load:
    """The load of a person or of a piece of gear, from the latest start to the service."""

    kind: Annotated[str, text(20)]
    name: Annotated[str, text(100)]
    busy_percent: Declared[float]


@shape("ColdPeak")
@dataclass(frozen=True)
class ColdPeak:
    """A cold place at its fullest, by brimful capacities."""

    kind: Annotated[str, text(100), "As in uses: with /1, /2 where several are alike."]
    peak_ml: Annotated[float, VOLUME]
    holds_ml: Annotated[float | None, VOLUME, "Absent where none was stated."]


@shape("EveningGas")
@dataclass(frozen=True)
class EveningGas:
    """The CO2 of the evening, counted as /v1/carbonation/gas-supply does, and what pushes kegs out."""

    co2_used_g: Annotated[Band, MASS]
    co2_to_push_g: Annotated[
        Band | None, MASS, "Of it, what takes the place of the drink in kegs, to their last glass; absent without kegs."
    ]
    cylinders: Annotated[Band | None, "Share of the cylinder that it takes; absent where none was stated."]


@shape("EveningPurchase")
@dataclass(frozen=True)
class EveningPurchase:
    """The amount of one component that all drinks together take."""

    component: Annotated[str, text(200)]
    stock_code: Annotated[str | None, text(64)]
    amount: Annotated[Quantity, AMOUNT, "Used."]
    on_hand: Annotated[Quantity | None, AMOUNT]
    to_buy: Annotated[Quantity, AMOUNT]
    content: Annotated[Quantity | None, AMOUNT, "Of a package."]
    packages: Declared[int | None]
    left_over: Annotated[Quantity | None, AMOUNT]
    cost: Annotated[Money | None, "Of what is used."]
    outlay: Annotated[Money | None, "On whole packages."]


@shape("DrinkAllergens")
@dataclass(frozen=True)
class DrinkAllergens:
    """Allergens of one drink, Regulation (EU) 1169/2011 Annex II; unstated: components that say nothing of them."""

    drink: DrinkId
    allergens: Annotated[tuple[Annotated[str, text(40)], ...], items(14)]
    unstated: Declared[tuple[Annotated[str, text(200)], ...]]


@shape("RegasCall")
@dataclass(frozen=True)
class RegasCall:
    """A bottle that is re-gassed in the evening, in time for its rest before the next glass."""

    at: Declared[datetime]
    drink: DrinkId
    vessel: Annotated[int, "Of that drink, from 1, in the order in which they are opened."]
    gauge_pressure_bar: Annotated[float, PRESSURE, "Its own dial, never that of the first charge."]
    never_over_bar: Annotated[float, PRESSURE]


@dataclass(frozen=True)
class ServicePlan:
    """An evening: what is made, when and by whom, as late as it may, and what it takes."""

    drinks: Declared[tuple[EveningDrinkPlan, ...]]
    timetable: Annotated[tuple[PlannedTask, ...], items(MOST_TASKS), "In the order in which they begin."]
    ahead: Annotated[tuple[PlannedTask, ...], "Done the day before."]
    in_service: Annotated[
        tuple[PlannedTask, ...], "Second fillings, as soon as enough vessels are emptied and washed; no one is named."
    ]
    latest_start: Annotated[datetime, "The earliest begin of the timetable, which is as late as can be."]
    ready_at: Annotated[
        datetime,
        "All charged, rested and labelled, begun at begins_at; in the service where some is filled again.",
    ]
    spare_s: Annotated[float, DURATION, "From begins_at to latest_start."]
    bottleneck: Declared[Bottleneck]
    loads: Declared[tuple[Load, ...]]
    ice_needed_g: Annotated[Band | None, MASS, "What melts, the share of the room included."]
    ice_to_fetch_g: Annotated[float | None, MASS, "At least twice what may melt."]
    cold: Declared[tuple[ColdPeak, ...]]
    gas: Declared[EveningGas]
    shopping: Declared[tuple[EveningPurchase, ...]]
    cost: Annotated[Money | None, "Of what is used, as far as it has a price."]
    outlay: Annotated[Money | None, "On whole packages, what is in the house apart."]
    allergens: Declared[tuple[DrinkAllergens, ...]]
    regas: Annotated[tuple[RegasCall, ...], "In the order of the evening."]
