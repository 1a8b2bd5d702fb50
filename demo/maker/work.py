"""A quarry at work: litres move, meters run, and people read, pour and write down.

Truth is kept in litres at 15 °C for every compartment and bath. What people write down is what a gauge would show of it, in
the posture, slope and oil temperature of the morning, with a reader's error, at the gauge's division.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from typing import Any

from fluidapp.calc import build, gauge, level, oil
from fluidapp.calc.bath import area
from fluidapp.calc.geometry import Tank, up
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, LevelPlug, Machine, Percent, Stick

HERE = timezone(timedelta(hours=2))  # the quarry keeps one clock all year
START, END = datetime(2025, 3, 31, 6, 20, tzinfo=HERE), datetime(2026, 9, 30, 17, 0, tzinfo=HERE)
RHO = {"hyd_vg46": 870.0, "eng_15w40": 880.0, "gear_vg220": 895.0, "gear_80w90": 895.0}
Row = dict[str, Any]


@dataclass
class Book:
    """What people wrote down, by file."""

    readings: list[Row] = field(default_factory=list)
    movements: list[Row] = field(default_factory=list)
    shots: list[Row] = field(default_factory=list)
    meters: list[Row] = field(default_factory=list)
    others: list[Row] = field(default_factory=list)


@dataclass
class Leak:
    """Oil that goes from one place to another while the machine works [L/h]; ``when`` says whether it does."""

    source: str
    sink: str  # a compartment, a bath, or "ground"
    rate_l_h: float
    when: Callable[["Plant", datetime], bool] = lambda plant, day: True


@dataclass
class Plant:
    """One machine with its truth: litres at 15 °C by node, running hours, and what the hour meter shows."""

    machine: Machine
    rng: random.Random
    book: Book
    litres: dict[str, float] = field(default_factory=dict)
    hours: float = 0.0
    meter_offset: float = 0.0
    leaks: list[Leak] = field(default_factory=list)
    last_change: dict[str, float] = field(default_factory=dict)
    last_round: float = 0.0
    last_sample: float = 0.0
    events: list[tuple[datetime, Callable[["Plant", datetime], None]]] = field(default_factory=list)  # day, what happens then
    skip_position: Callable[["Plant", float, datetime], bool] = lambda plant, swing, day: False

    def __post_init__(self) -> None:
        for compartment in self.machine.compartments:
            if compartment.gauges:
                self.litres[compartment.key] = level.marks(compartment).target_l * (1 - 0.01 * self.rng.random())
        for bath in self.machine.baths:
            self.litres[bath.key] = (bath.packed_depth_mm or 0.0) * area(bath).l_per_mm

    @property
    def meter_h(self) -> float:
        """What the hour meter shows."""
        return round(self.hours - self.meter_offset, 1)

    def run(self, hours: float, day: datetime) -> None:
        """The machine works; its leaks run."""
        self.hours += hours
        for leak in self.leaks:
            if leak.when(self, day):
                flows = min(leak.rate_l_h * hours, self.litres[leak.source])
                self.litres[leak.source] -= flows
                if leak.sink in self.litres:
                    self.litres[leak.sink] += flows

    # what people do

    def head(self, at: datetime, by: str) -> Row:
        """What every row begins with."""
        return {"time": at.isoformat(timespec="minutes"), "machine": self.machine.key, "meter_h": self.meter_h, "by": by}

    def read(
        self, key: str, at: datetime, by: str, oil_c: float, *, gauge_name: str | None = None, told_c: bool = True, **more: Any
    ) -> None:
        """A reading of one gauge, as a person writes it down."""
        compartment = self.machine.compartment(key)
        scale = compartment.gauge(gauge_name)
        pitch, roll = (self.rng.gauss(0, 0.5) for _ in "pr")
        sloped = compartment.body is not None and self.rng.random() < 0.35
        if not sloped:
            pitch, roll = pitch / 3, roll / 3
        warm = self.litres[key] + (1 / oil.vcf(RHO[str(compartment.product)], oil_c) - 1) * self.warms(compartment)
        row: Row = self.head(at, by) | {"node": key, "gauge": scale.name, "unit": "%" if isinstance(scale, Percent) else "mm"}
        try:
            value = shown(compartment, scale, warm - more.pop("rods_l", 0.0), pitch, roll)
            value += self.rng.gauss(0, 0.6) * gauge.u_reading(scale)
            value = at_division(scale, value)
            gauge.on_scale(scale, value)
            row["reading"] = f"{value:g}"
        except FluidappError:
            low = scale.start_mm if not isinstance(scale, LevelPlug) else (scale.end_mm or 60.0)
            marks = level.marks(compartment)
            empty = warm < marks.low_l
            if isinstance(scale, LevelPlug) and not empty:
                self.litres[key] -= max(0.0, warm - marks.high_l)  # what stood over the lip ran out
            row |= {
                "reading": f"{low if empty else (0 if isinstance(scale, LevelPlug) else scale.end_mm):g}",
                "bound": "at most" if empty else "at least",
            }
        if told_c and self.rng.random() < 0.85:
            row["oil_c"] = round(oil_c)
        if sloped:
            row |= {"pitch_deg": round(pitch, 1), "roll_deg": round(roll, 1)}
        if key == "tank":
            row["posture"] = "reference"
        if isinstance(scale, LevelPlug):
            row["plug_in_position"] = "yes"
            if row.get("bound") == "at least":
                row["note"] = "ran out over the lip"
        self.book.readings.append(row | more)

    def warms(self, compartment: Compartment) -> float:
        """Litres that warm up with the oil that is read: a hydraulic tank feeds a whole system, a gear case only itself."""
        if compartment.kind == "hydraulic tank" and compartment.capacities.system_l:
            return compartment.capacities.system_l
        return self.litres[compartment.key]

    def survey(self, at: datetime, by: str) -> None:
        """Depths of the grease bath, at four places under the cover."""
        for bath in self.machine.baths:
            mean = self.litres[bath.key] / area(bath).l_per_mm
            lean, turn = abs(self.rng.gauss(0, 3)), self.rng.uniform(0, 360)
            places = (0, 90, 180, 270)
            depths = [max(0, round(mean + lean * math.cos(math.radians(p - turn)) + self.rng.gauss(0, 1.5))) for p in places]
            self.book.readings.append(
                self.head(at, by) | {"node": bath.key, "depths_mm": " ".join(map(str, depths)), "depths_at_deg": " ".join(map(str, places))}
            )

    def pour(self, key: str, litres: float, at: datetime, by: str, purpose: str = "top-up", oil_c: float = 15.0) -> None:
        """Oil from stock, by the meter of the lube truck."""
        true = litres * (1 + self.rng.gauss(0, 0.004))
        product = str(self.machine.compartment(key).product)
        self.litres[key] += true * float(oil.vcf(RHO[product], oil_c))
        row = self.head(at, by) | {"from": "stock", "to": key, "product": product, "amount": f"{litres:g}", "unit": "L"}
        self.book.movements.append(row | {"u": round(0.05 + 0.005 * litres, 2), "oil_c": round(oil_c), "purpose": purpose})

    def drain(self, key: str, at: datetime, by: str, purpose: str = "planned change", share: float = 0.97) -> None:
        """A compartment emptied into the used oil, as far as it drains."""
        litres = self.litres[key] * share
        self.litres[key] -= litres
        row = self.head(at, by) | {
            "from": key,
            "to": "used-oil",
            "product": str(self.machine.compartment(key).product),
            "amount": f"{litres:.1f}",
        }
        self.book.movements.append(row | {"unit": "L", "u": round(0.1 + 0.01 * litres, 2), "purpose": purpose})

    def change(self, key: str, task: str, at: datetime, by: str) -> None:
        """A planned oil change."""
        self.drain(key, at, by)
        target = level.marks(self.machine.compartment(key)).target_l
        self.pour(key, tenth(target - self.litres[key]), at + timedelta(minutes=40), by, "planned change")
        self.last_change[key] = self.hours
        self.book.others.append(self.head(at + timedelta(minutes=45), by) | {"kind": "task done", "task": task, "node": key})

    def sample(self, key: str, at: datetime, by: str) -> None:
        """A bottle for the laboratory."""
        bottle = f"{self.machine.key}-{at:%y%m%d}"
        oil_h = round(self.hours - self.last_change[key], 1)
        self.book.others.append(self.head(at, by) | {"kind": "oil sample", "node": key, "bottle": bottle, "oil_h": oil_h, "cold": True})
        self.last_sample = self.hours

    def wrote(self, kind: str, at: datetime, by: str, **doc: Any) -> None:
        """Any other entry."""
        self.book.others.append(self.head(at, by) | {"kind": kind, **doc})

    def exchange_meter(self, at: datetime, by: str) -> None:
        """A new hour meter that begins at zero."""
        old = self.meter_h
        self.meter_offset = self.hours
        self.book.meters.append(self.head(at, by) | {"state": "exchanged", "old_end_h": f"{old:g}"})

    def shoot(self, point: str, swing: float | None, at: datetime, by: str, gun: str) -> None:
        """One shot of grease."""
        dose = self.machine.grease_point(point).dose_g or 30.0
        row = self.head(at, by) | {"point": point, "nipple": 1, "gun": gun}
        if swing is not None:
            row["swing_deg"] = f"{swing:g}"
        if gun == "gun-hand":
            row |= {"strokes": round(dose / 1.15) + self.rng.choice((-1, 0, 0, 1))}
        else:
            seconds = round(dose / 1.5)
            row |= {"seconds": seconds, "mass_g": f"{seconds * 1.5:g}"}
        self.book.shots.append(row | {"purge_seen": "yes" if self.rng.random() < 0.6 else ""})


def shown(compartment: Compartment, scale: Any, litres: float, pitch: float, roll: float) -> float:
    """What a gauge shows of so many litres on a machine that leans; a tank without a body is read as if it stood level."""
    tank = build.tank(compartment)
    if not isinstance(tank, Tank) or (isinstance(scale, Percent) and scale.of == "capacity"):
        return level.reading_at(compartment, litres, scale.name)
    n = up(pitch, roll)
    return gauge.reading(scale, tank.span(n)[0] + float(tank.curve(pitch, roll).level_mm(litres)) / 100.0, n)


def at_division(scale: Any, value: float) -> float:
    """A reading as people round it: to half a division, a plug's depth to a whole mm, a panel to whole per cent."""
    step = max((scale.division_mm or 1.0) / 2, 1.0) if isinstance(scale, Stick) or scale.division_mm else 1.0
    return max(round(round(value / step) * step, 1), scale.start_mm if value > scale.start_mm - 3 else value)


def tenth(litres: float) -> float:
    """Litres as they are poured: tenths below 10 L, half litres below 20 L, whole litres above."""
    step = 0.1 if litres < 10 else 0.5 if litres < 20 else 1.0
    return max(0.1, round(round(litres / step) * step, 1))
