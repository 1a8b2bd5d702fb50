"""Tank ends, and bodies made of them: profiles on a shell of a given diameter, growing outwards from the tangent line."""

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import Array, vector
from fluidapp.calc.geometry.extrusion import Extrusion, Part
from fluidapp.calc.geometry.revolution import Cone, Piece, Revolution, Round
from fluidapp.calc.geometry.shapes import ORIGIN, X, Y, Z, horizontal_cylinder, upright_cylinder
from fluidapp.errors import BadInput

KINDS = ("flat", "conical", "ellipsoidal 2:1", "ellipsoidal", "spherical", "torispherical")


def head_profile(kind: str, diameter: float, depth: float | None = None, dish: float = 1.0, knuckle: float = 0.06) -> list[Piece]:
    """Profile of a tank end from its tangent line (s = 0) outwards; empty for a flat one.

    kind : "flat", "conical", "ellipsoidal 2:1", "ellipsoidal", "spherical" (a half sphere where the depth is half the diameter)
        or "torispherical".
    diameter : of the shell [dm].
    depth : how far the end stands out [dm]; needed for conical, ellipsoidal and spherical, given by the shape for the others.
    dish, knuckle : torispherical only, radii of crown and knuckle over the diameter; 1 and 0.06 are typical (common practice).
    Errors: BadInput for an unknown kind, a missing depth, a spherical end deeper than half the diameter, or a knuckle that does
        not fit.
    Formula, torispherical: sin alpha = (1 - 2k)/(2(f - k)); knuckle depth k D cos alpha, crown depth f D (1 - cos alpha).
    Source: D. Jones, "Calculating Tank Volume", as given in the documentation of the library `fluids` (second-hand).
    """
    R = 0.5 * diameter
    if not R > 0.0:
        raise BadInput("diameter", 100.0 * diameter, "The diameter must be above 0 mm.")
    if kind == "flat":
        return []
    if kind == "torispherical":
        return _torispherical(diameter, dish, knuckle)
    if kind == "ellipsoidal 2:1":
        depth = 0.5 * R
    if kind not in KINDS:
        raise BadInput("heads", kind, f"Choose one of: {', '.join(KINDS)}.")
    if depth is None or not (np.isfinite(depth) and depth > 0.0):
        raise BadInput("head depth", "nothing" if depth is None else 100.0 * depth, "Measure how far the end stands out; above 0 mm.")
    if kind == "conical":
        return [Cone(0.0, depth, R, 0.0)]
    if kind == "spherical":
        if depth > R * (1 + 1e-12):
            raise BadInput("head depth", 100.0 * depth, f"A spherical end is at most half the diameter deep, {100.0 * R:g} mm.")
        r = (depth * depth + R * R) / (2.0 * depth)
        return [Round(0.0, depth, depth - r, 0.0, r)]
    return [Round(0.0, depth, 0.0, 0.0, depth, R / depth)]


def _torispherical(diameter: float, dish: float, knuckle: float) -> list[Piece]:
    if not (0.0 < knuckle <= 0.5 and dish >= 0.5 and dish > knuckle):
        raise BadInput(
            "knuckle", knuckle, "The knuckle is between 0 and 0.5, the dish at least 0.5 and above the knuckle (of the diameter)."
        )
    sine = (1.0 - 2.0 * knuckle) / (2.0 * (dish - knuckle))
    cosine = float(np.sqrt((1.0 - sine) * (1.0 + sine)))
    rim, crown = knuckle * diameter * cosine, dish * diameter * sine * sine / (1.0 + cosine)
    pieces: list[Piece] = []
    if rim > 0.0:
        pieces.append(Round(0.0, rim, 0.0, (0.5 - knuckle) * diameter, knuckle * diameter))
    if crown > 0.0:
        pieces.append(Round(rim, rim + crown, rim + crown - dish * diameter, 0.0, dish * diameter))
    return pieces


def head_depth(kind: str, diameter: float, depth: float | None = None, dish: float = 1.0, knuckle: float = 0.06) -> float:
    """How far the end stands out [dm]; arguments as `head_profile`."""
    pieces = head_profile(kind, diameter, depth, dish, knuckle)
    return pieces[-1].s1 if pieces else 0.0


def head(
    kind: str, diameter: float, at: ArrayLike, outward: ArrayLike, depth: float | None = None, dish: float = 1.0, knuckle: float = 0.06
) -> Revolution:
    """Tank end as a part; not for a flat one, which has no volume.

    at : centre of the tangent line [dm]; outward : direction in which it stands out, of length 1. For an end that is pushed in,
    point it inwards and take it away: (-1, part). Other arguments as `head_profile`.
    """
    return Revolution(head_profile(kind, diameter, depth, dish, knuckle), at, outward)


