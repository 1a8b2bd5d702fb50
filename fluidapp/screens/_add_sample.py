"""Oil samples with their bottle, and what the laboratory made of them."""

import math

import streamlit as st

from fluidapp.errors import BadInput
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _parts, _resources, _state
from fluidapp.screens._entry_words import Names, entry_words, escaped
from fluidapp.store import Entry, NewEntry
from fluidapp.store.kinds import LabResult, Movement, OilSample

FIGURES = {
    "Viscosity at 40 °C": "mm²/s", "Viscosity at 100 °C": "mm²/s", "Water": "%", "Iron": "mg/kg", "Copper": "mg/kg", "Aluminium": "mg/kg",
    "Silicon": "mg/kg", "Acid number": "mg KOH/g",
}  # fmt: skip
ANOTHER = "another figure"
NO_BOTTLE = "a bottle that is not on record"
FILLS = ("planned change", "first fill")  # what goes in then begins the oil anew: it is no top-up


def compartment(machine: Machine, key: str) -> Compartment:
    """A compartment of the machine; stops where it has none."""
    parts = {c.key: c for c in machine.compartments}
    if not parts:
        st.info(f"{machine.label} has no compartment yet: enter one on Machines.")
        st.stop()
    if st.session_state.get(key) not in parts:
        st.session_state.pop(key, None)
    return parts[st.selectbox("Compartment", list(parts), format_func=lambda k: parts[k].label, key=key, persist_state="page")]


def added_since(machine: Machine, part: Compartment) -> tuple[Entry | None, list[Entry]]:
    """The last sample of a compartment, and the top-ups since then, or since its oil was changed; oldest first."""
    store, node = _resources.store(), f"{machine.key}/{part.key}"
    last = next(iter(store.entries(machine.key, "oil sample", part.key, limit=1)), None)
    moved = store.entries(None, "movement", node, since=last.at if last else None)
    found: list[Entry] = []
    for entry in reversed(moved):
        assert isinstance(entry.doc, Movement)
        if last and (entry.at, entry.seq) <= (last.at, last.seq):
            continue
        if entry.doc.purpose in FILLS:
            found.clear()
        elif entry.doc.to_node == node:
            found.append(entry)
    return last, found


def sample(machine: Machine | None) -> bool:
    """A sample: where from, which bottle, how old the oil is, and what was added since the last one, as the records have it."""
    assert machine is not None
    st.caption("Take it before topping up: fresh oil hides what the old one shows.")
    part = compartment(machine, "add_sample_part")
    bottle = st.text_input("Bottle number", key="add_sample_bottle", autocomplete="off", persist_state="page") or ""
    oil_h = _state.number_box("Hours on the oil since its change (h)", "add_sample_oil_h")
    last, top_ups = added_since(machine, part)
    litres = math.fsum(e.doc.volume_l or 0.0 for e in top_ups if isinstance(e.doc, Movement))
    since = f"the last sample, {last.at_local:%Y-%m-%d}" if last else "the records began"
    if last or top_ups:
        _state.fill("add_sample_added", f"{machine.key}/{part.key}/{','.join(e.id for e in top_ups)}", litres, "L", "volume")
    else:
        _state.unfill("add_sample_added")
    added = _state.box("Added since the last sample", "add_sample_added", "volume")
    if top_ups:
        names = Names.read()
        st.caption(f"From the records since {since}:")
        st.markdown("\n".join(f"* {e.at_local:%Y-%m-%d}: {escaped(entry_words(e, names))}" for e in top_ups))
    else:
        st.caption(f"Since {since} no top-up of it is recorded.")
    warm = st.segmented_control("The oil was", ["warm", "cold"], key="add_sample_warm", persist_state="page")
    name, at, meter = _parts.who_and_when("add_sample")

    def build() -> list[NewEntry]:
        if not bottle.strip():
            raise BadInput("Bottle number", "nothing", "Enter what stands on the bottle.")
        doc = OilSample.made(
            node=part.key, bottle=bottle.strip(), oil_h=oil_h, added_l=added, as_read=_state.as_read("add_sample_added"),
            cold=None if warm is None else warm == "cold",
        )  # fmt: skip
        return [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter)]

    return _parts.save_button("add_sample", "Store the sample", build, by_name=name)


def lab_result(machine: Machine | None) -> bool:
    """The figures of a report, for a bottle on record, or for one that is not."""
    names, on = Names.read(), machine.key if machine else None
    done = {e.doc.sample for e in _resources.store().entries(on, "lab result") if isinstance(e.doc, LabResult)}
    waiting = {e.id: e for e in _resources.store().entries(on, "oil sample", limit=100) if e.id not in done}
    labels = {i: _bottle(e, names) for i, e in waiting.items()}
    chosen = st.selectbox(
        "Bottle", [*waiting, NO_BOTTLE], format_func=lambda i: labels.get(i, str(i)), key="add_lab_bottle", index=None,
        placeholder="Number on the report", persist_state="page",
    )  # fmt: skip
    if chosen is None:
        st.caption(f"{len(waiting)} bottles are waiting for their result.")
        return False
    entry = waiting.get(chosen)
    node, bottle, key = "", "", on
    if entry is not None:
        assert isinstance(entry.doc, OilSample)
        node, bottle, key = entry.doc.node, entry.doc.bottle, entry.machine
    elif machine is None:
        st.info("Choose the machine above.")
        return False
    else:
        node = compartment(machine, "add_lab_part").key
        bottle = st.text_input("Bottle number", key="add_lab_number", autocomplete="off", persist_state="page") or ""
    values, of = _figures()
    laboratory = st.text_input("Laboratory", key="add_lab_laboratory", autocomplete="off", persist_state="page") or ""
    name, at, _ = _parts.who_and_when("add_lab", metered=False)

    def build() -> list[NewEntry]:
        if not bottle.strip():
            raise BadInput("Bottle number", "nothing", "Enter what stands on the bottle.")
        if not values:
            raise BadInput("Figures", "nothing", "Choose a figure of the report and enter it.")
        doc = LabResult.made(
            node=node, sample=entry.id if entry else None, bottle=bottle.strip(), laboratory=laboratory.strip(), values=values, units=of
        )  # fmt: skip
        return [NewEntry.made(doc=doc, at=at, machine=key)]

    return _parts.save_button("add_lab", "Store the result", build, by_name=name)


def _figures() -> tuple[dict[str, float], dict[str, str]]:
    """The figures that were entered, each with its unit."""
    chosen = st.pills("Figures on the report", [*FIGURES, ANOTHER], selection_mode="multi", key="add_lab_figures", persist_state="page")
    values: dict[str, float] = {}
    of: dict[str, str] = {}
    for figure in chosen:
        label, unit = figure, FIGURES.get(figure, "")
        if figure == ANOTHER:
            label = (st.text_input("Name of the figure", key="add_lab_name", autocomplete="off", persist_state="page") or "").strip()
            unit = (st.text_input("Its unit", key="add_lab_unit", autocomplete="off", persist_state="page") or "").strip()
        value = _state.number_box(f"{label or ANOTHER.capitalize()} ({unit})" if unit else "Its value", f"add_lab_{figure}")
        if value is not None:
            if not (label and unit):
                raise BadInput("Another figure", f"{value:g}", "Give its name and its unit.")
            values[label], of[label] = value, unit
    return values, of


def _bottle(entry: Entry, names: Names) -> str:
    doc = entry.doc
    assert isinstance(doc, OilSample)
    return f"{doc.bottle} · {names.part(doc.node)} · {entry.at_local:%Y-%m-%d}"
