"""The bar's steps: hold, pour, re-gas."""

from collections.abc import Iterator

from service.limits.serving import COLD_HOLD_C
from service.prep_sheet.parts import Parts
from service.prep_sheet.step import StepCaution, Steps, StepValue, Timer
from service.prep_sheet.tap import tap, when_it_foams
from service.regas import Forecast
from service.science.units import Quantity


def serve(sheet: Parts, steps: Steps, labelled: int) -> None:
    """Write down the work of the shift."""
    held = steps.add(
        "hold",
        "bar",
        "hold-cold",
        "Hold cold and upright, out of sun and away from heat.",
        *_holding(sheet),
        hands_on_s=0.0,
        depends_on=(labelled,),
        cautions=_warm(sheet),
    )
    line = sheet.line
    if line is not None:
        held = tap(sheet, line, steps, held)
    poured = steps.add(
        "pour",
        "bar",
        "pour",
        POURING[sheet.fill.each.kind if line is None else "draught"],
        StepValue("each-serve", "each serve", Quantity("volume", sheet.batch.serve_ml)),
        *_serving(sheet),
        hands_on_s=15.0,
        depends_on=(held,),
    )
    if line is not None:
        when_it_foams(sheet, line, steps, poured)
    if sheet.forecast is not None:
        _regas(sheet.forecast, steps, poured)


POURING = {
    "bottle": "Open slowly, pour gently down the side, close at once.",
    "keg": "Pour gently down the side.",
    "draught": "Tilt the glass, open the tap at once and fully, and let it run down the side.",
}


def _serving(sheet: Parts) -> Iterator[StepValue]:
    """Yield the way of serving that the spec states, as far as it does."""
    serve = sheet.asked.spec.serve
    lines = (
        StepValue("serve-glass", "glass", serve.glass or ""),
        StepValue("serve-ice", "ice", serve.ice or ""),
        StepValue("serve-garnish", "garnish", serve.garnish or ""),
        StepValue("serve-note", "note", serve.note or ""),
    )
    yield from (line for line in lines if line.value)


def _stated_c(sheet: Parts) -> float | None:
    shift = sheet.asked.shift
    return None if shift is None else shift.holding_temperature_c


def _warm(sheet: Parts) -> tuple[StepCaution, ...]:
    stated = _stated_c(sheet)
    if stated is None or stated <= COLD_HOLD_C:
        return ()
    text = "See to the cold: warmer than the label says it foams, goes flat and spoils sooner."
    return (StepCaution("held-over-label", "warning", text),)


def _holding(sheet: Parts) -> Iterator[StepValue]:
    """Return how cold the vessels are held, and the pressure that goes with it for a keg on the gas."""
    stated = _stated_c(sheet)
    if stated is not None:
        yield StepValue("hold-at", "at", Quantity("temperature", stated))
    if stated is None or stated < COLD_HOLD_C:
        yield StepValue("hold-at-most", "at most", Quantity("temperature", COLD_HOLD_C))
    if sheet.forecast is not None and sheet.forecast.hold_pressure_bar is not None:
        hold = Quantity("pressure", sheet.forecast.hold_pressure_bar.typical, "down")
        yield StepValue("hold-pressure", "on gas, so held, at", hold)


def _regas(forecast: Forecast, steps: Steps, poured: int) -> None:
    """Write down the re-gassing that the rotation plans, or the remedy where a glass is flat after all."""
    first_regas = forecast.recharge
    if first_regas is None:
        return
    text = (
        "Re-gas each bottle before this pour. Goggles on, open the cylinder, set the dial. Squeeze the bottle, "
        "connect, shake, disconnect, close the cylinder. Rest it cold."
    )
    at_pour = StepValue("before-pour", "pour", float(first_regas.before_pour))
    if not any(turn.regas_before for turn in forecast.rotation):
        text = (
            "Only where a glass is flat, at this pour or later: goggles on, open the cylinder, set the dial. Squeeze "
            "the bottle, connect, shake, disconnect, close the cylinder. Rest it cold."
        )
        at_pour = StepValue("from-pour", "pour, or later", float(first_regas.before_pour))
    steps.add(
        "regas",
        "bar",
        "regas",
        text,
        at_pour,
        StepValue(
            "regas-dial", "dial, for the re-gas only", Quantity("pressure", first_regas.gauge_pressure_bar, "down")
        ),
        StepValue("never-over", "never over", Quantity("pressure", first_regas.never_over_bar_gauge, "down")),
        timer=Timer(first_regas.shake_s),
        hands_on_s=90.0,
        depends_on=(poured,),
        cautions=(_ITS_OWN_DIAL,),
    )


_ITS_OWN_DIAL = StepCaution(
    "regas-dial-only",
    "warning",
    "Use this dial only for a bottle that was poured from, never for the first charge. Re-gas a bottle at most twice, "
    "never below a third full.",
)
