"""Shapes of tanks, in mm. Machine axes: x forward, y left, z up."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from fluidapp.model.base import ORIGIN, Axis, Frozen, NotNegative, Num, Point, Positive


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


class Upright(Frozen):
    """Upright cylinder; ``at`` is the centre of its floor."""

    shape: Literal["upright"]
    diameter: Positive
    height: Positive
    at: Point = ORIGIN


class Lying(Frozen):
    """Horizontal cylinder; ``at`` is the lowest point where the shell begins, the axis runs towards +x or +y."""

    shape: Literal["horizontal cylinder"]
    diameter: Positive
    length: Positive
    axis: Axis = "x"
    heads: Literal["flat", "conical", "ellipsoidal 2:1", "ellipsoidal", "spherical", "torispherical"] = "flat"
    head_depth: Positive | None = None
    dish: Positive = 1.0
    knuckle: Positive = 0.06
    at: Point = ORIGIN


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


Shape = Annotated[Box | Upright | Lying | Obround | Elliptical | Section, Field(discriminator="shape")]


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
