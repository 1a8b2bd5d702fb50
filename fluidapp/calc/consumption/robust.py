"""What a machine usually takes, from a frozen stretch at the beginning of its records, without being misled by single large losses."""

import math
from dataclasses import dataclass

import numpy as np

from fluidapp.calc.consumption.series import Array, BoolArray, IntArray, Intervals, sums
from fluidapp.errors import BadInput

REJECT = 3.5  # a modified z beyond it is left out
NORMAL = 0.6745  # MAD of a normal distribution, in standard deviations
PHI_FLOOR_L = 0.05  # own limit
PHI_TYPICAL_L = 0.25  # typical, editable: what phi is drawn to where there are few intervals (own figure)
PHI_WEIGHT = 4.0  # and as how many intervals it counts


def group_medians(values: Array, start: IntArray) -> Array:
    """Median of each group of ``values``; group m lies at start[m] to start[m + 1]. nan for an empty group.

    >>> group_medians(np.array([3.0, 1.0, 2.0, 9.0, 7.0]), np.array([0, 3, 3, 5])).tolist()
    [2.0, nan, 8.0]
    """
    counts = np.diff(start)
    group = np.repeat(np.arange(len(counts)), counts)
    ordered = np.append(values[np.lexsort((values, group))], np.nan)
    low, high = start[:-1] + (counts - 1) // 2, start[:-1] + counts // 2
    full = counts > 0
    return np.where(full, 0.5 * (ordered[np.where(full, low, -1)] + ordered[np.where(full, high, -1)]), np.nan)


def modified_z(values: Array, start: IntArray | None = None, floor: Array | float = 0.0) -> Array:
    """0.6745 (x - median) / MAD of each value within its group; MAD = the median of |x - median|.

    values : any unit. start : offsets of the groups, None = all are one. floor : what the scale MAD/0.6745 may not fall below, for each
    value or for all, in the unit of the values: the doubt of one reading, since coarse marks make MAD 0. 0/0 counts as 0.
    Source: B. Iglewicz, D. Hoaglin, How to Detect and Handle Outliers (1993), as in NIST/SEMATECH e-Handbook, 1.3.5.17 (second-hand).

    >>> modified_z(np.array([1.0, 2.0, 3.0, 4.0, 30.0])).round(2).tolist()
    [-1.35, -0.67, 0.0, 0.67, 18.21]
    """
    start = np.array([0, len(values)]) if start is None else start
    counts = np.diff(start)
    away = values - np.repeat(group_medians(values, start), counts)
    scale = np.maximum(np.repeat(group_medians(np.abs(away), start), counts) / NORMAL, floor)
    with np.errstate(divide="ignore", invalid="ignore"):
        z = away / scale
    return np.where(away == 0.0, 0.0, z)


@dataclass(frozen=True, slots=True)
class Baseline:
    """What each series usually takes; arrays of one length, a series each.

    rate : L/h, never negative; u : its standard uncertainty. phi_l : variance of what is used over its mean [L]: how lumpy the loss is.
    n : intervals that count; taken : intervals of the stretch, with those left out. u_level_l : standard uncertainty of one level.
    rate is nan where there are too few intervals.
    """

    rate: Array
    u: Array
    phi_l: Array
    n: IntArray
    taken: IntArray
    u_level_l: Array


