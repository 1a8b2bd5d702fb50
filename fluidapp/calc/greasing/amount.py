"""How much grease: what a race can hold, a first figure for a rolling bearing, and when that bearing is due.

Slewing rings get a maker's or measured dose and fixed hours; the bearing formulas are for bearings that spin.
"""

import math
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc.limits import above_zero
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange

LONGEST_H = 32_000.0  # a company standard (second-hand)
LARGEST_BORE_MM = 300.0  # ours, editable
SPREAD = 0.30  # a published ball chart reads about so much longer than the formula


@dataclass(frozen=True, slots=True)
class Fill:
    """Free volume of a ball race: per mm of pitch circle [mm2], in all [L], and the grease that fills it [g]."""

    mm3_per_mm: float
    volume_l: float
    full_g: float
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Interval:
    """Regreasing interval [h] of a rolling bearing, with the range that charts and formula span; capped where a limit cut it."""

    hours: float
    low_h: float
    high_h: float
    capped: bool
    remarks: tuple[str, ...]


def race_fill(groove_mm2: float, balls: int, ball_mm: float, pitch_mm: float, density_kg_m3: float = 900.0) -> Fill:
    """What the race of a ball ring can hold, as a bound for doses.

    groove_mm2 : cross-section of the groove, both rings together. balls, ball_mm : number and diameter. pitch_mm : diameter of the
    pitch circle. density of the grease. OutOfRange for a number that is not above 0, and where the balls do not fit.
    Formula: v' = A - N (pi/6) Dw^3 / (pi d); V = pi d v'; m = rho V. Own geometry; spacers and seals are not taken off.

    60 balls of 30 mm on 900 mm in a groove of 900 mm2, computed by hand: 2545 cm3 of groove less 848 cm3 of balls.
    >>> round(race_fill(900, 60, 30, 900).volume_l, 3)
    1.696
    """
    for name, value, unit in (
        ("groove", groove_mm2, "mm2"),
        ("balls", float(balls), ""),
        ("ball diameter", ball_mm, "mm"),
        ("pitch circle", pitch_mm, "mm"),
        ("density", density_kg_m3, "kg/m3"),
    ):
        above_zero(name, value, unit)
    round_mm = math.pi * pitch_mm
    if balls * ball_mm > round_mm:
        raise OutOfRange("balls", balls, None, math.floor(round_mm / ball_mm), "", "So many balls do not fit on this circle.")
    free = groove_mm2 - balls * math.pi / 6.0 * ball_mm**3 / round_mm
    if free <= 0:
        raise OutOfRange("groove", groove_mm2, groove_mm2 - free, None, "mm2", "The balls would fill more than the groove.")
    volume = free * round_mm / 1e6
    return Fill(free, volume, volume * density_kg_m3, ("Spacers, cage and seal lips are not taken off: the real volume is smaller.",))


def bearing_quantity_g(outside_mm: float, width_mm: float) -> float:
    """Grams to regrease a rolling bearing. For a slewing ring only an upper bound to sanity.

    outside_mm, width_mm : outside diameter and width (a thrust bearing's height), > 0; OutOfRange otherwise.
    Formula: G = 0.005 D B. Source: trade magazine, March 2020, figure 1.

    100 x 25 mm: 12.5 g
    >>> bearing_quantity_g(100, 25)
    12.5
    """
    above_zero("outside diameter", outside_mm, "mm")
    above_zero("width", width_mm, "mm")
    return 0.005 * outside_mm * width_mm


def bearing_interval(
    bore_mm: float,
    rpm: float,
    factor: float = 1.0,
    design: Literal["ball", "cylindrical or needle", "spherical, tapered or thrust"] = "ball",
    slewing: bool = False,
) -> Interval:
    """Regreasing interval of a rolling bearing that spins.

    bore_mm, rpm : > 0, OutOfRange otherwise. factor : product of all conditions (temperature, solids, moisture, vibration,
    shaft), 0 to 1. design : 10 for ball, 5 for cylindrical or needle, 1 for the others. slewing : a slewing ring.
    CannotAnswer for a slewing ring, a bore over 300 mm (ours) and a speed beyond n = 3.5e6/d^1.5, where the bracket ends.
    Formula: t = K (14e6/(n sqrt d) - 4 d) hours, at most 32,000 h. Source: form and design factors from a trade guide; factors of the
    conditions from memory. A published ball chart reads about 30 % longer.

    Bore 100 mm at 1,000 rpm: the bracket is 1,000 h
    >>> bearing_interval(100, 1000, design="spherical, tapered or thrust").hours
    1000.0
    """
    above_zero("bore", bore_mm, "mm")
    above_zero("speed", rpm, "rpm")
    if not 0.0 < factor <= 1.0:
        raise OutOfRange("conditions", factor, 0.0, 1.0, "", "Multiply the factors of the conditions; none is above 1.", above=True)
    question = "Regreasing interval"
    if slewing:
        raise CannotAnswer(question, "the formula is for bearings that spin", "A slewing ring gets fixed hours and days.")
    if rpm >= 3.5e6 / bore_mm**1.5:
        raise CannotAnswer(question, "this speed is outside the formula", "Use the bearing maker's figure.")
    if bore_mm > LARGEST_BORE_MM:
        raise CannotAnswer(question, "the bore is above 300 mm", "Use a fixed interval.")
    times = {"ball": 10.0, "cylindrical or needle": 5.0, "spherical, tapered or thrust": 1.0}
    if design not in times:
        raise BadInput("design", design, f"One of: {', '.join(times)}.")
    hours = factor * times[design] * (14e6 / (rpm * math.sqrt(bore_mm)) - 4.0 * bore_mm)
    capped = hours > LONGEST_H
    hours = min(hours, LONGEST_H)
    remarks = ["Charts and formula differ by about 30 %. Whatever the hours: at least every 48 months."]
    if capped:
        remarks.insert(0, "Cut to 32,000 h.")
    return Interval(hours, (1 - SPREAD) * hours, min((1 + SPREAD) * hours, LONGEST_H), capped, tuple(remarks))
