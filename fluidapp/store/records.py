"""The records: one object to write to and to read from. It holds no connection and no clock."""

import os
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import TypeVar, cast

from sqlalchemy import Connection, Engine, select

from fluidapp.errors import NotAllowed, Unknown
from fluidapp.model import Gun, Machine, Product, Setting, Site, Truck
from fluidapp.store import read, schema, subjects
from fluidapp.store.engine import make_engine, migrate, place, reading, said, shown, writing
from fluidapp.store.read import Wanted
from fluidapp.store.saves import Entry, May, MeterPoint, MovementRow, Save, Saved, everyone_may
from fluidapp.store.subjects import SubjectDoc, Version
from fluidapp.store.write import Refused, record_all


def open_store(url_or_path: str | Path | None = None, *, may: May = everyone_may) -> "Store":
    """The records at a path or database address; None: FLUIDAPP_DB, else records.db in the user's data folder.

    A file that does not exist is made; one of an older shape is brought up to date. RecordsProblem for a missing folder, a
    file that holds something else or is damaged, records of a newer fluidapp, a locked file; nothing is lost then.
    """
    url = place(url_or_path, os.environ.get("FLUIDAPP_DB"))
    store = Store(make_engine(url), may)
    migrate(store.engine)
    return store


S = TypeVar("S", bound=SubjectDoc)


