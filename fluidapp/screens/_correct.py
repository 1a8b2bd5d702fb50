"""One entry of the records: as it was entered, what was said about it, and how it is crossed out or replaced."""

import datetime
from collections.abc import Callable, Sequence

import streamlit as st

from fluidapp.errors import BadInput, FluidappError
from fluidapp.screens import _correct_fields, _history, _notes, _parts, _resources, _saving, _undo
from fluidapp.screens._entry_words import Names, crossed, entry_words, escaped, head
from fluidapp.store import Entry, NewEntry
from fluidapp.store.kinds import Void

REPLACE, CROSS, WHOLE = "Correct it", "Cross it out", "Undo its whole save"


def show(entry: Entry) -> None:
    """The open entry. Raises what the boxes refuse."""
    names = Names.read()
    st.button("Back to the list", key="records_back", icon=":material/arrow_back:", on_click=_history.opens, args=(None,))
    with st.container(border=True):
        said = escaped(entry_words(entry, names))
        st.markdown(
            f"{escaped(head(entry, names))}  \n**{said}**" if entry.voided_by is None else f"{escaped(head(entry, names))}  \n~~{said}~~"
        )
        came = {"form": "on a screen", "cli": "by command", "import": f"from the file {entry.file}"}[entry.source]
        by = f" by {entry.by_name}" if entry.by_name else ""
        st.caption(escaped(f"Entered {entry.made:%Y-%m-%d %H:%M} UTC{by}, {came}."))
        for note in _notes.about(entry.machine, (entry.id,)):
            st.markdown(f"* {escaped(entry_words(note, names))}")
    if entry.voided_by is not None:
        void = _resources.store().entry(entry.voided_by)
        st.info(f"This entry counts no more: {escaped(crossed(void))}.")
        for other in _resources.store().entries(save=void.save_id):
            st.markdown(f"Entered in its place: {escaped(entry_words(other, names))}")
        return
    if entry.kind == "void":
        st.info("A crossing-out stands: enter what holds as a new entry.")
        return
    what = st.segmented_control(
        "What is wrong with it", [REPLACE, CROSS, WHOLE], key=f"records_what_{entry.id}", persist_state="page", width="stretch"
    )  # fmt: skip
    if what == WHOLE:
        _undo.whole_save(entry.save_id, f"records_{entry.id}")
    elif what == CROSS:
        why = st.text_input("Why", key=f"records_why_{entry.id}", autocomplete="off", persist_state="page") or ""
        name, _, _ = _who(entry, when=False)
        _button(entry, "Cross it out", lambda: [_void(entry, why)], name, "Crossed out; it stays readable.")
    elif what == REPLACE:
        _replace(entry)


def _replace(entry: Entry) -> None:
    """The fields of the entry with what was entered; the old entry and the new one go into one save."""
    st.caption("Change what is wrong. The old entry stays readable, crossed out; the rest of it is taken over.")
    made = _correct_fields.ask(entry)
    name, at, meter = _who(entry)
    why = st.text_input("Why (empty: corrected)", key=f"records_why_{entry.id}", autocomplete="off", persist_state="page") or ""

    def build() -> list[NewEntry]:
        doc = made()
        if (doc, at, meter) == (entry.doc, entry.at_local, entry.meter_h):
            raise BadInput("Correction", "nothing changed", "Change what is wrong, or cross the entry out.")
        return [_void(entry, why or "corrected"), NewEntry.made(doc=doc, at=at, machine=entry.machine, meter_h=meter)]

    _button(entry, "Store the correction", build, name, "Corrected: the new entry counts, the old one is crossed out.")


def _who(entry: Entry, when: bool = True) -> tuple[str, datetime.datetime, float | None]:
    """Name, time and meter, filled with the old ones. An untouched time is the old one to the second, with its offset."""
    form, shown = f"fix_{entry.id}", f"{entry.at_local:%Y-%m-%d %H:%M}"
    if not when:
        return _parts.who(), _saving.opened(form), None
    if f"_filled_{form}" not in st.session_state:
        st.session_state[f"_filled_{form}"] = True
        st.session_state[f"{form}_when"] = shown
        st.session_state[f"{form}_meter"] = "" if entry.meter_h is None else f"{entry.meter_h:.10g}"
    name, at, meter = _parts.who_and_when(form)
    typed = (st.session_state.get(f"{form}_when") or "").strip()
    return name, entry.at_local if typed == shown else at, meter


def _void(entry: Entry, why: str) -> NewEntry:
    if not why.strip():
        raise BadInput("Why", "nothing", "Say in a word what is wrong with it.")
    now = st.session_state.get(f"_now_fix_{entry.id}") or _resources.now()
    return NewEntry.made(doc=Void.made(entry=entry.id, reason=why.strip()), at=now, machine=entry.machine)


def _button(entry: Entry, label: str, build: Callable[[], Sequence[NewEntry]], name: str, said: str) -> None:
    """Stores what ``build`` makes in one save and says so on the next run, over the list."""
    if not st.button(label, key=f"records_fix_{entry.id}", type="primary", width="stretch"):
        return
    try:
        _saving.store(f"fix_{entry.id}", build(), name)
    except FluidappError as err:
        st.error(str(err))
        return
    _undo.say(said)
    _history.opens(None)
    st.rerun()
