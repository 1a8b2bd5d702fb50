"""Which machines take more than they used to, and since when: the whole fleet at once."""

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fluidapp.calc.consumption.cusum import Signal, running_groups, signals
from fluidapp.calc.consumption.robust import Baseline, baseline
from fluidapp.calc.consumption.series import Array, IntArray, Intervals, intervals
from fluidapp.calc.consumption.tuned import ALLOWANCE, AT_LEAST, CAP, DOUBT, GROWTH, WINDOW, limit_l
from fluidapp.errors import BadInput

Z_LIMIT = 3.0  # a point of the chart is marked beyond it


@dataclass(frozen=True, slots=True)
class Review:
    """What the records say.

    Arrays of n, one for each record as they were given: rate [L/h] of the interval that ends with it, z against the usual rate, cusum_l
    the running sum [L]; nan where no interval ends. Arrays of M, one for each of ``ids``: alarm_at the record with which the sum first
    stood above limit_l, change_at the record with which the first changed interval ends, before_at the record with which it begins: the
    change lies between the two; -1 = none. usual : the baseline. now, u_now : L/h from the change on. extra_l, u_extra_l : litres above
    the usual since then, nan without an alarm. found : the intervals behind it.
    """

    rate: Array
    z: Array
    cusum_l: Array
    alarm_at: IntArray
    change_at: IntArray
    before_at: IntArray
    ids: NDArray[Any]
    usual: Baseline
    limit_l: Array
    now: Array
    u_now: Array
    extra_l: Array
    u_extra_l: Array
    found: Intervals


def review(
    machine_id: ArrayLike,
    hours: ArrayLike,
    litres: ArrayLike,
    u_level_l: ArrayLike,
    *,
    segment: ArrayLike | None = None,
    known: ArrayLike | None = None,
    restart: ArrayLike | None = None,
    window: int = WINDOW,
    at_least: int = AT_LEAST,
) -> Review:
    """Own usual rate of each machine, how far each interval is from it, and the alarm with its change point.

    machine_id, hours, litres, segment, known : n records in any order, see :func:`fluidapp.calc.consumption.intervals`; a machine_id may
    stand for one compartment. u_level_l : standard uncertainty of one known level [L], > 0, one for all or one for each record. restart :
    True where the sum begins at 0 again (a loss was put right); the usual rate stays. window, at_least : intervals of the baseline.
    BadInput for what does not fit.

    Usual rate: see :func:`robust.baseline`, from the first ``window`` intervals; where an alarm comes within these, from the ones before
    its change (12, 6 or ``at_least`` are tried as baselines of the rest).
    Chart: z = (Q - lambda H) / sqrt(phi lambda H + u1^2 + u2^2), to be marked beyond 3. It raises no alarm, since neighbours are correlated
    through the level they share. Running sum after the baseline: S = max(0, S + x), with
    x = Q - lambda H - max(lambda/2, lambda/4 + 2.3 u(lambda)) H: halfway to a doubling where lambda is well known. One interval adds at
    most 0.7 of the limit, so that a single burst hose raises no alarm. Alarm: S > limit_l, see :func:`tuned.limit_l`. Change: the first
    interval after the last zero of S.
    Own combination; false alarms and power by simulation: see DEVELOPERS.md. Source of the sum: see :func:`cusum.running`.

    >>> h = np.arange(0.0, 1860.0, 60.0)
    >>> seen = review(np.full(31, 4), h, np.where(h > 1500, 8.0, 3.0), 0.5)
    >>> round(100 * float(seen.usual.rate[0]), 2), seen.alarm_at.tolist(), seen.change_at.tolist(), seen.before_at.tolist()
    (5.0, [27], [26], [25])
    """
    if not 2 <= at_least <= window:
        raise BadInput("intervals of the baseline", at_least, f"From 2 to {window}.")
    found = intervals(machine_id, hours, litres, known=known, segment=segment)
    u2 = _variance(u_level_l, found)
    again = np.zeros(0, np.intp) if restart is None else _restarts(restart, found)

    taken = _frozen(found, u2, again, window, at_least)
    usual = baseline(found, taken, u2, at_least)
    late = _sums(found, usual, found.start[:-1] + taken, found.start[1:], again)

    alarm, change = late.signal
    now, u_now, extra, u_extra = _since(found, usual, u2, change)
    per_h = usual.rate[found.series]
    z = (found.litres - per_h * found.hours) / np.sqrt(usual.phi_l[found.series] * per_h * found.hours + u2)
    return Review(
        found.by_row(found.litres / found.hours),
        found.by_row(z),
        found.by_row(late.sums),
        _at(found.row, alarm),
        _at(found.row, change),
        _at(found.before, change),
        found.ids,
        usual,
        late.limit,
        now,
        u_now,
        extra,
        u_extra,
        found,
    )


