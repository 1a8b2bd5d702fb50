"""Machines to start from: typical figures of a size class, every one marked to be replaced.

All figures are from memory or common practice, without a source, except where a task names one (manuals and articles seen second-hand);
they serve until the machine's own are entered.
"""

from collections.abc import Iterable
from typing import NamedTuple

from fluidapp.errors import Unknown
from fluidapp.model.compartments import Bath, Capacities, Compartment, Cylinder, Fill
from fluidapp.model.gauges import Band, LevelPlug, SightGlass, Stick
from fluidapp.model.greasing import GreasePoint, Ring
from fluidapp.model.intervals import Shorter, Task
from fluidapp.model.machine import Machine
from fluidapp.model.shapes import Box

POSTURE = "arm and bucket cylinders in, boom lowered until the teeth touch the ground, blade down if there is one"


class Rods(NamedTuple):
    """Count, rod diameter and stroke of one kind of cylinder [mm]; the rod shown in the reference posture."""

    number: int
    rod: float
    stroke: float
    ref: float


class Size(NamedTuple):
    """One size class of excavators."""

    class_t: float
    tank: tuple[float, float, float]  # length, width, height of the hydraulic tank [mm]
    floor: float  # height of the glass's zero over the floor [mm]
    band: tuple[float, float]  # low and high mark on the glass [mm]
    system_l: float
    gearboxes: int  # slewing gearboxes with oil; 0 where it is packed with grease
    gearbox_l: float
    drive_l: float
    grease_kg: float
    area_l_per_mm: float  # grease bath
    cylinders: tuple[Rods, Rods, Rods]  # boom, arm, bucket
    dose_g: float


SIZES = {
    "5 t excavator": Size(
        5.0, (420.0, 330.0, 420.0), 90.0, (150.0, 230.0), 75.0, 0, 1.0, 1.0, 3.5, 0.11,
        (Rods(1, 50.0, 700.0, 120.0), Rods(1, 50.0, 650.0, 0.0), Rods(1, 45.0, 550.0, 0.0)), 15.0,
    ),
    "13 t excavator": Size(
        13.0, (520.0, 450.0, 520.0), 100.0, (220.0, 310.0), 170.0, 1, 3.0, 2.5, 9.0, 0.26,
        (Rods(2, 70.0, 1070.0, 180.0), Rods(1, 80.0, 1110.0, 0.0), Rods(1, 70.0, 880.0, 0.0)), 25.0,
    ),
    "20 t excavator": Size(
        20.0, (600.0, 550.0, 600.0), 110.0, (260.0, 360.0), 250.0, 1, 6.0, 4.7, 15.0, 0.40,
        (Rods(2, 85.0, 1290.0, 220.0), Rods(1, 100.0, 1510.0, 0.0), Rods(1, 85.0, 1055.0, 0.0)), 35.0,
    ),
    "35 t excavator": Size(
        35.0, (700.0, 600.0, 700.0), 120.0, (340.0, 460.0), 410.0, 1, 12.0, 8.5, 22.0, 0.58,
        (Rods(2, 100.0, 1500.0, 260.0), Rods(1, 120.0, 1760.0, 0.0), Rods(1, 105.0, 1295.0, 0.0)), 45.0,
    ),
    "50 t excavator": Size(
        50.0, (800.0, 700.0, 750.0), 130.0, (370.0, 500.0), 550.0, 2, 9.0, 12.5, 36.0, 0.75,
        (Rods(2, 115.0, 1580.0, 280.0), Rods(1, 130.0, 1980.0, 0.0), Rods(1, 120.0, 1350.0, 0.0)), 60.0,
    ),
}  # fmt: skip


def machine(size: str, key: str, label: str) -> Machine:
    """A machine of one of the SIZES with its typical figures; Unknown, with the list, for any other size."""
    if size not in SIZES:
        raise Unknown("Typical machine", size, SIZES)
    of = SIZES[size]
    names = ("boom", "arm", "bucket")
    sides = ("left", "right") if of.gearboxes == 2 else (None,)
    boxes = [] if of.gearboxes == 0 else [_gearbox(of, side) for side in sides]
    packed = [] if of.gearboxes else [_packed(of)]
    compartments = (_tank(of), *boxes, *packed, _drive(of, "left"), _drive(of, "right"))
    return Machine(
        key=key,
        label=label,
        class_t=of.class_t,
        posture=POSTURE,
        typical=True,
        compartments=compartments,
        baths=(
            Bath(key="bath", label="Grease bath", area_l_per_mm=of.area_l_per_mm, u_area_percent=15.0, linked=tuple(b.key for b in boxes)),
        ),
        cylinders=tuple(
            Cylinder(name=name, count=rods.number, rod=rods.rod, stroke=rods.stroke, ref=rods.ref)
            for name, rods in zip(names, of.cylinders, strict=True)
        ),
        grease_points=(GreasePoint(key="ring", label="Slewing ring", kind="slew race", limit_h=100.0, dose_g=of.dose_g, ring=Ring()),),
        tasks=(*tasks(compartments, of.class_t), BATH_CHECK),
    )


