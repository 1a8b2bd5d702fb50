"""Viscosity and temperature: the straight line of log log viscosity over log temperature."""

from typing import TYPE_CHECKING, Any

import numpy as np

from fluidapp.calc.oil.limits import plain, require, within

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatLike = float | NDArray[np.float64]

CONSTANT = 0.7  # mm2/s, added to every viscosity; textbook slopes of 0.8 are another convention
KELVIN = 273.15
LEAST = 0.3  # mm2/s; at or below it the double logarithm does not exist
THIN = 2.0  # mm2/s; below it the short form leaves the long one
FAR_K = 20.0  # K outside the two points; beyond it the answer is marked (own limit)
_CONVERT = "Enter mm2/s (the same number as cSt), above 0.3; Saybolt seconds need converting first."


def transform(nu: "FloatLike", const: float = CONSTANT) -> Any:
    """W = log10(log10(nu + const)): what is straight over log temperature, and what adds up in a blend.

    nu : kinematic viscosity [mm2/s], above 0.3, float or array. const : 0.7 of the standard, 0.8 of older textbooks.
    Returns float or array. BadInput for a viscosity at or below 0.3, NaN or infinite.
    Source: ASTM D341, short form (constant 0.7); the long form differs by 0.0016 at 2 mm2/s and 5e-7 at 5 (computed by us).
    """
    nu = np.asarray(nu, dtype=np.float64)
    require("viscosity", nu, (nu > LEAST) & np.isfinite(nu), _CONVERT)
    return plain(np.log10(np.log10(nu + const)))


def back(w: "FloatLike", const: float = CONSTANT) -> Any:
    """Viscosity [mm2/s] of ``w`` = log10(log10(nu + const)); the inverse of :func:`transform`.

    OutOfRange for a w below that of 0.3 mm2/s (which is -inf) or above 2.4 (1e250 mm2/s): no oil flows there.
    """
    within("log log viscosity", w, -300.0, 2.4, "", "The oil does not flow there; check temperature and viscosities.")
    return plain(np.power(10.0, np.power(10.0, w)) - const)


def walther(
    nu1: "FloatLike", t1_c: "FloatLike", nu2: "FloatLike", t2_c: "FloatLike", *, const: float = CONSTANT, kelvin: float = KELVIN
) -> tuple[Any, Any]:
    """Intercept A and slope B of an oil's line, from its viscosity at two temperatures.

    nu1, nu2 : kinematic viscosity [mm2/s], above 0.3, at t1_c and t2_c [°C, -60 to 400], floats or arrays of one shape.
    const, kelvin : only for checks against sources that use other ones.
    Returns (A, B). BadInput for equal temperatures, for a viscosity that is not higher at the lower temperature (often two
    figures swapped), or one at or below 0.3; OutOfRange for a temperature.
    Formula: log10 log10(nu + 0.7) = A - B log10(t + 273.15).
    Source: ASTM D341 (ISO 3448 and JIS K 2283 use the same form). Later edition's range: 0.21 to 2e7 mm2/s (second-hand).
    Not below the pour point or wax point, and not for grease (from memory).

    An article on D341 prints 132.126 at 60 °C for 404 at 40 and 28 at 100 °C:
    >>> round(viscosity_at(*walther(404.0, 40.0, 28.0, 100.0), 60.0), 2)
    132.13
    """
    w1, w2 = transform(nu1, const), transform(nu2, const)
    log1, log2 = _log_t(t1_c, kelvin), _log_t(t2_c, kelvin)
    require("temperature", t2_c, log1 != log2, "The two viscosities need two different temperatures.")
    slope = np.asarray((w1 - w2) / (log2 - log1))
    require("viscosity", np.where(log1 < log2, nu2, nu1), slope > 0, "Oil gets thinner with heat: check whether two figures are swapped.")
    return plain(w1 + slope * log1), plain(slope)


def viscosity_at(A: "FloatLike", B: "FloatLike", temp_c: "FloatLike", *, const: float = CONSTANT, kelvin: float = KELVIN) -> Any:
    """Kinematic viscosity [mm2/s] at ``temp_c`` [°C, -60 to 400] of an oil with intercept A and slope B of :func:`walther`.

    Floats or arrays. OutOfRange for an impossible temperature, or where the line gives no flow at all.
    Formula: nu = 10^(10^(A - B log10 T)) - 0.7. Source and range: :func:`walther`. Show three figures at most: 60 °C between 30
    and 100 °C was met within 0.5 to 2.2 %, once 8 %, on measured oils (Tribology Handbook, computed by us).

    A worked example (second-hand, with 273 K) prints 8.5 at 80 °C for 32 at 40 and 5.4 at 100 °C:
    >>> round(viscosity_at(*walther(32.0, 40.0, 5.4, 100.0), 80.0), 1)
    8.5
    """
    return back(np.asarray(A) - np.asarray(B) * _log_t(temp_c, kelvin), const)


def temperature_for(A: "FloatLike", B: "FloatLike", nu: "FloatLike", *, const: float = CONSTANT, kelvin: float = KELVIN) -> Any:
    """Temperature [°C] at which the oil of (A, B) has the viscosity ``nu`` [mm2/s, above 0.3]; floats or arrays.

    Formula: T = 10^((A - W) / B). BadInput for a viscosity at or below 0.3 or a slope that is not above 0.
    Source and range: :func:`walther`.

    VG 46 (46 and 6.65) comes down to 16 mm2/s at 67.2 °C (computed by us):
    >>> round(temperature_for(*walther(46.0, 40.0, 6.65, 100.0), 16.0), 1)
    67.2
    """
    slope = np.asarray(B, dtype=np.float64)
    require("slope", slope, (slope > 0) & np.isfinite(slope), "Take it from two viscosities of the oil.")
    power = (np.asarray(A) - transform(nu, const)) / slope
    within("log temperature", power, -300.0, 300.0, "", "Check the viscosities of the oil.")
    return plain(np.power(10.0, power) - kelvin)


def viscosity_remarks(nu: float, temp_c: float | None = None, known_c: tuple[float, ...] = ()) -> tuple[str, ...]:
    """The lines for an answer that leaves what the formula is published or meant for; empty where it does not.

    nu : viscosity found [mm2/s]. temp_c : the temperature it was found for [°C]. known_c : temperatures of the viscosities it
    was found from [°C]. Limits: below 2 and above 2e7 mm2/s, more than 20 K outside the known temperatures (own limit).
    """
    found = []
    if nu < THIN:
        found.append(f"{nu:.2g} mm2/s is thinner than 2: the short viscosity formula is off by a little there.")
    if nu > 2e7:
        found.append(f"{nu:.2g} mm2/s lies above the formula's published range (to 2e7): the oil hardly flows.")
    if temp_c is not None and known_c:
        outside = max(min(known_c) - temp_c, temp_c - max(known_c), 0.0)
        if outside > FAR_K:
            known = " and ".join(f"{t:g}" for t in sorted(known_c))
            found.append(f"{temp_c:g} °C lies {outside:.0f} °C outside the known {known} °C: the viscosity there is extrapolated.")
    return tuple(found)


def _log_t(temp_c: "FloatLike", kelvin: float) -> Any:
    within("oil temperature", temp_c, -60.0, 400.0, "°C", "Read the temperature again, and check its unit.")
    return np.log10(np.asarray(temp_c, dtype=np.float64) + kelvin)
