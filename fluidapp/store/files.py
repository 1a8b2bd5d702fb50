"""Readable files into the records: a whole folder in one transaction, or nothing, with every problem named by its place.

TOML files at the top of the folder may hold ``[site]``, ``[[gun]]``, ``[[product]]``, ``[[truck]]``, ``[[setting]]`` and
``[[entry]]``; ``machines/*.toml`` one machine each; CSV files are named after their tables (``readings.csv``, or
``readings-2025.csv`` and so on). ``saves.csv`` and ``versions.toml`` of a whole export tell its past (:mod:`fluidapp.store.past`).
"""

import csv
import hashlib
import io
import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import Any, Literal

from pydantic import ValidationError

from fluidapp.errors import BadInput, FileProblem, FluidappError, RecordsProblem, Unknown
from fluidapp.model import Gun, Machine, Product, Setting, Site, Truck, checked, from_toml, parse_toml
from fluidapp.store import linked
from fluidapp.store.past import SAVES, VERSIONS, import_past, saves_of, told
from fluidapp.store.records import Store
from fluidapp.store.safe import unquoted
from fluidapp.store.saves import NewEntry, Save
from fluidapp.store.subjects import NAMESPACE, SubjectDoc
from fluidapp.store.tables import SHEETS, Sheet, one, time
from fluidapp.store.write import Refused

Decimal = Literal["point", "comma"]
NOTHING = "Nothing was stored."
ENTRY_FIELDS = ("time", "machine", "meter_h", "by", "id")  # of an [[entry]]; the rest is its doc


