"""The capabilities composed for one spec, with the pointers of their refusals."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta

from service import acid, batching, carbonation, regas
from service.batching import Batch, BatchRequest, Fill, Size, WholeServes
from service.carbonation import CarbonationPlan, Charging, SetPoints
from service.draught import USUAL_KEG, DraughtAsked, DraughtLine, Keg, draught_line
from service.drink import Portion
from service.errors import Fact, Fault, Refusals, Refused
from service.limits.draught import TARGET_G_PER_L
from service.notes import Notes
from service.prep_sheet.parts import Parts, PrepSheetRequest, PrepSolution, charged, chilled, in_the_cold
from service.regas import Forecast, Pour
from service.science.units import Quantity
from service.setting import attempt
from service.vessel import Vessel, VesselGiven, fill_of, most_fill, vessel_of

Moves = dict[str, str | None]
_DRAUGHT: Moves = {
    "": "/draught",
    "/drink": "/spec",
    "/drink/spec": "/spec",
    "/target": "/carbonation/target",
    "/site": "/site",
}

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
    """Compose the whole job for one spec.

    raises: Refused, SeveralRefused, with pointers into the prep sheet's own request
    """
    asked, at_keg = _on_draught(asked, notes)
    size = _size_asked(asked, notes)
    at_vessel, given_vessel, given_fill = _vessel_asked(asked, size)
    at_vessel |= at_keg
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
    asked = replace(asked, carbonation=in_the_cold(asked.carbonation, asked.chill, batch.drink))
    with refusals.gather(), notes.within(_CARBONATION | at_vessel):
        charging, set_points = _charged(asked, batch, given_vessel, fill, notes)
        made = charging.planned
        each_g = carbonation.each_vessel_g(made.setting, made.temperature_c, made.dial_bar_gauge, notes)
    refusals.raise_any()
    line = _line(asked, batch, given_vessel, fill, charging, at_vessel, notes)
    forecast = _forecast(asked, batch, given_vessel, fill, charging, at_vessel, notes)
    _caution_discard(asked, batch, notes)
    _caution_heels(size, batch, fill, notes)
    gas_g = each_g.map(lambda grams: grams * fill.count)
    return Parts(asked, batch, fill, solutions, cold, set_points, charging, gas_g, forecast, line)


def _on_draught(asked: PrepSheetRequest, notes: Notes) -> tuple[PrepSheetRequest, Moves]:
    """Return the request of a drink on draught with its keg as the vessel and its usual level, and where they stand."""
    line = asked.draught
    if line is None or (asked.size is not None and asked.size.vessels is not None):
        return asked, {}
    at: Moves = {}
    vessel, fill = asked.vessel, asked.fill
    if vessel is None:
        vessel, fill = line.keg.vessel, line.keg.fill or fill
        at = {name: f"/draught/keg{name}" for name in KEG}
        if vessel is None:
            vessel = VesselGiven(preset=USUAL_KEG)
            notes.assume("keg", USUAL_KEG, "default", at="/draught/keg/vessel")
    return replace(asked, vessel=vessel, fill=fill, carbonation=on_draught(asked.carbonation, notes)), at


def on_draught(plan: CarbonationPlan, notes: Notes) -> CarbonationPlan:
    """Return the carbonation of a drink on draught, at the usual level there unless one is stated."""
    if plan.target_g_per_l is not None:
        return plan
    target = Quantity("co2", TARGET_G_PER_L)
    notes.assume("target on draught", target, "common-practice", at="/carbonation/target")
    return replace(plan, target_g_per_l=TARGET_G_PER_L)


KEG = ("/vessel", "/fill")


def _line(
    asked: PrepSheetRequest,
    batch: Batch,
    vessel: VesselGiven | None,
    fill: Fill,
    charging: Charging,
    at_vessel: Moves,
    notes: Notes,
) -> DraughtLine | None:
    """The line of a drink on draught, from a full keg at the level that is planned; None where it is on none.

    raises: Refused, SeveralRefused
    """
    given, shift = asked.draught, asked.shift
    if given is None:
        return None
    held_c = shift.holding_temperature_c if shift and given.temperature_c is None else given.temperature_c
    names = batching.names_of(asked.spec)
    line = DraughtAsked(
        **vars(given)
        | {
            "temperature_c": charging.planned.temperature_c if held_c is None else held_c,
            "keg": Keg(vessel, _share(fill)),
            "pour": replace(given.pour, volume_ml=given.pour.volume_ml or batch.serve_ml),
            "prices": given.prices or tuple(price for price in asked.prices if price.component in names),
        },
        target_g_per_l=charging.planned.target_g_per_l,
        site=asked.site,
    )
    at_keg: Moves = {f"/keg{name}": to for name, to in at_vessel.items()}
    with notes.within(_DRAUGHT | at_keg):
        return draught_line(batch.drink, line, notes, spec=asked.spec)


def _size_asked(asked: PrepSheetRequest, notes: Notes) -> Size:
    """Return the stated size, whole serves in the sheet's own vessel; without one, the whole serves of the shift."""
    size, shift = asked.size, asked.shift
    if size is None:
        assert shift is not None
        assert shift.lasts_s is not None
        count = regas.asked_pours(shift.lasts_s, 3600.0 / shift.serves_per_hour)
        why = "serves an hour of the shift, for as long as it lasts"
        notes.assume("whole serves", float(count), "default", why, at="/size")
        size = Size(whole_serves=WholeServes(count))
    if size.whole_serves is None:
        return size
    return Size(whole_serves=replace(size.whole_serves, vessel=asked.vessel, fill=asked.fill))


def _vessel_asked(asked: PrepSheetRequest, size: Size) -> tuple[Moves, VesselGiven | None, float | None]:
    """Return the one kind of vessel of a sheet, and the pointer where the request names it.

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
    """Return the vessels, filled evenly; one that is poured from holds at least one serve."""
    holds_ml = vessel.liquid_ml(fill)
    if holds_ml < batch.serve_ml:
        holds, serve = Quantity("volume", holds_ml, "down"), Quantity("volume", batch.serve_ml, "up")
        text = "Fill more: at this fill the vessel holds {holds}, less than one serve of {serve}."
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
            units=asked.system,
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
    """Return the acid solutions that the spec names, each in the amount that the batch takes."""
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
    """Yield each component with its JSON Pointer, also those inside a component made from a spec."""
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
        text = "Make it later, or less of it: the shift goes on after the batch is to be discarded, {use_by}."
        notes.caution("past-discard", "danger", text, at="/shift/starts_at", use_by=batch.use_by)


def _caution_heels(size: Size, batch: Batch, fill: Fill, notes: Notes) -> None:
    """Warn of serves that are counted but cannot be poured whole."""
    whole = fill.count * fill.pours(batch.serve_ml)
    if size.serves is None or whole >= size.serves:
        return
    text = (
        "Ask for whole serves: poured whole, these vessels give {whole} serves, not {serves}, and {heel} stays in each."
    )
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
    """Forecast the shift from the level after the charges; None without a shift, or for a drink that stays flat.

    None on draught too: the keg is held at the dial of its line, see `_line`.
    """
    if asked.shift is None or asked.draught is not None:
        return None
    plan, level = charging.planned, charging.level_g_per_l
    if charging.stays_flat:
        text = (
            "Charge it higher: the charges come to {level}, no more than an open drink holds, and the shift is not "
            "forecast."
        )
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
