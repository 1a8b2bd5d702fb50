"""Start: where do I begin?"""

import streamlit as st

from fluidapp.screens import _parts, _resources, _state
from fluidapp.screens._entry_words import Names, entry_words, escaped, head

TASKS = (
    ("screens/level.py", "Level check", "How much is in it, and is this reading any good?"),
    ("screens/topup.py", "Top-up", "How much to the mark, in my pails?"),
    ("screens/balance.py", "Oil balance", "The gauge is low and nothing is wet: where did the oil go?"),
    ("screens/gearcase.py", "Gear case", "How much hydraulic oil is in the gear oil; keep or change?"),
    ("screens/bath.py", "Grease bath", "How much oil is in the slewing ring's grease?"),
    ("screens/refill.py", "Refill", "After a repair: what do I bring, how much before the start, how much after?"),
    ("screens/service.py", "Service", "What did I do here? Several compartments in one save."),
    ("screens/greasing.py", "Greasing", "Which positions of the ring, how many strokes, which are done?"),
    ("screens/watch.py", "Level watch", "Is it holding?"),
)
OTHERS = (
    ("screens/due.py", "Due list", "What comes next, and when?"),
    ("screens/consumption.py", "Consumption", "Which machines drink, and is that normal?"),
    ("screens/stock.py", "Stock", "Enough oil, what did it cost, what left as used oil?"),
    ("screens/machines.py", "Machines", "Add, look up and edit: tanks, gauges, marks, dip charts"),
    ("screens/calibration.py", "Calibration", "How mm become litres: read, pour, read again"),
    ("screens/products.py", "Products", "Oils, greases and coolants, their containers and prices"),
    ("screens/inout.py", "Records in and out", "Tables of yours in, everything out as files"),
    ("screens/records.py", "Records", "What was read, poured and greased"),
    ("screens/help.py", "Help", "How sure is this, and what do the words mean?"),
)

_parts.head("fluidapp", "From a gauge reading to the refill: litres with their ±, where the oil went, what the ring needs.")
machines = _resources.machines()
if not machines:
    st.info(
        "These records are empty. Begin with Machines: one from a typical class takes a minute. To look around first, stop this and run "
        "`fluidapp demo`: it opens an invented quarry."
    )
_state.units_box()
here = {"machine": st.session_state[_parts.MACHINE]} if st.session_state.get(_parts.MACHINE) else None
for group in (TASKS, OTHERS):
    for page, label, question in group:
        with st.container(border=True, gap=None):
            st.page_link(page, label=f"**{label}**", icon=":material/arrow_forward:", query_params=here, width="stretch")
            st.caption(question)
    st.space("small")
last = _resources.store().entries(limit=5) if machines else []
if last:
    st.divider()
    st.caption(f"{len(machines)} machines, {_resources.store().count()} entries. The newest:")
    names = Names.read()
    for entry in last:
        st.caption(escaped(f"{head(entry, names)} · {entry_words(entry, names)}"))
st.caption(
    "All answers give way to the maker's manual, site rules, local codes and licensed people. "
    "No request leaves this machine for the internet."
)
