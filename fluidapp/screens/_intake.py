"""Records in and out, the table: which column means what, and what every row comes to."""

import datetime
import hashlib
from typing import Any, cast

import streamlit as st

from fluidapp.screens import _resources
from fluidapp.store.grid import DELIMITERS, ENCODINGS, Encoding, Grid, read_grid
from fluidapp.store.intake import Preview, preview, problems_csv, said_of, unsaid
from fluidapp.store.rows import clock
from fluidapp.store.wanted import DATES, TABLES, Columns, Dates, Field, Table, suggested

KEY = "inout"
DECIMALS = {"point": "Point: 12.5", "comma": "Comma: 12,5"}
NONE = "–"
SHOWN = 100  # bad rows and first rows on the screen


def ask_file(name: str, data: bytes) -> Grid:
    """The rows of an uploaded file; how it is written is asked below where it was taken from the file itself."""
    digest = hashlib.sha256(data).hexdigest()
    said = {part: st.session_state.get(f"{KEY}_{part}") for part in ("encoding", "delimiter", "sheet")}
    grid = _kept("grid", (name, digest, *said.values()), lambda: read_grid(name, data, **cast("dict[str, Any]", said)))
    if len(grid.sheets) > 1:
        st.selectbox("Sheet", grid.sheets, key=f"{KEY}_sheet", persist_state="page")
    if not grid.sheets:
        with st.expander(f"Text in {grid.encoding}, columns split by {DELIMITERS.get(grid.delimiter, grid.delimiter)}"):
            how_it_is_written()
    return cast("Grid", grid)


def how_it_is_written() -> None:
    """Encoding and separator, where the file's own are not what was meant."""
    codes: list[Encoding] = list(ENCODINGS)
    st.selectbox("Encoding", codes, index=None, key=f"{KEY}_encoding", placeholder="as the file says", persist_state="page")
    st.selectbox(
        "Separator", list(DELIMITERS), index=None, format_func=lambda d: DELIMITERS[d], key=f"{KEY}_delimiter",
        placeholder="as in the first row", persist_state="page",
    )  # fmt: skip


def ask_columns(grid: Grid) -> Columns | None:
    """What the table holds, the column and unit of each field, the two styles; None before the kind of table is chosen."""
    name = st.selectbox(
        "What the rows are", list(TABLES), index=None, format_func=lambda t: TABLES[t].title, key=f"{KEY}_table", persist_state="page"
    )
    if name is None:
        st.info("Choose what the rows of this file are.")
        return None
    table = TABLES[name]
    first = suggested(table, grid.headings)
    st.caption("Columns are suggested by their headings. Look at each: what is wrong here is wrong in every row.")
    columns: dict[str, str] = {}
    chosen: dict[str, str] = {}
    fixed: dict[str, str] = {}
    key = f"{KEY}_{hashlib.sha256(repr((grid.headings, name)).encode()).hexdigest()[:8]}"
    upper = [f for f in table.fields if f.needed or f.name in first.columns]
    for f in upper:
        _ask_field(f, table, grid, first, key, columns, chosen, fixed)
    with st.expander("More columns"):
        for f in table.fields:
            if f not in upper:
                _ask_field(f, table, grid, first, key, columns, chosen, fixed)
    st.header("How numbers and dates are written", anchor=False)
    decimal = st.radio(
        "Decimal mark", list(DECIMALS), index=None, format_func=lambda d: DECIMALS[d], key=f"{key}_decimal", horizontal=True,
    )  # fmt: skip
    styles: list[Dates] = list(DATES)
    dates = st.radio("Dates", styles, index=None, format_func=lambda d: DATES[d], key=f"{key}_dates")
    hour = st.text_input("Time of day of rows with a date alone", "12:00", key=f"{key}_hour", autocomplete="off")
    return Columns(name, columns, chosen, fixed, cast("Any", decimal), dates, clock("Time of day", hour) if hour else None)


def _ask_field(
    f: Field, table: Table, grid: Grid, first: Columns, key: str, columns: dict[str, str], chosen: dict[str, str], fixed: dict[str, str]
) -> None:
    options = [NONE, *grid.headings]
    with st.container(horizontal=True, gap="small"):
        start = options.index(first.columns.get(f.name, NONE))
        heading = st.selectbox(f.title, options, index=start, key=f"{key}_{f.name}", width="stretch")
        if heading and heading != NONE:
            columns[f.name] = heading
            if len(f.units) == 1:
                chosen[f.name] = f.units[0]
            elif f.units:
                named = first.units.get(f.name) if heading == first.columns.get(f.name) else None
                start_unit = f.units.index(named) if named in f.units else None
                unit = st.selectbox(
                    f"Unit of: {f.title}", f.units, index=start_unit, key=f"{key}_{f.name}_unit", placeholder="choose", width=130
                )
                if unit:
                    chosen[f.name] = unit
    if f.name == "machine" and f.name not in columns:
        machines = {m.key: m.label for m in _resources.machines()}
        one = st.selectbox("Machine of all rows", list(machines), index=None, format_func=lambda k: machines[k], key=f"{key}_one_machine")
        if one:
            fixed["machine"] = one


def look_through(grid: Grid, said: Columns, by: str) -> Preview | None:
    """What the rows come to, shown with every bad one; None while something is not said."""
    if missing := unsaid(said):
        st.info("Before the rows can be read, say " + "; ".join(missing) + ".")
        return None
    store = _resources.store()
    key = (hashlib.sha256(repr((grid.file, grid.rows)).encode()).hexdigest(), said, by, store.count())
    found = _kept("preview", key, lambda: preview(store, grid, said, now_utc=_resources.now(), place=_place, by_name=by))
    _show(grid, cast("Preview", found))
    return cast("Preview", found)


def _place(at: datetime.datetime) -> datetime.datetime:
    return _resources.local(at)


def _show(grid: Grid, found: Preview) -> None:
    if found.problems:
        bad = len({p.row for p in found.problems})
        st.error(f"{bad} of {found.rows} rows cannot be taken in. Nothing is stored until each is put right in the file or taken out.")
        st.table(
            [
                {"row": str(p.row), "column": p.column or NONE, "value": p.value or NONE, "why, and what would do": f"{p.why}. {p.fix}"}
                for p in found.problems[:SHOWN]
            ],
            hide_index=True,
            alt="Every row that cannot be taken in, with its column, what stands there, why, and what would do",
        )
        if len(found.problems) > SHOWN:
            st.caption(f"{len(found.problems) - SHOWN} more in the list below.")
        st.download_button(
            "These rows as a list (CSV)", data=problems_csv(found.problems), file_name="bad-rows.csv", mime="text/csv", on_click="ignore",
            key=f"{KEY}_bad", width="stretch",
        )  # fmt: skip
    else:
        st.success(f"Every row can be taken in ({found.rows}): {found.new} new, {found.already} in the records already.")
    if rows := said_of(found, 5):
        st.caption("The first rows, as they are understood:")
        st.table(rows, hide_index=True, alt="The first rows with the time, machine and figures that were understood")


def _kept(what: str, key: object, make: Any) -> Any:
    """The last result of ``make`` for this key: a file is not read again at every touch."""
    name = f"_{KEY}_{what}"
    if name not in st.session_state or st.session_state[name][0] != key:
        st.session_state[name] = (key, make())
    return st.session_state[name][1]
