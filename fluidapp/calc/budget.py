"""The lines of the budget: what widens a volume, measured or typical, and what would shrink it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from fluidapp.calc import build, decision, gauge, oil
from fluidapp.calc.gauge import AnyGauge
from fluidapp.calc.geometry import Tank
from fluidapp.calc.reader import Litres, follows_slope, moved, tilted
from fluidapp.errors import OutOfRange, Unknown
from fluidapp.model import Band, Compartment, Cylinder, Doubts, Machine, Reading

EXPANSION = 7e-4  # 1/K, only for the ± of a temperature and for help texts; corrections use oil.vcf


RAN_OUT_SHARE, RAN_OUT_LEAST_L = 0.03, 0.05  # of what was caught in a marked pail, and at least: typical (common practice, no source)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the budget: standard uncertainty ``u_l`` [L], whether it was measured, and what would shrink it."""

    name: str
    u_l: float
    measured: bool
    hint: str
    dof: float = math.inf


def u_ran_out(litres: float) -> float:
    """Standard uncertainty [L] of what ran out at a plug and was caught in a marked pail."""
    return max(RAN_OUT_SHARE * litres, RAN_OUT_LEAST_L)


def ran_out_line(reading: Reading, remarks: list[str]) -> tuple[float, Line | None]:
    """Litres that ran out at a level plug until the oil stood at its lip, which were in it when it was opened."""
    if reading.ran_out_l is None:
        return 0.0, None
    remarks.append("What ran out counts as in it: record it as drained, or pour it back.")
    return reading.ran_out_l, Line("what ran out", u_ran_out(reading.ran_out_l), True, "Catch all of it in a marked pail.")


def combine(lines: list[Line]) -> tuple[float, float]:
    """Standard uncertainty and effective degrees of freedom of independent lines, by :func:`decision.quadrature`."""
    return decision.quadrature((line.u_l, line.dof) for line in lines)


def system_l(compartment: Compartment, in_tank_l: float, doubts: Doubts) -> tuple[float, bool]:
    """Litres that warm with the oil that is read, and whether the figure was entered: a tank's whole system, a gear case alone."""
    if compartment.kind != "hydraulic tank":
        return in_tank_l, True
    known = compartment.capacities.system_l
    at_mark = compartment.capacities.at_mark_l or in_tank_l
    return (known, True) if known else (doubts.system_over_tank * at_mark, False)


def posture_l(cylinders: tuple[Cylinder, ...], shown_mm: Mapping[str, float]) -> float:
    """Litres that go back to the tank when the machine returns to its reference posture.

    shown_mm : rod shown by each kind of cylinder [mm]; a kind left out stands as in the reference posture.
    Formula: sum of count x pi/4 rod**2 x (shown - ref), since the rod side returns the annulus while the head side takes
    the bore. Own formula. OutOfRange beyond the stroke, Unknown for a cylinder that the machine does not have.

    Two 85 mm rods, 1290 mm out, take 14.64 L out of the tank:
    >>> round(posture_l((Cylinder(name="boom", count=2, rod=85.0, stroke=1290.0),), {"boom": 1290.0}), 2)
    14.64
    """
    for name in shown_mm:
        if name not in {c.name for c in cylinders}:
            raise Unknown("Cylinder", name, [c.name for c in cylinders])
    total = 0.0
    for cylinder in cylinders:
        shown = shown_mm.get(cylinder.name, cylinder.ref)
        if not 0 <= shown <= cylinder.stroke:
            raise OutOfRange(f"rod shown, {cylinder.name}", shown, 0, cylinder.stroke, "mm", "Measure the bare rod again.")
        total += _per_mm(cylinder) * (shown - cylinder.ref)
    return total


def _per_mm(cylinder: Cylinder) -> float:
    """Litres per mm of rod of all cylinders of one kind together."""
    return cylinder.count * math.pi / 4 * cylinder.rod**2 * 1e-6


def reading_line(
    compartment: Compartment, scale: AnyGauge, shown: float, litres: Litres, pitch: float, roll: float, reading: Reading, doubts: Doubts
) -> Line:
    u = reading.u_mm or gauge.u_reading(scale, doubts.stick_mm, doubts.glass_mm, doubts.percent)
    size = moved(litres, shown, u, pitch, roll)
    return Line("reading", max(size, 1e-3), True, "Wipe, read again and average, or read against finer marks.")


