"""An entry of a kind that no other screen asks for: one choice of what, and its few boxes."""

from collections.abc import Callable

import streamlit as st

from fluidapp.model import Machine
from fluidapp.screens import _add_other, _add_sample, _add_stock, _undo

FORMS: dict[str, tuple[bool, Callable[[Machine | None], bool]]] = {  # what: (whether it needs a machine, its form)
    "Oil sample": (True, _add_sample.sample),
    "Lab result": (False, _add_sample.lab_result),
    "Stock received": (False, _add_stock.received),
    "Used oil handed over": (False, _add_stock.handed_over),
    "Mix-up: wrong product poured": (True, _add_other.mix_up),
    "Note": (False, _add_other.note),
}
WHAT = "add_what"  # in the address too, so that a link opens a form
CHOICES = (
    "add_received_product", "add_received_to", "add_handed_from", "add_sample_part", "add_lab_part", "add_mix_part", "add_mix_product",
    "add_note_part",
)  # fmt: skip
CHOSEN_ANEW = ("add_lab_bottle", "add_sample_warm")
ELSEWHERE = "Readings are entered on Level check, drains and pours on Service, shots on Greasing, an exchanged hour meter in *meters.csv*."


def show(machine: Machine | None) -> None:
    """The folded forms. Raises what their boxes refuse."""
    if st.session_state.pop("_add_stored", False):
        _empty()
    with st.expander("Add an entry", expanded=WHAT in st.query_params):
        what = st.selectbox(
            "What", list(FORMS), key=WHAT, index=None, placeholder="Choose what to add", persist_state="page", bind="query-params"
        )  # fmt: skip
        if what is None:
            st.caption(ELSEWHERE)
            return
        needs, form = FORMS[what]
        if needs and machine is None:
            st.info("Choose the machine above.")
            return
        if form(machine):
            st.session_state["_add_stored"] = True
            _undo.say(f"{what}: stored in the records.")
            st.rerun()


def _empty() -> None:
    """Empties the boxes after a save, before they are drawn; what was chosen (a product, a compartment) stays."""
    for key in [str(k) for k in st.session_state if str(k).startswith("add_")]:
        if key in (WHAT, *CHOICES):
            continue
        value = st.session_state[key]
        if isinstance(value, str):
            st.session_state[key] = None if key in CHOSEN_ANEW else ""
        elif isinstance(value, list):
            st.session_state[key] = []
