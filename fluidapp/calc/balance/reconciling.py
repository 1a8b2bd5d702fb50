"""Measured streams made to agree with the balances that must hold, and the tests that say whether they could.

Source of all: S. Narasimhan, C. Jordache, Data Reconciliation and Gross Error Detection (Gulf, 2000), chapters 1, 3 and 7
(formulas from memory).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fluidapp.errors import BadInput

Array = NDArray[np.float64]


class Reconciled(NamedTuple):
    """``x`` nearest to the readings with A x = b, its covariance, and the global test gamma with its degrees of freedom."""

    x: Array
    cov: Array
    gamma: float
    dof: int

    @property
    def p(self) -> float:
        """Chance of a gamma this large where only the stated doubts are at work; nan where there is nothing to test."""
        from scipy.special import chdtrc

        return float(chdtrc(self.dof, self.gamma)) if self.dof > 0 else float("nan")


def reconcile(y: Array, V: Array, A: Array, b: Array | None = None) -> Reconciled:
    """Readings ``y`` moved as little as their doubts allow until the balances A x = b hold.

    y : n readings [L]. V : n x n covariance [L2], symmetric, no negative variance. A : m x n, +1 into and -1 out of a node.
    b : m known contents, 0 by default. BadInput for shapes that do not fit, numbers that are not finite, a V that is no
    covariance, and balances of readings that are all stated to be exact.

    Formula: r = A y - b, H = A V A', x = y - V A' H^-1 r, cov = V - V A' H^-1 A V, gamma = r' H^-1 r on rank(A) degrees of
    freedom; gamma is compared with chi-square. An unmeasured stream gets a very large variance (and costs one degree).
    Source: module docstring.

    A splitter in which 10 goes in and 4 + 5 come out, all known to 1; common sense, not a published example:
    >>> x, cov, gamma, dof = reconcile(np.array([10.0, 4.0, 5.0]), np.eye(3), np.array([[1.0, -1.0, -1.0]]))
    >>> x.round(3).tolist(), round(gamma, 3), dof
    ([9.667, 4.333, 5.333], 0.333, 1)
    """
    y, V, A, r = _checked(y, V, A, b)
    H = A @ V @ A.T
    rank = int(np.linalg.matrix_rank(A))
    if int(np.linalg.matrix_rank(H)) < rank:
        raise BadInput("V", "the covariance", "A balance whose readings are all exact cannot be adjusted; give one of them a doubt.")
    VAt = V @ A.T
    if rank == A.shape[0]:
        solved = np.linalg.solve(H, np.column_stack([r, VAt.T]))
    else:  # a balance that follows from the others
        solved = np.linalg.lstsq(H, np.column_stack([r, VAt.T]), rcond=None)[0]
    x = y - VAt @ solved[:, 0]
    cov = V - VAt @ solved[:, 1:]
    return Reconciled(x, (cov + cov.T) / 2.0, float(r @ solved[:, 0]), rank)


def nodal_test(y: Array, V: Array, A: Array, b: Array | None = None) -> Array:
    """|z| of every balance by itself, m values: |r_i| / sqrt(H_ii). Arguments and errors as in :func:`reconcile`.

    Compare with the normal quantile for m simultaneous tests. Source: module docstring.
    """
    y, V, A, r = _checked(y, V, A, b)
    size = np.sqrt(np.diag(A @ V @ A.T))
    if not np.all(size > 0):
        raise BadInput("V", "the covariance", "A balance whose readings are all exact cannot be tested; give one of them a doubt.")
    return np.asarray(np.abs(r) / size)


def measurement_test(y: Array, V: Array, A: Array, b: Array | None = None) -> Array:
    """|z| of every reading's adjustment, n values: |y - x| / sqrt(W_jj), W = V A' H^-1 A V; nan where no balance touches it.

    Arguments and errors as in :func:`reconcile`. Source: module docstring.
    """
    x, cov, _, _ = reconcile(y, V, A, b)
    W = np.diag(np.asarray(V, dtype=np.float64) - cov)
    with np.errstate(divide="ignore", invalid="ignore"):  # 0/0 is the wanted nan
        return np.asarray(np.abs(np.asarray(y) - x) / np.sqrt(np.maximum(W, 0.0)))


def _checked(y: Array, V: Array, A: Array, b: Array | None) -> tuple[Array, Array, Array, Array]:
    y, V, A = np.asarray(y, dtype=np.float64), np.asarray(V, dtype=np.float64), np.asarray(A, dtype=np.float64)
    if y.ndim != 1 or V.shape != (y.size, y.size) or A.ndim != 2 or A.shape[1] != y.size or A.shape[0] == 0:
        raise BadInput("shapes", f"y {y.shape}, V {V.shape}, A {A.shape}", "For n readings V is n x n and A has n columns.")
    b = np.zeros(A.shape[0]) if b is None else np.asarray(b, dtype=np.float64)
    if b.shape != (A.shape[0],):
        raise BadInput("b", str(b.shape), "It needs one value a balance.")
    if not all(np.all(np.isfinite(a)) for a in (y, V, A, b)):
        raise BadInput("readings", "not finite", "Leave out what was not measured, or give it a very large variance.")
    if not np.allclose(V, V.T) or not np.all(np.diag(V) >= 0) or np.linalg.eigvalsh(V)[0] < -1e-9 * np.max(np.abs(V)):
        raise BadInput("V", "the covariance", "It must be symmetric and without a negative variance.")
    return y, V, A, np.asarray(A @ y - b)
