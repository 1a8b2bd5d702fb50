"""When a difference is more than doubt: the same limits everywhere, and how standard uncertainties add up.

Common practice, no source, except where a docstring names one. The multiples are of the standard uncertainty u (1 sigma).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from fluidapp.errors import BadInput

CLAIM = 1.645  # one-sided, 5 % false alarms: beyond it a loss (or gain) of one compartment is claimed
BALANCED = 2.0  # a balance closes within it
SEEN = 3.29  # 5 % false alarms and 5 % misses: the smallest loss that is seen 95 % of the time

Alone = Literal["loss", "no clear change", "gain"]
Closing = Literal["balanced", "not clear", "does not close"]


def smallest_seen(u: float) -> float:
    """The smallest loss that two readings would have shown 95 % of the time, in the unit of ``u``.

    u : standard uncertainty of the difference, >= 0 and finite, else BadInput.
    Formula: 3.29 u, which is 1.645 u against false alarms and 1.645 u against misses.
    Source: the detection limit of L. A. Currie, Analytical Chemistry 40 (1968) 586 (from memory).

    >>> round(smallest_seen(1.0), 2)
    3.29
    """
    return SEEN * _doubt(u)


def alone(change: float, u: float) -> Alone:
    """Words for one compartment by itself: ``change`` > 0 is more than before, < 0 less, with standard uncertainty ``u``.

    A loss, or a gain, is claimed only beyond 1.645 u. Common practice, no source.

    >>> alone(-3.0, 2.0), alone(-4.0, 2.0)
    ('no clear change', 'loss')
    """
    limit = CLAIM * _doubt(u)
    if not math.isfinite(change):
        raise BadInput("change", change, "It must be a finite number.")
    return "loss" if change < -limit else "gain" if change > limit else "no clear change"


def closing(missing: float, u: float) -> Closing:
    """Words for a whole balance: ``missing`` > 0 is not accounted for, < 0 is found too much, with standard uncertainty ``u``.

    Balanced where the size of ``missing`` is at most 2 u, but a shortfall from 1.645 u to 2 u is "not clear"; beyond 2 u the
    balance does not close. Common practice, no source.

    >>> closing(3.0, 2.0), closing(3.6, 2.0), closing(4.2, 2.0), closing(-3.6, 2.0)
    ('balanced', 'not clear', 'does not close', 'balanced')
    """
    u = _doubt(u)
    if not math.isfinite(missing):
        raise BadInput("not accounted for", missing, "It must be a finite number.")
    if abs(missing) > BALANCED * u:
        return "does not close"
    return "not clear" if missing > CLAIM * u else "balanced"


def quadrature(parts: Iterable[tuple[float, float]]) -> tuple[float, float]:
    """Standard uncertainty and effective degrees of freedom of a sum of independent ``parts``, each (u, dof).

    u >= 0 in one unit, dof > 0 or infinite; BadInput otherwise. dof is infinite where every part's is.
    Formula: u^2 = sum u_i^2; nu = u^4 / sum(u_i^4 / nu_i).
    Source: JCGM 100:2008 (GUM), equations 10 and G.2b (from memory).

    >>> u, dof = quadrature([(3.0, 10.0), (4.0, float("inf"))])
    >>> u, round(dof, 1)
    (5.0, 77.2)
    """
    total, spread = 0.0, 0.0
    for u, dof in parts:
        if not dof > 0:
            raise BadInput("degrees of freedom", dof, "They must be above 0.")
        total += _doubt(u) ** 2
        spread += 0.0 if math.isinf(dof) else u**4 / dof
    return math.sqrt(total), total**2 / spread if spread > 0 else math.inf


@dataclass(frozen=True, slots=True)
class Mean:
    """A weighted mean with its standard uncertainty, the degrees of freedom of that, chi-square, and each weight's share of 1."""

    value: float
    u: float
    dof: float
    chi2: float
    shares: tuple[float, ...]


def weighted(parts: Iterable[tuple[float, float, float]]) -> Mean:
    """Mean of independent ``parts``, each (value, u, dof), weighted by 1/u^2; the u grows where they scatter more than that.

    u > 0 in the unit of the value, dof > 0 or infinite; BadInput otherwise and without a part. Where chi2/(n - 1) is above 1, u is
    multiplied by its root, and its degrees of freedom are n - 1, since the scatter sets it; else those of :func:`quadrature`.
    Source: weighted mean, JCGM 100:2008, 5.1.2; degrees of freedom, G.4 (both from memory); the growth: common practice, no source.

    Two that agree halve the variance; two that are 10 u apart have the u of their scatter and one degree of freedom:
    >>> mean = weighted([(9.0, 1.0, float("inf")), (9.0, 1.0, float("inf"))])
    >>> mean.value, round(mean.u, 4), mean.dof
    (9.0, 0.7071, inf)
    >>> mean = weighted([(0.0, 1.0, float("inf")), (10.0, 1.0, float("inf"))])
    >>> mean.value, round(mean.u, 4), mean.dof
    (5.0, 5.0, 1.0)
    """
    rows = list(parts)
    if not rows:
        raise BadInput("values", "none", "Give at least one.")
    if not all(_doubt(u) > 0 for _, u, _ in rows):
        raise BadInput("standard uncertainty", 0.0, "It must be above 0.")
    whole = sum(u**-2 for _, u, _ in rows)
    shares = tuple(u**-2 / whole for _, u, _ in rows)
    mean = sum(share * value for share, (value, _, _) in zip(shares, rows, strict=True))
    chi2 = sum(((value - mean) / u) ** 2 for value, u, _ in rows)
    u, dof = quadrature((share * u, dof) for share, (_, u, dof) in zip(shares, rows, strict=True))
    if chi2 > len(rows) - 1 > 0:
        u, dof = u * math.sqrt(chi2 / (len(rows) - 1)), float(len(rows) - 1)
    return Mean(mean, u, dof, chi2, shares)


def _doubt(u: float) -> float:
    if not (u >= 0 and math.isfinite(u)):
        raise BadInput("standard uncertainty", u, "It must be a finite number, 0 or above.")
    return u
