"""Litres over a year against what a machine holds, against what is within reach, and in money."""

import math
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc.decision import CLAIM
from fluidapp.calc.limits import above_zero, zero_or_more

FLOOR = 0.05
FLOOR_SOURCE = "About 5 % of the charge a year is a realistic floor (trade article, title not recorded)."
CLOCK_HOURS = 8760.0
DROP_ML = (0.033, 0.050)  # one drop, as it is found in print (trade articles, titles not recorded)
DAYS = 365.25


@dataclass(frozen=True, slots=True)
class Yearly:
    """Litres a year ± u, share of the charge, litres a year of the floor, and whether the loss is above it."""

    litres: float
    u: float
    share: float
    floor_l: float
    word: Literal["above", "within", "not clear"]
    source: str = FLOOR_SOURCE


def against_floor(rate_l_h: float, u_l_h: float, hours_a_year: float, charge_l: float, floor: float = FLOOR) -> Yearly:
    """A rate over a year of ``hours_a_year`` against ``floor`` times the charge of ``charge_l`` litres.

    rate_l_h, u_l_h : L/h and its standard uncertainty. hours_a_year, charge_l : > 0, OutOfRange otherwise. "above" and "within" are said
    beyond 1.645 u, else it is "not clear". Source of the floor: see FLOOR_SOURCE.

    90 L and 300 L at 1,500 h a year: the floor is 0.3 and 1.0 L/100 h
    >>> against_floor(0.01, 0.001, 1500.0, 90.0).floor_l / 15.0
    0.3
    """
    above_zero("hours a year", hours_a_year, "h")
    above_zero("charge", charge_l, "L")
    litres, u, least = rate_l_h * hours_a_year, zero_or_more("doubt", u_l_h, "L/h") * hours_a_year, floor * charge_l
    word: Literal["above", "within", "not clear"] = "not clear"
    if abs(litres - least) > CLAIM * u:
        word = "above" if litres > least else "within"
    return Yearly(litres, u, litres / charge_l, least, word)


def makeup_ratio(added_l: float, charge_l: float, days: float) -> float:
    """Litres added a year over litres held: 1 = the whole charge is poured once a year. ``days`` : the period, > 0.

    Above 2 is common where nobody looks, about 0.2 is aimed at (trade article, title not recorded).
    """
    years = above_zero("days", days, "d") / DAYS
    return zero_or_more("litres added", added_l, "L") / above_zero("charge", charge_l, "L") / years


def drip_litres(ml_per_min: float, hours: float) -> float:
    """Litres lost by a drip in ``hours``: all 8,760 h of a year where it always drips, the working hours where only under way.

    >>> drip_litres(0.5, CLOCK_HOURS), drip_litres(0.5, 1500.0)
    (262.8, 45.0)
    """
    return zero_or_more("drip", ml_per_min, "ml/min") * 60.0 * zero_or_more("hours", hours, "h") / 1000.0


def drop_litres(drops_per_min: float, hours: float, drop_ml: tuple[float, float] = DROP_ML) -> tuple[float, float]:
    """Litres lost in ``hours`` by so many drops a minute, from and to, since nobody knows how large a drop is; see DROP_ML."""
    low, high = (drip_litres(drops_per_min * size, hours) for size in drop_ml)
    return low, high


@dataclass(frozen=True, slots=True)
class Cost:
    """Money ± u (1 sigma), in ``currency``."""

    value: float
    u: float
    currency: str


def cost(litres: float, u_l: float, price: float, currency: str, *, extra: float = 0.0) -> Cost:
    """What ``litres`` ± ``u_l`` cost at ``price`` a litre, with ``extra`` for cleaning up and disposal; the price counts as exact.

    OutOfRange for a price or an extra below 0.
    """
    each = zero_or_more("price", price, currency)
    return Cost(litres * each + zero_or_more("extra cost", extra, currency), math.fabs(u_l) * each, currency)
