"""Composes the capabilities for one spec, and tells where their refusals point."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta

from service import acid, batching, carbonation, regas
from service.batching import Batch, BatchRequest, Fill, Size, WholeServes
from service.carbonation import Charging, SetPoints
from service.drink import Portion
from service.errors import Fact, Fault, Refusals, Refused
from service.notes import Notes
from service.prep_sheet.parts import Parts, PrepSheetRequest, PrepSolution
from service.prep_sheet.planned import charged, chilled
from service.regas import Forecast, Pour
from service.science.units import Quantity
from service.setting import attempt
from service.vessel import Vessel, VesselGiven, fill_of, most_fill, vessel_of

Moves = dict[str, str | None]

_CARBONATION: Moves = {
    "/drink": "/spec",
    "/drink/spec": "/spec",
    "/start_co2": "/spec",
    "/now": "/made_at",
    "/temperatures": "/carbonation/temperature",
    "/temperatures/0": "/carbonation/temperature",
    **{
        f"/{name}": f"/carbonation/{name}"
        for name in (
            "target",
            "temperature",
            "air",
            "gauge_pressure",
            "charge_count",
            "as_needed",
            "within",
            "held",
            "shake",
            "rest",
            "agitation",
            "connected",
        )
    },
}
_BATCH: Moves = {
    "/scale": "/site/scale",
    "/dilution": None,
    "/loss": None,
    "/size/whole_serves/vessel": "/vessel",
    "/size/whole_serves/fill": "/fill",
}
_CHILLING: Moves = {
    "/drink": "/spec",
    "/drink/spec": "/spec",
    "/environment": "/chill/environment",
    "/start_temperature": "/chill/start_temperature",
    "/goal_temperature": "/carbonation/temperature",
    "/environment_temperature": None,
    "/cooling_power_w": None,
    "/charged": None,
}
_REGAS: Moves = {
    "/drink": "/spec",
    "/drink/spec": "/spec",
    "/pour": None,
    "/vessel_count": "/size",
    "/co2": "/carbonation/target",
    "/air": "/carbonation/air",
    "/temperature": "/carbonation/temperature",
}


def prepare(asked: PrepSheetRequest, notes: Notes) -> Parts:
    """The whole job for one spec.

    raises: Refused, SeveralRefused, with pointers into the prep sheet's own request
    """
    size = _size_asked(asked, notes)
    at_vessel, given_vessel, given_fill = _vessel_asked(asked, size)
    refusals = Refusals()
    with notes.within(at_vessel):
        vessel = attempt(
            refusals, lambda: vessel_of(given_vessel, notes, now=asked.now), lambda: vessel_of(None, Notes())
        )
        wanted_fill = attempt(refusals, lambda: fill_of(given_fill, vessel, notes), lambda: most_fill(vessel))
    batch = attempt(refusals, lambda: _scaled(asked, size, notes), refusals.raise_all)
    fill = _filled(batch, vessel, wanted_fill, at_vessel["/vessel"] or "", refusals)
    with refusals.gather():
        solutions = solutions_for(asked, batch, notes)
    with refusals.gather(), notes.within(_CHILLING | at_vessel):
        goal_c = asked.carbonation.temperature_c
        cold = chilled(asked.chill, batch.drink, vessel=given_vessel, vessel_count=fill.count, fill=_share(fill),
                       goal_c=goal_c, notes=notes)  # fmt: skip
    with refusals.gather(), notes.within(_CARBONATION | at_vessel):
        charging, set_points = _charged(asked, batch, given_vessel, fill, notes)
        made = charging.planned
        each_g = carbonation.each_vessel_g(made.setting, made.temperature_c, made.dial_bar_gauge, notes)
    refusals.raise_any()
    forecast = _forecast(asked, batch, given_vessel, fill, charging, at_vessel, notes)
    _caution_discard(asked, batch, notes)
    _caution_heels(size, batch, fill, notes)
    gas_g = each_g.map(lambda grams: grams * fill.count)
    return Parts(asked, batch, fill, solutions, cold, set_points, charging, gas_g, forecast)


def _size_asked(asked: PrepSheetRequest, notes: Notes) -> Size:
    """The size as stated, whole serves in the sheet's own vessel; without one, the whole serves of the shift."""
    size, shift = asked.size, asked.shift
    if size is None:
        assert shift is not None
        assert shift.lasts_s is not None
        count = regas.asked_pours(shift.lasts_s, 3600.0 / shift.serves_per_hour)
        told = "serves an hour of the shift, for as long as it lasts"
        notes.assume("whole serves", float(count), "default", told, at="/size")
        size = Size(whole_serves=WholeServes(count))
    if size.whole_serves is None:
        return size
    return Size(whole_serves=replace(size.whole_serves, vessel=asked.vessel, fill=asked.fill))


def _vessel_asked(asked: PrepSheetRequest, size: Size) -> tuple[Moves, VesselGiven | None, float | None]:
    """The one kind of vessel of a sheet, and where the request names it.

    raises: Refused ("impossible-batch") for several kinds
    """
    if size.vessels is None:
        return {"/vessel": "/vessel", "/fill": "/fill"}, asked.vessel, asked.fill
    only, *more = size.vessels
    if more:
        text = "A prep sheet is for one kind of vessel; write one sheet for each."
        raise Refused("impossible-batch", [Fault("/size/vessels", "several-kinds", text)])
    at: Moves = {"/vessel": "/size/vessels/0/vessel", "/fill": "/size/vessels/0/fill"}
    return at, only.vessel, only.fill


