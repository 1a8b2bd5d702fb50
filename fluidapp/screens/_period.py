"""What the Oil balance makes of its rows: known seepage taken off, litres at both warmths."""

from dataclasses import replace

import streamlit as st

from fluidapp.calc import between
from fluidapp.model import Machine
from fluidapp.screens import _state
from fluidapp.screens._balance import Row
from fluidapp.screens.words import Show


def with_seepage(machine: Machine, row: Row, known_l: float | None) -> Row:
    """The row of the hydraulic tank with its known seepage counted as gone; every other row as it is."""
    tank = next((c.key for c in machine.compartments if c.kind == "hydraulic tank"), None)
    if known_l is None or row.change is None or row.key != tank:
        return row
    return replace(row, change=between.seeping(row.change, known_l))


def both_ways(rows: list[Row]) -> None:
    """What each level did at the warmth of the marks and at 15 °C, where that warmth is known."""
    show = _state.show()
    found = [(row.change, row.cold) for row in rows if row.change is not None]
    if not any(cold for _, cold in found):
        return
    with st.expander("At the marks' warmth, and at 15 °C"):
        st.table(
            [
                {
                    "compartment": change.node,
                    "as for the marks": "–" if cold is None else _signed(show, change.change_l / cold, change.u_l / cold, change.dof),
                    "at 15 °C": _signed(show, change.change_l, change.u_l, change.dof),
                }
                for change, cold in found
            ],
            hide_index=True,
            alt="What each level did, at the warmth of its marks and at 15 °C",
        )
        st.caption("The balance counts litres at 15 °C. What was poured and drained counts as it was measured.")


def _signed(show: Show, litres: float, u: float, dof: float) -> str:
    return f"{'lost' if litres < 0 else 'gained'} {show.litres(abs(litres), u, dof)}"
