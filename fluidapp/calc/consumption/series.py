"""From records of many machines to intervals between two known levels: sorted, merged, and broken where a meter was replaced."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fluidapp.errors import BadInput

Array = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]
FEW = 2**16  # up to so many series the sort takes the quick way


def sums(group: NDArray[Any], values: Array, groups: int) -> Array:
    """Sum of ``values`` over each of ``groups`` groups, numbered from 0."""
    return np.bincount(group, values, groups).astype(np.float64, copy=False)


@dataclass(frozen=True, slots=True)
class Intervals:
    """Intervals between two known levels, sorted by series and then by hours.

    ids : the series, sorted, M of them. start : M + 1 offsets; the intervals of series m are start[m] to start[m + 1]. hours (> 0) and
    litres of each interval. row, before : the record (counted in the order they were given) with which it ends, and with which it begins.
    records : how many were given.
    """

    ids: NDArray[Any]
    start: IntArray
    hours: Array
    litres: Array
    row: IntArray
    before: IntArray
    records: int

    @property
    def counts(self) -> IntArray:
        """Intervals of each series."""
        return np.diff(self.start)

    @property
    def series(self) -> IntArray:
        """The number of the series of each interval."""
        return np.repeat(np.arange(len(self.ids)), self.counts)

    def sums(self, values: Array) -> Array:
        """Sum of ``values`` (one for each interval) over each series; 0 where it has none."""
        return sums(self.series, values, len(self.ids))

    def head(self, window: int) -> "Intervals":
        """The first ``window`` intervals of each series."""
        part = np.flatnonzero(self.position < window)
        start = np.append(0, np.cumsum(np.minimum(window, self.counts))).astype(np.intp)
        return Intervals(self.ids, start, self.hours[part], self.litres[part], self.row[part], self.before[part], self.records)

    @property
    def position(self) -> IntArray:
        """The place of each interval in its series, from 0."""
        return np.arange(len(self.hours)) - np.repeat(self.start[:-1], self.counts)

    def by_row(self, values: Array) -> Array:
        """``values`` of the intervals at the records with which they end; nan at the others."""
        found = np.full(self.records, np.nan)
        found[self.row] = values
        return found


def intervals(
    series: ArrayLike,
    hours: ArrayLike,
    litres: ArrayLike,
    *,
    known: ArrayLike | None = None,
    segment: ArrayLike | None = None,
) -> Intervals:
    """Intervals between two known levels, from records in any order: arrays of one length n, a record each.

    series : whose consumption it is: a machine, or one compartment of it; whole numbers or texts. hours : total machine hours (or weeks on
    the calendar). litres : used up since the level before: what was topped up, to the mark; may be below 0 where both levels were read;
    nan = a fresh start (planned change, first fill): the level is known, what went in is no consumption. known : False where the level
    after a pour is not known; its litres then belong to the interval that ends with the next known level. segment : which hour meter it
    was, 0 and up; no interval reaches over a replaced meter. BadInput for unlike lengths and hours that are not finite.

    Records of one series at the same hours count as one. What was used before the first known level, and after the last one, belongs to
    no interval. Common practice, no source.

    >>> found = intervals([7, 7, 7, 7], [100, 160, 160, 250], [4.0, 2.0, 1.0, 4.5])
    >>> found.hours.tolist(), found.litres.tolist(), found.row.tolist(), found.before.tolist()
    ([60.0, 90.0], [3.0, 4.5], [2, 3], [0, 2])
    """
    ids, codes = codes_of(np.asarray(series))
    t, q = np.asarray(hours, np.float64), np.asarray(litres, np.float64)
    n = len(codes)
    flags = None if known is None else np.asarray(known, np.bool_)
    meters = None if segment is None else np.asarray(segment)
    for name, values in (("hours", t), ("litres", q), ("known", flags), ("meter", meters)):
        if values is not None and values.shape != (n,):
            raise BadInput(name, str(values.shape), f"Give one for each of the {n} records.")
    if not np.all(np.isfinite(t)):
        raise BadInput("hours", "not a number", "Leave out records without hours, or count them by the week.")
    if np.any(np.isinf(q)):
        raise BadInput("litres", "infinite", "Enter a finite number of litres.")
    if n == 0:
        none = np.zeros(0, np.intp)
        return Intervals(ids, np.zeros(1, np.intp), np.zeros(0), np.zeros(0), none, none, 0)

    order = _order(codes, t, meters)
    s, t, q = codes[order], t[order], q[order]
    last = np.empty(n, np.bool_)  # the last record of its series and meter
    last[-1] = True
    last[:-1] = s[1:] != s[:-1]
    if meters is not None:
        meters = meters[order]
        last[:-1] |= meters[1:] != meters[:-1]
    close = np.ones(n, np.bool_)  # the record after which the level is known
    sure = np.ones(n, np.bool_)
    same = (t[1:] == t[:-1]) & ~last[:-1]
    if same.any():
        close[:-1] = ~same
    if flags is not None:
        sure = flags[order]
        if same.any():
            first = np.flatnonzero(np.concatenate(([True], ~same)))
            sure = np.repeat(np.logical_or.reduceat(sure, first), np.diff(np.append(first, n)))
        close &= sure | last
    if close.all():
        used, at = q, order
    else:
        end = np.flatnonzero(close)
        used, at = np.add.reduceat(q, np.append(0, end[:-1] + 1)), order[end]
        s, t, last, sure = s[end], t[end], last[end], sure[end]
    good = np.empty(len(s), np.bool_)
    good[0] = False
    good[1:] = ~last[:-1] & sure[1:] & ~np.isnan(used[1:])
    here = np.flatnonzero(good)
    counts = np.bincount(s[here], minlength=len(ids))
    start = np.concatenate(([0], np.cumsum(counts))).astype(np.intp)
    return Intervals(ids, start, t[here] - t[here - 1], used[here], at[here], at[here - 1], n)


def codes_of(series: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
    """The series that are there, sorted, and the number of each record's one, in as few bits as will do."""
    if series.ndim != 1:
        raise BadInput("series", str(series.shape), "Give one for each record.")
    if series.dtype.kind in "iu" and len(series) and int(series.min()) >= 0 and int(series.max()) < FEW:
        there = np.bincount(series) > 0
        ids = np.flatnonzero(there).astype(series.dtype)
        number = (np.cumsum(there) - 1).astype(np.uint16)
        return ids, number[series]
    if series.dtype.kind == "f" and not np.all(np.isfinite(series)):
        raise BadInput("series", "not a number", "Name the series by whole numbers or texts.")
    ids, inverse = np.unique(series, return_inverse=True)
    return ids, inverse.astype(np.uint16 if len(ids) <= FEW else np.intp)


