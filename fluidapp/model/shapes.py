"""Shapes of tanks, in mm. Machine axes: x forward, y left, z up."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from fluidapp.model.base import ORIGIN, Axis, Frozen, NotNegative, Num, Point, Positive
from fluidapp.model.mesh import Mesh


class Box(Frozen):
    """Rectangular, optionally with rounded upright edges; ``at`` is the low corner with the smallest x, y, z."""

    shape: Literal["box"]
    length: Positive  # x
    width: Positive  # y
    height: Positive  # z
    corner: NotNegative = 0.0
    at: Point = ORIGIN

    @model_validator(mode="after")
    def _corner_fits(self) -> "Box":
        if 2 * self.corner > min(self.length, self.width):
            raise ValueError(f"corner {self.corner:g} mm is more than half the shorter side {min(self.length, self.width):g} mm")
        return self


Head = Literal["flat", "conical", "ellipsoidal 2:1", "ellipsoidal", "spherical", "torispherical"]
MEASURED = ("conical", "ellipsoidal", "spherical")  # ends whose depth has to be measured; the others' follows from the diameter


class Upright(Frozen):
    """Upright cylinder with any end below and above; ``height`` is that of the straight wall, ``at`` the lowest point, in its middle.

    dish, knuckle : radii over the diameter, of torispherical ends.
    """

    shape: Literal["upright"]
    diameter: Positive
    height: Positive
    bottom_head: Head = "flat"
    bottom_depth: Positive | None = None
    top_head: Head = "flat"
    top_depth: Positive | None = None
    dish: Positive = 1.0
    knuckle: Positive = 0.06
    at: Point = ORIGIN

    @model_validator(mode="after")
    def _ends_fit(self) -> "Upright":
        _end_fits(self, self.bottom_head, "bottom_depth", self.bottom_depth)
        _end_fits(self, self.top_head, "top_depth", self.top_depth)
        return self


class Lying(Frozen):
    """Horizontal cylinder; ``at`` is the lowest point where the shell begins, the axis runs towards +x or +y."""

    shape: Literal["horizontal cylinder"]
    diameter: Positive
    length: Positive
    axis: Axis = "x"
    heads: Head = "flat"
    head_depth: Positive | None = None
    dish: Positive = 1.0
    knuckle: Positive = 0.06
    at: Point = ORIGIN

    @model_validator(mode="after")
    def _ends_fit(self) -> "Lying":
        _end_fits(self, self.heads, "head_depth", self.head_depth)
        return self


class Frustum(Frozen):
    """Upright cone, whole (one diameter is 0) or cut off, with a straight wall of height ``walls`` on top; a round hopper.

    ``height`` is that of the whole, ``at`` the centre of its floor.
    """

    shape: Literal["cone"]
    bottom_diameter: NotNegative
    top_diameter: NotNegative
    height: Positive
    walls: NotNegative = 0.0
    at: Point = ORIGIN

    @model_validator(mode="after")
    def _holds(self) -> "Frustum":
        if self.bottom_diameter == 0 and self.top_diameter == 0:
            raise ValueError("bottom_diameter and top_diameter are both 0 mm, one must be above 0")
        if self.walls > 0 and self.top_diameter == 0:
            raise ValueError(f"walls {self.walls:g} mm cannot stand on a top_diameter of 0 mm")
        _walls_fit(self.walls, self.height)
        return self


class Sphere(Frozen):
    """``at`` is its lowest point."""

    shape: Literal["sphere"]
    diameter: Positive
    at: Point = ORIGIN


class Hopper(Frozen):
    """Rectangular, with four sides that slope straight from a mouth to a smaller or larger floor in the middle below it.

    A floor of width 0 is a V, one of length and width 0 a point. ``walls`` : height of the upright walls on top of the slopes;
    ``height`` is that of the whole. ``at`` is the low corner of the box around it.
    """

    shape: Literal["hopper"]
    length: Positive  # x
    width: Positive  # y
    height: Positive  # z
    bottom_length: NotNegative
    bottom_width: NotNegative
    walls: NotNegative = 0.0
    at: Point = ORIGIN

    @model_validator(mode="after")
    def _holds(self) -> "Hopper":
        _walls_fit(self.walls, self.height)
        return self


class SlopedFloor(Frozen):
    """Box whose flat floor rises: a sloped floor, or a wedge where it reaches the roof.

    ``rise_forward``, ``rise_left`` : how much higher the floor is at the front than at the rear, at the left than at the right.
    ``height`` is that from the floor's lowest point to the roof; ``at`` is the low corner of the box around it.
    """

    shape: Literal["sloped floor"]
    length: Positive  # x
    width: Positive  # y
    height: Positive  # z
    rise_forward: Num = 0.0
    rise_left: Num = 0.0
    at: Point = ORIGIN

    @model_validator(mode="after")
    def _below_the_roof(self) -> "SlopedFloor":
        rise = abs(self.rise_forward) + abs(self.rise_left)
        if rise > self.height * (1 + 1e-12):
            raise ValueError(f"the floor rises by {rise:g} mm in all, more than the height of {self.height:g} mm")
        return self


class Obround(Frozen):
    """Two half rounds joined by straight walls, drawn along ``axis``; ``at`` is the low corner of the box around it."""

    shape: Literal["obround"]
    length: Positive  # x
    width: Positive  # y
    height: Positive  # z
    axis: Literal["x", "y", "z"] = "x"
    at: Point = ORIGIN


class Elliptical(Frozen):
    """Elliptical section drawn along ``axis``; ``at`` is the low corner of the box around it."""

    shape: Literal["elliptical"]
    length: Positive  # x
    width: Positive  # y
    height: Positive  # z
    axis: Literal["x", "y", "z"] = "x"
    at: Point = ORIGIN


class Edge(Frozen):
    """One edge of an outline, to the point ``to``; with ``radius`` an arc, bulging outwards (> 0) or inwards (< 0)."""

    to: tuple[Num, Num]
    radius: Num | None = None


class Section(Frozen):
    """A drawn outline (closed, counter-clockwise) pushed along ``axis`` by ``length``.

    Outline coordinates: axis y: (x, z); axis x: (y, z); axis z: (x, y). ``at`` moves the whole.
    """

    shape: Literal["section"]
    outline: Annotated[tuple[Edge, ...], Field(min_length=2)]
    length: Positive
    axis: Literal["x", "y", "z"] = "y"
    at: Point = ORIGIN


Solid = Box | Upright | Lying | Obround | Elliptical | Section | Frustum | Sphere | Hopper | SlopedFloor | Mesh
Shape = Annotated[Solid, Field(discriminator="shape")]


def _end_fits(tank: Upright | Lying, head: Head, field: str, depth: float | None) -> None:
    if head in MEASURED and depth is None:
        raise ValueError(f"{field} is missing: measure how far the {head} end stands out")
    if head not in MEASURED and depth is not None:
        raise ValueError(f"{field} {depth:g} mm does not belong to a {head} end, leave it out")
    if head == "spherical" and depth is not None and depth > tank.diameter / 2 * (1 + 1e-12):
        raise ValueError(f"{field} {depth:g} mm is more than half the diameter, {tank.diameter / 2:g} mm, the most for a spherical end")
    if head == "torispherical" and not (tank.knuckle <= 0.5 <= tank.dish and tank.knuckle < tank.dish):
        what = f"knuckle {tank.knuckle:g} and dish {tank.dish:g} do not make an end"
        raise ValueError(f"{what}: over the diameter the knuckle is at most 0.5, the dish at least 0.5 and more than the knuckle")


def _walls_fit(walls: float, height: float) -> None:
    if walls >= height:
        raise ValueError(f"walls {walls:g} mm leave nothing of the height {height:g} mm to slope: height counts the walls too")


class Deadwood(Frozen):
    """What stands inside the tank and is known only by its volume and height range."""

    volume: Positive
    bottom: Num
    top: Num
    at: tuple[Num, Num] = (0.0, 0.0)

    @model_validator(mode="after")
    def _upright(self) -> "Deadwood":
        if self.top <= self.bottom:
            raise ValueError(f"top {self.top:g} mm is not above bottom {self.bottom:g} mm")
        return self
