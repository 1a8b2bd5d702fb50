"""Hour meters: which meter an entry belongs to, that none runs backwards, and total hours over exchanged meters."""

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fluidapp.errors import BadInput


@dataclass(frozen=True, slots=True)
class Metered:
    """A time with what its hour meter showed; ``change`` marks the first reading of a new meter."""

    at_utc: str
    order: int  # among equal times
    meter_h: float | None
    segment: int
    change: bool = False
    old_end_h: float | None = None
    entry_id: str = ""


def segments(known: Sequence[Metered], new: Sequence[Metered]) -> list[int]:
    """The meter segment of each of ``new``, after checking that no meter runs backwards.

    BadInput names both readings where one meter would show less at a later time, and where a new meter is entered before
    readings that are already there: they would change their meaning.
    """
    changes = sorted(m.at_utc for m in (*known, *new) if m.change)
    for change in (m for m in new if m.change):
        if change.meter_h is None:
            raise BadInput("hour meter", "", "Enter what the new hour meter showed when it was fitted.")
        later = [m for m in known if m.at_utc > change.at_utc and m.meter_h is not None]
        if later:
            raise BadInput(
                "hour meter",
                change.meter_h,
                f"The reading of {later[0].meter_h:g} h on {day(later[0].at_utc)} comes after this exchange: void it first, "
                "enter the exchange, then enter it again.",
            )
    found = [sum(1 for c in changes if c <= m.at_utc) for m in new]
    for segment in {s for s, m in zip(found, new, strict=True) if m.meter_h is not None}:
        same = [m for m in known if m.segment == segment and m.meter_h is not None]
        fresh = [m for s, m in zip(found, new, strict=True) if s == segment and m.meter_h is not None]
        _forwards([*same, *fresh], {id(m) for m in fresh})
    for change in (m for m in new if m.change and m.old_end_h is not None):
        before = [m for m in (*known, *new) if m.meter_h is not None and m.at_utc < change.at_utc]
        last = max(before, key=lambda m: (m.at_utc, m.order), default=None)
        if last is not None and last.meter_h is not None and change.old_end_h is not None and change.old_end_h < last.meter_h:
            raise BadInput(
                "old hour meter", change.old_end_h, f"It already showed {last.meter_h:g} h on {day(last.at_utc)}. Check both readings."
            )
    return found


def _forwards(points: list[Metered], fresh: set[int]) -> None:
    points.sort(key=lambda m: (m.at_utc, m.meter_h or 0.0))
    for a, b in itertools.pairwise(points):
        if a.meter_h is None or b.meter_h is None or a.meter_h <= b.meter_h:
            continue
        if id(b) in fresh:
            raise BadInput(
                "hour meter",
                b.meter_h,
                f"On {day(b.at_utc)} it cannot show less than {a.meter_h:.10g} h on {day(a.at_utc)}. "
                "Check the reading, or enter a new hour meter.",
            )
        raise BadInput(
            "hour meter",
            a.meter_h,
            f"On {day(a.at_utc)} it cannot show more than {b.meter_h:g} h on {day(b.at_utc)}. Check the reading and its date.",
        )


def totals(points: Iterable[Metered]) -> list[float]:
    """Total hours at each of ``points`` (oldest first): the meter, plus what earlier meters ran."""
    found: list[float] = []
    offset = 0.0
    last: Metered | None = None
    for point in points:
        now = point.meter_h or 0.0
        if last is not None and point.segment != last.segment:
            ended = point.old_end_h if point.change and point.old_end_h is not None else last.meter_h or 0.0
            offset += ended - now
        found.append(offset + now)
        last = point
    return found


def day(at_utc: str) -> str:
    """A stored time as a date to show."""
    return at_utc[:10]
