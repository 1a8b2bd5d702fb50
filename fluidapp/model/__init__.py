"""What a machine is, what is in it and what was read: frozen, validated, in mm, L, kg, °C and degrees.

Machine axes: x forward, y left, z up. Every length in a file is in mm, every volume in L; numbers stay numbers (a decimal
comma or a quoted number is refused). A field that does not apply is left out, never filled with a stand-in.
"""

from fluidapp.model.base import ORIGIN, Frozen, Key, Label, Num, Point, Positive, Text
from fluidapp.model.compartments import Bath, Capacities, Compartment, Cylinder, Fill, Gear, Pour
from fluidapp.model.doubts import Doubts
from fluidapp.model.files import checked, from_toml, parse_toml, to_toml
from fluidapp.model.gauges import Band, Bound, Gauge, LevelPlug, Percent, Reading, SightGlass, Stick
from fluidapp.model.greasing import GreasePoint, Gun, Ring
from fluidapp.model.intervals import Shorter, Task, TaskKind
from fluidapp.model.machine import Container, Machine, Product, Site
from fluidapp.model.mesh import Mesh
from fluidapp.model.shapes import (
    Box,
    Deadwood,
    Edge,
    Elliptical,
    Frustum,
    Hopper,
    Lying,
    Obround,
    Section,
    Shape,
    SlopedFloor,
    Solid,
    Sphere,
    Upright,
)
from fluidapp.model.truck import Setting, Truck, TruckCompartment

__all__ = [
    "ORIGIN",
    "Band",
    "Bath",
    "Bound",
    "Box",
    "Capacities",
    "Compartment",
    "Container",
    "Cylinder",
    "Deadwood",
    "Doubts",
    "Edge",
    "Elliptical",
    "Fill",
    "Frozen",
    "Frustum",
    "Gauge",
    "Gear",
    "GreasePoint",
    "Gun",
    "Hopper",
    "Key",
    "Label",
    "LevelPlug",
    "Lying",
    "Machine",
    "Mesh",
    "Num",
    "Obround",
    "Percent",
    "Point",
    "Positive",
    "Pour",
    "Product",
    "Reading",
    "Ring",
    "Section",
    "Setting",
    "Shape",
    "Shorter",
    "SightGlass",
    "Site",
    "SlopedFloor",
    "Solid",
    "Sphere",
    "Stick",
    "Task",
    "TaskKind",
    "Text",
    "Truck",
    "TruckCompartment",
    "Upright",
    "checked",
    "from_toml",
    "parse_toml",
    "to_toml",
]
