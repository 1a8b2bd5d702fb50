"""The picture of one story as plain data: the compartments that it touches, with arrows as wide as their litres."""

import math
from itertools import pairwise

from fluidapp.calc.flow import WIDE, Box, FlowPicture, Stream
from fluidapp.calc.leak_paths import Way, Ways
from fluidapp.calc.picture import Loop

_TALLEST, _LOWEST, _STEPS, GAP, _MARGIN = 40.0, 60.0, 16, 14.0, 14.0
OUTER = {"E": "Outside", "W": "Water from outside", "R": "A pour not written down", "F": "Fuel or coolant"}


def story(way: Way, ways: Ways) -> FlowPicture | None:
    """The first story of ``way`` ready to be drawn; None for "no leak". A place stands right of every place that it is fed from."""
    first = way.stories[0]
    if not first.paths:
        return None
    labels = {**OUTER, **dict(ways.names)}
    steps: list[tuple[str, str, float, float]] = []
    for path, (litres, u) in zip(first.paths, way.litres, strict=True):
        stops = path.split(">")
        steps += [(a, b, litres, u) for a, b in pairwise(stops)]
    nodes = list(dict.fromkeys(node for a, b, *_ in steps for node in (a, b)))
    column = dict.fromkeys(nodes, 0)
    for _ in nodes:
        for a, b, *_rest in steps:
            column[b] = max(column[b], column[a] + 1)
    count = max(column.values()) + 1
    wide = 36.0 if count == 2 else 27.0
    scale = _TALLEST / max(litres for _, _, litres, _ in steps) if any(s[2] > 0 for s in steps) else 1.0
    high = max(sum(_LOWEST + GAP for node in nodes if column[node] == c) for c in range(count)) - GAP + 2 * _MARGIN
    boxes: dict[str, Box] = {}
    for c in range(count):
        here = [node for node in nodes if column[node] == c]
        y = (high - len(here) * (_LOWEST + GAP) + GAP) / 2
        x = (WIDE - wide) * c / (count - 1)
        for node in here:
            net = sum(litres * ((node == a) - (node == b)) for a, b, litres, _ in steps)
            u = sum((u * ((node == a) - (node == b))) ** 2 for a, b, _, u in steps) ** 0.5
            through = max((u for a, b, _, u in steps if node in (a, b)), default=0.1)
            boxes[node] = Box(labels[node], x, x + wide, y, y + _LOWEST, net, u or through, float("inf"), True)
            y += _LOWEST + GAP
    streams = tuple(
        Stream(labels[a], _arrow(boxes[a], boxes[b], max(litres * scale, 2.0), k), litres, True, "by itself", (boxes[a].x2, boxes[a].y))
        for k, (a, b, litres, _) in enumerate(steps)
    )
    said = "; ".join(f"{litres:.1f} L from {labels[a]} to {labels[b]}" for a, b, litres, _ in steps)
    return FlowPicture(tuple(boxes.values()), streams, high, scale, f"{said}.")


def _arrow(start: Box, end: Box, wide: float, number: int) -> Loop:
    """An arrow from one box to the next, as wide as its litres."""
    y1, y2 = ((box.y + box.y2 - wide) / 2 + 2.0 * number for box in (start, end))
    tip = 4.0
    upper = []
    for k in range(_STEPS + 1):
        t = k / _STEPS
        x = start.x2 + (end.x - tip - start.x2) * t
        upper.append((x, y1 + (y2 - y1) * (1 - math.cos(math.pi * t)) / 2))
    head = ((end.x - tip, y2 - 5.0), (end.x, y2 + wide / 2), (end.x - tip, y2 + wide + 5.0))
    return (*upper, *head, *((x, y + wide) for x, y in reversed(upper)))
