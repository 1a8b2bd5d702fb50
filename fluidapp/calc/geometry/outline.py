"""Pictures as data: the cut of a part through an upright plane."""

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import Array, vector
from fluidapp.calc.geometry.extrusion import Part
from fluidapp.errors import BadInput

MOST_POINTS = 200


def outline(part: Part, point: ArrayLike, across: ArrayLike, n: ArrayLike) -> list[Array]:
    """Outlines of the cut of ``part`` with the upright plane through ``point`` along ``across``.

    point : a point of the plane, such as the foot of the gauge [dm], shape (3,).
    across : direction that points right in the picture, shape (3,); only its level share counts.
    n : unit vector up (`up`), shape (3,).
    Returns: closed polylines, each (k, 2) in mm, together at most 200 points: (100 across.x, 100 n.x), so the plane n.x = c is the
        horizontal line at 100 c. Empty where the plane misses the part. For drawing only: round parts are faceted (96 to a turn).
    Errors: BadInput where ``across`` points straight up.
    """
    up_, origin = vector(n), vector(point)
    level = vector(across) - (vector(across) @ up_) * up_
    size = float(np.sqrt(level @ level))
    if not size > 1e-9:
        raise BadInput("direction of the cut", str(vector(across).tolist()), "Choose a direction that is not upright.")
    right = level / size
    normal = np.cross(right, up_)
    triangles = part.facets(96)
    distance = (triangles - origin) @ normal
    distance = np.where(np.abs(distance) < 1e-12 * np.abs(triangles).max(), 1e-12 * np.abs(triangles).max(), distance)
    mixed = np.flatnonzero((distance.min(axis=1) < 0.0) & (distance.max(axis=1) > 0.0))
    leaving: dict[tuple[float, ...], tuple[tuple[float, ...], Array, Array]] = {}
    for i in mixed:
        ends: dict[bool, tuple[tuple[float, ...], Array]] = {}
        for j in range(3):
            k = (j + 1) % 3
            d0, d1 = distance[i, j], distance[i, k]
            if (d0 < 0.0) == (d1 < 0.0):
                continue
            p, q = triangles[i, j], triangles[i, k]
            if tuple(p) > tuple(q):  # the same corner order on both sides of an edge gives the same point
                p, q, d0, d1 = q, p, d1, d0
            crossing = p + (q - p) * (d0 / (d0 - d1))
            ends[bool(distance[i, j] < 0.0)] = (tuple(np.round(crossing, 9)), crossing)
        (start_key, start), (end_key, end) = ends[True], ends[False]
        if start_key != end_key:
            leaving[start_key] = (end_key, start, end)
    loops = []
    while leaving:
        first, (key, start, _) = leaving.popitem()
        loop = [start]
        while key != first and key in leaving:
            key, start, _ = leaving.pop(key)
            loop.append(start)
        loops.append(100.0 * np.array([(p @ right, p @ up_) for p in loop]))
    return _thinned([loop for loop in map(_simplified, loops) if len(loop) > 2])


def _simplified(loop: Array) -> Array:
    """Without the points that lie on the line between their neighbours (facet joints on a flat side)."""
    before, after = np.roll(loop, 1, axis=0) - loop, np.roll(loop, -1, axis=0) - loop
    turn = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    reach = np.hypot(*before.T) * np.hypot(*after.T)
    corners: Array = loop[turn > 1e-7 * np.maximum(reach, 1e-12)]
    return corners


def _thinned(loops: list[Array]) -> list[Array]:
    points = sum(len(loop) for loop in loops)
    if points <= MOST_POINTS:
        return loops
    step = int(np.ceil(points / (MOST_POINTS - 2 * len(loops))))
    return [loop[::step] for loop in loops]
