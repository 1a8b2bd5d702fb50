"""Greasing by the gun: which positions of the slewing ring come next, and how many strokes each gets."""

from fluidapp.calc.greasing.amount import Fill, Interval, bearing_interval, bearing_quantity_g, race_fill
from fluidapp.calc.greasing.answer import PRESETS, Closing, Greasing, Position, Preset, Step, closing_turns, greasing_round, too_much
from fluidapp.calc.greasing.consistency import GRADES, THICKENERS, Mixing, mixing, nlgi_grade
from fluidapp.calc.greasing.gun import Dose, GunOutput, calibrate_gun, grams, strokes
from fluidapp.calc.greasing.lapse import Duty, Event, Refill, RingState, Shot, live, replay, state
from fluidapp.calc.greasing.planning import Coverage, Status, coverage, next_shot, plan, status
from fluidapp.calc.greasing.ring import GreasedRing, coverage_gap, largest_gap, position_name, positions_needed

__all__ = [
    "GRADES",
    "PRESETS",
    "THICKENERS",
    "Closing",
    "Coverage",
    "Dose",
    "Duty",
    "Event",
    "Fill",
    "GreasedRing",
    "Greasing",
    "GunOutput",
    "Interval",
    "Mixing",
    "Position",
    "Preset",
    "Refill",
    "RingState",
    "Shot",
    "Status",
    "Step",
    "bearing_interval",
    "bearing_quantity_g",
    "calibrate_gun",
    "closing_turns",
    "coverage",
    "coverage_gap",
    "grams",
    "greasing_round",
    "largest_gap",
    "live",
    "mixing",
    "next_shot",
    "nlgi_grade",
    "plan",
    "position_name",
    "positions_needed",
    "race_fill",
    "replay",
    "state",
    "status",
    "strokes",
    "too_much",
]