def baseline(found: Intervals, taken: IntArray, u2_l2: Array, at_least: int) -> Baseline:
    """The usual rate of each series from its first ``taken`` intervals.

    taken : how many intervals of each series; u2_l2 : variance [L2] that the two levels give to each interval. Series with fewer than
    ``at_least`` get nan.
    Formula: d = (Q - m H) / sqrt(H), m the median of Q/H; intervals whose d has a modified z beyond 3.5 are left out (the scale never below
    the doubt of that d). Of the others lambda = sum Q / sum H. phi = (sum (Q - lambda H)^2 - sum u2) / (lambda (sum H - sum H^2/sum H))
    over all, those left out pulled in to 3.5; drawn to 0.25 L as if by four more intervals, not below 0.05 L.
    u(lambda)^2 = (phi lambda sum H + mean u2) / (sum H)^2. Own combination; outliers: see :func:`modified_z`.
    """
    if at_least < 2:
        raise BadInput("intervals of the baseline", at_least, "Two at least.")
    part = np.flatnonzero(found.position < np.repeat(taken, found.counts))
    h, q, u2 = found.hours[part], found.litres[part], u2_l2[part]
    series = found.series[part]
    start = np.append(0, np.cumsum(np.minimum(taken, found.counts))).astype(np.intp)

    def total(values: Array) -> Array:
        return sums(series, values, len(found.ids))

    root = np.sqrt(h)
    away = modified_z((q - group_medians(q / h, start)[series] * h) / root, start, np.sqrt(u2) / root)
    keep: BoolArray = np.abs(away) <= REJECT
    n, hours, litres, doubt = total(keep.astype(np.float64)), total(keep * h), total(keep * q), total(keep * u2)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = np.maximum(litres / hours, 0.0)
        over = np.minimum(1.0, REJECT / np.maximum(np.abs(away), REJECT))  # what is left out still counts for the scatter, pulled in
        rest = total(np.square((q - rate[series] * h) * over) - u2)
        own = np.where(rate > 0, rest / (rate * spare_hours(total(h), total(np.square(h)))), 0.0)
        phi = np.maximum((n * own + PHI_WEIGHT * PHI_TYPICAL_L) / (n + PHI_WEIGHT), PHI_FLOOR_L)
        u = np.sqrt(phi * rate * hours + doubt / n) / hours
        level = np.sqrt(doubt / n / 2.0)
    few = np.minimum(taken, found.counts) < at_least
    rate, u = np.where(few, np.nan, rate), np.where(few, np.nan, u)
    return Baseline(rate, u, phi, n.astype(np.intp), np.minimum(taken, found.counts), level)


def spare_hours(hours: Array, squares: Array) -> Array:
    """Hours that tell of the scatter once their own mean rate is taken off: sum H - sum H^2 / sum H; nan where one interval is all."""
    with np.errstate(divide="ignore", invalid="ignore"):
        left = hours - squares / hours
        return np.where(left > 1e-9 * hours, left, np.nan)


def levels_repeat(found: Intervals, u_level_l: Array) -> float:
    """How much better than ``u_level_l`` the levels repeat, as a share of it from 0.1 to 1, from the scatter of many series together.

    found : intervals of compartments of one kind, read in one way. u_level_l : standard uncertainty of one level of each series [L], > 0.
    1 with fewer than five series that have four intervals or more.
    Formula: r = Q - m H scatters by phi lambda H + 2 u^2, m the median of Q/H, so that u is at most 1.4826 MAD(r) / sqrt(2), and single
    large losses do not count. Of the shares of u that this is in each series the one that three quarters lie below is taken, cut to
    0.1 .. 1: an upper limit, since all scatter is laid on the levels. Own rule. Give the product of both to :func:`review`, the same for
    the fleet and for one machine.
    """
    u = np.asarray(u_level_l, np.float64)
    if u.shape != found.ids.shape or not np.all((u > 0) & np.isfinite(u)):
        raise BadInput("doubt of a level", str(u.shape), f"Give one above 0 L for each of the {len(found.ids)} series.")
    enough = found.counts >= 4
    if enough.sum() < 5:
        return 1.0
    rest = found.litres - group_medians(found.litres / found.hours, found.start)[found.series] * found.hours
    mad = group_medians(np.abs(rest - group_medians(rest, found.start)[found.series]), found.start)
    return float(np.clip(np.quantile(mad[enough] / (NORMAL * math.sqrt(2.0) * u[enough]), 0.75), 0.1, 1.0))
