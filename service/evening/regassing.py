"""The bottles that are re-gassed in the evening: which one, when, at what dial; all drinks together."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from service import regas
from service.drink import DrinkGiven, drink_of
from service.errors import Refused, SeveralRefused
from service.evening.answer import RegasCall
from service.evening.asked import ServicePlanRequest
from service.evening.prepared import Charged, Moves, Prepared
from service.limits.charging import REACHED_SHARE
from service.limits.serving import SMALLEST_POUR_ML
from service.notes import Notes, SilentNotes
from service.science.band import Band
from service.science.units import Quantity
from service.site import Shift
from service.vessel import vessel_of


def regas_calls(asked: ServicePlanRequest, drinks: Sequence[Prepared], notes: Notes) -> tuple[RegasCall, ...]:
    """Return the re-gassings of all drinks that are poured from bottles, in the order of the evening."""
    calls = [call for one in drinks for call in _calls(asked, one, notes)]
    return tuple(sorted(calls, key=lambda call: (call.at, call.drink, call.vessel)))


def _calls(asked: ServicePlanRequest, one: Prepared, notes: Notes) -> Iterator[RegasCall]:
    """Yield those of one drink: what is charged already is opened first, in the order of the request."""
    poured_from = one.asked.serve_at == "bottle" and one.serve_ml >= SMALLEST_POUR_ML
    opened, served = 0, 0
    for ready in one.ready:
        if _is_fit(asked, ready, one, notes):
            _caution_short(one, ready, notes)
            if poured_from and not ready.vessel.is_keg:
                yield from _of_ready(asked, one, ready, _Turn(opened, served), notes)
        opened, served = opened + ready.given.count, served + ready.serves
    if poured_from and one.parts is not None and not one.vessel.is_keg:
        yield from _of_tonight(asked, one, _Turn(opened, served), notes)


def _is_fit(asked: ServicePlanRequest, ready: Charged, one: Prepared, notes: Notes) -> bool:
    """Tell whether vessels that are charged already might be charged again; what they are otherwise is told before."""
    try:
        vessel_of(ready.given.vessel, SilentNotes(), now=asked.service.starts_at)
    except (Refused, SeveralRefused):
        _caution_unfit(one, ready, notes)
        return False
    return True


def _caution_unfit(one: Prepared, ready: Charged, notes: Notes) -> None:
    text = "No re-gas is told of what is charged already of {drink}: as it is described it is not to be charged."
    notes.caution("ready-not-forecast", "warning", text, at=ready.at, drink=one.asked.spec.name)


def _caution_short(one: Prepared, ready: Charged, notes: Notes) -> None:
    """Tell of vessels that hold less than the drink is charged to tonight."""
    level = ready.given.co2_g_per_l
    if level is not None and level < REACHED_SHARE * one.target_g_per_l:
        text = "What is charged already of {drink} holds {level}, and {target} is wanted: serve it first or charge it."
        notes.caution("ready-short", "warning", text, at=f"{ready.at}/co2", drink=one.asked.spec.name,
                      level=Quantity("co2", level), target=Quantity("co2", one.target_g_per_l))  # fmt: skip


@dataclass(frozen=True)
class _Turn:
    """A vessel's turn: the vessels opened before it, and the serves poured by then."""

    opened: int
    served: int


def _shift(asked: ServicePlanRequest, one: Prepared, turn: _Turn, serves: int) -> Shift:
    """Return the part of the service in which some serves of a drink are poured, at the pace of all of them."""
    each_s = asked.service.lasts_s / one.whole_serves
    begins_at = asked.service.starts_at + timedelta(seconds=turn.served * each_s)
    return Shift(serves_per_hour=3600.0 / each_s, starts_at=begins_at, lasts_s=serves * each_s)


def _of_ready(
    asked: ServicePlanRequest, one: Prepared, ready: Charged, turn: _Turn, notes: Notes
) -> Iterator[RegasCall]:
    """Yield those of vessels that are charged already, by the level that is stated; what is unfit is told, not refused.

    Their level is judged as it stands, at the warmest room.
    """
    given, level = ready.given, ready.given.co2_g_per_l
    if level is None:
        text = "State the level of what is charged already of {drink}: without it no re-gas of it is told."
        notes.caution("ready-level-unstated", "info", text, at=ready.at, drink=one.asked.spec.name)
        return
    drink = drink_of(DrinkGiven(spec=one.asked.spec), SilentNotes(), at="")
    shift = regas.ForecastAsked(
        vessel=given.vessel, vessel_count=given.count, fill=ready.fill, co2_g_per_l=level, site=asked.site,
        pour=regas.Pour(one.serve_ml), shift=_shift(asked, one, turn, ready.serves),
    )  # fmt: skip
    at = ready.at
    moves = _moves(one) | {
        "/vessel_count": f"{at}/count", "/co2": f"{at}/co2", "/air": None, "/temperature": None,
        "/vessel": f"{at}/vessel", "/fill": f"{at}/fill",
    }  # fmt: skip
    try:
        with notes.within(moves):
            found = regas.forecast(drink, shift, notes)
    except (Refused, SeveralRefused):
        _caution_unfit(one, ready, notes)
        return
    yield from _told(asked, one, found, turn)


def _of_tonight(asked: ServicePlanRequest, one: Prepared, turn: _Turn, notes: Notes) -> Iterator[RegasCall]:
    """Yield those of the vessels that are filled for this evening."""
    parts = one.to_chill
    charging = parts.charging
    if charging.stays_flat:
        text = "The charges of {drink} come to no more than an open drink holds; its shift is not forecast."
        notes.caution("evening-stays-flat", "warning", text, at=f"/drinks/{one.index}/carbonation",
                      drink=one.asked.spec.name)  # fmt: skip
        return
    level: Band = charging.level_g_per_l
    shift = regas.ForecastAsked(
        vessel=asked.vessels[one.vessel_at].vessel, vessel_count=one.fillings, fill=one.fill,
        temperature_c=charging.planned.temperature_c, co2_g_per_l=level.typical, air=one.asked.carbonation.air,
        pour=regas.Pour(one.serve_ml), shift=_shift(asked, one, turn, one.fillings * one.pours), site=asked.site,
    )  # fmt: skip
    with notes.within(_moves(one)):
        found = regas.forecast(parts.batch.drink, shift, notes, charged=level)
    yield from _told(asked, one, found, turn)


def _moves(one: Prepared) -> Moves:
    at = f"/drinks/{one.index}"
    return {
        "": at, "/drink": f"{at}/spec", "/drink/spec": f"{at}/spec", "/pour": None, "/vessel_count": f"{at}/demand",
        "/co2": f"{at}/carbonation/target", "/air": f"{at}/carbonation/air", "/site": "/site",
        "/temperature": f"{at}/carbonation/temperature", "/shift": "/service", "/shift/floor": None,
        "/shift/holding_temperature": None, "/shift/open_for": None, "/calibration": None,
    }  # fmt: skip


def _told(asked: ServicePlanRequest, one: Prepared, found: regas.Forecast, turn: _Turn) -> Iterator[RegasCall]:
    """Yield what a forecast re-gasses, so long before the next glass as it takes."""
    if found.recharge is None:
        return
    before = timedelta(seconds=found.recharge.shake_s + found.recharge.rest_s)
    for one_turn in found.rotation:
        if one_turn.regas_before and one_turn.at is not None:
            yield RegasCall(
                max(asked.service.starts_at, one_turn.at - before), one.asked.id, turn.opened + one_turn.vessel,
                found.recharge.gauge_pressure_bar, found.recharge.never_over_bar_gauge,
            )  # fmt: skip
