"""How much is in it: from one reading to litres ± at the machine's own convention.

The convention is the level machine in its reference posture with the oil at the temperature for which the marks hold.
What was read is corrected to it; what was not read is assumed to follow it, is named, and widens the ±.
"""

import math
from dataclasses import dataclass

import numpy as np

from fluidapp.calc import bands, build, figure, gauge, oil
from fluidapp.calc.budget import Line, combine, posture_l, posture_line, ran_out_line, reading_line, slope_line, temperature_line
from fluidapp.calc.geometry import Curve, up
from fluidapp.calc.reader import follows_slope, reader, share_at, shown_by, sits, usable_gauge
from fluidapp.errors import CannotAnswer
from fluidapp.model import Band, Compartment, Doubts, LevelPlug, Machine, Percent, Reading

__all__ = ["Line", "Marks", "Volume", "capacity_l", "convention", "marks", "posture_l", "reading_at", "volume"]


@dataclass(frozen=True, slots=True)
class Volume:
    """What is in a compartment at its convention.

    value_l, u_l, dof : litres, standard uncertainty, degrees of freedom. bound : "exact", "at most" or "at least".
    as_read_l : litres before the corrections, without what ran out. tank_rel : relative doubt of the litres per mm, which a
    top-up sees only on the difference to the mark. slope_l, temperature_l, posture_l : what the corrections added. band : the
    marks at whose oil temperature and posture it stands, None without any.
    """

    value_l: float
    u_l: float
    dof: float
    budget: tuple[Line, ...]
    remarks: tuple[str, ...]
    bound: str = "exact"
    as_read_l: float = 0.0
    reading_mm: float = 0.0
    gauge: str = ""
    capacity_l: float = math.inf
    tank_rel: float = 0.0
    slope_l: float = 0.0
    temperature_l: float = 0.0
    posture_l: float = 0.0
    not_measured: tuple[str, ...] = ()
    band: Band | None = None

    @property
    def largest(self) -> Line:
        """The line of the budget that widens the answer most."""
        return max(self.budget, key=lambda line: line.u_l)


@dataclass(frozen=True, slots=True)
class Marks:
    """Litres at the marks of one gauge, on the level machine at its convention."""

    low_l: float
    target_l: float
    high_l: float
    band: Band
    gauge: str


def volume(
    machine: Machine,
    compartment_key: str,
    reading: Reading,
    *,
    rho15: float = oil.RHO15_TYPICAL,
    doubts: Doubts | None = None,
    band: Band | None = None,
) -> Volume:
    """Litres ± in a compartment, at the machine's convention, from one reading of one of its gauges.

    rho15 : density of the oil at 15 °C [kg/m3], only for the correction to the marks' temperature. band : the marks to go by,
    whatever was read, for a comparison of several readings; None: those that :func:`fluidapp.calc.bands.meant` finds.
    OutOfRange where the reading is off the gauge or the plane outside the tank; CannotAnswer where the compartment has no
    gauge or no way to litres; Unknown for a compartment or gauge that does not exist.
    The result is one-sided (``bound``) for a dry stick, below or above a glass. Standard uncertainties are combined by
    root sum of squares, degrees of freedom by Welch-Satterthwaite. Source: JCGM 100:2008, 5.1.2 and G.4 (from memory).
    """
    doubts = doubts or machine.doubts
    compartment = machine.compartment(compartment_key)
    scale = usable_gauge(compartment, reading)
    shown = shown_by(scale, reading)
    swing = reading.swing_deg if compartment.on == "upper structure" else 0.0
    litres = reader(compartment, scale, swing)
    pitch, roll = reading.pitch_deg or 0.0, reading.roll_deg or 0.0
    as_level = litres(shown, 0.0, 0.0) if (pitch or roll) and sits(litres, shown) else None
    as_read = litres(shown, pitch, roll)
    remarks: list[str] = []
    if build.counts_from_gauge(compartment):
        remarks.append("Litres are counted from the gauge's lowest reading: enter what is in it at a mark to know the whole.")
    if compartment.pours and build.told(compartment) is not None and (said := build.per_mm(compartment).remark):
        remarks.append(said)
    lines = [reading_line(compartment, scale, shown, litres, pitch, roll, reading, doubts)]
    tank = build.doubt(compartment, doubts.tank_taped_percent)
    lines.append(Line("tank", max(tank.at(as_read), 1e-3), tank.measured, tank.hint, tank.dof))
    lines.append(slope_line(compartment, scale, litres, shown, as_read, reading, doubts, remarks))
    chosen = bands.meant(compartment, reading.gauge, reading) if band is None else bands.Meant(band)
    band = chosen.band
    shift, heat_line = temperature_line(compartment, as_read, reading, band, rho15, doubts, remarks, chosen.others_c)
    other = band.posture if band is not None and chosen.other_posture else ""
    ran_out, ran_line = ran_out_line(reading, remarks)
    rods, rod_line = posture_line(machine, compartment, reading, doubts, remarks, as_read_l=as_read, other_marks=other)
    if chosen.reason:
        remarks.append(chosen.reason)
    if (pitch or roll) and _air_may_stay(compartment, scale, shown, pitch, roll, swing):
        remarks.append("On this slope air may stay under a low part of the roof: then less is in it than this says. Read on level ground.")
    lines += [line for line in (heat_line, rod_line, ran_line) if line is not None]
    assumed = tuple(line.name for line in lines if not line.measured and line.name in ("slope", "oil temperature", "posture"))
    lines = [line for line in lines if line.u_l > 0]
    u, dof = combine(lines)
    value, brim = as_read + ran_out + shift + rods, capacity_l(compartment)
    if value > brim:
        over = figure.litres(figure.to_pour(value - brim))
        remarks.append(
            f"In the reference posture, with the oil as warm as for the marks, it would stand about {over} over {top(compartment)}."
        )
    elif value < 0:
        remarks.append("In the reference posture, with the oil as warm as for the marks, it would be empty: check what was entered.")
    return Volume(
        value_l=value,
        u_l=u,
        dof=dof,
        budget=tuple(sorted(lines, key=lambda line: -line.u_l)),
        remarks=tuple(remarks),
        bound=reading.bound,
        as_read_l=as_read,
        reading_mm=shown,
        gauge=scale.name,
        capacity_l=brim,
        tank_rel=tank.rel,
        slope_l=as_read - as_level if as_level is not None else 0.0,
        temperature_l=shift,
        posture_l=rods,
        not_measured=assumed,
        band=band,
    )