def slope_line(
    compartment: Compartment,
    scale: AnyGauge,
    litres: Litres,
    shown: float,
    as_read_l: float,
    reading: Reading,
    doubts: Doubts,
    remarks: list[str],
) -> Line:
    measured = reading.pitch_deg is not None and reading.roll_deg is not None
    pitch, roll = reading.pitch_deg or 0.0, reading.roll_deg or 0.0
    steepest = max(abs(pitch), abs(roll))
    if steepest > 3:
        remarks.append("The machine stands on more than 3°: move it to level ground and read again.")
    drawn = follows_slope(compartment, scale)
    parts = []
    for axis, given in enumerate((reading.pitch_deg, reading.roll_deg)):
        u_deg = doubts.slope_measured_deg if given is not None else doubts.slope_unmeasured_deg
        if drawn:
            parts.append(tilted(litres, shown, pitch, roll, (u_deg, 0.0) if axis == 0 else (0.0, u_deg)))
        else:  # no drawing: the gauge may stand a quarter of the surface's width off its middle (doubts)
            per_mm = _litres_per_mm(compartment, as_read_l)
            lever_mm = 0.25 * math.sqrt(per_mm * 1e6)
            parts.append(per_mm * lever_mm * math.radians(abs(given or 0.0) + u_deg))
    if steepest > 0 and not drawn:
        remarks.append("Without the shape of the tank and the place of the gauge the slope widens the ± but cannot be corrected.")
    return Line("slope", math.hypot(*parts), measured, "Lay a phone along and across the machine and enter both angles.")


def _litres_per_mm(compartment: Compartment, volume_l: float) -> float:
    """Larger change of volume over a mm of height either way on the level machine."""
    tank = build.tank(compartment)
    curve = tank.curve() if isinstance(tank, Tank) else tank
    level_mm = float(curve.level_mm(min(max(volume_l, curve.least_l), curve.capacity_l)))
    now = float(curve.volume_l(level_mm))
    up, down = min(level_mm + 1.0, curve.high_mm), max(level_mm - 1.0, curve.low_mm)
    return max(float(curve.volume_l(up)) - now, now - float(curve.volume_l(down)), 1e-9)


def temperature_line(
    compartment: Compartment,
    as_read_l: float,
    reading: Reading,
    band: Band | None,
    rho15: float,
    doubts: Doubts,
    remarks: list[str],
    others_c: tuple[float, ...] = (),
) -> tuple[float, Line | None]:
    """Litres to the marks' temperature, and their doubt.

    others_c : temperatures of other marks that may be meant where no temperature was read [°C], see :func:`reaching`.
    """
    warms, known = system_l(compartment, as_read_l, doubts)
    mark_c = band.mark_c if band else None
    hint = "Measure the oil temperature and enter it."
    if reading.temp_c is None or mark_c is None:
        if reading.temp_c is not None:
            remarks.append("The oil temperature for which the marks hold is not entered, so the reading stays as it is.")
            hint = "Enter the oil temperature for which the marks hold (the machine's manual)."
        u = warms * EXPANSION * doubts.temp_unmeasured_k
        if reading.temp_c is None and mark_c is not None:
            here = oil.vcf(rho15, mark_c)
            u = reaching(u, max((abs(warms * float(here / oil.vcf(rho15, c) - 1.0)) for c in others_c), default=0.0))
        return 0.0, Line("oil temperature", u, False, hint)
    remark = oil.out_of_table(rho15, reading.temp_c)
    if remark:
        remarks.append(remark)
    at_15 = warms * oil.vcf(rho15, mark_c if compartment.kind == "hydraulic tank" else reading.temp_c)
    shift = at_15 * (1 / oil.vcf(rho15, mark_c) - 1 / oil.vcf(rho15, reading.temp_c))
    u = math.hypot(warms * EXPANSION * doubts.temp_measured_k, 0.0 if known else 0.2 * abs(shift))
    if not known and abs(shift) > 0.5:
        remarks.append("The system's litres are a typical figure here: enter them for a better correction for heat.")
    return shift, Line("oil temperature", u, True, "Measure nearer to the marks' temperature.")


