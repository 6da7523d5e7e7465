"""An evening of several drinks, from what is asked of each to the first pour."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from service import carbonation
from service.errors import Refused
from service.evening.answer import (
    DrinkAllergens,
    EveningDrinkPlan,
    EveningGas,
    PlannedTask,
    ServicePlan,
    TaskUse,
)
from service.evening.asked import ServicePlanRequest
from service.evening.bottleneck import bottleneck_of
from service.evening.gear import cold_peaks, ice_of, loads_of
from service.evening.places import places_of
from service.evening.planning import Evening, Planned, chilling_in, house_of
from service.evening.prepared import Prepared, prepared
from service.evening.refilling import SecondFilling, caution_second
from service.evening.refusing import SLUG, check_ice, filled_again_in_time, in_vessels, planned_in_time
from service.evening.regassing import regas_calls
from service.evening.shopping import shopping_of
from service.evening.tasks import Task, Use
from service.evening.timetable import Timed
from service.limits.evening import MORE_THAN_ASKED
from service.limits.serving import CYLINDER_C
from service.notes import Notes, SilentNotes
from service.science.band import Band, total
from service.science.constants import CO2_G_PER_MOL
from service.site import ambient_bar


def service_plan(asked: ServicePlanRequest, notes: Notes) -> ServicePlan:
    """Return the plan of an evening.

    raises: Refused, SeveralRefused, with pointers into the request: "cannot-be-ready", "too-many-tasks", and all that
        the parts of its prep sheets refuse
    """
    evening, found, again = _planned(asked, notes)
    drinks = evening.drinks
    clock = _Clock(asked, found, again)
    for one in again:
        caution_second(asked, one, notes)
    bought = shopping_of(asked, drinks, notes)
    timed = found.timed
    ice = ice_of(drinks)
    calls = regas_calls(asked, drinks, notes)
    _caution_lines(asked, found.house.regulators, bool(calls or again), notes)
    _caution_more(drinks, notes)
    return ServicePlan(
        drinks=tuple(_drink(one, timed, clock) for one in drinks),
        timetable=tuple(_task(one.task, clock, one) for one in timed),
        ahead=tuple(_task(one, clock) for one in found.work.ahead),
        latest_start=clock.latest_start,
        in_service=tuple(_task(one.task, clock, one, since=asked.service.starts_at) for s in again for one in s.tasks),
        ready_at=clock.ready_at,
        spare_s=(clock.latest_start - asked.begins_at).total_seconds(),
        bottleneck=bottleneck_of(evening, found, again, clock.ready_at),
        loads=loads_of(found, timed),
        ice_needed_g=None if ice is None else ice.needed_g,
        ice_to_fetch_g=None if ice is None else ice.to_fetch_g,
        cold=cold_peaks(found, timed),
        gas=_gas(asked, drinks, notes),
        shopping=bought.lines,
        cost=bought.cost,
        outlay=bought.outlay,
        allergens=tuple(_allergens(drinks)),
        regas=calls,
    )


def _caution_lines(
    asked: ServicePlanRequest,
    regulators: int,
    gassed: bool,  # noqa: FBT001 - said where it is called
    notes: Notes,
) -> None:
    """Tell where kegs on draught leave no regulator to what is gassed in the service.

    A line may have a regulator that is not counted among those that charge, so it is told and not refused.
    """
    lines = [i for i, one in enumerate(asked.drinks) if one.serve_at == "draught"]
    needed = len(lines) + gassed
    if not lines or needed <= regulators:
        return
    text = "Have a regulator for each keg on draught: it stays on its line. {needed} are needed, and {count} charge."
    if gassed:
        text = (
            "Have a regulator for each keg on draught, which stays on its line, and one for what is gassed in the "
            "service. {needed} are needed, and {count} charge."
        )
    notes.caution("regulators-on-lines", "info", text, at=("/regulators", *(f"/drinks/{i}/serve_at" for i in lines)),
                  needed=float(needed), count=float(regulators))  # fmt: skip


def _caution_more(drinks: Sequence[Prepared], notes: Notes) -> None:
    """Tell of drinks whose vessels, filled whole, come to many more serves than are asked for."""
    for one in drinks:
        made, asked = float(one.whole_serves), float(one.wanted.serves)
        if one.count and made > MORE_THAN_ASKED * asked:
            text = (
                "{drink} comes to {made} serves where {asked} are asked for: its vessels are filled whole. Fill less, "
                "or take smaller ones, to make fewer."
            )
            at = f"/drinks/{one.index}/fill"
            notes.caution("makes-more", "info", text, at=at, drink=one.asked.spec.name, made=made, asked=asked)


def tried_plan(asked: ServicePlanRequest, notes: Notes) -> None:
    """Refuse what `service_plan` refuses, for less."""
    evening, _, _ = _planned(asked, notes)
    shopping_of(asked, evening.drinks, notes)


def _planned(asked: ServicePlanRequest, notes: Notes) -> tuple[Evening, Planned, tuple[SecondFilling, ...]]:
    """Return the evening, its plan, and what is filled again in the service: what lacks, or is not ready in time.

    raises: Refused, SeveralRefused
    """
    places = places_of(asked, notes)
    house = house_of(asked, places, notes)
    drinks = prepared(asked, chilling_in(asked, places, house), notes)
    again = in_vessels(asked, drinks)
    check_ice(drinks, notes)
    evening = Evening(asked, drinks)
    for one in again:
        evening = evening.with_changed(one.drink)
    try:
        return evening, planned_in_time(evening, house, notes), again
    except Refused as refused:
        more = None if again else filled_again_in_time(evening, house)
        if refused.slug != SLUG or more is None:
            raise
        evening = evening.with_changed(more.drink)
        return evening, planned_in_time(evening, house, notes), (more,)


class _Clock:
    """Moments of an evening, on the clock of the service."""

    def __init__(self, asked: ServicePlanRequest, found: Planned, again: Sequence[SecondFilling]) -> None:
        starts_at = asked.service.starts_at
        self.ready_at = max([asked.begins_at + timedelta(seconds=found.lasts_s),
                             *(starts_at + timedelta(seconds=one.ready_s) for one in again)])  # fmt: skip
        self.latest_start = asked.service.starts_at - timedelta(seconds=found.lasts_s)

    def at(self, seconds: int) -> datetime:
        """Return the moment so long after the latest start."""
        return self.latest_start + timedelta(seconds=seconds)


def _drink(one: Prepared, timed: Sequence[Timed], clock: _Clock) -> EveningDrinkPlan:
    charging = None if one.parts is None else one.parts.charging
    batch = one.to_mix
    mixed = [t.begins_s for t in timed if t.task.id.startswith(one.letter) and t.task.code == "mix-batch"]
    if batch is not None and mixed:
        batch = replace(batch, label=replace(batch.label, made_at=clock.at(mixed[0]).replace(microsecond=0)))
    return EveningDrinkPlan(
        id=one.asked.id,
        letter=one.letter,
        whole_serves=one.whole_serves,
        basis=one.wanted.basis,
        vessels=one.fillings,
        second_filling=one.second or None,
        ready=sum(ready.given.count for ready in one.ready),
        fill=one.fill,
        heel_ml=one.heel_ml,
        batch=batch,
        gauge_pressure_bar=None if one.parts is None else one.parts.set_points.points[0].gauge_pressure_bar,
        never_over_bar=None if charging is None else charging.never_over_bar_gauge,
        charge_count=None if charging is None else charging.planned.count,
        co2=None if charging is None else charging.level_g_per_l,
        draught=None if one.parts is None else one.parts.line,
    )


def _task(task: Task, clock: _Clock, timed: Timed | None = None, *, since: datetime | None = None) -> PlannedTask:
    """Return a task as it is answered; since: what its times count from, the latest start unless stated."""
    begins_at, ends_at = (
        (None, None) if timed is None
        else ((since or clock.latest_start) + timedelta(seconds=moment) for moment in (timed.begins_s, timed.ends_s))
    )  # fmt: skip
    return PlannedTask(
        id=task.id,
        drink=None if task.drink is None else task.drink.asked.id,
        station=task.station,
        code=task.code,
        text=task.text,
        params=task.params,
        begins_at=begins_at,
        ends_at=ends_at,
        hands_on_s=task.hands_on_s,
        uses=tuple(_use(one) for one in task.uses),
        depends_on=task.after,
        values=task.values,
        person=None if timed is None else timed.person,
        regulator=None if timed is None else timed.regulator,
    )


def _use(use: Use) -> TaskUse:
    return TaskUse(use.kind, use.name, use.amount / 1000.0 if use.kind == "cold" else float(use.amount))


def _gas(asked: ServicePlanRequest, drinks: Sequence[Prepared], notes: Notes) -> EveningGas:
    """Return the gas of all vessels that are filled; tell whether the cylinder lasts, and what an escape comes to."""
    pushing = [grams for one in drinks if (grams := _pushing_g(one)) is not None]
    used = total([*pushing, *(one.parts.gas_g for one in drinks if one.parts is not None)])
    cylinders = None
    if asked.cylinder is not None:
        held_g = carbonation.content_of(asked.cylinder)
        with notes.within({"/room_volume": "/site/room_volume"}):
            carbonation.caution_cylinder(held_g, used, notes)
            site = asked.site
            room_ml = site.room_volume_ml if site else None
            carbonation.escape_of(held_g, room_ml, CYLINDER_C, ambient_bar(site, SilentNotes()), notes)
        cylinders = used.map(lambda grams: grams / held_g) if held_g > 0.0 else None
    return EveningGas(used, total(pushing) if pushing else None, cylinders)


def _pushing_g(one: Prepared) -> Band | None:
    """Return the CO2 that takes the place of what is poured from the kegs of a drink, to their last glass [g].

    At the dial that holds them: n = P V / (Z R T). None where nothing is pushed by CO2.
    source: `service.science.gas`
    """
    parts = one.parts
    if parts is None:
        return None
    line, planned, share = parts.line, parts.charging.planned, 1.0
    dial = None if parts.forecast is None else parts.forecast.hold_pressure_bar
    if line is not None:
        dial = line.gauge_pressure_bar
    if one.asked.draught is not None and one.asked.draught.gas is not None:
        share = one.asked.draught.gas.co2_percent / 100.0
    if dial is None or share == 0.0:
        return None
    setting = planned.setting
    liquid = setting.liquid_at(planned.temperature_c if line is None else line.keg_c)
    litres = one.fillings * setting.liquid_l

    def grams(dial_bar: float) -> float:
        bar_abs = dial_bar + setting.ambient_bar
        return CO2_G_PER_MOL * share * bar_abs * litres / (liquid.gas.z(bar_abs, share) * liquid.gas.rt)

    return dial.map(grams)


def _allergens(drinks: Sequence[Prepared]) -> Iterator[DrinkAllergens]:
    for one in drinks:
        declared = one.to_declare
        yield DrinkAllergens(one.asked.id, declared.allergens, declared.unstated)
