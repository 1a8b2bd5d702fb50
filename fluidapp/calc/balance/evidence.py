"""How well sets of leak paths explain measured changes: least squares with volumes >= 0, and the evidence for each."""

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_LN_2PI = math.log(2.0 * math.pi)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_DROP = 45.0  # e^-45 of the peak is left out
_STEPS = np.linspace(0.0, 1.0, 33)


class Fit(NamedTuple):
    """Volumes >= 0 that come nearest to the changes, u of each, their chi-square, and the natural logarithm of the evidence."""

    volumes: Array
    u: Array
    chi2: float
    ln_evidence: float


def fits(y: Array, chol: Array, columns: Sequence[Array], fmax: float) -> list[Fit | None]:
    """Every story with its path ``columns`` (m x k, k = 0, 1 or 2); None where the readings cannot tell its volumes apart.

    y : m changes. chol : lower Cholesky factor of their covariance V. fmax : a volume is anywhere from 0 to this, evenly.
    Fit: min (y - P f)' V^-1 (y - P f) with f >= 0. Evidence, with C = (P' V^-1 P)^-1, f^ = C P' V^-1 y, r = y - P f^:
    ln Z = ln N(r; 0, V) + (k/2) ln 2 pi + (1/2) ln |C| - k ln fmax + ln Pr(0 < f < fmax), f ~ N(f^, C).
    Own model; the integral is that of a normal density over a box.
    """
    white_y = np.asarray(np.linalg.solve(chol, y), dtype=np.float64)
    ln_norm = -0.5 * len(y) * _LN_2PI - float(np.log(np.diag(chol)).sum())
    found: list[Fit | None] = [None] * len(columns)
    for k in (0, 1, 2):
        index = [i for i, rows in enumerate(columns) if rows.shape[1] == k and k <= len(y)]
        if index:
            white = np.linalg.solve(chol, np.array([columns[i] for i in index]))
            for i, one in zip(index, _of_one_size(white_y, np.asarray(white, dtype=np.float64), ln_norm, fmax), strict=True):
                found[i] = one
    return found


def _of_one_size(y: Array, white: Array, ln_norm: float, fmax: float) -> list[Fit | None]:
    """The same for n stories of k paths each, whitened: y (m), white (n x m x k)."""
    n, _, k = white.shape
    if k == 0:
        chi2 = float(y @ y)
        return [Fit(np.zeros(0), np.zeros(0), chi2, ln_norm - 0.5 * chi2)] * n
    told = np.asarray(np.linalg.matrix_rank(white, tol=1e-9 * np.maximum(1.0, np.abs(white).max(axis=(1, 2))))) == k
    white = white[told]
    inner = white.transpose(0, 2, 1) @ white
    cov = np.asarray(np.linalg.inv(inner), dtype=np.float64)
    u = np.sqrt(np.einsum("nii->ni", cov))
    free: Array = np.einsum("nij,nmj,m->ni", cov, white, y)
    left = y - np.einsum("nmi,ni->nm", white, free)
    volumes = _not_below_zero(y, white, inner, free)
    off = y - np.einsum("nmi,ni->nm", white, volumes)
    ln_box = _ln_box_1(free[:, 0], u[:, 0], fmax) if k == 1 else _ln_box_2(free, cov, fmax)
    ln_det = np.log(np.linalg.det(inner))
    ln_z = ln_norm - 0.5 * (left * left).sum(axis=1) + 0.5 * k * _LN_2PI - 0.5 * ln_det - k * math.log(fmax) + ln_box
    fitted = iter(Fit(*one) for one in zip(volumes, u, (off * off).sum(axis=1).tolist(), ln_z.tolist(), strict=True))
    return [next(fitted) if ok else None for ok in told]


def _not_below_zero(y: Array, white: Array, inner: Array, free: Array) -> Array:
    """Volumes >= 0 of one or two paths: the free ones, or with two the better of the paths alone where one came out below 0."""
    size: Array = np.diagonal(inner, axis1=1, axis2=2)
    alone: Array = np.maximum(np.einsum("nmi,m->ni", white, y), 0.0) / size
    if free.shape[1] == 1:
        return alone
    gain: Array = alone**2 * size  # what chi-square falls by
    first = gain[:, 0] >= gain[:, 1]
    single = np.stack([np.where(first, alone[:, 0], 0.0), np.where(first, 0.0, alone[:, 1])], axis=1)
    return np.where(np.all(free > 0.0, axis=1, keepdims=True), free, single)


