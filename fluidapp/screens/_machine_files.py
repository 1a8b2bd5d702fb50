"""Machines, Files: one machine as a TOML file, out and in; off the lists and back."""

import streamlit as st

from fluidapp.calc import build
from fluidapp.errors import FileProblem, FluidappError
from fluidapp.model import Machine, from_toml, to_toml
from fluidapp.screens import _machine_save, _resources

KEY = "machines_file"


def out(machine: Machine) -> None:
    """The machine as a file, and taking it off the lists."""
    n = len(_resources.store().versions(machine.key))
    head = f"{machine.label}, version {n}. Lengths in mm, volumes in L; x forward, y left, z up."
    st.download_button(
        f"{machine.label} as a file (TOML)", data=to_toml(machine, head), file_name=f"{machine.key}.toml", mime="application/toml",
        on_click="ignore", key=f"{KEY}_out", width="stretch",
    )  # fmt: skip
    with st.expander("Take it off the lists"):
        st.caption("Its readings stay in the records, and it can be put back.")
        if st.button(f"Take {machine.label} off", key=f"{KEY}_archive"):
            _resources.store().archive(machine.key)
            st.session_state.pop("machine", None)
            st.query_params.clear()
            st.session_state[_machine_save.SAID] = f"{machine.label} is off the lists."
            st.rerun()


def put_in() -> None:
    """A file taken over as a new machine, or as a new version of one that is known; machines put back on the lists."""
    st.header("Read a file in", anchor=False)
    file = st.file_uploader("Machine file (TOML)", type=["toml"], key=f"{KEY}_in")
    if file is not None:
        try:
            machine = _read(file.name, file.getvalue())
            _say(machine)
            by = _machine_save.name_box(f"{KEY}_by")
            if st.button("Take it over", key=f"{KEY}_save", type="primary", width="stretch"):
                _machine_save.store(machine, by, f"{machine.label} is taken over from {file.name}.", "Look")
        except FluidappError as err:
            st.error(f"{err} Nothing was stored.")
    shown = {m.key for m in _resources.store().machines()}
    off = {m.key: m.label for m in _resources.store().machines(archived=True) if m.key not in shown}
    if off:
        key = st.selectbox("Put back on the lists", list(off), format_func=lambda k: off[k], key=f"{KEY}_back", index=None)
        if key and st.button("Put it back", key=f"{KEY}_back_save"):
            _resources.store().archive(key, False)
            st.session_state[_machine_save.SAID] = f"{off[key]} is back on the lists."
            _machine_save.go(key, "Look")


def _read(name: str, data: bytes) -> Machine:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        raise FileProblem(name, "", "this is not text in UTF-8", "Save it as plain text.") from err
    return from_toml(text, name, Machine)


def _say(machine: Machine) -> None:
    """What taking the file over would do, and which compartments would not give litres."""
    known = {m.key: m for m in _resources.store().machines(archived=True)}
    if machine.key not in known:
        st.info(f"A new machine: {machine.label}, {len(machine.compartments)} compartments.")
    elif known[machine.key] == machine:
        st.info(f"{machine.label} is stored exactly like this.")
    else:
        st.info(f"A new version of {known[machine.key].label}. Readings so far keep the version they were read with.")
    for part in machine.compartments:
        if part.gauges:
            try:
                build.tank(part)
            except FluidappError as err:
                st.warning(str(err))
