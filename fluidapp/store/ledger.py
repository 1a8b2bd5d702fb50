"""The ledger as columns for the supervisor's questions: one array a field, few queries, live entries only.

Nothing here is computed but total hours over exchanged meters and day counts; machines, products and places become whole numbers.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, Final, get_args

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, Text, cast, func, or_, select

from fluidapp.model import Truck
from fluidapp.store import schema
from fluidapp.store.engine import reading
from fluidapp.store.kinds import Purpose
from fluidapp.store.records import Store
from fluidapp.store.subjects import newest

Array = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]
OUTSIDE, STOCK, MACHINE, USED_OIL = range(4)  # kinds of places; the compartments of a truck are stock, or used oil where they collect it
PURPOSES: Final[tuple[str, ...]] = get_args(Purpose)
EPOCH = 719163.0  # day count of 1 January 1970
PURPOSE = {name: k for k, name in enumerate(PURPOSES)}
TOP_UP, PLANNED, FIRST = (PURPOSES.index(name) for name in ("top-up", "planned change", "first fill"))


@dataclass(frozen=True, slots=True)
class Moves:
    """Every movement of litres, oldest first; arrays of one length.

    day : day count with its fraction, by the clock of the place. from_kind, to_kind : OUTSIDE to USED_OIL; from_place, to_place : numbers
    in ``Ledger.places``. product : number in ``Ledger.products``, -1 = not known. purpose : number in PURPOSES. litres; u : 1 sigma, nan =
    not entered. price : a litre, nan = not entered; currency : number in ``Ledger.currencies``. paper : a number of a paper and a
    receiver are entered (used oil that left). hours : total machine hours, nan = not read; segment : which hour meter it was. broken :
    no meter ran.
    """

    day: Array
    from_kind: IntArray
    to_kind: IntArray
    from_place: IntArray
    to_place: IntArray
    product: IntArray
    purpose: IntArray
    litres: Array
    u: Array
    price: Array
    currency: IntArray
    paper: BoolArray
    hours: Array
    segment: IntArray
    broken: BoolArray


@dataclass(frozen=True, slots=True)
class Records:
    """What went into and out of the compartments of machines, oldest first; arrays of one length, a record each.

    series : number of the compartment in ``Ledger.places``. litres : topped up; below 0 what was taken out besides a change; nan = a
    planned change or first fill. known : the level afterwards is known: False after a draining and after a pour of another purpose.
    restart : the first record after a repair of that compartment. The others as in :class:`Moves`.
    """

    series: IntArray
    day: Array
    hours: Array
    segment: IntArray
    litres: Array
    u: Array
    known: BoolArray
    broken: BoolArray
    restart: BoolArray


@dataclass(frozen=True, slots=True)
class Ledger:
    """places : names of nodes, in full, sorted; products : keys, sorted; currencies : sorted. first : day of the first movement."""

    places: tuple[str, ...]
    products: tuple[str, ...]
    currencies: tuple[str, ...]
    moves: Moves
    records: Records


@dataclass(frozen=True, slots=True)
class Levels:
    """Levels as read, oldest first: node (number in ``nodes``), gauge, day, level [mm, or the gauge's own scale], bound, entry id."""

    nodes: tuple[str, ...]
    node: IntArray
    gauge: tuple[str, ...]
    day: Array
    level: Array
    bound: tuple[str, ...]
    entry: tuple[str, ...]


def stamp(store: Store) -> tuple[int, int, int]:
    """What changes with every entry and every edit: newest entry, versions, subjects off the lists. For caches."""
    with reading(store.engine) as conn:
        last = conn.scalar(select(func.max(schema.entry.c.seq))) or 0
        versions = conn.scalar(select(func.count()).select_from(schema.version)) or 0
        off = conn.scalar(select(func.count()).select_from(schema.subject).where(schema.subject.c.archived)) or 0
    return last, versions, off


def read_ledger(store: Store) -> Ledger:
    """All movements of litres, in one state of the records."""
    with reading(store.engine) as conn:
        subjects = conn.execute(select(schema.subject.c.id, schema.subject.c.kind, schema.subject.c.key)).all()
        kind_of = {row.key: row.kind for row in subjects}
        trucks = [s.doc for s in newest(conn, "truck") if isinstance(s.doc, Truck)]
        key_of = {row.id: row.key for row in subjects}
        e, m = schema.live_entry, schema.movement
        found = conn.execute(
            select(
                e.c.at_utc, e.c.utc_offset_min, e.c.machine_id, e.c.meter_h, e.c.meter_segment, m.c.from_node, m.c.to_node, m.c.product_id,
                m.c.purpose, m.c.volume_l, m.c.u, m.c.price, m.c.currency, e.c.seq,
            )
            .join_from(e, m, m.c.entry_id == e.c.id)
            .where(m.c.volume_l.is_not(None))
            .order_by(e.c.at_utc, e.c.seq, m.c.i)
        ).all()  # fmt: skip
        offsets, breaks = _offsets(conn), _breaks(conn)
        papers, repairs = _papers(conn), _repairs(conn, key_of)
    columns = list(zip(*found, strict=True)) if found else [()] * 14
    at, offset, owner, meter, segment, out_of, into, product, purpose, litres, u, price, currency, seq = columns
    places, (from_place, to_place) = _numbers(out_of, into)
    products, (of_product,) = _numbers([key_of.get(p, "") for p in product])
    currencies, (money,) = _numbers(currency)
    collects = {f"{truck.key}/{part.key}" for truck in trucks for part in truck.compartments if part.collects}
    kinds = np.array([_kind(place, kind_of, collects) for place in places], np.intp)
    when = _days(at) + np.array(offset, np.float64) / 1440.0
    added, broken = np.zeros(len(at)), np.zeros(len(at), np.bool_)
    if offsets:
        added = np.array([offsets.get(pair, 0.0) for pair in zip(owner, segment, strict=True)], np.float64)
    if breaks:
        broken = np.array([any(a <= t < b for a, b in breaks.get(o, ())) for o, t in zip(owner, at, strict=True)], np.bool_)
    moves = Moves(
        when,
        kinds[from_place],
        kinds[to_place],
        from_place,
        to_place,
        of_product - (1 if "" in products else 0),
        np.array([PURPOSE[name] for name in purpose], np.intp),
        _floats(litres),
        _floats(u),
        _floats(price),
        money,
        np.isin(np.array(seq, np.int64), np.array(papers, np.int64)),
        _floats(meter) + added,
        np.array(segment, np.intp),
        broken,
    )
    machines = [key_of.get(o, "") for o in owner]
    return Ledger(places, tuple(p for p in products if p), currencies, moves, _records(moves, places, machines, repairs))


def read_levels(store: Store, nodes: Collection[str], since_day: float) -> Levels:
    """Readings of these nodes (in full) from a day count on."""
    e, r = schema.live_entry, schema.reading
    begin = str(np.datetime64(int(since_day - EPOCH), "D")) + "T00:00:00Z"
    with reading(store.engine) as conn:
        found = conn.execute(
            select(r.c.node, r.c.gauge, e.c.at_utc, e.c.utc_offset_min, r.c.level_mm, r.c.bound, e.c.id)
            .join_from(e, r, r.c.entry_id == e.c.id)
            .where(r.c.node.in_(nodes), e.c.at_utc >= begin)
            .order_by(e.c.at_utc, e.c.seq)
        ).all()
    node, gauge, at, offset, level, bound, entry = list(zip(*found, strict=True)) if found else [()] * 7
    names, (numbers,) = _numbers(node)
    days = _days(at) + np.array(offset, np.float64) / 1440.0
    return Levels(names, numbers, tuple(g or "" for g in gauge), days, _floats(level), bound, entry)


def _records(
    moves: Moves, places: tuple[str, ...], machines: Sequence[str], repairs: Sequence[tuple[float, str, tuple[str, ...]]]
) -> Records:
    """The two ways of each movement that touch a machine, in their order."""
    into = np.flatnonzero((moves.to_kind == MACHINE) & (moves.purpose != PURPOSES.index("greasing")))
    out = np.flatnonzero((moves.from_kind == MACHINE) & (moves.purpose != PLANNED))
    rows = np.concatenate((into, out))
    series = np.concatenate((moves.to_place[into], moves.from_place[out]))
    fresh = np.isin(moves.purpose[into], (PLANNED, FIRST))
    litres = np.concatenate((np.where(fresh, np.nan, moves.litres[into]), -moves.litres[out]))
    known = np.concatenate((fresh | (moves.purpose[into] == TOP_UP), np.zeros(len(out), np.bool_)))
    order = np.argsort(rows, kind="stable")
    rows, series = rows[order], series[order]
    owners = np.array([place.partition("/")[0] for place in places], dtype=object)
    own = owners[series] == np.array(machines, dtype=object)[rows] if len(rows) else np.zeros(0, np.bool_)
    restart = np.zeros(len(rows), np.bool_)
    for day, machine, nodes in repairs:
        for number in [k for k, place in enumerate(places) if owners[k] == machine and (not nodes or place in nodes)]:
            after = np.flatnonzero((series == number) & (moves.day[rows] >= day))
            restart[after[:1]] = True
    return Records(
        series,
        moves.day[rows],
        np.where(own, moves.hours[rows], np.nan),
        moves.segment[rows],
        litres[order],
        moves.u[rows],
        known[order],
        moves.broken[rows],
        restart,
    )


def _offsets(conn: Connection) -> dict[tuple[str, int], float]:
    """Hours to add to the meter of a machine in each segment after an exchange."""
    e = schema.live_entry.c
    changes = conn.execute(
        select(e.machine_id, e.meter_segment, e.meter_h, e.doc).where(e.kind == "meter changed").order_by(e.machine_id, e.at_utc, e.seq)
    ).all()
    if not changes:
        return {}
    last = {
        (row[0], row[1]): row[2]
        for row in conn.execute(
            select(e.machine_id, e.meter_segment, func.max(e.meter_h))
            .where(e.machine_id.in_({c.machine_id for c in changes}), e.meter_h.is_not(None))
            .group_by(e.machine_id, e.meter_segment)
        )
    }
    found: dict[tuple[str, int], float] = {}
    for change in changes:
        end = change.doc.get("old_end_h")
        if end is None:
            end = last.get((change.machine_id, change.meter_segment - 1), 0.0)
        before = found.get((change.machine_id, change.meter_segment - 1), 0.0)
        found[change.machine_id, change.meter_segment] = before + end - change.meter_h
    return found


def _breaks(conn: Connection) -> dict[str, list[tuple[str, str]]]:
    """Spans (UTC texts) in which the meter of a machine stood broken: until it was read or changed again."""
    e = schema.live_entry.c
    broken = select(e.machine_id).where(e.kind == "meter", cast(e.doc, Text).contains('"broken since"')).distinct()
    machines = list(conn.scalars(broken))
    if not machines:
        return {}
    rows = conn.execute(
        select(e.machine_id, e.at_utc, e.kind, e.doc)
        .where(e.machine_id.in_(machines), e.kind.in_(("meter", "meter changed")))
        .order_by(e.at_utc, e.seq)
    )
    found: dict[str, list[tuple[str, str]]] = {}
    for row in rows:
        spans = found.setdefault(row.machine_id, [])
        open_one = bool(spans) and spans[-1][1] == "~"
        if row.doc.get("state") == "broken since" and not open_one:
            spans.append((row.at_utc, "~"))  # after every time
        elif open_one and (row.kind == "meter changed" or row.doc.get("state", "read") == "read"):
            spans[-1] = (spans[-1][0], row.at_utc)
    return found


def _papers(conn: Connection) -> list[int]:
    """Numbers of the entries of used oil that left with a paper and a receiver."""
    e, m = schema.live_entry, schema.movement
    rows = conn.execute(
        select(e.c.seq, e.c.doc)
        .join_from(e, m, m.c.entry_id == e.c.id)
        .where(m.c.to_node == "outside", or_(m.c.from_node == "used-oil", m.c.purpose == "used oil"))
    )
    return [row.seq for row in rows if row.doc.get("document") and row.doc.get("receiver")]


def _repairs(conn: Connection, key_of: dict[str, str]) -> list[tuple[float, str, tuple[str, ...]]]:
    """Day, machine and nodes of every repair; no nodes = all of the machine."""
    e = schema.live_entry.c
    rows = conn.execute(select(e.at_utc, e.utc_offset_min, e.machine_id, e.doc).where(e.kind == "repair").order_by(e.at_utc, e.seq)).all()
    return [
        (float(_days([row.at_utc])[0]) + row.utc_offset_min / 1440.0, key_of.get(row.machine_id, ""), tuple(row.doc.get("at_nodes") or ()))
        for row in rows
    ]


def _kind(place: str, kind_of: dict[str, str], collects: set[str]) -> int:
    if place in collects:
        return USED_OIL
    if place in ("outside", "used-oil", "stock"):
        return {"outside": OUTSIDE, "used-oil": USED_OIL, "stock": STOCK}[place]
    return MACHINE if kind_of.get(place.partition("/")[0]) == "machine" else STOCK


def _numbers(*columns: Sequence[str]) -> tuple[tuple[str, ...], tuple[IntArray, ...]]:
    """The names that occur, sorted, and the number of each in every column."""
    names = tuple(sorted({name for column in columns for name in column}))
    number = {name: k for k, name in enumerate(names)}
    return names, tuple(np.array([number[name] for name in column], np.intp) for column in columns)


def _days(at_utc: Sequence[Any]) -> Array:
    """Day counts of UTC texts."""
    if not len(at_utc):
        return np.zeros(0)
    seconds = np.array([text[:19] for text in at_utc], "datetime64[s]").astype(np.int64)
    found: Array = seconds / 86400.0 + EPOCH
    return found


def _floats(values: Sequence[Any]) -> Array:
    return np.array([np.nan if value is None else value for value in values], np.float64)