class FilesProblem(FileProblem):
    """Files that cannot be taken in; ``problems`` are all of them, the sentence shows the first."""

    def __init__(self, problems: tuple[FileProblem, ...]) -> None:
        Exception.__init__(self, problems)
        first = problems[0]
        more = f" {len(problems) - 1} more after it." if len(problems) > 1 else ""
        self.problems = problems
        self.file, self.where, self.problem, self.fix = first.file, first.where, first.problem, first.fix + more


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a folder brought: machines, products and guns read, entries that are new, entries that were there already."""

    machines: int
    products: int
    guns: int
    entries: int
    already: int


@dataclass(slots=True)
class Parsed:
    """Files as read, before they meet the records."""

    site: Site | None = None
    guns: list[Gun] = field(default_factory=list)
    products: list[Product] = field(default_factory=list)
    machines: list[Machine] = field(default_factory=list)
    trucks: list[Truck] = field(default_factory=list)
    settings: list[Setting] = field(default_factory=list)
    entries: list[tuple[str, str, NewEntry]] = field(default_factory=list)  # file, by, entry
    problems: list[FileProblem] = field(default_factory=list)
    placed: list[linked.Placed] = field(default_factory=list)  # every product, gun, machine, truck, setting with its file

    def docs(self) -> list[SubjectDoc]:
        """Everything that is no entry."""
        return [*([self.site] if self.site else []), *self.products, *self.guns, *self.machines, *self.trucks, *self.settings]


def load_folder(store: Store, folder: Path | str, *, now_utc: datetime, decimal: Decimal = "point", by_login: str = "") -> Loaded:
    """Takes the files of ``folder`` into the records: all of them, or nothing.

    Rows that are stored already are left out, so that a file can grow and be read again. FilesProblem names file, row, column,
    value and fix, and holds the other problems too.
    """
    return load_files(store, read_folder(folder), now_utc=now_utc, decimal=decimal, by_login=by_login)


def read_folder(folder: Path | str) -> dict[str, bytes]:
    """The files of a folder that belong to the records, by their path inside it."""
    folder = Path(folder)
    if not folder.is_dir():
        raise FileProblem(str(folder), "", "there is no such folder", "Check its name.")
    found = sorted([*folder.glob("*.toml"), *folder.glob("machines/*.toml"), *folder.glob("*.csv")])
    names = [path.relative_to(folder).as_posix() for path in found]
    if strange := linked.left_out(folder, names):
        raise FilesProblem(tuple(strange))
    if not found:
        raise nothing_in(str(folder))
    return {name: path.read_bytes() for name, path in zip(names, found, strict=True)}


def nothing_in(name: str) -> FileProblem:
    """The refusal of a folder or zip without a file of records."""
    return FileProblem(name, "", "there is nothing to read in it", "It needs at least machines/*.toml or a CSV file.")


def load_files(store: Store, files: Mapping[str, bytes], *, now_utc: datetime, decimal: Decimal = "point", by_login: str = "") -> Loaded:
    """The same for files in memory (an upload), by name."""
    past = told(files)
    parsed = parse({name: data for name, data in files.items() if name not in (SAVES, VERSIONS)}, decimal=decimal)
    if parsed.problems:
        raise FilesProblem(tuple(parsed.problems))
    kinds = {machine.kind for machine in store.machines(archived=True)}
    if wrong := linked.problems(parsed.placed, [product.key for product in store.products(archived=True)], kinds):
        raise FilesProblem(tuple(wrong))
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    if past is None:
        new = store.import_all(parsed.docs(), _saves(parsed.entries, digests, by_login), now_utc, refuse)
    else:
        kept = saves_of(past, [new for _, _, new in parsed.entries])
        added = _saves([row for row in parsed.entries if row[2].id not in past.saves], digests, by_login)
        new = import_past(store, past, parsed.docs(), [*kept, *added], now_utc, refuse, by_login)
    return Loaded(len(parsed.machines), len(parsed.products), len(parsed.guns), new, len(parsed.entries) - new)


def parse(files: Mapping[str, bytes], *, decimal: Decimal = "point") -> Parsed:
    """Files as subjects and entries, with every problem found on the way."""
    found = Parsed()
    for name, data in files.items():
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as err:
            found.problems.append(FileProblem(name, f"byte {err.start + 1}", "this is not UTF-8 text", "Save it as UTF-8."))
            continue
        try:
            if name.endswith(".csv"):
                _csv(name, text, decimal == "comma", found)
            elif PurePosixPath(name).parent.name == "machines":
                found.machines.append(from_toml(text, name, Machine))
                found.placed.append((name, found.machines[-1]))
            else:
                _toml(name, text, found)
        except FileProblem as err:
            found.problems.append(err)
    return found


def _toml(name: str, text: str, found: Parsed) -> None:
    doc = parse_toml(text, name)
    known = ("site", "gun", "product", "truck", "setting", "entry")
    if strange := [key for key in doc if key not in known]:
        raise FileProblem(name, f"“{strange[0]}”", "this table is not known", f"Known: {', '.join(known)}.")
    if "site" in doc:
        if found.site is not None:
            raise FileProblem(name, "[site]", "there is a second site", "Keep one.")
        found.site = checked(doc["site"], name, Site)
    guns = [checked(gun, name, Gun) for gun in _listed(doc, name, "gun")]
    products = [checked(product, name, Product) for product in _listed(doc, name, "product")]
    trucks = [checked(truck, name, Truck) for truck in _listed(doc, name, "truck")]
    settings = [checked(setting, name, Setting) for setting in _listed(doc, name, "setting")]
    found.guns += guns
    found.products += products
    found.trucks += trucks
    found.settings += settings
    every: list[SubjectDoc] = [*guns, *products, *trucks, *settings]
    found.placed += [(name, one) for one in every]
    for n, entry in enumerate(_listed(doc, name, "entry"), 1):
        where = f"entry {n}"
        at = entry.get("time")
        if not isinstance(at, datetime):
            found.problems.append(
                FileProblem(name, f"{where}, time", "this is no date and time", "Write it like 2026-05-04T06:30:00+02:00.")
            )
            continue
        head = {key: entry[key] for key in ("machine", "meter_h", "id") if key in entry}
        rest = {key: value for key, value in entry.items() if key not in ENTRY_FIELDS}
        try:
            if isinstance(entry.get("doc"), str):  # what TOML has no word for, as JSON
                rest = json.loads(entry["doc"])
        except ValueError:
            found.problems.append(FileProblem(name, f"{where}, field “doc”", "this is no valid JSON", "Correct this field."))
            continue
        try:
            new = NewEntry.model_validate({"at": at, "origin": f"{name}\n{where}", "doc": rest, **head})
        except ValidationError as err:
            found.problems.append(_invalid(name, where, "field", err, {}, {}))
        else:
            found.entries.append((name, str(entry.get("by", "")), new))


def _listed(doc: dict[str, Any], name: str, key: str) -> list[dict[str, Any]]:
    listed = doc.get(key, [])
    if not isinstance(listed, list) or not all(isinstance(item, dict) for item in listed):
        raise FileProblem(name, f"[{key}]", "this is a list", f"Write [[{key}]] with two brackets.")
    return listed


def _csv(name: str, text: str, comma: bool, found: Parsed) -> None:
    stem = PurePosixPath(name).name.removesuffix(".csv")
    sheet = SHEETS.get(stem.partition("-")[0])
    if sheet is None:
        raise FileProblem(name, "", "this table is not known", f"Name it after one of: {', '.join(f'{s}.csv' for s in SHEETS)}.")
    first = text.partition("\n")[0]
    delimiter = ";" if ";" in first and "," not in first else ","
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    n = 0
    try:
        columns = [cell.strip() for cell in next(rows, [])]
        _header(name, sheet, columns)
        for n, cells in enumerate(rows, 2):
            if not any(cell.strip() for cell in cells):
                continue
            try:
                found.entries.append(entry_of(name, sheet, columns, n, cells, comma))
            except FileProblem as err:
                found.problems.append(err)
    except csv.Error as err:
        raise FileProblem(name, f"row {n + 1}", f"this is no valid row ({err})", "Check its quotation marks.") from err


def _header(name: str, sheet: Sheet, columns: list[str]) -> None:
    if not any(columns):
        raise FileProblem(name, "", "the file is empty", f"Its first row names the columns: {', '.join(sheet.columns)}.")
    for column in columns:
        if column not in sheet.columns:
            raise FileProblem(name, f"row 1, column “{column}”", "this column is not known", f"Known: {', '.join(sheet.columns)}.")
        if columns.count(column) > 1:
            raise FileProblem(name, f"row 1, column “{column}”", "this column stands there twice", "Keep one.")
    if missing := [column for column in sheet.needs if column not in columns]:
        raise FileProblem(name, "row 1", f"the column “{missing[0]}” is missing", "Add it.")


def entry_of(name: str, sheet: Sheet, columns: list[str], n: int, cells: list[str], comma: bool) -> tuple[str, str, NewEntry]:
    """File, by and entry of the n-th row of a table; FileProblem for what cannot be read."""
    where = f"row {n}"
    if len(cells) != len(columns):
        raise FileProblem(name, where, f"it has {len(cells)} cells, the header has {len(columns)}", "Quote texts that hold the separator.")
    by_column = {c: "" for c in sheet.columns if c != "as_read"} | {
        c: unquoted(cell.strip()) for c, cell in zip(columns, cells, strict=True)
    }
    try:
        at = time(by_column["time"])
        meter_h = one("meter_h", by_column["meter_h"], comma)
        doc = {key: value for key, value in sheet.doc(by_column, comma).items() if value is not None}
    except BadInput as err:
        raise FileProblem(name, f"{where}, column “{err.field}”", _shown(err), err.fix) from err
    try:
        new = NewEntry.model_validate(
            {
                "doc": {**doc, "note": by_column["note"]},
                "at": at,
                "machine": by_column["machine"] or None,
                "meter_h": meter_h,
                "id": by_column["id"] or None,
                "origin": f"{name}\n{where}",
            }
        )
    except ValidationError as err:
        raise _invalid(name, where, "column", err, sheet.fields, by_column) from err
    return name, by_column["by"], new


def _shown(err: BadInput) -> str:
    shown = f"{err.value:.10g}" if isinstance(err.value, (int, float)) else f"“{err.value}”"
    return f"{shown} cannot be used"


def _invalid(name: str, where: str, word: str, err: ValidationError, columns: Mapping[str, str], cells: Mapping[str, str]) -> FileProblem:
    """What pydantic refused, with the column of the field and what stands in it."""
    first = err.errors(include_url=False)[0]
    path = [str(step) for step in first["loc"] if isinstance(step, str)]
    at = path[-1] if path else ""
    column = columns.get(at, at)
    what = first["msg"].removeprefix("Value error, ")
    problem = what[:1].lower() + what[1:]
    if column in cells:
        problem = f"“{cells[column]}” cannot be used: {problem}" if cells[column] else f"it is empty: {problem}"
    elif len(path) > 2 or (path and path[-1] not in ("doc",) and not cells):
        return FileProblem(name, f"{where}, {word} “{column}”", problem, f"Correct this {word}.")
    else:
        return FileProblem(name, where, problem, "Correct this row.")
    return FileProblem(name, f"{where}, {word} “{column}”", problem, f"Correct this {word}.")


def _saves(entries: Iterable[tuple[str, str, NewEntry]], digests: Mapping[str, str], by_login: str) -> list[Save]:
    """One save for every file and person."""
    groups: dict[tuple[str, str], list[NewEntry]] = {}
    for file, by, new in entries:
        groups.setdefault((file, by), []).append(new)
    saves = []
    for (file, by), group in groups.items():
        name = uuid.uuid5(NAMESPACE, f"import {file} {by} {digests[file]}")
        saves.append(Save.model_construct(id=str(name), entries=tuple(group), by_name=by, by_login=by_login, source="import", file=file))
    return saves


def refuse(refused: list[Refused]) -> FilesProblem:
    return FilesProblem(tuple(_placed(r) for r in refused))


def _placed(refused: Refused) -> FileProblem:
    """A refused entry by its place in the file."""
    file, _, where = refused.new.origin.partition("\n")
    err: FluidappError = refused.error
    if isinstance(err, Unknown):
        known = ", ".join(err.known) if err.known else "none yet"
        return FileProblem(file, where, f"{err.kind}: “{err.name}” is not known", f"Known: {known}.")
    if isinstance(err, BadInput):
        return FileProblem(file, f"{where}, {err.field}", _shown(err), err.fix)
    if isinstance(err, RecordsProblem):
        return FileProblem(file, where, err.problem, err.fix)
    return FileProblem(file, where, str(err).rstrip("."), NOTHING)
