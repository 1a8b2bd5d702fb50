"""The slewing ring as the grease sees it: nipples, positions, and the places that a shot reaches."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc.limits import above_zero
from fluidapp.errors import BadInput, OutOfRange
from fluidapp.model import GreasePoint

_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class GreasedRing:
    """A ring (or any greased point, as a ring of one position) with its interval and dose.

    nipples_deg : places of the nipples, seen from the boom ("upper") or from the undercarriage's front ("lower").
    positions : N sectors of 360/N degrees; best a multiple of the number of nipples. limit_h, limit_days : greasing interval.
    dose_g, cap_g : per nipple and position, None = unknown. free_g : grease that the race can hold, None = unknown.
    """

    nipples_deg: tuple[float, ...]
    positions: int
    limit_h: float
    limit_days: float
    dose_g: float | None = None
    cap_g: float | None = None
    frame: Literal["upper", "lower"] = "upper"
    stop_at_seal: bool = True
    free_g: float | None = None

    def __post_init__(self) -> None:
        _angles("nipples", self.nipples_deg)
        if not 1 <= self.positions <= 36:
            raise OutOfRange("positions", self.positions, 1, 36, "", "Enter how many positions make one round.")
        for name, value, unit in (("interval", self.limit_h, "h"), ("interval", self.limit_days, "days")):
            above_zero(name, value, unit)
        for name, grams in (("dose", self.dose_g), ("cap", self.cap_g), ("free volume", self.free_g)):
            if grams is not None:
                above_zero(name, grams, "g", "Enter grams above 0, or leave it out.")

    @classmethod
    def of(cls, point: GreasePoint, density_kg_m3: float = 900.0) -> "GreasedRing":
        """The ring of a grease point; a point without one is a ring of a single position. A cap in cm3 becomes grams."""
        caps = [cap for cap in (point.cap_g, None if point.cap_cc is None else point.cap_cc * density_kg_m3 / 1e3) if cap is not None]
        ring = point.ring
        return cls(
            nipples_deg=ring.nipples_deg if ring else (0.0,),
            positions=ring.positions if ring else 1,
            limit_h=point.limit_h,
            limit_days=point.limit_days,
            dose_g=point.dose_g,
            cap_g=min(caps, default=None),
            frame=ring.frame if ring else "upper",
            stop_at_seal=point.stop_at_seal,
        )

    @property
    def turn(self) -> float:
        """+1 where slewing carries the nipples round the greased ring forwards, -1 where backwards."""
        return 1.0 if self.frame == "upper" else -1.0

    def sectors(self, swing_deg: float) -> tuple[int, ...]:
        """The sector that each nipple reaches with the boom at ``swing_deg``; a place midway belongs to the higher sector.

        Formula: floor(((a + theta) mod 360) / (360/N) + 1/2) mod N. Own rule; Python's ``round`` would send ties to even sectors.

        >>> GreasedRing((0.0,), 4, 100.0, 182.0).sectors(45.0)
        (1,)
        """
        return tuple(self._sector(a + self.turn * swing_deg) for a in self.nipples_deg)

    def swings(self) -> tuple[float, ...]:
        """Every boom angle [0, 360) that brings some nipple to the middle of some sector, in increasing order."""
        step = 360.0 / self.positions
        found = {round(self.turn * (i * step - a) % 360.0, 6) % 360.0 for i in range(self.positions) for a in self.nipples_deg}
        return tuple(sorted(found))

    def swing_of(self, sector: int) -> float:
        """The boom angle at which the first nipple reaches the middle of ``sector``."""
        return round(self.turn * (sector * 360.0 / self.positions - self.nipples_deg[0]) % 360.0, 6) % 360.0

    def _sector(self, place_deg: float) -> int:
        return math.floor((place_deg % 360.0) / (360.0 / self.positions) + 0.5 + _SLACK) % self.positions


def coverage_gap(nipples_deg: Sequence[float], swings_deg: Sequence[float]) -> float:
    """The largest arc [degrees] of the ring that no shot reaches, from nipples and the boom angles at which they are used.

    nipples_deg, swings_deg : one or more angles each, finite; BadInput otherwise.
    Formula: the largest gap between the sorted, distinct values of (a + theta) mod 360, the wrap included; 360 for one place.
    Own geometry.

    One nipple at four boom angles leaves 90°, three nipples at 0, 45 and 90° leave 45° (computed by us):
    >>> coverage_gap([0], [0, 90, 180, 270]), coverage_gap([0, 120, 240], [0, 45, 90])
    (90.0, 45.0)
    """
    _angles("nipples", nipples_deg)
    _angles("boom angles", swings_deg)
    return largest_gap([a + theta for a in nipples_deg for theta in swings_deg])


def largest_gap(places_deg: Sequence[float]) -> float:
    """The largest arc [degrees] between neighbouring places round the ring; 360 for one place or none."""
    places = sorted(p % 360.0 for p in places_deg)
    if not places:
        return 360.0
    gaps = [later - earlier for earlier, later in itertools.pairwise(places)]
    return max([*gaps, 360.0 - places[-1] + places[0]])


def positions_needed(nipples: int, gap_deg: float) -> int:
    """Boom angles needed so that ``nipples`` evenly spaced nipples leave no arc wider than ``gap_deg``.

    nipples >= 1, 0 < gap_deg <= 360, else OutOfRange. Formula: ceil(360 / (m s)). Own geometry.

    >>> positions_needed(1, 90), positions_needed(3, 45)
    (4, 3)
    """
    if nipples < 1:
        raise OutOfRange("nipples", nipples, 1, None, "", "Enter how many nipples the ring has.")
    if not 0 < gap_deg <= 360:
        raise OutOfRange("gap", gap_deg, 0.0, 360.0, "°", "Enter the widest arc that may stay between two places.", True)
    return math.ceil(360.0 / (nipples * gap_deg) - _SLACK)


def position_name(swing_deg: float, sprockets: Literal["rear", "front"] = "rear") -> str:
    """Where the boom points, in words. 0° = front of the undercarriage, 90° = its left side. Common practice, no source.

    >>> position_name(0), position_name(90), position_name(135), position_name(30)
    ('front idlers', 'left track', 'rear left corner', 'between front idlers and left track, nearer front idlers')
    >>> position_name(180, sprockets="front")
    'rear idlers'
    """
    if not math.isfinite(swing_deg):
        raise BadInput("boom angle", swing_deg, "Enter degrees.")
    front, rear = ("front idlers", "rear sprockets") if sprockets == "rear" else ("front sprockets", "rear idlers")
    sides = (front, "left track", rear, "right track")
    corners = ("front left corner", "rear left corner", "rear right corner", "front right corner")
    at = swing_deg % 360.0
    eighth = round(at / 45.0)
    if abs(at - eighth * 45.0) <= 1.0:
        return (corners if eighth % 2 else sides)[eighth % 8 // 2]
    quarter = int(at // 90.0)
    pair = sides[quarter], sides[(quarter + 1) % 4]
    return f"between {pair[0]} and {pair[1]}, nearer {pair[0] if at % 90.0 < 45.0 else pair[1]}"


def _angles(name: str, values: Sequence[float]) -> None:
    if not len(values):
        raise BadInput(name, "none", "Enter at least one angle.")
    if not all(math.isfinite(v) for v in values):
        raise BadInput(name, "not finite", "Enter degrees.")
