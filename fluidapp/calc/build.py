"""From a machine's record to its tank: the only place where shapes in mm become parts in dm."""

import functools
import math
from dataclasses import dataclass

import numpy as np

from fluidapp.calc import bodies
from fluidapp.calc import gauge as gauges
from fluidapp.calc.geometry import Curve, Tank, strapping
from fluidapp.errors import CannotAnswer
from fluidapp.model import Compartment, Pour

FILL_SHAPE = 1.25  # area at the mark over mean area of the oil: 1 for upright walls, 1.5 for a trough (own, typical)
FILL_SHAPE_U = 0.5 / math.sqrt(12.0)  # that figure taken as uniform on 1 to 1.5


@dataclass(frozen=True, slots=True)
class Doubt:
    """How well the litres of a tank are known: ``rel`` of the litres between ``anchor_l`` and the level, and ``u_anchor_l``."""

    rel: float
    hint: str
    anchor_l: float = 0.0
    u_anchor_l: float = 0.0
    dof: float = math.inf
    measured: bool = True

    def at(self, volume_l: float) -> float:
        """Standard uncertainty [L] that the tank itself brings to ``volume_l``."""
        return math.hypot(self.rel * abs(volume_l - self.anchor_l), self.u_anchor_l)


def doubt(compartment: Compartment, taped_percent: float = 1.0) -> Doubt:
    """How well the compartment's litres per mm are known.

    taped_percent : standard uncertainty of a tank measured with a tape [% of its litres], typical and editable.
    Typical figures (common practice, no source): taped body 1 %, a typical body not measured on this machine 10 %, a table
    0.5 %, a fill with a mark alone 11.5 % (own formula: its shape taken as anything from upright walls to a trough).
    """
    given = compartment.u_tank_percent
    anchor = compartment.fill.litres if compartment.fill else 0.0
    u_anchor = 0.03 * anchor
    pour_hint = "Calibrate by pouring: note the reading before and after a measured pour."
    if compartment.body is not None:
        rel = given or (taped_percent if compartment.source != "typical" else 10.0)
        return Doubt(rel / 100, pour_hint, measured=compartment.source != "typical")
    if compartment.table:
        return Doubt((given or 0.5) / 100, "Measure more marks where the table is sparse.")
    if compartment.pours:
        area, u_area, dof = pour_area(compartment)
        return Doubt(given / 100 if given else u_area / area, "Add another measured pour.", anchor, u_anchor, dof)
    return Doubt(given / 100 if given else FILL_SHAPE_U / FILL_SHAPE, pour_hint, anchor, u_anchor, measured=False)


def pour_area(compartment: Compartment) -> tuple[float, float, float]:
    """Area of the oil [L per mm], its standard uncertainty and degrees of freedom, from single measured pours.

    Each pour gives a = |add| / |rise|, with u(rise) = sqrt 2 u(reading); several are averaged by inverse variance in 1/a,
    which is where the readings' errors are. Where they differ by more than that (chi2 over its degrees of freedom above 1),
    the uncertainty grows by the root of it. Source: JCGM 100:2008, 5.1.2 (from memory); the growth: common practice, no source.
    """
    found = [_rise_per_litre(compartment, pour) for pour in compartment.pours]
    weight = sum(1 / u_b**2 for _, u_b in found)
    b = sum(b / u_b**2 for b, u_b in found) / weight
    chi2 = sum(((each - b) / u_b) ** 2 for each, u_b in found)
    u = weight**-0.5 * math.sqrt(max(1.0, chi2 / max(1, len(found) - 1)))
    return 1 / b, u / b**2, math.inf


