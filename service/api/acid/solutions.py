"""Acid solutions on the wire."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.acid import (
    Haze,
    ScaleError,
    Solubility,
    Solution,
    SolutionGiven,
    Titrated,
    WeighedGiven,
    Weighing,
    make_as_weighed,
    make_solution,
)
from service.api.acid.ph import write_ph
from service.api.acid.weighed import AcidsAsWeighedSchema
from service.api.answers import Answer, tidy, titratable_acidity
from service.api.endpoint import Body, Open, Operation, Request, rule
from service.api.quantities import (
    AcidityField,
    AmountField,
    Choice,
    Coded,
    Number,
    QuantityField,
    band,
    flag,
    number,
    q,
    says,
    text,
)
from service.api.shapes import (
    AcidPartSchema,
    Envelope,
    Items,
    ScaleSchema,
    TitratableAcidityAnswerSchema,
    check_percents,
    check_shares,
)
from service.limits.requests import MOST_ACIDS
from service.notes import Notes

PERCENT_BASES = ("w/w", "w/v")
BASIS = "w/w: grams in 100 g. w/v: grams in 100 ml at 20 °C. ta: shares of a blend that meets the target."
WITHOUT = ("acids", "basis", "size")
"""What is needed where no recipe as weighed is given."""
OTHER_WAY = Coded("exactly-one", "Give exactly one of: acids with basis and size, as_weighed.")
IN_WATER = Coded("not-needed", "A recipe as weighed says its strength, in water; leave this out.")


class AcidSolutionRequest(Request):
    """An acid solution: by per cent, by the titratable acidity it is to have, or as the card on the wall has it.

    Exactly one of two ways: acids, basis and size; or as_weighed, with a size where another one is wanted.
    """

    acids = Items(AcidPartSchema, most=MOST_ACIDS, metadata=says("Required, unless as_weighed is given."))
    basis = Choice(*PERCENT_BASES, "ta", metadata=says(f"Required, unless as_weighed is given. {BASIS}"))
    as_weighed = fields.Nested(AcidsAsWeighedSchema, metadata=says("In place of acids and basis: what is it?"))
    target = AcidityField(low=0.01, attribute="target_meq_per_l", metadata=says("With the basis ta only."))
    size = AmountField(
        low=0.1,
        above=None,
        metadata=says("Of the finished solution. Required, unless as_weighed is given, whose own size it then is."),
    )
    scale = fields.Nested(ScaleSchema, metadata=says("Reads to 0.1 g unless stated."))
    temperature = QuantityField(
        "temperature",
        low=0.0,
        high=40.0,
        attribute="temperature_c",
        metadata=says("Of the work, where pH is measured; 20 °C unless stated."),
    )
    solvent_abv = Number(low=0.0, high=40.0, metadata=says("Spirit of this strength, %vol, in place of water."))
    coldest_storage = QuantityField(
        "temperature",
        low=0.0,
        high=40.0,
        attribute="coldest_storage_c",
        metadata=says("Where crystals would show; 4 °C unless stated."),
    )
    tolerance_percent = Number(
        low=0.01, high=20.0, metadata=says("Error of the acidity that the smallest batch keeps to; 1 unless stated.")
    )
    potassium_mmol_per_kg = Number(
        low=0.0, high=150.0, metadata=says("That tartaric acid meets, from juice, wine or salts; 10 unless stated.")
    )

    @rule
    def one_way(self, sent: Mapping[str, Any]) -> None:
        if "as_weighed" not in sent:
            wrong = {name: [Coded("required", "Required, unless as_weighed is given.")] for name in WITHOUT}
            wrong = {name: said for name, said in wrong.items() if name not in sent}
        else:
            said = {"acids": OTHER_WAY, "basis": OTHER_WAY, "target": IN_WATER, "solvent_abv": IN_WATER}
            wrong = {name: [text] for name, text in said.items() if name in sent}
        if wrong:
            raise ValidationError(wrong)

    @rule
    def target_of_the_basis(self, sent: Mapping[str, Any]) -> None:
        basis = sent.get("basis") if "as_weighed" not in sent else None
        if basis == "ta" and "target" not in sent:
            raise ValidationError({"target": [Coded("required", "The basis ta needs a target.")]})
        if basis in PERCENT_BASES and "target" in sent:
            raise ValidationError({"target": [Coded("not-needed", "A target goes with the basis ta only.")]})

    @rule
    def acids_of_the_basis(self, sent: Mapping[str, Any]) -> None:
        basis = sent.get("basis") if "as_weighed" not in sent else None
        if basis == "ta":
            check_shares(sent.get("acids"))
        if basis in PERCENT_BASES:
            check_percents(sent.get("acids"))


class AcidWeighingSchema(Open):
    """One thing to weigh. measure: the mass as the scale can show it."""

    name = text(100)
    form = text(100, required=False)
    mass = q("mass")
    measure = q("mass")


class AcidStrengthSchema(Open):
    """Grams of one pure acid in 100 g of the solution."""

    acid = text(100)
    percent = number()


class AcidTotalSchema(Open):
    """What is weighed of one thing altogether."""

    name = text(100)
    mass = q("mass")


class AcidScaleErrorSchema(Open):
    """What the scale's resolution does to the titratable acidity.

    ta_error_percent: at worst; drift_percent: of the measures as they are shown; smallest_batch keeps the worst to the
    tolerance.
    """

    ta_error_percent = number()
    drift_percent = number()
    tolerance_percent = number()
    smallest_batch = q("mass")


class TitrationSchema(Open):
    """What a titration to an end point finds, by the speciation of the acids, CO2 driven off.

    titratable_acidity counts whole protons; this counts those that have left at the end point.
    """

    end_point_ph = number()
    method = text(200)
    meq_per_l = band("number")
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)


class AcidSolubilitySchema(Open):
    """One acid beside all the water, without the other acids. ok: it surely stays dissolved at the coldest storage."""

    acid = text(100)
    percent_ww = number()
    saturation_percent_ww = number(required=False)
    known_at = q("temperature", required=False)
    miscible = flag()
    ok = flag()


class TartrateHazeSchema(Open):
    """Saturation with potassium hydrogen tartrate at the coldest storage, were there that much potassium.

    Below 1 it is clear, from 1 to 2 it may hold, above 2 crystals are likely.
    """

    potassium_mmol_per_kg = number()
    saturation = band("number")


class AcidSolutionBody(Open):
    """An acid solution, weighed. weigh is in working order: acid goes into water."""

    weigh = fields.List(fields.Nested(AcidWeighingSchema), required=True)
    totals = fields.List(fields.Nested(AcidTotalSchema), required=True)
    mass = q("mass")
    volume = q("volume")
    density_g_per_ml = number()
    percent_w_w = fields.List(fields.Nested(AcidStrengthSchema), required=True)
    abv = number(required=False)
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    titrations = fields.List(fields.Nested(TitrationSchema), required=True)
    ph = band("number", required=False)
    keeps = q("duration", metadata=says("Clean, closed and cold; common practice."))
    scale = fields.Nested(AcidScaleErrorSchema, required=True)
    solubility = fields.List(fields.Nested(AcidSolubilitySchema), required=True)
    haze = fields.Nested(TartrateHazeSchema)


class AcidSolutionAnswer(Envelope, AcidSolutionBody):
    """An acid solution, weighed."""


def create_acid_solution(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/acid-solutions."""
    if "as_weighed" in asked:
        return write(make_as_weighed(WeighedGiven(**asked), notes), answer)
    return write(make_solution(SolutionGiven(**asked), notes), answer)


