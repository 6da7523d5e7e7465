"""The bar's steps: hold, pour, re-gas."""

from service.prep_sheet.paper import COLD_HOLD_C
from service.prep_sheet.parts import PrepSheet
from service.prep_sheet.step import Steps
from service.regas import Forecast
from service.science.units import Quantity


def serve(sheet: PrepSheet, steps: Steps, labelled: int) -> None:
    """What is done during the shift."""
    keg = sheet.charging.plan.connected
    hold = [("not over", Quantity("temperature", COLD_HOLD_C))]
    if sheet.forecast is not None and sheet.forecast.hold is not None:
        hold.append(("on gas at", Quantity("pressure", sheet.forecast.hold.typical)))
    held = steps.add(
        "hold",
        "bar",
        "hold-cold",
        "Hold cold and upright, out of sun and away from heat.",
        *hold,
        hands_on_s=0.0,
        depends_on=(labelled,),
    )
    poured = steps.add(
        "pour",
        "bar",
        "pour",
        "Pour gently down the side." if keg else "Open slowly, pour gently down the side, close at once.",
        ("each serve", Quantity("volume", sheet.batch.serve_ml)),
        hands_on_s=15.0,
        depends_on=(held,),
    )
    if sheet.forecast is not None:
        _regas(sheet.forecast, steps, poured)


def _regas(forecast: Forecast, steps: Steps, poured: int) -> None:
    """The re-gassing that the rotation plans, or what to do where a glass is flat after all."""
    recharge = forecast.recharge
    if recharge is None:
        return
    if any(turn.regas_before for turn in forecast.rotation):
        text = "Re-gas each bottle before this pour of it: squeeze, connect, shake, disconnect, rest cold."
    else:
        text = "Only if a glass is flat: re-gas the bottle, at the earliest before this pour of it. Squeeze first."
    steps.add(
        "regas",
        "bar",
        "regas",
        text,
        ("pour", f"{recharge.before_pour}"),
        ("dial", Quantity("pressure", recharge.dial_bar_gauge, "down")),
        timer_s=recharge.shake_s,
        hands_on_s=90.0,
        depends_on=(poured,),
        caution="At most twice a bottle, never below a third full, and cold.",
    )
