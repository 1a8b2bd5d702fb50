"""From the records of a whole fleet to its review, with one doubt of a level for each kind of compartment; and what a machine holds."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.consumption.review import Review, review
from fluidapp.calc.consumption.robust import levels_repeat
from fluidapp.calc.consumption.series import Array, BoolArray, IntArray, Intervals, by_meter_or_week, intervals
from fluidapp.errors import BadInput
from fluidapp.model import Compartment

SHARES = {"hydraulic tank": 0.01, "engine sump": 0.035}  # u of one level as a share of what is held: typical (common practice, no source)
SHARE = 0.025  # of the other kinds
UNKNOWN_L = 20.0  # what a compartment holds where nothing is entered: typical
WEEK = 7.0


def charge_l(compartment: Compartment) -> float | None:
    """Litres that a compartment holds: a hydraulic tank with its system, the others after a drain; None where nothing is entered."""
    of = compartment.capacities
    said = (of.system_l, of.at_mark_l, of.refill_l) if compartment.kind == "hydraulic tank" else (of.refill_l, of.at_mark_l, of.system_l)
    fill = compartment.fill.litres if compartment.fill else None
    return next((litres for litres in (*said, fill) if litres is not None), None)


def level_doubt(compartment: Compartment) -> float:
    """Typical standard uncertainty [L] of one level to which a compartment is filled: 1 % of a hydraulic system, 3.5 % of an engine's
    sump, 2.5 % of what else holds oil; to be multiplied with :func:`robust.levels_repeat`. Common practice, no source.
    """
    return SHARES.get(compartment.kind, SHARE) * (charge_l(compartment) or UNKNOWN_L)


@dataclass(frozen=True, slots=True)
class Fleet:
    """The review of all compartments, and what belongs to it.

    seen : the review of the records that count by the hour meter. day, series : of each of these. u_level_l : of each of ``seen.ids``.
    repeat : by kind of compartment, how much better than typical its levels repeat. weekly : intervals in weeks of the records that were
    made while a meter was broken; weekly_day : of each of these records.
    """

    seen: Review
    day: Array
    series: IntArray
    u_level_l: Array
    repeat: Mapping[str, float]
    weekly: Intervals
    weekly_day: Array

    def ended(self) -> Array:
        """The day on which each interval ends."""
        return self.day[self.seen.found.row]

    def within(self, first: float, last: float) -> BoolArray:
        """Which intervals end from the day ``first`` up to the day ``last``."""
        at = self.ended()
        found: BoolArray = (at >= first) & (at < last)
        return found


def review_fleet(
    series: ArrayLike,
    day: ArrayLike,
    hours: ArrayLike,
    litres: ArrayLike,
    *,
    segment: ArrayLike,
    known: ArrayLike,
    broken: ArrayLike,
    restart: ArrayLike,
    kind: Mapping[int, str],
    u_typical_l: Mapping[int, float],
) -> Fleet:
    """All compartments at once; the same doubt of a level is used for the fleet and for one machine.

    series : whole numbers. day, hours, litres, known, broken : as in :func:`series.by_meter_or_week`; segment, restart as in
    :func:`review.review`. kind, u_typical_l : of each series: its kind of compartment, and the typical doubt of one level [L], see
    :func:`level_doubt`. BadInput for a series that is not in these.

    u of a level: the typical one times :func:`robust.levels_repeat` of all compartments of that kind. Own combination.
    """
    numbers, when, meters = np.asarray(series, np.intp), np.asarray(day, np.float64), np.asarray(segment, np.intp)
    if missing := sorted({int(k) for k in np.unique(numbers)} - (kind.keys() & u_typical_l.keys())):
        raise BadInput("series", missing[0], "Its kind and the doubt of its level are not given.")
    of = by_meter_or_week(numbers, when, hours, litres, broken, known)
    rows = of.metered
    again = _carried(numbers, when, np.asarray(restart, np.bool_), rows)
    found = intervals(numbers[rows], np.asarray(hours, np.float64)[rows], of.litres, known=of.known, segment=meters[rows])
    typical = np.array([u_typical_l[int(k)] for k in found.ids])
    kinds = np.array([kind[int(k)] for k in found.ids], dtype=object)
    repeat = {name: levels_repeat(*_only(found, typical, kinds == name)) for name in sorted(set(kinds))}
    u_level = typical * np.array([repeat[name] for name in kinds], np.float64)
    each = u_level[np.searchsorted(found.ids, numbers[rows])]
    seen = review(
        numbers[rows], np.asarray(hours, np.float64)[rows], of.litres, each, segment=meters[rows], known=of.known, restart=again
    )  # fmt: skip
    weeks = of.weekly
    weekly = intervals(numbers[weeks], when[weeks] / WEEK, np.asarray(litres, np.float64)[weeks], known=np.asarray(known, np.bool_)[weeks])
    return Fleet(seen, when[rows], numbers[rows], u_level, repeat, weekly, when[weeks])


def _carried(series: IntArray, day: Array, restart: BoolArray, rows: IntArray) -> BoolArray:
    """Restarts at the records that count; one at a record without hours goes on to the next of its series."""
    found = restart[rows].copy()
    for k in np.flatnonzero(restart & ~np.isin(np.arange(len(series)), rows)):
        after = np.flatnonzero((series[rows] == series[k]) & (day[rows] >= day[k]))
        found[after[:1]] = True
    return found


def _only(found: Intervals, u: Array, part: BoolArray) -> tuple[Intervals, Array]:
    """The intervals of some of the series, and the doubts of these."""
    some = part[found.series]
    start = np.append(0, np.cumsum(found.counts[part])).astype(np.intp)
    kept = Intervals(found.ids[part], start, found.hours[some], found.litres[some], found.row[some], found.before[some], found.records)
    return kept, u[part]
