"""From a machine's record to its tank: the only place where shapes in mm become parts in dm."""

import functools
import math
from dataclasses import dataclass

import numpy as np

from fluidapp.calc import bodies
from fluidapp.calc import gauge as gauges
from fluidapp.calc.decision import quadrature, weighted
from fluidapp.calc.geometry import Curve, PourFit, Tank, combine_area, fill_area, strapping
from fluidapp.calc.pours import Chain, chains
from fluidapp.errors import CannotAnswer, OutOfRange
from fluidapp.model import Compartment, Pour

FILL_SHAPE, FILL_SHAPE_U = fill_area(1.0, 100.0)  # area at the mark over mean area of the oil, and how well that is known (typical)


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
    if compartment.pours and told(compartment) is not None:
        both = per_mm(compartment)
        return Doubt(both.u_used_l / both.used_l, "Add another measured pour.", both.anchor_l, both.u_anchor_l, both.dof)
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
        rel, dof = (given / 100, math.inf) if given else (u_area / area, dof)
        return Doubt(rel, "Add another measured pour.", anchor, u_anchor, dof)
    return Doubt(given / 100 if given else FILL_SHAPE_U / FILL_SHAPE, pour_hint, anchor, u_anchor, measured=False)


def pour_area(compartment: Compartment) -> tuple[float, float, float]:
    """Area of the oil [L per mm], its standard uncertainty and degrees of freedom, from measured pours alone.

    A single pour gives a = |add| / |rise|, with u(rise) = sqrt 2 u(reading); pours that follow each other give one straight line
    (:func:`fluidapp.calc.geometry.pour_fit`). Several are averaged in 1/a, where the readings' errors are, by
    :func:`fluidapp.calc.decision.weighted`: where they scatter by more than that, the scatter sets uncertainty and degrees of freedom.
    """
    mean = weighted(_slope(compartment, chain) for chain in chains(compartment, compartment.pours))
    return 1 / mean.value, mean.u / mean.value**2, mean.dof


@dataclass(frozen=True, slots=True)
class PerMm:
    """Litres per mm at the pours' heights, told twice: by the pours, and by what else is entered.

    used_l : what is used [L/mm]: both together, or where they contradict each other (|z| > 2) the pours alone. ``scale`` is that
    over the other figure. anchor_l, u_anchor_l : litres in the middle of the pours and how well that total is known. dof : degrees
    of freedom of u_used_l.
    """

    pours_l: float
    u_pours_l: float
    other_l: float
    u_other_l: float
    used_l: float
    u_used_l: float
    z: float
    blended: bool
    anchor_l: float
    u_anchor_l: float
    remark: str | None
    dof: float = math.inf

    @property
    def scale(self) -> float:
        """What the other figure has to be multiplied with."""
        return self.used_l / self.other_l


def told(compartment: Compartment) -> Compartment | None:
    """The compartment without its pours, where something else tells its litres per mm too; None where the pours stand alone."""
    fill = compartment.fill
    if compartment.body is None and not compartment.table and (fill is None or fill.depth_mm is None):
        return None
    return compartment.model_copy(update={"pours": ()})


