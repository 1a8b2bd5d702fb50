"""Shapes of the record, in mm, as the parts of a tank, in dm."""

import functools
import math

from fluidapp.calc import geometry as geo
from fluidapp.errors import CannotAnswer
from fluidapp.model import (
    Box,
    Deadwood,
    Elliptical,
    Frustum,
    Hopper,
    Lying,
    Mesh,
    Obround,
    Section,
    SlopedFloor,
    Solid,
    Sphere,
    Upright,
)


@functools.lru_cache(maxsize=256)
def tank(body: Solid, minus: tuple[Solid | Deadwood, ...] = ()) -> geo.Tank:
    """``body`` less everything in ``minus`` (it must lie inside, and not overlap)."""
    return geo.Tank([(1, part(body)), *((-1, part(solid)) for solid in minus)])


def part(solid: Solid | Deadwood) -> geo.Part:
    """One shape in mm as a part in dm. CannotAnswer for an outline whose arcs do not reach from point to point."""
    if isinstance(solid, Deadwood):
        return geo.Column(solid.volume, solid.bottom / 100, solid.top / 100, (solid.at[0] / 100, solid.at[1] / 100))
    at = _dm(solid.at)
    match solid:
        case Box():
            return geo.box(solid.length / 100, solid.width / 100, solid.height / 100, at, solid.corner / 100)
        case Upright():
            return _upright(solid, at)
        case Lying():
            shell = solid.diameter / 100, solid.length / 100
            return geo.lying_tank(*shell, solid.heads, solid.axis, at, _depth(solid.head_depth), solid.dish, solid.knuckle)
        case Obround():
            width, height, length = _drawn(solid)
            return geo.obround(width, height, length, solid.axis, at)
        case Elliptical():
            width, height, length = _drawn(solid)
            return geo.elliptical_cylinder(width, height, length, solid.axis, at)
        case Section():
            return geo.lying(geo.LineArc([_loop(solid)]), solid.length / 100, solid.axis, at)
        case Frustum():
            ends, walls = (solid.bottom_diameter / 100, solid.top_diameter / 100), solid.walls / 100
            return geo.frustum(*ends, (solid.height - solid.walls) / 100, at, walls)
        case Sphere():
            return geo.sphere(solid.diameter / 100, at)
        case Hopper():
            mouth, floor = (solid.length / 100, solid.width / 100), (solid.bottom_length / 100, solid.bottom_width / 100)
            return geo.hopper(*mouth, *floor, (solid.height - solid.walls) / 100, at, solid.walls / 100)
        case SlopedFloor():
            sizes = solid.length / 100, solid.width / 100, solid.height / 100
            return geo.sloped_box(*sizes, solid.rise_forward / 100, solid.rise_left / 100, at)
        case Mesh():
            corners = [tuple((x + moved) / 100 for x, moved in zip(corner, solid.at, strict=True)) for corner in solid.corners]
            return geo.polyhedron(corners, [[number - 1 for number in face] for face in solid.faces])


def _upright(solid: Upright, at: tuple[float, float, float]) -> geo.Part:
    """The record's place is the lowest point, that of the part the centre of the shell's lower rim."""
    diameter, below, above = solid.diameter / 100, _depth(solid.bottom_depth), _depth(solid.top_depth)
    rim = at[2] + geo.head_depth(solid.bottom_head, diameter, below, solid.dish, solid.knuckle)
    heads = solid.bottom_head, solid.top_head
    return geo.upright_tank(diameter, solid.height / 100, *heads, (at[0], at[1], rim), below, above, solid.dish, solid.knuckle)


def _depth(depth_mm: float | None) -> float | None:
    return None if depth_mm is None else depth_mm / 100


def _dm(point: tuple[float, float, float]) -> tuple[float, float, float]:
    return point[0] / 100, point[1] / 100, point[2] / 100


def _drawn(solid: Obround | Elliptical) -> tuple[float, float, float]:
    """Width and height of the section and the length that it is drawn along, in dm."""
    x, y, z = solid.length / 100, solid.width / 100, solid.height / 100
    return {"x": (y, z, x), "y": (x, z, y), "z": (x, y, z)}[solid.axis]


def _loop(solid: Section) -> list[geo.Line | geo.Arc]:
    points = [(edge.to[0] / 100, edge.to[1] / 100) for edge in solid.outline]
    loop: list[geo.Line | geo.Arc] = []
    for i, edge in enumerate(solid.outline):
        (u0, v0), (u1, v1) = points[i - 1], points[i]
        if edge.radius is None:
            loop.append(geo.Line(u0, v0, u1, v1))
            continue
        r, chord = abs(edge.radius) / 100, math.hypot(u1 - u0, v1 - v0)
        if chord == 0 or 2 * r < chord * (1 - 1e-9):
            what = f"the arc to {edge.to} has a radius of {abs(edge.radius):g} mm, but its ends are {100 * chord:g} mm apart"
            raise CannotAnswer("outline", what, "The radius must be at least half that distance.")
        away = math.sqrt(max(0.0, r * r - chord * chord / 4)) / chord
        side = 1.0 if edge.radius > 0 else -1.0  # outwards: the centre lies left of the way round, inside
        cu, cv = (u0 + u1) / 2 - side * away * (v1 - v0), (v0 + v1) / 2 + side * away * (u1 - u0)
        t0, t1 = math.atan2(v0 - cv, u0 - cu), math.atan2(v1 - cv, u1 - cu)
        if side > 0 and t1 <= t0:
            t1 += 2 * math.pi
        if side < 0 and t1 >= t0:
            t1 -= 2 * math.pi
        loop.append(geo.Arc(cu, cv, r, t0, t1))
    return loop
