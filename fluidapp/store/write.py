"""Checking entries and storing them: the one way in, for forms, commands and files alike."""

import uuid
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select

from fluidapp.errors import BadInput, FluidappError, RecordsProblem
from fluidapp.store import schema
from fluidapp.store.checks import REFERS, Checker, Row, Target, is_percent
from fluidapp.store.kinds import Doc, LevelReading, MeterChanged, Void, named
from fluidapp.store.meters import Metered, segments
from fluidapp.store.saves import NewEntry, Save, Saved, content, offset_min, row_hash, utc_text
from fluidapp.store.subjects import NAMESPACE, Directory


@dataclass(frozen=True, slots=True)
class Was:
    """Where an entry of a whole export stood: place in its save and among all entries, meter segment, who knew what then."""

    i: int
    order: int
    segment: int
    directory: Directory


@dataclass(frozen=True, slots=True)
class Past:
    """What a whole export says about its entries, by id, and when its saves were made, by id."""

    entries: Mapping[str, Was]
    made: Mapping[str, str]


NO_PAST = Past({}, {})


@dataclass(frozen=True, slots=True)
class Refused:
    """An entry that cannot be stored, and why."""

    new: NewEntry
    error: FluidappError


def entry_id(save_id: str, i: int) -> str:
    """The id of the i-th entry of a save: the same at every retry."""
    return str(uuid.uuid5(NAMESPACE, f"entry {save_id} {i}"))


def record_all(
    conn: Connection,
    where: str,
    saves: Sequence[Save],
    now_utc: datetime,
    *,
    skip_known: bool = False,
    past: Past = NO_PAST,
    dry: bool = False,
) -> tuple[list[Saved], list[Refused]]:
    """Stores ``saves``, unless an entry is refused: then nothing is stored and the second result says which and why.

    skip_known : leave out rows that are stored already (a file that is read again), counted, so that true twins stay.
    past : of a whole export, what its entries were beyond what they say. dry : check only.
    """
    directory = Directory.read(conn)
    done: list[Saved] = []
    rows: list[Row] = []
    refused: list[Refused] = []
    for save in saves:
        fresh: list[Row] = []
        for i, new in enumerate(save.entries):
            try:
                fresh.append(_row(new, save, i, directory, past))
            except FluidappError as err:
                refused.append(Refused(new, err))
        if not skip_known and (before := _stored_before(conn, where, save, fresh)) is not None:
            done.append(before)
        else:
            rows.extend(fresh)
    if skip_known:
        rows = _unknown_only(conn, rows)
        refused.extend(_torn(conn, where, rows))
    checker = Checker(where, utc_text(now_utc), _references(conn, rows), _by_id(rows))
    for row in rows:
        try:
            checker.check(row)
        except FluidappError as err:
            refused.append(Refused(row.new, err))
    refused.extend(_meters(conn, rows, directory, checker.voided))
    if refused:
        return done, refused
    if not dry:
        _insert(conn, rows, past, now_utc)
    stored: dict[str, list[str]] = {}
    for row in rows:
        stored.setdefault(row.save.id, []).append(row.id)
    done.extend(Saved(save, tuple(ids)) for save, ids in stored.items())
    return done, []


def _row(new: NewEntry, save: Save, i: int, directory: Directory, past: Past) -> Row:
    doc: Doc = new.doc.in_full(new.machine)
    machine = new.machine
    if machine is None:
        owners = [node.partition("/")[0] for node in reversed(doc.nodes()) if "/" in node]
        machine = next((owner for owner in owners if owner in directory.by_kind["machine"]), None)
    at_utc, stored = utc_text(new.at), content(doc)
    said, named_id = row_hash(machine, at_utc, new.meter_h, doc), new.id or entry_id(save.id, i)
    if (was := past.entries.get(named_id)) is not None:
        return Row(new, save, was.i, doc, machine, at_utc, stored, said, named_id, was.directory, was.segment, was.order)
    return Row(new, save, i, doc, machine, at_utc, stored, said, named_id, directory)


