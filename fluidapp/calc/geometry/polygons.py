"""Plane polygons cut into triangles, for drawing."""

import numpy as np

from fluidapp.calc.geometry.arrays import Array


def triangles_of(ring: Array) -> list[tuple[int, int, int]]:
    """Corner numbers of the triangles of a simple polygon, shape (k, 2), in its own sense of turning.

    Formula: fan where it is convex, else ears cut off one by one (from memory: Meisters 1975).

    >>> triangles_of(np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]))
    [(0, 1, 2), (0, 2, 3)]
    """
    after = np.roll(ring, -1, axis=0)
    sign = 1.0 if float(np.sum(ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1])) > 0.0 else -1.0
    left = list(range(len(ring)))
    turns = [sign * _turn(ring[i - 1], ring[i], ring[(i + 1) % len(ring)]) for i in left]
    size = float(np.max(np.abs(ring))) ** 2
    if min(turns) >= -1e-12 * size:
        return [(0, i, i + 1) for i in range(1, len(ring) - 1)]
    out = []
    while len(left) > 3:
        for j in range(len(left)):
            a, b, c = left[j - 1], left[j], left[(j + 1) % len(left)]
            if sign * _turn(ring[a], ring[b], ring[c]) > 1e-12 * size and not _holds_any(ring, (a, b, c), left, sign):
                break
        else:  # only corners on a line are left: cutting any of them loses nothing
            j = int(np.argmin([abs(_turn(ring[left[k - 1]], ring[left[k]], ring[left[(k + 1) % len(left)]])) for k in range(len(left))]))
            a, b, c = left[j - 1], left[j], left[(j + 1) % len(left)]
        out.append((a, b, c))
        del left[j]
    return [*out, (left[0], left[1], left[2])]


def _turn(a: Array, b: Array, c: Array) -> float:
    return float((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]))


def _holds_any(ring: Array, corners: tuple[int, int, int], left: list[int], sign: float) -> bool:
    points = ring[[i for i in left if i not in corners]]
    inside = np.ones(len(points), dtype=bool)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        p, q = ring[corners[i]], ring[corners[j]]
        inside &= sign * ((q[0] - p[0]) * (points[:, 1] - p[1]) - (q[1] - p[1]) * (points[:, 0] - p[0])) >= 0.0
    return bool(np.any(inside))
