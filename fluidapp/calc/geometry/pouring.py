"""Litres per millimetre from measured pours, from the service fill, or from both."""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.geometry.arrays import Array
from fluidapp.calc.geometry.curve import Curve
from fluidapp.errors import BadInput, CannotAnswer

OUTLIER = 3.0  # standard deviations
CONTRADICTION = 2.0  # standard deviations
FILL_SHAPE = (1.0, 1.5)  # area at the mark over mean area of the oil: from upright walls to a trough (own, typical)


@dataclass(frozen=True, slots=True)
class PourFit:
    """Straight line through gauge readings over poured litres.

    area_dm2, u_area_dm2 : free surface and its standard uncertainty [dm2]; area/100 is litres per mm.
    chi2, dof : weighted square sum of the residuals and its degrees of freedom; u is widened by sqrt(chi2/dof) where above 1.
    outliers : places (0 is the first) of the readings that do not fit; none of them is left out of the fit.
    start_mm : reading that the line gives before the first pour.
    remarks : what should be looked at, in words.
    """

    area_dm2: float
    u_area_dm2: float
    chi2: float
    dof: int
    outliers: tuple[int, ...]
    start_mm: float
    remarks: tuple[str, ...]

    @property
    def u_dof(self) -> float:
        """Degrees of freedom of u_area_dm2: ``dof`` where the scatter of the readings set it, else infinite."""
        return float(self.dof) if self.chi2 > self.dof > 0 else math.inf


def pour_fit(poured_l: ArrayLike, reading_mm: ArrayLike, u_reading_mm: ArrayLike) -> PourFit:
    """Free surface of a tank with upright walls from readings taken after known pours.

    poured_l : litres poured so far at each reading [L], rising; the first is usually 0.
    reading_mm : gauge reading at each [mm, along the upright].
    u_reading_mm : standard uncertainty of one reading [mm], one figure or one for each.
    Returns: `PourFit`. Use k = 2 on u_area_dm2 for 95 % (u_reading_mm is taken as known).
    Errors: BadInput that names a column that does not fit; CannotAnswer where the readings do not rise.
    Formula: reading = start + b V by weighted least squares (the litres are the exact side); A = 1/b, u(A) = u(b) A^2.
    Source: straight line with errors in y, any book on statistics; simulated 95 % coverage in the tests.

    >>> fit = pour_fit([0, 0.5, 1, 1.5, 2], [420, 427, 435, 442, 450], 2.0)
    >>> round(fit.area_dm2, 4), round(fit.u_area_dm2, 4), round(fit.chi2, 3), fit.dof
    (6.6667, 0.5622, 0.075, 3)
    """
    litres, reading = np.asarray(poured_l, dtype=np.float64), np.asarray(reading_mm, dtype=np.float64)
    if litres.ndim != 1 or litres.shape != reading.shape or litres.size < 2:
        raise BadInput("pours", f"{litres.size} amounts, {reading.size} readings", "Give as many readings as amounts, at least two.")
    u = np.broadcast_to(np.asarray(u_reading_mm, dtype=np.float64), reading.shape)
    for field, values in (("poured", litres), ("reading", reading)):
        if not np.all(np.isfinite(values)):
            raise BadInput(field, float(values[~np.isfinite(values)][0]), "Every amount and reading must be a number.")
    if not np.all((u > 0.0) & np.isfinite(u)):
        raise BadInput("reading uncertainty", float(u.min()), "It must be above 0 mm.")
    for before, after in pairwise(litres):
        if not after > before:
            raise BadInput("poured", float(after), f"Litres poured so far must rise: the one before is {before:g} L.")
    weight = u**-2.0
    start, slope, u_slope, chi2 = _line(litres, reading, weight)
    if not slope > 0.0:
        raise CannotAnswer(
            "litres per mm", "the readings do not rise with what was poured", "Check the order of the readings, and the gauge."
        )
    dof = litres.size - 2
    if dof and chi2 > dof:
        u_slope *= float(np.sqrt(chi2 / dof))
    outliers, remarks = _misfits(litres, reading, u)
    if u_slope > slope / 3.0:
        remarks = (*remarks, "Too few litres were poured for this gauge: the litres per mm are known to worse than a third.")
    area = 100.0 / slope
    return PourFit(area, area * u_slope / slope, chi2, dof, outliers, start, remarks)


