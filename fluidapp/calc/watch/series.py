"""From what was read to a series that may be judged: on which clock, and where it ends."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc.watch.trend import Poured
from fluidapp.errors import BadInput

End = Literal["", "engine started", "top-up or drain", "cylinder moved"]
STARTED_H = 0.05  # the hour meter has moved on by more than its last digit


@dataclass(frozen=True, slots=True)
class Point:
    """One reading: clock hours since the watch began, machine hours (None: not known), litres ± u, and how the machine stood.

    rods : the bare rods as (name, mm), () in the reference posture.
    """

    clock_h: float
    machine_h: float | None
    volume_l: float
    u_l: float
    rods: tuple[tuple[str, float], ...] = ()
    label: str = ""


@dataclass(frozen=True, slots=True)
class Move:
    """Oil put in (> 0) or taken out (< 0) at ``clock_h`` [L ± u]."""

    clock_h: float
    volume_l: float
    u_l: float = 0.0


@dataclass(frozen=True, slots=True)
class Series:
    """The readings that count, the hours on the watch's own clock, what was poured on it, and what ended it ("": it goes on)."""

    points: tuple[Point, ...]
    hours: tuple[float, ...]
    poured: tuple[Poured, ...]
    ended: End = ""
    left_out: tuple[Point, ...] = ()


def working(points: Sequence[Point], moves: Sequence[Move] = ()) -> Series:
    """Readings over machine hours, across starts; a reading without machine hours is left out and listed.

    points : oldest first. moves : what went in and out; a reading has in it what was moved at an earlier clock hour. BadInput where machine
    hours run backwards.
    """
    kept = tuple(p for p in points if p.machine_h is not None)
    hours = tuple(float(p.machine_h) for p in kept if p.machine_h is not None)
    if any(b < a for a, b in itertools.pairwise(hours)):
        raise BadInput("machine hours", "not rising", "Check the hour meter of these readings.")
    poured = tuple(
        Poured(sum(1 for p in kept if p.clock_h <= move.clock_h), move.volume_l, move.u_l)
        for move in moves
        if kept and kept[0].clock_h <= move.clock_h < kept[-1].clock_h
    )
    return Series(kept, hours, poured, "", tuple(p for p in points if p.machine_h is None))


def parked(points: Sequence[Point], moves: Sequence[Move] = ()) -> Series:
    """Readings over clock hours at rest, up to the first engine start, top-up, drain or moved cylinder; what comes after is left out.

    points : oldest first. moves : what went in and out. An engine start is seen by the hour meter. Own rules.
    """
    kept: list[Point] = []
    ended: End = ""
    for p in points:
        if kept:
            first = kept[0]
            if any(kept[-1].clock_h <= move.clock_h < p.clock_h for move in moves):
                ended = "top-up or drain"
            elif p.machine_h is not None and first.machine_h is not None and p.machine_h - first.machine_h > STARTED_H:
                ended = "engine started"
            elif p.rods != first.rods:
                ended = "cylinder moved"
            if ended:
                break
        kept.append(p)
    return Series(tuple(kept), tuple(p.clock_h for p in kept), (), ended, tuple(points[len(kept) :]))
