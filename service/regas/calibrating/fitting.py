"""From readings to a constant that other requests take, beside the model's own."""

from dataclasses import dataclass, replace
from typing import Annotated, Literal

from service import MODEL, safety
from service.calibration import (
    REACH_OF_90_PERCENT,
    Calibration,
    Estimate,
    LossEstimate,
    PourEstimate,
    SolubilityEstimate,
    UptakeEstimate,
)
from service.declared import CODE, DURATION, Declared, Params, Sentence, shape
from service.drink import Drink
from service.errors import Refusals
from service.limits.readings import GAUGE_STEP_BAR, POUR_ERROR, SCATTER_OVER_ERROR
from service.limits.safety import FILL_ERROR, GAUGE_ERROR_BAR, THERMOMETER_ERROR_C
from service.notes import Notes, Value
from service.regas.calibrating.asked import CalibrationAsked, Kind
from service.regas.calibrating.bench import Bench, Compared, compared
from service.regas.calibrating.checks import check_readings, check_told, sought
from service.regas.calibrating.errors import Uncertainty, uncertainty
from service.regas.case import manner_of
from service.safety.standing import check_thawed
from service.science.band import Band
from service.science.least_squares import Fit, fit_constant
from service.science.units import Quantity
from service.science.vessel import (
    Agitation,
    PourManner,
    foam_loss,
    pour_loss,
    standing_loss_per_s,
    uptake_per_s,
)
from service.setting import SettingGiven, setting_of, within_limits
from service.site import Site, scale_step_g
from service.vessel import USUAL, VesselGiven


@shape("CalibrationJudgement")
@dataclass(frozen=True)
class Judgement:
    """The constant beside the model's own."""

    code: Annotated[str, CODE]
    text: Sentence
    params: Params


_NAMES: dict[Kind, str] = {
    "solubility": "Solubility over the model's",
    "uptake": "Uptake coefficient per second",
    "loss": "Loss rate per second",
    "pour": "Share lost on pouring",
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
        "largest": found.largest,
    }
    text = _NAMES[kind] + " {value}, nine times in ten within {low} to {high}; the model knows {model_low} to "
    text += "{model_high}. The largest error left is {largest}. Limits are judged as before."
    if model.low <= fit.value <= model.high:
        return Judgement("within-model", text, params)
    text += " It lies outside the model's own band: repeat it on another day before you rely on it."
    return Judgement("outside-model", text, params)


def caution_scatter(seen: Compared, fit: Fit, found: Uncertainty, notes: Notes) -> None:
    """Warn of readings that scatter far more than their instruments explain."""
    if fit.scatter <= SCATTER_OVER_ERROR * found.reading_error:
        return
    text = (
        "The readings scatter by {scatter}, their instruments explain {explained}: look for a leak, a vessel not yet "
        "at rest, or a temperature that moved."
    )
    scatter, explained = Quantity(seen.kind, fit.scatter), Quantity(seen.kind, found.reading_error)
    notes.caution("calibration-scatter", "warning", text, at="/readings", scatter=scatter, explained=explained)


@dataclass(frozen=True)
class Measured:
    """A value that the fit is held against: a gauge pressure [bar], or CO2 gained or lost by mass [g]."""

    kind: Literal["pressure", "mass"]
    value: float


@shape("CalibrationFit")
@dataclass(frozen=True)
class FitPoint:
    """One reading beside what the fitted constant makes of it; residual is measured less fitted."""

    number: Annotated[int, "Of the reading in the request, from 1."]
    elapsed_s: Annotated[float | None, DURATION]
    measured: Declared[Measured]
    fitted: Declared[Measured]
    residual: Declared[Measured]


@shape("RegasCalibration")
@dataclass(frozen=True)
class Calibrated:
    """A bar's own constant, how well its readings tell it, and what they leave unexplained."""

    calibration: Annotated[
        Calibration, "Send it back as calibration. 1.645 of its standard errors to either side hold 90 %."
    ]
    fit: Declared[tuple[FitPoint, ...]]
    judgement: Declared[Judgement]


def calibrate(drink: Drink, asked: CalibrationAsked, notes: Notes) -> Calibrated:
    """Return the constant that the readings agree with best, its standard error, and what they leave unexplained.

    The kinds, and the fields that the readings of each have, are those of `service.regas.calibrating.asked`.

    raises: Refused, SeveralRefused, also where the readings cannot tell
    """
    kind, bench, manner = asked.kind, bench_of(drink, asked, notes), None
    if asked.pour is not None:
        manner = manner_of(asked.pour, notes)
    check_readings(kind, bench, notes)
    model, seen = model_of(kind, bench, asked.agitation, manner), compared(kind, bench)
    low, high = sought(kind, model)
    fit = fit_constant(seen.residuals, low=low, high=high)
    found = uncertainty(kind, bench, seen, fit, scale_step_g=_scale_step_g(asked.site, bench, notes))
    check_told(kind, bench, seen, fit, found, model)
    _assume(kind, bench, notes)
    caution_scatter(seen, fit, found, notes)
    own = _calibration(asked, Estimate(fit.value, found.standard_error), manner)
    return Calibrated(own, _points(bench, seen, fit), judged(kind, fit, found, model))


