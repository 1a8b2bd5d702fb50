"""Consumption: which machines drink, and is that normal?"""

import streamlit as st

from fluidapp.errors import FluidappError
from fluidapp.screens import _fleet_view, _machine_view, _parts, _report, _resources

_parts.head("Consumption", "Which machines drink, and is that normal?")
machine = _parts.any_machine("All machines")
try:
    seen = _resources.fleet()
    if machine is not None:
        _machine_view.show(machine, seen)
    else:
        _fleet_view.first(seen)
        span, group, product = _fleet_view.filters(seen)
        _fleet_view.ranking(seen, span, group, product)
        _fleet_view.flows(seen, span, product, _resources.products())
        _report.button(seen)
        _parts.next_steps([("screens/stock.py", "Stock: is there enough?", {}), ("screens/records.py", "Records", {})])
except FluidappError as err:
    st.error(str(err))
