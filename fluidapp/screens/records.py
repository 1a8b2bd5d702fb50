"""Records: what was entered, as it was entered?"""

import streamlit as st

from fluidapp.errors import FluidappError
from fluidapp.screens import _add, _correct, _history, _parts, _resources, _undo

_parts.head("Records", "What was entered, as it was entered?")
machine = _parts.any_machine("All machines")
_undo.said()
try:
    if open_entry := st.query_params.get(_history.ENTRY):
        _correct.show(_resources.store().entry(open_entry))
    else:
        _add.show(machine)
        _history.show(_history.ask(machine))
        _undo.newest(machine.key if machine else None, "records")
        st.caption("Nothing is overwritten: a correction is a new entry that crosses out the old one, and both stay here.")
except FluidappError as err:
    st.error(str(err))
    if _history.ENTRY in st.query_params:
        st.button("Back to the list", key="records_back_error", on_click=_history.opens, args=(None,))
