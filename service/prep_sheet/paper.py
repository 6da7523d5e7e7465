"""Paper: the manager's records, and the label of every vessel."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from service.batching import LABEL_STATEMENT
from service.declared import Declared, shape, text
from service.limits.safety import ACID_ENOUGH_PH
from service.limits.serving import COLD_HOLD_C
from service.notes import Value
from service.prep_sheet.parts import Parts
from service.science.units import Quantity


@dataclass(frozen=True)
class Record:
    """Something to write down, its limit, and what to do when it is passed.

    most: the limit is the most it may be
    """

    code: str
    point: str
    limit: Value
    action: str
    most: bool = True


@dataclass(frozen=True)
class LabelLine:
    """A line of the label: what it is by its code, and as people read it."""

    name: str
    value: Value

    @property
    def code(self) -> str:
        return f"label-{self.name}"


@shape("PrepLabel")
@dataclass(frozen=True)
class SheetLabel:
    """What goes on every vessel."""

    name: Annotated[str, text(200)]
    lines: Declared[tuple[LabelLine, ...]]
    statement: Annotated[str, text(200)] = LABEL_STATEMENT


def records_of(sheet: Parts) -> tuple[Record, ...]:
    """Return the records of the manager: temperature, pressure, pH where it matters, discard."""
    cold, most = Quantity("temperature", COLD_HOLD_C), Quantity("pressure", sheet.charging.never_over_bar_gauge, "down")
    charged = Quantity("temperature", max(COLD_HOLD_C, sheet.charging.planned.temperature_c))
    records = [
        Record("temperature-when-charged", "Temperature when charged", charged, "Chill again before charging."),
        Record("regulator", "Regulator setting, first charge", most, "Back off; vent, wait, gauge again."),
        Record("cold-hold", "Temperature while held", cold, "Move to the cold; discard as local code says."),
        Record("ph", "pH of the batch, measured", ACID_ENOUGH_PH, "Over it: discard as local code says."),
    ]
    if sheet.batch.use_by is not None:
        text = "Empty and clean the vessel, count the cycle."
        records.append(Record("discard", "Discard", _moment(sheet.batch.use_by), text, most=False))
    return tuple(records)


def _moment(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"


def _allergens(sheet: Parts) -> str:
    """Return the line of allergens; where a component states none, it points to the makers' labels."""
    stated = sheet.batch.to_declare.allergens
    if not sheet.batch.to_declare.unstated:
        return ", ".join(stated) or "none"
    return ", ".join([*stated, "not all stated, see the makers' labels"])


def label_of(sheet: Parts, mixed_at: datetime | None = None) -> SheetLabel:
    """Return the label of every vessel; dates only where the request gave one.

    mixed_at: when the batch step begins; None where that is not known
    """
    asked, batch = sheet.asked, sheet.batch
    lines: list[LabelLine] = []
    if asked.lot is not None:
        lines.append(LabelLine("lot", asked.lot))
    made_at = mixed_at or asked.made_at
    if made_at is not None:
        lines.append(LabelLine("made", _moment(made_at)))
    if batch.use_by is not None:
        lines.append(LabelLine("discard", _moment(batch.use_by)))
    abv = batch.label.abv
    lines.append(LabelLine("strength", "not stated" if abv is None else f"{abv:.1f} %vol"))
    lines.append(LabelLine("allergens", _allergens(sheet)))
    lines.append(LabelLine("keep", "upright and cold"))
    lines.append(LabelLine("warmest", Quantity("temperature", COLD_HOLD_C)))
    lines.append(LabelLine("open", "slowly: under CO2 pressure"))
    return SheetLabel(asked.spec.name, tuple(lines))