def _frozen(found: Intervals, u2: Array, again: IntArray, window: int, at_least: int) -> IntArray:
    """How many intervals of each series are its baseline: it grows while nothing in the window has raised an alarm."""
    taken = np.minimum(window, found.counts)
    head = found.head(window)
    part = np.flatnonzero(found.position < window)
    new = np.searchsorted(part, again[np.isin(again, part)]).astype(np.intp)
    first, end, still = head.start[:-1], head.start[1:], np.ones(len(taken), np.bool_)
    for short in [n for n in GROWTH if at_least < n < window] + [at_least]:
        few = np.minimum(short, head.counts)
        seen = _sums(head, baseline(head, few, u2[part], at_least), first + few, end, new).signal
        hit = still & (seen.alarm >= 0)
        taken = np.where(hit, np.maximum(few, seen.change - first), taken)
        still &= ~hit
    return taken


class _Sums(NamedTuple):
    sums: Array
    limit: Array
    signal: Signal


def _sums(found: Intervals, usual: Baseline, first: IntArray, end: IntArray, again: IntArray) -> _Sums:
    """The running sum of each series from ``first`` to ``end``, begun anew at the intervals ``again``; signals after the last of these."""
    limit = limit_l(usual.u_level_l, usual.phi_l)
    allowed = usual.rate + np.maximum(ALLOWANCE * usual.rate, ALLOWANCE / 2.0 * usual.rate + DOUBT * usual.u)
    series = found.series
    excess = np.minimum(found.litres - allowed[series] * found.hours, CAP * limit[series])
    judged = ~np.isnan(usual.rate)
    first = np.where(judged, first, end)
    last = first
    if len(again):
        of = series[again]
        inside = (again > first[of]) & (again < end[of])
        again, of = again[inside], of[inside]
        last = first.copy()
        np.maximum.at(last, of, again)
        starts = np.concatenate((first, again))
        order = np.argsort(starts, kind="stable")
        which = np.concatenate((np.arange(len(first)), of))[order]
        begin = starts[order]
        stop = np.minimum(np.append(begin[1:], len(excess)), end[which])
        stop = np.where(np.append(which[1:], -1) == which, stop, end[which])
        sums = running_groups(excess, begin, stop)
    else:
        sums = running_groups(excess, first, end)
    return _Sums(sums, limit, signals(sums, sums > limit[series], last, end))


def _since(found: Intervals, usual: Baseline, u2: Array, change: IntArray) -> tuple[Array, Array, Array, Array]:
    """Rate from the change on and litres above the usual since then, each with its standard uncertainty."""
    series = found.series
    part = np.arange(len(series)) >= np.where(change >= 0, change, len(series))[series]
    hours, litres, doubt, n = (found.sums(values * part) for values in (found.hours, found.litres, u2, np.ones(len(u2))))
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = litres / hours
        variance = usual.phi_l * np.maximum(litres, 0.0) + doubt / n
        extra = litres - usual.rate * hours
        u_extra = np.sqrt(variance + (usual.u * hours) ** 2)
        return rate, np.sqrt(variance) / hours, np.where(n > 0, extra, np.nan), u_extra


def _variance(u_level_l: ArrayLike, found: Intervals) -> Array:
    """Variance that the levels at both ends give to each interval [L2]."""
    u = np.asarray(u_level_l, np.float64)
    if not np.all((u > 0) & np.isfinite(u)):
        raise BadInput("doubt of a level", "0 or not a number", "It must be above 0 L.")
    if u.ndim == 0:
        return np.full(len(found.hours), 2.0 * float(u) ** 2)
    if u.shape != (found.records,):
        raise BadInput("doubt of a level", str(u.shape), f"Give one for all, or one for each of the {found.records} records.")
    return np.square(u[found.before]) + np.square(u[found.row])


def _restarts(restart: ArrayLike, found: Intervals) -> IntArray:
    """The first interval that begins at or after each restart."""
    flags = np.asarray(restart, np.bool_)
    if flags.shape != (found.records,):
        raise BadInput("restart", str(flags.shape), f"Give one for each of the {found.records} records.")
    return np.flatnonzero(flags[found.before])


def _at(rows: IntArray, interval: IntArray) -> IntArray:
    """The record of each interval; -1 where there is none."""
    found = np.full(len(interval), -1)
    found[interval >= 0] = rows[interval[interval >= 0]]
    return found
