"""Pictures as plain data: outlines, liquid, marks. Charts and sheets only draw them."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from fluidapp.calc import bodies, build, gauge, level
from fluidapp.calc.geometry import Tank, outline, up
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, LevelPlug, Percent, Reading, Stick

View = Literal["side", "behind"]
Loop = tuple[tuple[float, float], ...]
MOST_OF_IT = 0.9  # share of the tank's height that the cut through its gauge must show, else it is cut through the middle


@dataclass(frozen=True, slots=True)
class MarkLine:
    """A mark of the gauge in the picture: its height [mm] and the litres to which it belongs on a level machine."""

    label: str
    height_mm: float
    litres: float


@dataclass(frozen=True, slots=True)
class TankPicture:
    """The upright cut of a tank as the machine stands; x to the right and height upwards, in mm.

    It goes through the gauge, or through the middle where the tank reaches deeper or higher there (hopper, sphere).

    walls : closed outlines. solids : outlines of what stands inside. liquid : what is wet. marks : with their heights at
    the gauge. level_mm : height of the liquid's surface; u_mm : standard uncertainty of the reading as a height.
    gauge_x : where the gauge stands. drawn : False where no shape is known and the tank is only a scale.
    """

    walls: tuple[Loop, ...]
    solids: tuple[Loop, ...]
    liquid: tuple[Loop, ...]
    marks: tuple[MarkLine, ...]
    level_mm: float
    gauge_x: float
    low_mm: float
    high_mm: float
    drawn: bool
    text: str


def tank(compartment: Compartment, reading: Reading, shown: float, view: View = "side") -> TankPicture:
    """The picture of ``compartment`` when its gauge shows ``shown`` [the gauge's own scale].

    view : "side" (the way a leaning stick leans), or "behind" with the machine's right side on the right.
    Errors: as :func:`fluidapp.calc.level.volume`.
    """
    scale = compartment.gauge(reading.gauge)
    marks = _marks(compartment, reading)
    body = build.tank(compartment)
    if not isinstance(body, Tank) or compartment.body is None or (isinstance(scale, Percent) and scale.of == "capacity"):
        return _scale_only(compartment, scale, shown, marks)
    swing = reading.swing_deg if compartment.on == "upper structure" else 0.0
    n = up(reading.pitch_deg or 0.0, reading.roll_deg or 0.0, swing)
    point, _ = gauge.line(scale)
    across = _across(scale) if view == "side" else np.array([0.0, -1.0, 0.0])
    part = bodies.part(compartment.body)
    walls = _loops(outline(part, point, across, n))
    lowest, highest = body.span(n)
    if _reach(walls) < MOST_OF_IT * 100.0 * (highest - lowest):
        middle = np.array(_middle(part.facets(24)))
        central = _loops(outline(part, middle, across, n))
        if _reach(central) > _reach(walls):
            walls, point = central, middle
    solids = tuple(loop for solid in compartment.minus for loop in _loops(outline(bodies.part(solid), point, across, n)))
    height = 100.0 * gauge.plane(scale, shown, n)
    right = across - (across @ n) * n
    right = right / np.linalg.norm(right)
    foot = float(100.0 * (gauge.line(scale)[0] @ right))
    heights = [y for loop in walls for _, y in loop]
    lines = tuple(MarkLine(m.label, 100.0 * gauge.plane(scale, m.height_mm, n), m.litres) for m in marks)
    return TankPicture(
        walls=walls,
        solids=solids,
        liquid=tuple(filter(None, (_below(loop, height) for loop in walls))),
        marks=lines,
        level_mm=height,
        gauge_x=foot,
        low_mm=min(heights),
        high_mm=max(heights),
        drawn=True,
        text=_text(compartment, scale, shown, marks),
    )


def _scale_only(compartment: Compartment, scale: gauge.AnyGauge, shown: float, marks: tuple[MarkLine, ...]) -> TankPicture:
    def height(reading: float) -> float:
        return reading if isinstance(scale, Percent) else gauge.height_mm(scale, reading)

    at = height(shown)
    lines = tuple(MarkLine(m.label, height(m.height_mm), m.litres) for m in marks)
    known = [at, *(m.height_mm for m in lines), height(scale.start_mm)]
    if scale.end_mm is not None:
        known.append(height(scale.end_mm))
    low, high = min(known), max(known)
    pad = 0.12 * max(high - low, 1.0)
    low, high = low - pad, high + pad
    wide = 0.7 * (high - low)
    box: Loop = ((0.0, low), (wide, low), (wide, high), (0.0, high))
    wet = _below(box, at)
    return TankPicture((box,), (), (wet,) if wet else (), lines, at, 0.8 * wide, low, high, False, _text(compartment, scale, shown, marks))


def _marks(compartment: Compartment, reading: Reading) -> tuple[MarkLine, ...]:
    """Marks with their place on the gauge's own scale in ``height_mm``; the callers turn that into a height."""
    band = level.convention(compartment, reading.gauge, reading)
    if band is None:
        return ()
    try:
        litres = level.marks(compartment, reading.gauge, band)
    except FluidappError:
        return ()
    names = ("L", "target", "H")
    places = (band.low, band.aim_mm, band.high)
    if isinstance(compartment.gauge(reading.gauge), LevelPlug):
        places = (band.high, band.aim_mm, band.low)
    return tuple(
        MarkLine(name, at, volume) for name, at, volume in zip(names, places, (litres.low_l, litres.target_l, litres.high_l), strict=True)
    )


def _text(compartment: Compartment, scale: gauge.AnyGauge, shown: float, marks: tuple[MarkLine, ...]) -> str:
    unit = "%" if isinstance(scale, Percent) else "mm"
    said = ", ".join(f"{m.label} at {m.height_mm:.0f} {unit}" for m in marks)
    return f"{compartment.label}: {scale.name} shows {shown:.1f} {unit}" + (f"; marks: {said}." if said else ".")


def _across(scale: gauge.AnyGauge) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Direction that points right in the picture: backwards, so that the machine looks to the left."""
    if isinstance(scale, Stick) and scale.angle:
        lean = np.radians(scale.toward)
        return np.array([np.cos(lean), np.sin(lean), 0.0])
    return np.array([1.0, 0.0, 0.0])


def _middle(points: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]") -> list[float]:
    flat = points.reshape(-1, 3)
    return [float(v) for v in (flat.min(axis=0) + flat.max(axis=0)) / 2]


def _reach(loops: tuple[Loop, ...]) -> float:
    """Height from the lowest to the highest point of a cut; 0 where there is none."""
    heights = [y for loop in loops for _, y in loop]
    return max(heights) - min(heights) if heights else 0.0


def _loops(arrays: "list[np.ndarray[tuple[int, ...], np.dtype[np.float64]]]") -> tuple[Loop, ...]:
    return tuple(tuple((float(x), float(y)) for x, y in array) for array in arrays)


def _below(loop: Loop, height: float) -> Loop:
    """The part of a closed outline at or below ``height``; empty where nothing is. Own cut, edge by edge."""
    kept: list[tuple[float, float]] = []
    for (x0, y0), (x1, y1) in zip(loop, (*loop[1:], loop[0]), strict=True):
        if y0 <= height:
            kept.append((x0, y0))
        if (y0 <= height) != (y1 <= height):
            kept.append((x0 + (x1 - x0) * (height - y0) / (y1 - y0), height))
    return tuple(kept) if len(kept) > 2 else ()
