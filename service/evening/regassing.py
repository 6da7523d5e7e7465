"""The bottles that are re-gassed in the evening: which one, when, at what dial; all drinks together."""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from service import regas
from service.evening.answer import RegasCall
from service.evening.asked import ServicePlanRequest
from service.evening.prepared import Prepared
from service.limits.serving import SMALLEST_POUR_ML
from service.notes import Notes
from service.site import Shift


def regas_calls(asked: ServicePlanRequest, drinks: Sequence[Prepared], notes: Notes) -> tuple[RegasCall, ...]:
    """Return the re-gassings of all drinks that are poured from bottles, in the order of the evening."""
    calls = [call for one in drinks for call in _calls(asked, one, notes)]
    return tuple(sorted(calls, key=lambda call: (call.at, call.drink, call.vessel)))


def _calls(asked: ServicePlanRequest, one: Prepared, notes: Notes) -> Iterator[RegasCall]:
    parts = one.parts
    if parts is None or one.vessel.is_keg or one.asked.serve_at == "draught" or one.serve_ml < SMALLEST_POUR_ML:
        return
    charging, hours = parts.charging, asked.service.lasts_s / 3600.0
    if charging.stays_flat:
        text = "The charges of {drink} come to no more than an open drink holds; its shift is not forecast."
        notes.caution("evening-stays-flat", "warning", text, at=f"/drinks/{one.index}/carbonation",
                      drink=one.asked.spec.name)  # fmt: skip
        return
    plan = charging.planned
    serves = one.count * one.pours
    shift = Shift(serves_per_hour=serves / hours, starts_at=asked.service.starts_at, lasts_s=asked.service.lasts_s)
    at = f"/drinks/{one.index}"
    moves = {
        "": at, "/drink": f"{at}/spec", "/drink/spec": f"{at}/spec", "/pour": None, "/vessel_count": f"{at}/demand",
        "/co2": f"{at}/carbonation/target", "/air": f"{at}/carbonation/air", "/site": "/site",
        "/temperature": f"{at}/carbonation/temperature", "/shift": "/service", "/shift/floor": None,
        "/shift/holding_temperature": None, "/shift/open_for": None, "/calibration": None,
    }  # fmt: skip
    given = asked.vessels[one.vessel_at].vessel
    with notes.within(moves):
        found = regas.forecast(
            parts.batch.drink,
            regas.ForecastAsked(
                vessel=given, vessel_count=one.count, fill=one.fill, temperature_c=plan.temperature_c,
                co2_g_per_l=charging.level_g_per_l.typical, air=one.asked.carbonation.air,
                pour=regas.Pour(one.serve_ml), shift=shift, site=asked.site,
            ),
            notes,
            charged=charging.level_g_per_l,
        )  # fmt: skip
    if found.recharge is None:
        return
    before = timedelta(seconds=found.recharge.shake_s + found.recharge.rest_s)
    for turn in found.rotation:
        if turn.regas_before and turn.at is not None:
            yield RegasCall(
                max(asked.service.starts_at, turn.at - before), one.asked.id, turn.vessel,
                found.recharge.gauge_pressure_bar, found.recharge.never_over_bar_gauge,
            )  # fmt: skip
