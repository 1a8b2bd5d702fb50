"""Litres per mm of depth in a grease bath."""

import math
from dataclasses import dataclass

from fluidapp.model import Bath


@dataclass(frozen=True, slots=True)
class Area:
    """Free area of a bath [L/mm], its standard uncertainty, and how it is known."""

    l_per_mm: float
    u: float
    how: str
    dof: float = math.inf
    remarks: tuple[str, ...] = ()


def area(bath: Bath) -> Area:
    """How many litres one mm of depth holds in ``bath``.

    Taken from litres per mm as entered; else from gear and wall (toothing against the wall of the pan); else from the radii of
    the annulus, pi (R^2 - r^2) in dm2 a dm, less nothing for pinion and ribs. Standard uncertainty: ``u_area_percent`` of it.
    BadInput or OutOfRange, from the gear's own geometry, where gear and wall do not fit.

    Annulus of 0.900 and 0.350 m diameter, 0.540 L/mm (computed by us):
    >>> ring = Bath(key="bath", label="grease bath", outer_mm=450.0, inner_mm=175.0)
    >>> round(area(ring).l_per_mm, 5)
    0.53996
    """
    remarks: tuple[str, ...] = ()
    if bath.area_l_per_mm is not None:
        value, how = bath.area_l_per_mm, "litres per mm as entered"
    elif bath.gear is not None and bath.wall_radius_mm is not None:
        from fluidapp.calc.geometry import bath_area

        gear = bath.gear
        value = float(bath_area(gear.module, gear.teeth, gear.internal, bath.wall_radius_mm, gear.shift))
        how = "gear and wall"
    else:
        outer, inner = bath.outer_mm or 0.0, bath.inner_mm or 0.0  # one of the three ways is certain: the model checks it
        value, how = math.pi * (outer**2 - inner**2) / 1e6, "outer and inner radius"
        remarks = ("Pinion, ribs and teeth are not taken off the area; its ± must cover them.",)
    return Area(value, value * bath.u_area_percent / 100.0, how, math.inf, remarks)
