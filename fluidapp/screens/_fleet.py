"""What the supervisor's screens and the monthly report are made of: the ledger, its review, and where to look first."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fluidapp.calc import consumption as con
from fluidapp.calc import oil
from fluidapp.calc.between import oil_change, poured_doubt
from fluidapp.calc.consumption.flags import LOOK_BACK
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, LevelPlug, Machine, Product
from fluidapp.store import Store, ledger
from fluidapp.store.kinds import LevelReading

CASES = ("slewing gearbox", "final drive", "gear case", "pump-drive case")  # nothing but a change should ever raise their level
YEAR = 365.0


@dataclass(frozen=True, slots=True)
class Part:
    """One compartment whose consumption is followed; ``number`` is its series."""

    number: int
    machine: Machine
    compartment: Compartment

    @property
    def labels(self) -> tuple[str, str]:
        """Machine and compartment as people call them."""
        return self.machine.label, self.compartment.label


@dataclass(frozen=True, slots=True)
class Told:
    """One line of the list: what was found, and the keys of its machine and compartment."""

    finding: con.Finding
    machine: str
    part: str

    @property
    def label(self) -> str:
        """Machine and compartment in one."""
        return f"{self.finding.machine}, {self.finding.part[:1].lower()}{self.finding.part[1:]}"


@dataclass(frozen=True, slots=True)
class Seen:
    """Ledger, fleet and list in one state of the records. today : the end of the day from which all is told. parts : by series."""

    ledger: ledger.Ledger
    fleet: con.Fleet
    parts: Mapping[int, Part]
    first: tuple[Told, ...]
    more: int
    today: float

    def of(self) -> list[Part]:
        """The part of each of the review's series, in its order."""
        return [self.parts[int(k)] for k in self.fleet.seen.ids]


def gather(store: Store, machines: Sequence[Machine], products: Mapping[str, Product], today: float) -> Seen:
    """Everything from a few queries; compartments that no machine has any more are left out."""
    told = ledger.read_ledger(store)
    by_key = {m.key: m for m in machines}
    parts = {k: part for k, node in enumerate(told.places) if (part := _part(k, node, by_key)) is not None}
    records = told.records
    keep = np.isin(records.series, list(parts)) & (records.day <= today)
    fleet = con.review_fleet(
        records.series[keep], records.day[keep], records.hours[keep], records.litres[keep], segment=records.segment[keep],
        known=records.known[keep], broken=records.broken[keep], restart=records.restart[keep],
        kind={k: p.compartment.kind for k, p in parts.items()}, u_typical_l={k: con.level_doubt(p.compartment) for k, p in parts.items()},
    )  # fmt: skip
    labels = [parts[int(k)].labels for k in fleet.seen.ids]
    found = [
        *_gains(store, told, machines, products, today),
        *con.takes_more(fleet.seen, labels, fleet.day, today),
        *con.at_once(fleet.seen, labels, fleet.day, today),
        *_twice(fleet, labels),
        *_flags(records, parts, today),
    ]
    listed = con.look_first(found)
    keys = {p.labels: (p.machine.key, p.compartment.key) for p in _every(machines)}
    first = tuple(Told(f, *keys.get((f.machine, f.part), ("", ""))) for f in listed.findings)
    return Seen(told, fleet, parts, first, listed.more, today)


def _part(number: int, node: str, machines: Mapping[str, Machine]) -> Part | None:
    owner, _, key = node.partition("/")
    machine = machines.get(owner)
    found = next((c for c in machine.compartments if c.key == key), None) if machine else None
    return Part(number, machine, found) if machine is not None and found is not None else None


def _every(machines: Iterable[Machine]) -> list[Part]:
    return [Part(-1, m, c) for m in machines for c in m.compartments]


def _twice(fleet: con.Fleet, labels: Sequence[tuple[str, str]]) -> Iterator[con.Finding]:
    found = fleet.seen.found
    for m in np.flatnonzero(con.twice_its_median(fleet.seen, fleet.day)).tolist():
        last = int(found.start[m + 1]) - 1
        hours = float(found.hours[last])
        rate, u = 100.0 * float(found.litres[last]) / hours, 100.0 * math.sqrt(2.0) * float(fleet.u_level_l[m]) / hours
        yield con.twice(*labels[m], rate, u)


