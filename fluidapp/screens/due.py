"""Due list: what comes next, and when?"""

import datetime
from collections.abc import Mapping, Sequence

import streamlit as st

from fluidapp.calc import due
from fluidapp.errors import BadInput, FluidappError
from fluidapp.model import Machine, Product
from fluidapp.screens import _due_done, _due_words, _parts, _resources, _state, _tables
from fluidapp.screens._due import Listed
from fluidapp.screens._entry_words import escaped

PAGE = 20  # lines at once


def asked(listed: Listed, machine: Machine | None, today: datetime.date) -> tuple[list[due.Due], str]:
    """The lines by kind, words and order, and what was asked for, in words."""
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        kind = st.selectbox("Kind", list(_due_words.KINDS), key="due_kind", persist_state="session", bind="query-params", width=150)
        order = st.selectbox(
            "Order", [_due_words.BY_DATE, _due_words.BY_MACHINE], key="due_order", persist_state="session", bind="query-params", width=150
        )  # fmt: skip
        state = st.segmented_control(
            "Which", [_due_words.EVERYTHING, _due_words.OVERDUE, _due_words.WITHIN], key="due_which", default=_due_words.EVERYTHING,
            persist_state="session", bind="query-params", required=True,
        )  # fmt: skip
    days = 14.0
    if state == _due_words.WITHIN:
        typed = _state.number_box("Days (empty: 14)", "due_days", bind=True)
        if typed is not None and not 0 <= typed <= 3650:
            raise BadInput("Days", typed, "Enter 0 to 3650.")
        days = days if typed is None else typed
    lines = _due_words.chosen(
        listed, today, machine.key if machine else None, _due_words.KINDS[kind or "all kinds"], state or "", days, order or ""
    )
    which = {_due_words.OVERDUE: "overdue", _due_words.WITHIN: f"due within {days:g} days"}.get(state or "", "all tasks")
    return lines, f"{machine.label if machine else 'All machines'}, {kind or 'all kinds'}, {which}"


def shown(lines: Sequence[due.Due], listed: Listed, products: Mapping[str, Product], one: bool) -> None:
    """The lines in words, a page at a time, each with its way to Service and its button."""
    most = st.session_state.get("_due_most", PAGE)
    open_one = st.session_state.get(_due_done.CHOSEN)
    for d in lines[:most]:
        with st.container(border=True, gap="xsmall"):
            line(d, listed, products, one)
            if open_one == _due_done.name_of(d):
                _due_done.form(d, listed)
    if len(lines) > most:
        st.button(f"Show {min(PAGE, len(lines) - most)} more of {len(lines)}", key="due_more", on_click=more, args=(most,), width="stretch")


def more(most: int) -> None:
    """One page more of the list."""
    st.session_state["_due_most"] = most + PAGE


def line(d: due.Due, listed: Listed, products: Mapping[str, Product], one: bool) -> None:
    """One line: task and machine, when, what it takes, why."""
    machine = listed.machines[d.machine]
    shots = _due_words.counts_shots(d, machine)
    st.page_link(
        "screens/greasing.py" if shots else "screens/service.py", label=f"**{escaped(d.label[:1].upper() + d.label[1:])}**",
        icon=":material/arrow_forward:", query_params={"machine": d.machine}, width="stretch",
    )  # fmt: skip
    brings = _due_words.brings(d, products, _state.show())
    below = " · ".join(escaped(text) for text in ("" if one else machine.label, brings) if text)
    st.markdown(f"**{escaped(_due_words.when(d))}**" + (f"  \n{below}" if below else ""))
    st.caption(escaped(" ".join([_due_words.why(d), *_due_words.remarks(d, listed)])))
    if not shots:
        name = _due_done.name_of(d)
        st.button("Done", key=f"due_done_{name}", on_click=_due_done.choose, args=(name,))


def questions(lines: Sequence[due.Due], listed: Listed, machine: Machine | None) -> None:
    """What is odd about the meters of these machines."""
    keys = [machine.key] if machine else list(dict.fromkeys(d.machine for d in lines))
    odd = [(key, text) for key in keys for text in listed.questions.get(key, ())]
    if not odd:
        return
    st.header("Questions about the hour meters", anchor=False)
    for key, text in odd:
        st.markdown(f"* {escaped(listed.machines[key].label)}: {escaped(text)}")
    st.caption("Dates by hours are in doubt until these are answered: on Records an entry is corrected, a new meter or “broken” entered.")


def taken_along(lines: Sequence[due.Due], listed: Listed, products: Mapping[str, Product], what: str, today: datetime.date) -> None:
    """The list on paper and as a table."""

    def printed() -> bytes:
        from fluidapp.sheets.due_sheet import due_sheet_pdf

        return due_sheet_pdf(_due_words.sheet(lines, listed, products, _state.show(), today, what))

    st.download_button(
        "This list to print (PDF)", data=printed, file_name=f"due-list-{today}.pdf", mime="application/pdf", on_click="ignore",
        key="due_pdf", width="stretch", icon=":material/print:",
    )  # fmt: skip
    _tables.table(
        _due_words.rows(lines, listed, products, _state.show()), "What is due, one line a task", "due", "due-list", folded="As a table"
    )


_parts.head("Due list", "What comes next, and when?")
machine = _parts.any_machine("All machines")
try:
    _due_done.said()
    listed, today, products = _resources.due(), _resources.now().date(), _resources.products()
    lines, what = asked(listed, machine, today)
    st.markdown(f"**{_due_words.counted(lines, today)}**" if lines else "Nothing of that kind is due.")
    if not any(m.tasks or m.grease_points for m in ([machine] if machine else listed.machines.values())):
        st.info("No task is entered yet: Machines, Edit, *Tasks and intervals*.")
    shown(lines, listed, products, one=machine is not None)
    questions(lines, listed, machine)
    if lines:
        taken_along(lines, listed, products, what, today)
    st.caption(
        "Hours or days, whichever comes first; a date by hours follows from how much the machine worked lately, with the range in which 95 "
        "of 100 lie. Hours left are as of the last look at the meter. " + _due_words.TYPICAL
    )
except FluidappError as err:
    st.error(str(err))
here = {"machine": machine.key} if machine else {}
_parts.next_steps([
    ("screens/service.py", "Service: what did I do here?", here), ("screens/machines.py", "Machines: tasks and intervals", here),
    ("screens/records.py", "Records", here),
])  # fmt: skip