def _order(codes: NDArray[Any], hours: Array, meters: NDArray[Any] | None) -> IntArray:
    """By series, meter, hours; records that are equal in all three stay as they came."""
    order = np.argsort(hours, kind="stable")
    if meters is not None:
        order = order[np.argsort(meters[order], kind="stable")]
    return order[np.argsort(codes[order], kind="stable")]  # 16-bit codes: a radix sort


@dataclass(frozen=True, slots=True)
class Sorted:
    """Which records count by the meter, and which by the week because the meter was broken; litres of unread ones carried on.

    metered, weekly : numbers of the records, in time order. litres, known : of the metered ones, for :func:`intervals`.
    """

    metered: IntArray
    litres: Array
    known: BoolArray
    weekly: IntArray


def by_meter_or_week(
    series: ArrayLike, days: ArrayLike, hours: ArrayLike, litres: ArrayLike, broken: ArrayLike, known: ArrayLike | None = None
) -> Sorted:
    """Records sorted into those that count by the hour meter and those that count by the week.

    days : day count of each record. hours : total machine hours, nan = not read. broken : True while no meter ran; such a record counts by
    the week. A record whose meter was not read, though it ran, hands its litres on to the next one that has hours; a fresh start (nan) too.
    The others as in :func:`intervals`. BadInput for unlike lengths and days that are not finite.
    """
    _, codes = codes_of(np.asarray(series))
    day, t, q = (np.asarray(a, np.float64) for a in (days, hours, litres))
    stands = np.asarray(broken, np.bool_)
    sure = np.ones(len(codes), np.bool_) if known is None else np.asarray(known, np.bool_)
    for name, values in (("days", day), ("hours", t), ("litres", q), ("broken", stands), ("known", sure)):
        if values.shape != codes.shape:
            raise BadInput(name, str(values.shape), f"Give one for each of the {len(codes)} records.")
    if not np.all(np.isfinite(day)):
        raise BadInput("days", "not a number", "Every record needs its date.")
    order = np.lexsort((day, codes))
    weekly = order[stands[order]]
    order = order[~stands[order]]
    read = ~np.isnan(t[order])
    s = codes[order].astype(np.intp)
    if not len(order):
        return Sorted(order, np.zeros(0), np.zeros(0, np.bool_), weekly)
    ends = read | np.append(s[1:] != s[:-1], True)  # what is not read at the end of a series falls away
    end = np.flatnonzero(ends)
    total = np.add.reduceat(q[order], np.append(0, end[:-1] + 1))
    keep = read[end]
    rows = order[end[keep]]
    return Sorted(rows, total[keep], sure[rows], weekly)
