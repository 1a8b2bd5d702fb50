"""Opening and closing a level watch, and notes about it and its readings."""

from collections.abc import Sequence

import streamlit as st

from fluidapp.calc.watch import LEAK_L_H
from fluidapp.errors import BadInput
from fluidapp.model import Machine
from fluidapp.screens import _notes, _parts, _resources, _state
from fluidapp.screens._entry_words import escaped
from fluidapp.screens._watch import Watch
from fluidapp.store import Entry, NewEntry
from fluidapp.store.kinds import Note, Repair, WatchClosed, WatchOpened

MODES = {"working": "working: over machine hours", "parked": "parked: over hours at rest"}


def open_form(machine: Machine) -> None:
    """Which levels to follow, on which clock, and why."""
    parts = {c.key: c.label for c in machine.compartments if c.gauges} | {b.key: b.label for b in machine.baths}
    gearboxes = [c.key for c in machine.compartments if c.gauges and c.kind == "slewing gearbox"]
    order = [*gearboxes, *(key for key in parts if key not in gearboxes)]
    nodes = st.pills(
        "Levels to follow", order, selection_mode="multi", format_func=lambda k: parts[k], key=f"watch_{machine.key}_nodes",
        persist_state="page", help="A gear case's dipstick shows a leak sooner than the tank's gauge: read it first, cold.",
    )  # fmt: skip
    mode = st.segmented_control(
        "Kind of watch", list(MODES), format_func=lambda m: MODES[m], key="watch_mode", persist_state="page",
        help="Working: across starts, for ways that leak under pressure. Parked: the machine stands, nothing is moved or poured.",
    )  # fmt: skip
    if mode == "parked":
        st.caption("A parked watch says nothing about motor, pump and cylinder seals: they leak under pressure.")
    repairs = _repairs(machine)
    after = st.selectbox(
        "After which repair", list(repairs), key=f"watch_{machine.key}_repair", index=None, placeholder="none", persist_state="page"
    ) if repairs else None  # fmt: skip
    reason = st.text_input("Why", key="watch_reason", autocomplete="off", persist_state="page") or ""
    leak = _state.number_box(f"Leak that must not be missed (L/h; empty: {LEAK_L_H:g}, typical)", "watch_leak")
    name, at, meter = _parts.who_and_when("watch")

    def build() -> list[NewEntry]:
        if not nodes:
            raise BadInput("Levels to follow", "none", "Choose at least one.")
        said = " ".join(text for text in (f"After: {after}." if after else "", reason.strip()) if text)
        if not said:
            raise BadInput("Why", "nothing", "Say in a word why it is watched.")
        doc = WatchOpened.made(mode=mode or "working", at_nodes=tuple(nodes), reason=said, smallest_l_h=leak)
        return [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter)]

    if _parts.save_button("watch", "Open the watch", build, by_name=name):
        st.caption("Now take the first reading on Level check; several, wiped and read again, count for more.")


def close_form(machine: Machine, watch: Watch) -> None:
    """The end of a watch, with its reason."""
    assert watch.entry is not None
    opened = watch.entry.id
    with st.expander("Close this watch"):
        reason = st.text_input("Why it ends", key=f"watch_{opened}_end", autocomplete="off", persist_state="page") or ""
        name, at, meter = _parts.who_and_when("watch_close")

        def build() -> list[NewEntry]:
            if not reason.strip():
                raise BadInput("Why it ends", "nothing", "Say in a word why it is closed.")
            return [NewEntry.made(doc=WatchClosed.made(watch=opened, reason=reason.strip()), at=at, machine=machine.key, meter_h=meter)]

        _parts.save_button("watch_close", "Close the watch", build, by_name=name)


def note_form(machine: Machine, watch: Watch, readings: Sequence[Entry]) -> None:
    """What was noted about the watch and its readings, newest first, and a note to add to one of them."""
    names = {watch.entry.id: "the watch"} if watch.entry else {}
    names |= {entry.id: f"the reading of {entry.at_local:%Y-%m-%d %H:%M}" for entry in reversed(readings)}
    if not names:
        return
    words = dict(names)
    noted = [f"{words[e.doc.about]}: {e.doc.text}" for e in _notes.about(machine.key, names) if isinstance(e.doc, Note) and e.doc.about]
    noted += [f"{words[e.id]}: {e.doc.note}" for e in readings if e.doc.note]
    if noted:
        st.markdown("\n".join(f"* Note on {escaped(text)}" for text in noted))
    with st.expander("Add a note"):
        _notes.form(machine.key, names, "watch_note")


def _repairs(machine: Machine) -> dict[str, str]:
    """The newest repairs of the machine, in words."""
    found = {}
    for entry in _resources.store().entries(machine.key, "repair", limit=3):
        if isinstance(entry.doc, Repair):
            found[f"{entry.doc.what}, {entry.at_local:%Y-%m-%d}"] = entry.id
    return found
