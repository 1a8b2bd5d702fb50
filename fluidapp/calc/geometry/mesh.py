"""Bodies bounded by flat faces: hoppers, sloped floors, anything drawn in triangles."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import Array, vector
from fluidapp.calc.geometry.polygons import triangles_of
from fluidapp.calc.geometry.shapes import ORIGIN
from fluidapp.errors import BadInput

BLOCK = 65536  # triangles times planes worked on at a time


class Mesh:
    """Closed body of ``triangles``, shape (k, 3, 3) [dm], facing outwards (counter-clockwise seen from outside).

    Errors: BadInput where an edge has no partner (a gap, or a face turned round) or nothing is enclosed.
    Formula: the divergence theorem. A triangle of corner heights h0 <= h1 <= h2 and area S projected along n gives
    V = -sum S E, dV/dc = -sum S E' with, below h1, E = (c-h0)^3/(3 (h1-h0)(h2-h0)), above it
    E = c - mean + (h2-c)^3/(3 (h2-h0)(h2-h1)). Own arrangement; exact.
    """

    def __init__(self, triangles: ArrayLike) -> None:
        corners = np.asarray(triangles, dtype=np.float64)
        if corners.ndim != 3 or corners.shape[1:] != (3, 3) or len(corners) < 4 or not np.all(np.isfinite(corners)):
            raise BadInput("faces", str(corners.shape), "A body needs at least four triangles of three points with three numbers.")
        _check_closed(corners)
        self._middle = corners.reshape(-1, 3).mean(axis=0)  # keeps rounding errors small, changes nothing else
        self._corners = corners - self._middle
        first, second, third = (self._corners[:, i] for i in range(3))
        self._areas = 0.5 * np.cross(second - first, third - first)
        self.total = float(np.sum(np.einsum("ij,ij->i", first, np.cross(second, third))) / 6.0)
        if not self.total > 0.0:
            raise BadInput("faces", self.total, "The faces must look outwards and enclose something.")

    def vol(self, c: Array, n: Array) -> tuple[Array, Array]:
        """Volume [L] below n.x = c and free surface [dm2]; see `Part`."""
        height, normals = np.asarray(c - n @ self._middle, dtype=np.float64), np.asarray(n)
        flat = np.broadcast_to(normals, (*height.shape, 3)).reshape(-1, 3)
        level = height.reshape(-1)
        volume, surface = np.empty(level.size), np.empty(level.size)
        step = max(1, BLOCK // len(self._corners))
        for start in range(0, level.size, step):
            part = slice(start, start + step)
            volume[part], surface[part] = self._below(level[part], flat[part] if normals.ndim > 1 else normals[None, :])
        return volume.reshape(height.shape), surface.reshape(height.shape)

    def _below(self, c: Array, n: Array) -> tuple[Array, Array]:
        heights = np.sort(np.einsum("tkx,px->tpk", self._corners, n), axis=2)
        share = self._areas @ n.T
        h0, h1, h2 = heights[..., 0], heights[..., 1], heights[..., 2]
        span, first, last = h2 - h0, h1 - h0, h2 - h1
        low = c <= h1
        up, down = np.maximum(c - h0, 0.0), np.maximum(h2 - c, 0.0)
        with np.errstate(divide="ignore", invalid="ignore"):  # 0/0 where a face is level: its branch is then not taken, or is 0
            lower, upper = up * up / (first * span), down * down / (last * span)
        lower, upper = np.where(up > 0.0, lower, 0.0), np.where(down > 0.0, upper, 0.0)
        mean = heights.mean(axis=2)
        integral = np.where(low, lower * up / 3.0, c - mean + upper * down / 3.0)
        covered = np.where(low, lower, 1.0 - upper)
        return -np.sum(share * integral, axis=0), -np.sum(share * covered, axis=0)

    def crit(self, n: Array) -> Array:
        """Heights [dm] of all corners."""
        return np.unique((self._corners + self._middle).reshape(-1, 3) @ n)

    def facets(self, points: int) -> Array:
        """Its triangles."""
        whole: Array = self._corners + self._middle
        return whole


def prismatoid(*levels: ArrayLike) -> Mesh:
    """Body between polygons of equally many corners, joined corner to corner; hoppers and boxes with a sloped floor.

    levels : two or more, from below upwards, each the corners of a flat and convex polygon, shape (k, 3) [dm], counter-clockwise seen
        from above. A polygon may shrink to a line or a point, and touch the next one.

    A floor that rises 1 dm over 6 dm takes half its wedge out of a 6 x 5 x 4 dm box:
    >>> floor = [(0, 0, 0), (6, 0, 1), (6, 5, 1), (0, 5, 0)]
    >>> round(prismatoid(floor, [(0, 0, 4), (6, 0, 4), (6, 5, 4), (0, 5, 4)]).total, 9)
    105.0
    """
    rings = [np.asarray(level, dtype=np.float64) for level in levels]
    count = len(rings[0])
    if len(rings) < 2 or any(ring.shape != (count, 3) for ring in rings) or count < 3:
        corners = " and ".join(str(len(ring)) for ring in rings)
        raise BadInput("corners", corners, "All polygons, at least two, need the same number of corners, at least three.")
    triangles = []
    for foot, head in pairwise(rings):
        for i in range(count):
            j = (i + 1) % count
            triangles += [(foot[i], foot[j], head[j]), (foot[i], head[j], head[i])]
    first, last = rings[0], rings[-1]
    for i in range(1, count - 1):
        triangles += [(first[0], first[i + 1], first[i]), (last[0], last[i], last[i + 1])]
    return Mesh(np.array(triangles))


def hopper(
    length: float, width: float, floor_length: float, floor_width: float, height: float, at: ArrayLike = ORIGIN, walls: float = 0.0
) -> Mesh:
    """Pyramid frustum: a rectangular mouth of ``length`` x ``width`` and a floor, one over the middle of the other, ``height`` apart,
    with upright walls of height ``walls`` on top [dm]; ``at`` is the low corner of the box round it. The floor may be a line or a point.

    Machinery's Handbook 31, p. 89: 2 x 3 to 1 x 1.5, 4.5 high, holds 15.75.
    >>> round(hopper(2, 3, 1, 1.5, 4.5).total, 9)
    15.75
    """
    middle = 0.5 * np.array([max(length, floor_length), max(width, floor_width)]) + vector(at)[:2]
    low = float(vector(at)[2])
    mouth, floor = (length, width), (floor_length, floor_width)
    levels = [_rectangle(floor, middle, low), _rectangle(mouth, middle, low + height)]
    return prismatoid(*levels, *([_rectangle(mouth, middle, low + height + walls)] if walls else []))


def _rectangle(size: tuple[float, float], middle: Array, height: float) -> Array:
    corners = middle + 0.5 * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]) * size
    return np.column_stack([corners, np.full(4, height)])


def sloped_box(length: float, width: float, height: float, rise_x: float, rise_y: float, at: ArrayLike = ORIGIN) -> Mesh:
    """Box with a flat floor that rises by ``rise_x`` over its length and ``rise_y`` over its width, either sign; ``height`` is that
    from the floor's lowest point to the roof [dm]; ``at`` is the low corner of the box round it.

    >>> round(sloped_box(6, 5, 4, 1, 0).total, 9)
    105.0
    """
    if abs(rise_x) + abs(rise_y) > height * (1 + 1e-12):
        raise BadInput("rise of the floor", 100.0 * (abs(rise_x) + abs(rise_y)), f"It must be within the height, {100.0 * height:g} mm.")
    middle = 0.5 * np.array([length, width]) + vector(at)[:2]
    low = float(vector(at)[2])
    floor, roof = (_rectangle((length, width), middle, low + up) for up in (0.0, height))
    share = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    rise = share @ (rise_x, rise_y)
    floor[:, 2] = np.minimum(floor[:, 2] + rise - rise.min(), roof[:, 2])
    return prismatoid(floor, roof)


def polyhedron(corners: ArrayLike, faces: Sequence[Sequence[int]]) -> Mesh:
    """Body of flat faces with any number of corners, convex or not.

    corners : shape (k, 3) [dm]. faces : for each the numbers of its corners, from 0, counter-clockwise seen from outside.
    """
    points = np.asarray(corners, dtype=np.float64)
    triangles = []
    for face in faces:
        ring = points[list(face)]
        normal = np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0)  # Newell: of twice the face's area
        drop = int(np.argmax(np.abs(normal)))
        triangles += [ring[list(three)] for three in triangles_of(np.delete(ring, drop, axis=1))]
    return Mesh(np.array(triangles))


def _check_closed(corners: Array) -> None:
    size = float(np.max(np.abs(corners))) or 1.0
    keys = [[tuple(p) for p in triangle] for triangle in np.round(corners / size, 9).tolist()]
    edges: dict[tuple[object, object], int] = {}
    for triangle in keys:
        for i in range(3):
            edge = (triangle[i], triangle[(i + 1) % 3])
            edges[edge] = edges.get(edge, 0) + 1
    for (a, b), count in edges.items():
        if edges.get((b, a), 0) != count:
            place = ", ".join(f"{100.0 * size * float(v):g}" for v in a)  # type: ignore[attr-defined]
            raise BadInput("faces", f"edge at ({place}) mm", "The faces leave a gap there, or one of them is turned round.")