@functools.lru_cache(maxsize=256)
def tank(compartment: Compartment) -> Tank | Curve:
    """The compartment as a Tank (it has a body) or as a Curve (known by a table, by pours or by its fill).

    The zero of a Curve's level is the zero of the table, or of the gauge with which it was poured. CannotAnswer where
    nothing is entered from which litres could follow.
    """
    if compartment.body is not None:
        return bodies.tank(compartment.body, compartment.minus)
    if compartment.table:
        return strapping([row[0] for row in compartment.table], [row[1] for row in compartment.table])
    fill = compartment.fill
    if compartment.pours:
        area = pour_area(compartment)[0]
        anchor_mm, anchor_l = _anchor(compartment)
        bottom = anchor_mm - anchor_l / area
        return strapping([bottom, _top(compartment, anchor_mm)], [0.0, area * (_top(compartment, anchor_mm) - bottom)])
    if fill is not None and fill.depth_mm is not None:
        at = gauges.height_mm(compartment.gauge(fill.gauge), fill.reading)
        return _grown(fill.litres, fill.depth_mm, at, _top(compartment, at))
    raise CannotAnswer(
        compartment.label, "nothing tells its litres", "Enter its shape, a table, a measured pour, or its fill with the oil depth."
    )


def _grown(litres: float, depth_mm: float, mark_mm: float, top_mm: float) -> Curve:
    """V = litres (depth/depth at the mark)**1.25 up to the mark, straight on above it: one shape between upright walls and a trough."""
    share = np.linspace(0.0, 1.0, 33)
    area = FILL_SHAPE * litres / depth_mm  # L per mm at the mark
    levels = np.append(mark_mm + (share - 1.0) * depth_mm, top_mm)
    volumes = np.append(litres * share**FILL_SHAPE, litres + area * (top_mm - mark_mm))
    return Curve.even(levels, volumes, np.append(area * share ** (FILL_SHAPE - 1.0), area))


def counts_from_gauge(compartment: Compartment) -> bool:
    """Whether its litres are counted from the gauge's lowest reading, for want of a known fill."""
    return compartment.body is None and not compartment.table and bool(compartment.pours) and compartment.fill is None


def _rise_per_litre(compartment: Compartment, pour: Pour) -> tuple[float, float]:
    scale = compartment.gauge(pour.gauge)
    rise = gauges.height_mm(scale, pour.after) - gauges.height_mm(scale, pour.before)
    if pour.add == 0 or rise == 0 or (rise > 0) != (pour.add > 0):
        what = f"{pour.add:g} L moved the gauge from {pour.before:g} to {pour.after:g}"
        raise CannotAnswer(compartment.label, f"the pour does not fit: {what}", "Check whether before and after are swapped.")
    u_rise = math.sqrt(2.0) * gauges.u_reading(scale) * abs(gauges.rise(scale))
    return abs(rise / pour.add), u_rise / abs(pour.add)


def _anchor(compartment: Compartment) -> tuple[float, float]:
    """A height [mm] and the litres there; without a known fill the litres are counted from the gauge's lowest reading."""
    fill = compartment.fill
    if fill is not None:
        return gauges.height_mm(compartment.gauge(fill.gauge), fill.reading), fill.litres
    scale = compartment.gauge(compartment.pours[0].gauge)
    ends = [
        gauges.height_mm(scale, scale.start_mm),
        *(gauges.height_mm(scale, p) for pour in compartment.pours for p in (pour.before, pour.after)),
    ]
    return min(ends), 0.0


def _top(compartment: Compartment, anchor_mm: float) -> float:
    """Height [mm] to which a tank without a body is trusted: the top of its gauges' scales and marks."""
    heights = [anchor_mm + 1.0]
    for scale in compartment.gauges:
        shown = [scale.start_mm, scale.end_mm, *(edge for band in scale.bands for edge in (band.low, band.high))]
        heights += [gauges.height_mm(scale, x) for x in shown if x is not None]
    for pour in compartment.pours:
        scale = compartment.gauge(pour.gauge)
        heights += [gauges.height_mm(scale, pour.before), gauges.height_mm(scale, pour.after)]
    return max(heights)
