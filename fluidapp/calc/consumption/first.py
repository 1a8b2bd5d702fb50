"""Where to look first: at most ten lines in plain words, the most telling at the top."""

import datetime
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.consumption.flags import LOOK_BACK
from fluidapp.calc.consumption.review import Review
from fluidapp.calc.decision import alone
from fluidapp.calc.figure import about, figure
from fluidapp.errors import BadInput

AT_MOST = 10
NOTHING = "Nothing stands out: no machine takes clearly more than it used to."
Kind = Literal["gain", "more than a change", "two days running", "takes more", "at once", "twice its median"]
ORDER: tuple[Kind, ...] = ("gain", "more than a change", "two days running", "takes more", "at once", "twice its median")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to look at: machine and compartment by their labels, its kind, its weight among that kind, and the words after them."""

    machine: str
    part: str
    kind: Kind
    weight: float
    words: str

    def __str__(self) -> str:
        return f"{self.machine}: {self.part[:1].lower()}{self.part[1:]} {self.words}"


@dataclass(frozen=True, slots=True)
class LookFirst:
    """The list, and how many findings did not fit on it."""

    findings: tuple[Finding, ...]
    more: int

    @property
    def lines(self) -> tuple[str, ...]:
        """The list as text."""
        return tuple(str(finding) for finding in self.findings)


def look_first(findings: Iterable[Finding], at_most: int = AT_MOST) -> LookFirst:
    """The findings in order: by kind as in ORDER, then by weight; of one compartment only the first.

    A level that rises where nobody poured comes first, however little it is: it is never normal (own proposal).
    """
    best: dict[tuple[str, str], Finding] = {}
    for finding in sorted(findings, key=_rank):
        best.setdefault((finding.machine, finding.part), finding)
    kept = tuple(best.values())
    return LookFirst(kept[:at_most], max(0, len(kept) - at_most))


def gained(machine: str, part: str, gain_l: float, u_l: float, since: float, today: float) -> Finding | None:
    """A compartment that holds more than can be accounted for since the day ``since``; None where it is not beyond doubt (1.645 u).

    gain_l, u_l : change of its content less what was poured and drained, and its standard uncertainty [L].

    >>> day = datetime.date(2026, 5, 12).toordinal()
    >>> print(gained("Excavator 4", "Left final drive", 0.8, 0.1, day, day + 30))
    Excavator 4: left final drive has gained 0.8 ± 0.2 L since 12 May: oil is coming in from elsewhere
    """
    if not u_l > 0 or alone(gain_l, u_l) != "gain":
        return None
    words = f"has gained {figure(gain_l, u_l)} since {day_words(since, today)}: oil is coming in from elsewhere"
    return Finding(machine, part, "gain", gain_l / u_l, words)


def takes_more(
    seen: Review, labels: Mapping[str, tuple[str, str]] | Sequence[tuple[str, str]], day: ArrayLike, today: float
) -> list[Finding]:
    """The series whose running sum raised an alarm, with their usual and their new rate and when it changed.

    labels : (machine, compartment), one for each of ``seen.ids`` in its order, or by id. day : day count of each record of the review.
    """
    days, names = _days(day, seen), _names(labels, seen)
    found = []
    for m in np.flatnonzero(seen.alarm_at >= 0).tolist():
        usual = figure(100.0 * seen.usual.rate[m], 100.0 * seen.usual.u[m], unit="L/100 h")
        now = figure(100.0 * seen.now[m], 100.0 * seen.u_now[m], unit="L/100 h")
        extra = figure(seen.extra_l[m], seen.u_extra_l[m])
        between = days[seen.before_at[m]], days[seen.change_at[m]]
        words = (
            f"takes {now} since some time between {day_words(between[0], today)} and {day_words(between[1], today)}, "
            f"{usual} before: {extra} more than usual since then"
        )
        found.append(Finding(*names[m], "takes more", float(seen.extra_l[m]), words))
    return found


def at_once(
    seen: Review, labels: Mapping[str, tuple[str, str]] | Sequence[tuple[str, str]], day: ArrayLike, today: float, days: float = LOOK_BACK
) -> list[Finding]:
    """Single intervals of the last ``days`` days that took more than twice the usual, and more above it than the alarm's limit.

    The newest of each series. Other parameters as in :func:`takes_more`.
    """
    when, names, found = _days(day, seen), _names(labels, seen), seen.found
    series, told = found.series, []
    above = found.litres - seen.usual.rate[series] * found.hours
    large = (above > seen.limit_l[series]) & (above > seen.usual.rate[series] * found.hours)
    hits = np.flatnonzero(large & (when[found.row] > today - days) & (when[found.row] <= today))
    for m, k in {int(series[k]): int(k) for k in hits}.items():
        usual = seen.usual.rate[m] * found.hours[k]
        u = math.hypot(math.sqrt(2.0) * seen.usual.u_level_l[m], seen.usual.u[m] * found.hours[k])
        words = (
            f"took {figure(above[k], u)} above the usual {about(max(usual, 0.0))} on {day_words(when[found.row[k]], today)}: "
            "a burst hose, too much poured, or a reading in another posture?"
        )
        told.append(Finding(*names[m], "at once", float(above[k]), words))
    return told


def two_days(machine: str, part: str, day: float, today: float) -> Finding:
    """Topped up on ``day`` and on the day before; see :func:`flags.two_days_running`."""
    words = f"was topped up on two days running, the last time on {day_words(day, today)}: find the leak before the next pour"
    return Finding(machine, part, "two days running", day, words)


def more_than_a_change(machine: str, part: str, poured_l: float, u_l: float, change_l: float, days: float) -> Finding | None:
    """Topped up by more than a whole change takes, in ``days`` days; None where it was not, beyond 1.645 u. Litres, u of the sum."""
    if not u_l > 0 or alone(poured_l - change_l, u_l) != "gain":
        return None
    words = f"took {figure(poured_l, u_l)} in {days:.0f} days, more than the {about(change_l)} of a whole change"
    return Finding(machine, part, "more than a change", poured_l / change_l, words)


def twice(machine: str, part: str, last: float, u: float) -> Finding:
    """More than twice its own median of half a year, in L/100 h ± u; see :func:`flags.twice_its_median`."""
    words = f"took {figure(last, u, unit='L/100 h')} lately, more than twice its own median of the half year before: watch it"
    return Finding(machine, part, "twice its median", last, words)


def day_words(day: float, today: float) -> str:
    """A day count in words, with the year where it is not this one.

    >>> day_words(datetime.date(2026, 5, 12).toordinal() + 0.4, datetime.date(2026, 9, 30).toordinal())
    '12 May'
    """
    date, now = (datetime.date.fromordinal(math.floor(d)) for d in (day, today))
    return f"{date.day} {_MONTHS[date.month - 1]}" + (f" {date.year}" if date.year != now.year else "")


def _rank(finding: Finding) -> tuple[int, float, str, str]:
    return ORDER.index(finding.kind), -finding.weight, finding.machine, finding.part


def _days(day: ArrayLike, seen: Review) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    days = np.asarray(day, np.float64)
    if days.shape != (seen.found.records,):
        raise BadInput("days", str(days.shape), f"Give one for each of the {seen.found.records} records.")
    return days


def _names(labels: Mapping[str, tuple[str, str]] | Sequence[tuple[str, str]], seen: Review) -> list[tuple[str, str]]:
    if isinstance(labels, Mapping):
        return [labels[str(key)] for key in seen.ids.tolist()]
    if len(labels) != len(seen.ids):
        raise BadInput("labels", len(labels), f"Give one for each of the {len(seen.ids)} series.")
    return list(labels)
