"""The due list: every task and grease point of one machine, a site, or all, in the order of what comes first."""

import dataclasses
import datetime
import math
from collections.abc import Iterable, Mapping, Sequence

from fluidapp.calc import greasing, level
from fluidapp.calc.due.history import Event, does, start
from fluidapp.calc.due.looks import Look, hours, on
from fluidapp.calc.due.meter import Meter, read_meter
from fluidapp.calc.due.projection import WINDOW_DAYS
from fluidapp.calc.due.rule import NEVER, Charge, Due, Target, aim, next_due
from fluidapp.calc.refill import drained_tank
from fluidapp.calc.refill.answer import U_LABEL
from fluidapp.errors import CannotAnswer
from fluidapp.model import GreasePoint, Machine
from fluidapp.model.intervals import Task

Greased = Mapping[tuple[str, str], Sequence[greasing.Event]]  # by machine and grease point


def due_list(
    machines: Iterable[Machine],
    events: Iterable[Event],
    meters: Mapping[str, Sequence[Look]],
    today: datetime.date,
    *,
    greased: Greased | None = None,
    duty: Mapping[str, Sequence[greasing.Duty]] | None = None,
) -> tuple[Due, ...]:
    """What is due on ``machines``, sorted: overdue, due now, coming by date, without a date, never recorded.

    events : of these machines (others are passed over), voids included. meters : looks at the hour meter by machine. greased, duty :
    shots and harder work by machine (and grease point), hours and days counted as in the events; without them, grease points with a
    limit are listed as never recorded. What is dated after ``today`` does not count. Errors: as :func:`next_due`, :func:`read_meter`
    and :func:`fluidapp.calc.greasing.state`.

    Nothing is invented: without an event a task says that it was never recorded, with too few readings it has no date.
    """
    by_machine: dict[str, list[Event]] = {}
    for event in (e for e in greasing.live(events) if e.day < today.toordinal() + 1.0):
        by_machine.setdefault(event.machine, []).append(event)
    found: list[Due] = []
    for machine in machines:
        meter = read_meter(meters.get(machine.key, ()), today, machine.hours_per_week)
        mine = by_machine.get(machine.key, [])
        odd = questions(meter)
        found += [_noted(one, odd) for task in machine.tasks if (one := task_due(machine, task, mine, meter)) is not None]
        listed = {task.at for task in machine.tasks if task.kind == "grease"}
        for point in machine.grease_points:
            if point.key not in listed:
                shots = (greased or {}).get((machine.key, point.key), ())
                found.append(_noted(point_due(machine, point, shots, meter, (duty or {}).get(machine.key, ())), odd))
    return tuple(sorted(found, key=lambda due: due.sort_key))


def task_due(machine: Machine, task: Task, events: Sequence[Event], meter: Meter) -> Due | None:
    """One task of ``machine``; None where nothing follows any more. events : live ones of this machine."""
    begun = start(task, events, meter)
    product = task.product or _product(machine, task)
    charge = _charge(machine, task)
    if begun is None:
        blank = Due(machine.key, task.key, task.label, task.kind, task.at, "never recorded", NEVER)
    else:
        made = next_due(
            begun.rule, begun.h, begun.day, meter, first=begun.first, conditions=machine.conditions, machine=machine.key,
            since=begun.since, event_meter_h=begun.meter_h,
        )  # fmt: skip
        if made is None:
            return None
        blank = made
    return dataclasses.replace(blank, product=product, charge=charge, typical=task.typical)