def _line(x: Array, y: Array, weight: Array) -> tuple[float, float, float, float]:
    """Start, slope, u(slope) and chi2 of a weighted straight line."""
    total = float(weight.sum())
    x_mean, y_mean = float(weight @ x) / total, float(weight @ y) / total
    spread = float(weight @ (x - x_mean) ** 2)
    slope = float(weight @ ((x - x_mean) * (y - y_mean))) / spread
    chi2 = float(weight @ (y - y_mean - slope * (x - x_mean)) ** 2)
    return y_mean - slope * x_mean, slope, spread**-0.5, chi2


def _misfits(x: Array, y: Array, u: Array) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """Readings that do not fit the others, or two that look exchanged; needs at least four readings to tell."""
    if x.size < 4:
        falling = np.flatnonzero(np.diff(y) < -OUTLIER * np.hypot(u[:-1], u[1:]))
        return tuple(int(i) + 1 for i in falling), tuple(f"Reading {i + 2} is lower than the one before it." for i in falling)
    weight = u**-2.0
    if _line(x, y, weight)[3] <= (x.size - 2) + OUTLIER * np.sqrt(2.0 * (x.size - 2)) and _worst(x, y, u)[1] <= OUTLIER:
        return (), ()
    for i in range(x.size - 1):
        for j in range(i + 1, x.size):
            swapped = y.copy()
            swapped[[i, j]] = y[[j, i]]
            if y[i] > y[j] and _line(x, swapped, weight)[3] <= (x.size - 2) and _worst(x, swapped, u)[1] <= OUTLIER:
                return (i, j), (f"Readings {i + 1} and {j + 1} look exchanged: the other way round everything fits.",)
    kept, found = np.arange(x.size), []
    while kept.size > 3:
        place, size = _worst(x[kept], y[kept], u[kept])
        if size <= OUTLIER:
            break
        found.append(int(kept[place]))
        kept = np.delete(kept, place)
    outliers = tuple(sorted(found))
    return outliers, tuple(f"Reading {i + 1} does not fit the others: read it again, or check its pour." for i in outliers)


def _worst(x: Array, y: Array, u: Array) -> tuple[int, float]:
    """The reading farthest from the line, and how many of its own standard deviations."""
    weight = u**-2.0
    start, slope, _, _ = _line(x, y, weight)
    mean = float(weight @ x) / float(weight.sum())
    pull = 1.0 / float(weight.sum()) + (x - mean) ** 2 / float(weight @ (x - mean) ** 2)  # variance of the line itself at x
    size = np.abs(y - start - slope * x) / np.sqrt(np.maximum(u * u - pull, 1e-12 * u * u))
    return int(np.argmax(size)), float(size.max())


def fill_area(fill_l: float, depth_mm: float, shape: tuple[float, float] = FILL_SHAPE) -> tuple[float, float]:
    """Free surface at the mark and its standard uncertainty [dm2] from the service fill alone.

    fill_l : litres up to the mark [L]; depth_mm : oil depth there [mm].
    shape : range of (area times depth over volume), taken as uniform. 1 upright walls, 1.5 a trough, 2 a V-bottom, 3 a cone; a
        lying cylinder 1.47 at 10 % of its depth, 1.19 at 60 % (own figures). 1 to 1.5 is typical and leaves V-bottoms out.
    Formula: A = e V/H, u(A) = (e2 - e1)/sqrt(12) V/H. Own formula.

    >>> tuple(round(x, 2) for x in fill_area(28.7, 460))
    (7.8, 0.9)
    """
    for field, value in (("fill", fill_l), ("depth", depth_mm)):
        if not (np.isfinite(value) and value > 0.0):
            raise BadInput(field, value, "It must be above 0.")
    low, high = shape
    if not 0.0 < low <= high:
        raise BadInput("shape", low, "The lower figure must be above 0 and not above the upper one.")
    mean = 100.0 * fill_l / depth_mm
    return 0.5 * (low + high) * mean, (high - low) / 12.0**0.5 * mean


@dataclass(frozen=True, slots=True)
class AreaChoice:
    """Free surface from two sources: ``blended`` or, where they contradict each other (|z| > 2), the pours alone."""

    area_dm2: float
    u_area_dm2: float
    z: float
    blended: bool
    remarks: tuple[str, ...]