def _filled(batch: Batch, vessel: Vessel, fill: float, at: str, refusals: Refusals) -> Fill:
    """The vessels, filled evenly; one that is poured from holds at least one serve."""
    holds_ml = vessel.liquid_ml(fill)
    if holds_ml < batch.serve_ml:
        holds, serve = Quantity("volume", holds_ml, "down"), Quantity("volume", batch.serve_ml, "up")
        text = "At this fill the vessel holds {holds}, less than one serve of {serve}."
        with refusals.gather():
            raise Refused(
                "impossible-batch",
                [Fault(at, "holds-no-serve", text, (("holds", holds), ("serve", serve)))],
                facts=[Fact("holds", holds), Fact("serve", serve)],
            )
    return batch.fills[0] if batch.fills else batching.fills_for(batch.volume_ml, vessel, fill)


def _scaled(asked: PrepSheetRequest, size: Size, notes: Notes) -> Batch:
    with notes.within(_BATCH):
        wanted = BatchRequest(
            units=asked.units,
            spec=asked.spec,
            size=size,
            rounding=asked.rounding,
            scale=asked.site.scale if asked.site else None,
            prices=asked.prices,
            made_at=asked.made_at,
            house_maximum_s=asked.house_maximum_s,
        )
        return batching.scale(wanted, notes, now=asked.now)


def solutions_for(asked: PrepSheetRequest, batch: Batch, notes: Notes) -> tuple[PrepSolution, ...]:
    """Return the acid solutions that the spec names, each in the amount the batch takes."""
    refusals = Refusals()
    found = []
    for part, at in _placed([line.whole for line in batch.components], "/spec"):
        recipe = part.component.acid_solution
        if recipe is None:
            continue
        moves: Moves = {"": f"{at}/acid_solution", "/size": f"{at}/amount", "/scale": "/site/scale"}
        with refusals.gather(), notes.within(moves):
            scale = asked.site.scale if asked.site else None
            solution = acid.for_component(recipe, part.volume_ml * part.started, notes, scale=scale)
            found.append(PrepSolution(part.component.name, solution))
    refusals.raise_any()
    return tuple(found)


def _placed(parts: Sequence[Portion], at: str) -> Iterator[tuple[Portion, str]]:
    """Each component, and those of what is made from a spec of its own, with its JSON Pointer."""
    for i, part in enumerate(parts):
        here = f"{at}/components/{i}"
        yield part, here
        yield from _placed(part.made_of, f"{here}/made_from")


def _share(fill: Fill) -> float:
    return fill.liquid_ml / (fill.liquid_ml + fill.headspace_ml)


def _charged(
    asked: PrepSheetRequest, batch: Batch, vessel: VesselGiven | None, fill: Fill, notes: Notes
) -> tuple[Charging, SetPoints]:
    charging = charged(
        asked.carbonation, batch.drink, vessel=vessel, fill=_share(fill), site=asked.site,
        calibration=asked.calibration, now=asked.now, notes=notes,
    )  # fmt: skip
    made = charging.planned
    set_points = carbonation.set_points_in(made.setting, [made.temperature_c], made.target_g_per_l, notes, Refusals())
    return charging, set_points


def _caution_discard(asked: PrepSheetRequest, batch: Batch, notes: Notes) -> None:
    shift = asked.shift
    if batch.use_by is None or shift is None or shift.starts_at is None:
        return
    if shift.starts_at + timedelta(seconds=shift.lasts_s or 0.0) > batch.use_by:
        text = "The shift goes on after the batch is to be discarded, {use_by}: make it later, or less of it."
        notes.caution("past-discard", "danger", text, at="/shift/starts_at", use_by=f"{batch.use_by:%Y-%m-%d %H:%M}")


def _caution_heels(size: Size, batch: Batch, fill: Fill, notes: Notes) -> None:
    """Serves that are counted but cannot be poured whole."""
    whole = fill.count * fill.pours(batch.serve_ml)
    if size.serves is None or whole >= size.serves:
        return
    text = "Poured whole, these vessels give {whole} serves, not {serves}; {heel} stays in each. Ask for whole serves."
    heel = Quantity("volume", fill.heel_ml(batch.serve_ml))
    notes.caution("heels", "warning", text, at="/size/serves", whole=float(whole), serves=float(size.serves), heel=heel)


def _forecast(
    asked: PrepSheetRequest,
    batch: Batch,
    vessel: VesselGiven | None,
    fill: Fill,
    charging: Charging,
    at_vessel: Moves,
    notes: Notes,
) -> Forecast | None:
    """The shift, from the level that the charges come to; none without a shift, or for a drink that stays flat."""
    if asked.shift is None:
        return None
    plan, level = charging.planned, charging.level_g_per_l
    if charging.stays_flat:
        text = "The charges come to {level}, no more than an open drink holds; the shift is not forecast."
        notes.caution("stays-flat", "warning", text, at="/carbonation", level=Quantity("co2", level.typical))
        return None
    with notes.within(_REGAS | at_vessel):
        shift = regas.ForecastAsked(
            vessel=vessel,
            vessel_count=fill.count,
            fill=_share(fill),
            temperature_c=plan.temperature_c,
            co2_g_per_l=level.typical,
            air=asked.carbonation.air,
            pour=Pour(batch.serve_ml),
            shift=asked.shift,
            site=asked.site,
            calibration=asked.calibration,
        )
        return regas.forecast(batch.drink, shift, notes, charged=level)
