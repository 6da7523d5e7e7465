"""From readings to a constant that other requests take."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service import MODEL, safety
from service.calibration import Calibration, Estimate, PourEstimate, UptakeEstimate
from service.drink import Drink
from service.errors import Refusals
from service.limits.readings import GAUGE_STEP_BAR, POUR_ERROR
from service.limits.safety import FILL_ERROR, GAUGE_ERROR_BAR, THERMOMETER_ERROR_C
from service.notes import Notes
from service.regas.calibrating.bench import Bench, Compared, Kind, Reading, compared
from service.regas.calibrating.checks import check_readings, check_told, sought
from service.regas.calibrating.errors import uncertainty
from service.regas.calibrating.judging import Judgement, caution_scatter, judged
from service.regas.case import Pour, manner_of
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
from service.setting import setting_of, within_limits
from service.site import Air, Site, scale_step_g
from service.vessel import USUAL, VesselGiven


@dataclass(frozen=True)
class FitPoint:
    """One reading beside what the fitted constant makes of it; number counts the readings of the request from 1."""

    number: int
    elapsed_s: float | None
    measured: float
    fitted: float
    residual: float


@dataclass(frozen=True)
class Calibrated:
    """A bar's own constant.

    kind: of what was measured: a gauge pressure [bar], or CO2 gained or lost [g]
    """

    calibration: Calibration
    kind: Literal["pressure", "mass"]
    fit: tuple[FitPoint, ...]
    judgement: Judgement


def calibrate(  # noqa: PLR0913 - one for each field of the request
    drink: Drink,
    *,
    kind: Kind,
    readings: Sequence[Reading],
    temperature_c: float,
    vessel: VesselGiven | None,
    fill: float | None,
    air: Air | None,
    agitation: Agitation | None,
    site: Site | None,
    pour: Pour | None = None,
    notes: Notes,
) -> Calibrated:
    """The constant that the readings agree with best, its standard error, and what they leave unexplained.

    kind: solubility, of the closed vessel at rest, weighed; uptake, of one manner of shaking, by the gauge of the
        closed vessel or by weighings on the regulator; loss, of the open bottle, by weighings or by the gauge closed
        again; pour, of the opened bottle, by weighings of it and the glass together or by the gauge of a second bottle
        that it was poured into
    readings: with the fields that their kind asks for
    agitation: of an uptake, and of nothing else; pour: of a pour, and of nothing else
    raises: Refused, SeveralRefused, also where the readings cannot tell
    """
    bench = _bench(drink, temperature_c, readings, vessel=vessel, fill=fill, air=air, site=site, notes=notes)
    manner = None
    if pour is not None:
        bench, manner = replace(bench, poured_l=pour.volume_ml / 1000.0), manner_of(pour, notes)
    check_readings(kind, bench, notes)
    model, seen = _model(kind, bench, agitation, manner), compared(kind, bench)
    low, high = sought(kind, model)
    fit = fit_constant(seen.residuals, low=low, high=high)
    found = uncertainty(kind, bench, seen, fit, scale_step_g=_scale_step_g(site, bench, notes))
    check_told(kind, bench, seen, fit, found, model)
    _assume(kind, bench, notes)
    caution_scatter(seen, fit, found, notes)
    estimate = Estimate(fit.value, found.standard_error)
    own = replace(_calibration(kind, estimate, agitation, manner, temperature_c),
                  vessel=vessel or VesselGiven(USUAL), model=MODEL)  # fmt: skip
    return Calibrated(own, seen.kind, _points(bench, seen, fit), judged(kind, fit, found, model))


def _bench(
    drink: Drink,
    temperature_c: float,
    readings: Sequence[Reading],
    *,
    vessel: VesselGiven | None,
    fill: float | None,
    air: Air | None,
    site: Site | None,
    notes: Notes,
) -> Bench:
    """The readings in their setting, whose gaps are filled; what is offered stands in for what is refused.

    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    setting = setting_of(
        drink, vessel=vessel, fill=fill, air=air, site=site, question="observed", notes=notes, refusals=refusals
    )
    with refusals.gather():
        safety.check_dead(drink)
    with refusals.gather():
        check_thawed(drink, temperature_c)
        safety.check_readable(drink, temperature_c)
    refusals.raise_any()
    setting = within_limits(setting, [temperature_c], observed=True, notes=notes, refusals=refusals)
    return Bench(setting, drink.absorbs_co2(temperature_c), tuple(readings), foam_loss().typical)


def _model(kind: Kind, bench: Bench, agitation: Agitation | None, manner: PourManner | None = None) -> Band:
    """What the model knows of the constant without the bar."""
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
    """Of the bar's scale; nothing is assumed of one that was not used."""
    used = any(reading.is_weighed for reading in bench.readings)
    return scale_step_g(site, notes if used else Notes())


def _assume(kind: Kind, bench: Bench, notes: Notes) -> None:
    """What the answer rests on beside the readings."""
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


def _calibration(
    kind: Kind, own: Estimate, agitation: Agitation | None, manner: PourManner | None, temperature_c: float
) -> Calibration:
    if kind == "solubility":
        return Calibration(solubility=own)
    if kind == "loss":
        return Calibration(loss_per_s=own)
    if kind == "pour":
        return Calibration(pour_loss=PourEstimate(own.value, own.standard_error, manner, temperature_c))
    assert agitation is not None
    return Calibration(uptake_per_s=(UptakeEstimate(own.value, own.standard_error, agitation),))


def _points(bench: Bench, seen: Compared, fit: Fit) -> tuple[FitPoint, ...]:
    first = 1 + len(bench.readings) - len(seen.readings)
    return tuple(
        FitPoint(i, reading.elapsed_s, measured, measured - residual, residual)
        for i, (reading, measured, residual) in enumerate(
            zip(seen.readings, seen.measured, fit.residuals, strict=True), start=first
        )
    )