def marks(compartment: Compartment, gauge_name: str | None = None, band: Band | None = None) -> Marks:
    """Litres at the low mark, the target and the high mark on the level machine; CannotAnswer without marks.

    The marks are those of the gauge of that name (or the first); where it has none, those of the first gauge that has some.
    band : which of them, such as ``Volume.band`` of a reading; None: those of the machine's own convention.
    """
    scale = bands.marked(compartment, gauge_name)
    band = band or convention(compartment, gauge_name)
    if scale is None or band is None:
        raise CannotAnswer(compartment.label, "no marks are entered for this gauge", "Enter its low and high mark.")
    litres = reader(compartment, scale, 0.0)
    low, aim, high = (litres(at, 0.0, 0.0) for at in (band.low, band.aim_mm, band.high))
    if isinstance(scale, LevelPlug):
        low, high = high, low
    return Marks(low, aim, high, band, scale.name)


def reading_at(
    compartment: Compartment,
    volume_l: float,
    gauge_name: str | None = None,
    *,
    pitch_deg: float = 0.0,
    roll_deg: float = 0.0,
    swing_deg: float = 0.0,
) -> float:
    """What a gauge shows, in its own scale, with ``volume_l`` litres in, as it is read: the inverse of a reading's litres.

    OutOfRange beyond the tank. The slope counts where the tank is drawn and the gauge has a place in it.
    """
    scale = compartment.gauge(gauge_name)
    tank = build.tank(compartment)
    share = volume_l / tank.capacity_l * 100.0
    if isinstance(tank, Curve):
        level_mm = float(tank.level_mm(volume_l))
        return share if isinstance(scale, Percent) and scale.of == "capacity" else gauge.from_height(scale, level_mm)
    n = up(pitch_deg, roll_deg, swing_deg if compartment.on == "upper structure" else 0.0)
    curve = tank.curve_at(n)
    c_dm = tank.span(n)[0] + float(curve.level_mm(volume_l)) / 100.0
    if isinstance(scale, Percent) and scale.of == "capacity":
        return share_at(tank, scale, c_dm, n) if follows_slope(compartment, scale) else share
    return gauge.reading(scale, c_dm, n)


def capacity_l(compartment: Compartment) -> float:
    """Litres to the brim, or to the highest level for which the compartment's litres are known."""
    return float(build.tank(compartment).capacity_l)


def top(compartment: Compartment) -> str:
    """What :func:`capacity_l` reaches to, in words: only a drawn tank knows its brim."""
    return "the brim" if compartment.body is not None else "the highest level that is known here"


def convention(compartment: Compartment, gauge_name: str | None = None, reading: Reading | None = None) -> Band | None:
    """The marks that state where the level belongs, for ``reading`` or, without one, of the machine's own convention (the first)."""
    return bands.meant(compartment, gauge_name, reading).band


def stands_as_reference(compartment: Compartment, reading: Reading) -> bool:
    """Whether the litres of ``reading`` stand at the reference posture; else at the other posture for which its marks hold."""
    return not bands.meant(compartment, reading.gauge, reading).other_posture


def _air_may_stay(compartment: Compartment, scale: gauge.AnyGauge, shown: float, pitch: float, roll: float, swing: float) -> bool:
    """Whether the tilted tank would keep air under its roof with the oil as high as it stands.

    The oil closes a pocket off below its highest place: by the lean over the tank's own width at most, where the roof is level on a
    level machine. Own bound.
    """
    tank = build.tank(compartment)
    if isinstance(tank, Curve) or not follows_slope(compartment, scale) or (isinstance(scale, Percent) and scale.of == "capacity"):
        return False
    n = up(pitch, roll, swing)
    places = tank.air_pockets(n)
    if not len(places):
        return False
    wide = math.hypot(*(high - low for low, high in (tank.span(axis) for axis in np.eye(3)[:2])))
    return gauge.plane(scale, shown, n) > float((places @ n).min()) - wide * math.hypot(n[0], n[1])
