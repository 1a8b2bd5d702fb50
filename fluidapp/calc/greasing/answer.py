"""The answer for one greasing round: every position with its word, the next boom angles, strokes, warnings, closing turns."""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc.cautions import SLEW
from fluidapp.calc.greasing.gun import Dose, strokes
from fluidapp.calc.greasing.lapse import Duty, Event, RingState, Shot, state
from fluidapp.calc.greasing.planning import Coverage, Status, coverage, next_shot, plan, status
from fluidapp.calc.greasing.ring import GreasedRing, position_name
from fluidapp.model import GreasePoint, Gun, Machine

EARLY_LAPSE, MUCH_DOSE, NO_PURGE_ROUNDS = 0.5, 1.5, 3  # ours, editable
SLOPE_FOR_TURNS_DEG = 3.0  # ours, editable


@dataclass(frozen=True, slots=True)
class Preset:
    """A way of greasing that many know, with where it comes from."""

    label: str
    nipples_deg: tuple[float, ...]
    positions: int
    finish_turns: int
    source: str


PRESETS = (Preset("one nipple, every 90°", (0.0,), 4, 2, "common practice, no source"),)


@dataclass(frozen=True, slots=True)
class Position:
    """One position of the ring. ``swing_deg`` is the boom angle at which the first nipple reaches it, ``name`` that in words.

    lapse : share of the interval used up. hours_since, days_since : since the last shot there, None = none on record.
    """

    number: int
    name: str
    swing_deg: float
    lapse: float
    hours_since: float | None
    days_since: float | None
    word: Status
    dose: Dose


@dataclass(frozen=True, slots=True)
class Step:
    """One stop of the plan: boom angle, its name, the positions reached there, what to give at each nipple."""

    swing_deg: float
    name: str
    positions: tuple[int, ...]
    nipples: int
    dose: Dose


@dataclass(frozen=True, slots=True)
class Closing:
    """The full turns without grease at the end: how many, and why not where there are none."""

    turns: int
    reason: str


@dataclass(frozen=True, slots=True)
class Greasing:
    """What to grease, where, how much, and what to look at."""

    positions: tuple[Position, ...]
    steps: tuple[Step, ...]
    one_shot: Step
    closing: Closing
    coverage: Coverage
    warnings: tuple[str, ...]
    remarks: tuple[str, ...]
    cautions: tuple[str, ...] = SLEW


def greasing_round(
    machine: Machine,
    point: GreasePoint,
    events: Iterable[Event],
    now_h: float,
    now_day: float,
    *,
    swing_deg: float = 0.0,
    gun: Gun | None = None,
    duty: Sequence[Duty] = (),
    density_kg_m3: float = 900.0,
    slope_deg: float | None = None,
    arc_clear: bool | None = None,
    ring_suspect: bool | None = None,
) -> Greasing:
    """Every position of ``point`` with what it has used up, and the shortest plan for what is due.

    events : shots of this point, see :func:`fluidapp.calc.greasing.state` for rules and errors. swing_deg : where the boom is now.
    gun : what greases, None = not said. density_kg_m3 : of the grease, for a cap in cm3. slope_deg, arc_clear, ring_suspect : for the
    closing turns, None = not entered. Common practice, no source, where no other is named.
    """
    ring = GreasedRing.of(point, density_kg_m3)
    now = state(ring, events, now_h, now_day, duty)
    lapse = now.lapse
    dose = strokes(ring.dose_g, gun, ring.cap_g)

    def step(angle: float) -> Step:
        return Step(angle, position_name(angle, machine.sprockets), ring.sectors(angle), len(ring.nipples_deg), dose)

    return Greasing(
        positions=tuple(_position(ring, i, now, now_h, now_day, machine, dose) for i in range(ring.positions)),
        steps=tuple(step(angle) for angle in plan(ring, lapse, swing_deg)),
        one_shot=step(next_shot(ring, lapse, now.last_swing_deg)),
        closing=closing_turns(point.ring.finish_turns if point.ring else 0, slope_deg, arc_clear, ring_suspect),
        coverage=coverage(ring, lapse),
        warnings=too_much(ring, now, now_h - ring.limit_h),
        remarks=(*now.flags, *dose.remarks, *_remarks(point, ring)),
    )


def closing_turns(turns: int, slope_deg: float | None, arc_clear: bool | None, ring_suspect: bool | None) -> Closing:
    """How many full turns without grease may end the round: only on gentle slope, with a clear arc and nothing under suspicion.

    slope_deg : of the ground, limit 3° (ours, editable). ring_suspect : slewing motor, gearbox or ring under suspicion, opened or
    low on oil. What is not entered is not taken as safe. Common practice, no source. The tool never says that it is safe.

    >>> closing_turns(2, 1.0, True, False).turns, closing_turns(2, 5.0, True, False).turns
    (2, 0)
    """
    if turns == 0:
        return Closing(0, "none are asked for at this point")
    if slope_deg is None or arc_clear is None or ring_suspect is None:
        return Closing(0, "left out until slope, arc and state of the slewing drive are entered")
    if not abs(slope_deg) <= SLOPE_FOR_TURNS_DEG:
        return Closing(0, "left out: the ground slopes by more than 3°")
    if not arc_clear:
        return Closing(0, "left out: the arc is not clear")
    if ring_suspect:
        return Closing(0, "left out: slewing motor, gearbox or ring is under suspicion, opened or low on oil")
    return Closing(turns, "full turns without grease carry it all the way round")


