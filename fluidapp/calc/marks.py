"""Readings that are told by the marks: "12 mm below the H mark", "between the marks, one third of the way up"."""

import math
from typing import Literal

from fluidapp.calc import gauge as gauges
from fluidapp.errors import BadInput
from fluidapp.model import Band, LevelPlug, Percent

Mark = Literal["H", "target", "L"]
SHARES: dict[str, float] = {"one quarter": 1 / 4, "one third": 1 / 3, "half": 1 / 2, "two thirds": 2 / 3, "three quarters": 3 / 4}
BY_EYE = 1 / 12  # limits of a share told in words: "one third" lies between one quarter and five twelfths (own, typical)


def told_by_marks(scale: gauges.AnyGauge) -> bool:
    """Whether a reading of this gauge can be told by its marks: it has some, and they stand on a scale in mm that rises."""
    return bool(scale.bands) and not isinstance(scale, Percent | LevelPlug)


def from_mark(scale: gauges.AnyGauge, band: Band, mark: Mark, below_mm: float) -> float:
    """The reading [mm on the gauge] that stands ``below_mm`` below a mark of ``band`` (< 0: above it).

    OutOfRange where the gauge cannot show that.
    """
    if not math.isfinite(below_mm):
        raise BadInput(f"below the {mark} mark", below_mm, "Enter a number of mm.")
    level = {"H": band.high, "target": band.aim_mm, "L": band.low}[mark] - below_mm
    gauges.on_scale(scale, level)
    return level


def between(scale: gauges.AnyGauge, band: Band, share: float) -> tuple[float, float]:
    """The reading ``share`` of the way up from the low to the high mark, and its standard uncertainty [mm on the gauge].

    share : 0 at the low, 1 at the high mark; OutOfRange through BadInput outside. Formula: u^2 = u(reading)^2 + (distance of the
    marks / 12)^2 / 3, limits +-a taken as a/sqrt 3 (JCGM 100:2008, 4.3.7, from memory); the twelfth: own, typical.
    """
    if not 0.0 <= share <= 1.0:
        raise BadInput("share of the way up", share, "It lies between 0 at the low and 1 at the high mark.")
    wide = band.high - band.low
    return band.low + share * wide, math.hypot(gauges.u_reading(scale), BY_EYE * wide / math.sqrt(3.0))
