"""A stranger's table into the records: first a preview with every bad row named, then all of it or nothing."""

import hashlib
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, time

from fluidapp.errors import BadInput, FileProblem, FluidappError
from fluidapp.store.engine import reading
from fluidapp.store.files import FilesProblem
from fluidapp.store.grid import Cell, Grid
from fluidapp.store.records import Store
from fluidapp.store.rows import Reader, RowProblem, text_of
from fluidapp.store.safe import csv_text
from fluidapp.store.saves import NewEntry, Save
from fluidapp.store.subjects import NAMESPACE, Directory
from fluidapp.store.tables import iso
from fluidapp.store.wanted import DATES, TABLES, Columns
from fluidapp.store.write import Refused, record_all


@dataclass(slots=True)
class Preview:
    """What a table would bring. ``rows`` is their number; ``new`` are stored by :func:`store_table`, ``already`` are there.

    problems : of every row that cannot be taken in; while there is one, nothing can be stored.
    """

    rows: int
    new: int
    already: int
    problems: list[RowProblem] = field(default_factory=list)
    saves: list[Save] = field(default_factory=list)


def unsaid(said: Columns) -> list[str]:
    """What has to be said before a table can be read: fields without a column, numbers without a unit, the two styles."""
    table = TABLES[said.table]
    listed: list[str] = []
    for f in table.fields:
        has = f.name in said.columns or bool(said.fixed.get(f.name))
        if f.needed and not has:
            listed.append(f"the column of: {f.title}")
        by_column = "unit" in said.columns and f.name in ("amount", "reading")
        if has and len(f.units) > 1 and said.units.get(f.name) not in f.units and not by_column:
            listed.append(f"the unit of: {f.title}")
    taken = list(said.columns.values())
    listed += [f"which field “{heading}” is: it is taken twice" for heading in dict.fromkeys(taken) if taken.count(heading) > 1]
    if said.decimal is None:
        listed.append("the decimal mark")
    if said.dates not in DATES:
        listed.append("the order of day, month and year")
    return listed


def preview(
    store: Store,
    grid: Grid,
    said: Columns,
    *,
    now_utc: datetime,
    place: Callable[[datetime], datetime],
    by_name: str = "",
    by_login: str = "",
) -> Preview:
    """Reads every row and checks it against the records; nothing is stored.

    place : a time without an offset as the site's clock shows it, with its offset. BadInput for what is not said yet.
    """
    if missing := unsaid(said):
        raise BadInput("Columns", "not all", f"Say {missing[0]}.")
    if strange := [heading for heading in said.columns.values() if heading not in grid.headings]:
        raise BadInput("Columns", strange[0], f"This file has: {', '.join(grid.headings)}.")
    with reading(store.engine) as conn:
        reader = Reader(TABLES[said.table], said, Directory.read(conn), place, _has_times(grid, said))
        groups: dict[str, list[NewEntry]] = {}
        problems: list[RowProblem] = []
        for n, cells in zip(grid.numbers, grid.rows, strict=True):
            row: Mapping[str, Cell] = {h: cell if cell != "" else None for h, cell in zip(grid.headings, cells, strict=False)}
            try:
                if len(cells) < len(grid.headings) or any(cell not in ("", None) for cell in cells[len(grid.headings) :]):
                    raise FileProblem(
                        grid.file, "", f"it has {len(cells)} cells, the head row has {len(grid.headings)}",
                        "Complete it; the file may be cut, or a text may need quotation marks.",
                    )  # fmt: skip
                by, new = reader.entry(row, f"{n}")
            except FluidappError as err:
                problems.append(reader.problem(n, row, err))
            else:
                groups.setdefault(by or by_name, []).append(new)
        saves = _saves(grid, said, groups, by_login)
        done, refused = record_all(conn, store.where, saves, now_utc, skip_known=True, dry=True)
    at = {number: k for k, number in enumerate(grid.numbers)}
    for one in refused:
        n = int(one.new.origin)
        problems.append(reader.problem(n, dict(zip(grid.headings, grid.rows[at[n]], strict=False)), one.error))
    problems.sort(key=lambda p: p.row)
    good = sum(len(save.entries) for save in saves) - len(refused)
    fresh = 0 if refused else sum(len(saved.entry_ids) for saved in done)
    return Preview(len(grid.rows), fresh, 0 if refused else good - fresh, problems, saves)


def store_table(store: Store, found: Preview, *, now_utc: datetime) -> int:
    """Stores what a preview without problems found, in one transaction; the number of new entries."""
    if found.problems:
        raise FilesProblem(tuple(FileProblem("table", f"row {p.row}", p.why, p.fix) for p in found.problems))
    return store.import_all([], found.saves, now_utc, _refuse)


def _refuse(refused: list[Refused]) -> Exception:
    """Somebody wrote between preview and storing: the records refuse now what they took before."""
    return FilesProblem(
        tuple(FileProblem("table", f"row {one.new.origin}", str(one.error).rstrip("."), "Look at the preview again.") for one in refused)
    )


def _has_times(grid: Grid, said: Columns) -> bool:
    """Whether a date cell of the spreadsheet has a time of day."""
    k = grid.headings.index(said.columns["time"])
    cells = (row[k] for row in grid.rows if len(row) > k)
    return any(isinstance(cell, datetime) and cell.time() != time() for cell in cells)


def _saves(grid: Grid, said: Columns, groups: Mapping[str, list[NewEntry]], by_login: str) -> list[Save]:
    digest = hashlib.sha256(repr((grid.headings, grid.rows, said)).encode()).hexdigest()
    return [
        Save.model_construct(
            id=str(uuid.uuid5(NAMESPACE, f"table {by} {digest} {len(group)}")),
            entries=tuple(group), by_name=by, by_login=by_login, source="import", file=grid.file,
        )
        for by, group in groups.items()
    ]  # fmt: skip


def said_of(found: Preview, most: int) -> list[dict[str, str]]:
    """The first entries as they were understood: time, machine, hour meter and what was entered of the rest."""
    rows = []
    for new in [new for save in found.saves for new in save.entries][:most]:
        doc = new.doc.model_dump(exclude_none=True, exclude_defaults=True, mode="json")
        rest = [f"{name.replace('_', ' ')} {text_of(value)}" for name, value in doc.items() if isinstance(value, str | float | int)]
        hours = "" if new.meter_h is None else f"{new.meter_h:g} h"
        rows.append({"time": iso(new.at).replace("T", " "), "machine": new.machine or "", "meter": hours, "what": ", ".join(rest)})
    return rows


def problems_csv(problems: list[RowProblem]) -> str:
    """The bad rows as a table that is safe to open."""
    columns = ("row", "column", "value", "why", "fix")
    return csv_text(columns, [{name: str(getattr(p, name)) for name in columns} for p in problems])
