"""Independent ways to a volume, for the tests: adaptive quadrature of wet rectangles, eight corners, random points."""

from itertools import pairwise

import numpy as np
from scipy.integrate import quad


def box_corners(size, n, c):
    """Part of the box 0..size below n.x = c, by inclusion and exclusion over its eight corners (no component of n may be 0)."""
    total = 0.0
    for corner in np.ndindex(2, 2, 2):
        point = np.array(corner) * size
        total += (-1) ** sum(corner) * max(c - n @ point, 0.0) ** 3
    return total / (6.0 * np.prod(n))


def wet_rectangle(width, length, a, b, k):
    """Area of the part of 0..width by 0..length with a x + b y < k."""
    if a < 0.0:
        a, k = -a, k - a * width
    if b < 0.0:
        b, k = -b, k - b * length
    if a * width + b * length < 1e-14:
        return width * length if k > 0.0 else 0.0
    if a * width < 1e-9 * b * length:
        return width * min(max((k - 0.5 * a * width) / b, 0.0), length)
    if b * length < 1e-9 * a * width:
        return length * min(max((k - 0.5 * b * length) / a, 0.0), width)
    ramp = [max(k - da - db, 0.0) ** 2 for da in (0.0, a * width) for db in (0.0, b * length)]
    return (ramp[0] - ramp[1] - ramp[2] + ramp[3]) / (2.0 * a * b)


def by_slices(left, right, low, high, length, normal, c):
    """Volume below the plane of the body left(v) <= u <= right(v), low <= v <= high, 0 <= s <= length; ``normal`` in (u, v, s)."""

    def slice_area(v):
        l, r = left(v), right(v)  # noqa: E741
        return wet_rectangle(r - l, length, normal[0], normal[2], c - normal[1] * v - normal[0] * l)

    panels = np.linspace(low, high, 129)  # else a narrow wet strip can slip between the first points
    found = [quad(slice_area, a, b, epsabs=1e-13, epsrel=1e-12, limit=500) for a, b in pairwise(panels)]
    return sum(f[0] for f in found), sum(f[1] for f in found)


def random_points(inside, low, high, n, c, count, seed):
    """Monte Carlo volume below the plane and its standard error; ``inside`` takes points (k, 3)."""
    rng = np.random.default_rng(seed)
    low, high = np.asarray(low, float), np.asarray(high, float)
    points = low + (high - low) * rng.random((count, 3))
    share = np.mean(inside(points) & (points @ n < c))
    box = float(np.prod(high - low))
    return share * box, box * np.sqrt(share * (1.0 - share) / count)


def disc_below(x):
    """Area of the unit disc below x, by its textbook formula."""
    x = min(max(x, -1.0), 1.0)
    return np.arccos(-x) + x * np.sqrt(1.0 - x * x)


def by_discs(radius, breaks, na, c):
    """Volume of a body of revolution about the axis s below na s + q y = c, y square to the axis; ``breaks`` split its profile."""
    q = np.sqrt(1.0 - na * na)

    def disc(s):
        r = radius(s)
        return r * r * disc_below((c - na * s) / (q * r)) if r > 0.0 else 0.0

    value = error = 0.0
    for low, high in pairwise(breaks):
        panels = low + (high - low) * np.sin(0.5 * np.pi * np.linspace(0.0, 1.0, 65)) ** 2
        for a, b in pairwise(panels):
            v, e = quad(disc, a, b, epsabs=1e-14, epsrel=1e-12, limit=200)
            value, error = value + v, error + e
    return value, error