def reaching(u_l: float, farthest_l: float) -> float:
    """``u_l`` widened where other marks may be meant, the farthest of which would change the answer by ``farthest_l`` [L].

    Formula: the larger of hypot(u, a/sqrt 3), a being half the distance (JCGM 100:2008, 4.3.7, from memory), and a itself, so that the
    printed ± (k = 2) reaches to the other marks. Own rule.
    """
    half = farthest_l / 2.0
    return max(math.hypot(u_l, half / math.sqrt(3.0)), half)


def posture_line(
    machine: Machine,
    compartment: Compartment,
    reading: Reading,
    doubts: Doubts,
    remarks: list[str],
    *,
    as_read_l: float,
    other_marks: str = "",
) -> tuple[float, Line | None]:
    """Litres to the reference posture, and their doubt. other_marks : the posture for which the marks hold, if it is another one."""
    if compartment.kind != "hydraulic tank":
        return 0.0, None
    if not machine.cylinders:
        posture_l(machine.cylinders, reading.shown_mm)  # refuses a rod of no cylinder by name
        return 0.0, _posture_unknown(compartment, reading, doubts, remarks, as_read_l, other_marks)
    per_mm = math.sqrt(sum(_per_mm(c) ** 2 for c in machine.cylinders))
    full = sum(_per_mm(c) * c.stroke for c in machine.cylinders)
    if reading.posture == "reference":
        if reading.shown_mm:
            remarks.append("The rods that were entered are not used, since the posture is given as the reference posture.")
        return 0.0, Line("posture", per_mm * doubts.rod_mm, True, "Set the cylinders fully in, or as the manual asks.")
    if other_marks or (reading.posture is None and not reading.shown_mm):
        return 0.0, Line("posture", full * doubts.posture_share, False, _confirm(other_marks))
    rods = posture_l(machine.cylinders, reading.shown_mm)
    missing = [c.name for c in machine.cylinders if c.name not in reading.shown_mm]
    if not missing:
        return rods, Line("posture", per_mm * doubts.rod_mm, True, "Return to the reference posture and read again.")
    known = sum((_per_mm(c) * doubts.rod_mm) ** 2 for c in machine.cylinders if c.name not in missing)
    # a rod that was not measured may stand anywhere in its stroke, and is taken as standing at its ref
    unknown = sum((_per_mm(c) * c.stroke) ** 2 * (1 / 12 + (0.5 - c.ref / c.stroke) ** 2) for c in machine.cylinders if c.name in missing)
    remarks.append(f"Not the reference posture, and the rod shown is not entered for: {', '.join(missing)}.")
    return rods, Line(
        "posture", math.sqrt(known + unknown), False, "Measure the bare rod of each cylinder, or return to the reference posture."
    )


def _posture_unknown(
    compartment: Compartment, reading: Reading, doubts: Doubts, remarks: list[str], as_read_l: float, other_marks: str
) -> Line | None:
    """The posture's doubt where no cylinder is entered: shares of typical rods; three kinds of them, each anywhere in its stroke.

    In the reference posture a rod of about a metre is ``rod_mm`` off. Own rule, typical.
    """
    rods_l = doubts.rods_over_system * system_l(compartment, as_read_l, doubts)[0]
    if rods_l == 0:
        return None
    if reading.posture == "reference":
        return Line("posture", rods_l * doubts.rod_mm / 1000.0, True, "Enter the machine's cylinders.")
    remarks.append("No cylinder is entered for this machine: the posture counts with a typical share of its oil and cannot be corrected.")
    if reading.posture == "other" and not other_marks:
        return Line("posture", rods_l / 3.0, False, "Enter the machine's cylinders, or return to the reference posture.")
    return Line("posture", rods_l * doubts.posture_share, False, f"{_confirm(other_marks)} Enter the machine's cylinders.")


def _confirm(other_marks: str) -> str:
    return f"Confirm that it stands as the marks ask: {other_marks}." if other_marks else "Confirm the reference posture."
