"""Two helpers of the oil formulas: refuse by name, and single numbers stay floats."""

from typing import Any

import numpy as np

from fluidapp.errors import BadInput, OutOfRange


def within(field: str, values: Any, low: float, high: float, unit: str, fix: str) -> None:
    """OutOfRange with the first of ``values`` that is not within ``low`` to ``high``; NaN is not within either."""
    every = np.asarray(values, dtype=np.float64)
    good = (low <= every) & (every <= high)
    if not np.all(good):
        raise OutOfRange(field, float(every[~good].ravel()[0]), low, high, unit, fix)


def require(field: str, values: Any, good: Any, fix: str) -> None:
    """BadInput with the first of ``values`` for which ``good`` is not true."""
    every, fine = np.broadcast_arrays(np.asarray(values, dtype=np.float64), np.asarray(good))
    if not np.all(fine):
        raise BadInput(field, float(every[~fine].ravel()[0]), fix)


def plain(result: Any) -> Any:
    """A float for a result without shape, else the array as it is."""
    return float(result) if np.ndim(result) == 0 else result
