"""A section drawn out along a straight axis: boxes, lying and upright cylinders with flat ends, obrounds, drawn shapes."""

from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import Array, vector
from fluidapp.calc.geometry.polygons import triangles_of
from fluidapp.calc.geometry.sections import Section
from fluidapp.errors import BadInput

UPRIGHT = 1e-12


class Part(Protocol):
    """A body that can say how much of it lies below a plane. Lengths in dm, so volumes are litres."""

    @property
    def total(self) -> float:
        """Whole volume [L]."""

    def vol(self, c: Array, n: Array) -> tuple[Array, Array]:
        """Volume [L] below the plane n.x = c [dm] and free surface dV/dc [dm2]; c of shape S, n of shape (3,) or S + (3,)."""

    def crit(self, n: Array) -> Array:
        """Heights c [dm] at which the volume below is not smooth, lowest and highest point among them; n of shape (3,)."""

    def facets(self, points: int) -> Array:
        """Triangles (k, 3, 3) [dm] of its surface, facing outwards, for drawing."""


class Extrusion:
    """``section``, drawn in the axes u and v, drawn out by ``length`` along u x v from the point ``at``.

    section : `LineArc` or `Ellipse` [dm].
    length : above 0 [dm].
    at : point of the machine at which the section's origin lies [dm], shape (3,).
    u, v : directions of the section's axes in the machine, of length 1 and square to each other.
    Formula: a cut at the distance s along the axis is the section below d(s) = (c - n.at - s n.a)/q, q = |(n.u, n.v)|; so
    V = length * mean over d of the section's wetted area, dV/dc = length/q * mean width. Own arrangement: exact for every
    axis, level ones included, without a case of its own.
    """

    def __init__(self, section: Section, length: float, at: ArrayLike, u: ArrayLike, v: ArrayLike) -> None:
        if not length > 0.0:
            raise BadInput("length", length, "A length must be above 0.")
        self.section, self.length = section, float(length)
        self.at, self.u, self.v = vector(at), vector(u), vector(v)
        if abs(self.u @ self.v) > 1e-9 or abs(self.u @ self.u - 1.0) > 1e-9 or abs(self.v @ self.v - 1.0) > 1e-9:
            raise ValueError("u and v must be of length 1 and square to each other")
        self.a = np.cross(self.u, self.v)
        self.total = float(section.area * self.length)

    def vol(self, c: Array, n: Array) -> tuple[Array, Array]:
        """Volume [L] below n.x = c and free surface [dm2]; see `Part`."""
        nu, nv, na = n @ self.u, n @ self.v, n @ self.a
        height = c - n @ self.at
        q = np.hypot(nu, nv)
        upright = q < UPRIGHT
        if np.all(upright):
            return self._upright(height, na)
        safe = np.where(upright, 1.0, q)
        first, last = height / safe, (height - na * self.length) / safe
        area, width = self.section.means(
            np.where(upright, 1.0, nu / safe), nv / safe, np.minimum(first, last), np.maximum(first, last)
        )  # fmt: skip
        volume, surface = self.length * area, self.length / safe * width
        if not np.any(upright):
            return volume, surface
        upright_volume, upright_surface = self._upright(height, np.where(upright, na, 1.0))
        return np.where(upright, upright_volume, volume), np.where(upright, upright_surface, surface)

    def _upright(self, height: Array, na: Array) -> tuple[Array, Array]:
        along = height / na
        wet = np.minimum(np.maximum(along, 0.0), self.length)
        wet = np.where(na > 0.0, wet, self.length - wet)
        return self.section.area * wet, np.where((along > 0.0) & (along < self.length), self.section.area / np.abs(na), 0.0)

    def crit(self, n: Array) -> Array:
        """Heights [dm] of the corners and level tangents of both ends."""
        nu, nv = float(n @ self.u), float(n @ self.v)
        q = float(np.hypot(nu, nv))
        base = float(n @ self.at) + np.array([0.0, float(n @ self.a) * self.length])
        if q < UPRIGHT:
            return base
        return (base[:, None] + q * self.section.crit(nu / q, nv / q)).ravel()

    def facets(self, points: int) -> Array:
        """Triangles of the mantle and of both ends."""
        triangles = []
        for ring in self.section.rings(points):
            foot = self.at + ring[:, :1] * self.u + ring[:, 1:] * self.v
            head = foot + self.length * self.a
            after_foot, after_head = np.roll(foot, -1, axis=0), np.roll(head, -1, axis=0)
            triangles += [np.stack([foot, after_foot, after_head], axis=1), np.stack([foot, after_head, head], axis=1)]
            ends = np.array(triangles_of(ring))
            triangles += [foot[ends[:, ::-1]], head[ends]]
        return np.concatenate(triangles)
