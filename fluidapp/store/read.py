"""Questions to the records. Every one reads live entries unless it is asked for the crossed-out ones too."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, Text, cast, func, literal, null, or_, select, union_all

from fluidapp.store import schema
from fluidapp.store.kinds import doc_adapter
from fluidapp.store.meters import totals
from fluidapp.store.saves import Entry, MeterPoint, MovementRow, utc_text, utc_time
from fluidapp.store.write import metered


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which entries are asked for; None does not choose. live : without the voids and what they crossed out.

    node : in full. point : of a grease point. by : the name of who entered it. save : the id of a save.
    """

    machine_id: str | None = None
    kinds: Collection[str] | None = None
    node: str | None = None
    since: datetime | None = None
    until: datetime | None = None
    live: bool = True
    point: str | None = None
    ids: Collection[str] | None = None
    by: str | None = None
    save: str | None = None

    def choose(self, query: Select[Any]) -> Select[Any]:
        """``query`` over the entries and their saves, with everything else left out."""
        e, s = schema.live_entry if self.live else schema.entry, schema.save
        asked = (
            None if self.ids is None else e.c.id.in_(self.ids),
            None if self.machine_id is None else e.c.machine_id == self.machine_id,
            None if self.kinds is None else e.c.kind.in_(self.kinds),
            None if self.since is None else e.c.at_utc >= utc_text(self.since),
            None if self.until is None else e.c.at_utc <= utc_text(self.until),
            None if self.node is None else self._names(self.node),
            None if self.point is None else e.c.id.in_(select(schema.shot.c.entry_id).where(schema.shot.c.point == self.point)),
            None if self.by is None else s.c.by_name == self.by,
            None if self.save is None else e.c.save_id == self.save,
        )
        return query.where(*(clause for clause in asked if clause is not None))

    def _names(self, node: str) -> ColumnElement[bool]:
        """Entries that name a node: details by their column, shots by their grease point, the rest by what is stored."""
        e, m = schema.live_entry if self.live else schema.entry, schema.subject
        owner, _, part = node.partition("/")
        read = select(schema.reading.c.entry_id).where(schema.reading.c.node == node)
        moved = select(schema.movement.c.entry_id).where(or_(schema.movement.c.from_node == node, schema.movement.c.to_node == node))
        shot = (
            select(schema.shot.c.entry_id)
            .join(schema.entry, schema.entry.c.id == schema.shot.c.entry_id)
            .join(m, m.c.id == schema.entry.c.machine_id)
            .where(schema.shot.c.point == part, m.c.key == owner)
        )
        said = cast(e.c.doc, Text).contains(f'"{node}"', autoescape=True)
        return or_(e.c.id.in_(union_all(read, moved, shot)), e.c.kind.not_in(("reading", "movement", "shot")) & said)


def entries(conn: Connection, wanted: Wanted, *, limit: int | None = None, offset: int = 0) -> list[Entry]:
    """Entries, newest first, ``limit`` of them after the first ``offset``."""
    e = schema.live_entry if wanted.live else schema.entry
    query = wanted.choose(_columns(wanted.live)).order_by(e.c.at_utc.desc(), e.c.seq.desc())
    if limit is not None:
        query = query.limit(limit).offset(offset)
    return _made(conn.execute(query))


def how_many(conn: Connection, wanted: Wanted, most: int) -> int:
    """The number of entries, counted up to ``most``."""
    e, s = schema.live_entry if wanted.live else schema.entry, schema.save
    some = wanted.choose(select(e.c.id).join(s, s.c.id == e.c.save_id)).limit(most).subquery()
    return conn.scalar(select(func.count()).select_from(some)) or 0


def names(conn: Connection) -> list[str]:
    """Everybody who entered something, by name."""
    s = schema.save.c.by_name
    return list(conn.scalars(select(s).where(s != "").distinct().order_by(s)))


