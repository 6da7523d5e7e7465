"""A prep sheet in the caller's units."""

from collections.abc import Iterator
from dataclasses import replace
from math import isfinite

from service.api import acid, batching, carbonation, chilling, regas
from service.api.answers import Answer, tidy
from service.api.endpoint import Body
from service.api.moments import written
from service.prep_sheet import PrepSheet, Record, Step, StepValue, Timetable, label_of, records_of


def write(sheet: PrepSheet, timetable: Timetable, answer: Answer) -> Body:
    """The sheet in the caller's units."""
    label = label_of(sheet, timetable.mixed_at)
    lines = [{"code": f"label-{one['name']}", **one} for one in answer.params(label.lines)]
    batch = replace(sheet.batch, label=replace(sheet.batch.label, made_at=timetable.mixed_at))
    forecast = {"regas": regas.write(sheet.forecast, answer)} if sheet.forecast is not None else {}
    return {
        "spec_id": sheet.batch.spec_id,
        "batch": batching.write(batch, answer),
        "fill": batching.write_fill(sheet.fill, answer),
        "whole_serves": sheet.fill.count * sheet.fill.pours(sheet.batch.serve_ml),
        "heel": answer.q("volume", sheet.fill.heel_ml(sheet.batch.serve_ml)),
        "acid_solutions": [
            {"component": named.component, **acid.write(named.solution, answer)} for named in sheet.solutions
        ],
        "chilling": chilling.write(sheet.chilling, answer),
        "carbonation": {
            "set_points": carbonation.write_set_points(sheet.set_points, answer),
            "charges": carbonation.write_charges(sheet.charging, answer),
        },
        **forecast,
        "gas": {"co2_used": answer.band("mass", sheet.gas_g)},
        **_total(timetable),
        "steps": list(_steps(timetable, answer)),
        "records": [_record(record, answer) for record in records_of(sheet)],
        "label": {"name": label.name, "lines": lines, "statement": label.statement},
    }


def _total(timetable: Timetable) -> Body:
    found: Body = {"hands_on_s": tidy(timetable.hands_on_s)}
    if isfinite(timetable.total_s):
        found["total_s"] = tidy(timetable.total_s)
    start = timetable.begins_at(0.0)
    return found if start is None else {**found, "latest_start": written(start)}


def _steps(timetable: Timetable, answer: Answer) -> Iterator[Body]:
    """Each step, with when it begins where it is before the first serve."""
    for i, step in enumerate(timetable.steps):
        found = _step(step, answer)
        if i < len(timetable.begins_s) and isfinite(timetable.begins_s[i]):
            found["begins_s"] = tidy(timetable.begins_s[i])
            moment = timetable.begins_at(timetable.begins_s[i])
            if moment is not None:
                found["begins_at"] = written(moment)
        yield found


def _step(step: Step, answer: Answer) -> Body:
    found: Body = {
        "number": step.number,
        "kind": step.kind,
        "station": step.station,
        "code": step.code,
        **answer.told(step.text, step.params),
        "hands_on_s": step.hands_on_s,
        "values": [_value(value, answer) for value in step.values],
        "cautions": [
            {"code": one.code, "severity": one.severity, **answer.told(one.text, one.params)} for one in step.cautions
        ],
        "depends_on": list(step.depends_on),
    }
    if step.timer is not None:
        found |= {"timer": {"each_s": step.timer.each_s, "times": step.timer.times}, "timer_s": step.timer.each_s}
    if step.cautions:
        found["caution"] = " ".join(one["text"] for one in found["cautions"])
    return found


def _value(value: StepValue, answer: Answer) -> Body:
    name = answer.sentence(value.name, value.params)
    (told,) = answer.params([(name, value.value)])
    params = answer.params(value.params.items())
    return {"code": value.code, **told, **({"params": params} if params else {})}


def _record(record: Record, answer: Answer) -> Body:
    (limit,) = answer.params([("limit", record.limit)])
    text = f"at most {limit['text']}" if record.most else limit["text"]
    measure: Body = {key: limit[key] for key in ("value", "unit") if key in limit}
    return {"code": record.code, "point": record.point, "limit": text, **measure, "action": record.action}