class Store:
    """Open it with :func:`open_store`."""

    def __init__(self, engine: Engine, may: May = everyone_may) -> None:
        self.engine, self._may = engine, may
        self.where = shown(engine.url)

    def close(self) -> None:
        """Lets go of pooled connections (there are none with SQLite)."""
        self.engine.dispose()

    def settle(self) -> None:
        """Brings everything into the one file, so that it can be copied; nothing to do on a server."""
        if self.engine.dialect.name == "sqlite":
            with said(self.engine), closing(self.engine.raw_connection()) as raw:
                raw.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")

    # writing

    def record(self, save: Save, *, now_utc: datetime) -> Saved:
        """Stores all entries of ``save`` or none.

        A save that was stored before (same id, same content) is returned as it was and marked ``repeated``; the same id with
        other content is a RecordsProblem. Unknown for machines, compartments, gauges, products, guns that are not known;
        BadInput for times after ``now_utc`` and for a meter that would run backwards; NotAllowed for people who may not.
        """
        self._ask(save.by_login, "entries")
        with writing(self.engine) as conn:
            done, refused = record_all(conn, self.where, [save], now_utc)
            if refused:
                raise refused[0].error
        return done[0]

    def put(self, *docs: SubjectDoc, now_utc: datetime, by: str = "", by_login: str = "") -> tuple[str, ...]:
        """Stores machines, products, guns or the site; a new version only of what changed. The version ids, in order."""
        for doc in docs:
            self._ask(by_login, subjects.kind_of(doc))
        with writing(self.engine) as conn:
            return tuple(subjects.put(conn, self.where, doc, now_utc, by) for doc in docs)

    def archive(self, key: str, archived: bool = True, *, by_login: str = "") -> None:
        """Takes a machine, product or gun off the lists, or puts it back; its entries stay."""
        self._ask(by_login, "archive")
        with writing(self.engine) as conn:
            subjects.archive(conn, key, archived)

    def import_all(
        self, docs: Sequence[SubjectDoc], saves: Sequence[Save], now_utc: datetime, refuse: Callable[[list[Refused]], Exception]
    ) -> int:
        """Subjects and entries of files in one transaction, rows known already left out; the number of new entries.

        refuse : makes the exception out of the entries that cannot be stored; nothing is stored then.
        """
        for login, what in {("", subjects.kind_of(doc)) for doc in docs} | {(s.by_login, "entries") for s in saves}:
            self._ask(login, what)
        with writing(self.engine) as conn:
            for doc in docs:
                subjects.put(conn, self.where, doc, now_utc, "")
            done, refused = record_all(conn, self.where, saves, now_utc, skip_known=True)
            if refused:
                raise refuse(refused)
        return sum(len(saved.entry_ids) for saved in done if not saved.repeated)

    def _ask(self, by_login: str, what: str) -> None:
        if reason := self._may(by_login, what):
            raise NotAllowed(self.where, reason, "Ask whoever looks after these records.")

    # subjects

    def machines(self, *, archived: bool = False) -> list[Machine]:
        """All machines in their newest version, by key."""
        return self._subjects(Machine, archived)

    def machine(self, key: str) -> Machine:
        """The machine of that key; Unknown, with the list, for any other."""
        return self._subject(Machine, key)

    def products(self, *, archived: bool = False) -> list[Product]:
        """All products, by key."""
        return self._subjects(Product, archived)

    def product(self, key: str) -> Product:
        """The product of that key."""
        return self._subject(Product, key)

    def guns(self, *, archived: bool = False) -> list[Gun]:
        """All grease guns, by key."""
        return self._subjects(Gun, archived)

    def gun(self, key: str) -> Gun:
        """The grease gun of that key."""
        return self._subject(Gun, key)

    def trucks(self, *, archived: bool = False) -> list[Truck]:
        """All lube trucks, by key."""
        return self._subjects(Truck, archived)

    def truck(self, key: str) -> Truck:
        """The lube truck of that key."""
        return self._subject(Truck, key)

    def settings(self, *, archived: bool = False) -> list[Setting]:
        """All settings, by key."""
        return self._subjects(Setting, archived)

    def setting(self, key: str) -> Setting:
        """The setting of that key."""
        return self._subject(Setting, key)

    def site(self) -> Site | None:
        """The site, if one was entered."""
        sites = self._subjects(Site, False)
        return sites[0] if sites else None

    def version(self, version_id: str) -> SubjectDoc:
        """A subject as it was in that version: what an entry was read with."""
        with reading(self.engine) as conn:
            s, v = schema.subject.c, schema.version.c
            row = conn.execute(select(s.kind, v.doc).join_from(schema.version, schema.subject).where(v.id == version_id)).first()
        if row is None:
            raise Unknown("Version", version_id, ())
        return subjects.KINDS[row.kind].model_validate(row.doc)

    def versions(self, key: str) -> list[Version]:
        """Every version of a machine, product, gun, truck, setting or site, newest first: when it was made, and by whom."""
        with reading(self.engine) as conn:
            return subjects.versions(conn, key)

    def _subjects(self, model: type[S], archived: bool) -> list[S]:
        with reading(self.engine) as conn:
            found = [s.doc for s in subjects.newest(conn, subjects.kind_of_model(model)) if archived or not s.archived]
        return cast("list[S]", found)

    def _subject(self, model: type[S], key: str) -> S:
        kind = subjects.kind_of_model(model)
        with reading(self.engine) as conn:
            found = subjects.newest(conn, kind, key)
            if not found:
                raise Unknown(kind.capitalize(), key, [s.key for s in subjects.newest(conn, kind) if not s.archived])
        return cast("S", found[0].doc)

    # reading

    def entries(
        self,
        machine: str | None = None,
        kinds: Collection[str] | str | None = None,
        node: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
        *,
        live: bool = True,
        by: str | None = None,
        save: str | None = None,
        limit: int | None = None,
        offset: int = 0,
    ) -> list[Entry]:
        """Entries, newest first, ``limit`` of them after the first ``offset``.

        node : "tank" of the machine, or "machine/tank". by : who entered it. save : the id of a save. live=False: voids and voided
        ones too.
        """
        with self._asked(machine) as (conn, machine_id):
            wanted = Wanted(machine_id, _listed(kinds), in_full(machine, node), since, until, live, by=by, save=save)
            return read.entries(conn, wanted, limit=limit, offset=offset)

    def how_many(
        self,
        machine: str | None = None,
        kinds: Collection[str] | str | None = None,
        node: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
        *,
        live: bool = True,
        by: str | None = None,
        most: int = 10_000,
    ) -> int:
        """The number of entries that :meth:`entries` finds, counted up to ``most``."""
        with self._asked(machine) as (conn, machine_id):
            wanted = Wanted(machine_id, _listed(kinds), in_full(machine, node), since, until, live, by=by)
            return read.how_many(conn, wanted, most)

    def names(self) -> list[str]:
        """Everybody who entered something."""
        with reading(self.engine) as conn:
            return read.names(conn)

    def by_ids(self, ids: Collection[str]) -> dict[str, Entry]:
        """Entries by their ids, voids and voided ones too; those that are not there are left out."""
        with reading(self.engine) as conn:
            return {entry.id: entry for entry in read.entries(conn, Wanted(ids=ids, live=False))}

    def entry(self, entry_id: str) -> Entry:
        """One entry by its id, voided or not."""
        found = self.by_ids((entry_id,))
        if not found:
            raise Unknown("Entry", entry_id, ())
        return found[entry_id]

    def last_reading(self, machine: str, node: str, gauge: str | None = None, until: datetime | None = None) -> Entry | None:
        """The newest live reading of a compartment or bath (of one gauge, up to a time)."""
        with self._asked(machine) as (conn, machine_id):
            assert machine_id is not None
            return read.last_reading(conn, machine_id, in_full(machine, node) or node, gauge, until)

    def shots(self, machine: str, point: str | None = None, since: datetime | None = None) -> list[Entry]:
        """Shots of grease on a machine (at one grease point), newest first."""
        with self._asked(machine) as (conn, machine_id):
            return read.entries(conn, Wanted(machine_id, ("shot",), since=since, point=point))

    def movements(
        self,
        machine: str | None = None,
        product: str | None = None,
        node: str | None = None,
        purposes: Collection[str] | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
    ) -> list[MovementRow]:
        """The ledger, oldest first."""
        with self._asked(machine) as (conn, machine_id):
            product_id = self._id(conn, "product", product)
            return read.movements(
                conn, machine_id=machine_id, product_id=product_id, node=in_full(machine, node), purposes=purposes, since=since, until=until
            )

    def meter_points(self, machine: str) -> list[MeterPoint]:
        """Every reading of the hour meter, oldest first, with total hours over exchanged meters."""
        with self._asked(machine) as (conn, machine_id):
            assert machine_id is not None
            return read.meter_points(conn, machine_id)

    def count(self) -> int:
        """Number of entries, voided ones included."""
        with reading(self.engine) as conn:
            return read.count(conn)

    @contextmanager
    def _asked(self, machine: str | None) -> Iterator[tuple[Connection, str | None]]:
        with reading(self.engine) as conn:
            yield conn, self._id(conn, "machine", machine)

    @staticmethod
    def _id(conn: Connection, kind: str, key: str | None) -> str | None:
        if key is None:
            return None
        s = schema.subject.c
        found = conn.scalar(select(s.id).where(s.kind == kind, s.key == key))
        if found is None:
            raise Unknown(kind.capitalize(), key, conn.scalars(select(s.key).where(s.kind == kind).order_by(s.key)))
        return str(found)


def _listed(kinds: Collection[str] | str | None) -> Collection[str] | None:
    return (kinds,) if isinstance(kinds, str) else kinds


def in_full(machine: str | None, node: str | None) -> str | None:
    """ "tank" of the machine ex-1 is stored as "ex-1/tank"."""
    if node is None or machine is None or "/" in node or node in ("stock", "used-oil", "outside"):
        return node
    return f"{machine}/{node}"