@functools.lru_cache(maxsize=256)
def per_mm(compartment: Compartment) -> PerMm:
    """Litres per mm from the pours together with the body, the table or the fill; CannotAnswer where nothing else tells them.

    Each chain of pours gives q = (litres per mm as told) / (litres per mm as poured) at its own heights; the q are averaged
    (:func:`fluidapp.calc.decision.weighted`) and combined with what is told (:func:`fluidapp.calc.geometry.combine_area`).
    """
    other = told(compartment)
    if other is None or not compartment.pours:
        raise CannotAnswer(compartment.label, "its litres per mm are told once only", "Enter pours, and a shape, a table or a fill.")
    rows, areas, middles = [], [], []
    for chain in chains(compartment, compartment.pours):
        area, middle_l = _told_at(other, chain)
        b, u_b, dof_b = _slope(compartment, chain)
        rows.append((b * area, u_b * area, dof_b))
        areas.append(area)
        middles.append(middle_l)
    mean = weighted(rows)
    q = mean.value
    area = sum(share * each for share, each in zip(mean.shares, areas, strict=True))
    rel = doubt(other).rel
    poured = PourFit(100 * area / q, 100 * area * mean.u / q**2, mean.chi2, len(rows) - 1, (), 0.0, ())
    choice = combine_area(poured, 100 * area, 100 * area * rel)
    scale = choice.area_dm2 / poured.area_dm2 / q
    if other.body is None and not other.table and other.fill is not None:
        anchor, u_anchor = other.fill.litres, doubt(other).u_anchor_l
    else:
        anchor = scale * sum(middles) / len(middles)
        u_anchor = rel * anchor
    return PerMm(
        poured.area_dm2 / 100,
        poured.u_area_dm2 / 100,
        area,
        area * rel,
        choice.area_dm2 / 100,
        choice.u_area_dm2 / 100,
        choice.z,
        choice.blended,
        anchor,
        u_anchor,
        choice.remarks[0] if choice.remarks else None,
        quadrature([(rel**2 * mean.u, mean.dof), (mean.u**2 * rel, math.inf)])[1] if choice.blended else mean.dof,
    )


def _told_at(other: Compartment, chain: Chain) -> tuple[float, float]:
    """Litres per mm that is told between the lowest and the highest reading of a chain, and the litres in the middle."""
    scale, known = other.gauge(chain.gauge), tank(other)

    def litres(shown: float) -> float:
        if isinstance(known, Curve):
            low, at, high = known.low_mm, gauges.height_mm(scale, shown), known.high_mm
            ends = [gauges.from_height(scale, x) for x in (low, high)]
        else:
            low, high = (100.0 * x for x in known.span(gauges.LEVEL))
            at = 100.0 * gauges.plane(scale, shown, gauges.LEVEL)
            ends = [gauges.reading(scale, x / 100.0, gauges.LEVEL) for x in (low, high)]
        if not low - 1e-6 <= at <= high + 1e-6:
            fix = "Read again, or check the tank's height and the place of its gauge."
            raise OutOfRange(f"{scale.name}, reading at a pour", shown, min(ends), max(ends), "mm", fix)
        at = min(max(at, low), high)
        return float(known.volume_l(at)) if isinstance(known, Curve) else float(known.vol(at / 100.0, gauges.LEVEL)[0])

    first, last = litres(min(chain.readings)), litres(max(chain.readings))
    rise = max(chain.rises_mm) - min(chain.rises_mm)
    if not (rise > 0 and abs(last - first) > 0):
        raise CannotAnswer(other.label, "the pour does not fit: the gauge did not rise", "Check whether before and after are swapped.")
    return abs(last - first) / rise, (first + last) / 2


def _slope(compartment: Compartment, chain: Chain) -> tuple[float, float, float]:
    if len(chain.numbers) == 1:
        return *_rise_per_litre(compartment, compartment.pours[chain.numbers[0]]), math.inf
    return chain.slope()


@functools.lru_cache(maxsize=256)
def tank(compartment: Compartment) -> Tank | Curve:
    """The compartment as a Tank (it has a body) or as a Curve (known by a table, by pours or by its fill).

    The zero of a Curve's level is the zero of the table, or of the gauge with which it was poured. CannotAnswer where
    nothing is entered from which litres could follow.
    """
    other = told(compartment)
    if compartment.pours and other is not None and (other.body is not None or other.table):
        known, scale = tank(other), per_mm(compartment).scale
        if isinstance(known, Tank):
            return Tank(known.parts, scale)
        return strapping([row[0] for row in other.table], [scale * row[1] for row in other.table])
    if compartment.body is not None:
        return bodies.tank(compartment.body, compartment.minus)
    if compartment.table:
        return strapping([row[0] for row in compartment.table], [row[1] for row in compartment.table])
    fill = compartment.fill
    if compartment.pours:
        area = pour_area(compartment)[0] if other is None else per_mm(compartment).used_l
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
