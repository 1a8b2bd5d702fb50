"""Saybolt Universal seconds, in which older data sheets give viscosity."""

from typing import TYPE_CHECKING, Any

import numpy as np

from fluidapp.calc.oil.limits import plain, require, within

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatLike = float | NDArray[np.float64]


def saybolt_seconds(nu: "FloatLike", temp_f: "FloatLike" = 100.0) -> Any:
    """Saybolt Universal seconds of ``nu`` [mm2/s, 1.81 to 1e6] at ``temp_f`` [°F]; floats or arrays. OutOfRange otherwise.

    Formula: (1 + 0.000061 (t - 100)) (4.6324 nu + (1 + 0.03264 nu) / ((3930.2 + 262.7 nu + 23.97 nu2 + 1.646 nu3) 1e-5)).
    Source: ASTM D2161 (formula from memory; checked on its factors 4.632 at 100 °F and 4.664 at 210 °F, read in a trade copy, and
    within 2 % on a public library's coarse table).

    >>> round(saybolt_seconds(46.18))
    215
    """
    within("viscosity", nu, 1.81, 1e6, "mm2/s", "Saybolt Universal seconds begin at 32.")
    within("oil temperature", temp_f, -76.0, 752.0, "°F", "Read the temperature again, and check its unit.")
    nu = np.asarray(nu, dtype=np.float64)
    bend = (1 + 0.03264 * nu) / ((3930.2 + 262.7 * nu + 23.97 * nu**2 + 1.646 * nu**3) * 1e-5)
    return plain((1 + 0.000061 * (np.asarray(temp_f) - 100.0)) * (4.6324 * nu + bend))


def from_saybolt(seconds: "FloatLike", temp_f: "FloatLike" = 100.0) -> Any:
    """Viscosity [mm2/s] of ``seconds`` (SUS, 32.1 to 4e6) at ``temp_f`` [°F]; 100 °F is 37.8 °C, not 40 °C. Floats or arrays.

    OutOfRange otherwise. The inverse of :func:`saybolt_seconds` by Newton's steps, to 1e-9 of the value.

    >>> round(from_saybolt(215.0), 2)
    46.18
    """
    within("viscosity", seconds, 32.1, 4e6, "SUS", "Saybolt Universal seconds begin at 32.")
    wanted = np.asarray(seconds, dtype=np.float64)
    nu = np.maximum(wanted / 4.6324, 1.9)
    for _ in range(60):
        step = np.maximum(nu * 1e-6, 1e-9)
        slope = (saybolt_seconds(nu + step, temp_f) - saybolt_seconds(nu, temp_f)) / step
        new = np.clip(nu - (saybolt_seconds(nu, temp_f) - wanted) / slope, 1.81, 1e6 - 2.0)
        done = bool(np.all(np.abs(new - nu) <= 1e-9 * nu))
        nu = new
        if done:
            break
    require(
        "viscosity in SUS",
        wanted,
        np.abs(np.asarray(saybolt_seconds(nu, temp_f)) - wanted) <= 1e-6 * wanted,
        "Check seconds and temperature.",
    )
    return plain(nu)
