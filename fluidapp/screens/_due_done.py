"""The due list: one of its lines is done; the form that stores it."""

import streamlit as st

from fluidapp.calc import due
from fluidapp.errors import BadInput
from fluidapp.screens import _parts, _resources
from fluidapp.screens._due import Listed
from fluidapp.screens._entry_words import escaped
from fluidapp.store import NewEntry
from fluidapp.store.kinds import TaskDone

CHOSEN, SAID = "due_chosen", "_due_said"


def name_of(d: due.Due) -> str:
    """A line by its machine and task."""
    return f"{d.machine}/{d.key}"


def said() -> None:
    """At the top of a run: what was stored just now."""
    if words := st.session_state.pop(SAID, None):
        st.success(words, icon=":material/check:")


def choose(name: str) -> None:
    """Opens the form under a line; a second press closes it."""
    st.session_state[CHOSEN] = None if st.session_state.get(CHOSEN) == name else name


def form(d: due.Due, listed: Listed) -> None:
    """What was done, at which meter, when and by whom, in one save; then the list is worked out anew."""
    machine = listed.machines[d.machine]
    where = "" if d.at is None or d.at == d.key else f", {_label(d, listed)}"
    st.markdown(f"**Done:** {escaped(d.label)}{escaped(where)}, {escaped(machine.label)}")
    with st.container(horizontal=True, gap="small"):
        name, at, meter = _parts.who_and_when("due")
    if d.kind == "change":
        st.caption("Litres drained and poured are entered on Service, which counts the change as well: use one of the two.")

    def entries() -> list[NewEntry]:
        if d.target_h is not None and meter is None:
            raise BadInput("Hour meter", "empty", "Enter what it showed when this was done: the next time is counted from there.")
        if at > _resources.now():
            raise BadInput("When", f"{at:%Y-%m-%d %H:%M}", "It lies after now.")
        doc = TaskDone.made(task=d.label, node=d.at, product=d.product if d.kind == "change" else None)
        return [NewEntry.made(doc=doc, at=at, machine=d.machine, meter_h=meter)]

    if _parts.save_button("due", "Store as done", entries, by_name=name):
        st.session_state[CHOSEN] = None
        st.session_state[SAID] = f"{d.label} on {machine.label} is stored as done. *Undo a save* is on Records."
        st.rerun()


def _label(d: due.Due, listed: Listed) -> str:
    machine = listed.machines[d.machine]
    places = {c.key: c.label for c in machine.compartments} | {b.key: b.label for b in machine.baths}
    places |= {p.key: p.label for p in machine.grease_points}
    label = places.get(d.at or "", d.at or "")
    return "" if label.casefold() in d.label.casefold() else label[:1].lower() + label[1:]
