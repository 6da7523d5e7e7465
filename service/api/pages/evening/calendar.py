"""An evening as a calendar: an event with an alarm for each task that somebody has a hand in (RFC 5545)."""

from datetime import UTC, datetime, timedelta
from hashlib import sha256

import orjson
from icalendar import Alarm, Calendar, Event

from service import MODEL
from service.api.pages.evening.lines import Body, figures, hands_on, moment, names, short
from service.api.pages.words import strip_control_marks


def calendar(plan: Body, starts_at: datetime) -> bytes:
    """Return the calendar of a plan; the same plan gives the same one, so that it is imported twice without harm."""
    found = Calendar()
    found.add("prodid", f"-//Batch carbonation//{MODEL}//EN")
    found.add("version", "2.0")
    found.add("method", "PUBLISH")
    called, plan_hash = names(plan), _hash(plan)
    for task in hands_on(plan):
        found.add_component(_event(task, called, plan_hash, starts_at))
    written: bytes = found.to_ical()
    return written


def _hash(plan: Body) -> bytes:
    """Return the hash of what the plan says; what callers call it is no part of it."""
    said = {name: plan[name] for name in ("model", "drinks", "timetable")}
    return sha256(orjson.dumps(said, option=orjson.OPT_SORT_KEYS)).digest()


def _event(task: Body, called: dict[str, str], plan_hash: bytes, starts_at: datetime) -> Event:
    drink = called.get(task.get("drink", ""))
    summary = strip_control_marks(f"{drink}: {short(task)}" if drink else short(task))
    event = Event()
    event.add("uid", f"{sha256(plan_hash + task['id'].encode()).hexdigest()}@batch-carbonation")
    event.add("dtstamp", starts_at.astimezone(UTC))
    event.add("dtstart", moment(task["begins_at"]).astimezone(UTC))
    event.add("dtend", moment(task["ends_at"]).astimezone(UTC))
    event.add("summary", summary)
    told = [f"{name}: {figure}" for name, figure in figures(task, amounts=True)]
    event.add("description", strip_control_marks("\n".join([task["text"], *told])))
    event.add("categories", [task["station"]])
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", timedelta(0))
    alarm.add("description", summary)
    event.add_component(alarm)
    return event
