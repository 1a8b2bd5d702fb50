"""What can fit at all: the limits beyond which a pour, a depth or a shot is a slip of the pen and is refused by name.

They are wide on purpose, since the figures of a machine may be typical ones. All are our own (common practice, no source).
"""

import math
from typing import Any

from fluidapp.errors import OutOfRange
from fluidapp.model.compartments import Bath, Compartment
from fluidapp.model.greasing import GreasePoint, Gun
from fluidapp.model.shapes import Solid

TYPICAL, MEASURED = 2.0, 1.25  # of the largest litres entered for a compartment: typical ones, and those of a plate, a manual, a pour
SYSTEM = 3.0  # of the hydraulic tank, where the litres of the whole system are not entered
FILLS = 10.0  # as much between two readings: a leak that is filled up again and again
DEPTHS, DEPTH_MM = 3.0, 500.0  # of the largest depth entered for a grease bath; without any
CAPS, GRAMS = 10.0, 5000.0  # of the cap (else the dose) of a nipple; without either
G_PER_STROKE, G_PER_S = 0.5, 0.2  # the least that a gun gives, where it is not weighed
MACHINES = "on Machines"


def most_l(part: Compartment) -> float | None:
    """The most [L] that one pour or drain of a compartment can be; None where nothing tells what it holds."""
    caps = part.capacities
    entered = [(caps.source, caps.at_mark_l), (caps.source, caps.refill_l), (caps.source, caps.system_l)]
    entered += [(part.fill.source, part.fill.litres)] if part.fill else []
    entered += [("taped", part.table[-1][1])] if part.table else []
    found = [litres * (TYPICAL if source == "typical" else MEASURED) for source, litres in entered if litres]
    if part.body is not None:
        beyond = SYSTEM if part.kind == "hydraulic tank" and caps.system_l is None else 1.0
        found.append(outer_l(part.body) * beyond)
    return max(found, default=None)


def check_litres(part: Compartment, litres: float, field: str = "litres", fills: float = 1.0) -> float:
    """``litres`` where so much can go into or come out of ``part`` in one go (or in ``fills`` goes); OutOfRange with the limit."""
    most = most_l(part)
    if most is not None and litres > most * fills:
        what = "No more fits in or comes out" if fills == 1 else f"That is {fills:g} times what fits in"
        fix = f"{what} ({part.label}): check the litres, or correct what it holds {MACHINES}."
        raise OutOfRange(field, litres, None, _rounded(most * fills), "L", fix)
    return litres


def most_mm(bath: Bath) -> float:
    """The largest depth [mm] that a grease bath can have."""
    known = [depth for depth in (bath.depth_max_mm, bath.depth_high_mm, bath.packed_depth_mm) if depth]
    return DEPTHS * max(known) if known else DEPTH_MM


def check_depth(bath: Bath, depth_mm: float) -> float:
    """``depth_mm`` where grease can stand so deep in ``bath``; OutOfRange with the limit."""
    if depth_mm > most_mm(bath):
        fix = f"So much does not fit into the bath ({bath.label}): read again, or correct its depths {MACHINES}."
        raise OutOfRange("depth", depth_mm, None, _rounded(most_mm(bath)), "mm", fix)
    return depth_mm


def most_g(point: GreasePoint) -> float:
    """The most grease [g] that one shot at one nipple can be: ten times its cap, else its dose. 1 cc is taken as 1 g."""
    known = point.cap_g or point.cap_cc or point.dose_g
    return CAPS * known if known else GRAMS


def check_shot(point: GreasePoint, strokes: float | None, seconds: float | None, mass_g: float | None, gun: Gun | None) -> None:
    """Refuses a shot that gives more than :func:`most_g`, counted in what was entered: strokes, seconds or grams. OutOfRange."""
    most = most_g(point)
    a_stroke = (gun.g_per_stroke if gun else None) or G_PER_STROKE
    a_second = gun.g_per_min / 60.0 if gun and gun.g_per_min else G_PER_S
    for field, value, limit, unit in (
        ("strokes", strokes, most / a_stroke, ""),
        ("seconds", seconds, most / a_second, "s"),
        ("grams", mass_g, most, "g"),
    ):
        if value is not None and value > limit:
            why = f"ten times what one nipple may get ({point.label})" if most != GRAMS else f"{GRAMS / 1000:g} kg at one nipple"
            fix = f"That is {why}: check what was given, or correct cap and dose {MACHINES}."
            raise OutOfRange(field, value, None, _rounded(limit), unit, fix)


def outer_l(body: Solid) -> float:
    """The volume [L] of the box round a shape: never less than what it holds."""
    d: dict[str, Any] = body.model_dump()
    match d["shape"]:
        case "upright":
            ends = _end(d["bottom_head"], d["bottom_depth"], d["diameter"]) + _end(d["top_head"], d["top_depth"], d["diameter"])
            sides = (d["diameter"], d["diameter"], d["height"] + ends)
        case "horizontal cylinder":
            sides = (d["diameter"], d["diameter"], d["length"] + 2 * _end(d["heads"], d["head_depth"], d["diameter"]))
        case "cone":
            wide = max(d["bottom_diameter"], d["top_diameter"])
            sides = (wide, wide, d["height"])
        case "sphere":
            sides = (d["diameter"],) * 3
        case "hopper":
            sides = (max(d["length"], d["bottom_length"]), max(d["width"], d["bottom_width"]), d["height"])
        case "section":
            bulge = max((abs(edge["radius"] or 0.0) for edge in d["outline"]), default=0.0)
            spans = [max(e["to"][i] for e in d["outline"]) - min(e["to"][i] for e in d["outline"]) + 2 * bulge for i in (0, 1)]
            sides = (*spans, d["length"])
        case "mesh":
            sides = tuple(max(c[i] for c in d["corners"]) - min(c[i] for c in d["corners"]) for i in (0, 1, 2))
        case _:
            sides = (d["length"], d["width"], d["height"])
    return float(math.prod(sides)) / 1e6


def _end(head: str, depth: float | None, diameter: float) -> float:
    return 0.0 if head == "flat" else depth or diameter / 2


def _rounded(limit: float) -> float:
    """The limit as it is named: three digits, never below itself."""
    step = 10.0 ** (math.floor(math.log10(limit)) - 2)
    return round(math.ceil(limit / step - 1e-9) * step, 6)
