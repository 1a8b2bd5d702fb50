"""When to order, and how much: by the service that is wanted, or by what a shortage and the shelf cost."""

import math
from collections.abc import Callable
from typing import NamedTuple

from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import BadInput, OutOfRange

MOST = 10_000_000  # units; a point above it means that something was mistyped


def reorder_point(rate_mean: float, rate_var: float, lead_days: float, service: float) -> int:
    """Smallest stock at which ordering still leaves enough until the delivery, with probability ``service``; whole units.

    rate_mean : units (drums, filters) used a day, >= 0. rate_var : variance of that rate as it is known, (units/day)^2, 0 = known exactly;
    see :func:`rate_of`. lead_days : from the order to the delivery, > 0. service : above 0 and below 1. OutOfRange otherwise.
    Compare the point with what is on hand and on order, less what is reserved. Single units that are used independently of each other;
    demand in litres or in batches: count in the units that are opened.
    Formula: smallest r with P(D <= r) >= service; D is Poisson(rate L) where the variance is 0, else negative binomial with
    a = mean^2/var, p = b/(b + L), b = mean/var: a Poisson rate that is itself Gamma(a, b).
    Source: any text on stock keeping and on Bayesian statistics.

    0.15 drums a day, 14 days, 95 %: P(D <= 4) = 0.9379, P(D <= 5) = 0.9796 (computed by us)
    >>> reorder_point(0.15, 0.0, 14, 0.95), reorder_point(9.5 / 60, 9.5 / 60**2, 14, 0.95)
    (5, 5)
    """
    zero_or_more("use a day", rate_mean, "units")
    zero_or_more("variance of the use", rate_var, "")
    above_zero("days until delivery", lead_days, "d")
    if not 0 < service < 1:
        raise OutOfRange("service", service, 0.0, 1.0, "", "Enter a share such as 0.95.", above=True, below=True)
    if rate_mean == 0:
        if rate_var > 0:
            raise BadInput("variance of the use", rate_var, "A use of 0 has none.")
        return 0
    return _smallest(lambda r: demand_up_to(r, rate_mean, rate_var, lead_days) >= service)


def demand_up_to(units: int, rate_mean: float, rate_var: float, days: float) -> float:
    """Probability that at most ``units`` are used in ``days``; see :func:`reorder_point`, also for a rate above 0 only."""
    from scipy.special import betainc, gammaincc

    if units < 0:
        return 0.0
    if rate_var <= 0:
        return float(gammaincc(units + 1, rate_mean * days))
    a, b = rate_mean**2 / rate_var, rate_mean / rate_var
    return float(betainc(a, units + 1, b / (b + days)))


def rate_of(used: int, days: float) -> tuple[float, float]:
    """Mean and variance of a use a day, from ``used`` units in ``days`` (> 0): Gamma(used + 1/2, days). OutOfRange otherwise.

    Source: Jeffreys' prior for a Poisson rate (from memory).

    >>> rate_of(9, 60.0) == (9.5 / 60, 9.5 / 60**2)
    True
    """
    a, b = zero_or_more("units used", float(used), "") + 0.5, above_zero("days", days, "d")
    return a / b, a / b**2


class Level(NamedTuple):
    """A stock level and what it costs a period."""

    level: float
    cost: float


def order_up_to_normal(mean: float, sd: float, short: float, hold: float) -> Level:
    """Stock to order up to where demand is normal: mean and standard deviation sd of one period, cost a unit short, cost a unit held (> 0).

    Formula: S = F^-1(p/(p + h)); cost (h + p) sd pdf(z). Source: L. V. Snyder, Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed.
    2019, section 4.3 (section from memory). OutOfRange unless all but the mean are above 0.
    """
    from scipy.special import ndtri

    for name, value in (("standard deviation", sd), ("cost of a shortage", short), ("cost of holding", hold)):
        above_zero(name, value, "")
    z = float(ndtri(short / (short + hold)))
    return Level(mean + sd * z, (hold + short) * sd * math.exp(-(z**2) / 2.0) / math.sqrt(2.0 * math.pi))


def order_up_to_poisson(mean: float, short: float, hold: float) -> Level:
    """The same where demand is counted: Poisson with ``mean`` (> 0). Formula: smallest S with F(S) >= p/(p + h)."""
    for name, value in (("demand", mean), ("cost of a shortage", short), ("cost of holding", hold)):
        above_zero(name, value, "")
    best = _smallest(lambda s: demand_up_to(s, mean, 0.0, 1.0) >= short / (short + hold))
    return Level(best, _cost(best, mean, short, hold))


class Policy(NamedTuple):
    """Order ``quantity`` units whenever hand and order together fall to ``point``; ``cost`` a day."""

    point: int
    quantity: int
    cost: float


def order_policy(rate_a_day: float, lead_days: float, fixed: float, short: float, hold: float) -> Policy:
    """Point and quantity with the least cost a day, where an order costs ``fixed``, a unit short ``short`` and a unit held ``hold`` a day.

    All > 0, OutOfRange otherwise; a rate that is known, units used one by one.
    Formula: cost(r, Q) = (K lambda + sum_{y=r+1..r+Q} g(y))/Q, g(y) = h E(y - D)+ + p E(D - y)+, D ~ Poisson(lambda L). g has one minimum;
    the Q cheapest neighbours of it are taken until the next one costs more than the mean so far.
    Source: A. Federgruen, Y.-S. Zheng, Operations Research 40 (1992) 808 (from memory).
    """
    for name, value in (
        ("use a day", rate_a_day), ("days until delivery", lead_days), ("cost of an order", fixed), ("cost of a shortage", short),
        ("cost of holding", hold),
    ):  # fmt: skip
        above_zero(name, value, "")
    mean = rate_a_day * lead_days
    low = high = int(order_up_to_poisson(mean, short, hold).level)
    total = fixed * rate_a_day + _cost(low, mean, short, hold)
    below, above = (_cost(y, mean, short, hold) for y in (low - 1, high + 1))
    while min(below, above) < total / (high - low + 1):
        if below <= above:
            low, total = low - 1, total + below
            below = _cost(low - 1, mean, short, hold)
        else:
            high, total = high + 1, total + above
            above = _cost(high + 1, mean, short, hold)
    return Policy(low - 1, high - low + 1, total / (high - low + 1))


def containers(needed_l: float, open_l: float, size_l: float) -> int:
    """Full containers of ``size_l`` (> 0) to order for ``needed_l``, after the ``open_l`` that is left in opened ones; never below 0.

    >>> containers(500.0, 60.0, 208.0)
    3
    """
    left = zero_or_more("litres needed", needed_l, "L") - zero_or_more("litres left in opened ones", open_l, "L")
    return max(0, math.ceil(left / above_zero("size of a container", size_l, "L") - 1e-9))


def _cost(level: int, mean: float, short: float, hold: float) -> float:
    """h E(y - D)+ + p E(D - y)+ for D ~ Poisson(mean), in closed form: E(y - D)+ = y F(y) - mean F(y - 1)."""
    over = level * demand_up_to(level, mean, 0.0, 1.0) - mean * demand_up_to(level - 1, mean, 0.0, 1.0)
    return hold * over + short * (over - level + mean)


def _smallest(enough: Callable[[int], bool]) -> int:
    """The smallest whole number >= 0 for which ``enough`` is true; it stays true from there on."""
    if enough(0):
        return 0
    high = 1
    while not enough(high):
        high *= 2
        if high > MOST:
            raise BadInput("reorder point", high, "It comes out above ten million units: check the use and the days.")
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
