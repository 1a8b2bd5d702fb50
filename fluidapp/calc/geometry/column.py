"""What stands in a tank and is known only by its volume and height range: filters, coolers, pipes."""

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import Array, vector
from fluidapp.calc.geometry.shapes import upright_cylinder
from fluidapp.errors import BadInput


class Column:
    """A thin upright body of ``volume_l`` between the heights ``bottom`` and ``top`` [dm] at the place ``at`` = (x, y) [dm].

    Formula: V = volume * clip((c - b)/(t - b), 0, 1) with b and t the heights of its ends along n; dV/dc = volume/(t - b).
    Own formula, exact for an infinitely thin body; on a slope a wide one errs by how far its parts lie from ``at``.
    Range: slopes on which it still stands; lying down (90 deg) it is all at one height.
    Errors: BadInput where the volume or the height is not above 0.
    """

    def __init__(self, volume_l: float, bottom: float, top: float, at: ArrayLike = (0.0, 0.0)) -> None:
        if not volume_l > 0.0:
            raise BadInput("volume", volume_l, "The volume must be above 0 L.")
        if not top > bottom:
            raise BadInput("top", 100.0 * top, f"The top must be above the bottom, {100.0 * bottom:g} mm.")
        x, y = np.asarray(at, dtype=np.float64).tolist()
        self.total = float(volume_l)
        self.foot, self.head = vector((x, y, bottom)), vector((x, y, top))

    def vol(self, c: Array, n: Array) -> tuple[Array, Array]:
        """Volume [L] below n.x = c and share of the free surface that it takes [dm2]; see `Part`."""
        first, last = n @ self.foot, n @ self.head
        low, high = np.minimum(first, last), np.maximum(first, last)
        rise = high - low
        thin = rise <= 0.0
        safe = np.where(thin, 1.0, rise)
        share = np.where(thin, c >= low, np.clip((c - low) / safe, 0.0, 1.0))
        return self.total * share, np.where(~thin & (c > low) & (c < high), self.total / safe, 0.0)

    def crit(self, n: Array) -> Array:
        """Heights [dm] of both ends."""
        return np.array([float(n @ self.foot), float(n @ self.head)])

    def facets(self, points: int) -> Array:
        """A round bar of that volume."""
        height = float(self.head[2] - self.foot[2])
        return upright_cylinder(2.0 * float(np.sqrt(self.total / (np.pi * height))), height, self.foot).facets(points)