def last_reading(conn: Connection, machine_id: str, node: str, gauge: str | None, until: datetime | None) -> Entry | None:
    """The newest live reading of a node."""
    e, r = schema.live_entry, schema.reading
    query = _columns(True).join(r, r.c.entry_id == e.c.id).where(e.c.machine_id == machine_id, r.c.node == node)
    if gauge is not None:
        query = query.where(r.c.gauge == gauge)
    if until is not None:
        query = query.where(e.c.at_utc <= utc_text(until))
    found = _made(conn.execute(query.order_by(e.c.at_utc.desc(), e.c.seq.desc()).limit(1)))
    return found[0] if found else None


def _columns(live: bool) -> Select[Any]:
    e = schema.live_entry if live else schema.entry
    s, m, void = schema.save, schema.subject, schema.entry.alias("void")
    voided_by = null().label("voided_by") if live else void.c.id.label("voided_by")
    query = (
        select(*e.c, voided_by, m.c.key.label("machine"), s.c.by_name, s.c.made_utc, s.c.source, s.c.file)
        .join(s, s.c.id == e.c.save_id)
        .outerjoin(m, m.c.id == e.c.machine_id)
    )
    return query if live else query.outerjoin(void, void.c.voids == e.c.id)


def _made(rows: Iterable[Row[Any]]) -> list[Entry]:
    read = doc_adapter().validate_python
    return [
        Entry(
            seq=r.seq,
            id=r.id,
            save_id=r.save_id,
            kind=r.kind,
            at=utc_time(r.at_utc),
            utc_offset_min=r.utc_offset_min,
            machine=r.machine,
            version_id=r.version_id,
            meter_h=r.meter_h,
            meter_segment=r.meter_segment,
            voids=r.voids,
            voided_by=r.voided_by,
            row_hash=r.row_hash,
            by_name=r.by_name,
            made=utc_time(r.made_utc),
            source=r.source,
            file=r.file,
            doc=read(r.doc),
        )
        for r in rows
    ]


def movements(
    conn: Connection,
    *,
    machine_id: str | None = None,
    product_id: str | None = None,
    node: str | None = None,
    purposes: Collection[str] | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[MovementRow]:
    """The ledger, oldest first, straight from its columns."""
    e, m, machine, product = schema.live_entry, schema.movement, schema.subject.alias("machine"), schema.subject.alias("product")
    query = (
        select(
            e.c.at_utc, machine.c.key.label("machine"), e.c.meter_h, e.c.meter_segment, m.c.from_node, m.c.to_node,
            product.c.key.label("product"),
            m.c.volume_l, m.c.mass_kg, m.c.u, m.c.temp_c, m.c.purpose, m.c.price, m.c.currency, e.c.id,
        )
        .join_from(e, m, m.c.entry_id == e.c.id)
        .outerjoin(machine, machine.c.id == e.c.machine_id)
        .outerjoin(product, product.c.id == m.c.product_id)
    )  # fmt: skip
    if machine_id is not None:
        query = query.where(e.c.machine_id == machine_id)
    if product_id is not None:
        query = query.where(m.c.product_id == product_id)
    if node is not None:
        query = query.where(or_(m.c.from_node == node, m.c.to_node == node))
    if purposes is not None:
        query = query.where(m.c.purpose.in_(purposes))
    if since is not None:
        query = query.where(e.c.at_utc >= utc_text(since))
    if until is not None:
        query = query.where(e.c.at_utc <= utc_text(until))
    return [MovementRow(utc_time(r[0]), *tuple(r)[1:]) for r in conn.execute(query.order_by(e.c.at_utc, e.c.seq, m.c.i))]


def meter_points(conn: Connection, machine_id: str) -> list[MeterPoint]:
    """Every metered entry of a machine, oldest first, with total hours over exchanged meters."""
    points = metered(conn, machine_id)
    return [
        MeterPoint(utc_time(p.at_utc), p.meter_h, p.segment, total, p.entry_id)
        for p, total in zip(points, totals(points), strict=True)
        if p.meter_h is not None
    ]


def count(conn: Connection) -> int:
    """Number of entries, voided ones included."""
    return conn.scalar(select(func.count(literal(1))).select_from(schema.entry)) or 0
