"""What is checked before an entry is stored: names, times, references."""

from dataclasses import dataclass, field
from typing import Any

from fluidapp.errors import BadInput, OutOfRange, RecordsProblem, Unknown
from fluidapp.model import Gun, Machine, Percent, TruckCompartment
from fluidapp.model.holds import check_depth, check_litres, check_shot
from fluidapp.store.kinds import PLACES, Doc, GunCalibration, LevelReading, Meter, MeterChanged, Movement, Shot, Void, named
from fluidapp.store.saves import NewEntry, Save
from fluidapp.store.subjects import Directory, parts

NEEDS_MACHINE = ("reading", "shot", "meter", "meter changed", "duty", "repair", "watch opened", "watch closed")
# field of a doc -> kind of the entry that it names; "" is any kind
REFERS = {"watch": "watch opened", "sample": "oil sample", "plan": "plan", "about": ""}


@dataclass(slots=True)
class Row:
    """A new entry on its way in."""

    new: NewEntry
    save: Save
    i: int
    doc: Doc
    machine: str | None
    at_utc: str
    stored: dict[str, Any]
    hash: str
    id: str
    directory: Directory  # the subjects as they were when it was entered
    segment: int = 0
    order: int = 0  # among the entries of a whole export


@dataclass(frozen=True, slots=True)
class Target:
    """A stored entry that another one names."""

    kind: str
    machine: str | None
    voided_at: str | None


@dataclass(slots=True)
class Checker:
    """Checks the entries of one write against what is stored and against each other.

    known : stored entries that they name, or whose id they ask for. fresh : the entries of this write, by id.
    """

    where: str
    now: str
    known: dict[str, Target]
    fresh: dict[str, list[Row]]
    voided: set[str] = field(default_factory=set)

    def check(self, row: Row) -> None:
        """Names, times and references of one entry; what is wrong is raised."""
        _check(row, self)


def _check(row: Row, desk: Checker) -> None:
    doc, new = row.doc, row.new
    where, now, directory, known = desk.where, desk.now, row.directory, desk.known
    if row.at_utc > now:
        raise BadInput(
            "time", new.at.isoformat(timespec="minutes"), f"It lies after {now[:16].replace('T', ' ')} UTC. Enter when it was done."
        )
    if new.id and (new.id in known or len(desk.fresh[new.id]) > 1):
        raise RecordsProblem(where, f"an entry with the id {new.id} exists already", "Leave the id out.")
    if row.machine is None and doc.kind in NEEDS_MACHINE:
        raise BadInput("machine", "", "Name the machine.")
    if row.machine is not None:
        directory.get("machine", row.machine)
    for node in doc.nodes():
        _check_node(node, directory, row.machine if doc.kind != "movement" else None)
    _check_kind(row, directory)
    for name, kind in REFERS.items():
        if target := named(doc, name):
            found = _target(target, desk)
            if found is None or found.kind == "void" or found.kind != (kind or found.kind):
                what = f"entry “{kind}”" if kind else "entry"
                raise RecordsProblem(where, f"there is no {what} with the id {target}", "Choose one from the records.")
    if isinstance(doc, Void):
        _check_void(doc, row, desk)


def _target(entry_id: str, desk: Checker) -> Target | None:
    """An entry that another one names: stored before, or coming in with it."""
    if (found := desk.known.get(entry_id)) is None and (fresh := desk.fresh.get(entry_id)):
        return Target(fresh[0].doc.kind, fresh[0].machine, None)
    return found


def _check_node(node: str, directory: Directory, machine: str | None) -> None:
    if node in PLACES:
        return
    owner, slash, part = node.partition("/")
    if not slash:
        raise BadInput("node", node, f"Name the machine too, like ex-1/{node}, or use one of: {', '.join(PLACES)}.")
    if machine is not None and owner != machine:
        raise BadInput("node", node, f"It is no part of the machine {machine}.")
    known = parts(directory.owner(owner))
    if part not in known:
        raise Unknown(f"Compartment of {owner}", part, known)


