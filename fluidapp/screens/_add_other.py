"""A mix-up, and a note."""

import streamlit as st

from fluidapp.calc import product_check
from fluidapp.errors import BadInput
from fluidapp.model import Frozen, Machine
from fluidapp.screens import _add_sample, _parts, _pour, _resources, _state
from fluidapp.store import NewEntry
from fluidapp.store.kinds import Note, Observation

UNTIL = "The compartment counts as mixed until it is drained: no verdict from viscosity until then."


def mix_up(machine: Machine | None) -> bool:
    """A wrong product that went in: what, where, about how much; the compartment then counts as mixed until it is drained."""
    assert machine is not None
    st.warning("Do not run it before the maker's manual or a licensed person says what to do. Take a sample, then drain.")
    part = _add_sample.compartment(machine, "add_mix_part")
    products = [p.key for p in _resources.store().products() if p.key != part.product]
    poured = st.selectbox(
        "What went in", [*products, _pour.UNKNOWN], format_func=_pour.product_label, key="add_mix_product", persist_state="page"
    )
    found = product_check.check(_resources.product(part.product), None if poured == _pour.UNKNOWN else _resources.product(poured))
    st.caption(f"{found.reason} {UNTIL}")
    litres = _state.box("How much, about (empty: not known)", "add_mix_litres", "volume")
    text = st.text_input("How it was noticed", key="add_mix_note", autocomplete="off", persist_state="page") or ""
    name, at, meter = _parts.who_and_when("add_mix")

    def build() -> list[NewEntry]:
        doc: Frozen
        if litres is None:
            doc = Observation.made(node=part.key, seen="wrong product poured", product=poured, note=text.strip())
        else:
            poured_in = _pour.movement(part.key, poured, litres, "add_mix_litres", "other")
            doc = poured_in.model_copy(update={"note": f"mix-up: {text.strip()}" if text.strip() else "mix-up"})
        return [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter)]

    return _parts.save_button("add_mix", "Store the mix-up", build, by_name=name)


def note(machine: Machine | None) -> bool:
    """Plain words, on a compartment, a machine, or none."""
    text = st.text_area("Note", key="add_note_text", persist_state="page") or ""
    node = None
    if machine is not None:
        parts = {one.key: one.label for group in (machine.compartments, machine.baths, machine.grease_points) for one in group}
        if st.session_state.get("add_note_part") not in parts:
            st.session_state.pop("add_note_part", None)
        node = st.selectbox(
            "On", list(parts), format_func=lambda k: parts[k], key="add_note_part", index=None, placeholder=machine.label,
            persist_state="page",
        )  # fmt: skip
    name, at, meter = _parts.who_and_when("add_note", metered=machine is not None)

    def build() -> list[NewEntry]:
        if not text.strip():
            raise BadInput("Note", "nothing", "Write what there is to say.")
        return [NewEntry.made(doc=Note.made(text=text.strip(), node=node), at=at, machine=machine.key if machine else None, meter_h=meter)]

    return _parts.save_button("add_note", "Store the note", build, by_name=name)