def too_much(ring: GreasedRing, now: RingState, since_h: float = -math.inf) -> tuple[str, ...]:
    """Warnings of too much grease or of none coming out, from the replayed records. Thresholds are ours, editable.

    now : see :func:`fluidapp.calc.greasing.state`. since_h : (a) and (b) look only at shots from there on.
    (a) shot at less than half the interval and more than 1.5 doses in the last interval; (b) one shot over 1.5 doses or over the
    cap; (c) more since the last purge than the race can hold; (e) looked and nothing seen at the seal in three full rounds.
    """
    shots = [shot for shot, _ in now.shots]
    said: list[str] = []
    for i, (shot, lapse) in enumerate(now.shots):
        if shot.grams is None or shot.at_h < since_h:
            continue
        if ring.cap_g is not None and shot.grams > ring.cap_g * (1 + 1e-9):
            said.append("A shot passed the cap: too much pressure on the seal.")
        if ring.dose_g is not None and shot.grams > MUCH_DOSE * ring.dose_g * (1 + 1e-9):
            said.append("A shot was more than one and a half doses.")
        if ring.dose_g is not None and _often(ring, ring.dose_g, shots[: i + 1], lapse):
            said.append("A position was greased early and has had more than one and a half doses in one interval: seals may suffer.")
    if ring.free_g is not None and _since_purge(shots, ring) > ring.free_g:
        said.append("More grease went in since it last showed at the seal than the race can hold: look where it goes.")
    if _rounds_without_purge(shots, ring) >= NO_PURGE_ROUNDS:
        said.append("No grease at the seal in three full rounds: a blocked nipple, or an open seal.")
    return tuple(dict.fromkeys(said))


def _often(ring: GreasedRing, dose_g: float, shots: list[Shot], lapse: NDArray[np.float64]) -> bool:
    """Whether the last of ``shots`` came early to a position that has had more than 1.5 doses within limit_h, it included."""
    last = shots[-1]
    recent = list(itertools.takewhile(lambda s: s.at_h >= last.at_h - ring.limit_h, reversed(shots)))
    for sector in _reached(ring, last):
        given = sum((s.grams or 0.0) * _reached(ring, s).count(sector) for s in recent)
        if lapse[sector] < EARLY_LAPSE and given > MUCH_DOSE * dose_g * (1 + 1e-9):
            return True
    return False


def _reached(ring: GreasedRing, shot: Shot) -> tuple[int, ...]:
    if shot.swing_deg is None:
        return ()
    sectors = ring.sectors(shot.swing_deg)
    return sectors if shot.nipples is None else tuple(sectors[k] for k in shot.nipples)


def _since_purge(shots: list[Shot], ring: GreasedRing) -> float:
    total = 0.0
    for shot in shots:
        total += (shot.grams or 0.0) * (len(ring.nipples_deg) if shot.nipples is None else len(shot.nipples))
        if shot.purge_seen:
            total = 0.0
    return total


def _rounds_without_purge(shots: list[Shot], ring: GreasedRing) -> int:
    """Full rounds (every position reached, and the seal looked at) since grease last showed there."""
    rounds, left = 0, set(range(ring.positions))
    for shot in shots:
        if shot.purge_seen:
            rounds, left = 0, set(range(ring.positions))
        if shot.purge_seen is not False:
            continue
        left -= set(_reached(ring, shot))
        if not left:
            rounds, left = rounds + 1, set(range(ring.positions))
    return rounds


def _position(ring: GreasedRing, i: int, now: RingState, now_h: float, now_day: float, machine: Machine, dose: Dose) -> Position:
    swing = ring.swing_of(i)
    greased = not math.isnan(now.last_h[i])
    lapse = float(now.lapse[i])
    return Position(
        number=i,
        name=position_name(swing, machine.sprockets),
        swing_deg=swing,
        lapse=lapse,
        hours_since=now_h - float(now.last_h[i]) if greased else None,
        days_since=now_day - float(now.last_day[i]) if greased else None,
        word=status(lapse),
        dose=dose,
    )


def _remarks(point: GreasePoint, ring: GreasedRing) -> list[str]:
    said = []
    if ring.positions % len(ring.nipples_deg):
        said.append("The number of positions is not a multiple of the number of nipples: some are reached twice in a round.")
    if point.stop_at_seal:
        said.append("Stop as soon as grease shows at the seal, even before the dose is given.")
    if point.source == "typical":
        said.append("Interval and dose are typical, not this machine's own: replace them from its manual.")
    return said
