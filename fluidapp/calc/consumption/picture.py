"""The chart of one compartment as plain data: what it took in each interval, its usual band, the alarm and the change."""

import math
from dataclasses import dataclass

import numpy as np

from fluidapp.calc.consumption.first import day_words
from fluidapp.calc.consumption.fleet import Fleet
from fluidapp.calc.consumption.rates import PER_100_H
from fluidapp.calc.consumption.review import Z_LIMIT


@dataclass(frozen=True, slots=True)
class Dot:
    """One interval: day of its end, hours, litres with u (of both levels), L/100 h, the usual band, z, running sum [L]."""

    day: float
    hours: float
    litres: float
    u_l: float
    rate: float
    low: float
    high: float
    z: float
    sum_l: float

    @property
    def word(self) -> str:
        """How it stands to the band."""
        if math.isnan(self.z) or abs(self.z) <= Z_LIMIT:
            return "within the band" if not math.isnan(self.z) else "no band yet"
        return "above the band" if self.z > 0 else "below the band"


@dataclass(frozen=True, slots=True)
class UsePicture:
    """Dots in time order; usual : L/100 h with its u, None where too little is known; change : the days between which it began; alarm :
    the day of the alarm; limit_l : of the running sum. text : the picture in words.
    """

    dots: tuple[Dot, ...]
    usual: tuple[float, float] | None
    change: tuple[float, float] | None
    alarm: float | None
    limit_l: float
    text: str


def picture(fleet: Fleet, m: int, today: float) -> UsePicture:
    """What the chart of the series number ``m`` of ``fleet.seen.ids`` shows.

    Band: usual rate +- 3 sqrt(phi lambda H + 2 u^2)/H for the H hours of that interval, see :func:`review.review`; not below 0.
    """
    seen, found = fleet.seen, fleet.seen.found
    usual, phi, u = float(seen.usual.rate[m]), float(seen.usual.phi_l[m]), float(fleet.u_level_l[m])
    dots = []
    for k in range(int(found.start[m]), int(found.start[m + 1])):
        row, hours, litres = int(found.row[k]), float(found.hours[k]), float(found.litres[k])
        half = Z_LIMIT * math.sqrt(max(phi * usual * hours, 0.0) + 2.0 * u**2) / hours if not math.isnan(usual) else math.nan
        low, high = max(0.0, usual - half), usual + half
        dots.append(
            Dot(
                float(fleet.day[row]), hours, litres, math.sqrt(2.0) * u, PER_100_H * litres / hours, PER_100_H * low, PER_100_H * high,
                float(seen.z[row]), float(np.nan_to_num(seen.cusum_l[row])),
            )
        )  # fmt: skip
    at = int(seen.alarm_at[m])
    change = (float(fleet.day[seen.before_at[m]]), float(fleet.day[seen.change_at[m]])) if at >= 0 else None
    known = None if math.isnan(usual) else (PER_100_H * usual, PER_100_H * float(seen.usual.u[m]))
    return UsePicture(
        tuple(dots), known, change, float(fleet.day[at]) if at >= 0 else None, float(seen.limit_l[m]), _text(dots, known, change, today)
    )


def _text(dots: list[Dot], usual: tuple[float, float] | None, change: tuple[float, float] | None, today: float) -> str:
    if not dots:
        return "No interval between two known levels yet."
    said = f"{len(dots)} {'intervals' if len(dots) > 1 else 'interval'} from {dots[0].rate:.2g} to {dots[-1].rate:.2g} L/100 h."
    if usual is None:
        return f"{said} Too few to tell what is usual."
    said += f" Usual: {usual[0]:.2g} L/100 h. {sum(abs(d.z) > Z_LIMIT for d in dots)} outside the band."
    if change is None:
        return f"{said} No lasting change."
    return f"{said} A lasting change began between {day_words(change[0], today)} and {day_words(change[1], today)}."
