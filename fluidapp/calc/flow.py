"""The picture of an oil balance as plain data: compartments as boxes, streams between them as wide as their litres."""

import math
from dataclasses import dataclass

from fluidapp.calc.balance import Account, Line
from fluidapp.calc.figure import figure
from fluidapp.calc.picture import Loop

WIDE = 100.0  # the picture's width in its own units; heights are in px
_BOX, _LANE, _GAP, _ARROW = 36.0, 42.0, 14.0, 30.0  # box width; where the streams meet; room between boxes; length of pours
_TALLEST, _LOWEST = 110.0, 48.0  # px of all streams together; of a box
_STEPS = 16
_Row = tuple[str, float, float, float, bool, Line | None]
MISSING, EXCESS = "Not accounted for", "Not known where from"


@dataclass(frozen=True, slots=True)
class Box:
    """A compartment, or what is not accounted for: its corners, and what came out of it (> 0) or into it (< 0) by itself [L ±]."""

    label: str
    x: float
    x2: float
    y: float
    y2: float
    litres: float
    u_l: float
    dof: float
    known: bool

    @property
    def side(self) -> str:
        """ "left" for a source, "right" for a sink."""
        return "left" if self.x < WIDE / 2 else "right"


@dataclass(frozen=True, slots=True)
class Stream:
    """Litres on their way: a closed outline, as wide as its litres where they went by themselves. ``clear`` : more than doubt."""

    label: str
    outline: Loop
    litres: float
    clear: bool
    kind: str  # "by itself", "poured", "drained"
    at: tuple[float, float]


@dataclass(frozen=True, slots=True)
class FlowPicture:
    """Boxes and streams; x to the right from 0 to 100, y downwards in px from 0 to ``high``; px_per_l is the width of a litre."""

    boxes: tuple[Box, ...]
    streams: tuple[Stream, ...]
    high: float
    px_per_l: float
    text: str


def flow(account: Account) -> FlowPicture:
    """What each compartment lost or gained by itself, what was poured and drained, and what is left over, ready to be drawn.

    Which way the litres took between the compartments is not known from readings alone: they meet in the middle.
    """
    rows: list[_Row] = [(line.node, line.gone_l, line.u_l, line.dof, line.word != "no clear change", line) for line in account.lines]
    left = [row for row in rows if row[1] >= 0]
    right = [row for row in rows if row[1] < 0]
    over = account.unaccounted_l
    clear = account.verdict in ("does not close", "loss", "gain")
    if len(rows) > 1 or over < 0 or not right:
        extra: _Row = (MISSING if over >= 0 else EXCESS, -over, account.u_l, account.dof, clear, None)
        (right if over >= 0 else left).append(extra)
    total = max(sum(abs(row[1]) for row in left), sum(abs(row[1]) for row in right), 1e-9)
    scale = _TALLEST / total
    boxes: list[Box] = []
    streams: list[Stream] = []
    heights = [_column(side, x, scale, boxes, streams) for side, x in ((left, 0.0), (right, WIDE - _BOX))]
    high = max(heights)
    boxes, streams = _centred(boxes, streams, heights, high)
    streams += _across(boxes, [row[4] for row in (*left, *right)], total, scale, high)
    return FlowPicture(tuple(boxes), tuple(streams), high, scale, _text(account))


def _column(rows: list[_Row], x: float, scale: float, boxes: list[Box], streams: list[Stream]) -> float:
    """Boxes from the top, with the arrows of what was poured in above and drained below; the column's height."""
    y = 0.0
    for label, litres, u, dof, _, line in rows:
        poured, drained = (line.poured_l, line.drained_l) if line else (0.0, 0.0)
        middle = x + 0.17 * _BOX
        if poured > 0:
            streams.append(_upright(label, "poured", poured, middle, y))
            y += _ARROW + 2
        tall = max(_LOWEST, abs(litres) * scale + 10)
        boxes.append(Box(label, x, x + _BOX, y, y + tall, litres, u, dof, line is not None))
        y += tall
        if drained > 0:
            streams.append(_upright(label, "drained", drained, middle, y + 2))
            y += _ARROW + 2
        y += _GAP
    return y - _GAP


def _upright(label: str, kind: str, litres: float, x: float, y: float) -> Stream:
    """An arrow straight down that marks a pour or a drain; its width says nothing."""
    half, tip, shoulder = 2.0, y + _ARROW, y + _ARROW - 10
    tail = ((x - half, y), (x + half, y), (x + half, shoulder))
    head = ((x + half + 1.5, shoulder), (x, tip), (x - half - 1.5, shoulder), (x - half, shoulder))
    return Stream(label, (*tail, *head), litres, True, kind, (x + half + 3, y + _ARROW / 2 - 2))


def _centred(boxes: list[Box], streams: list[Stream], heights: list[float], high: float) -> tuple[list[Box], list[Stream]]:
    """Both columns brought to the same middle."""
    from dataclasses import replace

    down = {"left": (high - heights[0]) / 2, "right": (high - heights[1]) / 2}
    moved = [replace(b, y=b.y + down[b.side], y2=b.y2 + down[b.side]) for b in boxes]
    carried = []
    for stream in streams:
        by = down["left" if stream.at[0] < WIDE / 2 else "right"]
        outline = tuple((x, y + by) for x, y in stream.outline)
        carried.append(replace(stream, outline=outline, at=(stream.at[0], stream.at[1] + by)))
    return moved, carried


def _across(boxes: list[Box], clear: list[bool], total: float, scale: float, high: float) -> list[Stream]:
    """The streams from the left boxes to the middle, and on to the right ones with an arrow's tip."""
    top = {"left": (high - total * scale) / 2, "right": (high - total * scale) / 2}
    found = []
    for box, sure in zip(boxes, clear, strict=True):
        wide = max(abs(box.litres) * scale, 1.0)
        meet = top[box.side]
        top[box.side] += abs(box.litres) * scale
        own = (box.y + box.y2 - wide) / 2
        if box.side == "left":
            outline = _ribbon(box.x2, own, WIDE / 2, meet, wide)
        else:
            outline = _ribbon(WIDE / 2, meet, box.x - 3.0, own, wide)
            half = len(outline) // 2
            tip = ((box.x - 3.0, own - 4.0), (box.x, own + wide / 2), (box.x - 3.0, own + wide + 4.0))
            outline = (*outline[:half], *tip, *outline[half:])
        found.append(Stream(box.label, outline, abs(box.litres), sure, "by itself", (box.x2, own)))
    return found


def _ribbon(x1: float, y1: float, x2: float, y2: float, wide: float) -> Loop:
    """An S-shaped band: its upper edge from left to right, then its lower edge back."""
    upper = []
    for k in range(_STEPS + 1):
        t = k / _STEPS
        upper.append((x1 + (x2 - x1) * t, y1 + (y2 - y1) * (1 - math.cos(math.pi * t)) / 2))
    return (*upper, *((x, y + wide) for x, y in reversed(upper)))


def _text(account: Account) -> str:
    said = []
    for line in account.lines:
        went = "left" if line.gone_l >= 0 else "came into"
        said.append(f"{figure(abs(line.gone_l), line.u_l, line.dof)} {went} {line.node} by itself")
    over = "are not accounted for" if account.unaccounted_l >= 0 else "more were found than lost"
    said.append(f"{figure(abs(account.unaccounted_l), account.u_l, account.dof)} {over}")
    return "; ".join(said) + "."
