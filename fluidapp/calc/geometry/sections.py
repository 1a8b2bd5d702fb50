"""Plane sections of a tank: how much of one lies below a line, averaged over a range of lines.

A section lies in the plane of its own axes u and v. A direction e = (eu, ev), of length 1, says which way is up in that
plane; a cut at height d keeps the points with u eu + v ev < d. The one question asked is the mean over all cuts from
``low`` to ``high`` of the wetted area and of the width, because an extrusion along a sloping axis is just that
(`extrusion.py`). Means are formed edge by edge in closed form, so nothing cancels when the axis is nearly level.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from fluidapp.calc.geometry import disc
from fluidapp.calc.geometry.arrays import Array
from fluidapp.errors import BadInput


class Section(Protocol):
    """What an extrusion needs to know of its section; lengths in dm."""

    @property
    def area(self) -> float:
        """Whole area [dm2]."""

    def means(self, eu: Array, ev: Array, low: Array, high: Array) -> tuple[Array, Array]:
        """Mean wetted area [dm2] and mean width [dm] over the cuts from ``low`` to ``high`` [dm]; arrays broadcast."""

    def crit(self, eu: float, ev: float) -> Array:
        """Heights [dm] along (eu, ev) where the wetted area is not smooth."""

    def rings(self, points: int) -> list[Array]:
        """Closed outlines, each (k, 2), outer counter-clockwise and holes clockwise, with round parts in about ``points`` steps."""


@dataclass(frozen=True, slots=True)
class Line:
    """Straight edge from (u0, v0) to (u1, v1) [dm]."""

    u0: float
    v0: float
    u1: float
    v1: float

    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        return (self.u0, self.v0), (self.u1, self.v1)


@dataclass(frozen=True, slots=True)
class Arc:
    """Circular edge about (u, v) with radius r [dm], from the angle t0 to t1 [rad]; t1 < t0 runs clockwise."""

    u: float
    v: float
    r: float
    t0: float
    t1: float

    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        first, last = ((self.u + self.r * float(np.cos(t)), self.v + self.r * float(np.sin(t))) for t in (self.t0, self.t1))
        return first, last


Edge = Line | Arc


class LineArc:
    """Section bounded by closed loops of lines and circular arcs, by Green's theorem.

    loops : the first runs counter-clockwise round the section, further ones clockwise round holes [dm]. A loop given the
        other way round is turned.
    Errors: BadInput where a loop does not close, an arc has no radius or spans more than a turn, or nothing is enclosed.
    Formula: area below d = closed integral of x dy over the boundary below d, with y along e and x across it; its mean over
    a range of d is a polynomial for a line and `disc.means` for an arc. Green's theorem; the arrangement is our own.
    """

    def __init__(self, loops: list[list[Edge]]) -> None:
        if not loops or any(not loop for loop in loops):
            raise BadInput("section", "nothing", "Draw at least one closed outline.")
        self.loops = [_turned(_closed(loop), 1.0 if i == 0 else -1.0) for i, loop in enumerate(loops)]
        edges = [edge for loop in self.loops for edge in loop]
        corners = np.array([point for edge in edges for point in edge.ends()])
        self._centre = 0.5 * (corners.min(axis=0) + corners.max(axis=0))  # keeps rounding errors small, changes nothing else
        lines = [e for e in edges if isinstance(e, Line)]
        self._lines = np.array([(e.u0, e.v0, e.u1, e.v1) for e in lines]).reshape(-1, 4) - np.tile(self._centre, 2)
        quarters = [q for e in edges if isinstance(e, Arc) for q in _quarters(e)]
        arcs = np.array(quarters).reshape(-1, 6)
        arcs[:, :2] -= self._centre
        self._arcs = arcs
        self._ends = corners - self._centre
        self.area = float(sum(_loop_area(loop) for loop in self.loops))
        if not self.area > 0.0:
            raise BadInput("section", self.area, "The outline must enclose more than its holes.")

    def means(self, eu: Array, ev: Array, low: Array, high: Array) -> tuple[Array, Array]:
        """Mean wetted area [dm2] and width [dm] over the cuts ``low``..``high`` [dm]; see `Section`."""
        eu, ev, low, high = (np.asarray(a, dtype=np.float64) for a in (eu, ev, low, high))
        shift = eu * self._centre[0] + ev * self._centre[1]
        low, high = low - shift, high - shift
        dim = max(eu.ndim, low.ndim)
        area, width = np.zeros(np.broadcast_shapes(eu.shape, low.shape)), np.zeros(np.broadcast_shapes(eu.shape, low.shape))
        for part, columns in ((_line_means, self._lines), (_arc_means, self._arcs)):
            if len(columns):
                a, w = part([col.reshape((-1,) + (1,) * dim) for col in columns.T], eu, ev, low, high)
                area, width = area + a.sum(axis=0), width + w.sum(axis=0)
        return area, width

    def crit(self, eu: float, ev: float) -> Array:
        """Corner heights, and the heights where an arc runs level [dm]."""
        heights = [self._ends @ (eu, ev)]
        angle = np.arctan2(ev, eu)
        for u, v, r, t0, span, _ in self._arcs:
            for level, side in ((angle, 1.0), (angle + np.pi, -1.0)):
                if np.remainder(level - t0, 2.0 * np.pi) <= span:
                    heights.append(np.array([u * eu + v * ev + side * r]))
        return np.concatenate(heights) + float(eu * self._centre[0] + ev * self._centre[1])

    def rings(self, points: int) -> list[Array]:
        """Outlines for drawing; arcs in steps of a turn over ``points``."""
        return [np.concatenate([_drawn(edge, points) for edge in loop]) for loop in self.loops]


class Ellipse:
    """Elliptical section about (u0, v0) with half axes ``a`` along u and ``b`` along v [dm]; a circle where they are equal."""

    def __init__(self, a: float, b: float, u0: float = 0.0, v0: float = 0.0) -> None:
        if not (a > 0.0 and b > 0.0):
            raise BadInput("section", min(a, b), "Both axes must be longer than 0.")
        self.a, self.b, self.u0, self.v0 = a, b, u0, v0
        self.area = float(np.pi * a * b)

    def means(self, eu: Array, ev: Array, low: Array, high: Array) -> tuple[Array, Array]:
        """Mean wetted area [dm2] and width [dm] over the cuts ``low``..``high`` [dm]: `disc.means` of the stretched disc."""
        half = self.half_height(eu, ev)
        middle = self.u0 * eu + self.v0 * ev
        start, end, inside, above = disc.shares((low - middle) / half, (high - middle) / half, -1.0, 1.0)
        area, chord = disc.means(start, end)
        ab = self.a * self.b
        return ab * (inside * area + above * np.pi), ab / half * inside * chord

    def half_height(self, eu: Array, ev: Array) -> Array:
        """Half the height along (eu, ev) [dm]."""
        return np.hypot(self.a * eu, self.b * ev)

    def crit(self, eu: float, ev: float) -> Array:
        """Lowest and highest point [dm]."""
        half = float(np.hypot(self.a * eu, self.b * ev))
        return self.u0 * eu + self.v0 * ev + np.array([-half, half])

    def rings(self, points: int) -> list[Array]:
        """Outline for drawing."""
        t = 2.0 * np.pi * np.arange(points) / points
        return [np.column_stack([self.u0 + self.a * np.cos(t), self.v0 + self.b * np.sin(t)])]


def _line_means(columns: list[Array], eu: Array, ev: Array, low: Array, high: Array) -> tuple[Array, Array]:
    u0, v0, u1, v1 = columns
    x0, y0 = u0 * ev - v0 * eu, u0 * eu + v0 * ev
    x1, y1 = u1 * ev - v1 * eu, u1 * eu + v1 * ev
    rising = y1 >= y0
    sign = np.where(rising, 1.0, -1.0)
    xa, xb = np.where(rising, x0, x1), np.where(rising, x1, x0)
    ya, yb = np.minimum(y0, y1), np.maximum(y0, y1)
    start, end, inside, above = disc.shares(low, high, ya, yb)
    height = yb - ya
    flat = height == 0.0
    lean = np.where(flat, 0.0, (xb - xa) / np.where(flat, 1.0, height))
    s, e = start - ya, end - ya
    area = inside * (0.5 * xa * (s + e) + lean * (s * s + s * e + e * e) / 6.0) + above * (0.5 * height * (xa + xb))
    width = np.where(flat, 0.0, inside) * (xa + 0.5 * lean * (s + e))
    return sign * area, sign * width


def _arc_means(columns: list[Array], eu: Array, ev: Array, low: Array, high: Array) -> tuple[Array, Array]:
    u, v, r, t0, span, direction = columns
    x, y = u * ev - v * eu, u * eu + v * ev
    first = t0 - np.arctan2(ev, eu) + 0.5 * np.pi  # angle from "across", so that sin(first) is the height over r
    last = first + span
    turn = np.ceil(first / np.pi - 0.5)  # the first point at which the arc runs level is at (turn + 1/2) pi
    side = np.where(np.remainder(turn, 2.0) == 0.0, 1.0, -1.0)
    passes = last > (turn + 0.5) * np.pi
    h0, h2 = np.sin(first), np.sin(last)
    h1 = np.where(passes, side, h2)
    z0, z1 = (low - y) / r, (high - y) / r
    a1, w1 = _monotone(h0, h1, side, x / r, z0, z1)
    if not np.any(passes):
        return direction * r * r * a1, direction * r * w1
    a2, w2 = _monotone(h1, h2, -side, x / r, z0, z1)
    return direction * r * r * (a1 + a2), direction * r * (w1 + w2)


def _monotone(h0: Array, h1: Array, side: Array, x: Array, z0: Array, z1: Array) -> tuple[Array, Array]:
    """Share of an arc of the unit circle at (x, 0) that only rises (right, side 1) or only falls (left, side -1)."""
    bottom, top = np.minimum(h0, h1), np.maximum(h0, h1)
    start, end, inside, above = disc.shares(z0, z1, bottom, top)
    area, chord = disc.means(start, end)
    base = disc.segment(bottom)
    whole = side * x * (top - bottom) + 0.5 * (disc.segment(top) - base)
    part = side * x * (0.5 * (start + end) - bottom) + 0.5 * (area - base)
    return inside * part + above * whole, inside * (side * x + 0.5 * chord)


def _closed(loop: list[Edge]) -> list[Edge]:
    size = max(abs(value) for edge in loop for point in edge.ends() for value in point)
    for edge in loop:
        if isinstance(edge, Arc) and not (edge.r > 0.0 and 0.0 < abs(edge.t1 - edge.t0) <= 2.0 * np.pi * (1 + 1e-12)):
            raise BadInput("section", edge.r, "An arc needs a radius above 0 and at most one turn.")
    for edge, after in zip(loop, [*loop[1:], loop[0]], strict=True):
        (u0, v0), (u1, v1) = edge.ends()[1], after.ends()[0]
        gap = float(np.hypot(u1 - u0, v1 - v0))
        if not gap <= 1e-6 * size:
            raise BadInput("section", 100.0 * gap, "The outline has a gap of so many mm: each edge must start where the last one ended.")
    return loop


def _turned(loop: list[Edge], sign: float) -> list[Edge]:
    if _loop_area(loop) * sign >= 0.0:
        return loop
    return [
        Line(e.u1, e.v1, e.u0, e.v0) if isinstance(e, Line) else Arc(e.u, e.v, e.r, e.t1, e.t0)
        for e in reversed(loop)
    ]  # fmt: skip


def _loop_area(loop: list[Edge]) -> float:
    u, v = loop[0].ends()[0]
    total = 0.0
    for e in loop:
        if isinstance(e, Line):
            total += 0.5 * ((e.u0 - u) * (e.v1 - v) - (e.u1 - u) * (e.v0 - v))
        else:
            swept = e.t1 - e.t0
            total += 0.5 * e.r * e.r * swept
            total += 0.5 * e.r * ((e.u - u) * (np.sin(e.t1) - np.sin(e.t0)) - (e.v - v) * (np.cos(e.t1) - np.cos(e.t0)))
    return float(total)


def _quarters(arc: Arc) -> list[tuple[float, float, float, float, float, float]]:
    span, direction = abs(arc.t1 - arc.t0), 1.0 if arc.t1 > arc.t0 else -1.0
    count = max(1, int(np.ceil(span / (0.5 * np.pi) - 1e-9)))
    start = min(arc.t0, arc.t1)
    return [(arc.u, arc.v, arc.r, start + span * i / count, span / count, direction) for i in range(count)]


def _drawn(edge: Edge, points: int) -> Array:
    if isinstance(edge, Line):
        return np.array([[edge.u0, edge.v0]])
    steps = max(2, int(np.ceil(points * abs(edge.t1 - edge.t0) / (2.0 * np.pi))))
    t = edge.t0 + (edge.t1 - edge.t0) * np.arange(steps) / steps
    return np.column_stack([edge.u + edge.r * np.cos(t), edge.v + edge.r * np.sin(t)])
