"""Bodies of revolution: tank ends of every kind, frustums, spheres."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import Array, FloatLike, vector
from fluidapp.errors import BadInput

UPRIGHT = 1e-9
BLOCK = 2048
POINTS = 32
_x, _w = np.polynomial.legendre.leggauss(POINTS)
_t = 0.5 * (_x + 1.0)
EASE = np.sin(0.5 * np.pi * _t) ** 2  # s = low + (high - low) EASE takes the square roots out of both ends of an interval
WEIGHT = 0.25 * np.pi * np.sin(np.pi * _t) * _w


@dataclass(frozen=True, slots=True)
class Cone:
    """Piece of a profile: radius from r0 at s0 straight to r1 at s1 > s0 [dm]."""

    s0: float
    s1: float
    r0: float
    r1: float

    def radius(self, s: FloatLike) -> FloatLike:
        return self.r0 + (self.r1 - self.r0) / (self.s1 - self.s0) * (s - self.s0)

    def breaks(self, al: Array, be: Array) -> list[Array]:
        """Places where the cut al + be s touches the profile; nan or outside where it does not."""
        k = (self.r1 - self.r0) / (self.s1 - self.s0)
        return [(self.r0 - k * self.s0 - sign * al) / (sign * be - k) for sign in (1.0, -1.0)]

    def filled(self, low: FloatLike, high: FloatLike) -> FloatLike:
        """Volume of the whole discs from ``low`` to ``high`` [L]."""
        a, b = self.radius(low), self.radius(high)
        return np.pi / 3.0 * (high - low) * (a * a + a * b + b * b)

    def turning(self, na: float, q: float) -> list[tuple[float, float]]:
        """Points (s, signed radius) at which the profile is level, seen from a slope."""
        return []


@dataclass(frozen=True, slots=True)
class Round:
    """Piece of a profile: radius rc + g sqrt(R^2 - (s - sc)^2) from s0 to s1 > s0 [dm]; g = 1 is a circle of radius R."""

    s0: float
    s1: float
    sc: float
    rc: float
    R: float
    g: float = 1.0

    def radius(self, s: FloatLike) -> FloatLike:
        x = s - self.sc
        return self.rc + self.g * np.sqrt(np.maximum((self.R - x) * (self.R + x), 0.0))

    def breaks(self, al: Array, be: Array) -> list[Array]:
        """Places where the cut al + be s touches the profile (false roots among them); nan where it does not."""
        out = []
        for sign in (1.0, -1.0):
            m = sign * al - self.rc
            qa = be * be + self.g * self.g
            qb = sign * be * m - self.g * self.g * self.sc
            qc = m * m + self.g * self.g * (self.sc * self.sc - self.R * self.R)
            root = np.sqrt(qb * qb - qa * qc)
            out += [(-qb - root) / qa, (-qb + root) / qa]
        return out

    def filled(self, low: FloatLike, high: FloatLike) -> FloatLike:
        """Volume of the whole discs from ``low`` to ``high`` [L]."""
        a, b = low - self.sc, high - self.sc
        g2 = self.g * self.g
        volume: FloatLike = (high - low) * (self.rc * self.rc + g2 * (self.R * self.R - (a * a + a * b + b * b) / 3.0))
        if self.rc:
            volume = volume + self.rc * self.g * (self._quarter(b) - self._quarter(a))
        return np.pi * volume

    def _quarter(self, x: FloatLike) -> FloatLike:
        share = np.clip(x / self.R, -1.0, 1.0)
        area: FloatLike = self.R * self.R * (share * np.sqrt((1.0 - share) * (1.0 + share)) + np.arcsin(share))
        return area

    def turning(self, na: float, q: float) -> list[tuple[float, float]]:
        """Points (s, signed radius) at which the profile is level, seen from a slope."""
        x = na * self.R / float(np.hypot(na, self.g * q))
        places = [(self.sc + side * x, side) for side in (1.0, -1.0)]
        return [(s, side * float(self.radius(s))) for s, side in places if self.s0 < s < self.s1]


Piece = Cone | Round


class Revolution:
    """Body of revolution about the axis through ``at`` along ``axis``, given by the pieces of its profile in rising s.

    pieces : `Cone` and `Round` [dm]; the radius may jump between pieces.
    at : the point s = 0 of the axis [dm], shape (3,).
    axis : direction of rising s, of length 1.
    Formula: V = integral of r^2 A(d/r) ds with d(s) = (c - n.at - s n.axis)/q and A the unit disc below a height;
    dV/dc = (1/q) integral of 2 sqrt(r^2 - d^2) ds. Each piece is divided where the plane touches its profile, each part is
    integrated by 32 Gauss points after s = low + (high - low) sin^2(pi t/2). Own arrangement.
    Range: any slope; 1e-12 of the capacity against adaptive quadrature (tests).
    """

    def __init__(self, pieces: list[Piece], at: ArrayLike, axis: ArrayLike) -> None:
        if not pieces or any(not piece.s1 > piece.s0 for piece in pieces):
            raise BadInput("depth", [100.0 * (p.s1 - p.s0) for p in pieces], "Every piece of a profile must have a depth above 0 mm.")
        self.pieces, self.at, self.axis = tuple(pieces), vector(at), vector(axis)
        if abs(self.axis @ self.axis - 1.0) > 1e-9:
            raise ValueError("the axis must have the length 1")
        self.total = sum(float(p.filled(p.s0, p.s1)) for p in self.pieces)
        if not self.total > 0.0:
            raise BadInput("volume", self.total, "The sizes enclose nothing.")

    def vol(self, c: Array, n: Array) -> tuple[Array, Array]:
        """Volume [L] below n.x = c and free surface [dm2]; see `Part`."""
        height, na = np.broadcast_arrays(c - n @ self.at, n @ self.axis)
        shape = height.shape
        height, na = height.reshape(-1), np.clip(na.reshape(-1), -1.0, 1.0)
        volume, surface = np.empty(height.size), np.empty(height.size)
        for start in range(0, height.size, BLOCK):
            part = slice(start, start + BLOCK)
            volume[part], surface[part] = self._block(height[part], na[part])
        return volume.reshape(shape), surface.reshape(shape)

    def _block(self, height: Array, na: Array) -> tuple[Array, Array]:
        q = np.sqrt((1.0 - na) * (1.0 + na))
        upright = q < UPRIGHT
        if np.all(upright):
            return self._upright(height, na)
        safe = np.where(upright, 1.0, q)
        al, be = height / safe, -na / safe
        volume, surface = np.zeros(height.size), np.zeros(height.size)
        for piece in self.pieces:
            v, a = _cut(piece, al, be)
            volume += v
            surface += a / safe
        if np.any(upright):
            v, a = self._upright(height, np.where(upright, na, 1.0))
            volume, surface = np.where(upright, v, volume), np.where(upright, a, surface)
        return volume, surface

    def _upright(self, height: Array, na: Array) -> tuple[Array, Array]:
        level = height / na
        volume, surface = np.zeros(height.size), np.zeros(height.size)
        for piece in self.pieces:
            inside = np.minimum(np.maximum(level, piece.s0), piece.s1)
            rising = na > 0.0
            volume += piece.filled(np.where(rising, piece.s0, inside), np.where(rising, inside, piece.s1))
            surface += np.where((level > piece.s0) & (level < piece.s1), np.pi * piece.radius(inside) ** 2 / np.abs(na), 0.0)
        return volume, surface

    def crit(self, n: Array) -> Array:
        """Heights [dm] of the rims of all pieces and of the points where the wall is level."""
        na = min(max(float(n @ self.axis), -1.0), 1.0)
        q = float(np.sqrt((1.0 - na) * (1.0 + na)))
        points = [(s, side * float(p.radius(s))) for p in self.pieces for s in (p.s0, p.s1) for side in (1.0, -1.0)]
        if q >= UPRIGHT:
            points += [point for p in self.pieces for point in p.turning(na, q)]
        else:
            q = 0.0
        return float(n @ self.at) + np.array([na * s + q * r for s, r in points])

    def facets(self, points: int) -> Array:
        """Triangles of the surface, rims closed by discs."""
        profile = [(self.pieces[0].s0, 0.0)]
        for p in self.pieces:
            steps = np.linspace(0.0, 1.0, 2 if isinstance(p, Cone) else max(points // 4, 2))
            s = p.s0 + (p.s1 - p.s0) * np.sin(0.5 * np.pi * steps) ** 2
            profile += list(zip(s.tolist(), np.asarray(p.radius(s)).tolist(), strict=True))
        profile.append((self.pieces[-1].s1, 0.0))
        side = np.cross(self.axis, np.eye(3)[int(np.argmin(np.abs(self.axis)))])
        side /= np.sqrt(side @ side)
        t = 2.0 * np.pi * np.arange(points) / points
        spokes = np.cos(t)[:, None] * side + np.sin(t)[:, None] * np.cross(self.axis, side)
        rings = [(r, self.at + s * self.axis + r * spokes) for s, r in profile]
        triangles = []
        for (r0, foot), (r1, head) in pairwise(rings):
            after_foot, after_head = np.roll(foot, -1, axis=0), np.roll(head, -1, axis=0)
            if r1 > 0.0:
                triangles.append(np.stack([foot, after_head, head], axis=1))
            if r0 > 0.0:
                triangles.append(np.stack([foot, after_foot, after_head], axis=1))
        return np.concatenate(triangles)


def _cut(piece: Piece, al: Array, be: Array) -> tuple[Array, Array]:
    """Volume below the cut al + be s and integral of its chord, over one piece."""
    with np.errstate(divide="ignore", invalid="ignore"):  # a cut that misses the profile gives nan or inf, sorted out below
        breaks = piece.breaks(al, be)
    places = [np.full(al.shape, piece.s0), np.full(al.shape, piece.s1)]
    places += [np.fmin(np.fmax(b, piece.s0), piece.s1) for b in breaks]
    edges = np.sort(np.stack(places), axis=0)
    low, high = edges[:-1].ravel(), edges[1:].ravel()
    al, be = np.tile(al, len(edges) - 1), np.tile(be, len(edges) - 1)
    middle = 0.5 * (low + high)
    d, r = al + be * middle, piece.radius(middle)
    some = high > low
    full, part = some & (d >= r), np.flatnonzero(some & (np.abs(d) < r))
    volume, chord = np.zeros(low.size), np.zeros(low.size)
    if np.any(full):
        volume[full] = piece.filled(low[full], high[full])
    if part.size:
        width = (high - low)[part]
        s = low[part][:, None] + width[:, None] * EASE
        d = al[part][:, None] + be[part][:, None] * s
        r = piece.radius(s)
        x = d / np.maximum(r, 1e-300)
        np.clip(x, -1.0, 1.0, out=x)
        root = np.sqrt((1.0 - x) * (1.0 + x))
        volume[part] = width * ((r * r * (np.arccos(-x) + x * root)) @ WEIGHT)
        chord[part] = width * ((2.0 * r * root) @ WEIGHT)
    return volume.reshape(len(edges) - 1, -1).sum(axis=0), chord.reshape(len(edges) - 1, -1).sum(axis=0)
