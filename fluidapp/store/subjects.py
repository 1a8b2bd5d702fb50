"""Machines, products, guns, trucks, settings and the site: each edit a new version, the old ones kept."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, func, insert, select, update

from fluidapp.errors import BadInput, RecordsProblem, Unknown
from fluidapp.model import Gun, Machine, Product, Setting, Site, Truck
from fluidapp.store import schema
from fluidapp.store.kinds import PLACES
from fluidapp.store.saves import content, utc_text, utc_time

NAMESPACE = uuid.UUID("5a1f7c36-2f0e-4c83-9a55-0c1d6b7b2f11")
SubjectDoc = Site | Machine | Product | Gun | Truck | Setting
KINDS: Mapping[str, type[SubjectDoc]] = {
    "site": Site,
    "machine": Machine,
    "product": Product,
    "gun": Gun,
    "truck": Truck,
    "setting": Setting,
}


@dataclass(frozen=True, slots=True)
class Subject:
    """One machine, product, gun, truck, setting or site in its newest version."""

    id: str
    kind: str
    key: str
    archived: bool
    version_id: str
    n: int
    doc: SubjectDoc


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a subject; ``n`` counts from 1."""

    id: str
    n: int
    made: datetime  # UTC
    by: str


def versions(conn: Connection, key: str) -> list[Version]:
    """The versions of a subject, newest first; empty for a key that is not known."""
    s, v = schema.subject.c, schema.version.c
    rows = conn.execute(
        select(v.id, v.n, v.made_utc, v.made_by)
        .join_from(schema.version, schema.subject, v.subject_id == s.id)
        .where(s.key == key)
        .order_by(v.n.desc())
    )
    return [Version(row.id, row.n, utc_time(row.made_utc), row.made_by) for row in rows]


def kind_of(doc: SubjectDoc) -> str:
    """The subject kind of a record."""
    return kind_of_model(type(doc))


def kind_of_model(model: type) -> str:
    """The subject kind of a model."""
    for kind, known in KINDS.items():
        if known is model:
            return kind
    raise BadInput("kind", model.__name__, f"Only these are kept: {', '.join(KINDS)}.")


def parts(machine: Machine | Truck) -> list[str]:
    """The keys of all that is read, filled or greased on a machine, or filled and emptied on a truck."""
    if isinstance(machine, Truck):
        return [c.key for c in machine.compartments]
    return [c.key for c in machine.compartments] + [b.key for b in machine.baths] + [p.key for p in machine.grease_points]


def newest(conn: Connection, kind: str | None = None, key: str | None = None) -> list[Subject]:
    """The newest version of every subject, archived ones included, by kind and key."""
    s, v = schema.subject, schema.version
    last = select(v.c.subject_id, func.max(v.c.n).label("n")).group_by(v.c.subject_id).subquery()
    query = (
        select(s.c.id, s.c.kind, s.c.key, s.c.archived, v.c.id.label("version_id"), v.c.n, v.c.doc)
        .join(last, last.c.subject_id == s.c.id)
        .join(v, (v.c.subject_id == s.c.id) & (v.c.n == last.c.n))
        .order_by(s.c.kind, s.c.key)
    )
    if kind is not None:
        query = query.where(s.c.kind == kind)
    if key is not None:
        query = query.where(s.c.key == key)
    return [
        Subject(r.id, r.kind, r.key, r.archived, r.version_id, r.n, KINDS[r.kind].model_validate(r.doc))
        for r in conn.execute(query)
        if r.kind in KINDS
    ]


def subject_id(key: str) -> str:
    """The id of a subject, from its key."""
    return str(uuid.uuid5(NAMESPACE, f"subject {key}"))


def version_id(subject: str, n: int) -> str:
    """The id of the n-th version of a subject, from the subject's id."""
    return str(uuid.uuid5(NAMESPACE, f"version {subject} {n}"))


def check_names(doc: SubjectDoc) -> None:
    """BadInput for a key that is the name of a place."""
    if taken := [name for name in (doc.key, *(parts(doc) if isinstance(doc, Machine | Truck) else ())) if name in PLACES]:
        raise BadInput("key", taken[0], f"These names are taken: {', '.join(PLACES)}.")


def put(conn: Connection, where: str, doc: SubjectDoc, now_utc: datetime, by: str) -> str:
    """Stores ``doc`` as a new version if it differs from the newest one; the version's id."""
    kind, key = kind_of(doc), doc.key
    check_names(doc)
    found = conn.execute(select(schema.subject.c.id, schema.subject.c.kind).where(schema.subject.c.key == key)).first()
    if found is not None and found.kind != kind:
        raise RecordsProblem(where, f"“{key}” is already the name of a {found.kind}", f"Give the {kind} another key.")
    stored = content(doc)
    n = 0
    if found is None:
        owner = subject_id(key)
        conn.execute(insert(schema.subject).values(id=owner, kind=kind, key=key, archived=False))
    else:
        owner = found.id
        last = conn.execute(
            select(schema.version.c.id, schema.version.c.n, schema.version.c.doc)
            .where(schema.version.c.subject_id == owner)
            .order_by(schema.version.c.n.desc())
            .limit(1)
        ).one()
        if last.doc == stored:
            return str(last.id)
        n = last.n
    row = {"id": version_id(owner, n + 1), "subject_id": owner, "n": n + 1, "doc": stored, "made_utc": utc_text(now_utc), "made_by": by}
    conn.execute(insert(schema.version).values(row))
    return version_id(owner, n + 1)


def archive(conn: Connection, key: str, archived: bool) -> None:
    """Takes a subject off the lists, or puts it back; its entries stay."""
    found = conn.execute(update(schema.subject).where(schema.subject.c.key == key).values(archived=archived))
    if found.rowcount == 0:
        raise Unknown("Name", key, [s.key for s in newest(conn)])


@dataclass(slots=True)
class Directory:
    """All subjects as they are during one write, for checking names."""

    by_kind: dict[str, dict[str, Subject]] = field(default_factory=dict)

    @classmethod
    def read(cls, conn: Connection) -> "Directory":
        """Everything at once: a fleet is small beside its entries."""
        found: dict[str, dict[str, Subject]] = {kind: {} for kind in KINDS}
        for subject in newest(conn):
            found[subject.kind][subject.key] = subject
        return cls(found)

    def get(self, kind: str, key: str) -> Subject:
        """The subject of that kind and key; Unknown, with the list, for any other."""
        known = self.by_kind[kind]
        if key not in known:
            raise Unknown(kind.capitalize(), key, [s.key for s in known.values() if not s.archived])
        return known[key]

    def machine(self, key: str) -> Machine:
        """The machine of that key."""
        doc = self.get("machine", key).doc
        assert isinstance(doc, Machine)
        return doc

    def owner(self, key: str) -> Machine | Truck:
        """The machine or truck of that key; Unknown, with both lists, for any other."""
        found = self.by_kind["truck"].get(key) or self.by_kind["machine"].get(key)
        if found is None:
            known = [s.key for kind in ("machine", "truck") for s in self.by_kind[kind].values() if not s.archived]
            raise Unknown("Machine or truck" if self.by_kind["truck"] else "Machine", key, known)
        assert isinstance(found.doc, Machine | Truck)
        return found.doc
