"""A dip chart: what a gauge shows, in litres ±, step by step, for a card in the cab."""

import math
from dataclasses import dataclass

from fluidapp.calc import build, level
from fluidapp.calc.gauge import AnyGauge
from fluidapp.calc.reader import reader
from fluidapp.errors import BadInput, OutOfRange
from fluidapp.model import Compartment, LevelPlug, Machine, Percent, Reading, Stick

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
    """The lines of a chart from the lowest to the highest reading, and what it holds for.

    unit : of the gauge's own scale. counts : what a reading is counted from, in words. per_step_l : litres that 10 mm (or 1 % of a
    dial) are about the target. known_by : how the litres are known, in words.
    """

    machine: str
    compartment: str
    gauge: str
    unit: str
    counts: str
    rows: tuple[Row, ...]
    holds_for: tuple[str, ...]
    per_step_l: float
    known_by: str


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
    marks = [(name, at) for name, at in marks_of(compartment, gauge_name) if low <= at <= high]
    steps = {round(k * step, 6) for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)}
    readings = sorted({min(max(at, low), high) for at in steps} | {low, high} | {at for _, at in marks})
    rows = []
    for at in readings:
        volume = level.volume(machine, compartment_key, as_asked(compartment, scale.name, at))
        named = ", ".join(name for name, place in marks if abs(place - at) < 1e-9)
        rows.append(Row(at, volume.as_read_l, volume.u_l, volume.dof, named))
    percent = isinstance(scale, Percent)
    return DipChart(
        machine=machine.label,
        compartment=compartment.label,
        gauge=scale.name,
        unit="%" if percent else "mm",
        counts="below the lip" if isinstance(scale, LevelPlug) else "on its scale",
        rows=tuple(rows),
        holds_for=_holds_for(machine, compartment, scale),
        per_step_l=_per_step(compartment, scale, low, high),
        known_by=known_by(compartment),
    )


def marks_of(compartment: Compartment, gauge_name: str | None = None) -> list[tuple[str, float]]:
    """Every mark of a gauge with its place on the scale: L, target and H, with the band's label where there are several bands."""
    scale = compartment.gauge(gauge_name)
    found = []
    for i, band in enumerate(scale.bands):
        more = "" if len(scale.bands) == 1 else f" {band.label or i + 1}"
        low, high = (band.high, band.low) if isinstance(scale, LevelPlug) else (band.low, band.high)
        found += [(f"L{more}", low), (f"target{more}", band.aim_mm), (f"H{more}", high)]
    return found


def known_by(compartment: Compartment) -> str:
    """How the litres of a compartment are known, in words; empty where nothing tells them."""
    ways = [
        (compartment.body, "shape"),
        (compartment.table, "table as measured"),
        (compartment.fill, "fill and mark"),
        (compartment.pours, f"{len(compartment.pours)} measured pours" if len(compartment.pours) > 1 else "1 measured pour"),
    ]
    named = [words for given, words in ways if given]
    first = " (typical)" if named and compartment.source == "typical" and not named[0].endswith(("pour", "pours")) else ""
    return f"{named[0]}{first}{''.join(f' and {more}' for more in named[1:])}" if named else ""


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


def as_asked(compartment: Compartment, gauge: str, at: float) -> Reading:
    """A reading taken as the marks ask: level machine, reference posture, oil as warm as for the marks."""
    band = level.convention(compartment, gauge)
    ok = True if isinstance(compartment.gauge(gauge), LevelPlug) else None
    return Reading(
        gauge=gauge, level=at, pitch_deg=0.0, roll_deg=0.0, posture="reference", temp_c=band.mark_c if band else None, position_ok=ok
    )


def _per_step(compartment: Compartment, scale: AnyGauge, low: float, high: float) -> float:
    """Litres that 10 mm (1 % of a dial) are about the target, or about the middle without marks."""
    half = 0.5 if isinstance(scale, Percent) else 5.0
    aim = scale.bands[0].aim_mm if scale.bands else (low + high) / 2
    ends = max(low, aim - half), min(high, aim + half)
    litres = reader(compartment, scale, 0.0)
    return abs(litres(ends[1], 0.0, 0.0) - litres(ends[0], 0.0, 0.0)) / (ends[1] - ends[0]) * 2 * half


def _holds_for(machine: Machine, compartment: Compartment, scale: AnyGauge) -> tuple[str, ...]:
    lines = ["Machine level in both directions."]
    if compartment.kind == "hydraulic tank":
        lines.append(f"Reference posture: {machine.posture or 'as the maker asks'}.")
    if isinstance(scale, LevelPlug) and scale.position_tick:
        lines.append("Plug in its position (track turned until it is).")
    if isinstance(scale, Stick) and scale.seated:
        lines.append(f"Stick wiped, then {scale.seated}.")
    for band in scale.bands:
        if band.temp_low_c is not None and band.temp_high_c is not None:
            which = f" {band.label}" if band.label and len(scale.bands) > 1 else ""
            posture = f", {band.posture}" if not band.reference else ""
            lines.append(f"Marks{which}: oil at {band.temp_low_c:g} to {band.temp_high_c:g} °C{posture}.")
    if compartment.settle_min:
        lines.append(f"Wait {compartment.settle_min:g} min after stopping.")
    if build.counts_from_gauge(compartment):
        lines.append("Litres are counted from the gauge's lowest reading.")
    if compartment.source == "typical" and not compartment.pours:
        lines.append("Typical figures, not measured on this machine: calibrate by pouring.")
    return tuple(lines)
