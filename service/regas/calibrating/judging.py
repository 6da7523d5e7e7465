"""A fitted constant beside the model's own."""

from dataclasses import dataclass
from typing import Annotated

from service.calibration import REACH_OF_90_PERCENT
from service.declared import CODE, Params, Sentence, shape
from service.errors import Term
from service.limits.readings import SCATTER_OVER_ERROR
from service.notes import Notes, Value
from service.regas.calibrating.asked import Kind
from service.regas.calibrating.bench import Compared
from service.regas.calibrating.errors import Uncertainty
from service.science.band import Band
from service.science.least_squares import Fit
from service.science.units import Quantity


@shape("CalibrationJudgement")
@dataclass(frozen=True)
class Judgement:
    """The constant beside the model's own."""

    code: Annotated[str, CODE]
    text: Sentence
    params: Params


_WITHIN: dict[Kind, str] = {
    "solubility": (
        "Solubility over the model's {value}, nine times in ten within {low} to {high}; the model knows {model_low} to "
        "{model_high}. The largest error left is {largest}. Limits are judged as before."
    ),
    "uptake": (
        "Uptake coefficient per second {value}, nine times in ten within {low} to {high}; the model knows {model_low} "
        "to {model_high}. The largest error left is {largest}. Limits are judged as before."
    ),
    "loss": (
        "Loss rate per second {value}, nine times in ten within {low} to {high}; the model knows {model_low} to "
        "{model_high}. The largest error left is {largest}. Limits are judged as before."
    ),
    "pour": (
        "Share lost on pouring {value}, nine times in ten within {low} to {high}; the model knows {model_low} to "
        "{model_high}. The largest error left is {largest}. Limits are judged as before."
    ),
}
_OUTSIDE: dict[Kind, str] = {
    "solubility": (
        "Repeat it on another day before you rely on it: it lies outside the model's own band. Solubility over the "
        "model's {value}, nine times in ten within {low} to {high}; the model knows {model_low} to {model_high}. The "
        "largest error left is {largest}. Limits are judged as before."
    ),
    "uptake": (
        "Repeat it on another day before you rely on it: it lies outside the model's own band. Uptake coefficient per "
        "second {value}, nine times in ten within {low} to {high}; the model knows {model_low} to {model_high}. The "
        "largest error left is {largest}. Limits are judged as before."
    ),
    "loss": (
        "Repeat it on another day before you rely on it: it lies outside the model's own band. Loss rate per second "
        "{value}, nine times in ten within {low} to {high}; the model knows {model_low} to {model_high}. The largest "
        "error left is {largest}. Limits are judged as before."
    ),
    "pour": (
        "Repeat it on another day before you rely on it: it lies outside the model's own band. Share lost on pouring "
        "{value}, nine times in ten within {low} to {high}; the model knows {model_low} to {model_high}. The largest "
        "error left is {largest}. Limits are judged as before."
    ),
}


def judged(kind: Kind, fit: Fit, found: Uncertainty, model: Band) -> Judgement:
    """Tell whether the bar's constant lies within the model's own band, and how much narrower it is known."""
    reach = REACH_OF_90_PERCENT * found.standard_error
    params: dict[str, Value] = {
        "value": fit.value,
        "low": fit.value - reach,
        "high": fit.value + reach,
        "model_low": model.low,
        "model_high": model.high,
        "largest": Term(found.largest),
    }
    if model.low <= fit.value <= model.high:
        return Judgement("within-model", _WITHIN[kind], params)
    return Judgement("outside-model", _OUTSIDE[kind], params)


def caution_scatter(seen: Compared, fit: Fit, found: Uncertainty, notes: Notes) -> None:
    """Warn of readings that scatter far more than their instruments explain."""
    if fit.scatter <= SCATTER_OVER_ERROR * found.reading_error:
        return
    text = (
        "Look for a leak, a vessel not yet at rest, or a temperature that moved: the readings scatter by {scatter}, "
        "and their instruments explain {explained}."
    )
    scatter, explained = Quantity(seen.kind, fit.scatter), Quantity(seen.kind, found.reading_error)
    notes.caution("calibration-scatter", "warning", text, at="/readings", scatter=scatter, explained=explained)
