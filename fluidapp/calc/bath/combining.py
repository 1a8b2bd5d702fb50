"""Several methods together: averaged where they agree, listed where they do not."""

import math
from collections.abc import Iterable

import numpy as np

from fluidapp.calc.bath.estimate import Combined, Estimate, Method
from fluidapp.calc.decision import CLAIM, quadrature
from fluidapp.calc.limits import zero_or_more
from fluidapp.errors import BadInput, OutOfRange

_LAB: frozenset[Method] = frozenset({"thickener", "viscosity", "tracer", "density"})
_DISAGREE = "The methods disagree: look for water, added grease, or a wrong reference. They are not averaged."


def combine(estimates: Iterable[Estimate], u_sampling: float | None = None, density: bool = False, p_agree: float = 0.95) -> Combined:
    """One mass share of foreign oil from all methods that gave one, or the word that they disagree.

    estimates : of any method; refused ones and bounds are never averaged, density only with ``density=True``.
    u_sampling : standard uncertainty of taking the sample [mass share, >= 0], shared by all laboratory methods; None = not known,
    which is said. p_agree : share of honest cases in which the test passes. BadInput or OutOfRange for numbers that cannot be.

    Formula: w = sum(w_i/u_i^2) / sum(1/u_i^2), u = 1/sqrt(sum 1/u_i^2), chi2 = sum(((w_i - w)/u_i)^2) on k - 1 degrees of
    freedom; with sampling the same by generalised least squares, the shared part standing off the diagonal. Above the chi-square
    quantile, or beyond a bound by 2 u, there is no average. Own rules; weighted mean: any text on least squares.

    >>> four = [Estimate("level rise", 0.20, 0.05), Estimate("thickener", 0.20, 0.05),
    ...         Estimate("viscosity", 0.16, 0.04), Estimate("tracer", 0.21, 0.025)]
    >>> both = combine(four, u_sampling=0.0)
    >>> round(both.w, 3), round(both.u, 3), round(both.chi2, 3), both.dof, both.agree
    (0.197, 0.018, 1.133, 3, True)
    """
    estimates = tuple(estimates)
    if u_sampling is not None:
        zero_or_more("doubt of sampling", u_sampling, "", "Enter a mass share, 0 or more.")
    averaged = [e for e in estimates if e.kind == "two_sided" and e.w is not None and (density or e.method != "density")]
    methods = [e.method for e in averaged]
    for method in methods:
        if methods.count(method) > 1:
            raise BadInput("methods", method, "It stands there twice; keep the better one.")
    remarks = [f"{e.method}: not used, {e.refused_reason}." for e in estimates if e.refused_reason]
    if any(e.method in _LAB for e in averaged) and u_sampling is None:
        remarks.append("Sampling error not included: a used sample is small and local, take it from at least four places.")
    beyond = [text for e in estimates for text in _beyond_ceiling(e, estimates)]
    if not averaged:
        return Combined(None, None, 0.0, 0, None, ("Not known: no method gave a share.", *remarks, *beyond))

    w_i = np.array([float(e.w or 0.0) for e in averaged])
    u_i = np.array([float(e.u or 0.0) for e in averaged])
    if not (np.all(u_i > 0) and np.all(np.isfinite(u_i)) and np.all(np.isfinite(w_i))):
        raise BadInput("standard uncertainty", "one of the methods", "Every share needs a doubt above 0.")
    lab = np.array([e.method in _LAB for e in averaged], dtype=np.float64)
    cov = np.diag(u_i**2) + (u_sampling or 0.0) ** 2 * np.outer(lab, lab)
    weights = np.linalg.solve(cov, np.ones(w_i.size))
    u = 1.0 / math.sqrt(float(weights.sum()))
    weights = weights / weights.sum()
    w = float(weights @ w_i)
    left = w_i - w
    chi2 = float(left @ np.linalg.solve(cov, left))
    dof = len(averaged) - 1
    _, u_dof = quadrature((abs(float(k)) * float(s), e.dof) for k, s, e in zip(weights, u_i, averaged, strict=True))
    beyond += [text for e in estimates for text in _beyond_bound(e, w, u)]
    fits = dof == 0 or chi2 <= _limit(dof, p_agree)
    agree = (fits and not beyond) if dof or beyond else None
    used = tuple(methods)
    if agree is False:
        listed = "; ".join(f"{e.method} {e.w:.2f}" for e in averaged)
        return Combined(None, None, chi2, dof, False, (_DISAGREE, f"Mass shares: {listed}.", *beyond, *remarks), u_dof, used)
    if dof == 0:
        remarks.append(f"Only {methods[0]} speaks: nothing to compare it with.")
    return Combined(w, u, chi2, dof, agree, tuple(remarks), u_dof, used)


def _limit(dof: int, p: float) -> float:
    from scipy.special import chdtri

    if not 0 < p < 1:
        raise OutOfRange("p_agree", p, 0.0, 1.0, "", "Enter a share such as 0.95.", True, True)
    return float(chdtri(dof, 1.0 - p))


def _beyond_bound(bound: Estimate, w: float, u: float) -> list[str]:
    if bound.w is None:
        return []
    if bound.kind == "upper" and w - 2.0 * u > bound.w:
        return [f"The average lies above the most that {bound.method} allows."]
    if bound.kind == "lower" and w + 2.0 * u < bound.w:
        return [f"The average lies below the least that {bound.method} shows."]
    return []


def _beyond_ceiling(ceiling: Estimate, estimates: tuple[Estimate, ...]) -> list[str]:
    """The litres of the level rise against what tank and gearboxes could have given."""
    if ceiling.kind != "ceiling" or ceiling.volume_l is None or ceiling.u_l is None:
        return []
    for rise in estimates:
        if rise.method == "level rise" and rise.volume_l is not None and rise.u_l is not None:
            doubt = math.hypot(rise.u_l, ceiling.u_l)
            if rise.volume_l - ceiling.volume_l > CLAIM * doubt:
                return ["The rise is more than tank and gearboxes could have given: water, grease, or an unrecorded pour."]
    return []
