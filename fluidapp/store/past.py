"""The past of whole records beside their readable files: ``saves.csv`` (which save an entry came with, and in which order) and
``versions.toml`` (earlier versions of machines, products and the rest).

A folder without them is read all the same; with them, records that are exported and read into empty ones are the same again.
"""

import csv
import io
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, cast

from sqlalchemy import Connection, insert, select

from fluidapp.errors import FileProblem
from fluidapp.model import checked, parse_toml
from fluidapp.store import schema
from fluidapp.store.engine import writing
from fluidapp.store.records import Store
from fluidapp.store.safe import csv_text, unquoted
from fluidapp.store.saves import NewEntry, Save, Source, content, utc_text
from fluidapp.store.subjects import KINDS, Directory, Subject, SubjectDoc, check_names, kind_of, put, subject_id, version_id
from fluidapp.store.write import Past, Refused, Was, record_all

SAVES, VERSIONS = "saves.csv", "versions.toml"
COLUMNS = ("entry", "save", "place", "made", "by", "login", "source", "file", "version", "meter_segment")
FIX = "Leave this file as it was exported, or take both saves.csv and versions.toml out."


def past_files(conn: Connection, known: Sequence[Subject]) -> dict[str, str]:
    """Both files, in the state that ``conn`` sees; none for records in which nothing stands."""
    import tomli_w

    e, s, v = schema.entry.c, schema.save.c, schema.version.c
    rows = conn.execute(
        select(e.id, e.save_id, e.i, s.made_utc, s.by_name, s.by_login, s.source, s.file, v.n, e.meter_segment)
        .join_from(schema.entry, schema.save, s.id == e.save_id)
        .outerjoin(schema.version, v.id == e.version_id)
        .order_by(e.seq)
    )
    listed = [dict(zip(COLUMNS, ("" if cell is None else str(cell) for cell in row), strict=True)) for row in rows]
    files = {SAVES: csv_text(COLUMNS, listed)} if listed else {}
    own = _with_a_file_of_their_own(known)
    last = {subject.id: subject for subject in known}
    versions: list[dict[str, Any]] = []
    for row in conn.execute(select(v.subject_id, v.n, v.made_utc, v.made_by, v.doc).order_by(v.subject_id, v.n)):
        subject = last[row.subject_id]
        said = {"kind": subject.kind, "key": subject.key, "n": row.n, "made": row.made_utc, "by": row.made_by}
        versions.append(said if row.n == subject.n and subject.id in own else {**said, "doc": row.doc})
    versions.sort(key=lambda said: (said["kind"], said["key"], said["n"]))
    off = sorted(subject.key for subject in known if subject.archived)
    if versions:
        files[VERSIONS] = tomli_w.dumps({"off_the_lists": off, "version": versions})
    return files


def _with_a_file_of_their_own(known: Sequence[Subject]) -> set[str]:
    """All but second sites, of which a folder holds one."""
    sites = [subject.id for subject in known if subject.kind == "site"]
    return {subject.id for subject in known} - set(sites[1:])


@dataclass(frozen=True, slots=True)
class Versions:
    """Versions of one subject as files tell them, oldest first: number, time, by whom, doc (None: the one in its own file)."""

    kind: str
    key: str
    listed: tuple[tuple[int, str, str, SubjectDoc | None], ...]


@dataclass(frozen=True, slots=True)
class Told:
    """The past as files tell it. saves : row of saves.csv by the id of its entry, in order."""

    saves: Mapping[str, Mapping[str, str]]
    versions: tuple[Versions, ...]
    off: tuple[str, ...]


def told(files: Mapping[str, bytes]) -> Told | None:
    """The past in ``files``, None where they do not tell one. FileProblem for what cannot be used."""
    if SAVES not in files and VERSIONS not in files:
        return None
    saves = _saves(files[SAVES]) if SAVES in files else {}
    doc = parse_toml(_text(VERSIONS, files[VERSIONS]), VERSIONS) if VERSIONS in files else {}
    by_key: dict[tuple[str, str], list[tuple[int, str, str, SubjectDoc | None]]] = {}
    for at, one in enumerate(doc.get("version", []), 1):
        try:
            kind, key, n, made = one["kind"], one["key"], int(one["n"]), utc_text(datetime.fromisoformat(one["made"]))
            found = checked(one["doc"], VERSIONS, KINDS[kind]) if "doc" in one else None
        except (KeyError, TypeError, ValueError) as err:
            raise FileProblem(VERSIONS, f"version {at}", "it is not as it was exported", FIX) from err
        by_key.setdefault((kind, key), []).append((n, made, str(one.get("by", "")), found))
    versions = tuple(Versions(kind, key, tuple(sorted(some, key=lambda v: v[0]))) for (kind, key), some in by_key.items())
    for one in versions:
        if [v[0] for v in one.listed] != list(range(1, len(one.listed) + 1)) or any(v[3] is None for v in one.listed[:-1]):
            raise FileProblem(VERSIONS, f"“{one.key}”", "a version is missing", FIX)
    return Told(saves, versions, tuple(map(str, doc.get("off_the_lists", []))))


