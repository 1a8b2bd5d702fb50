"""What the next month will cost, and what was handed over."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.consumption.yearly import Cost, cost
from fluidapp.calc.due.projection import WEEK, Use
from fluidapp.calc.stock.ahead import Planned
from fluidapp.errors import BadInput


def period_cost(use: Use | None, planned: Sequence[Planned], price: float, currency: str, first: float, last: float) -> Cost:
    """What one product will cost from the day ``first`` up to the day ``last``: mean top-ups, and the changes whose day lies between.

    use : litres a week without planned changes, None = not known, counted as 0. price : a litre. BadInput where last is not after first.
    Formula: u^2 = s^2 (t + t^2/n) + sum u_i^2, t in weeks, times the price.
    """
    if not last > first:
        raise BadInput("period", last - first, "Its end must come after its beginning.")
    weeks = (last - first) / WEEK
    inside = [p for p in planned if first <= p.day < last]
    litres = weeks * (use.per_week if use else 0.0) + sum(p.litres for p in inside)
    scatter = use.scatter if use and use.scatter is not None else 0.0
    u = math.hypot(scatter * math.sqrt(weeks + weeks**2 / (use.span if use else 1.0)), *(p.u_l for p in inside))
    return cost(litres, u, price, currency)


def total_cost(costs: Iterable[Cost]) -> tuple[Cost, ...]:
    """Sum by currency, in the order of the alphabet; independent, so that the u add up as squares."""
    by: dict[str, list[Cost]] = {}
    for one in costs:
        by.setdefault(one.currency, []).append(one)
    return tuple(Cost(sum(c.value for c in same), math.hypot(*(c.u for c in same)), name) for name, same in sorted(by.items()))


@dataclass(frozen=True, slots=True)
class HandedOver:
    """Used oil that left in a period: litres ± u, how many times, and how many of these without a number of a paper or a receiver."""

    litres: float
    u: float
    times: int
    without_paper: int


def handed_over(day: ArrayLike, litres: ArrayLike, u_l: ArrayLike, on_paper: ArrayLike, first: float, last: float) -> HandedOver:
    """Hand-overs from the day ``first`` up to ``last``; columns of one length, on_paper True where a paper and a receiver are recorded."""
    at, amount, u = (np.asarray(x, np.float64) for x in (day, litres, u_l))
    paper = np.asarray(on_paper, np.bool_)
    if not at.shape == amount.shape == u.shape == paper.shape:
        raise BadInput("hand-overs", str(at.shape), "Give day, litres, doubt and paper for each.")
    part = (at >= first) & (at < last)
    doubt = float(np.sqrt(np.square(np.nan_to_num(u[part])).sum()))
    return HandedOver(float(amount[part].sum()), doubt, int(part.sum()), int((part & ~paper).sum()))
