"""One level curve: millimetres to litres, and back along the very same curve.

A curve is a row of cubic cells over a parameter t. Between two edges the level runs either evenly in t (measured tables)
or eased at both ends, level = edge + width sin^2(pi t/2) (solids: it removes the square roots at tangent levels).
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from math import asin, sin, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc.geometry.arrays import Array, FloatLike, in_blocks
from fluidapp.errors import OutOfRange

Outside = Literal["raise", "nan"]
HALF_PI = 0.5 * np.pi
STILL = 4e-16  # a root that moves less has been found


class Curve:
    """Volume against level for one tank at one slope, or of one measured table. Built by `Tank.curve` and `strapping`.

    low_mm, high_mm : the levels between which it can be read [mm].
    capacity_l : volume at ``high_mm`` [L]; ``least_l`` is the volume at ``low_mm`` (0 for a solid tank).
    bottom_c_dm : plane constant of the level 0 [dm]; None for a measured table, which stands in no machine.
    """

    def __init__(
        self,
        edges_mm: Array,
        volume_l: Sequence[Array],
        slopes_l: Sequence[Array],
        end_areas_dm2: Array,
        bottom_c_dm: float | None,
        ease: bool,
    ) -> None:
        """``volume_l`` and ``slopes_l`` = dV/dt: one array a segment, at its evenly spaced t; ``end_areas_dm2`` (segments, 2)."""
        cells = [len(v) - 1 for v in volume_l]
        v0, v1 = np.concatenate([v[:-1] for v in volume_l]), np.concatenate([v[1:] for v in volume_l])
        m0 = np.concatenate([m[:-1] / k for m, k in zip(slopes_l, cells, strict=True)])
        m1 = np.concatenate([m[1:] / k for m, k in zip(slopes_l, cells, strict=True)])
        rise = v1 - v0
        m0, m1 = np.minimum(m0, 3.0 * rise), np.minimum(m1, 3.0 * rise)  # keeps every cell from turning back
        self._coef = np.stack([v0, m0, 3.0 * rise - 2.0 * m0 - m1, m0 + m1 - 2.0 * rise])
        self._knots = np.append(v0, v1[-1])
        self._edges, self._ease, self._end_areas = edges_mm, ease, end_areas_dm2
        self._cells, self._starts = np.array(cells), np.cumsum([0, *cells[:-1]])
        self._rows, self._plain = np.ascontiguousarray(self._coef.T), (edges_mm.tolist(), cells, self._starts.tolist())
        self.low_mm, self.high_mm = float(edges_mm[0]), float(edges_mm[-1])
        self.least_l, self.capacity_l = float(v0[0]), float(v1[-1])
        self.bottom_c_dm = bottom_c_dm

    @classmethod
    def even(cls, levels_mm: Array, volume_l: Array, slopes_l_mm: Array) -> "Curve":
        """From a measured table and its slopes dV/dlevel [L/mm], all of shape (points,)."""
        width = np.diff(levels_mm)
        pairs = np.stack([slopes_l_mm[:-1], slopes_l_mm[1:]], axis=1)
        volume = np.stack([volume_l[:-1], volume_l[1:]], axis=1)
        return cls(levels_mm, list(volume), list(pairs * width[:, None]), 100.0 * pairs, None, False)

    def volume_l(self, level_mm: FloatLike, *, outside: Outside = "raise") -> FloatLike:
        """Volume [L] at a level [mm], float or array.

        Errors: OutOfRange where a level lies outside ``low_mm``..``high_mm`` or is not a number; with outside="nan" such
        levels give nan instead.
        """
        if isinstance(level_mm, (float, int)):
            if self.low_mm <= level_mm <= self.high_mm:
                return self._one_volume(float(level_mm))
            self._refuse_level(float(level_mm), outside)
            return float("nan")
        level, bad = self._checked(level_mm, self.low_mm, self.high_mm, outside, self._refuse_level)
        (volume,) = in_blocks(self._volumes, level.ravel(), 1)
        return _shaped(volume, level.shape, bad)

    def area_dm2(self, level_mm: FloatLike, *, outside: Outside = "raise") -> FloatLike:
        """Free surface dV/dlevel [dm2] at a level [mm]; a litre more raises the level by 100 mm over this figure. Errors as
        `volume_l`. Where the surface jumps (a level floor or shelf) the value above it is given, at the brim the one below."""
        level, bad = self._checked(level_mm, self.low_mm, self.high_mm, outside, self._refuse_level)
        (area,) = in_blocks(self._areas, level.ravel(), 1)
        return _shaped(area, level.shape, bad)

    def level_mm(self, volume_l: FloatLike, *, outside: Outside = "raise") -> FloatLike:
        """Level [mm] at which the tank holds a volume [L], float or array: `volume_l` solved, not a second curve.

        Errors: OutOfRange where the volume lies outside ``least_l``..``capacity_l`` or is not a number; with outside="nan"
        such volumes give nan instead. Where a range of levels holds the same volume one of them is given.
        """
        if isinstance(volume_l, (float, int)):
            if self.least_l <= volume_l <= self.capacity_l:
                return self._one_level(float(volume_l))
            self._refuse_volume(float(volume_l), outside)
            return float("nan")
        volume, bad = self._checked(volume_l, self.least_l, self.capacity_l, outside, self._refuse_volume)
        (level,) = in_blocks(self._levels, volume.ravel(), 1)
        return _shaped(level, volume.shape, bad)

    def _volumes(self, level: Array) -> tuple[Array]:
        cell, u, _, _ = self._locate(level)
        c0, c1, c2, c3 = self._coef
        volume = c0[cell] + u * (c1[cell] + u * (c2[cell] + u * c3[cell]))
        return (np.where(level >= self.high_mm, self.capacity_l, volume),)

    def _areas(self, level: Array) -> tuple[Array]:
        cell, u, t, segment = self._locate(level)
        _, c1, c2, c3 = self._coef
        rate = (c1[cell] + u * (2.0 * c2[cell] + u * (3.0 * c3[cell]))) * self._cells[segment]
        width = np.diff(self._edges)[segment]
        at_foot, at_head = t <= 0.0, t >= 1.0
        speed = width * (HALF_PI * np.sin(np.pi * t)) if self._ease else width
        speed = np.where(at_foot | at_head, 1.0, speed)
        ends = self._end_areas[segment]
        return (np.where(at_foot, ends[:, 0], np.where(at_head, ends[:, 1], 100.0 * rate / speed)),)

    def _locate(self, level: Array) -> tuple[NDArray[np.intp], Array, Array, NDArray[np.intp]]:
        edges = self._edges
        last = len(edges) - 2
        if last:
            segment = np.minimum(np.searchsorted(edges, level, side="right") - 1, last)
            foot = edges[segment]
            t = (level - foot) / (edges[segment + 1] - foot)
        else:
            segment = np.zeros(level.shape, dtype=np.intp)
            t = (level - edges[0]) / (edges[1] - edges[0])
        if self._ease:
            t = np.arcsin(np.sqrt(t)) * (1.0 / HALF_PI)
        cells = self._cells[segment] if last else self._cells[0]
        u = t * cells
        cell = np.minimum(u.astype(np.intp), cells - 1)
        return cell + self._starts[segment] if last else cell, u - cell, t, segment

    def _one_volume(self, level: float) -> float:
        if level >= self.high_mm:
            return self.capacity_l
        edges, cells, starts = self._plain
        segment = min(bisect_right(edges, level), len(edges) - 1) - 1
        t = (level - edges[segment]) / (edges[segment + 1] - edges[segment])
        u = (asin(sqrt(t)) / HALF_PI if self._ease else t) * cells[segment]
        cell = min(int(u), cells[segment] - 1)
        u -= cell
        c0, c1, c2, c3 = self._rows[starts[segment] + cell].tolist()
        return float(c0 + u * (c1 + u * (c2 + u * c3)))

    def _one_level(self, volume: float) -> float:
        if volume >= self.capacity_l:
            return self.high_mm
        if volume <= self.least_l:
            return self.low_mm
        cell = min(max(int(self._knots.searchsorted(volume, side="right")) - 1, 0), len(self._rows) - 1)
        c0, c1, c2, c3 = self._rows[cell].tolist()
        low, high = 0.0, 1.0
        rise = c1 + c2 + c3
        u = min(max((volume - c0) / rise, 0.0), 1.0) if rise > 0.0 else 0.0
        for _ in range(100):
            value, slope = c0 - volume + u * (c1 + u * (c2 + u * c3)), c1 + u * (2.0 * c2 + u * 3.0 * c3)
            low, high = (u, high) if value <= 0.0 else (low, u)
            new = u - value / slope if slope > 0.0 else -1.0
            if not low <= new <= high:
                new = 0.5 * (low + high)
            if abs(new - u) <= 1e-15 + 4e-16 * u:
                break
            u = new
        edges, cells, starts = self._plain
        segment = bisect_right(starts, cell) - 1
        t = (cell - starts[segment] + u) / cells[segment]
        foot, head = edges[segment], edges[segment + 1]
        return float(foot + (head - foot) * (sin(HALF_PI * t) ** 2 if self._ease else t))

    def _levels(self, volume: Array) -> tuple[Array]:
        cell = np.clip(np.searchsorted(self._knots, volume, side="right") - 1, 0, len(self._knots) - 2)
        c0, c1, c2, c3 = (row[cell] for row in self._coef)
        u = _root(c0 - volume, c1, c2, c3)
        segment = np.searchsorted(self._starts, cell, side="right") - 1
        t = (cell - self._starts[segment] + u) / self._cells[segment]
        share = np.sin(HALF_PI * t) ** 2 if self._ease else t
        foot, head = self._edges[segment], self._edges[segment + 1]
        level = np.minimum(foot + (head - foot) * share, head)
        level = np.where(volume <= self.least_l, self.low_mm, level)
        return (np.where(volume >= self.capacity_l, self.high_mm, level),)

    def _checked(
        self, value: FloatLike, low: float, high: float, outside: Outside, refuse: Callable[[float, Outside], None]
    ) -> tuple[Array, NDArray[np.bool_] | None]:
        values = np.asarray(value, dtype=np.float64)
        good = (low <= values) & (values <= high)  # false for nan as well
        if np.all(good):
            return values, None
        refuse(float(values[~good].ravel()[0]), outside)
        return np.where(good, values, low), ~good

    def _refuse_level(self, level: float, outside: Outside) -> None:
        if outside != "nan":
            raise OutOfRange("level", level, self.low_mm, self.high_mm, "mm", "Read again, or check the height of the tank.")

    def _refuse_volume(self, volume: float, outside: Outside) -> None:
        if outside != "nan":
            raise OutOfRange("volume", volume, self.least_l, self.capacity_l, "L", "Check the amount, or the size of the tank.")


def _root(d: Array, c1: Array, c2: Array, c3: Array) -> Array:
    """The u in 0..1 with d + u(c1 + u(c2 + u c3)) = 0, the cubic rising from d <= 0.

    Most cells are nearly straight: three plain Newton steps from the chord do. What then still moves, in the cells at the ends of
    a segment, is bracketed.
    """
    rise = c1 + c2 + c3
    u = np.clip(-d / np.where(rise > 0.0, rise, 1.0), 0.0, 1.0)
    b2, b3 = 2.0 * c2, 3.0 * c3
    moved = u
    for _ in range(3):
        slope = c1 + u * (b2 + u * b3)
        moved = (d + u * (c1 + u * (c2 + u * c3))) / np.where(slope > 0.0, slope, 1e-300)
        u = np.minimum(np.maximum(u - moved, 0.0), 1.0)
    rest = np.flatnonzero(~(np.abs(moved) <= STILL))
    if rest.size:
        u[rest] = _bracketed(d[rest], c1[rest], c2[rest], c3[rest])
    return u


def _bracketed(d: Array, c1: Array, c2: Array, c3: Array) -> Array:
    """The same by Newton steps kept inside a shrinking bracket."""
    low, high = np.zeros_like(d), np.ones_like(d)
    u = np.full_like(d, 0.5)
    for _ in range(100):
        value = d + u * (c1 + u * (c2 + u * c3))
        slope = c1 + u * (2.0 * c2 + u * 3.0 * c3)
        low, high = np.where(value <= 0.0, u, low), np.where(value >= 0.0, u, high)
        new = u - value / np.where(slope > 0.0, slope, 1e-300)
        new = np.where((slope > 0.0) & (new >= low) & (new <= high), new, 0.5 * (low + high))
        still = np.abs(new - u) <= STILL
        u = new
        if np.all(still):
            break
    return u


def _shaped(values: Array, shape: tuple[int, ...], bad: NDArray[np.bool_] | None) -> FloatLike:
    out = values.reshape(shape)
    if bad is not None:
        out = np.where(bad, np.nan, out)
    return float(out) if shape == () else out
