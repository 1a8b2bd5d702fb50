"""Settings of the running sum, chosen by simulation: tests/benchmarks/tune_running_sum.py makes the figures, a test holds them."""

import numpy as np

from fluidapp.calc.consumption.series import Array

WINDOW = 25  # intervals after which the baseline stays as it is
GROWTH = (12, 6)  # tried as baselines of what follows while there are fewer than the window, and at last AT_LEAST
AT_LEAST = 3  # intervals without which nothing is judged
ALLOWANCE = 0.5  # of the usual rate: halfway to a doubling
DOUBT = 2.3  # and never less than so many u of the usual rate
CAP = 0.7  # of the limit: the most that one interval adds
LEVELS = 4.5  # of sqrt(2) u of one level
LUMPS = 12.0  # of phi


def limit_l(u_level_l: Array, phi_l: Array) -> Array:
    """Litres above which the running sum raises an alarm.

    u_level_l : standard uncertainty of one level [L], > 0. phi_l : variance over mean of what is used [L].
    Formula: the larger of 4.5 sqrt(2) u and 5 phi. Own rule, tuned by simulation.

    >>> round(float(limit_l(np.array(0.8), np.array(0.25))), 2)
    5.09
    """
    found: Array = np.maximum(LEVELS * np.sqrt(2.0) * u_level_l, LUMPS * phi_l)
    return found
