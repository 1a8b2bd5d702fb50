"""The hour meter of one machine, cleaned: hours on any day, what it will show, and how fast it runs."""

import bisect
import dataclasses
import datetime
import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fluidapp.calc.due.looks import ROUNDING_H, Fault, Look, believed, hours, on, shown, stuck
from fluidapp.calc.due.projection import WEEK, Projection, Use, reach, use
from fluidapp.calc.hours import hours_at
from fluidapp.calc.limits import above_zero

OLD_GAPS = 2.0  # a last look older than this many usual gaps between looks is named (own limit)


Break = tuple[float, float | None]  # from the day it was found broken, to the first look at a meter that runs; None = still broken


@dataclass(frozen=True, slots=True)
class Meter:
    """A cleaned hour meter.

    today : day count. points : looks that are believed, oldest first, with hours that were estimated while a meter was broken added to
    ``total_h``. shifts : (day, hours added from there on). faults : what was odd, by name. use : recent hours a week, None = not known.
    breaks : spans in which no meter ran. entered_per_week : hours a week as entered for the machine, a stand-in.
    """

    today: float
    points: tuple[Look, ...]
    shifts: tuple[tuple[float, float], ...] = ()
    faults: tuple[Fault, ...] = ()
    use: Use | None = None
    breaks: tuple[Break, ...] = ()
    entered_per_week: float | None = None

    @property
    def per_week(self) -> float | None:
        """Hours a week: from the readings, else as entered."""
        return self.use.per_week if self.use is not None else self.entered_per_week

    @property
    def last(self) -> Look | None:
        """The last look that is believed."""
        return self.points[-1] if self.points else None

    @property
    def broken_day(self) -> float | None:
        """Since when the meter is broken; None = it runs."""
        return self.breaks[-1][0] if self.breaks and self.breaks[-1][1] is None else None

    @property
    def estimated(self) -> bool:
        """Whether the hours of today are estimated, because the meter is broken."""
        return self.broken_day is not None and self.per_week is not None

    @property
    def now_h(self) -> float | None:
        """Total hours: at the last look, or estimated up to today where the meter is broken; None = never read."""
        if self.last is None:
            return None
        at = _total(self.last)
        if self.broken_day is None or self.per_week is None:
            return at
        return at + self.per_week / WEEK * max(0.0, self.today - self.last.day)

    @property
    def as_of(self) -> str:
        """How the hours of now are known, in words."""
        if self.last is None:
            return "the hour meter was never read"
        if self.estimated:
            return f"estimated, the meter is broken since {on(self.broken_day or 0.0)}"
        return f"by the meter on {on(self.last.day)}"

    def hours(self, day: float, total_h: float | None = None) -> float | None:
        """Total machine hours at an event; None where they cannot be told: before the first look.

        total_h : as the records have them; they count where they lie between the looks before and after, else the hours of that day
        do, in proportion between those looks. What a broken meter showed never counts.
        """
        if not self.points:
            return None
        days = [p.day for p in self.points]
        k = bisect.bisect_right(days, day)
        if total_h is not None and not any(start < day and (end is None or day < end) for start, end in self.breaks):
            corrected = total_h + sum(h for from_day, h in self.shifts if day >= from_day)
            low = _total(self.points[k - 1]) if k else 0.0
            high = _total(self.points[k]) if k < len(days) else (self.now_h or 0.0)
            if low - ROUNDING_H <= corrected <= high + ROUNDING_H:
                return corrected
        if day < days[0]:
            return None
        if day > days[-1] and self.estimated and self.per_week is not None:
            return _total(self.points[-1]) + self.per_week / WEEK * (min(day, self.today) - days[-1])
        return hours_at(days, [_total(p) for p in self.points], day)

    def shows_at(self, total_h: float) -> float | None:
        """What the present meter shows at so many total hours; None where an earlier meter ran then, or nothing is known."""
        if self.last is None or self.last.meter_h is None or self.broken_day is not None:
            return None
        showing = self.last.meter_h + total_h - _total(self.last)
        before = any(p.segment != self.last.segment for p in self.points)
        return showing if showing >= 0 or not before else None

    def project(self, target_h: float) -> Projection | None:
        """When ``target_h`` total hours are reached, counted from the last look; None where use is not known or the meter stood."""
        if self.last is None:
            return None
        left = target_h - _total(self.last)
        if left <= 0 or not self.per_week:
            return None
        return reach(self.last.day, left, self.use or Use(self.per_week, None, 0, 1.0))