class Vessel:
    """Cylinder with its two ends as one part: ``shell`` and the ends of the profiles ``first`` (before its start) and ``last``.

    at, axis : centre of the shell's start [dm] and direction in which it runs, of length 1.
    """

    def __init__(self, shell: Extrusion, first: list[Piece], last: list[Piece], at: ArrayLike, axis: ArrayLike) -> None:
        start, along = vector(at), vector(axis)
        self.shell, self.first, self.last, self.at, self.axis = shell, first, last, start, along
        ends = ((first, start, -along), (last, start + shell.length * along, along))
        self.parts: tuple[Part, ...] = (shell, *(Revolution(pieces, place, way) for pieces, place, way in ends if pieces))
        self.total = float(sum(part.total for part in self.parts))

    def vol(self, c: Array, n: Array) -> tuple[Array, Array]:
        """Volume [L] below n.x = c and free surface [dm2]; see `Part`."""
        pairs = [part.vol(c, n) for part in self.parts]
        return np.sum([v for v, _ in pairs], axis=0), np.sum([a for _, a in pairs], axis=0)

    def crit(self, n: Array) -> Array:
        """Heights [dm] at which the volume of a part is not smooth."""
        return np.concatenate([part.crit(n) for part in self.parts])

    def facets(self, points: int) -> Array:
        """Triangles of the outer surface."""
        length = self.shell.length
        radius = float(np.sqrt(self.shell.section.area / np.pi))
        whole = [*_mirrored(self.first), Cone(0.0, length, radius, radius), *_shifted(self.last, length)]
        return Revolution(whole, self.at, self.axis).facets(points)


def _mirrored(pieces: list[Piece]) -> list[Piece]:
    return [Cone(-p.s1, -p.s0, p.r1, p.r0) if isinstance(p, Cone) else Round(-p.s1, -p.s0, -p.sc, p.rc, p.R, p.g) for p in reversed(pieces)]


def _shifted(pieces: list[Piece], by: float) -> list[Piece]:
    return [
        Cone(p.s0 + by, p.s1 + by, p.r0, p.r1) if isinstance(p, Cone) else Round(p.s0 + by, p.s1 + by, p.sc + by, p.rc, p.R, p.g)
        for p in pieces
    ]


def lying_tank(
    diameter: float,
    length: float,
    heads: str = "flat",
    axis: str = "x",
    at: ArrayLike = ORIGIN,
    depth: float | None = None,
    dish: float = 1.0,
    knuckle: float = 0.06,
) -> Vessel:
    """Lying cylinder with two equal ends [dm].

    ``at`` is the lowest point where the shell begins; the shell runs on along +x or +y, the ends stand out beyond it. Other
    arguments as `head_profile`.
    """
    if axis not in ("x", "y"):
        raise BadInput("axis", axis, "A lying tank runs along x or y.")
    shell = horizontal_cylinder(diameter, length, axis, at)
    pieces = head_profile(heads, diameter, depth, dish, knuckle)
    return Vessel(shell, pieces, pieces, vector(at) + 0.5 * diameter * Z, X if axis == "x" else Y)


def upright_tank(
    diameter: float,
    height: float,
    bottom: str = "flat",
    top: str = "flat",
    at: ArrayLike = ORIGIN,
    bottom_depth: float | None = None,
    top_depth: float | None = None,
    dish: float = 1.0,
    knuckle: float = 0.06,
) -> Vessel:
    """Upright cylinder with any two ends [dm]; ``at`` is the centre of the shell's lower rim. Other arguments as `head_profile`."""
    first = head_profile(bottom, diameter, bottom_depth, dish, knuckle)
    return Vessel(upright_cylinder(diameter, height, at), first, head_profile(top, diameter, top_depth, dish, knuckle), at, Z)


def frustum(diameter: float, upper_diameter: float, height: float, at: ArrayLike = ORIGIN, walls: float = 0.0) -> Revolution:
    """Upright cone frustum with a straight wall of height ``walls`` on top [dm]; ``at`` is the centre of its floor. A cone where one of
    the diameters is 0.

    Machinery's Handbook 31, p. 90: a cone of diameter 6 and height 4 holds 37.7.
    >>> round(frustum(0, 6, 4).total, 1)
    37.7
    """
    if not (diameter >= 0.0 and upper_diameter >= 0.0):
        raise BadInput("diameter", 100.0 * min(diameter, upper_diameter), "A diameter cannot be below 0 mm.")
    low, high = 0.5 * diameter, 0.5 * upper_diameter
    straight = [Cone(height, height + walls, high, high)] if walls else []
    return Revolution([Cone(0.0, height, low, high), *straight], at, Z)


def sphere(diameter: float, at: ArrayLike = ORIGIN) -> Revolution:
    """Sphere [dm]; ``at`` is its lowest point.

    >>> round(sphere(2.0).total, 9)
    4.188790205
    """
    r = 0.5 * diameter
    return Revolution([Round(0.0, diameter, r, 0.0, r)], at, Z)


def spherical_segment(base_diameter: float, height: float, at: ArrayLike = ORIGIN) -> Revolution:
    """Cap of a sphere standing on its round base [dm]; ``at`` is the centre of the base. May be more than half a sphere.

    Machinery's Handbook 31, p. 91: base 125, height 50 holds 372,247 (their rounding; exact 372,246.0).
    >>> round(spherical_segment(125, 50).total, -1)
    372250.0
    """
    half = 0.5 * base_diameter
    r = (height * height + half * half) / (2.0 * height)
    return Revolution([Round(0.0, height, height - r, 0.0, r)], at, Z)
