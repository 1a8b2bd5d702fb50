"""From what was written down to the event from which a task counts."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc.due.looks import hours, on
from fluidapp.calc.due.meter import Meter
from fluidapp.model.intervals import Task

What = Literal["done", "repair", "first fill", "sample", "reading"]
SAME_JOB_H = 1.0  # a change so soon after a repair, or on the same day, belongs to it (own limit)
_CHANGE = re.compile(r"\b(oil|grease|coolant|fluid)( and filters?)? change\b")
_FILTER = re.compile(r"\bfilters?\b")
_SAMPLE = re.compile(r"\bsample\b")


@dataclass(frozen=True, slots=True)
class Event:
    """Something that was done on a machine.

    machine : its key. day : day count as ``date.toordinal()``. at : key of the place, None = the whole machine. total_h : machine
    hours over all meters as the records have them, None = not noted. meter_h : what the meter showed, for the words. task : key or
    words of a task that was done. first_h, repeat_h : of a repair that gives its own intervals [h]. oil_h : of a sample, hours since
    the oil was changed. key : name of this entry; voids : name of the entry that this one takes back (then nothing else counts).
    """

    machine: str
    what: What
    day: float
    at: str | None = None
    total_h: float | None = None
    meter_h: float | None = None
    task: str = ""
    first_h: float | None = None
    repeat_h: float | None = None
    oil_h: float | None = None
    key: str = ""
    voids: str | None = None


@dataclass(frozen=True, slots=True)
class Start:
    """Where a task counts from. rule : with the intervals that hold. first : the first interval is running, not the repeat."""

    rule: Task
    h: float | None
    day: float | None
    meter_h: float | None
    first: bool
    since: str


def start(task: Task, events: Sequence[Event], meter: Meter) -> Start | None:
    """The event from which ``task`` counts; None where none is on record.

    events : live ones of this machine, in any order. Rules (own; common practice, no source): the task itself done counts from there
    with the repeat. A repair or first fill of its place begins the first interval anew where the task has one or the repair brings one
    (a change of oil only); without one, a first fill counts as a change and a repair as nothing. Intervals of a repair hold for that
    oil from then on. A change on the day of a repair, or less than 1 h after it, is a part of it. A change that only a sample
    tells ("the oil is 320 h old") counts where no other is on record.
    """
    rule, found = task, None
    for event in sorted(events, key=lambda e: e.day):
        if event.what in ("repair", "first fill") and event.at is not None and event.at == task.at:
            own = {"first_h": event.first_h, "repeat_h": event.repeat_h} if task.kind == "change" else {}
            mine = {name: value for name, value in own.items() if value is not None}
            changed = task.model_copy(update=mine)
            if changed.has_first or mine:
                rule = changed
                found = _from(event, rule, meter, first=rule.has_first, since=f"the {event.what}")
            elif event.what == "first fill" and task.kind == "change":
                found = _from(event, rule, meter, first=False, since="first filled")
        elif does(event, task) and not (found is not None and found.first and _same_job(found, event, meter)):
            found = _from(event, rule, meter, first=False, since="last done")
    return found or _told_by_sample(task, events, meter)


def does(event: Event, task: Task) -> bool:
    """Whether ``event`` is that task done: by its key or its words; else by its place and what the words say.

    "oil change", "hydraulic oil change", "engine oil and filter change" are a change; anything with "filter" is a filter, so that "engine
    oil and filter change" is both; a sample is a sample; a reading of the place is a check. Own rule.
    """
    said = event.task.casefold().strip()
    if event.what == "done" and said in (task.key, task.label.casefold()) and event.at in (None, task.at):
        return True
    if event.at is None or event.at != task.at:
        return False
    if task.kind == "sample":
        return event.what == "sample" or (event.what == "done" and bool(_SAMPLE.search(said)))
    if event.what != "done":
        return task.kind == "check" and event.what == "reading"
    return (task.kind == "change" and bool(_CHANGE.search(said))) or (task.kind == "filter" and bool(_FILTER.search(said)))


def _from(event: Event, rule: Task, meter: Meter, *, first: bool, since: str) -> Start:
    return Start(rule, meter.hours(event.day, event.total_h), event.day, event.meter_h, first, since)


def _same_job(begun: Start, event: Event, meter: Meter) -> bool:
    if begun.day is not None and math.floor(event.day) == math.floor(begun.day):
        return True
    at = meter.hours(event.day, event.total_h)
    return at is not None and begun.h is not None and at - begun.h < SAME_JOB_H


def _told_by_sample(task: Task, events: Sequence[Event], meter: Meter) -> Start | None:
    """A change of which only the age of the oil in a later sample is on record."""
    told = [e for e in events if e.what == "sample" and e.at is not None and e.at == task.at and e.oil_h is not None]
    if task.kind != "change" or not told:
        return None
    sample = max(told, key=lambda e: e.day)
    at = meter.hours(sample.day, sample.total_h)
    if at is None or sample.oil_h is None or sample.oil_h > at:
        return None
    since = f"last done, as the sample of {on(sample.day)} says (oil {hours(sample.oil_h)} old),"
    return Start(task, at - sample.oil_h, None, None, False, since)