def _ln_between(low: Array, high: Array) -> Array:
    """ln(Phi(high) - Phi(low)) without loss in either tail."""
    from scipy.special import log_ndtr

    flip = low > 0
    a, b = np.where(flip, -high, low), np.where(flip, -low, high)
    ln_a, ln_b = log_ndtr(a), log_ndtr(b)
    with np.errstate(divide="ignore"):
        return np.asarray(ln_b + np.log(-np.expm1(np.minimum(ln_a - ln_b, 0.0))))


def _ln_box_1(mean: Array, sd: Array, fmax: float) -> Array:
    return _ln_between(-mean / sd, (fmax - mean) / sd)


def _ln_box_2(mean: Array, cov: Array, fmax: float) -> Array:
    """ln Pr(0 < f < fmax) of n normal pairs: the second variable in closed form, the first by Gauss-Legendre panels about its peak.

    mean (n x 2), cov (n x 2 x 2). The integrand is log-concave, so its peak and the places where it has fallen by e^-45 are found by
    narrowing a grid.
    """
    s1 = np.sqrt(cov[:, 0, 0])
    slope = cov[:, 0, 1] / cov[:, 0, 0]
    s2 = np.sqrt(np.maximum(cov[:, 1, 1] - slope * cov[:, 0, 1], 1e-300))
    rows = np.arange(len(mean))

    def ln_g(x: Array, of: NDArray[np.int_] = rows) -> Array:
        away = x - mean[of, 0, None]
        middle = mean[of, 1, None] + slope[of, None] * away
        z, width = away / s1[of, None], s2[of, None]
        return np.asarray(-0.5 * z * z - 0.5 * _LN_2PI - np.log(s1[of, None]) + _ln_between(-middle / width, (fmax - middle) / width))

    low, high = np.zeros(len(mean)), np.full(len(mean), fmax)
    for _ in range(9):
        grid = _grid(low, high)
        i = np.argmax(ln_g(grid), axis=1)
        low, high = grid[rows, np.maximum(i - 1, 0)], grid[rows, np.minimum(i + 1, len(_STEPS) - 1)]
    peak = 0.5 * (low + high)
    floor = ln_g(peak[:, None])[:, 0] - _DROP
    start, end = (_where_it_falls(ln_g, peak, edge, floor) for edge in (np.zeros(len(mean)), np.full(len(mean), fmax)))
    panels = np.minimum(2048, 8 * 2 ** np.ceil(np.log2(1.0 + 0.5 * np.hypot(1.0, np.abs(slope) * s1 / s2)))).astype(int)
    found = np.empty(len(mean))
    for count in np.unique(panels):
        of = rows[panels == count]
        half = (0.5 * (end - start)[of] / count)[:, None, None]
        middles = start[of, None, None] + half * (2.0 * np.arange(count) + 1.0)[:, None]
        x = (middles + half * _NODES).reshape(len(of), -1)
        ln_values = (ln_g(x, of) - floor[of, None] - _DROP).reshape(len(of), count, -1)
        found[of] = floor[of] + _DROP + np.log((half * _WEIGHTS * np.exp(ln_values)).sum(axis=(1, 2)))
    return found


def _grid(low: Array, high: Array) -> Array:
    return np.asarray(low[:, None] + (high - low)[:, None] * _STEPS)


def _where_it_falls(ln_g: Callable[[Array], Array], peak: Array, edge: Array, floor: Array) -> Array:
    """The places between ``peak`` and ``edge`` where the function falls to ``floor``, or the edge where it does not."""
    rows = np.arange(len(peak))
    inside, outside = peak, edge
    for _ in range(4):
        grid = _grid(inside, outside)
        i = np.maximum(np.argmax(ln_g(grid) < floor[:, None], axis=1), 1)  # the first that has fallen
        inside, outside = grid[rows, i - 1], grid[rows, i]
    return np.where(ln_g(edge[:, None])[:, 0] >= floor, edge, outside)
