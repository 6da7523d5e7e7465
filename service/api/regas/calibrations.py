"""POST /v1/regas/calibrations."""

from collections.abc import Iterator, Mapping
from dataclasses import fields as fields_of
from datetime import date
from typing import Any, Literal

from marshmallow import ValidationError, fields

from service.api.answers import Answer, tidy
from service.api.endpoint import Body, Open, Operation, Part, Request, rule
from service.api.quantities import Answered, Choice, Coded, QuantityField, number, q, says, text, whole
from service.api.regas.forecasts import RegasPour
from service.api.shapes import (
    SITE,
    AirSchema,
    CalibrationSchema,
    DrinkSchema,
    Envelope,
    Items,
    SentenceParameterSchema,
    SiteSchema,
    VesselSchema,
    fill_field,
)
from service.calibration import Calibration, Estimate, PourEstimate
from service.drink import drink_of
from service.limits.requests import LONGEST_READINGS_S, MOST_READINGS
from service.notes import Notes
from service.regas.calibrating import Calibrated, Judgement, Reading, calibrate
from service.science.units import ANSWER_UNITS
from service.vessel import VesselGiven

MASSES = ("mass_before", "mass_after")
UNITS = sorted({units[kind] for units in ANSWER_UNITS.values() for kind in ("pressure", "mass")})
KINDS = """What is fitted, and what its readings hold.

solubility: each reading is the closed vessel, shaken until its gauge stays: gauge_pressure, mass_before, mass_after.

uptake: how fast CO2 goes in at one agitation. On the regulator: each reading the dial, the time shaken so far and both
masses. Or closed: the first reading the gauge at 0, with both masses unless the drink was flat; each later one the
gauge after so much shaking in all.

loss: how fast an open bottle goes flat. The first reading is the gauge at rest before it is opened, at 0. Each later
one the time it stood open so far and either both masses, the first of them right after opening, or the gauge after it
was closed again and shaken to rest.

pour: the share lost on pouring, of what an open vessel cannot hold. The first reading is the gauge at rest before it is
opened. Each later one is a glass of the volume stated in pour, from the bottle just opened, one after the other or from
bottles alike: either both masses, of the opened bottle and the glass together on the scale before and after the pour,
nothing spilt; or the gauge of a second bottle of this kind that the pour went into, squeezed until the drink stands in
its neck, capped and shaken to rest. Large pours tell more.

Weigh on a scale that shows 0.1 g, and state it as site.scale: a bottle gains about five grams, and of sets of five
readings weighed to 1 g half are refused."""


class CalibrationReading(Part):
    """One line of the bar's notes; the kind of calibration says what it holds."""

    loads_to = Reading

    elapsed = QuantityField("duration", low=0.0, above=None, high=LONGEST_READINGS_S, attribute="elapsed_s",
                            metadata=says("Of shaking, or of standing open, since the start."))  # fmt: skip
    gauge_pressure = QuantityField("pressure", low=0.0, high=30.0, attribute="gauge_bar")
    mass_before = QuantityField("mass", high=200_000.0, attribute="mass_before_g", metadata=says(
        "The whole vessel, capped, its air out, before any charge; of a loss, right after opening; of a pour, opened "
        "and together with the glass. To 0.1 g."))  # fmt: skip
    mass_after = QuantityField("mass", high=200_000.0, attribute="mass_after_g")


