"""Two gauges of one compartment read at the same time: combined, or their contradiction named."""

import math
from dataclasses import dataclass, replace

from fluidapp.calc import build, figure, level, oil
from fluidapp.calc.budget import Line, combine
from fluidapp.calc.level import Volume
from fluidapp.calc.reader import follows_slope, reader
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Compartment, Doubts, Machine, Reading

CONTRADICTION = 2.0  # standard uncertainties of the difference


@dataclass(frozen=True, slots=True)
class TwoGauges:
    """What two gauges say together. ``together`` is None where they contradict each other (|z| > 2): then both stand as they are."""

    first: Volume
    second: Volume
    z: float
    together: Volume | None
    sentence: str


def read(
    machine: Machine,
    compartment_key: str,
    first: Reading,
    second: Reading,
    *,
    rho15: float = oil.RHO15_TYPICAL,
    doubts: Doubts | None = None,
) -> TwoGauges:
    """Both readings in litres and, where they agree, their mean weighted by what each gauge brings by itself.

    first, second : readings of two different gauges of the compartment, taken in the same state of the machine. A one-sided one
    is only compared. BadInput for the same gauge twice; CannotAnswer where both are one-sided; else as
    :func:`fluidapp.calc.level.volume`.
    Formula: weights 1/u^2 of reading and slope, since tank, heat and posture are common to both; the difference carries the
    readings and, with its sign, the slope. Source: weighted mean, JCGM 100:2008, 5.1.2 and 5.2.2 (from memory); |z| > 2: own rule.
    """
    part = machine.compartment(compartment_key)
    names = [part.gauge(r.gauge).name for r in (first, second)]
    if names[0] == names[1]:
        raise BadInput("gauge", names[1], f"Choose another gauge than the first one: {', '.join(g.name for g in part.gauges)}.")
    one = level.volume(machine, compartment_key, first, rho15=rho15, doubts=doubts)
    two = level.volume(machine, compartment_key, second, rho15=rho15, doubts=doubts, band=one.band)
    if one.bound != "exact" or two.bound != "exact":
        return _one_sided(part, one, two)
    own = [_own(part, v, r, doubts or machine.doubts) for v, r in ((one, first), (two, second))]
    u_diff = math.hypot(*(o.reading for o in own), *_slope(own, 1.0, -1.0))
    z = (one.value_l - two.value_l) / u_diff
    if abs(z) > CONTRADICTION:
        said = (
            f"The {names[0]} says {figure.litres(round(one.value_l, 1))}, the {names[1]} {figure.litres(round(two.value_l, 1))}: more "
            "apart than chance. They are not averaged. Wipe and read both again, then check the place and the marks of each gauge."
        )
        return TwoGauges(one, two, z, None, said)
    weights = [1.0 / (o.reading**2 + sum(s * s for s in o.slope)) for o in own]
    w1, w2 = (w / sum(weights) for w in weights)
    value = w1 * one.value_l + w2 * two.value_l
    doubt = build.doubt(part, (doubts or machine.doubts).tank_taped_percent)
    lines = [
        Line("reading", math.hypot(w1 * own[0].reading, w2 * own[1].reading), True, "Wipe, read both again and average."),
        Line("tank", max(doubt.at(value), 1e-3), doubt.measured, doubt.hint, doubt.dof),
        *(replace(line, u_l=math.hypot(*_slope(own, w1, w2))) for line in one.budget if line.name == "slope"),
        *(line for line in one.budget if line.name in ("oil temperature", "posture")),
    ]
    lines = [line for line in lines if line.u_l > 0]
    u, dof = combine(lines)
    both = replace(
        one,
        value_l=value,
        u_l=u,
        dof=dof,
        budget=tuple(sorted(lines, key=lambda line: -line.u_l)),
        as_read_l=w1 * one.as_read_l + w2 * two.as_read_l,
        remarks=tuple(dict.fromkeys([*one.remarks, *two.remarks])),
    )
    said = f"Both gauges agree: the {names[0]} counts for {100 * w1:.0f} %, the {names[1]} for {100 * w2:.0f} %."
    return TwoGauges(one, two, z, both, said)


@dataclass(frozen=True, slots=True)
class _Own:
    """What one gauge brings by itself [L]: its reading, and the slope along and across (signed where the tank is drawn)."""

    reading: float
    slope: tuple[float, ...]
    drawn: bool


def _own(part: Compartment, found: Volume, r: Reading, doubts: Doubts) -> _Own:
    scale = part.gauge(r.gauge)
    size = {line.name: line.u_l for line in found.budget}
    if not follows_slope(part, scale):
        return _Own(size["reading"], (size.get("slope", 0.0),), False)
    litres = reader(part, scale, r.swing_deg)
    moves = []
    for axis, given in enumerate((r.pitch_deg, r.roll_deg)):
        step = [0.0, 0.0]
        step[axis] = doubts.slope_measured_deg if given is not None else doubts.slope_unmeasured_deg
        ends = []
        for sign in (1, -1):
            try:
                at = litres(found.reading_mm, (r.pitch_deg or 0.0) + sign * step[0], (r.roll_deg or 0.0) + sign * step[1])
                ends.append(sign * (at - found.as_read_l))
            except OutOfRange:
                continue
        moves.append(sum(ends) / len(ends) if ends else 0.0)
    return _Own(size["reading"], tuple(moves), True)


def _slope(own: list[_Own], w1: float, w2: float) -> list[float]:
    """The slope's part of w1 V1 + w2 V2: with its sign where both know it, else as two independent figures."""
    one, two = own
    if one.drawn and two.drawn:
        return [w1 * a + w2 * b for a, b in zip(one.slope, two.slope, strict=True)]
    return [w1 * math.hypot(*one.slope), w2 * math.hypot(*two.slope)]


def _one_sided(part: Compartment, one: Volume, two: Volume) -> TwoGauges:
    """One reading without a number: the other one stands, if it keeps to the bound."""
    if one.bound != "exact" and two.bound != "exact":
        raise CannotAnswer(part.label, "neither gauge shows a level", "Pour or drain until one of them does, then read again.")
    exact, bound = (one, two) if one.bound == "exact" else (two, one)
    over = bound.value_l - exact.value_l if bound.bound == "at least" else exact.value_l - bound.value_l
    u = math.hypot(*(line.u_l for v in (one, two) for line in v.budget if line.name in ("reading", "slope")))
    z = over / u
    words = f"{bound.bound} {figure.litres(round(bound.value_l, 1))}"
    if z > CONTRADICTION:
        said = f"The {exact.gauge} says {figure.litres(round(exact.value_l, 1))}, but the {bound.gauge} {words}: read both again."
        return TwoGauges(one, two, z, None, said)
    return TwoGauges(one, two, z, exact, f"The {bound.gauge} ({words}) fits the {exact.gauge}.")
