"""A gear case that holds more than it was filled with: found from its readings alone, before any litres are worked out."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.consumption.first import Finding, day_words
from fluidapp.calc.consumption.robust import NORMAL

FIRST = 3  # readings after a change that say where the level stands
FLOOR_MM = 2.0  # what two readings of one level may differ by, at least
WIDE = 3.0


class Rise(NamedTuple):
    """The numbers of two readings: the last one at the old level, and the newest one."""

    before: int
    now: int


def risen(day: ArrayLike, shown_mm: ArrayLike, since: float = -np.inf) -> Rise | None:
    """Whether the level of one gauge stands higher than after the last change; None where it does not, or with fewer than five readings.

    day, shown_mm : readings of one gauge, oldest first; higher = more in it. since : the day of the last change; earlier ones do not count.
    Rule: the first three readings give the level, their scatter (1.4826 MAD, 2 mm at least) the scale; the last two must both stand
    more than three scales above. A sieve for what is worked out in litres afterwards, not a finding. Own rule.

    >>> risen([0, 14, 28, 42, 56, 70], [43.0, 44.0, 42.0, 43.0, 57.0, 75.0])
    Rise(before=3, now=5)
    """
    at, shown = np.asarray(day, np.float64), np.asarray(shown_mm, np.float64)
    rows = np.flatnonzero((at > since) & np.isfinite(shown))
    if len(rows) < FIRST + 2:
        return None
    level = float(np.median(shown[rows[:FIRST]]))
    scale = max(float(np.median(np.abs(shown[rows[:FIRST]] - level))) / NORMAL, FLOOR_MM)
    if not np.all(shown[rows[-2:]] > level + WIDE * scale):
        return None
    low = rows[shown[rows] <= level + scale]
    return Rise(int(low[-1]), int(rows[-1]))


def over_the_lip(machine: str, part: str, day: Sequence[float], runs_out: Sequence[bool], since: float, today: float) -> Finding | None:
    """A level plug from which oil runs out at the last two checks or more, where it stood below the lip before; None elsewhere.

    day, runs_out : of each check, oldest first. since : the day of the last change or pour; earlier checks do not count.
    How many litres that are nobody knows until they are caught. Own rule.

    >>> print(over_the_lip("Digger", "Right drive", [1, 29, 57, 85], [False, False, True, True], 0, 90))
    Digger: right drive has run over its level plug at the last 2 checks, since 26 February: oil is coming in from elsewhere
    """
    checks = [(d, over) for d, over in zip(day, runs_out, strict=True) if d > since]
    times = 0
    while times < len(checks) and checks[-1 - times][1]:
        times += 1
    if times < 2 or times == len(checks):
        return None
    first = checks[-times][0]
    words = f"has run over its level plug at the last {times} checks, since {day_words(first, today)}: oil is coming in from elsewhere"
    return Finding(machine, part, "gain", float(times), words)