def read_meter(looks: Sequence[Look], today: datetime.date, hours_per_week: float | None = None) -> Meter:
    """A cleaned meter from every look at it, and what was odd, by name.

    looks : in any order; those after ``today`` do not count. today : the day from which everything is told. hours_per_week : as
    entered for the machine, used where readings tell nothing. Errors: see :func:`fluidapp.calc.due.looks.believed`, OutOfRange where
    hours_per_week is not above 0.
    Rules (own; common practice, no source): readings that contradict the others are left out (:func:`believed`). "Not read" adds
    nothing. From "broken since" until a meter runs again, hours are estimated from use before it (else from ``hours_per_week``) and
    all later hours moved up by what was missed; such a time tells nothing about use.
    """
    now = float(today.toordinal())
    if hours_per_week is not None:
        above_zero("hours a week", hours_per_week, "h")
    seen = sorted((x for x in looks if x.day < now + 1.0), key=lambda x: x.day)
    breaks = _breaks(seen)
    kept, faults = believed([x for x in seen if x.total_h is not None and x.state != "not read" and not _inside(x, breaks)])
    for a, b in itertools.pairwise(kept):
        if b.segment != a.segment:
            said = f"The meter was replaced between {on(a.day)} ({shown(a)}) and {on(b.day)} ({shown(b)}): hours add up over it."
            faults.append(Fault("replaced", a.day, b.day, said))
    runs = _runs(kept, breaks)
    for run in runs:
        faults += stuck(run)
    points, shifts, named = _over_breaks(kept, breaks, hours_per_week)
    found = use([([p.day for p in run], [_total(p) for p in run]) for run in runs])
    faults += named + _old(points, breaks, now)
    faults += [Fault("not read", x.day, x.day, f"The meter was not read on {on(x.day)}.") for x in seen if x.state == "not read"]
    faults.sort(key=lambda f: (f.from_day, f.to_day))
    return Meter(now, tuple(points), tuple(shifts), tuple(faults), found, tuple(breaks), hours_per_week)


def _breaks(seen: list[Look]) -> list[Break]:
    """Spans in which no meter ran: until a look that is not "broken" and shows something else than the broken one did."""
    found: list[Break] = []
    since: Look | None = None
    stood: Look | None = None  # what the broken meter shows
    for look in seen:
        if since is None:
            if look.state == "broken since":
                since = look
                stood = look if look.total_h is not None else stood
            elif look.total_h is not None:
                stood = look
        elif look.state == "read" and look.total_h is not None:
            if stood is not None and look.segment == stood.segment and abs(look.total_h - _total(stood)) < ROUNDING_H:
                continue
            found.append((since.day, look.day))
            since, stood = None, look
    if since is not None:
        found.append((since.day, None))
    return found


def _inside(look: Look, breaks: list[Break]) -> bool:
    """Whether nothing can be learned from this look: taken while the meter stood broken, after the first such look."""
    return any(start < look.day and (end is None or look.day < end) for start, end in breaks)


def _runs(kept: list[Look], breaks: list[Break]) -> list[list[Look]]:
    """The looks between breaks: only these tell how much the machine works."""
    runs: list[list[Look]] = [[]]
    for look in kept:
        if runs[-1] and any(runs[-1][-1].day <= end <= look.day for _, end in breaks if end is not None):
            runs.append([])
        runs[-1].append(look)
    return [run for run in runs if run]


def _over_breaks(kept: list[Look], breaks: list[Break], entered: float | None) -> tuple[list[Look], list[tuple[float, float]], list[Fault]]:
    """The looks with estimated hours added after each break, what was added from which day on, and each break in words."""
    points, shifts, faults = list(kept), [], []
    for start, end in breaks:
        before = [p for p in kept if p.day <= start]
        known = use([([p.day for p in run], [_total(p) for p in run]) for run in _runs(before, breaks)])
        rate = known.per_week if known else entered
        since = f"The meter is broken since {on(start)}" if end is None else f"The meter was broken from {on(start)} to {on(end)}"
        if rate is None:
            faults.append(
                Fault("broken", start, end or start, f"{since}: the hours of that time are not counted. Enter the machine's hours a week.")
            )
            continue
        how = f"about {rate / WEEK:.1f} h a day, {'as the meter ran before' if known else 'as entered for the machine'}"
        if end is None or not before:
            faults.append(Fault("broken", start, end or start, f"{since}: hours are estimated, {how}."))
            continue
        after = next((p for p in kept if p.day >= end), None)
        ran = _total(after) - _total(before[-1]) if after else 0.0
        missed = max(0.0, rate / WEEK * (end - before[-1].day) - ran)
        points = [dataclasses.replace(p, total_h=_total(p) + missed) if p.day >= end else p for p in points]
        shifts.append((end, missed))
        faults.append(Fault("broken", start, end, f"{since}: {hours(missed)} are added as an estimate, {how}."))
    return points, shifts, faults


def _old(points: list[Look], breaks: list[Break], now: float) -> list[Fault]:
    """Named where the last look is older than twice the usual gap between looks."""
    days = sorted({int(p.day) for p in points})
    if len(days) < 3 or (breaks and breaks[-1][1] is None):
        return []
    gap, since = float(np.median(np.diff(days))), now - days[-1]
    if since <= OLD_GAPS * max(gap, 1.0):
        return []
    said = f"The meter was last read on {on(days[-1])}, {since:.0f} days ago, usually every {gap:.0f} days or so: read it."
    return [Fault("not read", days[-1], now, said)]


def _total(look: Look) -> float:
    return look.total_h if look.total_h is not None else 0.0
