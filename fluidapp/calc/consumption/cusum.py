"""The running sum that finds a lasting change, for one series and for many at once."""

from typing import NamedTuple

import numpy as np

from fluidapp.calc.consumption.series import Array, BoolArray, IntArray


def running(excess: Array) -> Array:
    """S_i = max(0, S_(i-1) + x_i), from S = 0, for one series; the unit of ``excess``, which has one value for each interval.

    Formula: C = cumulated x, S = C - min(0, lowest C so far), which is the same. Source: E. S. Page, Biometrika 41 (1954) 100, in the
    form of NIST/SEMATECH e-Handbook 6.3.2.3 (from memory, second-hand).

    >>> running(np.array([-1.0, 2.0, -0.5, -3.0, 1.0])).tolist()
    [0.0, 2.0, 1.5, 0.0, 1.0]
    """
    total = np.cumsum(excess)
    low = np.minimum.accumulate(total)
    np.minimum(low, 0.0, out=low)
    return total - low


def running_groups(excess: Array, first: IntArray, end: IntArray) -> Array:
    """:func:`running` over many stretches, each from first[k] to end[k]; 0 elsewhere."""
    found = np.zeros(len(excess))
    for a, b in zip(first.tolist(), end.tolist(), strict=True):
        if b > a:
            found[a:b] = running(excess[a:b])
    return found


def tabular(values: Array, target: float, k: float) -> tuple[Array, Array]:
    """The upper and the lower running sum of a two-sided chart; ``k`` is the allowance on each side, in the unit of ``values``.

    Source: NIST/SEMATECH e-Handbook 6.3.2.3 (second-hand).
    """
    return running(values - target - k), running(target - values - k)


class Signal(NamedTuple):
    """Where the sum first stands above its limit, and the first interval after its last zero before: the change; -1 = nowhere."""

    alarm: IntArray
    change: IntArray


def signals(sums: Array, above: BoolArray, first: IntArray, end: IntArray) -> Signal:
    """First interval of each stretch at which ``above`` is true, and where that rise of ``sums`` began."""
    nowhere = len(sums)
    at = np.append(np.where(above, np.arange(nowhere), nowhere), nowhere)
    alarm = np.full(len(first), nowhere)
    full = np.flatnonzero(end > first)
    if len(full):
        pairs = np.column_stack((first[full], end[full])).ravel()
        alarm[full] = np.minimum.reduceat(at, pairs)[::2]
    seen = alarm < nowhere
    zero = np.maximum.accumulate(np.where(sums == 0.0, np.arange(nowhere), -1)) if nowhere else np.zeros(0, np.intp)
    change = np.full(len(first), -1)
    change[seen] = np.maximum(zero[alarm[seen]] + 1, first[seen])
    return Signal(np.where(seen, alarm, -1), change)


def one_split(values: Array) -> int:
    """Number of values before the one split that leaves the least squares about two means; 0 with fewer than two values.

    Formula: argmin over k of SSE(first k) + SSE(the rest), which is argmax of k (n - k)/n (mean1 - mean2)^2. Any text.

    >>> one_split(np.array([1.0, 1.1, 0.9, 3.0, 3.2]))
    3
    """
    n = len(values)
    if n < 2:
        return 0
    k = np.arange(1, n)
    total = np.cumsum(values)
    between = total[-1] / n - total[:-1] / k  # (mean of all) - (mean of the first k)
    return int(np.argmax(k * n / (n - k) * between**2)) + 1
