"""Paper: the manager's records, and the label of every vessel."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from service.batching import LABEL_STATEMENT
from service.declared import TERM, Declared, shape, text
from service.errors import Names, Term
from service.limits.safety import ACID_ENOUGH_PH
from service.limits.serving import COLD_HOLD_C
from service.notes import Value
from service.prep_sheet.parts import Parts
from service.science.units import Quantity


@dataclass(frozen=True)
class Record:
    """Something to write down, its limit, and what to do when it is passed.

    action: told in the language of the answer
    most: the limit is the most it may be
    """

    code: str
    point: str
    limit: Value
    action: Term
    most: bool = True


@dataclass(frozen=True)
class LabelLine:
    """A line of the label: what it is by its code, and as people read it."""

    code: str
    name: str
    value: Value


@shape("PrepLabel")
@dataclass(frozen=True)
class SheetLabel:
    """The label of every vessel."""

    name: Annotated[str, text(200)]
    lines: Declared[tuple[LabelLine, ...]]
    statement: Annotated[str, TERM, text(200)] = LABEL_STATEMENT


def records_of(sheet: Parts) -> tuple[Record, ...]:
    """Return the records of the manager: temperature, pressure, pH where it matters, discard."""
    cold, most = Quantity("temperature", COLD_HOLD_C), Quantity("pressure", sheet.charging.never_over_bar_gauge, "down")
    charged = Quantity("temperature", max(COLD_HOLD_C, sheet.charging.planned.temperature_c))
    records = [
        Record(
            "temperature-when-charged",
            "Temperature when charged",
            charged,
            Term("Chill it again before you charge it."),
        ),
        Record("regulator", "Regulator setting, first charge", most, Term("Back it off; vent, wait, gauge again.")),
        Record("cold-hold", "Temperature while held", cold, Term("Move it to the cold; discard as local code says.")),
        Record("ph", "pH of the batch, measured", ACID_ENOUGH_PH, Term("Discard it as local code says.")),
    ]
    if sheet.batch.use_by is not None:
        text = Term("Empty and clean the vessel, and count the charge.")
        records.append(Record("discard", "Discard", sheet.batch.use_by, text, most=False))
    return tuple(records)


def _allergens(sheet: Parts) -> Names:
    """Return the line of allergens; where a component states none, it points to the makers' labels."""
    stated = [Term(one) for one in sheet.batch.to_declare.allergens]
    if sheet.batch.to_declare.unstated:
        return Names([*stated, Term("not all stated, see the makers' labels")])
    return Names(stated or [Term("none")])


def label_of(sheet: Parts, mixed_at: datetime | None = None) -> SheetLabel:
    """Return the label of every vessel; dates only where the request gave one.

    mixed_at: when the batch step begins; None where that is not known
    """
    asked, batch = sheet.asked, sheet.batch
    lines: list[LabelLine] = []
    if asked.lot is not None:
        lines.append(LabelLine("label-lot", "lot", asked.lot))
    made_at = mixed_at or asked.made_at
    if made_at is not None:
        lines.append(LabelLine("label-made", "made", made_at))
    if batch.use_by is not None:
        lines.append(LabelLine("label-discard", "discard", batch.use_by))
    abv = batch.label.abv
    strength = Term("not stated") if abv is None else Term("{abv} %vol", abv=round(abv, 1))
    lines.append(LabelLine("label-strength", "strength", strength))
    lines.append(LabelLine("label-allergens", "allergens", _allergens(sheet)))
    lines.append(LabelLine("label-keep", "keep", Term("upright and cold")))
    lines.append(LabelLine("label-warmest", "warmest", Quantity("temperature", COLD_HOLD_C)))
    lines.append(LabelLine("label-open", "open", Term("slowly: under CO2 pressure")))
    return SheetLabel(asked.spec.name, tuple(lines))
