"""From a gauge's reading to the plane of the liquid, and back.

A plane is n.x = c with n the unit "up" seen from the machine and c in dm. A reading l moves along the gauge's own line:
c = n.P + l (n.d). Own formulas; checked against published tank tables through :mod:`fluidapp.calc.level`.
"""

import math
from typing import TYPE_CHECKING

import numpy as np

from fluidapp.errors import CannotAnswer, OutOfRange
from fluidapp.model import LevelPlug, Percent, SightGlass, Stick

if TYPE_CHECKING:
    from numpy.typing import NDArray

AnyGauge = Stick | SightGlass | Percent | LevelPlug

LEVEL = np.array([0.0, 0.0, 1.0])
_STEEPEST = 0.2  # own limit: a gauge lying flatter than this to the liquid cannot be read


def line(gauge: AnyGauge) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """Zero point P [dm] and direction d of rising reading [dm per mm of reading; per % for a percentage gauge], each [3].

    CannotAnswer where the gauge has no place on the machine, which a tank known by its body needs.
    """
    if isinstance(gauge, Stick):
        place, lean, toward = gauge.tip, math.radians(gauge.angle), math.radians(gauge.toward)
        direction = np.array([math.sin(lean) * math.cos(toward), math.sin(lean) * math.sin(toward), math.cos(lean)])
    else:
        place, direction = gauge.at, LEVEL if not isinstance(gauge, LevelPlug) else -LEVEL
    if place is None:
        raise CannotAnswer(gauge.name, "its place on the tank is not entered", "Enter where its zero is, in mm from the tank's corner.")
    return np.array(place) / 100.0, direction * scale_mm(gauge) / 100.0


def scale_mm(gauge: AnyGauge) -> float:
    """mm of height per unit of the gauge's scale: 1, or for a percentage gauge the hundredth part of its range."""
    if isinstance(gauge, Percent):
        if gauge.range_mm is None:
            raise CannotAnswer(gauge.name, "its range in mm is not entered", "Enter the height from 0 % to 100 %.")
        return gauge.range_mm / 100.0
    return 1.0


def plane(gauge: AnyGauge, reading_mm: float, n: "NDArray[np.float64]") -> float:
    """c [dm] of the liquid's plane where ``gauge`` shows ``reading_mm`` [its own scale] and "up" is ``n`` [3].

    OutOfRange where the machine leans so far that the gauge cannot be read.
    """
    point, direction = line(gauge)
    return float(n @ point + reading_mm * _slant(gauge, n, direction))


def reading(gauge: AnyGauge, c_dm: float, n: "NDArray[np.float64]") -> float:
    """What ``gauge`` shows, in its own scale, when the liquid's plane is n.x = ``c_dm``. The inverse of :func:`plane`."""
    point, direction = line(gauge)
    return float((c_dm - n @ point) / _slant(gauge, n, direction))


def height_mm(gauge: AnyGauge, reading_mm: float) -> float:
    """Height [mm] over the zero of a tank's own table or pours, for a tank without a body, on a level machine."""
    return gauge.zero_height_mm + reading_mm * rise(gauge)


def from_height(gauge: AnyGauge, level_mm: float) -> float:
    """The inverse of :func:`height_mm`."""
    return (level_mm - gauge.zero_height_mm) / rise(gauge)


def rise(gauge: AnyGauge) -> float:
    """mm of height per unit of reading on a level machine; negative for a level plug, whose reading counts downwards."""
    if isinstance(gauge, Stick):
        return math.cos(math.radians(gauge.angle))
    return -1.0 if isinstance(gauge, LevelPlug) else scale_mm(gauge)


def highest(gauge: AnyGauge) -> float | None:
    """Highest reading that the gauge can show, in its own scale; None where it is not entered. A dial ends at 100 % by itself."""
    return gauge.highest


def on_scale(gauge: AnyGauge, reading_mm: float) -> None:
    """OutOfRange where the gauge cannot show ``reading_mm``: below its lowest or above its highest reading."""
    unit = "%" if isinstance(gauge, Percent) else "mm"
    end = highest(gauge)
    if not math.isfinite(reading_mm) or reading_mm < gauge.start_mm or (end is not None and reading_mm > end):
        raise OutOfRange(
            gauge.name, reading_mm, gauge.start_mm, end, unit, "Read again; if it shows nothing, choose below or above the gauge."
        )


def u_reading(gauge: AnyGauge, u_stick_mm: float = 2.0, u_glass_mm: float = 3.0, u_percent: float = 2.0) -> float:
    """Standard uncertainty of one reading in the gauge's own scale: max(division / sqrt 12, typical floor).

    Floors are typical and editable (common practice, no source): 2 mm stick and level plug, 3 mm glass, 2 % of range.
    The division term is the rectangular distribution of JCGM 100:2008, 4.3.7 (from memory).
    """
    if gauge.u_mm is not None:
        return gauge.u_mm
    floor = {"stick": u_stick_mm, "level plug": u_stick_mm, "sight glass": u_glass_mm, "percent": u_percent}[gauge.kind]
    return max((gauge.division_mm or 0.0) / math.sqrt(12.0), floor)


def _slant(gauge: AnyGauge, n: "NDArray[np.float64]", direction: "NDArray[np.float64]") -> float:
    slant = float(n @ direction)
    if abs(slant) < _STEEPEST * float(np.linalg.norm(direction)):
        raise OutOfRange(
            gauge.name, abs(slant), _STEEPEST, 1, "", "The machine leans too far for this gauge: put it on level ground and read again."
        )
    return slant