def _text(name: str, data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        raise FileProblem(name, f"byte {err.start + 1}", "this is not UTF-8 text", "Save it as UTF-8.") from err


def _saves(data: bytes) -> dict[str, Mapping[str, str]]:
    rows = csv.reader(io.StringIO(_text(SAVES, data), newline=""), strict=True)
    found: dict[str, Mapping[str, str]] = {}
    n = 1
    try:
        if tuple(next(rows, ())) != COLUMNS:
            raise FileProblem(SAVES, "row 1", "these are not its columns", FIX)
        for n, cells in enumerate(rows, 2):  # noqa: B007  the row is named where it fails
            row = dict(zip(COLUMNS, map(unquoted, cells), strict=True))
            utc_text(datetime.fromisoformat(row["made"]))
            int(row["place"]), int(row["meter_segment"]), int(row["version"] or 0)
            if row["source"] not in ("form", "cli", "import") or not row["save"] or row["entry"] in found:
                raise ValueError
            found[row["entry"]] = row
    except (csv.Error, ValueError) as err:
        raise FileProblem(SAVES, f"row {n}", "it is not as it was exported", FIX) from err
    return found


def put_subjects(conn: Connection, where: str, docs: Sequence[SubjectDoc], past: Told, now_utc: datetime) -> set[str]:
    """Stores machines and the rest, those that the records do not know with their earlier versions: the keys of these.

    A doc that the records hold already, newest or not, is left alone.
    """
    known = set(conn.scalars(select(schema.subject.c.key)))
    by_key = {doc.key: doc for doc in docs}
    fresh: set[str] = set()
    for one in past.versions:
        last = one.listed[-1][3] or by_key.get(one.key)
        if last is None or kind_of(last) != one.kind or last.key != one.key:
            raise FileProblem(VERSIONS, f"“{one.key}”", f"the file of this {one.kind} is missing", FIX)
        by_key.pop(one.key, None)
        if one.key in known:
            if not _holds(conn, last):
                put(conn, where, last, now_utc, "")
            continue
        check_names(last)
        fresh.add(one.key)
        owner = subject_id(one.key)
        conn.execute(insert(schema.subject).values(id=owner, kind=one.kind, key=one.key, archived=one.key in past.off))
        rows = [
            {"id": version_id(owner, n), "subject_id": owner, "n": n, "doc": content(doc or last), "made_utc": made, "made_by": by}
            for n, made, by, doc in one.listed
        ]
        conn.execute(insert(schema.version), rows)
    for doc in by_key.values():
        put(conn, where, doc, now_utc, "")
    return fresh


def _holds(conn: Connection, doc: SubjectDoc) -> bool:
    """Whether the records hold this very version already, newest or not."""
    v = schema.version.c
    stored = conn.scalars(select(v.doc).where(v.subject_id == subject_id(doc.key)))
    return any(type(doc).model_validate(one) == doc for one in stored)


@dataclass(slots=True)
class Directories:
    """The subjects as they were at any time. fresh : keys of those whose past is told; the others are as they are now."""

    now: Directory
    past: Told
    fresh: set[str]
    epochs: list[str] = field(init=False)
    _made: dict[tuple[int, str, int], Directory] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.epochs = sorted({v[1] for one in self.past.versions for v in one.listed})

    def at(self, made: str, machine: str, n: int) -> Directory:
        """Everything as it was at ``made``, the machine of the entry in its n-th version."""
        epoch = bisect_right(self.epochs, made)
        key = (epoch, machine if machine in self.fresh else "", n)
        if key not in self._made:
            self._made[key] = self._as_of(made, *key[1:])
        return self._made[key]

    def _as_of(self, made: str, machine: str, n: int) -> Directory:
        found = {kind: dict(known) for kind, known in self.now.by_kind.items()}
        for one in self.past.versions:
            if one.key not in self.fresh:
                continue
            then = n if one.key == machine and n else sum(1 for v in one.listed if v[1] <= made)
            doc = one.listed[then - 1][3] if 0 < then < len(one.listed) else None
            if doc is not None:
                newest = found[one.kind][one.key]
                found[one.kind][one.key] = replace(newest, n=then, version_id=version_id(newest.id, then), doc=doc)
        return Directory(found)


def import_past(
    store: Store,
    past: Told,
    docs: Sequence[SubjectDoc],
    saves: Sequence[Save],
    now_utc: datetime,
    refuse: Callable[[list[Refused]], Exception],
    by_login: str,
) -> int:
    """A whole export into the records, in one transaction; the number of new entries. Rows known already are left out.

    by_login : who reads it in, and must be allowed to; the logins in the files are kept as they are told.
    """
    for what in {"entries", *map(kind_of, docs)}:
        store._ask(by_login, what)
    with writing(store.engine) as conn:
        fresh = put_subjects(conn, store.where, docs, past, now_utc)
        then = Directories(Directory.read(conn), past, fresh)
        was: dict[str, Was] = {}
        machines = {new.id: new.machine or "" for save in saves for new in save.entries}
        for order, (entry, row) in enumerate(past.saves.items()):
            directory = then.at(row["made"], machines.get(entry, ""), int(row["version"] or 0))
            was[entry] = Was(int(row["place"]), order, int(row["meter_segment"]), directory)
        made = {row["save"]: row["made"] for row in past.saves.values()}
        done, refused = record_all(conn, store.where, saves, now_utc, skip_known=True, past=Past(was, made))
        if refused:
            raise refuse(refused)
    return sum(len(saved.entry_ids) for saved in done)


def saves_of(past: Told, entries: Sequence[NewEntry]) -> list[Save]:
    """The saves that ``entries`` came with. FileProblem for entries of theirs that stand in no file."""
    by_id = {new.id: new for new in entries}
    if gone := [entry for entry in past.saves if entry not in by_id]:
        raise FileProblem(SAVES, f"entry {gone[0]}", f"{len(gone)} entries that it lists stand in none of the files", FIX)
    groups: dict[str, list[Mapping[str, str]]] = {}
    for row in past.saves.values():
        groups.setdefault(row["save"], []).append(row)
    return [
        Save.model_construct(
            id=save,
            entries=tuple(by_id[row["entry"]] for row in rows),
            by_name=rows[0]["by"],
            by_login=rows[0]["login"],
            source=cast("Source", rows[0]["source"]),
            file=rows[0]["file"],
        )
        for save, rows in groups.items()
    ]
