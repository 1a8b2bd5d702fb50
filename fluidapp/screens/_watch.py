"""What the records hold about level watches: which are open, and the readings that each of them follows."""

import datetime
from dataclasses import dataclass

from fluidapp.calc import oil
from fluidapp.calc import watch as watches
from fluidapp.calc.bath import Weighed
from fluidapp.calc.bath.estimate import RHO_GREASE
from fluidapp.calc.between import poured_doubt
from fluidapp.calc.hours import hours_at
from fluidapp.calc.watch.points import Litres, bath_litres, low_mark_l, moved_at_15, oil_litres
from fluidapp.errors import FluidappError
from fluidapp.model import Machine
from fluidapp.screens import _past, _resources
from fluidapp.store import Entry, MeterPoint
from fluidapp.store.kinds import LevelReading, Movement, WatchClosed, WatchOpened

BEFORE = datetime.timedelta(hours=24)  # a reading so long before the opening still begins the watch


@dataclass(frozen=True, slots=True)
class Watch:
    """A watch in the records: its entry (None for a look back), what it follows, and how it ended."""

    entry: Entry | None
    doc: WatchOpened
    since: datetime.datetime
    closed: Entry | None = None

    @property
    def until(self) -> datetime.datetime | None:
        return self.closed.at if self.closed else None

    def __str__(self) -> str:
        began = self.entry.at_local if self.entry else self.since
        return f"{self.doc.mode}, since {began:%Y-%m-%d}" + (f": {self.doc.reason}" if self.doc.reason else "")


@dataclass(frozen=True, slots=True)
class Followed:
    """One compartment of a watch: its series, the line through it, and what was left out, in words."""

    key: str
    label: str
    kind: str
    series: watches.Series
    found: watches.Trend
    rows: tuple[tuple[Entry, Litres], ...]
    low_l: float | None
    left_out: tuple[str, ...]
    meter_less_total_h: float


def all_watches(machine: Machine) -> list[Watch]:
    """Every watch of the machine, newest first."""
    entries = _resources.store().entries(machine.key, ("watch opened", "watch closed"))
    ends = {e.doc.watch: e for e in entries if isinstance(e.doc, WatchClosed)}
    return [Watch(e, e.doc, e.at, ends.get(e.id)) for e in entries if isinstance(e.doc, WatchOpened)]


def part_of(machine: Machine, node: str) -> tuple[str, str, str] | None:
    """Key, label and kind of a compartment or bath that a watch follows; None where the machine no longer has it."""
    key = node.partition("/")[2] or node
    for part in machine.compartments:
        if part.key == key:
            return key, part.label, part.kind
    return next(((b.key, b.label, "grease bath") for b in machine.baths if b.key == key), None)


