"""How much of the greasing interval each position has used up, from everything that was written down."""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc.greasing.ring import GreasedRing
from fluidapp.calc.limits import zero_or_more
from fluidapp.errors import BadInput, OutOfRange

UNKNOWN_CREDIT = 0.5  # of a shot whose grams nobody knows and that did not show at the seal (common practice, no source)


@dataclass(frozen=True, slots=True)
class Shot:
    """Grease given with the boom at one angle.

    at_h : machine hours (running total over replaced meters). day : any running day count. swing_deg : boom angle, None = not
    noted. grams : per nipple, None = unknown. nipples : numbers (from 0) of those greased, None = all. purge_seen : grease showed at
    the seal; False = looked and saw none, None = not said. key : name of this entry; voids : name of the entry that this one
    takes back (then nothing else counts).
    """

    at_h: float
    day: float
    swing_deg: float | None = None
    grams: float | None = None
    nipples: tuple[int, ...] | None = None
    purge_seen: bool | None = None
    key: str = ""
    voids: str | None = None


@dataclass(frozen=True, slots=True)
class Refill:
    """The reservoir of an automatic system was filled up again with ``grams`` of grease for this ring.

    So much was given since the refill before it, evenly over the machine hours worked and over all positions.
    """

    at_h: float
    day: float
    grams: float
    key: str = ""
    voids: str | None = None


@dataclass(frozen=True, slots=True)
class Duty:
    """From ``from_h`` on an hour counts 1/``factor`` hours: 1 normal, below 1 shortens the interval (dust, wet)."""

    from_h: float
    factor: float


Event = Shot | Refill


class Entered(Protocol):
    """Anything that was entered under a name and may take back another entry."""

    @property
    def key(self) -> str: ...
    @property
    def voids(self) -> str | None: ...


E = TypeVar("E", bound=Entered)


@dataclass(frozen=True, slots=True)
class RingState:
    """What the records say about every position.

    by_hours, by_days : share of the interval used up. last_h, last_day : of the last shot there, nan = none on record.
    last_swing_deg : boom angle of the last shot of all. flags : entries that still count less than they might, in words.
    shots : every shot with a boom angle, in order, each with the lapse of all positions just before it.
    """

    by_hours: NDArray[np.float64]
    by_days: NDArray[np.float64]
    last_h: NDArray[np.float64]
    last_day: NDArray[np.float64]
    last_swing_deg: float | None
    flags: tuple[str, ...]
    shots: tuple[tuple[Shot, NDArray[np.float64]], ...] = ()

    @property
    def lapse(self) -> NDArray[np.float64]:
        """Share of the interval used up, by hours or by days, whichever is more."""
        return np.asarray(np.maximum(self.by_hours, self.by_days))


def replay(ring: GreasedRing, events: Iterable[Event], now_h: float, now_day: float, duty: Sequence[Duty] = ()) -> NDArray[np.float64]:
    """Lapse of every position, N values: 0 just greased, 1 due. See :func:`state` for arguments, errors and rules.

    One nipple, four positions, nothing on record: all are due.
    >>> ring = GreasedRing((0.0,), 4, limit_h=100.0, limit_days=182.0, dose_g=35.0)
    >>> replay(ring, [], 500.0, 0.0).tolist()
    [1.0, 1.0, 1.0, 1.0]
    >>> replay(ring, [Shot(480.0, 0.0, 90.0, grams=35.0)], 500.0, 0.0).round(3).tolist()
    [1.2, 0.2, 1.2, 1.2]
    """
    return state(ring, events, now_h, now_day, duty).lapse


def state(ring: GreasedRing, events: Iterable[Event], now_h: float, now_day: float, duty: Sequence[Duty] = ()) -> RingState:
    """Every position's share of the greasing interval, replayed from the records in order of hours, then days.

    ring : interval, dose and positions. events : shots in any order; one that is voided never happened. now_h, now_day : until
    when. duty : spans of harder work, each from its hour on; hours already counted are never rated again, and days are not
    touched by it. BadInput where hours and days contradict each other or an entry is voided that does not exist; OutOfRange
    for an entry after now, and for negative grams.

    Rules (own, common practice, no source): by hours sum dh / (limit_h factor), by days sum dd / limit_days. Nothing on record is
    due (1.0), from the first entry on it grows. A shot takes the share c = min(1, grams/dose) off both; where grams or dose are
    unknown c = 1 if grease showed at the seal, else 0.5 and flagged. More than the dose earns no more. An automatic system is the
    limit of many small shots, spread over the machine hours between two refills; it earns nothing while the machine stands.
    """
    ordered = _in_order(events, now_h, now_day)
    n = ring.positions
    used = np.ones((2, n))  # by hours, by days
    last_h, last_day = np.full(n, np.nan), np.full(n, np.nan)
    flags: list[str] = []
    spans = _duty(duty)
    feeds = _feeds([e for e in ordered if isinstance(e, Refill)], ring, flags)
    short: list[set[str]] = [set() for _ in range(n)]  # flags of each position, until a full shot
    shots: list[tuple[Shot, NDArray[np.float64]]] = []
    before: Event | None = None
    for event in ordered:
        if before is not None:
            used = _grown(used, before, (event.at_h, event.day), ring, spans, feeds)
        before = event
        if isinstance(event, Refill):
            continue
        if event.swing_deg is None:
            if event.at_h >= now_h - ring.limit_h:
                flags.append("A shot without a boom angle counts for no position.")
            continue
        shots.append((event, np.asarray(used.max(axis=0))))
        share, flag = _credit(event, ring)
        reached = ring.sectors(event.swing_deg)
        for k in range(len(reached)) if event.nipples is None else event.nipples:
            used[:, reached[k]] *= 1.0 - share
            last_h[reached[k]], last_day[reached[k]] = event.at_h, event.day
            short[reached[k]] = set() if share == 1.0 else short[reached[k]] | flag
    if before is not None:
        used = _grown(used, before, (now_h, now_day), ring, spans, feeds)
    flags += sorted(set().union(*short))
    swing = shots[-1][0].swing_deg if shots else None
    return RingState(used[0], used[1], last_h, last_day, swing, tuple(dict.fromkeys(flags)), tuple(shots))


