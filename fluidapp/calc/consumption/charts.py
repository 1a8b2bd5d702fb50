"""Control charts of single values, for a series that is looked at by itself: individuals, moving range, moving average."""

from typing import NamedTuple

import numpy as np

from fluidapp.calc.consumption.series import Array
from fluidapp.calc.limits import above_zero
from fluidapp.errors import BadInput, OutOfRange

D2 = 1.128  # mean range of two normal values, in standard deviations
D4 = 3.267  # upper 3-sigma limit of that range, in mean ranges


class Limits(NamedTuple):
    """Centre line and limits, in the unit of the values; floats, or arrays where they differ from point to point."""

    centre: float
    low: "float | Array"
    high: "float | Array"


def individuals(values: Array) -> tuple[Limits, Limits]:
    """Limits of single values, and of their moving range (each value less the one before, without sign).

    values : two or more, in time order, any unit; BadInput otherwise.
    Formula: mean +- 3 MRbar/1.128; moving range from 0 to 3.267 MRbar. Source: NIST/SEMATECH e-Handbook 6.3.2.2 (second-hand).
    Valid for values that are independent of each other and all equally sure. Litres per hour of unequal intervals are neither: see
    :func:`fluidapp.calc.consumption.review`.
    """
    x = _finite(values, 2)
    ranges = np.abs(np.diff(x))
    mean, spread = float(x.mean()), float(ranges.mean())
    return Limits(mean, mean - 3.0 * spread / D2, mean + 3.0 * spread / D2), Limits(spread, 0.0, D4 * spread)


def moving_average(values: Array, weight: float, start: float, sd: float, wide: float = 3.0) -> tuple[Array, Limits]:
    """Moving average that forgets: E_t = w x_t + (1 - w) E_(t-1) from E_0 = ``start``, and its limits.

    values : in time order. weight : w, above 0 and up to 1. start, sd : mean and standard deviation (> 0) of one value while all is well;
    wide : L. OutOfRange otherwise. Formula: E_0 +- L sd sqrt(w/(2 - w) (1 - (1 - w)^(2t))).
    Source: S. W. Roberts, Technometrics 1 (1959) 239; NIST/SEMATECH e-Handbook 6.3.2.4 (from memory).
    """
    x = _finite(values, 1)
    above_zero("standard deviation", sd, "")
    if not 0 < weight <= 1:
        raise OutOfRange("weight of the newest value", weight, 0.0, 1.0, "", "Enter a share, 0.2 to 0.3 is common.", above=True)
    found = np.empty(len(x))
    now = start
    for t, value in enumerate(x):
        now = weight * value + (1.0 - weight) * now
        found[t] = now
    half = wide * sd * np.sqrt(weight / (2.0 - weight) * (1.0 - (1.0 - weight) ** (2.0 * np.arange(1, len(x) + 1))))
    return found, Limits(start, start - half, start + half)


def _finite(values: Array, at_least: int) -> Array:
    x = np.asarray(values, np.float64)
    if x.ndim != 1 or len(x) < at_least or not np.all(np.isfinite(x)):
        raise BadInput("values", str(x.shape), f"Give {at_least} or more finite numbers in time order.")
    return x
