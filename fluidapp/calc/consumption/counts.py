"""Things that are counted, not poured: burst hoses, top-ups, call-outs. Litres do not belong here."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.consumption.charts import Limits
from fluidapp.calc.consumption.series import Array
from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import BadInput


def count_limits(counts: ArrayLike) -> Limits:
    """Mean and 3-sigma limits of counts over equal stretches: mean +- 3 sqrt(mean), not below 0.

    counts : whole numbers, 0 and up; BadInput otherwise. Source: c chart, NIST/SEMATECH e-Handbook 6.3.3.1 (second-hand).
    """
    c = _counts(counts)
    mean = float(c.mean())
    return Limits(mean, max(0.0, mean - 3.0 * mean**0.5), mean + 3.0 * mean**0.5)


def rate_limits(counts: ArrayLike, exposure: ArrayLike) -> Limits:
    """Mean rate and 3-sigma limits of counts over unequal stretches, one pair of limits for each; per unit of ``exposure``.

    exposure : hours or weeks of each stretch, > 0; BadInput otherwise.
    Formula: ubar = sum c / sum n, ubar +- 3 sqrt(ubar / n_i), not below 0. Source: u chart, any text on control charts.
    """
    c, n = _counts(counts), np.asarray(exposure, np.float64)
    if n.shape != c.shape or not np.all((n > 0) & np.isfinite(n)):
        raise BadInput("exposure", str(n.shape), "Give one above 0 for each count.")
    mean = float(c.sum() / n.sum())
    half: Array = 3.0 * np.sqrt(mean / n)
    return Limits(mean, np.maximum(0.0, mean - half), mean + half)


class GammaRate(NamedTuple):
    """What is known about a rate of events: Gamma(a, b). mean a/b and variance a/b^2, per unit of exposure."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Expected rate."""
        return self.a / self.b

    @property
    def variance(self) -> float:
        """Its variance."""
        return self.a / self.b**2

    def seen(self, events: float, exposure: float) -> "GammaRate":
        """What is known after ``events`` more in ``exposure`` more: Gamma(a + y, b + E). OutOfRange below 0.

        Source: conjugate prior of the Poisson rate, any text on Bayesian statistics.

        >>> GammaRate(20.0, 430000.0).seen(1, 10000.0).mean
        4.772727272727273e-05
        """
        return GammaRate(
            self.a + zero_or_more("events", events, ""), self.b + zero_or_more("exposure", exposure, "", "Enter hours or weeks.")
        )

    def expected(self, exposure: float) -> float:
        """Events expected in ``exposure``."""
        return self.mean * exposure


def rate_interval(events: int, exposure: float, p: float = 0.95) -> tuple[float, float]:
    """The range that holds the true rate with probability ``p`` at least, from ``events`` counted in ``exposure`` (> 0).

    Formula: chi2(alpha/2; 2k)/2E to chi2(1 - alpha/2; 2k + 2)/2E, exact. Source: F. Garwood, Biometrika 28 (1936) 437 (from memory).

    >>> low, high = rate_interval(10, 1.0)
    >>> round(low, 3), round(high, 3)
    (4.795, 18.39)
    """
    from scipy.special import gammaincinv

    above_zero("exposure", exposure, "")
    if events < 0 or events != int(events) or not 0 < p < 1:
        raise BadInput("events", events, "Count whole events, 0 or more.")
    tail = (1.0 - p) / 2.0
    low = float(gammaincinv(events, tail)) if events else 0.0
    return low / exposure, float(gammaincinv(events + 1, 1.0 - tail)) / exposure


def _counts(counts: ArrayLike) -> Array:
    c = np.asarray(counts, np.float64)
    if c.ndim != 1 or not len(c) or not np.all((c >= 0) & (c == np.floor(c)) & np.isfinite(c)):
        raise BadInput("counts", str(c.shape), "Give whole numbers, 0 or more.")
    return c
