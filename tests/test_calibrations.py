"""Constants of a bar: least squares against scipy, standard errors against simulated benches, and refusals."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from random import Random
from statistics import stdev
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from scipy.optimize import least_squares
from scipy.stats import norm, t

from service import carbonation
from service.calibration import REACH_OF_90_PERCENT, Calibration
from service.carbonation import ReadingAsked
from service.drink import Drink
from service.errors import Refused
from service.limits.readings import GAUGE_STEP_BAR, POUR_ERROR
from service.limits.safety import FILL_ERROR, GAUGE_ERROR_BAR, THERMOMETER_ERROR_C
from service.notes import Notes
from service.regas import Pour
from service.regas.calibrating import Calibrated, CalibrationAsked, Kind, Reading, calibrate
from service.regas.calibrating.bench import Bench, compared
from service.regas.calibrating.checks import sought
from service.regas.calibrating.errors import uncertainty
from service.regas.calibrating.fitting import bench_of as read_bench
from service.regas.calibrating.fitting import model_of
from service.science.constants import CO2_G_PER_MOL
from service.science.least_squares import fit_constant, student_over_normal
from service.science.mixture import masses_of
from service.science.rounding import rounded_down
from service.science.vessel import foam_loss
from service.site import Air, Scale, Site
from service.vessel import VesselGiven

SITE = Site(barometer_bar=1.01325, scale=Scale(0.1))
PET = VesselGiven("pet-1-l")
KEG = VesselGiven("keg-19-l")
TEMPERATURE_C = 2.0


def drink(abv: float = 9.0, sugar: float = 60.0, co2_g: float = 0.0) -> Drink:
    return Drink(masses_of(1000.0, abv=abv, sugar_g_per_l=sugar), 0.0, co2_g=co2_g)


def weighed(gauge: float, elapsed: float | None = None, before: float = 870.0) -> Reading:
    return Reading(elapsed, gauge, before, before + 1.0)


def opened(elapsed: float) -> Reading:
    return Reading(elapsed, None, 860.0, 859.0)


SOLUBILITY = tuple(weighed(gauge, before=868.0 + gauge) for gauge in (1.1, 1.4, 1.5, 1.8))
ON_REGULATOR = tuple(weighed(1.8, elapsed) for elapsed in (10.0, 20.0, 30.0, 45.0))
CLOSED = (Reading(0.0, 2.8, 21_000.0, 21_060.0), *(Reading(at, 2.0) for at in (30.0, 60.0, 90.0, 180.0)))
LOST = (Reading(0.0, 1.6), *(opened(at) for at in (900.0, 1800.0, 2700.0, 3600.0)))
RECLOSED = (Reading(0.0, 1.9), *(Reading(at, 1.0) for at in (1200.0, 2400.0, 3600.0)))
POURED = (Reading(None, 1.9), *(Reading(None, None, 1210.0 + i, 1210.0 + i) for i in range(5)))
REGAUGED = (Reading(None, 1.9), *(Reading(None, 1.0) for _ in range(5)))
POUR_ML = 700.0
WAYS: dict[str, tuple[Kind, tuple[Reading, ...], VesselGiven, str | None, float]] = {
    "solubility": ("solubility", SOLUBILITY, PET, None, 1.07),
    "uptake on the regulator": ("uptake", ON_REGULATOR, PET, "shaken", 0.03),
    "uptake closed": ("uptake", CLOSED, KEG, "rocked", 2e-3),
    "loss weighed": ("loss", LOST, PET, None, 8e-5),
    "loss by the gauge": ("loss", RECLOSED, PET, None, 1.2e-4),
    "pour weighed": ("pour", POURED, PET, None, 0.2),
    "pour by the gauge": ("pour", REGAUGED, PET, None, 0.4),
}
"""Kind, readings to be filled in, vessel, agitation and the truth; invented."""
every_way = pytest.mark.parametrize("way", WAYS)


def bench_of(readings: tuple[Reading, ...], vessel: VesselGiven = PET, of: Drink | None = None, **given: Any) -> Bench:
    given = {"fill": 0.8, "site": SITE, "temperature_c": TEMPERATURE_C, "pour": Pour(POUR_ML, "gentle"), **given}
    asked = CalibrationAsked(kind="pour", readings=readings, vessel=vessel, **given)
    return read_bench(of or drink(), asked, Notes())


def filled(kind: Kind, bench: Bench, truth: float, noise: Callable[[], float] = lambda: 0.0) -> tuple[Reading, ...]:
    """The readings that a bench would give if the constant were so."""
    seen = compared(kind, bench)
    first = len(bench.readings) - len(seen.readings)
    later = []
    for reading, value in zip(seen.readings, seen.fitted(truth), strict=True):
        read = value + noise()
        if seen.kind == "pressure":
            later.append(replace(reading, gauge_pressure_bar=read))
        else:
            assert reading.mass_before_g is not None
            gained = -read if kind in ("loss", "pour") else read - bench.setting.swelling_g
            later.append(replace(reading, mass_after_g=reading.mass_before_g + gained))
    return (*bench.readings[:first], *later)


def fit_of(kind: Kind, bench: Bench, agitation: Any) -> Any:
    low, high = sought(kind, model_of(kind, bench, agitation, "gentle"))
    return fit_constant(compared(kind, bench).residuals, low=low, high=high)


def calibrated(
    kind: Kind, readings: tuple[Reading, ...], of: Drink | None = None, **given: Any
) -> tuple[Calibrated, Notes]:
    notes = Notes()
    silent: dict[str, Any] = {"vessel": PET, "fill": 0.8, "site": SITE}
    silent |= {"pour": Pour(POUR_ML, "gentle")} if kind == "pour" else {}
    asked = {**silent, "temperature_c": TEMPERATURE_C, **given}
    return calibrate(of or drink(), CalibrationAsked(kind=kind, readings=readings, **asked), notes), notes


def refused(*given: Any, **more: Any) -> Refused:
    with pytest.raises(Refused) as found:
        calibrated(*given, **more)
    return found.value


# Outside checks


@pytest.mark.parametrize("degrees", [2, 3, 4, 5, 7, 10, 30, 49])
def test_student(degrees: int) -> None:
    """scipy.stats. Tolerance: 0.3 %, as the function states."""
    assert student_over_normal(degrees) == pytest.approx(t.ppf(0.95, degrees) / norm.ppf(0.95), rel=3e-3)


@every_way
@pytest.mark.parametrize("seed", [1, 2])
def test_fit_is_that_of_scipy(way: str, seed: int) -> None:
    """scipy.optimize.least_squares on the same residuals.

    Tolerance 1e-5 of the value, where its steps end; 1e-3 of the error, since its slopes are one-sided.
    """
    kind, readings, vessel, agitation, truth = WAYS[way]
    noise = Random(seed)  # noqa: S311 - noise that repeats
    clean = bench_of(readings, vessel)
    noisy = replace(clean, readings=filled(kind, clean, truth, lambda: noise.gauss(0.0, 0.03)))
    ours = fit_of(kind, noisy, agitation)
    seen = compared(kind, noisy)
    theirs = least_squares(lambda x: seen.residuals(x[0] * truth), [0.7], xtol=1e-12, ftol=1e-12, gtol=1e-12)
    assert ours.value == pytest.approx(theirs.x[0] * truth, rel=1e-5)
    variance = 2.0 * theirs.cost / (len(seen.measured) - 1)
    theirs_error = truth * (variance / float((theirs.jac**2).sum())) ** 0.5
    assert ours.standard_error(ours.scatter) == pytest.approx(theirs_error, rel=1e-3)


@every_way
def test_the_truth_comes_back(way: str) -> None:
    """Without noise. Tolerance 1e-7: where the steps of the fit end."""
    kind, readings, vessel, agitation, truth = WAYS[way]
    clean = bench_of(readings, vessel)
    fit = fit_of(kind, replace(clean, readings=filled(kind, clean, truth)), agitation)
    assert fit.value == pytest.approx(truth, rel=1e-7)


def test_water_dissolves_what_the_handbook_prints() -> None:
    """CRC Handbook, CO2 in water at 5 degC and 100 kPa: 1.123e-3 mol/mol; the gas by Span & Wagner, from CoolProp.

    A rigid vessel without air, so that what it gains beyond the CO2 that replaced the air is known. Tolerance 2 %: that
    of the model for plain water.
    """
    vapour_bar, kelvin = 0.00872, 278.15
    steel = VesselGiven(material="steel", capacity_ml=1000.0, charge_limit_bar=9.0, closed_limit_bar=9.0)
    site = replace(SITE, warmest_room_c=5.0)
    gas_g_per_l = PropsSI("D", "T", kelvin, "P", 1e5, "CO2")
    dissolved_g = 0.8 * 1.123e-3 / (1.0 - 1.123e-3) * 999.97 / 18.015 * 44.0095
    before_g = 0.2 * PropsSI("D", "T", kelvin, "P", 101_325.0 - 1e5 * vapour_bar, "CO2")
    reading = Reading(None, 1.0 + vapour_bar - 1.01325, 1000.0, 1000.0 + dissolved_g + 0.2 * gas_g_per_l - before_g)
    bench = bench_of((reading,), steel, drink(0.0, 0.0), air=Air("none"), site=site, temperature_c=5.0)
    factor = fit_constant(compared("solubility", bench).residuals, low=0.6, high=1.5).value
    assert factor == pytest.approx(1.0, rel=0.02)


@every_way
def test_standard_error_of_the_readings_is_the_spread_of_repeated_fits(way: str) -> None:
    """Only the readings scatter. Tolerance 20 %: three times the 6 % that a deviation of 150 repeats is known to."""
    kind, readings, vessel, agitation, truth = WAYS[way]
    clean, noise = bench_of(readings, vessel), Random(7)  # noqa: S311 - noise that repeats
    of_a_reading = 0.02
    found = []
    for _ in range(150):
        noisy = replace(clean, readings=filled(kind, clean, truth, partial(noise.gauss, 0.0, of_a_reading)))
        found.append(fit_of(kind, noisy, agitation))
    stated = found[0].standard_error(of_a_reading)
    assert stdev(fit.value for fit in found) == pytest.approx(stated, rel=0.2)


def stepped(value: float | None, step: float) -> float | None:
    return None if value is None else rounded_down(value + step / 2.0, step)


def another_bench(bench: Bench, noise: Random, step_g: float) -> tuple[Bench, Callable[[Reading], Reading]]:
    """A bar whose instruments and drink are off by as much as is taken of them, and how it would note a reading."""
    off = {
        name: noise.gauss(0.0, 1.0 / REACH_OF_90_PERCENT)
        for name in ("fill", "gauge", "thermometer", "drink", "foam", "volume")
    }
    foam = foam_loss()
    true = replace(
        bench,
        setting=replace(bench.setting, fill=bench.setting.fill + FILL_ERROR * off["fill"]),
        liquid=bench.liquid.at(bench.liquid.temperature_c + THERMOMETER_ERROR_C * off["thermometer"]),
        foam_share=max(0.0, bench.foam_share + (foam.high - foam.low) / 2.0 * off["foam"]),
        poured_l=bench.poured_l * (1.0 + POUR_ERROR * off["volume"]),
    )

    def noted(reading: Reading) -> Reading:
        gauge = reading.gauge_pressure_bar
        if gauge is not None:
            gauge += GAUGE_ERROR_BAR * off["gauge"]
        return replace(
            reading,
            gauge_pressure_bar=stepped(gauge, GAUGE_STEP_BAR),
            mass_before_g=stepped(reading.mass_before_g, step_g),
            mass_after_g=stepped(reading.mass_after_g, step_g),
        )

    return true, noted


def on_other_vessels(readings: tuple[Reading, ...], noise: Random) -> Iterator[Reading]:
    """The same on vessels that do not weigh a whole number of steps; one vessel stays one."""
    more_g: dict[float, float] = {}
    for r in readings:
        if r.mass_before_g is None or r.mass_after_g is None:
            yield r
        else:
            more = more_g.setdefault(r.mass_before_g, noise.random())
            yield replace(r, mass_before_g=r.mass_before_g + more, mass_after_g=r.mass_after_g + more)


@every_way
def test_nine_of_ten_bars_find_the_truth_in_their_interval(way: str) -> None:
    """Simulated bars with errors of fill, gauge, thermometer, foam, volume and model, who read in steps.

    200 of them: 90 % to three standard deviations of a count, 6.4 %; the upper end is open, since an interval that is a
    little wide does no harm, but not past 99.5 %.
    """
    kind, readings, vessel, agitation, truth = WAYS[way]
    nominal, noise, step_g, bars, held = bench_of(readings, vessel), Random(11), 0.1, 200, 0  # noqa: S311
    for _ in range(bars):
        true, noted = another_bench(nominal, noise, step_g)
        if kind != "solubility":
            own = nominal.liquid.spread * noise.gauss(0.0, 1.0 / REACH_OF_90_PERCENT)
            true = replace(true, liquid=true.liquid.scaled(1.0 + own))
        begun = replace(true, readings=tuple(on_other_vessels(readings, noise)))
        bench = replace(nominal, readings=tuple(map(noted, filled(kind, begun, truth))))
        fit = fit_of(kind, bench, agitation)
        found = uncertainty(kind, bench, compared(kind, bench), fit, scale_step_g=step_g)
        held += abs(fit.value - truth) <= REACH_OF_90_PERCENT * found.standard_error
    assert 0.836 * bars <= held <= 0.995 * bars, held


def test_a_weighing_says_the_same_as_a_reading_of_it() -> None:
    """The weight of a bottle, read by a bar whose constant came from it, gives the level that its gauge gives there.

    Two ways through the same balance. Tolerance 1e-6: the steps of the fit.
    """
    clean = bench_of(SOLUBILITY)
    readings = filled("solubility", clean, 0.95)
    found, _ = calibrated("solubility", readings)
    one = readings[2]
    assert one.mass_before_g is not None
    assert one.mass_after_g is not None
    asked = ReadingAsked(temperature_c=TEMPERATURE_C, vessel=PET, fill=0.8, site=SITE, calibration=found.calibration)
    level = [
        carbonation.read(drink(), replace(asked, **by), Notes()).co2_g_per_l.typical
        for by in (
            {"gauge_pressure_bar": one.gauge_pressure_bar},
            {"mass_before_g": one.mass_before_g, "mass_after_g": one.mass_after_g},
        )
    ]
    assert level[0] == pytest.approx(level[1], rel=1e-6)


# Properties


@every_way
def test_a_calibration_says_what_was_fitted(way: str) -> None:
    kind, readings, vessel, agitation, truth = WAYS[way]
    clean = bench_of(readings, vessel)
    found, notes = calibrated(kind, filled(kind, clean, truth), vessel=vessel, agitation=agitation)
    own = found.calibration
    fitted = own.solubility or own.loss_per_s or own.pour_loss or own.uptake_per_s[0]
    stated = (own.solubility, own.uptake_per_s, own.loss_per_s, own.pour_loss)
    assert [bool(one) for one in stated].count(True) == 1
    assert fitted.value == pytest.approx(truth, rel=1e-6)
    assert fitted.standard_error > 0.0
    assert own.vessel == vessel
    assert own.model is not None
    for point in found.fit:
        assert point.measured.value - point.fitted.value == pytest.approx(point.residual.value, abs=1e-12)
    names = {assumption.name for assumption in notes.assumptions}
    assert {"error of the gauge, either way", "step to which the gauge is read"} <= names


def error_of(readings: tuple[Reading, ...], **given: Any) -> float:
    own = calibrated("solubility", readings, **given)[0].calibration.solubility
    assert own is not None
    return own.standard_error


def test_better_instruments_tell_more() -> None:
    readings = filled("solubility", bench_of(SOLUBILITY), 1.0)
    coarse, fine = (error_of(readings, site=replace(SITE, scale=Scale(step))) for step in (0.5, 0.1))
    assert fine < coarse
    many = filled("solubility", bench_of(SOLUBILITY * 3), 1.0)
    assert error_of(many) < error_of(readings)
    floor = error_of(many, site=replace(SITE, scale=Scale(0.001)))
    assert floor > 0.0  # readings that agree too well are not believed


def test_readings_that_scatter_say_so() -> None:
    readings = filled("solubility", bench_of(SOLUBILITY), 1.0)
    quiet, notes = calibrated("solubility", readings)
    assert "calibration-scatter" not in {c.code for c in notes.cautions}
    assert quiet.judgement.code == "within-model"
    moved = [
        replace(r, mass_after_g=(r.mass_after_g or 0.0) + d)
        for r, d in zip(readings, (0.2, -0.2, 0.2, -0.2), strict=True)
    ]
    noisy, notes = calibrated("solubility", tuple(moved), drink(9.0, 160.0))
    assert "calibration-scatter" in {c.code for c in notes.cautions}
    assert noisy.calibration.solubility is not None
    assert quiet.calibration.solubility is not None
    assert noisy.calibration.solubility.standard_error > quiet.calibration.solubility.standard_error


def test_a_rate_outside_the_models_band_says_so() -> None:
    found, _ = calibrated("loss", filled("loss", bench_of(LOST), 4e-4))
    assert found.judgement.code == "outside-model"


@pytest.mark.parametrize("factor", [0.93, 1.0, 1.08])
def test_no_limit_is_relaxed(factor: float) -> None:
    found, _ = calibrated("solubility", filled("solubility", bench_of(SOLUBILITY), factor))
    setting = bench_of(SOLUBILITY).setting
    by_model = setting.closed(TEMPERATURE_C).never_over_bar_gauge
    own = replace(setting, calibration=found.calibration)
    assert own.closed(TEMPERATURE_C).never_over_bar_gauge <= by_model


def test_a_known_solubility_narrows_the_band() -> None:
    found, _ = calibrated("solubility", filled("solubility", bench_of(SOLUBILITY), 1.02))
    setting = bench_of(SOLUBILITY).setting
    own = replace(setting, calibration=found.calibration)
    assert isinstance(found.calibration, Calibration)
    assert own.liquid_at(TEMPERATURE_C).spread < setting.liquid_at(TEMPERATURE_C).spread


def test_a_share_lost_worked_by_hand() -> None:
    """Five pours of 700 ml that lose 0.28 g each, from a bottle of water at 4 degC under 1.013 bar of CO2 over 1.013 of
    air pressure: what an open bottle cannot hold is a bar's worth, K = 2.85 g/(l bar) (Weiss 1974, by hand), so that
    0.28 / 0.7 / 2.9 = 0.14. Tolerance: 5 %, of the numbers rounded and the foam on opening."""
    readings = (Reading(None, 1.013), *(Reading(None, None, 1200.0 + i, 1199.72 + i) for i in range(5)))
    site = replace(SITE, scale=Scale(0.01))
    found, _ = calibrated("pour", readings, drink(0.0, 0.0), temperature_c=4.0, site=site, air=Air("none"))
    assert found.calibration.pour_loss is not None
    assert found.calibration.pour_loss.value == pytest.approx(0.14, rel=0.05)
    assert (found.calibration.pour_loss.manner, found.calibration.pour_loss.temperature_c) == ("gentle", 4.0)


# Refusals


@pytest.mark.parametrize(
    "kind, readings, given, codes",
    [
        ("solubility", SOLUBILITY[:2], {}, ["too-few-readings"]),
        ("loss", LOST[:3], {}, ["too-few-readings"]),
        ("uptake", tuple(replace(r, elapsed_s=20.0) for r in ON_REGULATOR), {"agitation": "shaken"}, ["no-spread"]),
        ("loss", (replace(LOST[0], elapsed_s=60.0), *LOST[1:]), {}, ["not-at-the-start"]),
        ("loss", (LOST[0], LOST[2], LOST[1], LOST[3]), {}, ["not-in-order"]),
        ("loss", (replace(LOST[0], gauge_pressure_bar=0.0), *LOST[1:]), {"air": Air("left")}, ["no-co2"]),
        ("loss", (*RECLOSED[:-1], replace(RECLOSED[-1], gauge_pressure_bar=0.05)), {}, ["at-zero"]),
        ("solubility", (*SOLUBILITY, replace(SOLUBILITY[0], mass_after_g=800.0)), {}, ["nothing-gained"]),
        ("pour", POURED[:3], {}, ["too-few-readings"]),
        ("pour", POURED, {"pour": Pour(900.0)}, ["more-than-held"]),
        ("pour", REGAUGED, {"air": Air("purged", times=3, pressure_bar_gauge=1.0)}, ["not-squeezed"]),
        ("pour", (replace(POURED[0], gauge_pressure_bar=0.0), *POURED[1:]), {"air": Air("left")}, ["no-co2"]),
        ("uptake", (replace(CLOSED[0], mass_after_g=21_001.0), *CLOSED[1:]), {"vessel": KEG, "agitation": "rocked"},
         ["less-than-headspace"]),
    ],
)  # fmt: skip
def test_readings_that_cannot_be_used(kind: Kind, readings: Any, given: Any, codes: list[str]) -> None:
    assert [fault.code for fault in refused(kind, readings, **given).faults] == codes


def test_a_sparkling_drink_is_not_calibrated_with() -> None:
    found = refused("solubility", SOLUBILITY, drink(co2_g=2.0))
    assert [fault.code for fault in found.faults] == ["brings-co2"]


def test_a_coarse_scale_cannot_tell_and_is_named() -> None:
    """Half a gram each way of the five that a bottle gains is a tenth; the model knows the drink better."""
    readings = filled("solubility", bench_of(SOLUBILITY), 1.0)
    found = refused("solubility", readings, drink(9.0, 0.0), site=replace(SITE, scale=Scale(2.0)))
    (fault,) = found.faults
    assert fault.code == "too-uncertain"
    assert {"reach", "most_reach", "scatter", "reading_error"} <= {fact.name for fact in found.facts}


def test_a_solubility_read_warm_says_less_of_a_cold_drink_and_is_named() -> None:
    """Beer is known better cold than warm: that of 5 %vol, as cold as it is charged and at 9.9 degC, by the model's own
    spreads; what it is known less there, the root of the difference of the squares, is more than it is known cold."""
    beer, warm_c = drink(5.0, 60.0), 9.9
    cold, warm = (beer.absorbs_co2(t).spread for t in (1.0, warm_c))
    assert warm**2 - cold**2 > cold**2
    calibrated("solubility", filled("solubility", bench_of(SOLUBILITY, of=beer), 1.0), beer)
    readings = filled("solubility", bench_of(SOLUBILITY, of=beer, temperature_c=warm_c), 1.0)
    (fault,) = refused("solubility", readings, beer, temperature_c=warm_c).faults
    assert (fault.code, dict(fault.params)["largest"]) == ("too-uncertain", "warmth")
    assert dict(fault.params)["reach"] > (warm**2 - cold**2) ** 0.5


@pytest.mark.parametrize("factor", [0.7, 1.3])
def test_no_drink_is_that_far_from_the_model(factor: float) -> None:
    readings = filled("solubility", bench_of(SOLUBILITY), factor)
    (fault,) = refused("solubility", readings).faults
    assert fault.code == "implausible"


def test_a_loss_within_the_noise_is_refused() -> None:
    """A tenth of a gram on a scale that shows whole grams."""
    readings = filled("loss", bench_of(LOST), 2e-6)
    codes = {f.code for f in refused("loss", readings, site=replace(SITE, scale=Scale(1.0))).faults}
    assert codes <= {"too-uncertain", "implausible"}


def test_shaken_to_rest_at_once_tells_no_rate() -> None:
    """Every reading after a shake that was long enough: what it took is gone."""
    later = [replace(r, elapsed_s=r.elapsed_s * 100.0) for r in CLOSED[1:] if r.elapsed_s]
    clean = bench_of((CLOSED[0], *later), KEG)
    readings = filled("uptake", clean, 5e-3)
    (fault,) = refused("uptake", readings, vessel=KEG, agitation="rocked").faults
    assert fault.code in ("too-uncertain", "implausible")


def test_mass_and_mole_agree() -> None:
    """The scale shows the mass that the balance gained. Tolerance: rounding."""
    bench = bench_of(ON_REGULATOR)
    seen = compared("uptake", bench)
    slow, fast = seen.fitted(1e-9), seen.fitted(10.0)
    gained_mol = (fast[0] - slow[0]) / CO2_G_PER_MOL
    _, level = bench.at_rest(bench.liquid, ON_REGULATOR[0].gauge)
    assert gained_mol == pytest.approx(level * bench.setting.liquid_l, rel=1e-6)
