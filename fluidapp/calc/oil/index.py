"""Viscosity index: how little an oil thins with heat."""

from typing import TYPE_CHECKING, Any

import numpy as np

from fluidapp.calc.oil.limits import plain, require
from fluidapp.calc.oil.viscosity import LEAST

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatLike = float | NDArray[np.float64]

LEAST_100 = 2.0  # mm2/s at 100 °C; below it the index is not defined
# from nu100 [mm2/s] on: L = a Y^2 + b Y + c, H = d Y^2 + e Y + f; the last row includes 70 (coefficients from memory)
ROWS = (
    (2.0, 1.14673, 1.7576, -0.109, 0.84155, 1.5521, -0.077),
    (3.8, 3.38095, -15.4952, 33.196, 0.78571, 1.7929, -0.183),
    (4.4, 2.50000, -7.2143, 13.812, 0.82143, 1.5679, 0.119),
    (5.0, 0.10100, 16.6350, -45.469, 0.04985, 9.1613, -18.557),
    (6.4, 3.35714, -23.5643, 78.466, 0.22619, 7.7369, -16.656),
    (7.0, 0.01191, 21.4750, -72.870, 0.79762, -0.7321, 14.610),
    (7.7, 0.41858, 16.1558, -56.040, 0.05794, 10.5156, -28.240),
    (9.0, 0.88779, 7.5527, -16.600, 0.26665, 6.7015, -10.810),
    (12.0, 0.76720, 10.7972, -38.180, 0.20073, 8.4658, -22.490),
    (15.0, 0.97305, 5.3135, -2.200, 0.28889, 5.9741, -4.930),
    (18.0, 0.97256, 5.2500, -0.980, 0.24504, 7.4160, -16.730),
    (22.0, 0.91413, 7.4759, -21.820, 0.20323, 9.1267, -34.230),
    (28.0, 0.87031, 9.7157, -50.770, 0.18411, 10.1015, -46.750),
    (40.0, 0.84703, 12.6752, -133.310, 0.17029, 11.4866, -80.620),
    (55.0, 0.85921, 11.1009, -83.190, 0.17130, 11.3680, -76.940),
    (np.nextafter(70.0, 71.0), 0.8353, 14.67, -216.0, 0.1684, 11.85, -97.0),  # above 70 (second-hand)
)
_ROWS = np.array(ROWS)


def index_limits(nu100: "FloatLike") -> tuple[Any, Any]:
    """L and H [mm2/s]: viscosity at 40 °C of the oils of index 0 and 100 that have ``nu100`` at 100 °C.

    nu100 : kinematic viscosity at 100 °C [mm2/s], 2 or more, float or array. BadInput below 2, where the index is not defined.
    Formula: piecewise quadratics in nu100. Source: ASTM D2270 / ISO 2909; coefficients from memory, each checked on all rows
    of the standard's table as a public library holds it (worst 0.1 %).

    The standard's example (second-hand) prints L 119.94 and H 69.48 for 8.86:
    >>> [round(x, 2) for x in index_limits(8.86)]
    [119.96, 69.48]
    """
    y = np.asarray(nu100, dtype=np.float64)
    require("viscosity at 100 °C", y, (y >= LEAST_100) & np.isfinite(y), "The viscosity index is defined from 2 mm2/s upwards only.")
    row = _ROWS[np.searchsorted(_ROWS[:, 0], y, side="right") - 1]
    a, b, c, d, e, f = (row[..., i] for i in range(1, 7))
    return plain((a * y + b) * y + c), plain((d * y + e) * y + f)


def viscosity_index(nu40: "FloatLike", nu100: "FloatLike") -> Any:
    """Viscosity index of an oil with ``nu40`` at 40 °C and ``nu100`` at 100 °C [mm2/s]; print it as a whole number.

    Floats or arrays of one shape. BadInput for nu100 below 2, and for nu40 not above nu100 (often swapped). Not clipped: poor
    oils fall below 0, and some synthetic ones pass 400.
    Formula: U >= H: VI = 100 (L - U)/(L - H); U < H: N = (log H - log U)/log Y, VI = (10^N - 1)/0.00715 + 100, with U = nu40,
    Y = nu100 and L, H of :func:`index_limits`. Source: ASTM D2270 / ISO 2909 (second-hand). Within 0.3 of the
    standard's table from index 0 to 300, and 0.2 % more outside.

    The standard's examples (second-hand) print 92 for 73.30 and 8.86, 111 for 53.47 and 7.80:
    >>> round(viscosity_index(73.30, 8.86)), round(viscosity_index(53.47, 7.80))
    (92, 111)
    """
    u, y = np.asarray(nu40, dtype=np.float64), np.asarray(nu100, dtype=np.float64)
    low, high = index_limits(y)
    require("viscosity at 40 °C", u, (u > LEAST) & np.isfinite(u), "Enter mm2/s (the same number as cSt).")
    require("viscosity at 40 °C", u, u > y, "It must be above that at 100 °C: check whether the two are swapped.")
    below = 100.0 * (low - u) / (low - high)
    power = np.log(np.maximum(high / u, 1.0)) / np.log(y)
    above = (np.power(10.0, power) - 1.0) / 0.00715 + 100.0
    return plain(np.where(u >= high, below, above))