def _flags(records: ledger.Records, parts: Mapping[int, Part], today: float) -> Iterator[con.Finding]:
    """Topped up on two days running, and by more than a whole change, within the last three months."""
    some = np.isin(records.series, list(parts)) & (records.day > today - LOOK_BACK) & (records.day <= today) & records.known
    series, day, litres = records.series[some], records.day[some], records.litres[some]
    if not len(series):
        return
    running = con.two_days_running(series, day, np.nan_to_num(litres))
    for k, at in {int(series[i]): float(day[i]) for i in np.flatnonzero(running)}.items():
        yield con.two_days(*parts[k].labels, at, today)
    poured, _ = con.poured_lately(series, day, litres, today)
    for k, amount in zip(np.unique(series).tolist(), poured.tolist(), strict=True):
        change = parts[k].compartment.capacities.refill_l or parts[k].compartment.capacities.at_mark_l
        told = con.more_than_a_change(*parts[k].labels, amount, poured_doubt(amount), change, LOOK_BACK) if change and amount > 0 else None
        if told is not None:
            yield told


def _gains(
    store: Store, told: ledger.Ledger, machines: Sequence[Machine], products: Mapping[str, Product], today: float
) -> Iterator[con.Finding]:
    """Gear cases that hold more than was poured in."""
    cases = {f"{p.machine.key}/{p.compartment.key}": p for p in _every(machines) if p.compartment.kind in CASES and p.compartment.gauges}
    levels = ledger.read_levels(store, cases, today - YEAR)
    for n, node in enumerate(levels.nodes):
        part = cases[node]
        changed, poured = _changes(told, node)
        rows = np.flatnonzero((levels.node == n) & (levels.day <= today))
        for gauge in sorted({levels.gauge[k] for k in rows}):
            mine = [int(k) for k in rows if levels.gauge[k] == gauge]
            plug = isinstance(part.compartment.gauge(gauge or None), LevelPlug)
            days = [float(levels.day[k]) for k in mine]
            if plug:
                over = [levels.bound[k] == "at least" for k in mine]
                lip = con.over_the_lip(*part.labels, days, over, max(changed, poured), today)
                if lip is not None:
                    yield lip
                    continue
            exact = [k for k in mine if levels.bound[k] == "exact"]
            shown = np.array([-levels.level[k] if plug else levels.level[k] for k in exact])
            rise = con.risen(levels.day[exact], shown, changed)
            if rise is not None:
                yield from _gained(store, told, part, levels, exact[rise.before], exact[rise.now], products, today)


def _changes(told: ledger.Ledger, node: str) -> tuple[float, float]:
    """The day of the last change or first fill of a compartment, and of the last pour into it; far back where there is none."""
    if node not in told.places:
        return -math.inf, -math.inf
    moves = told.moves
    into = moves.to_place == told.places.index(node)
    fresh = into & np.isin(moves.purpose, (ledger.PLANNED, ledger.FIRST))
    return float(moves.day[fresh].max(initial=-math.inf)), float(moves.day[into].max(initial=-math.inf))


def _gained(
    store: Store,
    told: ledger.Ledger,
    part: Part,
    levels: ledger.Levels,
    before: int,
    now: int,
    products: Mapping[str, Product],
    today: float,
) -> Iterator[con.Finding]:
    """The rise in litres, less what was poured; nothing where it cannot be worked out."""
    entries = store.by_ids((levels.entry[before], levels.entry[now]))
    then, last = (entries[levels.entry[k]].doc for k in (before, now))
    assert isinstance(then, LevelReading)
    assert isinstance(last, LevelReading)
    moves, node = told.moves, f"{part.machine.key}/{part.compartment.key}"
    between = (moves.day > levels.day[before]) & (moves.day <= levels.day[now])
    place = told.places.index(node) if node in told.places else -1
    poured, drained = (float(moves.litres[between & (to == place)].sum()) for to in (moves.to_place, moves.from_place))
    try:
        change, _ = oil_change(
            part.machine, part.compartment.key, then.reading(), last.reading(), same_state=True, poured_l=poured, drained_l=drained,
            rho15=oil.rho15_of(products.get(part.compartment.product or "")),
        )  # fmt: skip
    except FluidappError:
        return
    u = math.sqrt(change.u_l**2 + change.u_poured_l**2 + change.u_drained_l**2)
    found = con.gained(*part.labels, change.change_l - poured + drained, u, float(levels.day[before]), today)
    if found is not None:
        yield found