def _check_kind(row: Row, directory: Directory) -> None:
    doc = row.doc
    if (product := named(doc, "product")) and product != "unknown":
        directory.get("product", product)
    if isinstance(doc, LevelReading) and row.machine is not None:
        _check_gauge(doc, directory.machine(row.machine))
    elif isinstance(doc, Movement):
        _check_movement(doc, directory)
    elif isinstance(doc, (Shot, GunCalibration)):
        if doc.gun is not None:
            directory.get("gun", doc.gun)
        if isinstance(doc, Shot) and row.machine is not None:
            point, gun = directory.machine(row.machine).grease_point(doc.point), directory.by_kind["gun"].get(doc.gun or "")
            check_shot(point, doc.strokes, doc.seconds, doc.mass_g, gun.doc if gun and isinstance(gun.doc, Gun) else None)
            ring = point.ring
            if ring is not None and doc.nipple > len(ring.nipples_deg):
                raise OutOfRange("nipple", doc.nipple, 1, len(ring.nipples_deg), "", "Count the nipples of this ring.")
    elif isinstance(doc, (Meter, MeterChanged)) and row.new.meter_h is None and named(doc, "state") in (None, "read"):
        raise BadInput("hour meter", "", "Enter what it shows, or say “not read” or “broken since”.")


def _check_gauge(doc: LevelReading, machine: Machine) -> None:
    part = doc.node.partition("/")[2]
    if bath := next((bath for bath in machine.baths if bath.key == part), None):
        if doc.gauge is not None:
            raise Unknown(f"Gauge of {doc.node}", doc.gauge, ())
        for depth in doc.depths_mm or (doc.level or 0.0,):
            check_depth(bath, depth)
        return
    if any(point.key == part for point in machine.grease_points):
        raise BadInput("node", doc.node, "A grease point has no level. Enter a shot.")
    gauge = machine.compartment(part).gauge(doc.gauge)
    if doc.level is None:
        return
    high = gauge.highest
    if doc.level < gauge.start_mm or (high is not None and doc.level > high):
        unit = "%" if isinstance(gauge, Percent) else "mm"
        fix = "Read again, or correct the ends of this gauge on Machines."
        raise OutOfRange(gauge.name, doc.level, gauge.start_mm, high, unit, fix)


def _check_movement(doc: Movement, directory: Directory) -> None:
    """What goes into or comes out of one compartment in one go has to fit into it."""
    for node in doc.nodes():
        owner, _, key = node.partition("/")
        if not key:
            continue
        found = directory.owner(owner)
        part = next((c for c in found.compartments if c.key == key), None)
        if isinstance(part, TruckCompartment):
            amount = doc.volume_l if part.unit == "L" else doc.mass_kg
            if amount is not None and amount > part.capacity:
                raise OutOfRange("amount", amount, None, part.capacity, part.unit, f"No more fits into {part.label} of {found.label}.")
        elif part is not None and doc.volume_l is not None:
            check_litres(part, doc.volume_l)


def is_percent(doc: LevelReading, machine: Machine) -> bool:
    """Whether this reading is in per cent."""
    part = doc.node.partition("/")[2]
    held = next((c for c in machine.compartments if c.key == part), None)
    return held is not None and isinstance(held.gauge(doc.gauge), Percent)


def _check_void(doc: Void, row: Row, desk: Checker) -> None:
    target = _target(doc.entry, desk)
    if target is None:
        raise RecordsProblem(desk.where, f"there is no entry with the id {doc.entry}", "Choose the entry from the records.")
    if target.kind == "void":
        raise RecordsProblem(desk.where, "a void cannot be voided", "Enter what holds as a new entry.")
    if target.voided_at is not None:
        day = target.voided_at[:10]
        raise RecordsProblem(desk.where, f"this entry was already voided on {day}", "It counts no more; enter what holds as a new entry.")
    if doc.entry in desk.voided:
        raise RecordsProblem(desk.where, "this entry is voided twice in one save", "Void it once.")
    desk.voided.add(doc.entry)
    if row.machine is not None and row.machine != target.machine:
        raise BadInput("machine", row.machine, f"The voided entry belongs to {target.machine or 'no machine'}.")
    row.machine = target.machine
