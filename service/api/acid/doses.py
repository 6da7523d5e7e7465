"""Doses of acid on the wire."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.acid import Dose, DoseGiven, Measured, ServeState, dose
from service.api.acid.ph import write_ph
from service.api.answers import Answer, tidy, titratable_acidity
from service.api.endpoint import Body, OldOperation, Open, Part, Request, rule
from service.api.quantities import AcidityField, Choice, Coded, Number, QuantityField, band, number, q, says
from service.api.shapes import (
    ACID_NAMES,
    AcidSolutionSchema,
    DrinkSchema,
    Envelope,
    TitratableAcidityAnswerSchema,
)
from service.notes import Notes


class MeasuredAcidSchema(Part):
    """The drink before the dose as measured, CO2 driven off: what its pH after a dose is reckoned from."""

    loads_to = Measured

    acidity = AcidityField(low=0.01, required=True, attribute="acidity_meq_per_l", metadata=says("To pH 8.2."))
    ph = Number(low=1.0, high=7.0, required=True)
    main_acid = Choice(*ACID_NAMES, metadata=says("What most of its acid is; citric unless stated."))


class AcidDoseRequest(Request):
    """A drink, an acid solution, and either a dose of it or the titratable acidity wanted."""

    drink = fields.Nested(DrinkSchema, required=True)
    serve = QuantityField("volume", low=1.0, above=None, required=True, attribute="serve_ml")
    solution = fields.Nested(AcidSolutionSchema, required=True)
    dose = QuantityField("volume", attribute="dose_ml", metadata=says("Of the solution; either this or a target."))
    target = AcidityField(low=0.01, attribute="target_meq_per_l", metadata=says("To pH 8.2; either this or a dose."))
    measured = fields.Nested(MeasuredAcidSchema, metadata=says("Without it the pH of juice or wine is not given."))
    temperature = QuantityField(
        "temperature",
        low=0.0,
        high=40.0,
        attribute="temperature_c",
        metadata=says("Where pH is read; 20 °C unless stated."),
    )

    @rule
    def dose_or_target(self, sent: Mapping[str, Any]) -> None:
        if len({"dose", "target"} & sent.keys()) != 1:
            raise ValidationError([Coded("exactly-one", "Give exactly one of: dose, target.")])


class UndosedServeSchema(Open):
    """The serve before the dose."""

    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    ph = band("number", required=False)


class AcidDoseAnswer(Envelope):
    """The dose, and the serve with it at 20 °C. ph: absent where the acids are not known; a caution says why."""

    dose = q("volume")
    dose_mass = q("mass")
    before = fields.Nested(UndosedServeSchema, required=True)
    volume = q("volume")
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    ph = band("number", required=False)
    abv = number()
    sugar = q("sugar")


def create_acid_dose(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/acid-doses."""
    return _write(dose(DoseGiven(**asked), notes), answer)


def _write(found: Dose, answer: Answer) -> Body:
    after = found.after.liquid
    return {
        "dose": answer.q("volume", found.dose_ml),
        "dose_mass": answer.q("mass", found.dose_g),
        "before": _acid(found.before, answer),
        "volume": answer.q("volume", after.volume_ml),
        **_acid(found.after, answer),
        "abv": tidy(after.abv),
        "sugar": answer.q("sugar", after.sugar_g_per_l),
    }


def _acid(serve: ServeState, answer: Answer) -> Body:
    return {"titratable_acidity": titratable_acidity(serve.liquid.meq_per_l), **write_ph(serve.ph, answer)}


OPERATION = OldOperation(
    path="/v1/acid-doses",
    operation_id="createAcidDose",
    tag="acid",
    summary="What a dose of acid solution does to a drink.",
    description="Titratable acidity, pH, strength and sugar of a serve with a dose, or the dose for an acidity wanted. "
    "The pH comes from the acid solutions in the drink, from components that state acidity and pH, or from a measured "
    "pair of both; that of juice or wine known by its acidity alone is not guessed: it is left out, and a caution says "
    "what to measure. Its band holds what alcohol does. The hazards of the products in hand come as cautions, by GHS "
    "statement. Volumes are at 20 °C; acidities go to pH 8.2.",
    request=AcidDoseRequest(),
    answer=AcidDoseAnswer,
    view=create_acid_dose,
)
