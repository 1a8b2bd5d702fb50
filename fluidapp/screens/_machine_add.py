"""Machines, Add: from a typical class, as a copy, or empty."""

import streamlit as st

from fluidapp.errors import BadInput, FluidappError
from fluidapp.model import Machine, typical
from fluidapp.screens import _machine_save, _resources

KEY = "machines_add"
FROM = {"typical": "a typical class", "copy": "a copy", "empty": "nothing"}


def add() -> None:
    """The form of a new machine."""
    known = {m.key: m for m in _resources.store().machines(archived=True)}
    label = (st.text_input("Name of the machine", key=f"{KEY}_label", autocomplete="off", placeholder="Excavator 7") or "").strip()
    ways = [way for way in FROM if way != "copy" or known]
    way = st.segmented_control("Start from", ways, format_func=lambda w: FROM[w], key=f"{KEY}_from", default="typical", required=True)
    size = other = None
    if way == "typical":
        size = st.selectbox("Class", list(typical.SIZES), key=f"{KEY}_size", index=None, placeholder="Choose the nearest class")
        st.caption("Typical figures, from memory and common practice, without a source. They are marked until you replace them.")
    elif way == "copy":
        other = st.selectbox(
            "Copy of", list(known), format_func=lambda k: known[k].label, key=f"{KEY}_of", index=None, placeholder="Choose a machine"
        )
        st.caption("Tanks, gauges, cylinders and grease points are copied; readings are not.")
    else:
        st.caption("You enter every compartment yourself, under Edit.")
    by = _machine_save.name_box(f"{KEY}_by")
    if st.button("Add the machine", key=f"{KEY}_save", type="primary", width="stretch"):
        try:
            machine = _made(label, way or "empty", size, known[other] if other else None, known)
            _machine_save.store(machine, by, f"{machine.label} is entered.", "Look")
        except FluidappError as err:
            st.error(str(err))


def _made(label: str, way: str, size: str | None, other: Machine | None, known: dict[str, Machine]) -> Machine:
    if not label:
        raise BadInput("Name of the machine", "", "Enter the name by which people call it.")
    if label in {m.label for m in known.values()}:
        raise BadInput("Name of the machine", label, "Another machine has this name: choose one that tells them apart.")
    taken = {*known, *(p.key for p in _resources.store().products(archived=True))}
    key = _machine_save.new_key(label, taken)
    if way == "typical":
        if size is None:
            raise BadInput("Class", "nothing", f"Choose one: {', '.join(typical.SIZES)}.")
        return typical.machine(size, key, label)
    if way == "copy":
        if other is None:
            raise BadInput("Copy of", "nothing", "Choose the machine that is like it.")
        return other.model_copy(update={"key": key, "label": label, "lat": None, "lon": None})
    return Machine.made(key=key, label=label)
