"""Tanks known by measurement: a strapping table, or one figure of litres per millimetre."""

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.curve import Curve
from fluidapp.errors import BadInput


def strapping(level_mm: ArrayLike, volume_l: ArrayLike) -> Curve:
    """Level curve through a measured table.

    level_mm : levels [mm], at least two, each above the one before.
    volume_l : volumes at those levels [L], 0 or more, none below the one before.
    Returns: `Curve`; outside the table it refuses, it never runs on beyond the last mark.
    Errors: BadInput that names the first point out of order, or a value that is not a number.
    Formula: monotone piecewise cubic (PCHIP slopes). Source: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984), as in
    scipy.interpolate.PchipInterpolator. A table belongs to the slope at which it was made.
    Range: worst error of a lying cylinder in % of capacity, equal steps: 6 marks 0.98, 11 0.33, 21 0.11, 41 0.040 (own figures).

    >>> round(strapping([0, 50, 100, 150, 200, 250], [0, 11, 26, 44, 63, 80]).volume_l(75.0), 3)
    18.041
    """
    from scipy.interpolate import PchipInterpolator

    level, volume = np.asarray(level_mm, dtype=np.float64), np.asarray(volume_l, dtype=np.float64)
    if level.ndim != 1 or level.shape != volume.shape or level.size < 2:
        raise BadInput("table", f"{level.size} levels, {volume.size} volumes", "A table needs as many volumes as levels, at least two.")
    for field, values in (("table level", level), ("table volume", volume)):
        if not np.all(np.isfinite(values)):
            raise BadInput(field, float(values[~np.isfinite(values)][0]), "Every level and volume must be a number.")
    if not volume[0] >= 0.0:
        raise BadInput("table volume", float(volume[0]), "A volume cannot be below 0.")
    for i in range(1, level.size):
        if not level[i] > level[i - 1]:
            raise BadInput("table level", float(level[i]), f"It must be above the level before it, {level[i - 1]:g} mm.")
        if not volume[i] >= volume[i - 1]:
            raise BadInput("table volume", float(volume[i]), f"At {level[i]:g} mm there cannot be less than below it, {volume[i - 1]:g} L.")
    if not volume[-1] > volume[0]:
        raise BadInput("table volume", float(volume[-1]), "The table must rise somewhere.")
    slopes = np.asarray(PchipInterpolator(level, volume).derivative()(level), dtype=np.float64)
    return Curve.even(level, volume, np.maximum(slopes, 0.0))
