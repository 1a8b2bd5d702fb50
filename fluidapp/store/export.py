"""Everything in the records as readable files: what :func:`fluidapp.store.files.load_folder` reads back to the same records."""

import io
import json
import os
import tempfile
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from fluidapp.errors import FileProblem, FluidappError
from fluidapp.model import Frozen, Machine, to_toml
from fluidapp.store import read
from fluidapp.store.engine import reading
from fluidapp.store.files import entry_of, nothing_in
from fluidapp.store.past import past_files
from fluidapp.store.read import Wanted
from fluidapp.store.records import Store
from fluidapp.store.safe import csv_text, quoted
from fluidapp.store.saves import Entry, row_hash, utc_text
from fluidapp.store.subjects import Subject, newest
from fluidapp.store.tables import SHEETS, Sheet, row_of

TABLES = {"product": "products.toml", "gun": "guns.toml", "truck": "trucks.toml", "setting": "settings.toml"}
ENTRIES = "entries.toml"
MOST_UNPACKED = 400_000_000
DAY = (2000, 1, 1, 0, 0, 0)  # of every file in a zip, so that the same records make the same zip


def export_files(store: Store) -> dict[str, bytes]:
    """The files of the whole records by name, in one state of them; the same records give the same bytes."""
    import tomli_w

    with reading(store.engine) as conn:
        known = newest(conn)
        entries = read.entries(conn, Wanted(live=False))[::-1]  # oldest first
        past = past_files(conn, known)
    files: dict[str, str] = {}
    sites = [s for s in known if s.kind == "site"]
    if sites:
        files["site.toml"] = _listed("site", sites[:1], one=True)
    for kind, name in TABLES.items():
        if some := [s for s in known if s.kind == kind]:
            files[name] = _listed(kind, some)
    for s in known:
        if isinstance(s.doc, Machine):
            files[f"machines/{s.key}.toml"] = to_toml(s.doc)
    rest: list[Entry] = []
    tables: dict[str, list[dict[str, str]]] = {name: [] for name in SHEETS}
    for entry in entries:
        sheet = next((sheet for sheet in SHEETS.values() if entry.kind in sheet.kinds), None)
        row = row_of(sheet, entry) if sheet is not None else {}
        if sheet is not None and _reads_back(sheet, row, entry):
            tables[sheet.name].append(row)
        else:
            rest.append(entry)
    for name, rows in tables.items():
        if rows:
            files[f"{name}.csv"] = _table(SHEETS[name], rows)
    if rest:
        files[ENTRIES] = tomli_w.dumps({"entry": [_entry(entry) for entry in rest]})
    files |= past
    return {name: text.encode() for name, text in sorted(files.items())}


def export_folder(store: Store, folder: Path | str) -> list[str]:
    """Writes the files into ``folder``, which is made or must be empty; their names.

    Nothing is left behind where it fails: the files are written beside it first and put in place whole.
    """
    folder = Path(folder)
    fix = "Name a folder that is new or empty."
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileProblem(str(folder), "", "it is not an empty folder", fix)
    files = export_files(store)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".fluidapp-", dir=folder.parent) as made:
            inside = Path(made) / folder.name
            for name, data in files.items():
                path = inside / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(data)
            if folder.exists():
                folder.rmdir()
            os.replace(inside, folder)  # noqa: PTH105
    except OSError as err:
        raise FileProblem(str(folder), "", f"it cannot be written ({err.strerror or err})", fix) from err
    return list(files)


def export_zip(store: Store) -> bytes:
    """The same as a zip."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in export_files(store).items():
            packed.writestr(zipfile.ZipInfo(name, DAY), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def unzipped(name: str, data: bytes) -> dict[str, bytes]:
    """The files of such a zip that belong to records; FileProblem where it cannot be read."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MOST_UNPACKED:
                raise FileProblem(name, "", f"it unpacks to more than {MOST_UNPACKED // 1_000_000} MB", "Use: fluidapp load FOLDER.")
            parts = [part for part in packed.namelist() if part.endswith((".csv", ".toml"))]
            top = os.path.commonpath(parts) if len({part.partition("/")[0] for part in parts}) == 1 else ""
            top = f"{top}/" if top and top not in parts else ""
            found = {part.removeprefix(top): packed.read(part) for part in parts}
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError) as err:
        raise FileProblem(name, "", "this is no whole zip file", "Export once more, or unpack it and use: fluidapp load FOLDER.") from err
    if not found:
        raise nothing_in(name)
    return found


def _listed(kind: str, some: Iterable[Subject], one: bool = False) -> str:
    import tomli_w

    docs = [plain(s.doc) for s in some]
    return tomli_w.dumps({kind: docs[0] if one else docs})


def plain(doc: Frozen) -> dict[str, Any]:
    """What a file says of a record: what was entered."""
    return doc.model_dump(mode="json", exclude_none=True, exclude_defaults=True)


def _table(sheet: Sheet, rows: Sequence[Mapping[str, str]]) -> str:
    columns = [c for c in sheet.columns if c in sheet.needs or c == "as_read" or any(row[c] for row in rows)]
    return csv_text(columns, rows)


def _reads_back(sheet: Sheet, row: Mapping[str, str], entry: Entry) -> bool:
    """Whether this row says all that the entry says; the few that do not go into entries.toml."""
    try:
        _, by, new = entry_of("", sheet, list(row), 0, [quoted(cell) for cell in row.values()], False)
    except FluidappError:
        return False
    said = row_hash(new.machine, utc_text(new.at), new.meter_h, new.doc.in_full(new.machine))
    return (said, by, new.at.utcoffset(), new.id) == (entry.row_hash, entry.by_name, entry.at_local.utcoffset(), entry.id)


def _entry(entry: Entry) -> dict[str, Any]:
    """One entry as an [[entry]]; a doc that TOML cannot hold (an empty value inside it) goes as JSON in ``doc``."""
    head: dict[str, Any] = {"time": entry.at_local}
    said = row_hash(None, utc_text(entry.at), entry.meter_h, entry.doc)
    if entry.machine is not None and said != entry.row_hash:  # a void names its machine through what it crosses out
        head["machine"] = entry.machine
    if entry.meter_h is not None:
        head["meter_h"] = entry.meter_h
    if entry.by_name:
        head["by"] = entry.by_name
    doc = {"kind": entry.kind, **plain(entry.doc)}
    said_doc: Mapping[str, Any] = {"doc": json.dumps(doc, ensure_ascii=False)} if _empty_inside(doc) else doc
    return {**head, "id": entry.id, **said_doc}


def _empty_inside(value: Any) -> bool:
    if isinstance(value, dict):
        return any(map(_empty_inside, value.values()))
    return any(map(_empty_inside, value)) if isinstance(value, list) else value is None
