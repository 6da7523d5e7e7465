"""GET /v1/references/vessels."""

from marshmallow import fields

from service.api.answers import Answer
from service.api.endpoint import Body, Open, Reference
from service.api.quantities import flag, q, says, text
from service.api.references.based import basis
from service.vessel import PRESETS, Preset

METRIC = Answer("metric")


class VesselReference(Open):
    """A common vessel. Its limits are estimates: the maker's rating or the stamp prevails."""

    preset = text(40)
    material = text(20)
    capacity = q("volume", metadata=says("Brimful, taken to be the nominal size; measure yours."))
    charge_limit = q("pressure", metadata=says("Gauge, while it is on the regulator."))
    closed_limit = q("pressure", metadata=says("Gauge, closed, in the warmest room."))
    soft = flag(metadata=says("It can be squeezed."))
    basis = basis()
    source = text()


class VesselReferencesAnswer(Open):
    """Vessels by name."""

    model = text(40)
    items = fields.List(fields.Nested(VesselReference), required=True)


def read() -> Body:
    """Every preset."""
    return {"items": [_preset(name, preset) for name, preset in PRESETS.items()]}


def _preset(name: str, preset: Preset) -> Body:
    return {
        "preset": name,
        "material": preset.material,
        "capacity": METRIC.q("volume", preset.capacity_ml),
        "charge_limit": METRIC.q("pressure", preset.charge_limit_bar),
        "closed_limit": METRIC.q("pressure", preset.closed_limit_bar),
        "soft": preset.soft,
        "basis": preset.basis,
        "source": preset.source,
    }


REFERENCE = Reference(
    path="/v1/references/vessels",
    operation_id="listVessels",
    summary="The vessels that a request may name by preset.",
    description="Size and limits of common bottles and kegs. The limits are estimates; a request overrides each.",
    answer=VesselReferencesAnswer,
    read=read,
)
