"""What a form has stored: so that a second press stores nothing, and a retry is recognised whatever the clock says."""

import hashlib
import json
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import streamlit as st

from fluidapp.errors import FluidappError, RecordsProblem
from fluidapp.screens import _resources
from fluidapp.store import NewEntry, Save
from fluidapp.store.saves import content


@dataclass(frozen=True, slots=True)
class Pressed:
    """The last save of a form. mark : what it held. at : what "now" meant at the first press. stored : ids of its entries, once there."""

    id: str
    mark: str
    at: datetime
    stored: tuple[str, ...] = ()


def opened(form: str) -> datetime:
    """The time that an empty "When" stands for in this run."""
    now = _resources.now()
    st.session_state[f"_now_{form}"] = now
    return now


def stored(form: str, build: Callable[[], Sequence[NewEntry]], by_name: str) -> Pressed | None:
    """The save that holds exactly what the form holds now, None where it is not stored or where any of it was voided since."""
    last: Pressed | None = st.session_state.get(_key(form))
    if last is None or not last.stored:
        return None
    try:
        same = _mark(form, build(), by_name) == last.mark
    except FluidappError:
        return None
    if not same:
        return None
    if any(_resources.store().entry(entry).voided_by for entry in last.stored):
        forget(form)
        return None
    return last


def store(form: str, entries: Sequence[NewEntry], by_name: str) -> None:
    """Stores the entries in one transaction. The same content pressed again after a failure keeps its id and its time."""
    now = st.session_state.get(f"_now_{form}")
    mark = _mark(form, entries, by_name)
    last: Pressed | None = st.session_state.get(_key(form))
    if last is None or last.mark != mark:
        last = Pressed(uuid.uuid4().hex, mark, now or _resources.now())
    st.session_state[_key(form)] = last
    rows = tuple(entry.model_copy(update={"at": last.at}) if entry.at == now else entry for entry in entries)
    try:
        done = _resources.store().record(Save.made(id=last.id, entries=rows, by_name=by_name), now_utc=_resources.now())
    except RecordsProblem:
        raise  # it may be stored all the same: the next press has to find out
    except FluidappError:
        forget(form)
        raise
    st.session_state[_key(form)] = replace(last, stored=done.entry_ids)


def forget(form: str) -> None:
    """The next press is a save of its own."""
    st.session_state.pop(_key(form), None)


def _key(form: str) -> str:
    return f"_pressed_{form}"


def _mark(form: str, entries: Sequence[NewEntry], by_name: str) -> str:
    """A name for what the form holds; a time that only means "now" is left out of it."""
    now = st.session_state.get(f"_now_{form}")
    said = [[e.machine, e.meter_h, None if e.at == now else e.at.isoformat(), content(e.doc)] for e in entries]
    return hashlib.sha256(json.dumps([by_name, said], sort_keys=True).encode()).hexdigest()
