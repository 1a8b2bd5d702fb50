"""Machines, Edit: what to edit, its form, and the button that stores a new version."""

from collections.abc import Callable
from typing import Any

import streamlit as st

from fluidapp.errors import BadInput, FluidappError
from fluidapp.model import Machine
from fluidapp.screens import _form_words, _machine_part, _machine_rest, _machine_save, _resources
from fluidapp.screens._form import Form

KEY = "machines_edit"
GENERAL, CYLINDERS, POINTS, TASKS, DOUBTS = "general", "cylinders", "points", "tasks", "doubts"
NEW_PART, NEW_BATH = "new compartment", "new grease bath"
LISTS = ("cylinders", "grease_points", "compartments", "baths", "tasks", "conditions", "doubts")
Doc = dict[str, Any]


def edit(machine: Machine) -> None:
    """One part of the machine at a time: its form, what follows from it while it is typed, and the button."""
    what = _what(machine)
    n = len(_resources.store().versions(machine.key))
    form = Form(f"{KEY}_{_short(what)}", _generation(f"{machine.key}/{what}/{n}"), _form_words.MACHINE)
    doc = machine.model_dump(mode="json", exclude_none=True)
    build = _forms(machine, what)
    try:
        changed = build(form, doc)
    except FluidappError as err:
        form.problems.append(err)
        changed = None
    by = _machine_save.name_box(f"{KEY}_by")
    if st.button("Save as a new version", key=f"{KEY}_save", type="primary", width="stretch"):
        try:
            new = form.made(Machine, changed or doc)
            _machine_save.store(new, by, f"{machine.label} is stored.", "Edit" if what not in (NEW_PART, NEW_BATH) else "Look")
        except FluidappError as err:
            st.error(str(err))
    _take_out(machine, what, by)


def _what(machine: Machine) -> str:
    names = {GENERAL: "General"}
    names |= {f"part {c.key}": c.label for c in machine.compartments} | {NEW_PART: "New compartment"}
    names |= {CYLINDERS: "Cylinders"} | {f"bath {b.key}": b.label for b in machine.baths} | {NEW_BATH: "New grease bath"}
    names |= {POINTS: "Grease points", TASKS: "Tasks and intervals", DOUBTS: "Doubts: how well things are known here"}
    if st.session_state.get(f"{KEY}_what") not in names:
        st.session_state[f"{KEY}_what"] = GENERAL
    chosen = st.selectbox("What to edit", list(names), format_func=lambda k: names[k], key=f"{KEY}_what", persist_state="session")
    return chosen or GENERAL


def _forms(machine: Machine, what: str) -> Callable[[Form, Doc], Doc]:
    kind, _, key = what.partition(" ")
    match kind:
        case "part":
            return lambda form, doc: (
                doc | {"compartments": [_machine_part.draw(form, c) if c["key"] == key else c for c in doc["compartments"]]}
            )
        case "bath":
            return lambda form, doc: doc | {"baths": [_machine_rest.bath(form, b) if b["key"] == key else b for b in doc["baths"]]}
        case "new" if what == NEW_PART:
            return lambda form, doc: (
                doc | {"compartments": [*doc.get("compartments", ()), _new(machine, _machine_part.draw(form, {"source": "taped"}))]}
            )
        case "new":
            return lambda form, doc: (
                doc | {"baths": [*doc.get("baths", ()), _new(machine, _machine_rest.bath(form, {"label": "Grease bath"}))]}
            )
        case "cylinders":
            return _machine_rest.cylinders
        case "points":
            return lambda form, doc: doc | {"grease_points": [_new(machine, p) for p in _machine_rest.points(form, doc)]}
        case "tasks":
            return _tasks
        case "doubts":
            return _machine_rest.doubts
    return lambda form, doc: form.draw(Machine, doc, only=[name for name in form.words["Machine"] if name not in LISTS])


def _new(machine: Machine, doc: Doc) -> Doc:
    """The same with a key of its own, made from its name, where it has none yet."""
    if doc.get("key"):
        return doc
    if not doc.get("label"):
        raise BadInput("Name", "nothing", "Enter a name, like Slewing gearbox front.")
    taken = [c.key for c in machine.compartments] + [b.key for b in machine.baths] + [p.key for p in machine.grease_points]
    return {"key": _machine_save.new_key(doc["label"], [*taken, "stock", "used-oil", "outside"]), **doc}


def _tasks(form: Form, doc: Doc) -> Doc:
    """Tasks with keys of their own, made from their names where they have none yet."""
    found = _machine_rest.tasks(form, doc)
    taken = [task["key"] for task in found["tasks"] if task.get("key")]
    for n, task in enumerate(found["tasks"], start=1):
        name = task.get("label") or f"Task {n}"
        if not any(task.get(field) for field in ("first_h", "repeat_h", "first_days", "repeat_days")):
            form.problems.append(BadInput(name, "no interval", "Enter hours or days."))
        if not task.get("at") and task.get("kind") != "check":
            form.problems.append(BadInput(f"{name}, where", "nothing", "Choose its place; only a check can be about the whole machine."))
        if not task.get("key") and task.get("label"):
            task["key"] = _machine_save.new_key(task["label"], taken)
            taken.append(task["key"])
    return found


def _take_out(machine: Machine, what: str, by: str) -> None:
    """Taking a compartment or bath off the machine; its readings stay in the records."""
    kind, _, key = what.partition(" ")
    if kind not in ("part", "bath") or what in (NEW_PART, NEW_BATH):
        return
    label = (machine.compartment(key) if kind == "part" else machine.bath(key)).label
    with st.expander(f"Take {label} off this machine"):
        st.caption("Its readings stay in the records, with the version they were read with.")
        if st.button(f"Take {label} off", key=f"{KEY}_take_out"):
            _machine_save.store(machine.without(key), by, f"{label} is off {machine.label}.", "Edit")


def _short(what: str) -> str:
    return {"part": "part", "bath": "bath", "new": what.replace(" ", "_")}.get(what.partition(" ")[0], what)


def _generation(target: str) -> str:
    """A token that changes whenever another thing, or another version of it, is edited."""
    kept = st.session_state.get(f"_{KEY}_target")
    if kept is None or kept[0] != target:
        kept = (target, (kept[1] if kept else 0) + 1)
        st.session_state[f"_{KEY}_target"] = kept
    return str(kept[1])
