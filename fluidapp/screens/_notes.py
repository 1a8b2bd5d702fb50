"""Notes that belong to an entry: a reading, a watch."""

from collections.abc import Collection

import streamlit as st

from fluidapp.errors import BadInput
from fluidapp.screens import _parts, _resources, _saving
from fluidapp.store import Entry, NewEntry
from fluidapp.store.kinds import Note


def about(machine: str | None, ids: Collection[str]) -> list[Entry]:
    """The notes about some entries of a machine, newest first."""
    found = _resources.store().entries(machine, "note")
    return [note for note in found if isinstance(note.doc, Note) and note.doc.about in ids]


def form(machine: str | None, subjects: dict[str, str], place: str) -> None:
    """Adds a note to one of ``subjects``, which are entry ids with what they are called; as of now, by the name given on the screen."""
    if st.session_state.get(f"{place}_about") not in subjects:
        st.session_state.pop(f"{place}_about", None)
    chosen = st.selectbox(
        "About", list(subjects), format_func=lambda i: subjects.get(i, str(i)), key=f"{place}_about", persist_state="page"
    )
    text = st.text_area("Note", key=f"{place}_text", persist_state="page") or ""
    now = _saving.opened(place)

    def build() -> list[NewEntry]:
        if not text.strip():
            raise BadInput("Note", "nothing", "Write what was seen.")
        return [NewEntry.made(doc=Note.made(text=text.strip(), about=chosen), at=now, machine=machine)]

    _parts.save_button(place, "Store the note", build, by_name=st.session_state.get("by_name") or "")
