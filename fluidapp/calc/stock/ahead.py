"""How long the stock lasts, what it will be day by day, and when the used-oil store is full."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.consumption.series import Array
from fluidapp.calc.decision import CLAIM
from fluidapp.calc.due.projection import WEEK, Use, reach
from fluidapp.calc.figure import coverage_factor
from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import BadInput

WEEKS = 17  # how far back use is looked at, about 120 days
HORIZON_DAYS = 60


def weekly_use(day: ArrayLike, litres: ArrayLike, today: float, since: float, weeks: int = WEEKS) -> Use | None:
    """Mean litres a week and their scatter, from single withdrawals; weeks in which nothing was taken count as 0.

    day, litres : of each withdrawal; leave out planned changes that are counted as tasks. today : the weeks are counted back from here.
    since : the day on which the records begin; weeks before it do not count. None without one whole week.
    """
    at, amount = np.asarray(day, np.float64), np.asarray(litres, np.float64)
    if at.shape != amount.shape or not np.all(np.isfinite(at) & (amount >= 0)):
        raise BadInput("litres", str(amount.shape), "Give a day and litres, 0 or more, for each withdrawal.")
    n = min(weeks, math.floor((today - since) / WEEK))
    if n < 1:
        return None
    week = np.floor((today - at) / WEEK)
    part = (week >= 0) & (week < n)
    each = np.bincount(week[part].astype(np.intp), amount[part], n)
    return Use(float(each.mean()), float(each.std(ddof=1)) if n > 1 else None, n, float(n))


@dataclass(frozen=True, slots=True)
class Cover:
    """Days that the stock lasts, with the ends of the 95 % range (None: too little is known, or nothing is used: then ``days`` is inf)."""

    days: float
    low: float | None
    high: float | None


def cover(on_hand_l: float, u_l: float, use: Use) -> Cover:
    """How many days ``on_hand_l`` ± ``u_l`` litres last at ``use`` (litres instead of hours a week); 0 where nothing is left.

    Formula: as a date of so many hours, see :func:`fluidapp.calc.due.project`, with the doubt of the stock added: W = S/mu weeks,
    half-width t sqrt((s/mu)^2 (W + W^2/n) + (u/mu)^2), the low end at 0 or above. OutOfRange for a doubt below 0.

    Weeks of 60 52 48 55 50 65 L, 250 L on hand: 31.8 days (computed by us)
    >>> found = cover(250.0, 0.0, Use(55.0, 6.4498, 6, 6.0))
    >>> round(found.days, 1), round(found.low, 1), round(found.high, 1)
    (31.8, 25.9, 37.8)
    """
    zero_or_more("doubt of the stock", u_l, "L")
    if on_hand_l <= 0:
        return Cover(0.0, 0.0, 0.0)
    if use.per_week <= 0:
        return Cover(math.inf, None, None)
    day, _, high = reach(0.0, on_hand_l, use)
    if high is None:
        return Cover(day, None, None)
    half = math.hypot(high - day, coverage_factor(use.weeks - 1) * WEEK * u_l / use.per_week)
    return Cover(day, max(0.0, day - half), day + half)


@dataclass(frozen=True, slots=True)
class Planned:
    """Litres ± u on an expected ``day``; ``low`` and ``high`` are the ends of the range of the day, None = that day. ``what`` : a label."""

    day: float
    litres: float
    u_l: float = 0.0
    low: float | None = None
    high: float | None = None
    what: str = ""


@dataclass(frozen=True, slots=True)
class Course:
    """Day by day: litres ± u (1 sigma). crosses : the first day at which the limit is reached as expected; early : in 5 % of cases.

    None = not within these days.
    """

    day: Array
    litres: Array
    u: Array
    crosses: float | None
    early: float | None


def forecast(
    on_hand_l: float,
    u_l: float,
    use: Use | None,
    planned: Sequence[Planned],
    deliveries: Sequence[Planned],
    today: float,
    days: int = HORIZON_DAYS,
    limit_l: float = 0.0,
) -> Course:
    """What is on hand of one product, day by day from ``today``, and when it falls to ``limit_l`` (0, or the reorder point in litres).

    use : top-ups a week, without what is ``planned``: the changes of the due list. deliveries : what was ordered.
    Formula: S(t) = S - mu t - sum p L + sum p D, p the share of a day's range that has passed; variance u^2 + s^2 (t + t^2/n) + for each
    p u^2 + p (1 - p) L^2, t in weeks. Own combination.
    """
    day, change, variance = _moves(use, planned, deliveries, today, days)
    litres, u = on_hand_l - change, np.sqrt(u_l**2 + variance)
    return Course(day, litres, u, _first(day, litres <= limit_l), _first(day, litres - CLAIM * u <= limit_l))


def used_oil(
    now_l: float,
    u_l: float,
    limit_l: float,
    inflow: Use | None,
    planned: Sequence[Planned],
    collections: Sequence[Planned],
    today: float,
    days: int = HORIZON_DAYS,
) -> Course:
    """What the used-oil store holds day by day, and when it reaches ``limit_l`` (> 0); :func:`forecast` with its signs turned.

    planned : drains of the due list, with the oil in filters. inflow : what else comes a week. collections : what will be handed over.
    """
    above_zero("limit of the used-oil store", limit_l, "L")
    day, change, variance = _moves(inflow, planned, collections, today, days)
    litres, u = now_l + change, np.sqrt(u_l**2 + variance)
    return Course(day, litres, u, _first(day, litres >= limit_l), _first(day, litres + CLAIM * u >= limit_l))


def _moves(use: Use | None, out: Sequence[Planned], back: Sequence[Planned], today: float, days: int) -> tuple[Array, Array, Array]:
    """Days, litres gone since today, and the variance of these."""
    if days < 1:
        raise BadInput("days ahead", days, "Look one day ahead or more.")
    day = today + np.arange(days + 1.0)
    weeks = (day - today) / WEEK
    gone = weeks * (use.per_week if use else 0.0)
    scatter = use.scatter if use and use.scatter is not None else 0.0
    variance = scatter**2 * (weeks + np.square(weeks) / (use.span if use else 1.0))
    for sign, one in [*((1.0, p) for p in out), *((-1.0, p) for p in back)]:
        share = _passed(one, day)
        gone = gone + sign * share * one.litres
        variance = variance + share * one.u_l**2 + share * (1.0 - share) * one.litres**2
    return day, gone, variance


def _passed(one: Planned, day: Array) -> Array:
    """Share of the range of its day that lies at or before each of ``day``."""
    low, high = (one.day if end is None else end for end in (one.low, one.high))
    if high <= low:
        return np.where(day >= one.day, 1.0, 0.0)
    return np.clip((day - low) / (high - low), 0.0, 1.0)


def _first(day: Array, reached: "np.ndarray[tuple[int], np.dtype[np.bool_]]") -> float | None:
    return float(day[int(np.argmax(reached))]) if reached.any() else None
