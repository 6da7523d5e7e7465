"""Events of a log on the wire: many, small, and each as its kind asks."""

from collections.abc import Mapping
from typing import Any

from marshmallow import Schema, ValidationError

from service import regas as core
from service.api.endpoint import Body, Part, rule
from service.api.moments import Moment
from service.api.quantities import Choice, Coded, QuantityField, Text, Whole
from service.api.shapes import Items
from service.limits.serving import LEAST_POURED_ML

NEEDS = {"charged": ("gauge_pressure",), "read": ("gauge_pressure",), "moved": ("temperature",)}
MAY_HOLD = {
    "charged": ("gauge_pressure", "shake", "temperature"),
    "opened": (),
    "closed": (),
    "poured": ("volume", "serves"),
    "read": ("gauge_pressure", "shake", "temperature"),
    "moved": ("temperature",),
}
"""What an event of each kind must say and may say, beside id, at and kind."""


class VesselEventSchema(Part):
    """What happened to a vessel, and when.

    charged: put on the regulator at a gauge pressure and shaken for so long; a keg stays on it. opened, closed: a
    bottle; a keg that is closed is cut off from its gas. poured: a volume, or so many glasses, one unless stated; a
    closed bottle is opened for it and closed again. read: the gauge of the closed vessel at rest, or after so long a
    shake. moved: to another temperature, taken on at once.
    """

    loads_to = core.Event

    id = Text(longest=64, required=True)
    at = Moment(required=True)
    kind = Choice(*MAY_HOLD, required=True)
    gauge_pressure = QuantityField("pressure", low=0.0, high=30.0, attribute="gauge_bar")
    shake = QuantityField("duration", high=600.0, attribute="shake_s")
    volume = QuantityField("volume", low=LEAST_POURED_ML, above=None, high=60_000.0, attribute="volume_ml")
    serves = Whole(low=1, high=1000)
    temperature = QuantityField("temperature", low=-30.0, high=90.0, attribute="temperature_c")

    @rule
    def fields_of_the_kind(self, sent: Mapping[str, Any]) -> None:
        wrong = wrong_for_its_kind(sent)
        if wrong:
            raise ValidationError(wrong)


def wrong_for_its_kind(sent: Mapping[str, Any]) -> dict[str, list[str]]:
    """The fields that an event of its kind lacks, or does not go with."""
    kind = sent.get("kind")
    if not isinstance(kind, str) or kind not in MAY_HOLD:
        return {}
    wrong: dict[str, list[str]] = {
        name: [Coded("required", f"An event of the kind {kind} states this.")]
        for name in NEEDS.get(kind, ())
        if name not in sent
    }
    for name in _OF_SOME_KINDS & sent.keys() - set(MAY_HOLD[kind]):
        wrong[name] = [Coded("not-needed", f"Does not go with the kind {kind}.")]
    if "volume" in sent and "serves" in sent and kind == "poured":
        wrong["serves"] = [Coded("not-needed", "State a volume or serves, not both.")]
    return wrong


_OF_SOME_KINDS = {name for names in MAY_HOLD.values() for name in names}


class Events(Items):
    """Thousands of small objects of one schema; what is wrong with none of them is loaded field by field.

    That takes a sixth of the time of the whole schema, which loads the others and tells their faults.
    """

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list) or not len(value) <= self.most:
            return super()._deserialize(value, attr, data, **kwargs)
        schema: Schema = self.inner.schema  # type: ignore[attr-defined]
        try:
            return tuple(_sound(schema, item) for item in value)
        except ValidationError:
            return super()._deserialize(value, attr, data, **kwargs)


def _sound(schema: Schema, item: Any) -> core.Event:
    """raises: ValidationError for one with any fault; which one is not said"""
    known = schema.fields
    if not isinstance(item, dict) or not _REQUIRED <= item.keys() <= known.keys() or wrong_for_its_kind(item):
        raise ValidationError([])
    read: Body = {
        known[name].attribute or name: known[name]._deserialize(value, name, item) for name, value in item.items()
    }
    return core.Event(**read)


_REQUIRED = {name for name, of in VesselEventSchema().fields.items() if of.required}
