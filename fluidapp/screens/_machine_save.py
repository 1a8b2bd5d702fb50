"""Storing a machine from the screens: always a new version, never over an old one."""

import re
from collections.abc import Iterable

import streamlit as st

from fluidapp.model import Machine
from fluidapp.screens import _parts, _resources

SAID = "_machines_said"
WHAT = "machines_what"
_GO = "_machines_go"


def name_box(key: str) -> str:
    """The name of the person who changes something; the one entered elsewhere to begin with."""
    if not st.session_state.get(key) and st.session_state.get("by_name"):
        st.session_state[key] = st.session_state["by_name"]
    return (st.text_input("Changed by", key=key, autocomplete="off", persist_state="session") or "").strip()


def store(machine: Machine, by: str, said: str, then: str = "") -> None:
    """Stores ``machine`` as a new version, says so on the next run, and goes on to the task ``then``."""
    before = len(_resources.store().versions(machine.key))
    _resources.store().put(machine, now_utc=_resources.now(), by=by)
    n = len(_resources.store().versions(machine.key))
    st.session_state[SAID] = f"{said} Version {n}." if n > before else "Nothing was changed, so there is no new version."
    go(machine.key, then)


def go(machine: str, then: str = "") -> None:
    """Runs the screen again on ``machine`` with the task ``then``."""
    st.query_params[_parts.MACHINE] = machine
    if then:
        st.session_state[_GO] = then
    st.rerun()


def arrive() -> None:
    """At the top of a run: the task to go to, before its control is drawn, and what was stored."""
    if then := st.session_state.pop(_GO, None):
        st.session_state[WHAT] = then
    if said := st.session_state.pop(SAID, None):
        st.success(said, icon=":material/check:")


def new_key(label: str, taken: Iterable[str]) -> str:
    """A key from a name: small letters, digits and dashes, none that is taken."""
    taken = set(taken)
    base = re.sub(r"[^a-z0-9]+", "-", label.lower()).strip("-")[:50] or "machine"
    key, n = base, 2
    while key in taken:
        key, n = f"{base}-{n}", n + 1
    return key
