"""A tank: a signed sum of exact parts, and its level curve for one slope."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from fluidapp.calc.geometry.air import pockets
from fluidapp.calc.geometry.arrays import BLOCK, Array, FloatLike, vector
from fluidapp.calc.geometry.curve import Curve
from fluidapp.calc.geometry.extrusion import Part
from fluidapp.calc.geometry.orientation import up
from fluidapp.errors import BadInput

CELLS, FEWEST_CELLS, LOWEST_CELLS = 768, 256, 2048  # of a curve, between two critical heights; see _cells


class Tank:
    """A signed sum of parts: +1 what holds oil, -1 what stands in its way.

    parts : pairs (sign, part), sign +1 or -1, lengths in dm. A part taken away must lie inside what is added, and two taken
        away must not overlap.
    scale : every volume times this, > 0: a shape drawn a little too small or too large, corrected by measured pours.
    Errors: BadInput where no volume is left.
    """

    def __init__(self, parts: Sequence[tuple[int, Part]], scale: float = 1.0) -> None:
        if not parts or any(sign not in (1, -1) for sign, _ in parts):
            raise ValueError("a tank is a list of (+1 or -1, part)")
        if not scale > 0.0:
            raise BadInput("scale of the tank", scale, "It must be above 0.")
        self.parts, self.scale = tuple(parts), float(scale)
        self.capacity_l = self.scale * float(sum(sign * part.total for sign, part in self.parts))
        if not self.capacity_l > 0.0:
            raise BadInput("tank", self.capacity_l, "What stands inside the tank takes all its room: check the sizes.")

    def vol(self, c_dm: FloatLike, n: Array) -> tuple[FloatLike, FloatLike]:
        """Volume below a plane, and the free surface in it.

        c_dm : the plane is n.x = c_dm [dm], float or array of shape S.
        n : unit vector up (`up`), shape (3,), or (..., 3) broadcasting against S: each reading may have its own slope.
        Returns: (volume [L], free surface dV/dc [dm2]), floats where both are single, else arrays of the broadcast shape.
            Below the tank it is exactly 0, above it the capacity: the plane decides, nothing is read here.
        Errors: BadInput where c_dm or n is not a number or n has not the length 1.
        """
        c, up_ = np.asarray(c_dm, dtype=np.float64), vector(n)
        if not np.all(np.isfinite(c)):
            raise BadInput("level", float(c[~np.isfinite(c)].ravel()[0]), "The level must be a number.")
        if not np.all(np.abs(np.sum(up_ * up_, axis=-1) - 1.0) < 1e-9):
            raise BadInput("slope", str(up_.tolist())[:80], "The direction up must have the length 1.")
        shape = np.broadcast_shapes(c.shape, up_.shape[:-1])
        flat_c = np.broadcast_to(c, shape).reshape(-1)
        flat_n = up_ if up_.ndim == 1 else np.broadcast_to(up_, (*shape, 3)).reshape(-1, 3)
        volume, surface = np.empty(flat_c.size), np.empty(flat_c.size)
        for start in range(0, flat_c.size, BLOCK):
            part = slice(start, start + BLOCK)
            volume[part], surface[part] = self._block(flat_c[part], flat_n if up_.ndim == 1 else flat_n[part])
        if shape == ():
            return float(volume[0]), float(surface[0])
        return volume.reshape(shape), surface.reshape(shape)

    def _block(self, c: Array, n: Array) -> tuple[Array, Array]:
        volume, surface = np.zeros(c.size), np.zeros(c.size)
        for sign, part in self.parts:
            v, a = part.vol(c, n)
            volume += sign * v
            surface += sign * a
        return np.minimum(np.maximum(self.scale * volume, 0.0), self.capacity_l), np.maximum(self.scale * surface, 0.0)

    def crit(self, n: Array) -> Array:
        """Heights c [dm], rising, at which the volume below is not smooth; n of shape (3,). The first and the last are the
        lowest and the highest point of the inside."""
        up_ = vector(n)
        heights: Array = np.sort(np.concatenate([part.crit(up_) for _, part in self.parts]))
        lowest, span = heights[0], heights[-1] - heights[0]
        heights = np.append(heights[:-1][np.diff(heights) > 1e-9 * span], heights[-1])
        heights[0] = lowest
        if all(sign > 0 for sign, _ in self.parts):
            return heights
        # What is taken away may cut off the bottom or the top, or jut out: the inside begins where volume begins.
        volume, _ = self._block(heights, up_)
        tiny = 1e-13 * self.capacity_l
        first = np.flatnonzero(volume <= tiny)[-1]
        last = np.flatnonzero(volume >= self.capacity_l - tiny)[0]
        return heights[first : last + 1]

    def span(self, n: Array) -> tuple[float, float]:
        """Lowest and highest height c [dm] of the inside; n of shape (3,)."""
        heights = self.crit(n)
        return float(heights[0]), float(heights[-1])

    def air_pockets(self, n: Array) -> Array:
        """Places under the roof, shape (k, 3) [dm], where air would stay at this slope while the oil rises past them: there the
        volumes of this tank are too large. Empty for convex tanks. The vent is taken to be at the highest point; what stands
        inside is not looked at. n : unit vector up, shape (3,)."""
        return np.concatenate([pockets(part, vector(n)) for sign, part in self.parts if sign > 0])

    def curve(self, pitch_deg: float = 0.0, roll_deg: float = 0.0, swing_deg: float = 0.0) -> Curve:
        """Level curve at one slope, kept for the next call (`up` says what the angles mean).

        Levels are heights above the lowest point of the inside at that slope [mm]; ``bottom_c_dm`` of the curve is that
        point's plane constant, so a plane c stands at the level 100 (c - bottom_c_dm).
        Accuracy: 1e-9 relative between 0.8 % and 99.2 % of the depth, 1e-10 of the capacity everywhere (tests); for a few
        readings `vol` is exact and quicker. Errors: BadInput where what stands inside takes more room than there is.
        """
        return _curve(self, tuple(float(x) for x in up(pitch_deg, roll_deg, swing_deg)))

    def curve_at(self, n: Array) -> Curve:
        """Level curve where ``n`` (shape (3,)) is up; see `curve`."""
        return _curve(self, tuple(float(x) for x in vector(n)))


def _cells(edges: Array) -> list[int]:
    """Cells of each segment: few where it is narrow, many near the bottom, where volumes are small and must be good in proportion."""
    depth = edges[-1] - edges[0]
    share, start = np.diff(edges) / depth, (edges[:-1] - edges[0]) / depth
    most = np.where(start < 0.05, LOWEST_CELLS * np.minimum(2.0 * np.sqrt(share), 1.0), CELLS * np.sqrt(share))
    return [int(k) for k in np.maximum(np.ceil(most), FEWEST_CELLS)]


@lru_cache(maxsize=128)
def _curve(tank: Tank, n: tuple[float, ...]) -> Curve:
    up_ = np.array(n)
    edges = tank.crit(up_)
    nudge = 1e-13 * (edges[-1] - edges[0])
    heights, speeds = [], []
    for low, high, cells in zip(edges[:-1], edges[1:], _cells(edges), strict=True):
        t = np.arange(cells + 1) / cells
        height = low + (high - low) * np.sin(0.5 * np.pi * t) ** 2
        height[0], height[-1] = low + nudge, high - nudge
        heights.append(height)
        speeds.append((high - low) * 0.5 * np.pi * np.sin(np.pi * t))
    volume, area = (np.asarray(x) for x in tank.vol(np.concatenate(heights), up_))
    falling = np.diff(volume) < -1e-9 * tank.capacity_l
    if np.any(falling):
        at = 100.0 * float(np.concatenate(heights)[np.argmax(falling)] - edges[0])
        raise BadInput("tank", at, "At this height (mm above its lowest point) what stands inside takes more room than there is.")
    ends = np.cumsum([len(h) for h in heights])[:-1]
    volumes, areas = np.split(volume, ends), np.split(area, ends)
    volumes[0][0], volumes[-1][-1] = 0.0, tank.capacity_l
    slopes = [a * speed for a, speed in zip(areas, speeds, strict=True)]
    end_areas = np.array([(a[0], a[-1]) for a in areas])
    return Curve(100.0 * (edges - edges[0]), volumes, slopes, end_areas, float(edges[0]), ease=True)