class CalibrationRequest(Request):
    """Readings of one vessel, to calibrate by. Masses are weighed on a scale that shows 0.1 g."""

    kind = Choice("solubility", "uptake", "loss", "pour", required=True, metadata=says(KINDS))
    drink = fields.Nested(DrinkSchema, required=True)
    vessel = fields.Nested(VesselSchema)
    fill = fill_field()
    temperature = QuantityField("temperature", low=-30.0, high=90.0, required=True, attribute="temperature_c",
                                metadata=says("Of drink and vessel while they were read."))  # fmt: skip
    site = fields.Nested(SiteSchema, metadata=SITE)
    air = fields.Nested(AirSchema)
    agitation = Choice("shaken", "rocked", "still", metadata=says("Needed for an uptake, and for nothing else."))
    pour = fields.Nested(RegasPour, metadata=says("Needed for a pour, and for nothing else: each glass."))
    readings = Items(CalibrationReading, most=MOST_READINGS, required=True)

    @rule
    def agitation_of_an_uptake(self, sent: Mapping[str, Any]) -> None:
        if sent.get("kind") == "uptake" and "agitation" not in sent:
            raise ValidationError({"agitation": [Coded("required", "An uptake is that of one manner of shaking.")]})
        if sent.get("kind") in ("solubility", "loss", "pour") and "agitation" in sent:
            raise ValidationError({"agitation": [Coded("not-needed", "Only an uptake has an agitation.")]})

    @rule
    def pour_of_a_pour(self, sent: Mapping[str, Any]) -> None:
        if sent.get("kind") == "pour" and "pour" not in sent:
            raise ValidationError({"pour": [Coded("required", "How much was poured each time, and in which manner.")]})
        if sent.get("kind") in ("solubility", "uptake", "loss") and "pour" in sent:
            raise ValidationError({"pour": [Coded("not-needed", "Only the loss on pouring has a pour.")]})

    @rule
    def fields_of_the_kind(self, sent: Mapping[str, Any]) -> None:
        kind, readings = sent.get("kind"), sent.get("readings")
        if kind not in ("solubility", "uptake", "loss", "pour") or not isinstance(readings, list):
            return  # the fields say so themselves
        if not 0 < len(readings) <= MOST_READINGS or not all(isinstance(one, Mapping) for one in readings):
            return
        wrong = {
            i: {name: [fault] for name, fault in _faults(reading, asked)}
            for i, (reading, asked) in enumerate(zip(readings, _asked(kind, readings), strict=True))
        }
        if any(wrong.values()):
            raise ValidationError({"readings": {i: found for i, found in wrong.items() if found}})


def _asked(kind: str, readings: list[Mapping[str, Any]]) -> Iterator[tuple[str, ...]]:
    """What each reading must hold, and nothing else."""
    weighed = any(name in reading for reading in readings[1:] for name in MASSES)
    for i, reading in enumerate(readings):
        if kind == "solubility":
            yield ("gauge_pressure", *MASSES)
        elif kind == "uptake" and not weighed:
            either = any(name in reading for name in MASSES) and i == 0  # one without the other says nothing
            yield ("elapsed", "gauge_pressure", *(MASSES if either else ()))
        elif kind == "uptake":
            yield ("elapsed", "gauge_pressure", *MASSES)
        elif kind == "pour":
            yield MASSES if weighed and i > 0 else ("gauge_pressure",)
        elif i == 0 or not weighed:
            yield ("elapsed", "gauge_pressure")
        else:
            yield ("elapsed", *MASSES)


def _faults(reading: Mapping[str, Any], needed: tuple[str, ...]) -> Iterator[tuple[str, Coded]]:
    for name in ("elapsed", "gauge_pressure", *MASSES):
        if name in needed and name not in reading:
            yield name, Coded("required", "This kind of calibration asks for it here; see kind.")
        elif name not in needed and name in reading:
            yield name, Coded("not-needed", "This kind of calibration does not ask for it here; see kind.")


class CalibrationMeasure(Open):
    """What the fit is held against: a gauge pressure, or CO2 gained or lost by mass."""

    value = number()
    unit = Answered({"type": "string", "enum": UNITS})


class CalibrationFit(Open):
    """One reading beside what the fitted constant makes of it; residual is measured less fitted."""

    number = whole(metadata=says("Of the reading in the request, from 1."))
    elapsed = q("duration", required=False)
    measured = fields.Nested(CalibrationMeasure, required=True)
    fitted = fields.Nested(CalibrationMeasure, required=True)
    residual = fields.Nested(CalibrationMeasure, required=True)


class CalibrationJudgement(Open):
    """The constant beside the model's own."""

    code = text(100)
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)


