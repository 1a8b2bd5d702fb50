"""Records in and out: a table of somebody else's, and everything as files."""

import streamlit as st

from fluidapp.errors import FluidappError
from fluidapp.screens import _intake, _parts, _resources, _undo
from fluidapp.store.export import export_zip, unzipped
from fluidapp.store.files import FilesProblem, load_files
from fluidapp.store.intake import store_table

KEY = "inout"
_parts.head("Records in and out", "Which column is what, and can I have all of it as files?")
_undo.said()
machines = _resources.machines()


def done(text: str) -> None:
    """Says on the next run what was stored, with an empty box for files."""
    _undo.say(text)
    st.session_state[f"_{KEY}_round"] = st.session_state.get(f"_{KEY}_round", 0) + 1
    st.rerun()


def files_in(name: str, data: bytes) -> None:
    """The files of an export, all of them or none."""
    files = unzipped(name, data)
    st.caption(f"{len(files)} files: {', '.join(list(files)[:6])}{' and more' if len(files) > 6 else ''}.")
    if st.button("Read these files in", key=f"{KEY}_files", type="primary", width="stretch"):
        try:
            found = load_files(_resources.store(), files, now_utc=_resources.now())
        except FilesProblem as err:
            st.error("Nothing was stored.")
            st.table(
                [{"file": p.file, "where": p.where, "what is wrong": p.problem, "what would do": p.fix} for p in err.problems[:100]],
                hide_index=True, alt="What is wrong in the files, by file and place",
            )  # fmt: skip
        else:
            done(f"Read {found.machines} machines and {found.entries} new entries; {found.already} were there already.")


def table_in(name: str, data: bytes) -> None:
    """A table: its columns, its rows, and storing them."""
    try:
        grid = _intake.ask_file(name, data)
    except FluidappError:
        _intake.how_it_is_written()
        raise
    columns = _intake.ask_columns(grid)
    if columns is None:
        return
    by = _parts.who()
    found = _intake.look_through(grid, columns, by)
    if found is None:
        return
    label = "Store the rows" if found.problems else "Store 1 row" if found.new == 1 else f"Store {found.new} rows"
    if st.button(label, key=f"{KEY}_store", type="primary", width="stretch", disabled=bool(found.problems) or not found.new):
        new = store_table(_resources.store(), found, now_utc=_resources.now())
        done(f"Stored from {name}: {new}. On Records they can be undone in one go.")


st.header("In", anchor=False)
if not machines:
    st.info("No machine is entered yet. A table needs its machines first; the files of an export bring them along.")
    st.page_link("screens/machines.py", label="Machines", icon=":material/agriculture:")
file = st.file_uploader(
    "A table (.csv, .xlsx), or the files of an export (.zip)", type=["csv", "txt", "tsv", "xlsx", "zip"],
    key=f"{KEY}_file_{st.session_state.get(f'_{KEY}_round', 0)}",
)  # fmt: skip
try:
    if file is not None and file.name.lower().endswith(".zip"):
        files_in(file.name, file.getvalue())
    elif file is not None and machines:
        table_in(file.name, file.getvalue())
    elif machines:
        st.caption(
            "Readings, top-ups, drains, movements, services or shots, one a row, with a row of headings. Formulas in a file are not run; "
            "their stored values are read. A file that was stored before is recognised."
        )
except FluidappError as err:
    st.error(f"{err} Nothing was stored.")
st.header("Out", anchor=False)
st.download_button(
    "Everything as readable files (zip)", data=lambda: export_zip(_resources.store()), file_name="fluidapp-records.zip",
    mime="application/zip", on_click="ignore", key=f"{KEY}_out", width="stretch", disabled=not machines and not _resources.store().count(),
)  # fmt: skip
st.caption(
    "Machines, products and every entry, what was crossed out too. They read back here or with `fluidapp load FOLDER`, and the tables are "
    "safe to open in a spreadsheet. For a plain copy of the records: `fluidapp backup FILE`."
)
_parts.next_steps([("screens/records.py", "Records: what was entered", {}), ("screens/machines.py", "Machines", {})])
