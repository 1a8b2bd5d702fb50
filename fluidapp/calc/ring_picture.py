"""The picture of a greasing round as plain data: a ring seen from above, one sector for each position."""

import math
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc.greasing import Greasing, Status, Step, position_name

SHADES: dict[Status, float] = {"not yet due": 0.15, "comes next": 0.4, "due": 0.65, "past due": 1.0}  # of one hue, light to dark
_NAMED_UP_TO = 6


@dataclass(frozen=True, slots=True)
class Sector:
    """One position. ``mark`` says of the next one whether it is due now or only comes first.

    Angles in radians, clockwise from straight up (the front of the undercarriage), as it is seen from above.
    """

    number: int
    start: float
    end: float
    middle: float
    lines: tuple[str, ...]
    word: Status
    shade: float
    comes_next: bool
    mark: str


@dataclass(frozen=True, slots=True)
class RingPicture:
    """Sectors in the order of their numbers, the words of front and rear, and the picture in words."""

    sectors: tuple[Sector, ...]
    front: str
    rear: str
    text: str


def coming(found: Greasing) -> Step:
    """The stop that comes now: the first of the round, or where nothing is due the position with the longest lapse."""
    return found.steps[0] if found.steps else found.one_shot


def ring_picture(found: Greasing, sprockets: Literal["rear", "front"] = "rear") -> RingPicture:
    """The ring of ``found``; the boom angle counts to the left (90° = left track), so it runs against the clock here.

    Few positions carry their name, many only number, share and word (the table beside has the names).
    """
    count = len(found.positions)
    half = math.pi / count
    sectors = []
    for position in found.positions:
        middle = -math.radians(position.swing_deg) % (2 * math.pi)
        share = f"{100 * position.lapse:.0f} %"
        number = f"{position.number + 1}"
        named = (f"{number} {position.name}", position.word, share)
        lines = named if count <= _NAMED_UP_TO else (number, share) if count > 12 else (number, position.word, share)
        mark = "comes now" if found.steps else "comes first"
        comes_next = position.number in coming(found).positions
        sectors.append(
            Sector(
                position.number,
                middle - half,
                middle + half,
                middle,
                lines,
                position.word,
                SHADES[position.word],
                comes_next,
                mark if comes_next else "",
            )
        )
    said = "; ".join(f"{p.number + 1} {p.name}: {100 * p.lapse:.0f} % of the interval, {p.word}" for p in found.positions)
    front, rear = position_name(0.0, sprockets), position_name(180.0, sprockets)
    comes = "Next" if found.steps else "Nothing is due; first comes"
    text = f"Slewing ring from above, front up. {said}. {comes}: boom over {coming(found).name}."
    return RingPicture(tuple(sectors), front, rear, text)