def bench_of(drink: Drink, asked: CalibrationAsked, notes: Notes) -> Bench:
    """Return the readings in their setting, whose gaps are filled; what is offered stands in for what is refused.

    raises: Refused, SeveralRefused
    """
    refusals, temperature_c = Refusals(), asked.temperature_c
    given = SettingGiven(vessel=asked.vessel, fill=asked.fill, air=asked.air, site=asked.site)
    setting = setting_of(drink, given, "observed", notes, refusals)
    with refusals.gather():
        safety.check_dead(drink)
    with refusals.gather():
        check_thawed(drink, temperature_c)
        safety.check_readable(drink, temperature_c)
    refusals.raise_any()
    setting = within_limits(setting, [temperature_c], observed=True, notes=notes, refusals=refusals)
    poured_l = 0.0 if asked.pour is None else asked.pour.volume_ml / 1000.0
    return Bench(setting, drink.absorbs_co2(temperature_c), asked.readings, foam_loss().typical, poured_l)


def model_of(kind: Kind, bench: Bench, agitation: Agitation | None, manner: PourManner | None = None) -> Band:
    """Return what the model knows of the constant without the bar."""
    if kind == "solubility":
        return Band(1.0 - bench.liquid.spread, 1.0, 1.0 + bench.liquid.spread)
    if kind == "loss":
        return standing_loss_per_s()
    if kind == "pour":
        assert manner is not None
        return pour_loss(manner, bench.liquid.temperature_c)
    assert agitation is not None
    return uptake_per_s(agitation, bench.setting.vessel.kind)


def _scale_step_g(site: Site | None, bench: Bench, notes: Notes) -> float:
    """Return the step of the bar's scale; nothing is assumed of one that was not used."""
    used = any(reading.is_weighed for reading in bench.readings)
    return scale_step_g(site, notes if used else Notes())


def _assume(kind: Kind, bench: Bench, notes: Notes) -> None:
    """Note what the answer rests on beside the readings."""
    at = "/readings"
    gauge, step = Quantity("pressure", GAUGE_ERROR_BAR), Quantity("pressure", GAUGE_STEP_BAR)
    notes.assume("error of the gauge, either way", gauge, "estimate")
    notes.assume("step to which the gauge is read", step, "estimate")
    degrees = THERMOMETER_ERROR_C
    notes.assume("error of the thermometer, either way, °C", degrees, "estimate")
    notes.assume("error of the fill, share of brimful, either way", FILL_ERROR, "estimate")
    gains = kind in ("solubility", "uptake") and any(reading.is_weighed for reading in bench.readings)
    if gains:
        when = "capped, its air out, before any charge"
        notes.assume("state of the vessel when it was weighed before", when, "default", at=f"{at}/0/mass_before")
    if gains and bench.setting.swelling_g:
        name = "air that the squeezed bottle pushes aside as it swells, added to what the scale shows"
        notes.assume(name, Quantity("mass", bench.setting.swelling_g), "published", "Archimedes", at="/air",
                     code="air-pushed-aside")  # fmt: skip
    if kind == "uptake" and not bench.readings[0].is_weighed:
        notes.assume("CO2 level before the first shake", Quantity("co2", 0.0), "default", at=f"{at}/0/mass_after")
    if kind == "pour":
        notes.assume("error of the volume poured, share of it, either way", POUR_ERROR, "estimate", at="/pour/volume")
    if kind == "loss":
        notes.assume("what evaporates from the open bottle", "CO2 alone", "default", at=at)


def _calibration(asked: CalibrationAsked, own: Estimate, manner: PourManner | None) -> Calibration:
    known = Calibration(vessel=asked.vessel or VesselGiven(USUAL), model=MODEL)
    if asked.kind == "solubility":
        return replace(known, solubility=SolubilityEstimate(own.value, own.standard_error))
    if asked.kind == "loss":
        return replace(known, loss_per_s=LossEstimate(own.value, own.standard_error))
    if asked.kind == "pour":
        return replace(known, pour_loss=PourEstimate(own.value, own.standard_error, manner, asked.temperature_c))
    assert asked.agitation is not None
    return replace(known, uptake_per_s=(UptakeEstimate(own.value, own.standard_error, asked.agitation),))


def _points(bench: Bench, seen: Compared, fit: Fit) -> tuple[FitPoint, ...]:
    first = 1 + len(bench.readings) - len(seen.readings)
    return tuple(
        FitPoint(i, reading.elapsed_s, *(Measured(seen.kind, value) for value in (measured, measured - off, off)))
        for i, (reading, measured, off) in enumerate(
            zip(seen.readings, seen.measured, fit.residuals, strict=True), start=first
        )
    )
