"""An evening as a calendar: an event with an alarm for each task that somebody has a hand in (RFC 5545)."""

from datetime import UTC, timedelta
from hashlib import sha256

import orjson
from icalendar import Alarm, Calendar, Event

from service import MODEL
from service.api.pages.evening.lines import Evening, Plan, begin_of, end_of, figures, hands_on, told_at_once
from service.api.pages.evening.listing import STATIONS
from service.api.pages.words import strip_control_marks
from service.evening import PlannedTask, ServicePlan


def calendar(plan: Plan) -> bytes:
    """Return the calendar of a plan; the same plan gives the same one, so that it is imported twice without harm."""
    evening = Evening(plan)
    found = Calendar()
    found.add("prodid", f"-//Batch carbonation//{MODEL}//{evening.paper.speech.language.upper()}")
    found.add("version", "2.0")
    found.add("method", "PUBLISH")
    plan_hash = _hash(evening.found)
    for task in hands_on(evening.found):
        found.add_component(_event(task, evening, plan_hash))
    written: bytes = found.to_ical()
    return written


def _hash(found: ServicePlan) -> bytes:
    """Return the hash of what is done when, in whatever words."""
    tasks = (*found.timetable, *found.in_service)
    done = [[one.id, one.drink, one.code, one.person, begin_of(one), end_of(one)] for one in tasks]
    return sha256(orjson.dumps([MODEL, done])).digest()


def _event(task: PlannedTask, evening: Evening, plan_hash: bytes) -> Event:
    """Return the event of a task, stamped with the start of the service."""
    paper = evening.paper
    summary = " ".join(told_at_once([task], evening, paper.say))
    if task.drink is not None:
        summary = paper.say("{drink}: {task}", drink=evening.names[task.drink], task=summary)
    event = Event()
    event.add("uid", f"{sha256(plan_hash + task.id.encode()).hexdigest()}@batch-carbonation")
    event.add("dtstamp", evening.asked.service.starts_at.astimezone(UTC))
    event.add("dtstart", begin_of(task).astimezone(UTC))
    event.add("dtend", end_of(task).astimezone(UTC))
    event.add("summary", strip_control_marks(summary))
    told = [paper.say("{name}: {figure}", name=name, figure=figure) for name, figure in figures(task, paper)]
    event.add("description", strip_control_marks("\n".join([evening.text(task.text, task.params), *told])))
    event.add("categories", [paper.say(STATIONS[task.station])])
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", timedelta(0))
    alarm.add("description", strip_control_marks(summary))
    event.add_component(alarm)
    return event