def follow(machine: Machine, watch: Watch, node: str, same_state: bool, without: tuple[str, ...] = ()) -> Followed | None:
    """The series of one compartment. without : ids of readings that the person leaves out. None where nothing was read."""
    told = part_of(machine, node)
    if told is None:
        return None
    key, label, kind = told
    entries = _entries(machine, key, watch)
    if not entries:
        return None
    gauges = [e.doc.gauge for e in entries if isinstance(e.doc, LevelReading)]
    gauge = max(set(gauges), key=gauges.count)
    start = entries[0].at
    part = machine.bath(key) if kind == "grease bath" else machine.compartment(key)
    rho15 = _resources.rho15(part.product, RHO_GREASE if kind == "grease bath" else oil.RHO15_TYPICAL)
    meter = _resources.store().meter_points(machine.key)
    clock = {m.entry_id: m.total_h for m in meter}
    points: list[watches.Point] = []
    rows: list[tuple[Entry, Litres]] = []
    left_out: list[str] = []
    for n, entry in enumerate(entries):
        doc = entry.doc
        assert isinstance(doc, LevelReading)
        when = f"{entry.at_local:%Y-%m-%d %H:%M}"
        if entry.id in without:
            left_out.append(f"{when}, left out by hand")
            continue
        if doc.gauge != gauge:
            continue
        try:
            litres = _litres(machine, key, kind, doc, same_state, rho15)
        except FluidappError:
            left_out.append(f"{when}, {doc.as_read or doc.bound}: no level")
            continue
        hour = clock[entry.id] if entry.id in clock else _between(meter, entry.at)
        points.append(
            watches.Point(
                _clock_h(entry.at, start, n), hour, litres.at_15_l, litres.u_l,
                tuple(sorted(doc.shown_mm.items())), entry.id,
            )
        )  # fmt: skip
        rows.append((entry, litres))
    if not points:
        return None
    moves = _moves(machine, key, rho15, entries)
    series = watches.working(points, moves) if watch.doc.mode == "working" else watches.parked(points, moves)
    if not series.points:
        return None
    known = dict(zip([p.label for p in points], rows, strict=True))
    left_out += [
        f"{known[p.label][0].at_local:%Y-%m-%d %H:%M}, {'hour meter not read' if not series.ended else series.ended}"
        for p in series.left_out
    ]
    kept = tuple(known[p.label] for p in series.points)
    found = watches.trend(
        series.hours, [p.volume_l for p in series.points], [p.u_l for p in series.points],
        leak_l_h=watch.doc.smallest_l_h or watches.LEAK_L_H, kind=watch.doc.mode, poured=series.poured,
    )  # fmt: skip
    low = None if kind == "grease bath" else low_mark_l(machine, key, gauge, kept[-1][1].cold)
    poured = sum(p.volume_l for p in series.poured)
    last = kept[-1][0]
    offset = (last.meter_h or 0.0) - clock[last.id] if last.id in clock else 0.0
    return Followed(key, label, kind, series, found, kept, None if low is None else low - poured, tuple(left_out), offset)


def look_back(machine: Machine, key: str, since: datetime.datetime) -> Watch:
    """A watch that nobody opened: what the records hold since a day."""
    return Watch(None, WatchOpened(mode="working", at_nodes=(key,)), since)


def _entries(machine: Machine, key: str, watch: Watch) -> list[Entry]:
    """Readings of the compartment in the watch's time, oldest first, with the newest one of the day before it."""
    found = _resources.store().entries(machine.key, "reading", key, watch.since - BEFORE, watch.until)
    found = sorted(found, key=lambda e: (e.at, e.seq))
    before = [e for e in found if e.at < watch.since][-1:]
    return [*before, *(e for e in found if e.at >= watch.since)]


def _litres(machine: Machine, key: str, kind: str, doc: LevelReading, same_state: bool, rho15: float) -> Litres:
    if kind == "grease bath":
        return bath_litres(machine.bath(key), _past.survey(doc))
    return oil_litres(machine, key, doc.reading(), rho15=rho15, same_state=same_state)


def _clock_h(at: datetime.datetime, start: datetime.datetime, n: int) -> float:
    """Hours since the first reading; what was written at the same minute keeps its order."""
    return (at - start).total_seconds() / 3600.0 + 1e-7 * n


def _between(points: list[MeterPoint], at: datetime.datetime) -> float | None:
    """Machine hours at a time between two looks at the hour meter; None before the first and after the last one."""
    if not points or not points[0].at <= at <= points[-1].at:
        return None
    return hours_at([p.at.timestamp() for p in points], [p.total_h for p in points], at.timestamp())


def _moves(machine: Machine, key: str, rho15: float, entries: list[Entry]) -> list[watches.Move]:
    """What went into and out of the compartment since its first reading, in litres at 15 °C."""
    full, start = f"{machine.key}/{key}", entries[0].at
    found = []
    for entry in _resources.store().entries(None, "movement", full, since=start):
        doc = entry.doc
        if not isinstance(doc, Movement):
            continue
        if doc.volume_l is None:
            litres, u = Weighed(doc.mass_kg or 0.0, doc.u).litres(rho15)
        else:
            litres = moved_at_15(doc.volume_l, doc.temp_c, rho15)
            u = poured_doubt(litres) if doc.u is None else doc.u
        before = sum(1 for e in entries if (e.at, e.seq) < (entry.at, entry.seq))
        found.append(watches.Move(_clock_h(entry.at, start, before) - 5e-8, litres if doc.to_node == full else -litres, u))
    return sorted(found, key=lambda move: move.clock_h)


def shifted(found: Followed, hour: float) -> float:
    """An hour of a working watch's clock as the hour meter will show it."""
    return hour + found.meter_less_total_h
