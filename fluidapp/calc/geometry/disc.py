"""The unit disc cut by a line: area below the line, and means of area and chord over a range of lines.

Everything round comes down to these functions. They work with the half angle of the cut, theta = acos(-x), so
that nothing cancels near the bottom; the means are closed forms that stay exact when the range shrinks to a point.
"""

import numpy as np

from fluidapp.calc.geometry.arrays import Array, FloatLike

SMALL = 0.15  # below it the brackets of `means` are taken from their series: both ways then agree to 1e-15


def half_angle(x: Array) -> Array:
    """Half the angle that the cut at height ``x`` (-1..1) spans, seen from the centre: 0 at the bottom, pi at the top."""
    return 2.0 * np.arcsin(np.sqrt(np.maximum(0.5 * (1.0 + x), 0.0)))


def area_of_angle(theta: Array) -> Array:
    """theta - sin(theta) cos(theta), without the cancellation at small angles. Own formula (series of 2 theta)."""
    t = 2.0 * theta
    t2 = t * t
    series = t * t2 / 12.0 * (1.0 - t2 / 20.0 * (1.0 - t2 / 42.0 * (1.0 - t2 / 72.0 * (1.0 - t2 / 110.0))))
    return np.where(t < 0.3, series, 0.5 * (t - np.sin(t)))


def segment(x: FloatLike) -> FloatLike:
    """Area of the unit disc below the height ``x`` above its centre [square of the radius].

    x : height over radius, float or array; below -1 gives 0, above 1 gives pi.
    Formula: A = acos(-x) + x sqrt(1 - x^2), written with the half angle of the cut. Source: circle segment, any handbook of
    mathematics; checked against Machinery's Handbook 31, p. 50 (radius 12, height 2: 18.01).

    >>> round(float(144 * segment(-10 / 12)), 2)
    18.01
    """
    return area_of_angle(half_angle(np.clip(np.asarray(x, dtype=np.float64), -1.0, 1.0)))


def means(x0: Array, x1: Array) -> tuple[Array, Array]:
    """Mean segment area and mean chord of the unit disc for all cuts from ``x0`` up to ``x1`` (both -1..1, x0 <= x1).

    Own formula. With theta the mean and delta half the difference of the two half angles, x1 - x0 = 2 sin(theta) sin(delta);
    the difference of the antiderivatives divided by it gives
    area  = theta - sin theta cos theta + (4/3) sin theta cos theta sin^2 delta + cot theta (1 - delta cot delta - sin^2(delta)/3)
    chord = 2 sin theta cos delta + (delta/sin delta - cos delta)/sin theta.
    The two brackets are O(delta^4) and O(delta^2); below 0.15 they are taken from their series.
    """
    low, high = half_angle(x0), half_angle(x1)
    theta, delta = 0.5 * (low + high), 0.5 * (high - low)
    sin_t, cos_t = np.sin(theta), np.cos(theta)
    sin_d, cos_d = np.sin(delta), np.cos(delta)
    d2 = delta * delta
    small = delta < SMALL
    safe_d = np.where(small, 1.0, sin_d)
    area_bracket = np.where(
        small,
        d2 * d2 * (2.0 / 15.0 - d2 * (4.0 / 315.0 - d2 * (2.0 / 1575.0 - d2 * (4.0 / 155925.0)))),
        1.0 - delta * cos_d / safe_d - sin_d * sin_d / 3.0,
    )
    chord_bracket = np.where(
        small,
        d2 * (2.0 / 3.0 - d2 * (1.0 / 45.0 - d2 * (13.0 / 3780.0 + d2 * (1.0 / 5400.0 + d2 * (647.0 / 29937600.0))))),
        delta / safe_d - cos_d,
    )
    at_end = sin_t < 1e-150
    safe_t = np.where(at_end, 1.0, sin_t)
    area = area_of_angle(theta) + 4.0 / 3.0 * sin_t * cos_t * sin_d * sin_d + cos_t / safe_t * area_bracket
    chord = 2.0 * sin_t * cos_d + chord_bracket / safe_t
    return area, np.where(at_end, 0.0, chord)


def shares(low: Array, high: Array, bottom: FloatLike, top: FloatLike) -> tuple[Array, Array, Array, Array]:
    """How a range of cuts ``low``..``high`` falls on ``bottom``..``top``: its ends clipped, its share within, its share above."""
    width = high - low
    wide = width > 0.0
    safe = np.where(wide, width, 1.0)
    start, end = np.minimum(np.maximum(low, bottom), top), np.minimum(np.maximum(high, bottom), top)
    # Differences of neighbours only, so that a share is exactly 0 or 1 unless the range straddles an end.
    above = np.where(wide, np.maximum(high - np.maximum(low, top), 0.0) / safe, low >= top)
    inside = np.where(
        wide, np.maximum(np.minimum(high, top) - np.maximum(low, bottom), 0.0) / safe, (low > bottom) & (low < top)
    )  # fmt: skip
    return start, end, inside, above