def write(solution: Solution, answer: Answer) -> Body:
    """A solution on the wire."""
    mix = solution.mix
    found: Body = {
        "weigh": [_weighing(line, answer) for line in solution.weigh],
        "totals": [{"name": name, "mass": answer.q("mass", g)} for name, g in solution.totals_g.items()],
        "mass": answer.q("mass", mix.mass_g),
        "volume": answer.q("volume", mix.volume_ml),
        "density_g_per_ml": tidy(mix.mass_g / mix.volume_ml),
        "percent_w_w": [{"acid": acid, "percent": tidy(percent)} for acid, percent in mix.acid_percent_ww.items()],
        "titratable_acidity": titratable_acidity(mix.meq_per_l),
        "titrations": [_titration(one, answer) for one in solution.titrations],
        "keeps": answer.q("duration", solution.keeps_s),
        "scale": _scale(solution.scale, answer),
        "solubility": [_solubility(one, answer) for one in solution.solubility],
        **write_ph(solution.ph, answer),
    }
    if mix.ethanol_share:
        found["abv"] = tidy(mix.abv)
    if solution.haze is not None:
        found["haze"] = _haze(solution.haze, answer)
    return found


def _titration(found: Titrated, answer: Answer) -> Body:
    return {
        "end_point_ph": found.end_point_ph,
        "method": found.method,
        "meq_per_l": answer.band("number", found.meq_per_l),
        "titratable_acidity": titratable_acidity(found.meq_per_l.typical),
    }


def _scale(error: ScaleError, answer: Answer) -> Body:
    return {
        "ta_error_percent": tidy(error.ta_error_percent),
        "drift_percent": tidy(error.drift_percent),
        "tolerance_percent": tidy(error.tolerance_percent),
        "smallest_batch": answer.q("mass", error.smallest_batch_g),
    }


def _weighing(line: Weighing, answer: Answer) -> Body:
    return {
        "name": line.name,
        **({"form": line.form} if line.form else {}),
        "mass": answer.q("mass", line.mass_g),
        "measure": answer.q("mass", line.measure_g),
    }


def _solubility(one: Solubility, answer: Answer) -> Body:
    found: Body = {
        "acid": one.acid,
        "percent_ww": tidy(one.percent_ww),
        "miscible": one.saturation_percent_ww is None,
        "ok": one.ok,
    }
    if one.saturation_percent_ww is None or one.known_at_c is None:
        return found
    return {
        **found,
        "saturation_percent_ww": tidy(one.saturation_percent_ww),
        "known_at": answer.q("temperature", one.known_at_c),
    }


def _haze(haze: Haze, answer: Answer) -> Body:
    return {"potassium_mmol_per_kg": haze.potassium_mmol_per_kg, "saturation": answer.band("number", haze.saturation)}


OPERATION = Operation(
    path="/v1/acid-solutions",
    operation_id="createAcidSolution",
    tag="acid",
    summary="Weigh an acid solution.",
    description="Grams of each product as sold and of water, in working order, for a strength or an acidity, or the "
    "other way round: a recipe as weighed, told by what it is, and weighed in another size. With strength w/w, volume, "
    "pH, titrations to pH 8.2 and 7, solubility in the cold, tartrate haze, the error of the scale, how long it keeps, "
    "and how to handle the products. Volumes are at 20 °C.",
    request=AcidSolutionRequest(),
    answer=AcidSolutionAnswer,
    view=create_acid_solution,
)