def _stored_before(conn: Connection, where: str, save: Save, fresh: list[Row]) -> Saved | None:
    first = conn.execute(select(schema.save).where(schema.save.c.id == save.id)).first()
    if first is None:
        return None
    e = schema.entry.c
    stored = conn.execute(select(e.id, e.row_hash).where(e.save_id == save.id).order_by(e.i)).all()
    if first.by_name != save.by_name or [r.row_hash for r in stored] != [row.hash for row in fresh]:
        raise RecordsProblem(
            where,
            f"the save {save.id} was stored on {first.made_utc[:10]} with other content",
            "Open the form again and enter it as a new save.",
        )
    return Saved(save.id, tuple(r.id for r in stored), repeated=True)


def _by_id(rows: list[Row]) -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(row.id, []).append(row)
    return found


def _unknown_only(conn: Connection, rows: list[Row]) -> list[Row]:
    stored: Counter[str] = Counter()
    for some in _batches(rows, 500):
        found = conn.scalars(select(schema.entry.c.row_hash).where(schema.entry.c.row_hash.in_({row.hash for row in some})))
        stored |= Counter(found)
    left: list[Row] = []
    for row in rows:
        if stored[row.hash] > 0:
            stored[row.hash] -= 1
        else:
            left.append(row)
    return left


def _torn(conn: Connection, where: str, rows: list[Row]) -> list[Refused]:
    """Rows of a file that would be added to a save that was stored before."""
    wanted = sorted({row.save.id for row in rows})
    s = schema.save.c.id
    known = {found for some in _batches(wanted, 500) for found in conn.scalars(select(s).where(s.in_(some)))}
    problem = RecordsProblem(where, "it belongs to a save that is stored already, without this row", "Leave out the ids of changed rows.")
    return [Refused(row.new, problem) for row in rows if row.save.id in known]


def _batches(rows: Sequence[Any], size: int) -> Iterable[Sequence[Any]]:
    for start in range(0, len(rows), size):
        yield rows[start : start + size]


def _references(conn: Connection, rows: list[Row]) -> dict[str, Target]:
    """What the entries are that ``rows`` void or refer to, and which of their own ids are taken."""
    wanted = {row.new.id for row in rows if row.new.id}
    for row in rows:
        wanted |= {str(target) for name in (*REFERS, "entry") if (target := named(row.doc, name))}
    e, v, m = schema.entry, schema.entry.alias(), schema.subject
    found: dict[str, Target] = {}
    for some in _batches(sorted(wanted), 500):
        query = (
            select(e.c.id, e.c.kind, m.c.key, v.c.at_utc).outerjoin_from(e, v, v.c.voids == e.c.id).outerjoin(m, m.c.id == e.c.machine_id)
        )
        found.update({r.id: Target(r.kind, r.key, r.at_utc) for r in conn.execute(query.where(e.c.id.in_(some)))})
    return found


def _meters(conn: Connection, rows: list[Row], directory: Directory, voided: set[str]) -> list[Refused]:
    """Sets the meter segments of ``rows``; what is refused because a meter would run backwards."""
    refused: list[Refused] = []
    by_machine: dict[str, list[Row]] = {}
    for row in rows:
        if row.machine in directory.by_kind["machine"] and row.id not in voided:
            by_machine.setdefault(str(row.machine), []).append(row)
    for key, mine in by_machine.items():
        known = metered(conn, directory.get("machine", key).id)
        gone = [m for m in known if m.entry_id in voided and m.change]
        kept = [m for m in known if m.entry_id not in voided]
        if late := [m for c in gone for m in kept if m.at_utc > c.at_utc and m.meter_h is not None]:
            text = f"Readings of the new meter follow it ({late[0].meter_h:g} h on {late[0].at_utc[:10]}). Void them first."
            void = next(row for row in mine if isinstance(row.doc, Void) and row.doc.entry == gone[0].entry_id)
            refused.append(Refused(void.new, BadInput("exchange of the hour meter", gone[0].meter_h or 0.0, text)))
            continue
        points = [_point(row) for row in mine]
        try:
            found = segments(kept, points)
        except FluidappError as err:
            refused.extend(_one_by_one(kept, mine, err))
        else:
            for row, segment in zip(mine, found, strict=True):
                row.segment = segment
    return refused


