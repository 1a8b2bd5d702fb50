"""From a plane to a volume: tanks as signed sums of exact parts, their level curves, measured tables.

Lengths inside are decimetres, so volumes are litres; levels of a `Curve` are millimetres.
"""

from fluidapp.calc.geometry.column import Column
from fluidapp.calc.geometry.curve import Curve
from fluidapp.calc.geometry.extrusion import Extrusion, Part
from fluidapp.calc.geometry.heads import frustum, head, head_depth, head_profile, lying_tank, sphere, spherical_segment, upright_tank
from fluidapp.calc.geometry.orientation import slope, up
from fluidapp.calc.geometry.outline import outline
from fluidapp.calc.geometry.revolution import Cone, Revolution, Round
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
    "Column",
    "Cone",
    "Curve",
    "Ellipse",
    "Extrusion",
    "Line",
    "LineArc",
    "Part",
    "Revolution",
    "Round",
    "Tank",
    "Vessel",
    "box",
    "constant_area",
    "elliptical_cylinder",
    "frustum",
    "head",
    "head_depth",
    "head_profile",
    "horizontal_cylinder",
    "lying",
    "lying_tank",
    "obround",
    "outline",
    "polygon",
    "rounded",
    "slope",
    "sphere",
    "spherical_segment",
    "strapping",
    "up",
    "upright_cylinder",
    "upright_tank",
]
