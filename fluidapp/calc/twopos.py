"""The two-position reading: read, slew 180°, read again. On an even slope the slope then cancels to first order."""

import math
from dataclasses import replace

from fluidapp.calc import build, gauge, level, oil
from fluidapp.calc.budget import Line, combine
from fluidapp.calc.geometry import Curve
from fluidapp.calc.level import Volume
from fluidapp.calc.reader import follows_slope, reader, usable_gauge
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Compartment, Doubts, Machine, Reading

STEEPEST_DEG = 3.0  # own limit, editable: beyond it nobody slews for a reading
LEFT_OVER = 0.05  # of half the difference, where the tank is not drawn: what curved walls and leaning gauges leave (own, typical)


def refusals(compartment: Compartment, *, slope_deg: float | None, slope_small: bool, arc_clear: bool, drive_sound: bool) -> list[str]:
    """Why the machine must not be slewed for a reading, each reason a sentence; none: the reading may be offered.

    slope_deg : steepest slope that was measured, None where it was not. slope_small, arc_clear, drive_sound : what the person has
    looked at. Own rule (common practice, no source); it never says that slewing is safe.
    """
    said = []
    if compartment.on != "upper structure":
        said.append(f"{compartment.label} does not turn with the upper structure: slewing changes nothing there.")
    if slope_deg is not None and slope_deg > STEEPEST_DEG:
        said.append(f"The slope is {slope_deg:g}°, more than {STEEPEST_DEG:g}°: do not slew, move to level ground.")
    elif slope_deg is None and not slope_small:
        said.append(f"Only where the slope is at most {STEEPEST_DEG:g}°.")
    if not arc_clear:
        said.append("Only with the slewing arc clear and nobody in it.")
    if not drive_sound:
        said.append("Only where slewing motor, gearbox and ring are not under suspicion, opened or low on oil.")
    return said


def volume(
    machine: Machine,
    compartment_key: str,
    first: Reading,
    second: Reading,
    *,
    rho15: float = oil.RHO15_TYPICAL,
    doubts: Doubts | None = None,
) -> Volume:
    """Litres ± from two readings of the same gauge, the upper structure turned by 180° in between.

    first, second : exact readings; their own slopes are not used. Each is corrected for rods and heat before they are averaged.
    BadInput for readings of different gauges or one-sided ones; CannotAnswer for a compartment on the undercarriage; else errors
    as :func:`fluidapp.calc.level.volume`.
    Formula: mean of the two readings on the level chart; exact for upright walls and an upright gauge. What remains is taken from
    the drawn tank at the steepest slope that the gate allows (or the one measured), as limits a/sqrt 3; without a drawing 5 % of
    half the difference (own, typical). Own arrangement.
    """
    part = machine.compartment(compartment_key)
    scale = usable_gauge(part, first)
    if part.on != "upper structure":
        raise CannotAnswer(part.label, "it does not turn with the upper structure", "Read it on level ground.")
    if (second.gauge or scale.name) != scale.name:
        raise BadInput("gauge", second.gauge or "", f"Read the {scale.name} both times.")
    if first.bound != "exact" or second.bound != "exact":
        raise BadInput("reading", "no number", "Both readings need a number: pour until the gauge shows a level.")
    flat = {"pitch_deg": None, "roll_deg": None, "swing_deg": 0.0}
    one = level.volume(machine, compartment_key, first.model_copy(update=flat), rho15=rho15, doubts=doubts)
    two = level.volume(machine, compartment_key, second.model_copy(update=flat), rho15=rho15, doubts=doubts, band=one.band)
    found = [one, two]
    shown = [level.reading_at(part, v.value_l, scale.name) for v in found]
    mean = sum(shown) / 2
    value = reader(part, scale, 0.0)(mean, 0.0, 0.0)
    slopes = [abs(x) for r in (first, second) for x in (r.pitch_deg, r.roll_deg) if x is not None]
    left = _left_over(part, scale, mean, max(slopes) if slopes else STEEPEST_DEG, value, abs(found[0].value_l - found[1].value_l) / 2)
    doubt = build.doubt(part, (doubts or machine.doubts).tank_taped_percent)
    lines = [
        Line("slope", max(left, 1e-3), True, "What the two-position reading leaves of the slope: move to level ground."),
        Line("tank", max(doubt.at(value), 1e-3), doubt.measured, doubt.hint, doubt.dof),
    ]
    for name in ("reading", "oil temperature", "posture"):
        same = [line for v in found for line in v.budget if line.name == name]
        if same:
            size = math.hypot(*(line.u_l for line in same)) / 2 if name == "reading" else max(line.u_l for line in same)
            lines.append(replace(same[0], u_l=size))
    u, dof = combine(lines)
    slope_mm = abs(second.level - first.level) / 2 if first.level is not None and second.level is not None else 0.0
    turned = f"Two positions, 180° apart: the slope moved the {scale.name} by {slope_mm:.0f} {'mm' if scale.kind != 'percent' else '%'}."
    remarks = [r for v in found for r in v.remarks]
    return replace(
        found[0],
        value_l=value,
        u_l=u,
        dof=dof,
        budget=tuple(sorted(lines, key=lambda line: -line.u_l)),
        remarks=tuple(dict.fromkeys([turned, *remarks])),
        reading_mm=sum(v.reading_mm for v in found) / 2,
        as_read_l=sum(v.as_read_l for v in found) / 2,
        slope_l=0.0,
        not_measured=tuple(name for name in found[0].not_measured if name != "slope"),
    )


def _left_over(part: Compartment, scale: gauge.AnyGauge, at: float, slope_deg: float, value_l: float, half_l: float) -> float:
    """Standard uncertainty [L] of what the averaging leaves."""
    if not follows_slope(part, scale) or isinstance(build.tank(part), Curve):
        return LEFT_OVER * half_l
    litres = reader(part, scale, 0.0)
    worst = 0.0
    for k in range(8):
        pitch, roll = slope_deg * math.cos(k * math.pi / 4), slope_deg * math.sin(k * math.pi / 4)
        try:
            both = [level.reading_at(part, value_l, scale.name, pitch_deg=pitch, roll_deg=roll, swing_deg=swing) for swing in (0.0, 180.0)]
            worst = max(worst, abs(litres(sum(both) / 2, 0.0, 0.0) - value_l))
        except OutOfRange:
            continue
    return worst / math.sqrt(3.0)
