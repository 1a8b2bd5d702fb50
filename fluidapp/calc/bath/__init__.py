"""Oil in the grease bath of the slewing ring: how much came in, what share of the grease it is, what out and what in."""

from fluidapp.calc.bath.amounts import Weighed, purge_l
from fluidapp.calc.bath.answer import BathCheck, check
from fluidapp.calc.bath.areas import Area, area
from fluidapp.calc.bath.bounds import drained_free_oil, gearbox_ceiling
from fluidapp.calc.bath.combining import combine
from fluidapp.calc.bath.estimate import Combined, Estimate, mass_share
from fluidapp.calc.bath.lab import density, penetration, thickener, tracer, viscosity
from fluidapp.calc.bath.report import Bounds, LabReport, Together, together
from fluidapp.calc.bath.rise import level_rise
from fluidapp.calc.bath.survey import Survey

__all__ = [
    "Area",
    "BathCheck",
    "Bounds",
    "Combined",
    "Estimate",
    "LabReport",
    "Survey",
    "Together",
    "Weighed",
    "area",
    "check",
    "combine",
    "density",
    "drained_free_oil",
    "gearbox_ceiling",
    "level_rise",
    "mass_share",
    "penetration",
    "purge_l",
    "thickener",
    "together",
    "tracer",
    "viscosity",
]
