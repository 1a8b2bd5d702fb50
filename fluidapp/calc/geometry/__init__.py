"""From a plane to a volume: tanks as signed sums of exact parts, their level curves, measured tables.

Lengths inside are decimetres, so volumes are litres; levels of a `Curve` are millimetres.
"""

from fluidapp.calc.geometry.column import Column
from fluidapp.calc.geometry.curve import Curve
from fluidapp.calc.geometry.extrusion import Extrusion, Part
from fluidapp.calc.geometry.gear_ring import BathArea, bath_area, bath_parts, fillet_area, gap_area, gear_area
from fluidapp.calc.geometry.heads import frustum, head, head_depth, head_profile, lying_tank, sphere, spherical_segment, upright_tank
from fluidapp.calc.geometry.mesh import Mesh, hopper, polyhedron, prismatoid, sloped_box
from fluidapp.calc.geometry.orientation import slope, up
from fluidapp.calc.geometry.outline import outline
from fluidapp.calc.geometry.pouring import AreaChoice, PourFit, ShapeFit, combine_area, fill_area, pour_fit, shape_fit
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
from fluidapp.calc.geometry.strapping import strapping
from fluidapp.calc.geometry.tank import Tank

__all__ = [
    "Arc",
    "AreaChoice",
    "BathArea",
    "Column",
    "Cone",
    "Curve",
    "Ellipse",
    "Extrusion",
    "Line",
    "LineArc",
    "Mesh",
    "Part",
    "PourFit",
    "Revolution",
    "Round",
    "ShapeFit",
    "Tank",
    "Vessel",
    "bath_area",
    "bath_parts",
    "box",
    "combine_area",
    "elliptical_cylinder",
    "fill_area",
    "fillet_area",
    "frustum",
    "gap_area",
    "gear_area",
    "head",
    "head_depth",
    "head_profile",
    "hopper",
    "horizontal_cylinder",
    "lying",
    "lying_tank",
    "obround",
    "outline",
    "polygon",
    "polyhedron",
    "pour_fit",
    "prismatoid",
    "rounded",
    "shape_fit",
    "slope",
    "sloped_box",
    "sphere",
    "spherical_segment",
    "strapping",
    "up",
    "upright_cylinder",
    "upright_tank",
]