def live(events: Iterable[E]) -> list[E]:
    """The events that count: neither voided nor a void. A void that is itself voided takes nothing back."""
    events = list(events)
    keys = {e.key for e in events if e.key}
    gone: set[str] = set()
    for event in reversed(events):
        if event.voids is None or (event.key and event.key in gone):
            continue
        if event.voids not in keys:
            raise BadInput("entry taken back", event.voids, "There is no entry of that name.")
        gone.add(event.voids)
    return [e for e in events if e.voids is None and not (e.key and e.key in gone)]


def _in_order(events: Iterable[Event], now_h: float, now_day: float) -> list[Event]:
    for name, value in (("hours now", now_h), ("day now", now_day)):
        if not math.isfinite(value):
            raise BadInput(name, value, "Enter a finite number.")
    ordered = sorted(live(events), key=lambda e: (e.at_h, e.day))
    day = -math.inf
    for event in ordered:
        if not (math.isfinite(event.at_h) and math.isfinite(event.day)):
            raise BadInput("entry", "not finite", "Each shot needs its hours and its day.")
        if event.grams is not None:
            zero_or_more("grams", event.grams, "g", "Enter 0 or more, or leave it out.")
        if event.day < day:
            raise BadInput("hours", event.at_h, "A later day has fewer hours: enter the meter change, or correct the entry.")
        day = event.day
    if ordered and ordered[-1].at_h > now_h:
        raise OutOfRange("hours now", now_h, ordered[-1].at_h, None, "h", "The last shot was given later than that.")
    if ordered and day > now_day:
        raise OutOfRange("day now", now_day, day, None, "days", "The last shot was given later than that.")
    return ordered


def _credit(shot: Shot, ring: GreasedRing) -> tuple[float, set[str]]:
    """Share of the lapse that a shot takes off, and what to say of it."""
    if shot.nipples is not None and not all(0 <= k < len(ring.nipples_deg) for k in shot.nipples):
        raise BadInput("nipple", str(shot.nipples), f"This ring has nipples 0 to {len(ring.nipples_deg) - 1}.")
    if shot.grams is not None and ring.dose_g is not None:
        return min(1.0, shot.grams / ring.dose_g), set()
    if shot.purge_seen:
        return 1.0, set()
    return UNKNOWN_CREDIT, {"A shot of unknown grams that did not show at the seal counts for half a dose."}


def _duty(duty: Sequence[Duty]) -> list[Duty]:
    for span in duty:
        if not (span.factor > 0 and math.isfinite(span.factor) and math.isfinite(span.from_h)):
            raise OutOfRange("duty factor", span.factor, 0.0, None, "", "Enter 1 for normal work, less for dust, wet or heat.", True)
    return sorted(duty, key=lambda span: span.from_h)


def _feeds(refills: list[Refill], ring: GreasedRing, flags: list[str]) -> list[tuple[float, float, float]]:
    """Spans (from_h, to_h, doses per hour and position) of an automatic system; after the last refill as long as before it."""
    if refills and ring.dose_g is None:
        flags.append("An automatic system counts nothing: the dose of this point is not known.")
        return []
    per_dose = 1.0 / (ring.positions * (ring.dose_g or 1.0))
    spans = [
        (old.at_h, new.at_h, new.grams * per_dose / (new.at_h - old.at_h))
        for old, new in itertools.pairwise(refills)
        if new.at_h > old.at_h
    ]
    if spans and refills[-1].at_h == spans[-1][1]:
        start, end, rate = spans[-1]
        spans.append((end, 2.0 * end - start, rate))
        flags.append("Since its last refill the automatic system is taken to give as much an hour as before, for as long as then.")
    return spans


def _grown(
    used: NDArray[np.float64],
    since: Event,
    until: tuple[float, float],
    ring: GreasedRing,
    spans: list[Duty],
    feeds: list[tuple[float, float, float]],
) -> NDArray[np.float64]:
    """What is used up at ``until`` (hours, day). A steady feed of r doses an hour is the limit of many small shots:
    x' = g - r x, so x(t) = x e^(-r t) + g (1 - e^(-r t)) / r. Days are spread evenly over the hours worked."""
    hours, days = until[0] - since.at_h, (until[1] - since.day) / ring.limit_days
    if hours == 0.0:
        return np.asarray(used + np.array([[0.0], [days]]))
    if not spans and not feeds:
        return np.asarray(used + np.array([[hours / ring.limit_h], [days]]))
    cuts = {since.at_h, until[0], *(s.from_h for s in spans), *(h for feed in feeds for h in feed[:2])}
    knots = sorted(h for h in cuts if since.at_h <= h <= until[0])
    for start, end in itertools.pairwise(knots):
        factor = next((s.factor for s in reversed(spans) if s.from_h <= start), 1.0)
        rate = sum(r for low, high, r in feeds if low <= start < high)
        t = end - start
        growth = np.array([[1.0 / (ring.limit_h * factor)], [days / hours]])
        kept = math.exp(-rate * t)
        used = used * kept + growth * (t if rate == 0.0 else -math.expm1(-rate * t) / rate)
    return used
