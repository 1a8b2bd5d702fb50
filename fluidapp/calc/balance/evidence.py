"""How well one set of leak paths explains measured changes: least squares with volumes >= 0, and the evidence for it."""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_LN_2PI = math.log(2.0 * math.pi)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)
_DROP = 45.0  # e^-45 of the peak is left out


class Fit(NamedTuple):
    """Volumes >= 0 that come nearest to the changes, their chi-square, and the natural logarithm of the evidence."""

    volumes: Array
    chi2: float
    ln_evidence: float


def fit(y: Array, chol: Array, columns: Array, fmax: float) -> Fit | None:
    """The story with these path ``columns`` (m x k, k = 0, 1 or 2); None where the readings cannot tell its volumes apart.

    y : m changes. chol : lower Cholesky factor of their covariance V. fmax : a volume is anywhere from 0 to this, evenly.
    Fit: min (y - P f)' V^-1 (y - P f) with f >= 0. Evidence, with C = (P' V^-1 P)^-1, f^ = C P' V^-1 y, r = y - P f^:
    ln Z = ln N(r; 0, V) + (k/2) ln 2 pi + (1/2) ln |C| - k ln fmax + ln Pr(0 < f < fmax), f ~ N(f^, C).
    Own model; the integral is that of a normal density over a box.
    """
    m, k = columns.shape
    white_y = np.linalg.solve(chol, y)
    ln_norm = -0.5 * m * _LN_2PI - float(np.log(np.diag(chol)).sum())
    if k == 0:
        chi2 = float(white_y @ white_y)
        return Fit(np.zeros(0), chi2, ln_norm - 0.5 * chi2)
    white = np.linalg.solve(chol, columns)
    if k > m or int(np.linalg.matrix_rank(white, tol=1e-9 * max(1.0, float(np.abs(white).max())))) < k:
        return None
    from scipy.optimize import nnls

    volumes, distance = nnls(white, white_y)
    cov = np.linalg.inv(white.T @ white)
    free = cov @ (white.T @ white_y)
    left = white_y - white @ free
    ln_box = _ln_box_1(float(free[0]), math.sqrt(cov[0, 0]), fmax) if k == 1 else _ln_box_2(free, cov, fmax)
    ln_z = ln_norm - 0.5 * float(left @ left) + 0.5 * k * _LN_2PI + 0.5 * math.log(float(np.linalg.det(cov))) - k * math.log(fmax) + ln_box
    return Fit(np.asarray(volumes), float(distance) ** 2, ln_z)


def _ln_between(low: Array, high: Array) -> Array:
    """ln(Phi(high) - Phi(low)) without loss in either tail."""
    from scipy.special import log_ndtr

    flip = low > 0
    a, b = np.where(flip, -high, low), np.where(flip, -low, high)
    ln_a, ln_b = log_ndtr(a), log_ndtr(b)
    with np.errstate(divide="ignore"):
        return np.asarray(ln_b + np.log(-np.expm1(np.minimum(ln_a - ln_b, 0.0))))


def _ln_box_1(mean: float, sd: float, fmax: float) -> float:
    return float(_ln_between(np.array(-mean / sd), np.array((fmax - mean) / sd)))


def _ln_box_2(mean: Array, cov: Array, fmax: float) -> float:
    """ln Pr(0 < f < fmax) of a normal pair: the second variable in closed form, the first by Gauss-Legendre panels about its peak.

    The integrand is log-concave, so its peak and the places where it has fallen by e^-45 are found by narrowing a grid.
    """
    s1 = math.sqrt(cov[0, 0])
    slope = cov[0, 1] / cov[0, 0]
    s2 = math.sqrt(max(cov[1, 1] - slope * cov[0, 1], 1e-300))

    def ln_g(x: Array) -> Array:
        middle = mean[1] + slope * (x - mean[0])
        z = (x - mean[0]) / s1
        return np.asarray(-0.5 * z * z - 0.5 * _LN_2PI - math.log(s1) + _ln_between(-middle / s2, (fmax - middle) / s2))

    low, high = 0.0, fmax
    for _ in range(9):
        grid = np.linspace(low, high, 33)
        i = int(np.argmax(ln_g(grid)))
        low, high = float(grid[max(i - 1, 0)]), float(grid[min(i + 1, 32)])
    peak = 0.5 * (low + high)
    floor = float(ln_g(np.array(peak))) - _DROP
    start, end = _where_it_falls(ln_g, peak, 0.0, floor), _where_it_falls(ln_g, peak, fmax, floor)
    panels = min(2000, 8 + math.ceil(4.0 * math.hypot(1.0, abs(slope) * s1 / s2)))
    edges = np.linspace(start, end, panels + 1)
    half = (edges[1:] - edges[:-1])[:, None] / 2.0
    x = edges[:-1, None] + half * (1.0 + _NODES)
    ln_values = ln_g(x) - floor - _DROP
    return floor + _DROP + math.log(float((half * _WEIGHTS * np.exp(ln_values)).sum()))


def _where_it_falls(ln_g: Callable[[Array], Array], peak: float, edge: float, floor: float) -> float:
    """The place between ``peak`` and ``edge`` where the function falls to ``floor``, or the edge."""
    if float(ln_g(np.array(edge))) >= floor:
        return edge
    inside, outside = peak, edge
    for _ in range(4):
        grid = np.linspace(inside, outside, 33)
        i = int(np.argmax(ln_g(grid) < floor))  # the first that has fallen; the last one has
        inside, outside = float(grid[i - 1]), float(grid[i])
    return outside
