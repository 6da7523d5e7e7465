"""The prep sheet as it is answered: the parts, and what is done, written down and labelled."""

from dataclasses import dataclass, replace
from datetime import datetime
from math import isfinite
from typing import Annotated

from service.batching import HEEL, WHOLE_SERVES, Batch, Fill
from service.carbonation import Charging, SetPoints
from service.chilling import Chilling
from service.declared import MASS, VOLUME, Declared, text
from service.draught import DraughtLine
from service.notes import Notes
from service.prep_sheet.paper import Record, SheetLabel, label_of, records_of
from service.prep_sheet.parts import PrepSheetRequest, PrepSolution
from service.prep_sheet.sheet import prepare
from service.prep_sheet.step import Step
from service.prep_sheet.steps import steps_of
from service.prep_sheet.timetable import timetable_of
from service.regas import Forecast
from service.science.band import Band


@dataclass(frozen=True)
class PrepCarbonation:
    """The set-point, and what the charges come to."""

    set_points: Declared[SetPoints]
    charges: Declared[Charging]


@dataclass(frozen=True)
class PrepGas:
    """CO2 for the whole batch, every vessel charged once, counted as /v1/carbonation/gas-supply does."""

    co2_used_g: Annotated[Band, MASS, "From the cylinder, to rest at the dial, purges and losses included."]


@dataclass(frozen=True)
class PrepSheet:
    """The whole job in the order of work."""

    spec_id: Annotated[str, text(100)]
    batch: Declared[Batch]
    fill: Declared[Fill]
    whole_serves: Annotated[int, WHOLE_SERVES]
    heel_ml: Annotated[float, VOLUME, HEEL]
    acid_solutions: Declared[tuple[PrepSolution, ...]]
    chilling: Declared[Chilling]
    carbonation: Declared[PrepCarbonation]
    regas: Declared[Forecast | None]
    gas: Declared[PrepGas]
    total_s: Annotated[
        float | None,
        "From the start of the work to the first serve, every wait at its late end, one pair of hands a station; "
        "absent where the drink never gets there.",
    ]
    hands_on_s: Annotated[float, "Of that, the work of hands."]
    latest_start: Annotated[datetime | None, "So that the first serve makes the shift, where its start is known."]
    draught: Annotated[DraughtLine | None, "Where it is served on draught."]
    steps: Declared[tuple[Step, ...]]
    records: Declared[tuple[Record, ...]]
    label: Declared[SheetLabel]


def prep_sheet(asked: PrepSheetRequest, notes: Notes) -> PrepSheet:
    """Return the whole job for one spec.

    raises: Refused, SeveralRefused, with pointers into the prep sheet's own request
    """
    parts = prepare(asked, notes)
    timetable = timetable_of(steps_of(parts), parts, notes)
    serve_ml, fill = parts.batch.serve_ml, parts.fill
    return PrepSheet(
        spec_id=parts.batch.spec_id,
        batch=replace(parts.batch, label=replace(parts.batch.label, made_at=timetable.mixed_at)),
        fill=fill,
        whole_serves=fill.count * fill.pours(serve_ml),
        heel_ml=fill.heel_ml(serve_ml),
        acid_solutions=parts.solutions,
        chilling=parts.chilling,
        carbonation=PrepCarbonation(parts.set_points, parts.charging),
        regas=parts.forecast,
        gas=PrepGas(parts.gas_g),
        total_s=timetable.total_s if isfinite(timetable.total_s) else None,
        hands_on_s=timetable.hands_on_s,
        latest_start=timetable.begins_at(0.0),
        draught=parts.line,
        steps=timetable.steps,
        records=records_of(parts),
        label=label_of(parts, timetable.mixed_at),
    )
