"""The records of a store as the due list takes them. One place shows how entries become its inputs."""

import datetime

import pytest

from fluidapp.calc import due, greasing
from fluidapp.store.kinds import Duty, LevelReading, Meter, Movement, OilSample, Repair, Shot, TaskDone


def _day(entry) -> float:
    at = entry.at_local if hasattr(entry, "at_local") else entry.at.astimezone(datetime.timezone(datetime.timedelta(hours=2)))
    return at.date().toordinal() + (at.hour * 60 + at.minute) / 1440


def _place(machine, node):
    return node.removeprefix(f"{machine.key}/") if node else None


class Records:
    """Looks, events, shots and duty of every machine in a store."""

    def __init__(self, store) -> None:
        self.machines = store.machines()
        self.events, self.meters, self.greased, self.duty = [], {}, {}, {}
        for machine in self.machines:
            points = store.meter_points(machine.key)
            total = {p.entry_id: p.total_h for p in points}
            looks = [due.Look(_day(p), p.total_h, p.meter_h, p.segment) for p in points]
            for e in reversed(store.entries(machine.key)):
                hours = total.get(e.id)
                at = {"machine": machine.key, "day": _day(e), "total_h": hours, "meter_h": e.meter_h, "key": e.id}
                match e.doc:
                    case Meter(state="not read" | "broken since" as state):
                        looks.append(due.Look(_day(e), hours, e.meter_h, e.meter_segment, state))
                    case TaskDone(task=task, node=node):
                        self.events.append(due.Event(what="done", at=_place(machine, node), task=task, **at))
                    case OilSample(node=node, oil_h=oil_h):
                        self.events.append(due.Event(what="sample", at=_place(machine, node), oil_h=oil_h, **at))
                    case LevelReading(node=node):
                        self.events.append(due.Event(what="reading", at=_place(machine, node), **at))
                    case Repair(at_nodes=nodes, first_h=first, repeat_h=repeat):
                        for node in nodes:
                            more = {"at": _place(machine, node), "first_h": first, "repeat_h": repeat}
                            self.events.append(due.Event(what="repair", **more, **at))
                    case Movement(purpose="first fill", to_node=node):
                        self.events.append(due.Event(what="first fill", at=_place(machine, node), **at))
                    case Shot(point=point, swing_deg=swing, mass_g=grams, nipple=nipple, purge_seen=seen):
                        shot = greasing.Shot(hours or 0.0, _day(e), swing or 0.0, grams, (nipple - 1,), seen)
                        self.greased.setdefault((machine.key, point), []).append(shot)
                    case Duty(factor=factor):
                        self.duty.setdefault(machine.key, []).append(greasing.Duty(hours or 0.0, factor))
            self.meters[machine.key] = looks

    def due(self, today: datetime.date):
        return due.due_list(self.machines, self.events, self.meters, today, greased=self.greased, duty=self.duty)


@pytest.fixture(scope="session")
def records_of():
    return Records
