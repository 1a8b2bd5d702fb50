"""Plain signs that ask for a look, before any statistics: two days running, more than a whole change, twice the own median."""

import math

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.consumption.review import Review
from fluidapp.calc.consumption.robust import group_medians
from fluidapp.calc.consumption.series import Array, BoolArray, IntArray, codes_of, sums
from fluidapp.calc.decision import CLAIM
from fluidapp.errors import BadInput

TWICE = 2.0  # times the own median: watch (own proposal)
HALF_A_YEAR = 183.0  # days
LOOK_BACK = 90.0  # days


def two_days_running(series: ArrayLike, day: ArrayLike, litres: ArrayLike) -> BoolArray:
    """Which records are top-ups (litres above 0) on the day after another one of the same series. ``day`` : day counts. Own proposal.

    >>> two_days_running([1, 1, 1, 2], [5.3, 6.4, 9.0, 7.0], [2.0, 1.0, 3.0, 1.0]).tolist()
    [False, True, False, False]
    """
    codes, days, poured = _same(series, day, litres)
    top = np.flatnonzero(poured > 0)
    order = top[np.lexsort((days[top], codes[top]))]
    s, d = codes[order], np.floor(days[order])
    new = np.unique(np.column_stack((s, d)), axis=0)
    after = {(int(a), int(b)) for a, b in new}
    found = np.zeros(len(codes), np.bool_)
    found[order] = [(int(a), int(b) - 1) in after for a, b in zip(s, d, strict=True)]
    return found


def poured_lately(series: ArrayLike, day: ArrayLike, litres: ArrayLike, today: float, days: float = LOOK_BACK) -> tuple[Array, IntArray]:
    """Litres topped up in the last ``days`` days by each series (sorted), and how often; nan litres (fresh starts) do not count.

    To be held against the volume of a change: more than that asks for a look at once (own proposal).
    """
    codes, at, poured = _same(series, day, litres)
    part = (poured > 0) & (at > today - days) & (at <= today)
    n = int(codes.max(initial=-1)) + 1
    return sums(codes[part], poured[part], n), np.bincount(codes[part], minlength=n)


def twice_its_median(seen: Review, day: ArrayLike) -> BoolArray:
    """Which series took, in their last interval, more than twice the median rate of their intervals of the half year before.

    day : of each record of the review. At least three intervals must lie in that half year, and the last one must stand above that median
    by more than 1.645 u, from the levels and the lumps. Own proposal.
    """
    found = seen.found
    when = np.asarray(day, np.float64)
    if when.shape != (found.records,):
        raise BadInput("days", str(when.shape), f"Give one for each of the {found.records} records.")
    some = found.counts > 0
    answer = np.zeros(len(found.ids), np.bool_)
    if not some.any():
        return answer
    last = found.start[1:][some] - 1
    ended = when[found.row]
    newest = np.full(len(found.ids), -math.inf)
    newest[some] = ended[last]
    final = np.zeros(len(ended), np.bool_)
    final[last] = True
    part = (ended > newest[found.series] - HALF_A_YEAR) & ~final
    counts = np.bincount(found.series[part], minlength=len(found.ids))
    start = np.append(0, np.cumsum(counts)).astype(np.intp)
    median = group_medians((found.litres / found.hours)[part], start)[some]
    q, h = found.litres[last], found.hours[last]
    u = np.sqrt(2.0 * np.square(seen.usual.u_level_l[some]) + seen.usual.phi_l[some] * np.maximum(median * h, 0.0))
    answer[some] = (counts[some] >= 3) & (q > TWICE * median * h) & (q - median * h > CLAIM * u)
    return answer


def _same(series: ArrayLike, day: ArrayLike, litres: ArrayLike) -> tuple[IntArray, Array, Array]:
    _, codes = codes_of(np.asarray(series))
    days, poured = np.asarray(day, np.float64), np.asarray(litres, np.float64)
    if not days.shape == poured.shape == codes.shape:
        raise BadInput("days", str(days.shape), f"Give one for each of the {len(codes)} records.")
    if not np.all(np.isfinite(days)):
        raise BadInput("days", "not a number", "Every record needs its date.")
    return codes.astype(np.intp), days, poured