NO_SOURCE = "typical: common practice, no source"
MEMORY = "typical: from memory"
DIRT = (Shorter(condition="dust", factor=0.5, source=NO_SOURCE), Shorter(condition="water", factor=0.5, source=NO_SOURCE))
HOT = (Shorter(condition="heat", factor=0.5, source=NO_SOURCE), Shorter(condition="biodegradable oil", factor=0.5, source=NO_SOURCE))
BREAKER = tuple(
    Shorter(condition=f"breaker, {share} of the time", factor=factor, source="typical: operator's manual of a compact class excavator")
    for share, factor in (("20 %", 0.8), ("40 %", 0.4), ("60 %", 0.3), ("over 80 %", 0.2))
)
BATH_CHECK = Task(
    key="bath-check", label="grease bath check", kind="check", at="bath", repeat_h=500.0, shorter=DIRT,
    source="typical: operator's manuals of a 7 t class excavator and of a walking excavator",
)  # fmt: skip


def tasks(compartments: Iterable[Compartment], class_t: float) -> tuple[Task, ...]:
    """Typical changes and samples of ``compartments`` of a machine of so many t, each with where its figures come from."""
    found: list[Task] = []
    for c in compartments:
        if c.grease_packed_kg is not None:
            continue
        match c.kind:
            case "hydraulic tank":
                found += [
                    _change(c, "hydraulic oil change", NO_SOURCE, 2000.0, days=730.0, shorter=(*DIRT, *HOT, *BREAKER)),
                    Task(
                        key=f"{c.key}-filter",
                        label="return filter change",
                        kind="filter",
                        at=c.key,
                        repeat_h=1000.0,
                        shorter=DIRT,
                        source=MEMORY,
                    ),
                    _sample(c, "typical: trade articles, 250 to 500 h for engines and gear cases"),
                ]
            case "engine sump":
                found += [
                    _change(c, "engine oil and filter change", NO_SOURCE, 500.0, days=365.0, shorter=DIRT),
                    _sample(c, "typical: trade articles, 250 to 500 h"),
                ]
            case "slewing gearbox":
                found.append(_change(c, f"{c.label.lower()} oil change", f"{NO_SOURCE}; after a reseal", 800.0, first=150.0, shorter=DIRT))
            case "final drive" if class_t < 10:
                source = "typical: operator's manual of a 7.5 t class excavator"
                found.append(_change(c, f"{c.label.lower()} oil change", source, 1000.0, first=500.0, shorter=DIRT))
            case "final drive":
                source = "typical: service manuals of 20 to 24 t class excavators, 100 to 250 h, then 1,000 to 1,500 h"
                found.append(_change(c, f"{c.label.lower()} oil change", source, 1000.0, first=250.0, shorter=DIRT))
            case "gear case" | "pump-drive case":
                found.append(_change(c, f"{c.label.lower()} oil change", MEMORY, 1000.0, shorter=DIRT))
    return tuple(found)


def _change(
    c: Compartment, label: str, source: str, hours: float, *, first: "float | None" = None, days: "float | None" = None,
    shorter: tuple[Shorter, ...] = (),
) -> Task:  # fmt: skip
    return Task(
        key=f"{c.key}-change", label=label, kind="change", at=c.key, first_h=first, repeat_h=hours, repeat_days=days,
        shorter=shorter, source=source,
    )  # fmt: skip


def _sample(c: Compartment, source: str) -> Task:
    return Task(key=f"{c.key}-sample", label=f"{c.label.lower()} oil sample", kind="sample", at=c.key, repeat_h=500.0, source=source)


def _tank(of: Size) -> Compartment:
    length, width, height = of.tank
    low, high = of.band
    glass = SightGlass(
        kind="sight glass",
        name="sight gauge",
        at=(length, width / 2, of.floor),
        end_mm=high + 90.0,
        division_mm=5.0,
        bands=(Band(low=low, high=high, temp_low_c=50.0, temp_high_c=80.0, label="hot"),),
    )
    at_mark = length * width * (of.floor + (low + high) / 2) / 1e6
    return Compartment(
        key="tank",
        label="Hydraulic tank",
        kind="hydraulic tank",
        body=Box(shape="box", length=length, width=width, height=height, corner=30.0),
        gauges=(glass,),
        capacities=Capacities(at_mark_l=round(at_mark, 1), system_l=of.system_l),
        settle_min=10.0,
        usual_topup_l=round(max(2.0, 0.02 * of.system_l), 1),
    )


def _gearbox(of: Size, side: "str | None") -> Compartment:
    depth = 140.0 + 6.0 * of.gearbox_l
    stick = Stick(kind="stick", name="dipstick", end_mm=120.0, division_mm=1.0, bands=(Band(low=40.0, high=60.0, target=60.0),))
    return Compartment.made(
        key="slew-gearbox" + (f"-{side}" if side else ""),
        label="Slewing gearbox" + (f" {side}" if side else ""),
        kind="slewing gearbox",
        side=side,
        fill=Fill(litres=of.gearbox_l, reading=60.0, depth_mm=depth),
        gauges=(stick,),
        capacities=Capacities(refill_l=of.gearbox_l),
        settle_min=10.0,
    )


def _packed(of: Size) -> Compartment:
    return Compartment(
        key="slew-gearbox", label="Slewing gearbox, packed with grease", kind="slewing gearbox", grease_packed_kg=of.gearbox_l
    )


def _drive(of: Size, side: str) -> Compartment:
    plug = LevelPlug(kind="level plug", name="level plug", end_mm=60.0, bands=(Band(low=0.0, high=8.0, target=0.0),))
    return Compartment.made(
        key=f"drive-{side}",
        label=f"Final drive {side}",
        kind="final drive",
        side=side,
        on="undercarriage",
        fill=Fill(litres=of.drive_l, reading=0.0, depth_mm=120.0 + 5.0 * of.drive_l),
        gauges=(plug,),
        capacities=Capacities(refill_l=of.drive_l),
    )