class RegasCalibrationAnswer(Envelope):
    """A bar's own constant, how well its readings tell it, and what they leave unexplained."""

    calibration = fields.Nested(
        CalibrationSchema,
        required=True,
        metadata=says("Send it back as calibration. 1.645 of its standard errors to either side hold 90 %."),
    )
    fit = fields.List(fields.Nested(CalibrationFit), required=True)
    judgement = fields.Nested(CalibrationJudgement, required=True)


def create_calibration(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/regas/calibrations."""
    drink = drink_of(asked.pop("drink"), notes)
    given = {name: asked.pop(name, None) for name in ("vessel", "fill", "air", "agitation", "site", "pour")}
    return write(calibrate(drink, notes=notes, **given, **asked), answer)


def write(result: Calibrated, answer: Answer) -> Body:
    """The constant in the form that other operations take."""
    return {
        "calibration": _calibration(result.calibration, answer),
        "fit": [
            {
                "number": point.number,
                **({} if point.elapsed_s is None else {"elapsed": answer.q("duration", point.elapsed_s)}),
                "measured": answer.q(result.kind, point.measured),
                "fitted": answer.q(result.kind, point.fitted),
                "residual": answer.q(result.kind, point.residual),
            }
            for point in result.fit
        ],
        "judgement": _judgement(result.judgement, answer),
    }


def _judgement(judgement: Judgement, answer: Answer) -> Body:
    return {
        "code": judgement.code,
        "text": answer.sentence(judgement.text, judgement.params),
        "params": answer.params(judgement.params.items()),
    }


def _calibration(own: Calibration, answer: Answer) -> Body:
    body: Body = {}
    if own.solubility is not None:
        body["solubility"] = _estimate(own.solubility)
    if own.uptake_per_s:
        body["uptake_per_s"] = [{"agitation": one.agitation, **_estimate(one)} for one in own.uptake_per_s]
    if own.loss_per_s is not None:
        body["loss_per_s"] = _estimate(own.loss_per_s)
    if own.pour_loss is not None:
        body["pour_loss"] = _estimate(own.pour_loss) | _poured(own.pour_loss, answer)
    if own.vessel is not None:
        body["vessel"] = _vessel(own.vessel, answer)
    return body | ({} if own.model is None else {"model": own.model})


def _estimate(estimate: Estimate) -> Body:
    return {"value": tidy(estimate.value), "standard_error": tidy(estimate.standard_error)}


def _poured(own: PourEstimate, answer: Answer) -> Body:
    body: Body = {} if own.manner is None else {"manner": own.manner}
    if own.temperature_c is not None:
        body["temperature"] = answer.q("temperature", own.temperature_c)
    return body


_KINDS: dict[str, tuple[str, Literal["volume", "pressure"]]] = {
    "capacity_ml": ("capacity", "volume"),
    "charge_limit_bar": ("charge_limit", "pressure"),
    "closed_limit_bar": ("closed_limit", "pressure"),
}


def _vessel(given: VesselGiven, answer: Answer) -> Body:
    """As it was sent, in the units of the answer."""
    body: Body = {}
    for field in fields_of(given):
        value = getattr(given, field.name)
        if value is not None and field.name in _KINDS:
            name, kind = _KINDS[field.name]
            body[name] = answer.q(kind, value)
        elif value is not None:
            body[field.name] = value.isoformat() if isinstance(value, date) else value
    return body


OPERATIONS = (
    Operation(
        path="/v1/regas/calibrations",
        operation_id="createCalibration",
        tag="regas",
        summary="A bar's own constants from its readings or weighings.",
        description="Least squares on readings of one kind: the solubility of CO2 in the drink, the uptake at one "
        "manner of shaking, the loss of an open bottle, or the share lost on pouring. Weighings ask for a scale that "
        "shows 0.1 g. With standard error and residuals, or a refusal where the "
        "readings cannot tell, with the numbers and what to measure next. The calibration goes into later requests as "
        "it is: it narrows their bands and never relaxes a limit.",
        request=CalibrationRequest(),
        answer=RegasCalibrationAnswer,
        pressure=True,
        view=create_calibration,
    ),
)
