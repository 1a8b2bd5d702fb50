"""What a watch says, in plain words."""

import math

from fluidapp.calc.figure import figure
from fluidapp.calc.watch.trend import Trend


def rate(found: Trend, per_l: float = 1.0, unit: str = "L") -> str:
    """The rate with its 95 % ±, per hour of the watch's clock; where it would need many zeros, per 100 h.

    per_l : person's units in a litre. "not known" before there is a line.
    """
    if not math.isfinite(found.u):
        return "not known"
    sign = -1.0 if found.verdict == "gaining" else 1.0
    hundred = abs(found.rate_l_h * per_l) < 0.1 and found.u * per_l < 0.05
    value, u, per = (100.0, 100.0, "100 h") if hundred else (1.0, 1.0, "h")
    return str(figure(sign * found.rate_l_h * per_l * value, found.u * per_l * u, found.dof, f"{unit}/{per}"))


def amount(rate_l_h: float, per_l: float = 1.0, unit: str = "L") -> str:
    """A rate without ±, to two figures, per hour or per 100 h."""
    if not math.isfinite(rate_l_h):
        return "any"
    value = rate_l_h * per_l
    return f"{value:.2g} {unit}/h" if value >= 0.1 else f"{100.0 * value:.2g} {unit}/100 h"


def headline(found: Trend) -> str:
    """The verdict as a label."""
    return {
        "losing": "Losing",
        "gaining": "Gaining",
        "holding": "Holding, within",
        "holding at rest": "Holding at rest, within",
        "too early": "Too early to say",
    }[found.verdict]
