"""The usual bodies as parts, in dm."""

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import vector
from fluidapp.calc.geometry.extrusion import Extrusion
from fluidapp.calc.geometry.sections import Arc, Edge, Ellipse, Line, LineArc, Section
from fluidapp.errors import BadInput

ORIGIN = (0.0, 0.0, 0.0)
X, Y, Z = np.eye(3)


def polygon(points: ArrayLike) -> list[Edge]:
    """Closed loop of straight edges through ``points``, shape (k, 2) [dm]."""
    corners = np.asarray(points, dtype=np.float64).tolist()
    return [Line(u0, v0, u1, v1) for (u0, v0), (u1, v1) in zip(corners, [*corners[1:], corners[0]], strict=True)]


def rounded(width: float, height: float, corner: float) -> list[Edge]:
    """Loop of a rectangle 0..width by 0..height [dm] with corners of radius ``corner``, at most half the shorter side."""
    if not (width > 0.0 and height > 0.0):
        raise BadInput("size", min(width, height), "Length, width and height must be above 0.")
    if not 0.0 <= corner <= 0.5 * min(width, height) * (1 + 1e-12):
        limit = f"It must be between 0 and half the shorter side, {50.0 * min(width, height):g} mm."
        raise BadInput("corner radius", 100.0 * corner, limit)
    if corner == 0.0:
        return polygon([(0, 0), (width, 0), (width, height), (0, height)])
    r, turn = corner, 0.5 * np.pi
    edges: list[Edge] = [
        Line(r, 0.0, width - r, 0.0), Arc(width - r, r, r, -turn, 0.0),
        Line(width, r, width, height - r), Arc(width - r, height - r, r, 0.0, turn),
        Line(width - r, height, r, height), Arc(r, height - r, r, turn, 2 * turn),
        Line(0.0, height - r, 0.0, r), Arc(r, r, r, 2 * turn, 3 * turn),
    ]  # fmt: skip
    return [e for e in edges if isinstance(e, Arc) or np.hypot(e.u1 - e.u0, e.v1 - e.v0) > 1e-12 * (width + height)]


def lying(section: Section, length: float, axis: str = "x", at: ArrayLike = ORIGIN) -> Extrusion:
    """``section`` drawn out along the machine's ``axis`` x or y over ``length`` [dm], or upright with axis z.

    The section's u runs level (along y for axis x, along x for axis y) and v runs up; with axis z, u is x and v is y.
    """
    corner = vector(at)
    if axis == "x":
        return Extrusion(section, length, corner, Y, Z)
    if axis == "y":
        return Extrusion(section, length, corner + length * Y, X, Z)
    if axis == "z":
        return Extrusion(section, length, corner, X, Y)
    raise BadInput("axis", axis, "Choose x, y or z.")


def box(length: float, width: float, height: float, at: ArrayLike = ORIGIN, corner: float = 0.0) -> Extrusion:
    """Box, length along x, width along y, height along z [dm], with upright edges of radius ``corner``;
    ``at`` is the low corner.

    >>> box(12, 7, 6).total
    504.0
    """
    return lying(LineArc([rounded(length, width, corner)]), height, "z", at)


def upright_cylinder(diameter: float, height: float, at: ArrayLike = ORIGIN) -> Extrusion:
    """Upright cylinder with flat ends [dm]; ``at`` is the centre of its floor."""
    return lying(Ellipse(0.5 * diameter, 0.5 * diameter), height, "z", at)


def horizontal_cylinder(diameter: float, length: float, axis: str = "x", at: ArrayLike = ORIGIN) -> Extrusion:
    """Lying cylinder with flat ends along x or y [dm]; ``at`` is the lowest point where the shell begins.

    Machinery's Handbook 31, p. 74: 20 ft by 6 ft holds about 4230 US gal (231 cubic inches):
    >>> round(horizontal_cylinder(72, 240).total / 231, -1)
    4230.0
    """
    r = 0.5 * diameter
    return lying(Ellipse(r, r, 0.0, r), length, axis, at)


def elliptical_cylinder(width: float, height: float, length: float, axis: str = "x", at: ArrayLike = ORIGIN) -> Extrusion:
    """Lying cylinder of elliptical section, ``width`` level and ``height`` upright [dm], with flat ends; ``at`` is the
    low corner of the box round it."""
    return lying(Ellipse(0.5 * width, 0.5 * height, 0.5 * width, 0.5 * height), length, axis, at)


def obround(width: float, height: float, length: float, axis: str = "x", at: ArrayLike = ORIGIN) -> Extrusion:
    """Lying body whose section is a rectangle with half-round short sides (lying or standing oval) [dm], with flat
    ends; ``at`` is the low corner of the box round it."""
    return lying(LineArc([rounded(width, height, 0.5 * min(width, height))]), length, axis, at)
