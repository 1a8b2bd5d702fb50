"""Looks at the hour meter: which of them can be believed, and what is said about the others, by name.

Days are counted as ``date.toordinal()`` does, the time of day as a fraction. Hours are total hours over replaced meters.
"""

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fluidapp.errors import BadInput

HOURS_OF_A_DAY = 24.0
SLACK_H = 24.0  # a time of day is often left out: two looks may be a day further apart than their dates (own limit)
STUCK_WORKING_DAYS = 2  # the same figure over so many working days is asked about (common practice, no source)
ROUNDING_H = 0.05

State = Literal["read", "not read", "broken since"]
FaultKind = Literal["backwards", "more than 24 h a day", "stuck", "not read", "broken", "replaced"]


@dataclass(frozen=True, slots=True)
class Look:
    """One look at the hour meter.

    day : when. total_h : machine hours over all its meters, None = not known. meter_h : what the meter itself showed. segment : which
    meter it was, counted up by one at each replacement. state : "broken since" holds from ``day`` until a meter runs again.
    """

    day: float
    total_h: float | None
    meter_h: float | None = None
    segment: int = 0
    state: State = "read"


@dataclass(frozen=True, slots=True)
class Fault:
    """What is odd about the looks from ``from_day`` to ``to_day``. ``words`` name dates and hours and say what to do."""

    kind: FaultKind
    from_day: float
    to_day: float
    words: str


def on(day: float) -> str:
    """A day count as a date to show.

    >>> on(datetime.date(2026, 5, 4).toordinal() + 0.3)
    '2026-05-04'
    """
    return datetime.date.fromordinal(math.floor(day)).isoformat()


def hours(value: float) -> str:
    """Hours to show: whole hours, below 10 with one decimal.

    >>> hours(4210.4), hours(7.26)
    ('4210 h', '7.3 h')
    """
    return f"{value:.0f} h" if abs(value) >= 9.95 else f"{value:.1f}".removesuffix(".0") + " h"


def believed(looks: Sequence[Look]) -> tuple[list[Look], list[Fault]]:
    """The looks that agree with each other, oldest first, and a fault for each one left out.

    looks : those with hours, in any order. A look agrees with an earlier one where hours did not run backwards and did not grow by
    more than 24 h a day (and one day's slack, since times of day are often left out). The largest set of looks that all agree one
    after the other is kept, of equally large ones the one that ends earlier. Own rule. BadInput where a number is not finite.
    """
    for look in looks:
        if look.total_h is None or not (math.isfinite(look.total_h) and math.isfinite(look.day)):
            raise BadInput("hour meter", str(look.total_h), "Each look needs its day and its hours.")
    first_of: dict[tuple[int, float], Look] = {}
    for look in sorted(looks, key=lambda x: (x.day, x.total_h or 0.0)):
        first_of.setdefault((math.floor(look.day), _h(look)), look)  # a save writes the same figure many times
    points = list(first_of.values())
    kept = _longest(np.array([p.day for p in points]), np.array([_h(p) for p in points]))
    inside = [points[i] for i in kept]
    faults = [_named(points[i], inside) for i in range(len(points)) if i not in set(kept)]
    return inside, faults


def stuck(points: Sequence[Look]) -> list[Fault]:
    """A question for each stretch in which the meter showed the same over two working days (Monday to Friday) or more."""
    found: list[Fault] = []
    start = 0
    for i in range(1, len(points) + 1):
        if i < len(points) and abs(_h(points[i]) - _h(points[start])) < ROUNDING_H and points[i].segment == points[start].segment:
            continue
        a, b = points[start], points[i - 1]
        days = int(np.busday_count(on(a.day), on(b.day)))
        if days >= STUCK_WORKING_DAYS:
            said = (
                f"The meter showed {shown(a)} on {on(a.day)} and still on {on(b.day)}, {days} working days later: stuck, or did it stand?"
            )
            found.append(Fault("stuck", a.day, b.day, said))
        start = i
    return found


def shown(look: Look) -> str:
    """The hours of a look as a person saw them."""
    return f"{round(_h(look) if look.meter_h is None else look.meter_h, 1):.10g} h"


def _h(look: Look) -> float:
    return look.total_h if look.total_h is not None else math.nan


def _longest(day: np.ndarray, h: np.ndarray) -> list[int]:
    """Indices of the longest chain of looks in which each agrees with the one before it."""
    n = len(day)
    length, before = np.ones(n, dtype=int), np.full(n, -1)
    for j in range(1, n):
        grown = h[j] - h[:j]
        fits = (grown >= -ROUNDING_H) & (grown <= HOURS_OF_A_DAY * (day[j] - day[:j]) + SLACK_H)
        if fits.any():
            reach = np.where(fits, length[:j], 0)
            before[j] = j - 1 - int(np.argmax(reach[::-1]))  # of equal ones the latest
            length[j] = reach[before[j]] + 1
    chain: list[int] = []
    at = int(np.argmax(length)) if n else -1
    while at >= 0:
        chain.append(at)
        at = int(before[at])
    return chain[::-1]


def _named(wrong: Look, kept: list[Look]) -> Fault:
    """Why a look was left out, against the nearest look that was kept."""
    earlier = [p for p in kept if p.day <= wrong.day]
    later = [p for p in kept if p.day > wrong.day]
    if earlier and _h(wrong) < _h(earlier[-1]) - ROUNDING_H:
        return _backwards(earlier[-1], wrong, wrong)
    if earlier and _h(wrong) - _h(earlier[-1]) > HOURS_OF_A_DAY * (wrong.day - earlier[-1].day) + SLACK_H:
        return _too_fast(earlier[-1], wrong, wrong)
    if later and _h(wrong) > _h(later[0]) + ROUNDING_H:
        return _backwards(wrong, later[0], wrong)
    return _too_fast(wrong, (later or earlier)[0], wrong)


def _backwards(a: Look, b: Look, wrong: Look) -> Fault:
    said = f"Backwards: {_pair(a, b)}. {_left_out(wrong)}"
    return Fault("backwards", a.day, b.day, said)


def _too_fast(a: Look, b: Look, wrong: Look) -> Fault:
    span, grown = b.day - a.day, _h(b) - _h(a)
    days = f"{span:.0f} days" if span >= 1.5 else "a day" if span > 0.5 else "less than a day"
    said = f"More than 24 h a day: {_pair(a, b)}, {hours(grown)} in {days}. {_left_out(wrong)}"
    return Fault("more than 24 h a day", a.day, b.day, said)


def _pair(a: Look, b: Look) -> str:
    texts = (shown(a), shown(b)) if a.segment == b.segment else (f"{hours(_h(a))} in all", f"{hours(_h(b))} in all")
    return f"{texts[0]} on {on(a.day)}, then {texts[1]} on {on(b.day)}"


def _left_out(wrong: Look) -> str:
    return f"{shown(wrong)} on {on(wrong.day)} is left out: read the meter again, void the entry that is wrong."
