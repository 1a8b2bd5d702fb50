"""Records: what was entered, as it was entered?"""

import streamlit as st

from fluidapp.screens import _parts, _resources

MOST = 200

_parts.head("Records", "What was entered, as it was entered?")
machine = _parts.pick_machine()
found = _resources.store().entries(machine=machine.key, live=False, limit=MOST)
kinds = sorted({entry.kind for entry in found})
if not found:
    st.info(f"Nothing is recorded for {machine.label} yet. A level check is a good first entry.")
    st.page_link("screens/level.py", label="Level check", query_params={"machine": machine.key})
    st.stop()
chosen = st.pills("Only", kinds, selection_mode="multi", key="records_kinds", persist_state="page")
rows = [
    {
        "when": f"{entry.at_local:%Y-%m-%d %H:%M}",
        "meter h": "" if entry.meter_h is None else f"{entry.meter_h:g}",
        "what": _parts.entry_words(entry) + (" (voided)" if entry.voided_by else ""),
        "by": entry.by_name,
    }
    for entry in found
    if not chosen or entry.kind in chosen
]
st.dataframe(rows, hide_index=True, width="stretch", alt=f"Entries of {machine.label}, newest first", key="records_table")
st.caption(f"{len(rows)} entries, newest first" + (f"; the last {MOST} are shown." if len(found) == MOST else "."))
st.caption("Nothing is overwritten: a correction is a new entry that voids the old one, and both stay here.")
with st.expander("The newest ten as text"):
    st.table(rows[:10], hide_index=True, alt="The newest ten entries")
