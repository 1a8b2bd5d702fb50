"""Bodies bounded by flat faces: hoppers, sloped floors, anything drawn in triangles."""

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import Array
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


def prismatoid(lower: ArrayLike, upper: ArrayLike) -> Mesh:
    """Body between two polygons of equally many corners, joined corner to corner; hoppers and boxes with a sloped floor.

    lower, upper : corners, shape (k, 3) [dm], counter-clockwise seen from above, the lower one below the upper one. Each must be
    flat and convex.

    A floor that rises 1 dm over 6 dm takes half its wedge out of a 6 x 5 x 4 dm box:
    >>> floor = [(0, 0, 0), (6, 0, 1), (6, 5, 1), (0, 5, 0)]
    >>> round(prismatoid(floor, [(0, 0, 4), (6, 0, 4), (6, 5, 4), (0, 5, 4)]).total, 9)
    105.0
    """
    foot, head = np.asarray(lower, dtype=np.float64), np.asarray(upper, dtype=np.float64)
    if foot.shape != head.shape or foot.ndim != 2 or foot.shape[1] != 3 or len(foot) < 3:
        raise BadInput("corners", f"{len(foot)} and {len(head)}", "Both polygons need the same number of corners, at least three.")
    count = len(foot)
    triangles = []
    for i in range(count):
        j = (i + 1) % count
        triangles += [(foot[i], foot[j], head[j]), (foot[i], head[j], head[i])]
    for i in range(1, count - 1):
        triangles += [(foot[0], foot[i + 1], foot[i]), (head[0], head[i], head[i + 1])]
    return Mesh(np.array(triangles))


def hopper(length: float, width: float, floor_length: float, floor_width: float, height: float, at: ArrayLike = ORIGIN) -> Mesh:
    """Pyramid frustum: a rectangular mouth of ``length`` x ``width`` over a floor, centred, ``height`` apart [dm]; ``at`` is the
    low corner of the box round it.

    Machinery's Handbook 31, p. 89: 2 x 3 to 1 x 1.5, 4.5 high, holds 15.75.
    >>> round(hopper(2, 3, 1, 1.5, 4.5).total, 9)
    15.75
    """
    corner = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    mouth = np.column_stack([corner * (length, width), np.full(4, height)])
    inset = 0.5 * np.array([length - floor_length, width - floor_width])
    floor = np.column_stack([inset + corner * (floor_length, floor_width), np.zeros(4)])
    place = np.asarray(at, dtype=np.float64)
    return prismatoid(floor + place, mouth + place)


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
