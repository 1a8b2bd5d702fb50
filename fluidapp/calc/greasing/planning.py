"""Which boom angles come next: the fewest that reach every position that is due, on the shortest way round."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc.greasing.ring import GreasedRing, largest_gap
from fluidapp.errors import BadInput

NEXT, DUE, PAST = 0.8, 1.0, 1.2  # shares of the interval, ours, editable
SLACK = 1e-9
_EXACT_UP_TO = 12

Status = Literal["not yet due", "comes next", "due", "past due"]
Lapse = Sequence[float] | NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Coverage:
    """How well the ring is kept: share of positions within the interval, the longest lapse, the widest arc between them."""

    share: float
    longest: float
    gap_deg: float


def status(lapse: float) -> Status:
    """The word for one position. Limits 0.8, 1.0 and 1.2 of the interval are ours.

    >>> [status(x) for x in (0.5, 0.8, 1.0, 1.2)]
    ['not yet due', 'comes next', 'due', 'past due']
    """
    if not lapse >= 0:
        raise BadInput("lapse", lapse, "It must be 0 or above.")
    if lapse >= PAST - SLACK:
        return "past due"
    if lapse >= DUE - SLACK:
        return "due"
    return "comes next" if lapse >= NEXT - SLACK else "not yet due"


def plan(ring: GreasedRing, lapse: Lapse, swing_deg: float = 0.0) -> list[float]:
    """Boom angles [degrees, 0 to 360] at which to grease, in the order of the way round; empty where nothing is due.

    lapse : N values. swing_deg : where the boom points now. BadInput where the lapses do not fit the ring.
    The smallest set of angles that reaches every due position; among equals the one that reaches fewest others, then the one
    with the shortest sweep in one direction from where the boom is (both ways equal: increasing angles; still equal: the first
    set in increasing order). Exact up to 12 positions; above that the set is built step by step and may be one angle longer.
    Own rule.

    >>> plan(GreasedRing((0.0,), 4, 100.0, 182.0), [1, 1, 1, 1])
    [0.0, 90.0, 180.0, 270.0]
    >>> plan(GreasedRing((0.0, 180.0), 4, 100.0, 182.0), [1, 1, 1, 1])
    [0.0, 90.0]
    """
    due = _due(ring, lapse)
    if not due:
        return []
    reach = {swing: frozenset(ring.sectors(swing)) for swing in ring.swings()}
    useful = {swing: hit for swing, hit in reach.items() if hit & due}
    best = _smallest(useful, due) if ring.positions <= _EXACT_UP_TO else [_step_by_step(useful, due)]
    fewest = min(_others(chosen, reach, due) for chosen in best)
    ways = [_way(chosen, swing_deg) for chosen in best if _others(chosen, reach, due) == fewest]
    return min(ways, key=lambda way: round(way[0], 6))[1]


def next_shot(ring: GreasedRing, lapse: Lapse, last_swing_deg: float | None = None) -> float:
    """The one boom angle for a visit with time for a single shot: the longest lapse first.

    Ties go to the position farthest round from the last shot, then to the lowest angle. Own rule.

    >>> next_shot(GreasedRing((0.0,), 4, 100.0, 182.0), [1.2, 0.2, 1.2, 1.2], last_swing_deg=90.0)
    270.0
    """
    values = _lapses(ring, lapse)
    top = values.max()
    angles = [ring.swing_of(i) for i in range(ring.positions) if values[i] >= top - SLACK]
    away = 0.0 if last_swing_deg is None else last_swing_deg

    def distance(angle: float) -> float:
        arc = abs(angle - away) % 360.0
        return 0.0 if last_swing_deg is None else round(min(arc, 360.0 - arc), 6)

    return min(angles, key=lambda angle: (-distance(angle), angle))


def coverage(ring: GreasedRing, lapse: Lapse) -> Coverage:
    """For the supervisor: how much of the ring is within its interval.

    >>> coverage(GreasedRing((0.0,), 4, 100.0, 182.0), [0.2, 0.4, 1.3, 0.1])
    Coverage(share=0.75, longest=1.3, gap_deg=180.0)
    """
    values = _lapses(ring, lapse)
    within = values < DUE - SLACK
    places = [int(i) * 360.0 / ring.positions for i in np.flatnonzero(within)]
    return Coverage(float(within.mean()), float(values.max()), largest_gap(places))


def _lapses(ring: GreasedRing, lapse: Lapse) -> NDArray[np.float64]:
    values = np.asarray(lapse, dtype=np.float64)
    if values.shape != (ring.positions,) or not np.all(values >= 0):
        raise BadInput("lapse", str(values.shape), f"This ring has {ring.positions} positions, each with a lapse of 0 or more.")
    return values


def _due(ring: GreasedRing, lapse: Lapse) -> frozenset[int]:
    return frozenset(int(i) for i in np.flatnonzero(_lapses(ring, lapse) >= DUE - SLACK))


def _smallest(useful: dict[float, frozenset[int]], due: frozenset[int]) -> list[tuple[float, ...]]:
    """All smallest sets of angles that reach every due position, in increasing order."""
    most = max(len(hit & due) for hit in useful.values())
    for size in range(-(-len(due) // most), len(due) + 1):
        found: set[tuple[float, ...]] = set()
        _reach_all(useful, due, (), size, most, found)
        if found:
            return sorted(found)
    return []  # not reached: one angle for each due position always does


def _reach_all(
    useful: dict[float, frozenset[int]],
    left: frozenset[int],
    chosen: tuple[float, ...],
    size: int,
    most: int,
    found: set[tuple[float, ...]],
) -> None:
    """Add to ``found`` every set of ``size`` angles that begins with ``chosen`` and reaches all that is ``left``."""
    if not left:
        if len(chosen) == size:
            found.add(tuple(sorted(chosen)))
        return
    if len(left) > most * (size - len(chosen)):
        return
    first = min(left)
    for swing, hit in useful.items():
        if first in hit:
            _reach_all(useful, left - hit, (*chosen, swing), size, most, found)


def _step_by_step(useful: dict[float, frozenset[int]], due: frozenset[int]) -> tuple[float, ...]:
    left, chosen = set(due), []
    while left:
        best = max(useful, key=lambda s: (len(useful[s] & left), -len(useful[s] - due), -s))
        chosen.append(best)
        left -= useful[best]
    return tuple(sorted(chosen))


def _others(chosen: tuple[float, ...], reach: dict[float, frozenset[int]], due: frozenset[int]) -> int:
    return len(frozenset().union(*(reach[s] for s in chosen)) - due)


def _way(chosen: tuple[float, ...], now: float) -> tuple[float, list[float]]:
    """Length of the shorter one-way sweep from ``now`` over the angles, and their order on it."""
    up = sorted(chosen, key=lambda s: round((s - now) % 360.0, 6) % 360.0)
    down = sorted(chosen, key=lambda s: round((now - s) % 360.0, 6) % 360.0)
    length_up = round((up[-1] - now) % 360.0, 6) % 360.0
    length_down = round((now - down[-1]) % 360.0, 6) % 360.0
    return (length_up, up) if length_up <= length_down else (length_down, down)
