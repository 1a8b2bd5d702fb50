"""Oil balance: the last reading compared with now, or two days of the records compared with each other."""

import datetime

import streamlit as st

from fluidapp.errors import BadInput
from fluidapp.model import Machine
from fluidapp.screens import _resources
from fluidapp.store.kinds import LevelReading

LAST, TWO_DAYS, GUIDE = "Now", "Two days", "Question guide"
Days = tuple[datetime.date, datetime.date]


def pick(machine: Machine) -> Days | None:
    """Two days with recorded readings, or None where the last reading is compared with now. BadInput for days in the wrong order."""
    modes = [LAST, TWO_DAYS, GUIDE] if _resources.store().entries(machine.key, "reading", limit=1) else [LAST, GUIDE]
    key = f"balance_{machine.key}_day"
    st.session_state.setdefault("balance_mode", LAST)
    if st.session_state["balance_mode"] not in modes:
        st.session_state["balance_mode"] = LAST
    mode = st.segmented_control("Compare", modes, key="balance_mode", required=True, label_visibility="collapsed", persist_state="session")
    if mode != TWO_DAYS:
        return None
    read = days(machine)
    best = best_pair(read)
    if best is None:
        st.caption("Only one day has readings: compare with now.")
        return None
    with st.container(horizontal=True, gap="small"):
        for name, label, default in (("before", "Day before", best[0]), ("now", "Day now", best[1])):
            if st.session_state.get(f"{key}_{name}") not in read:
                st.session_state[f"{key}_{name}"] = default
            st.selectbox(
                label, list(read), format_func=lambda day: f"{day} · {len(read[day])}", key=f"{key}_{name}",
                persist_state="session", width=166, help="After the day: how many compartments were read.",
            )  # fmt: skip
    before, now = st.session_state[f"{key}_before"], st.session_state[f"{key}_now"]
    if before >= now:
        raise BadInput("Day before", str(before), f"Choose one before {now}.")
    return before, now


def days(machine: Machine) -> dict[datetime.date, frozenset[str]]:
    """Days with readings that name a level, newest first, each with the compartments that were read then; about a year back."""
    found: dict[datetime.date, set[str]] = {}
    for entry in _resources.store().entries(machine.key, "reading", limit=400):
        if isinstance(entry.doc, LevelReading) and entry.doc.bound == "exact":
            found.setdefault(entry.at_local.date(), set()).add(entry.doc.node)
    return {day: frozenset(nodes) for day, nodes in found.items()}


def best_pair(read: dict[datetime.date, frozenset[str]]) -> Days | None:
    """The two days, before and now, that have most compartments in common; among equals the newest. None for fewer than two days.

    Only of the last month, and two months before it, where such days are read.
    """
    pairs = [(before, now) for now in read for before in read if before < now]
    newest = max(read, default=datetime.date.min)
    near = [p for p in pairs if (newest - p[1]).days <= 31 and (p[1] - p[0]).days <= 62]
    return max(near or pairs, key=lambda pair: (len(read[pair[0]] & read[pair[1]]), pair[1], pair[0]), default=None)
