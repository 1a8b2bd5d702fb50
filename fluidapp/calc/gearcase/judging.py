"""Keep or change: what a mixture's viscosity has become, against a limit that can be edited."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc import oil
from fluidapp.calc.figure import coverage_factor
from fluidapp.calc.gearcase.shares import R_SOURCE, viscosity
from fluidapp.errors import CannotAnswer, OutOfRange
from fluidapp.model import Product

Word = Literal["drain and refill", "keep", "keep and check again", "not clear", "no verdict"]
R_NOMINAL = 0.1 / math.sqrt(3.0)  # a grade's ±10 %, as if anything within were equally likely (JCGM 100, 4.3.7, from memory)


@dataclass(frozen=True, slots=True)
class Limit:
    """Change of viscosity from the new oil [%], thinner and thicker, at which to check and at which to change; all editable."""

    label: str
    thinner_change: float
    thicker_change: float
    thinner_check: float | None = None
    thicker_check: float | None = None
    source: str = "entered"

    def __post_init__(self) -> None:
        for name, check, change in (
            ("thinner", self.thinner_check, self.thinner_change),
            ("thicker", self.thicker_check, self.thicker_change),
        ):
            if not (change > 0 and math.isfinite(change)) or (name == "thinner" and change >= 100):
                raise OutOfRange(
                    f"limit, {name}", change, 0.0, 100.0, "%", "Enter a change of viscosity; 15 % is 15.", True, name == "thinner"
                )
            if check is not None and not 0 < check <= change:
                raise OutOfRange(f"limit to check, {name}", check, 0.0, change, "%", "It lies at or below the limit to change.", above=True)


# guides, not rules: there are no uniform limits, and own figures over time are better (STLE TLT, May 2012, read)
TRAVEL = Limit(
    "travel gear", 15.0, 15.0, source="service manual of the 21-24 t class, travel gear (second-hand); for a slewing gearbox: own proposal"
)
INDUSTRIAL = Limit("industrial oil", 10.0, 10.0, 5.0, 5.0, source="trade article, 2010 (read)")
SEVERE = Limit(
    "severe duty, or oil with viscosity improver",
    20.0,
    8.0,
    10.0,
    4.0,
    source="trade article, 2010 (read): thicker 4 and 8 %, the lower limits doubled",
)
GUIDES = (TRAVEL, INDUSTRIAL, SEVERE)


@dataclass(frozen=True, slots=True)
class Viscosity:
    """A viscosity of the mixture [mm2/s] at ``temp_c`` with its standard uncertainty, and that of the new oil there."""

    temp_c: float
    nu: float
    u: float
    new: float
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """Change of viscosity from the new oil [%, thinner < 0], from ``low`` to ``high``: each is passed in 5 % of cases only."""

    low: float
    high: float
    percent: float | None
    how: Literal["measured", "from the share", "from the grade"]


def predicted(x: float, u_x: float, own: Product, other: Product, temp_c: float) -> Viscosity:
    """Viscosity of the mixture with the share ``x`` ± ``u_x`` of ``other``, at ``temp_c`` [°C].

    x is taken within 0 to 1. The oils are blended at 40 and at 100 °C, and the mixture's own line through both is followed, which is
    the same as blending at ``temp_c``. CannotAnswer where a viscosity is missing. u: share, and both oils by their source (a nominal
    one ±10 %).
    Formula: :func:`fluidapp.calc.oil.blend_viscosity` and :func:`fluidapp.calc.oil.walther`; u by central differences (JCGM 100, 5.1.2).
    """
    share = min(1.0, max(0.0, x))
    temps = (temp_c,) if temp_c in (40.0, 100.0) else (40.0, 100.0)
    news = [(viscosity(own, t), viscosity(other, t)) for t in temps]

    def mixed(step_x: float, by_own: float, by_other: float) -> float:
        at = min(1.0, max(0.0, share + step_x))
        nus = [float(oil.blend_viscosity([a * by_own, b * by_other], [1 - at, at])) for a, b in news]
        return nus[0] if len(nus) == 1 else float(oil.viscosity_at(*oil.walther(nus[0], 40.0, nus[1], 100.0), temp_c))

    nu = mixed(0.0, 1.0, 1.0)
    r_own, r_other = (R_SOURCE.get(p.nu_source, R_NOMINAL) for p in (own, other))
    parts = (
        _half(lambda k: mixed(k * u_x, 1.0, 1.0)),
        _half(lambda k: mixed(0.0, 1.0 + k * r_own, 1.0)),
        _half(lambda k: mixed(0.0, 1.0, 1.0 + k * r_other)),
    )
    known = (40.0, 100.0) if len(temps) == 2 else temps
    return Viscosity(temp_c, nu, math.hypot(*parts), viscosity(own, temp_c), oil.viscosity_remarks(nu, temp_c, known))


def change_by_share(x: float, u_x: float, dof: float, own: Product, other: Product, *, at_least: bool = False) -> Change:
    """Change at 40 °C that the share means, as a ratio to the new oil, so that the oil's own band matters little.

    at_least : x is a lower bound, so that the change may be larger without end. One-sided limits at 95 %.
    """
    base, cont = viscosity(own, 40.0), viscosity(other, 40.0)
    r_own, r_other = (R_SOURCE.get(p.nu_source, R_NOMINAL) for p in (own, other))

    def ratio(step_x: float, by_own: float, by_other: float) -> float:
        at = min(1.0, max(0.0, x + step_x))
        return float(oil.blend_viscosity([base * by_own, cont * by_other], [1 - at, at])) / (base * by_own)

    value = ratio(0.0, 1.0, 1.0) - 1
    other_u = math.hypot(_half(lambda k: ratio(0.0, 1.0 + k * r_own, 1.0)), _half(lambda k: ratio(0.0, 1.0, 1.0 + k * r_other)))
    k = coverage_factor(dof, 0.90)
    ends = sorted(ratio(sign * k * u_x, 1.0, 1.0) - 1 for sign in (-1, 1))
    low, high = value - math.hypot(value - ends[0], k * other_u), value + math.hypot(ends[1] - value, k * other_u)
    if at_least:
        full = cont / base - 1
        low, high = min(low, full), max(high, full)
    return Change(100 * low, 100 * high, None if at_least else 100 * value, "from the share")


def change_measured(nu: float, r: float, base: tuple[float, float], r_base: float) -> Change:
    """Change of a measured viscosity from the new oil: from a figure with its doubt, or from the band of a grade."""
    k = coverage_factor(math.inf, 0.90)
    if base[0] == base[1]:
        value = nu / base[0] - 1
        u = (1 + value) * math.hypot(r, r_base)
        return Change(100 * (value - k * u), 100 * (value + k * u), 100 * value, "measured")
    return Change(100 * (nu * (1 - k * r) / base[1] - 1), 100 * (nu * (1 + k * r) / base[0] - 1), None, "from the grade")


def word(change: Change, limit: Limit) -> Word:
    """What a change of viscosity means against a limit; "not clear" where its ± reaches over it. Own rule.

    >>> word(Change(-22.0, -17.0, -19.5, "measured"), TRAVEL), word(Change(-18.0, -12.0, -15.0, "measured"), TRAVEL)
    ('drain and refill', 'not clear')
    """
    if change.high < -limit.thinner_change or change.low > limit.thicker_change:
        return "drain and refill"
    if change.low < -limit.thinner_change or change.high > limit.thicker_change:
        return "not clear"
    thin = limit.thinner_check if limit.thinner_check is not None else limit.thinner_change
    thick = limit.thicker_check if limit.thicker_check is not None else limit.thicker_change
    return "keep" if change.low >= -thin and change.high <= thick else "keep and check again"


def mixed_remark(own: Product, other: Product) -> str | None:
    """Why there is no viscosity verdict, where one of the oils is not known; None where both are."""
    for product in (own, other):
        try:
            viscosity(product, 40.0)
        except CannotAnswer:
            return f"The viscosity of {product.label} is not entered, so there is no verdict from viscosity."
    return None


def _half(at: Callable[[float], float]) -> float:
    return abs(at(1.0) - at(-1.0)) / 2
