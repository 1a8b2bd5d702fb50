"""When one task is due after one event: hours or calendar, whichever comes first."""

import datetime
import math
from dataclasses import dataclass, replace
from typing import Literal

from fluidapp.calc.due.looks import hours, on
from fluidapp.calc.due.meter import Meter
from fluidapp.calc.due.projection import Projection
from fluidapp.calc.limits import zero_or_more
from fluidapp.errors import OutOfRange
from fluidapp.model.intervals import Task, TaskKind

State = Literal["overdue", "due now", "coming", "no date", "never recorded"]
FIRST = {"change": "change", "sample": "sample", "filter": "filter change", "grease": "greasing", "check": "check"}
NEVER = "Never recorded: enter when it was last done."
_ORDER: dict[State, int] = {"overdue": 0, "due now": 1, "coming": 2, "no date": 3, "never recorded": 4}


@dataclass(frozen=True, slots=True)
class Charge:
    """What a change takes: litres with their standard uncertainty (1 σ), or kilograms of grease; None where it is not known."""

    volume_l: float | None = None
    u_l: float | None = None
    mass_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Due:
    """One task, when it comes, and why.

    machine, key, label, kind, at : machine and task, and the key of its place (None = the whole machine). state : "due now" is today,
    or was not reached at the last look at the meter but should be by now (then a remark says so). why : the rule and its beginning.
    target_h : total machine hours, target_meter_h : what the present meter will show then, target_day : by the calendar, a day count;
    None = does not count or not known. left_h (as of the last look), left_days : until then, negative = over. day : the day on which
    the earlier of both is expected, with its 95 % range low to high (None = not known well enough); all three None where it is overdue
    or nothing is known, never before today. overdue : by how much, in words, "" = it is not. share : of the interval used up.
    product, charge : of a change. typical : its interval is typical, not this machine's own. remarks : what else to know.
    """

    machine: str
    key: str
    label: str
    kind: TaskKind
    at: str | None
    state: State
    why: str
    target_h: float | None = None
    target_meter_h: float | None = None
    target_day: float | None = None
    left_h: float | None = None
    left_days: float | None = None
    day: float | None = None
    low: float | None = None
    high: float | None = None
    overdue: str = ""
    share: float = math.nan
    product: str | None = None
    charge: Charge | None = None
    typical: bool = False
    remarks: tuple[str, ...] = ()

    @property
    def sort_key(self) -> tuple[int, float, float, str, str]:
        """What is overdue first, the largest share of its interval at the top; then by date; then what has no date."""
        over = -self.share if self.state == "overdue" else 0.0
        day = self.day if self.day is not None and self.state != "overdue" else math.inf
        return _ORDER[self.state], over, day, self.machine, self.key

    @property
    def expected(self) -> datetime.date | None:
        """The expected day as a date."""
        return _date(self.day)

    @property
    def earliest(self) -> datetime.date | None:
        """The early end of the range."""
        return _date(self.low)

    @property
    def latest(self) -> datetime.date | None:
        """The late end of the range."""
        return _date(self.high)


@dataclass(frozen=True, slots=True)
class Target:
    """Where a task is aimed at, however that was found: total hours and day, None = does not count; the share used up of each."""

    h: float | None
    day: float | None
    share: float


def next_due(
    rule: Task,
    event_h: float | None,
    event_day: float | None,
    meter: Meter,
    *,
    first: bool = False,
    conditions: tuple[str, ...] = (),
    machine: str = "",
    since: str = "last done",
    event_meter_h: float | None = None,
) -> Due | None:
    """When ``rule`` is due next, after it was done (or, with ``first``, after a repair or first fill) at ``event_h`` on ``event_day``.

    event_h : total machine hours then, never counted from zero; None = not known, hours do not count. event_day : day count, None =
    not known. meter : see :func:`read_meter`. conditions : that hold. since : the event in words, "the repair". event_meter_h : what the
    meter of that time showed, for the words. None where nothing follows: a rule without a repeat that was done. OutOfRange where the
    event lies after today or after the hours of now.
    Formula: event + interval, in hours and in days, whichever comes first; a condition that holds makes both shorter by its factor.
    Common practice, no source; first-then-repeat as in service manuals (for instance first 250 h, then 1,000 h).

    >>> from fluidapp.calc.due import Look, read_meter
    >>> today = datetime.date(2026, 5, 29)
    >>> looks = [Look(today.toordinal() - 7.0 * k, 4300.0 - 40.0 * k) for k in range(8)]
    >>> rule = Task(key="slew", label="slewing gearbox oil change", kind="change", at="slew", first_h=150.0, repeat_h=800.0)
    >>> due = next_due(rule, 4210.0, today.toordinal() - 15.0, read_meter(looks, today), first=True, since="the repair")
    >>> due.target_h, due.why, str(due.expected)
    (4360.0, 'First change 150 h after the repair at 4210 h on 2026-05-14.', '2026-06-08')
    """
    first = first and rule.has_first
    every_h, every_days = (rule.first_h, rule.first_days) if first else (rule.repeat_h, rule.repeat_days)
    if every_h is None and every_days is None:
        return None
    if event_h is not None:
        zero_or_more("hours at the event", event_h, "h")
        if meter.now_h is not None and event_h > meter.now_h + 1.0:
            raise OutOfRange("hours at the event", event_h, None, meter.now_h, "h", "The meter did not show so much yet.")
    if event_day is not None and event_day >= meter.today + 1.0:
        raise OutOfRange("day of the event", event_day, None, meter.today, "days", "It lies after today.")
    short = rule.shortened(conditions)
    factor = short.factor if short else 1.0
    limit_h = every_h * factor if every_h is not None else None
    limit_days = every_days * factor if every_days is not None else None
    remarks: list[str] = []
    if limit_h is not None and event_h is None:
        remarks.append(f"Its {hours(limit_h)} do not count: the machine's hours at that time are not known.")
    if limit_days is not None and event_day is None:
        remarks.append(f"Its {limit_days:.0f} days do not count: the date of that time is not known.")
    target_h = event_h + limit_h if event_h is not None and limit_h is not None else None
    target_day = event_day + limit_days if event_day is not None and limit_days is not None else None
    used = []
    if target_h is not None and event_h is not None and limit_h is not None and meter.now_h is not None:
        used.append((meter.now_h - event_h) / limit_h)
    if event_day is not None and target_day is not None and limit_days is not None:
        used.append((meter.today - event_day) / limit_days)
    why = _why(rule, first, every_h, every_days, f"{since}{_at(event_h if event_meter_h is None else event_meter_h, event_day)}")
    if short:
        why += f" Shortened to {short.factor:g} of it: {short.condition} ({short.source})."
    blank = Due(machine, rule.key, rule.label, rule.kind, rule.at, "no date", why, typical=rule.typical, remarks=tuple(remarks))
    return aim(blank, Target(target_h, target_day, max(used, default=math.nan)), meter)


