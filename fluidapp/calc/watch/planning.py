"""When will a leak be visible: how far readings must reach, for how many of them."""

import functools
import math
from typing import Literal

import numpy as np

from fluidapp.calc.decision import CLAIM, SEEN
from fluidapp.calc.limits import above_zero
from fluidapp.errors import BadInput


def hours_until_visible(sigma_l: float, leak_l_h: float, readings: int = 2, spread: Literal["equal", "ends"] = "equal") -> float:
    """Hours of the watch's own clock until a leak of ``leak_l_h`` shows 95 % of the time.

    sigma_l : standard uncertainty of one reading [L], > 0. leak_l_h : L/h, > 0. readings : how many in all, >= 2.
    spread : "equal" steps over the whole time, or half of them at the start and half at the "ends" (an even number, each read afresh:
    wiped and read again). OutOfRange or BadInput otherwise.
    Formula: T = 3.29 sigma f / q; equal steps f = sqrt(12 (n - 1)/(n (n + 1))), at the ends f = 2/sqrt(n). The line's slope is claimed
    beyond 1.645 u, and missed in 5 % of cases. Straight-line least squares: any text; 3.29: see :func:`decision.smallest_seen`.

    0.72 m2 with 5 mm marks (sigma 1.039 L), 0.1 L/h: 2 readings 48.3 h, three at each end 27.9 h (computed by us)
    >>> round(hours_until_visible(1.0392, 0.1), 1), round(hours_until_visible(1.0392, 0.1, 6, "ends"), 1)
    (48.4, 27.9)
    """
    for name, value, unit in (("doubt of one reading", sigma_l, "L"), ("leak", leak_l_h, "L/h")):
        above_zero(name, value, unit)
    if readings < 2 or (spread == "ends" and readings % 2):
        raise BadInput("readings", readings, "A line needs two or more; at the ends, an even number.")
    n = readings
    wide = math.sqrt(12.0 * (n - 1) / (n * (n + 1))) if spread == "equal" else 2.0 / math.sqrt(n)
    return SEEN * sigma_l * wide / leak_l_h


@functools.cache
def needed(readings: int) -> float:
    """How many u(slope) a leak must be, to be claimed 95 % of the time from ``readings`` whose own scatter may widen the claim.

    3.29 for two; more for three and above, since sigma is the larger of the reading's doubt and of the residual scatter, which can only
    widen it. Solves mean of Phi(x - 1.645 max(1, s)) = 0.95 over s^2 ~ chi-square/(n - 2). Own rule.

    >>> needed(2), 3.29 < needed(20) < needed(3) < 4.5
    (3.29, True)
    """
    from scipy.special import chdtri, ndtr

    if readings <= 2:
        return SEEN
    share = (np.arange(2000) + 0.5) / 2000
    scatter = np.maximum(1.0, np.sqrt(chdtri(readings - 2, share) / (readings - 2)))
    low, high = SEEN, 20.0
    for _ in range(60):
        middle = (low + high) / 2
        if float(np.mean(ndtr(middle - CLAIM * scatter))) < 0.95:
            low = middle
        else:
            high = middle
    return (low + high) / 2