def point_due(
    machine: Machine, point: GreasePoint, shots: Sequence[greasing.Event], meter: Meter, duty: Sequence[greasing.Duty] = ()
) -> Due:
    """One grease point of ``machine``: when its position that has used up most of the interval is due.

    shots, duty : see :func:`fluidapp.calc.greasing.state`; their hours are taken as the cleaned meter has them. Harder work counts on at
    its last factor. With limit L, share used x and factor f of now: hours left = L (1 - x) f, days left = D (1 - x).
    """
    typical = point.source == "typical"
    blank = Due(
        machine.key, point.key, point.label, "grease", point.key, "never recorded", NEVER, product=point.product, typical=typical
    )  # fmt: skip
    ring = greasing.GreasedRing.of(point)
    given = _in_hours([e for e in greasing.live(shots) if e.day < meter.today + 1.0], meter)
    if not given:
        return blank
    now_h, now_day = meter.now_h, max(meter.today, given[-1].day)
    spans = sorted(duty, key=lambda span: span.from_h)
    known = greasing.state(ring, given, now_h or 0.0, now_day, spans)
    if all(math.isnan(day) for day in known.last_day) and not any(isinstance(e, greasing.Refill) for e in given):
        return dataclasses.replace(blank, remarks=known.flags)
    factor = spans[-1].factor if spans else 1.0
    by_hours = now_h + ring.limit_h * (1.0 - float(known.by_hours.max())) * factor if now_h is not None else None
    by_days = now_day + ring.limit_days * (1.0 - float(known.by_days.max()))
    target = Target(by_hours, by_days, float(known.lapse.max()))
    why = f"Every {ring.limit_h:g} h or {ring.limit_days:g} days, whichever comes first; {_where(machine, ring, known)}."
    if factor != 1.0:
        why += f" An hour counts as {1 / factor:.2g}: {'harder' if factor < 1 else 'easier'} work."
    return aim(dataclasses.replace(blank, state="no date", why=why, remarks=known.flags), target, meter)


def unmatched(machine: Machine, events: Sequence[Event]) -> tuple[Event, ...]:
    """Tasks done on ``machine`` that none of its tasks counts: other words, or another place."""
    mine = [e for e in greasing.live(events) if e.machine == machine.key and e.what == "done"]
    return tuple(e for e in mine if not any(does(e, task) for task in machine.tasks))


def questions(meter: Meter) -> tuple[str, ...]:
    """What was odd about the meter and still bears on dates: within the last 120 days, and a meter that stands now."""
    recent = [f for f in meter.faults if f.to_day >= meter.today - WINDOW_DAYS and f.kind != "replaced"]
    last = meter.last.day if meter.last else math.inf
    return tuple(f.words for f in recent if f.kind != "stuck" or f.to_day >= last)


def _noted(due: Due, odd: tuple[str, ...]) -> Due:
    """What is odd about the meter goes with every date that hours decide."""
    return dataclasses.replace(due, remarks=(*due.remarks, *odd)) if due.target_h is not None else due


def _in_hours(shots: Sequence[greasing.Event], meter: Meter) -> list[greasing.Event]:
    """The same by day, with hours as the cleaned meter has them; none runs backwards."""
    found: list[greasing.Event] = []
    at = 0.0
    for shot in sorted(shots, key=lambda e: e.day):
        at = max(at, min(meter.hours(shot.day, shot.at_h) or 0.0, meter.now_h or 0.0))
        found.append(dataclasses.replace(shot, at_h=at))
    return found


def _where(machine: Machine, ring: greasing.GreasedRing, known: greasing.RingState) -> str:
    """The position that comes first, and its last shot."""
    k = int(known.lapse.argmax())
    place = f"position over {greasing.position_name(ring.swing_of(k), machine.sprockets)}" if ring.positions > 1 else "it"
    if math.isnan(known.last_day[k]):
        return f"{place}: no shot on record"
    when = f"last greased at {hours(float(known.last_h[k]))} on {on(float(known.last_day[k]))}"
    return f"{place} {when}" if ring.positions > 1 else when


def _product(machine: Machine, task: Task) -> str | None:
    """The product of the place of a change."""
    if task.kind != "change":
        return None
    products = {c.key: c.product for c in machine.compartments} | {b.key: b.product for b in machine.baths}
    return products.get(task.at) if task.at is not None else None


def _charge(machine: Machine, task: Task) -> Charge | None:
    """What a change takes: the refill capacity, else what it holds at the mark, as entered or by its gauge; u 3 %, typical."""
    compartment = next((c for c in machine.compartments if c.key == task.at), None)
    if task.kind != "change" or compartment is None:
        return None
    if compartment.grease_packed_kg is not None:
        return Charge(mass_kg=compartment.grease_packed_kg)
    try:
        missing = drained_tank(compartment)
    except CannotAnswer:
        if not any(gauge.bands for gauge in compartment.gauges):
            return None
        at_mark = level.marks(compartment).target_l
        return Charge(at_mark, U_LABEL * at_mark)
    return Charge(missing.add_l, missing.u_l)