def combine_area(fit: PourFit, other_dm2: float, u_other_dm2: float) -> AreaChoice:
    """Pours together with another figure of the free surface, such as `fill_area`.

    Formula: inverse-variance weights on b = 1/A, u(b) = u(A)/A^2, since the readings' errors are in b; z is the difference in b
    over its standard uncertainty. Where |z| > 2 nothing is blended: the pours are kept and the contradiction is named.
    Source: weighted mean, JCGM 100:2008 (from memory); the rule is our own.
    """
    if not (other_dm2 > 0.0 and u_other_dm2 > 0.0):
        raise BadInput("area", min(other_dm2, u_other_dm2), "The area and its uncertainty must be above 0 dm2.")
    b, v = np.array([1.0 / fit.area_dm2, 1.0 / other_dm2]), np.array([fit.u_area_dm2 / fit.area_dm2**2, u_other_dm2 / other_dm2**2]) ** 2
    z = float((b[0] - b[1]) / np.sqrt(v.sum()))
    if abs(z) > CONTRADICTION:
        both = f"The pours say {fit.area_dm2 / 100:.3g} L per mm, the other figure {other_dm2 / 100:.3g}"
        told = f"{both}: that is more than chance. The pours are used; measure again."
        return AreaChoice(fit.area_dm2, fit.u_area_dm2, z, False, (told,))
    mean = float((b / v).sum() / (1.0 / v).sum())
    return AreaChoice(1.0 / mean, float((1.0 / v).sum() ** -0.5) / mean**2, z, True, ())


@dataclass(frozen=True, slots=True)
class ShapeFit:
    """A drawn shape corrected by measured fills: true volume = scale x drawn volume at (reading + offset)."""

    scale: float
    u_scale: float
    offset_mm: float
    u_offset_mm: float
    correlation: float
    chi2: float
    dof: int


def shape_fit(curve: Curve, volume_l: ArrayLike, reading_mm: ArrayLike, u_reading_mm: float) -> ShapeFit:
    """Scale of a drawn tank and offset of its stick from readings at known volumes.

    curve : of the tank as drawn; volume_l : litres in the tank at each reading [L]; reading_mm : gauge readings [mm];
    u_reading_mm : standard uncertainty of one reading [mm].
    Errors: BadInput for columns that do not fit; CannotAnswer where no scale makes the volumes fit the drawn shape.
    Formula: Gauss-Newton on reading = curve^-1(V/k) - d with dh/dk = -V/(k^2 A), dh/dd = -1; cov = u^2 (J'J)^-1, widened by
    chi2/dof where above 1. Own arrangement. A scale far from 1 means a wrong shape: show it, never apply it unseen.
    """
    volume, reading = np.asarray(volume_l, dtype=np.float64), np.asarray(reading_mm, dtype=np.float64)
    if volume.ndim != 1 or volume.shape != reading.shape or volume.size < 2:
        raise BadInput("fills", f"{volume.size} volumes, {reading.size} readings", "Give as many readings as volumes, at least two.")
    if not (np.all(np.isfinite(volume)) and np.all(np.isfinite(reading)) and np.all(volume > 0.0)):
        raise BadInput("fills", str(volume.tolist()), "Every volume must be above 0 L and every reading a number.")
    if not u_reading_mm > 0.0:
        raise BadInput("reading uncertainty", u_reading_mm, "It must be above 0 mm.")
    no_fit = CannotAnswer("scale of the tank", "no scale makes these fills fit the drawn shape", "Check the drawing and the readings.")
    scale, offset = 1.0 if volume.max() < curve.capacity_l else float(volume.max()) / (0.98 * curve.capacity_l), 0.0
    for _ in range(60):
        inside = volume / scale
        if not (scale > 0.0 and np.all((inside > curve.least_l) & (inside < curve.capacity_l))):
            raise no_fit
        level = np.asarray(curve.level_mm(inside))
        per_mm = np.asarray(curve.area_dm2(level)) / 100.0
        jacobian = np.column_stack([-inside / (scale * per_mm), -np.ones(volume.size)])
        residual = reading - (level - offset)
        normal = jacobian.T @ jacobian
        if not np.linalg.cond(normal) < 1e14:
            raise CannotAnswer("scale of the tank", "these fills do not tell scale and offset apart", "Add fills at other levels.")
        step = np.linalg.solve(normal, jacobian.T @ residual)
        while scale + step[0] <= float(volume.max()) / curve.capacity_l or scale + step[0] > 4.0 * scale:
            step = 0.5 * step
        scale, offset = scale + float(step[0]), offset + float(step[1])
        if abs(step[0]) < 1e-12 * scale and abs(step[1]) < 1e-9:
            break
    else:
        raise no_fit
    chi2, dof = float(residual @ residual) / u_reading_mm**2, volume.size - 2
    covariance = np.linalg.inv(normal) * u_reading_mm**2 * max(1.0, chi2 / dof if dof else 1.0)
    u_scale, u_offset = np.sqrt(np.diag(covariance))
    return ShapeFit(scale, float(u_scale), offset, float(u_offset), float(covariance[0, 1] / (u_scale * u_offset)), chi2, dof)
