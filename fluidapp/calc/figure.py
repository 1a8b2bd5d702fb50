"""The one place where a value and its ± become text, and where an amount becomes something that people can pour."""

import math
from dataclasses import dataclass

from fluidapp.errors import BadInput

_STEPS = (1.0, 2.0, 5.0)
JUG_L = 10.0  # what is measured with a jug; above it the step of a pour depends on what it is poured into


def coverage_factor(dof: float, p: float = 0.95) -> float:
    """k of the two-sided ``p`` interval: Student's t for ``dof`` degrees of freedom, and 2 where dof > 30 and p is 0.95.

    dof : effective degrees of freedom, > 0, may be infinite; fractions are cut down to an integer. BadInput otherwise.
    Source: JCGM 100:2008 (GUM), G.3 and Table G.2; k = 2 as in NIST TN 1297, section 6 (both from memory).

    GUM Table G.2 prints t95 = 2.12 for 16 degrees of freedom:
    >>> round(coverage_factor(16), 2)
    2.12
    """
    if not dof > 0:
        raise BadInput("degrees of freedom", dof, "It must be above 0.")
    if dof > 30 and p == 0.95:
        return 2.0
    from scipy.special import ndtri, stdtrit

    tail = (1 + p) / 2
    return float(ndtri(tail)) if math.isinf(dof) else float(stdtrit(max(1.0, math.floor(dof)), tail))


def half_width(u: float, dof: float = math.inf) -> float:
    """95 % half-width of a figure with standard uncertainty ``u`` and ``dof`` degrees of freedom; same unit as ``u``."""
    if not (u > 0 and math.isfinite(u)):
        raise BadInput("standard uncertainty", u, "It must be above 0.")
    return coverage_factor(dof) * u


@dataclass(frozen=True, slots=True)
class Figure:
    """A value and its 95 % half-width, rounded together: ``str`` gives "26 ± 3 L"."""

    value: float
    half: float
    decimals: int
    unit: str

    @property
    def number(self) -> str:
        """The rounded value alone."""
        return f"{self.value + 0.0:.{self.decimals}f}"

    @property
    def plus_minus(self) -> str:
        """The rounded ± alone, with the unit."""
        return f"± {self.half:.{self.decimals}f} {self.unit}".rstrip()

    def __str__(self) -> str:
        return f"{self.number} {self.plus_minus}"


def figure(value: float, u: float, dof: float = math.inf, unit: str = "L") -> Figure:
    """``value`` with its ±, as it is printed everywhere.

    value, u : in ``unit``; u is the standard uncertainty (1 sigma), dof its degrees of freedom. BadInput unless u > 0.
    The ± is the 95 % half-width, rounded up to one digit and never 0; the value is rounded to the 1/2/5 step nearest below
    the half-width itself, with as many decimals: 25 with a half-width of 1.01 is "25 ± 2", not "24 ± 2". Rounding rule: ours.

    >>> str(figure(25.7, 1.45))
    '26 ± 3 L'
    >>> str(figure(0.637, 0.011, dof=3))
    '0.64 ± 0.04 L'
    """
    if not math.isfinite(value):
        raise BadInput("value", value, "It must be a finite number.")
    wide = half_width(u, dof)
    power = math.floor(math.log10(wide) + 1e-12)
    digits = wide / 10.0**power
    step = max((s for s in _STEPS if s < digits - 1e-9), default=1.0) * 10.0**power
    decimals = max(0, -power)
    rounded = round(round(value / step) * step, decimals)
    return Figure(rounded, round(math.ceil(digits - 1e-9) * 10.0**power, decimals), decimals, unit)


def pour_step(amount_l: float, tank_class_t: float | None = None) -> float:
    """The finest step [L] in which people measure ``amount_l``: a jug, a marked pail, a tank's own gauge.

    tank_class_t : machine class [t] where the amount goes into a hydraulic tank; None for every other compartment.
    Under 2 L 0.05; to 10 L 0.1; above that 0.2, or for a tank 1 L to the 20 t class (below 28 t) and 5 L over it.
    Source: common practice, no source.
    """
    size = abs(amount_l)
    if size < 2:
        return 0.05
    if size <= JUG_L:
        return 0.1
    if tank_class_t is None:
        return 0.2
    return 1.0 if tank_class_t < 28 else 5.0


def to_pour(amount_l: float, tank_class_t: float | None = None, *, down: bool = False, up: bool = False) -> float:
    """``amount_l`` rounded to the step of :func:`pour_step`, in L; ``down`` never rounds up, for "at least", ``up`` never down.

    >>> to_pour(12.4, 20.0), to_pour(12.4, 20.0, up=True), to_pour(12.6, 20.0, down=True)
    (12.0, 13.0, 12.0)
    """
    step = pour_step(amount_l, tank_class_t)
    steps = math.ceil(amount_l / step - 1e-9) if up else math.floor(amount_l / step + 1e-9) if down else round(amount_l / step)
    return round(steps * step, 2) + 0.0


def about(value: float, unit: str = "L") -> str:
    """A figure by its first three digits, for a mark or a size whose ± stands elsewhere; never as a power of ten.

    >>> about(1842.0), about(146.759), about(4.2)
    ('1840 L', '147 L', '4.2 L')
    """
    return f"{float(f'{value:.3g}'):.15g} {unit}"


def litres(amount_l: float) -> str:
    """A measured-out amount as text, without needless zeros: "6 L", "1.25 L"."""
    return f"{amount_l:.2f}".rstrip("0").rstrip(".") + " L"
