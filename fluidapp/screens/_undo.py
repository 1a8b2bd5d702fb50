"""Taking back what was stored: entries are crossed out by voids and stay readable, one by one or a whole save at once."""

from collections.abc import Sequence

import streamlit as st

from fluidapp.errors import FluidappError
from fluidapp.screens import _resources
from fluidapp.screens._entry_words import Names, entry_words, escaped
from fluidapp.store import Entry, NewEntry, Save
from fluidapp.store.kinds import Void

MANY = 30  # entries of a save, from which on the undo asks once more
_SAID = "_undo_said"


def say(text: str) -> None:
    """Keeps a line about what was stored until something else is: a run that is cut short by the next one must not swallow it."""
    st.session_state[_SAID] = (_resources.store().count(), text)


def said() -> None:
    """Shows that line, as long as it is about the newest entries."""
    kept = st.session_state.get(_SAID)
    if kept is None:
        return
    if kept[0] == _resources.store().count():
        st.success(kept[1], icon=":material/check:")
    else:
        del st.session_state[_SAID]


def cross_out(entries: Sequence[Entry], why: str, by_name: str, save_id: str) -> None:
    """Voids ``entries`` in one save. save_id : the same for the same undo, so that a second press stores nothing more."""
    now = _resources.now()
    voids = tuple(NewEntry.made(doc=Void.made(entry=e.id, reason=why), at=now, machine=e.machine) for e in entries)
    _resources.store().record(Save.made(id=save_id[:80], entries=voids, by_name=by_name), now_utc=now)


def newest(machine: str | None, place: str) -> None:
    """The newest saves (of one machine), and a button that takes one of them back."""
    recent: dict[str, list[Entry]] = {}
    for entry in _resources.store().entries(machine, limit=60):
        if entry.source == "form":
            recent.setdefault(entry.save_id, []).append(entry)
    if not recent:
        return
    with st.expander("Undo a save"):
        keys = list(recent)[:5]
        words = {k: _words(recent[k]) for k in keys}
        chosen = st.selectbox("Which save", keys, format_func=lambda k: words.get(k, str(k)), key=f"{place}_undo", persist_state="page")
        if chosen in recent:
            whole_save(chosen, place)


def _words(entries: list[Entry]) -> str:
    count = f"{len(entries)} entries" if len(entries) > 1 else "1 entry"
    return f"{entries[0].at_local:%Y-%m-%d %H:%M}, {entries[0].by_name or 'no name'}, {count}"


def whole_save(save_id: str, place: str) -> None:
    """What is still standing of a save, and the button that crosses all of it out."""
    entries = _resources.store().entries(save=save_id)
    if not entries:
        st.caption("Nothing of this save is left standing.")
        return
    names = Names.read()
    st.markdown("\n".join(f"* {escaped(entry_words(entry, names))}" for entry in reversed(entries[-MANY:])))
    if _resources.store().entries(save=save_id, kinds="void", live=False, limit=1):
        st.caption("What this save crossed out stays crossed out: enter what holds as a new entry.")
    sure = True
    if len(entries) > MANY:
        st.caption(f"These are the first {MANY} of {len(entries)} entries.")
        sure = st.checkbox(f"Yes, all {len(entries)} of them", key=f"{place}_undo_sure_{save_id}")
    why = st.text_input("Why", key=f"{place}_undo_why", autocomplete="off", persist_state="page") or ""
    st.caption("Nothing is deleted: the entries stay readable, crossed out.")
    # the button is another one for each save: a second tap does not undo the save before it
    if not st.button("Undo this save", key=f"{place}_undo_save_{save_id}", width="stretch", disabled=not sure):
        return
    try:
        cross_out(entries, why.strip() or "undone", st.session_state.get("by_name") or "", f"undo-{save_id}")
    except FluidappError as err:
        st.error(str(err))
        return
    say(f"{len(entries)} {'entries' if len(entries) > 1 else 'entry'} crossed out; they stay readable ({_words(entries)}).")
    st.rerun()
