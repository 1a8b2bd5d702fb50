"""A dip chart: what a gauge shows, in litres ±, step by step, for a card in the cab."""

import math
from dataclasses import dataclass

from fluidapp.calc import build, level
from fluidapp.calc.reader import reader
from fluidapp.errors import BadInput, OutOfRange
from fluidapp.model import Compartment, LevelPlug, Machine, Percent, Reading

MOST_ROWS = 400


@dataclass(frozen=True, slots=True)
class Row:
    """One line: the reading in the gauge's own scale, litres, standard uncertainty [L], and the mark that stands there."""

    reading: float
    volume_l: float
    u_l: float
    dof: float
    mark: str = ""


@dataclass(frozen=True, slots=True)
class DipChart:
    """The lines of a chart from the lowest to the highest reading, and what it holds for."""

    machine: str
    compartment: str
    gauge: str
    unit: str
    rows: tuple[Row, ...]
    holds_for: tuple[str, ...]
    per_mm_l: float | None = None


def dip_chart(machine: Machine, compartment_key: str, gauge_name: str | None = None, step: float | None = None) -> DipChart:
    """Litres at every ``step`` of a gauge on the level machine, with the marks' own readings among them.

    step : distance of the lines in the gauge's own scale [mm; % for a percentage gauge], > 0; None: about 30 lines on a
    round step. The ± takes the machine as level, in its reference posture, with the oil as warm as the marks ask.
    BadInput for a step that is not above 0 or makes more than 400 lines; else errors as :func:`level.volume`.
    """
    compartment = machine.compartment(compartment_key)
    scale = compartment.gauge(gauge_name)
    low, high = span(compartment, gauge_name)
    if step is None:
        step = round_step((high - low) / 30)
    if not (math.isfinite(step) and step > 0):
        raise BadInput("step", step, "It must be above 0.")
    if (high - low) / step > MOST_ROWS:
        raise BadInput("step", step, f"That makes more than {MOST_ROWS} lines: choose at least {round_step((high - low) / MOST_ROWS):g}.")
    marks = {mark: at for band in scale.bands[:1] for mark, at in (("L", band.low), ("target", band.aim_mm), ("H", band.high))}
    steps = {round(k * step, 6) for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)}
    readings = sorted(steps | {low, high} | set(marks.values()))
    rows = []
    for at in readings:
        volume = level.volume(machine, compartment_key, _as_asked(scale.name, at, compartment))
        named = " ".join(mark for mark, place in marks.items() if abs(place - at) < 1e-9)
        rows.append(Row(at, volume.as_read_l, volume.u_l, volume.dof, named))
    return DipChart(
        machine=machine.label,
        compartment=compartment.label,
        gauge=scale.name,
        unit="%" if isinstance(scale, Percent) else "mm",
        rows=tuple(rows),
        holds_for=_holds_for(machine, compartment),
    )


def span(compartment: Compartment, gauge_name: str | None = None) -> tuple[float, float]:
    """Lowest and highest reading of a gauge for which the tank holds a volume, both inside its scale."""
    scale = compartment.gauge(gauge_name)
    litres = reader(compartment, scale, 0.0)
    body = build.tank(compartment)
    tops = [scale.end_mm, *(band.high for band in scale.bands), *(band.low for band in scale.bands)]
    known = [at for at in tops if at is not None]
    if isinstance(scale, Percent):
        return max(0.0, scale.start_mm), min(100.0, scale.end_mm or 100.0)
    ends = []
    for volume in (0.0, float(body.capacity_l)):
        try:
            ends.append(level.reading_at(compartment, volume, gauge_name))
        except OutOfRange:
            continue
    low = max([scale.start_mm, *([min(ends)] if ends else [])])
    high = min([*([scale.end_mm] if scale.end_mm is not None else []), *([max(ends)] if ends else known)])
    if not low < high:
        raise BadInput(scale.name, low, "The gauge's scale and the tank do not meet: check the place of its zero.")
    litres(low, 0.0, 0.0)
    return low, high


def round_step(least: float) -> float:
    """The 1/2/5 step at or above ``least``."""
    power = 10.0 ** math.floor(math.log10(least))
    return float(next(s * power for s in (1.0, 2.0, 5.0, 10.0) if s * power >= least * (1 - 1e-9)))


def _as_asked(gauge: str, at: float, compartment: Compartment) -> Reading:
    band = level.convention(compartment, gauge)
    ok = True if isinstance(compartment.gauge(gauge), LevelPlug) else None
    return Reading(
        gauge=gauge, level=at, pitch_deg=0.0, roll_deg=0.0, posture="reference", temp_c=band.mark_c if band else None, position_ok=ok
    )


def _holds_for(machine: Machine, compartment: Compartment) -> tuple[str, ...]:
    lines = ["Machine level in both directions."]
    if compartment.kind == "hydraulic tank":
        lines.append(f"Reference posture: {machine.posture or 'as the maker asks'}")
    band = level.convention(compartment)
    if band and band.temp_low_c is not None and band.temp_high_c is not None:
        lines.append(f"Marks for oil at {band.temp_low_c:g} to {band.temp_high_c:g} °C.")
    if compartment.source == "typical":
        lines.append("Typical figures, not measured on this machine: calibrate by pouring.")
    return tuple(lines)
