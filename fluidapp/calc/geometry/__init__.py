"""From a plane to a volume: tanks as signed sums of exact parts, their level curves, measured tables.

Lengths inside are decimetres, so volumes are litres; levels of a `Curve` are millimetres.
"""

from fluidapp.calc.geometry.curve import Curve
from fluidapp.calc.geometry.extrusion import Extrusion, Part
from fluidapp.calc.geometry.orientation import slope, up
from fluidapp.calc.geometry.outline import outline
from fluidapp.calc.geometry.sections import Arc, Ellipse, Line, LineArc
from fluidapp.calc.geometry.shapes import (
    box,
    elliptical_cylinder,
    horizontal_cylinder,
    lying,
    obround,
    polygon,
    rounded,
    upright_cylinder,
)
from fluidapp.calc.geometry.strapping import constant_area, strapping
from fluidapp.calc.geometry.tank import Tank

__all__ = [
    "Arc",
    "Curve",
    "Ellipse",
    "Extrusion",
    "Line",
    "LineArc",
    "Part",
    "Tank",
    "box",
    "constant_area",
    "elliptical_cylinder",
    "horizontal_cylinder",
    "lying",
    "obround",
    "outline",
    "polygon",
    "rounded",
    "slope",
    "strapping",
    "up",
    "upright_cylinder",
]
