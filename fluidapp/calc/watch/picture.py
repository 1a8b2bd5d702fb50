"""The picture of a watch as plain data: readings with their ±, the line with its band, the low mark."""

import math
from dataclasses import dataclass

from fluidapp.calc.figure import coverage_factor, half_width
from fluidapp.calc.watch.trend import Trend

_STEPS = 40


@dataclass(frozen=True, slots=True)
class Dot:
    """A reading: hour of the watch's clock, litres with 95 % half-width, and whether it fits the line."""

    hour: float
    volume_l: float
    low_l: float
    high_l: float
    fits: bool


@dataclass(frozen=True, slots=True)
class WatchPicture:
    """Dots, the line as (hour, litres, low, high) of its 95 % band, the low mark [L], when to read next, and the text alternative."""

    dots: tuple[Dot, ...]
    line: tuple[tuple[float, float, float, float], ...]
    low_mark_l: float | None
    next_h: float | None
    clock: str
    text: str


def picture(found: Trend, low_mark_l: float | None = None) -> WatchPicture:
    """What the chart of a watch shows; the line only where there is one, drawn on to the next reading where that is near."""
    dots = tuple(
        Dot(t, v, v - half_width(u), v + half_width(u), i not in found.outliers)
        for i, (t, v, u) in enumerate(zip(found.hours, found.volumes_l, found.us_l, strict=True))
    )
    start, last = found.hours[0], found.hours[-1]
    clock = "Machine hours" if found.kind == "working" else "Hours at rest"
    line: tuple[tuple[float, float, float, float], ...] = ()
    near = found.next_h is not None and last < found.next_h <= last + 0.5 * max(last - start, 1.0)
    if math.isfinite(found.u):
        end = found.next_h if near and found.next_h is not None else last
        k = coverage_factor(found.dof)
        rows = []
        for i in range(_STEPS + 1):
            t = start + (end - start) * i / _STEPS
            v, u = found.line_l(t)
            rows.append((t, v, v - k * u, v + k * u))
        line = tuple(rows)
    lowest = min(dot.low_l for dot in dots)
    spread = max(dot.high_l for dot in dots) - lowest
    mark = low_mark_l if low_mark_l is not None and low_mark_l > lowest - 1.5 * spread else None
    said = f"{len(dots)} readings over {last - start:.0f} h."
    if line:
        went = "falls" if found.rate_l_h > 0 else "rises"
        low, high = line[-1][2:]
        said += f" The line {went} by {abs(found.rate_l_h):.3f} L/h; its 95 % band runs from {low:.1f} to {high:.1f} L at the end."
    return WatchPicture(dots, line, mark, found.next_h if near else None, clock, said)