def aim(due: Due, target: Target, meter: Meter) -> Due:
    """``due`` with state, dates and words for a target that is already known."""
    left_h = target.h - meter.now_h if target.h is not None and meter.now_h is not None else None
    left_days = math.floor(target.day) - meter.today if target.day is not None else None
    known = replace(
        due,
        target_h=target.h,
        target_meter_h=meter.shows_at(target.h) if target.h is not None else None,
        target_day=target.day,
        left_h=left_h,
        left_days=left_days,
        share=target.share,
    )
    over = [f"{hours(-left_h)} ({meter.as_of})"] if left_h is not None and left_h < 0 else []
    over += [f"{-left_days:.0f} {'day' if left_days == -1 else 'days'}"] if left_days is not None and left_days < 0 else []
    if over:
        return replace(known, state="overdue", overdue=f"overdue by {' and '.join(over)}")
    by_hours, remarks = _by_hours(target.h, left_h, meter)
    known = replace(known, remarks=(*due.remarks, *remarks))
    found = _earlier(by_hours, target.day)
    if found is None:
        return known
    reached = found.day < meter.today + 1.0
    asked = reached and left_h is not None and left_h > 0 and left_days != 0 and not meter.estimated
    words = (f"It should be reached by now: read the meter ({hours(left_h or 0.0)} were left {meter.as_of}).",) if asked else ()
    low, high = (None if d is None else max(d, meter.today) for d in (found.low, found.high))
    return replace(
        known,
        state="due now" if reached else "coming",
        day=max(found.day, meter.today),
        low=low,
        high=high,
        remarks=(*known.remarks, *words),
    )


def _by_hours(target_h: float | None, left_h: float | None, meter: Meter) -> tuple[Projection | None, list[str]]:
    """The day by hours, and what to say of it."""
    if target_h is None:
        return None, []
    if left_h is None:
        return None, ["No date by hours: the hour meter was never read."]
    if left_h == 0:
        return Projection(meter.today, meter.today, meter.today), []
    found = meter.project(target_h)
    if found is None:
        stood = meter.use is not None
        return None, [
            "No date by hours: the meter did not move." if stood else "No date by hours: it needs two readings of the hour meter."
        ]
    if meter.use is None:
        return found, ["The date counts with the hours a week as entered for the machine: it needs two readings of the hour meter."]
    if found.low is None:
        return found, [f"The date has no range yet: it needs four weeks of readings, there are {meter.use.weeks}."]
    return found, []


def _earlier(by_hours: Projection | None, by_calendar: float | None) -> Projection | None:
    """The earlier of both, and the range of the earlier one."""
    if by_calendar is None:
        return by_hours
    if by_hours is None:
        return Projection(by_calendar, by_calendar, by_calendar)
    low = by_hours.low if by_hours.low is None else min(by_hours.low, by_calendar)
    high = by_hours.high if by_hours.high is None else min(by_hours.high, by_calendar)
    return Projection(min(by_hours.day, by_calendar), low, high)


def _why(rule: Task, first: bool, every_h: float | None, every_days: float | None, since: str) -> str:
    """The rule and its beginning: "First change 150 h after the repair at 4210 h on 2026-05-14." """
    spans = [f"{every_h:g} h"] if every_h is not None else []
    spans += [f"{every_days:g} days"] if every_days is not None else []
    both = ", whichever comes first" if len(spans) == 2 else ""
    if first:
        return f"First {FIRST[rule.kind]} {' or '.join(spans)} after {since}{both}."
    return f"Every {' or '.join(spans)}{both}; {since}."


def _at(at_h: float | None, day: float | None) -> str:
    return (f" at {hours(at_h)}" if at_h is not None else "") + (f" on {on(day)}" if day is not None else "")


def _date(day: float | None) -> datetime.date | None:
    return None if day is None else datetime.date.fromordinal(math.floor(day))
