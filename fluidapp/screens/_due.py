"""The records as the due list takes them: events, looks at the hour meter, shots and harder work of every machine."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from fluidapp.calc import due, greasing
from fluidapp.model import GreasePoint, Gun, Machine
from fluidapp.model.intervals import Task
from fluidapp.store import Store, kinds
from fluidapp.store.deeds import Deed, read_deeds

FROM_REPAIR = "as entered with the repair"
ASKED_DAYS = 120  # what was done longer ago and counts for no task is not asked about any more


@dataclass(frozen=True, slots=True)
class Listed:
    """The due list in one state of the records. machines : by key. questions : by machine, what is odd about its meter or records."""

    machines: Mapping[str, Machine]
    lines: tuple[due.Due, ...]
    questions: Mapping[str, tuple[str, ...]]


@dataclass
class Taken:
    """What the records of one machine say."""

    events: list[due.Event] = field(default_factory=list)
    looks: list[due.Look] = field(default_factory=list)
    shots: dict[str, list[greasing.Event]] = field(default_factory=dict)  # by grease point
    duty: list[greasing.Duty] = field(default_factory=list)


def gather(store: Store, machines: Iterable[Machine], guns: Sequence[Gun], today: datetime.date) -> Listed:
    """The due list of ``machines`` from one query; deeds of machines that are off the lists are left out."""
    by_key = {m.key: m for m in machines}
    taken = {key: Taken() for key in by_key}
    gun_of = {g.key: g for g in guns}
    for deed in read_deeds(store):
        if deed.machine in by_key:
            _take(taken[deed.machine], deed, by_key[deed.machine], gun_of)
    known = {key: with_repairs(machine, taken[key].events) for key, machine in by_key.items()}
    lines = due.due_list(
        known.values(),
        (event for found in taken.values() for event in found.events),
        {key: found.looks for key, found in taken.items()},
        today,
        greased={(key, point): shots for key, found in taken.items() for point, shots in found.shots.items()},
        duty={key: found.duty for key, found in taken.items()},
    )
    return Listed(known, lines, {key: _questions(machine, taken[key], today) for key, machine in known.items()})


def with_repairs(machine: Machine, events: Sequence[due.Event]) -> Machine:
    """The same with a change for every place whose repair brought hours of its own, where no task of the machine counts them."""
    added: dict[str, Task] = {}
    labels = {c.key: c.label for c in machine.compartments} | {b.key: b.label for b in machine.baths}
    counted = {task.at for task in machine.tasks if task.kind == "change"}
    for event in events:
        if event.what != "repair" or event.at not in labels or event.at in counted or (event.first_h, event.repeat_h) == (None, None):
            continue
        key, n = f"{event.at}-change"[:60], 2
        while key in {task.key for task in machine.tasks}:
            key, n = f"{event.at[:50]}-change-{n}", n + 1
        added[event.at] = Task(
            key=key, label=f"{labels[event.at]}: change"[:80], kind="change", at=event.at, first_h=event.first_h, repeat_h=event.repeat_h,
            source=FROM_REPAIR,
        )  # fmt: skip
    return machine.model_copy(update={"tasks": (*machine.tasks, *added.values())}) if added else machine


def shot(doc: kinds.Shot, at_h: float, day: float, point: GreasePoint | None, guns: Mapping[str, Gun]) -> greasing.Shot:
    """A recorded shot as the calculation takes it; its grams as weighed, else from its strokes and the gun's calibration."""
    ring = point is not None and point.ring is not None
    given = doc.mass_g if doc.mass_g is not None else greasing.grams(doc.strokes, doc.seconds, guns.get(doc.gun or ""))
    return greasing.Shot(at_h, day, doc.swing_deg if ring else 0.0, given, (doc.nipple - 1 if ring else 0,), doc.purge_seen)


def _take(into: Taken, deed: Deed, machine: Machine, guns: Mapping[str, Gun]) -> None:
    """One entry, sorted in."""
    doc = deed.doc
    if isinstance(doc, kinds.Meter) and doc.state != "read":
        into.looks.append(due.Look(deed.day, deed.total_h, deed.meter_h, deed.segment, doc.state))
    elif deed.total_h is not None:
        into.looks.append(due.Look(deed.day, deed.total_h, deed.meter_h, deed.segment))
    if deed.node is not None:
        into.events.append(_event(deed, "reading", deed.node))
    match doc:
        case kinds.TaskDone():
            into.events.append(_event(deed, "done", doc.node, task=doc.task))
        case kinds.OilSample():
            into.events.append(_event(deed, "sample", doc.node, oil_h=doc.oil_h))
        case kinds.Repair():
            into.events += [_event(deed, "repair", node, first_h=doc.first_h, repeat_h=doc.repeat_h) for node in doc.at_nodes]
        case kinds.Movement(purpose="first fill"):
            into.events.append(_event(deed, "first fill", doc.to_node))
        case kinds.Movement(purpose="planned change"):
            into.events.append(_event(deed, "done", doc.to_node, task="oil change"))
        case kinds.Movement(purpose="greasing", mass_kg=float(kilograms)):
            _greased(into, _at(deed, doc.to_node), greasing.Refill(deed.total_h or 0.0, deed.day, 1000.0 * kilograms))
        case kinds.Shot():
            point = next((p for p in machine.grease_points if p.key == doc.point), None)
            _greased(into, doc.point, shot(doc, deed.total_h or 0.0, deed.day, point, guns))
        case kinds.Duty():
            into.duty.append(greasing.Duty(deed.total_h or 0.0, doc.factor))
        case _:
            pass


def _greased(into: Taken, point: str | None, event: greasing.Event) -> None:
    if point is not None:
        into.shots.setdefault(point, []).append(event)


def _event(
    deed: Deed, what: due.What, node: str | None, *, task: str = "", first_h: float | None = None, repeat_h: float | None = None,
    oil_h: float | None = None,
) -> due.Event:  # fmt: skip
    return due.Event(deed.machine, what, deed.day, _at(deed, node), deed.total_h, deed.meter_h, task, first_h, repeat_h, oil_h, deed.id)


def _at(deed: Deed, node: str | None) -> str | None:
    """The key of a place of the machine; of a place elsewhere its name in full, which is no task's place."""
    return node.removeprefix(f"{deed.machine}/") if node else None


def _questions(machine: Machine, taken: Taken, today: datetime.date) -> tuple[str, ...]:
    """What is odd about the meter, and what was done and counts for no task, each kind of words once."""
    odd = due.questions(due.read_meter(taken.looks, today, machine.hours_per_week))
    lost: dict[str, due.Event] = {}
    for event in due.unmatched(machine, taken.events):
        if event.day >= today.toordinal() - ASKED_DAYS and event.task != "oil change":
            lost[event.task] = event
    asked = (f"“{task}” was done on {due.on(event.day)}, but no task here has that name or place." for task, event in lost.items())
    return (*odd, *asked)