def _one_by_one(known: list[Metered], rows: list[Row], err: FluidappError) -> list[Refused]:
    """Which of ``rows`` fail: in order of time, each against what was accepted before it."""
    accepted: list[Metered] = []
    refused: list[Refused] = []
    for row in sorted(rows, key=lambda r: (r.at_utc, r.i)):
        point = _point(row)
        try:
            segments(known, [*accepted, point])
        except FluidappError as found:
            refused.append(Refused(row.new, found))
        else:
            accepted.append(point)
    return refused or [Refused(rows[0].new, err)]


def _point(row: Row) -> Metered:
    change = isinstance(row.doc, MeterChanged)
    return Metered(row.at_utc, row.i, row.new.meter_h, 0, change, named(row.doc, "old_end_h"), row.id)


def metered(conn: Connection, machine_id: str) -> list[Metered]:
    """All live metered entries and meter exchanges of a machine, oldest first."""
    e = schema.live_entry.c
    query = (
        select(e.at_utc, e.seq, e.meter_h, e.meter_segment, e.kind, e.id, schema.entry.c.doc)
        .outerjoin_from(schema.live_entry, schema.entry, (schema.entry.c.id == e.id) & (e.kind == "meter changed"))
        .where(e.machine_id == machine_id, (e.meter_h.is_not(None)) | (e.kind == "meter changed"))
        .order_by(e.at_utc, e.seq)
    )
    return [
        Metered(r.at_utc, r.seq, r.meter_h, r.meter_segment, r.kind == "meter changed", (r.doc or {}).get("old_end_h"), r.id)
        for r in conn.execute(query)
    ]


def _insert(conn: Connection, rows: list[Row], past: Past, now_utc: datetime) -> None:
    if not rows:
        return
    saves = {row.save.id: row.save for row in rows}
    made = utc_text(now_utc)
    conn.execute(
        insert(schema.save),
        [
            {
                "id": s.id,
                "made_utc": past.made.get(s.id, made),
                "by_name": s.by_name,
                "by_login": s.by_login,
                "source": s.source,
                "file": s.file,
            }
            for s in saves.values()
        ],
    )
    entries: list[dict[str, Any]] = []
    details: dict[str, list[dict[str, Any]]] = {}
    for row in sorted(rows, key=lambda row: (row.order, row.doc.kind == "void")):  # a void may name an entry of the same import
        machine = row.directory.get("machine", row.machine) if row.machine is not None else None
        entries.append(
            {
                "id": row.id,
                "save_id": row.save.id,
                "i": row.i,
                "kind": row.doc.kind,
                "at_utc": row.at_utc,
                "utc_offset_min": offset_min(row.new.at),
                "machine_id": machine.id if machine else None,
                "version_id": machine.version_id if machine else None,
                "meter_h": row.new.meter_h,
                "meter_segment": row.segment,
                "voids": row.doc.entry if isinstance(row.doc, Void) else None,
                "row_hash": row.hash,
                "doc": row.stored,
            }
        )
        for table, some in row.doc.details().items():
            details.setdefault(table, []).extend({"entry_id": row.id, **_computed(detail, row)} for detail in some)
    conn.execute(insert(schema.entry), entries)
    for table, some in details.items():
        conn.execute(insert(schema.metadata.tables[table]), some)


def _computed(detail: dict[str, Any], row: Row) -> dict[str, Any]:
    """A detail row as it is stored: products by id, and mm only where the gauge reads in mm."""
    if isinstance(row.doc, LevelReading) and is_percent(row.doc, row.directory.machine(str(row.machine))):
        return {**detail, "level_mm": None}
    if "product" not in detail:
        return detail
    product = detail["product"]
    rest = {name: value for name, value in detail.items() if name != "product"}
    return {**rest, "product_id": None if product == "unknown" else row.directory.get("product", product).id}
