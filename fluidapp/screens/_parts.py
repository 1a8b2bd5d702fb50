"""Pieces that several screens show: the head, the pickers, the answer, the budget, the save."""

import datetime
from collections.abc import Callable, Iterable, Sequence
from typing import Literal

import altair as alt
import streamlit as st

from fluidapp.calc import budget
from fluidapp.errors import BadInput, FluidappError, Unknown
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _resources, _saving, _state
from fluidapp.screens.words import CAUTIONS
from fluidapp.store import NewEntry

MACHINE = "machine"


def head(title: str, question: str, caution: str | None = None) -> None:
    """Title, the question that this screen answers, the demo's banner, and the cautions of its task."""
    banner_at = st.container()
    st.title(title, anchor=False)
    st.caption(question)
    if caution:
        first, rest = CAUTIONS[caution]
        with st.expander(f":material/warning: {first}"):
            st.markdown("\n".join(f"* {line}" for line in rest))
    here = _resources.site()
    if here and here.invented:
        banner_at.caption(f"**Demo**: an invented quarry, today {here.today}")


def pick_machine() -> Machine:
    """The machine that the person works on, kept from screen to screen and in the address; stops where there is none."""
    machine = any_machine("Choose a machine")
    if machine is None:
        st.info("Choose the machine that you stand at.")
        st.stop()
    return machine


def need_machines() -> list[Machine]:
    """All machines; stops where none is entered yet."""
    machines = _resources.machines()
    if not machines:
        st.info("No machine is entered yet. Look at the invented quarry with `fluidapp demo`, or enter your first machine.")
        st.page_link("screens/machines.py", label="Machines", icon=":material/agriculture:")
        st.stop()
    return machines


def any_machine(none: str) -> Machine | None:
    """The same where it may be left open; stops where no machine is entered. none : what stands in the box then."""
    machines = {m.key: m for m in need_machines()}
    try:
        from_address(MACHINE, list(machines), "Machine")
    except FluidappError as err:
        st.error(str(err))
    _state.keep(MACHINE)
    with st.container(horizontal=True, gap="small"):
        key = st.selectbox(
            "Machine", list(machines), format_func=lambda k: machines[k].label if k in machines else str(k), key=MACHINE,
            index=None, placeholder=none, persist_state="session", width=228, on_change=cleared, args=(MACHINE, MACHINE),
        )  # fmt: skip
        _state.units_box()
    if key is None:
        return None
    to_address(MACHINE, key)
    return machines[key]


def cleared(name: str, key: str) -> None:
    """When a box changes: what was taken out of it does not come back from the address."""
    if st.session_state.get(key) is None and name in st.query_params:
        del st.query_params[name]


def pick_compartment(machine: Machine, screen: str, fits: Callable[[Compartment], bool] = lambda c: bool(c.gauges)) -> Compartment:
    """A compartment of the machine that can be read; stops where there is none."""
    parts = {c.key: c for c in machine.compartments if fits(c)}
    if not parts:
        st.info(f"{machine.label} has no compartment with a gauge yet: enter one on Machines.")
        st.stop()
    try:
        from_address("part", list(parts), "Compartment", f"{screen}_part")
    except FluidappError as err:
        st.error(str(err))
    if st.session_state.get(f"{screen}_part") not in parts:
        st.session_state.pop(f"{screen}_part", None)
    key = st.selectbox("Compartment", list(parts), format_func=lambda k: parts[k].label, key=f"{screen}_part", persist_state="page")
    to_address("part", key)
    return parts[key]


def answer(label: str, figure: str, below: Sequence[str] = ()) -> None:
    """The answer, large, and the lines that belong to it."""
    st.metric(label, figure, border=True)
    for line in below:
        st.markdown(line)


def remarks(lines: Iterable[str]) -> None:
    """What has to be said with the answer, the first most important."""
    for line in lines:
        st.info(line)


def budget_table(lines: Sequence[budget.Line]) -> None:
    """Where the ± comes from, largest first, each with what would shrink it."""
    show = _state.show()
    with st.expander("Where the ± comes from"):
        st.table(
            [
                {
                    "from": line.name,
                    "±": show.plus_minus(line.u_l, line.dof),
                    "measured": "yes" if line.measured else "assumed",
                    "to shrink it": line.hint,
                }
                for line in lines
            ],
            hide_index=True,
            alt="Each source of doubt with its 95 % half-width, largest first",
        )
        st.caption("Each ± is a 95 % half-width. They add as squares, so only the largest lines matter.")


def ink() -> str:
    """Colour of words in a picture: the text colour of the theme that is on."""
    return "#EEF3F6" if st.context.theme.type == "dark" else "#060E14"


def chart(drawing: "alt.Chart | alt.LayerChart", text: str, key: str, width: Literal["stretch", "content"] = "stretch") -> None:
    """A chart with its text alternative; ``width`` "content" keeps a round picture round."""
    st.altair_chart(drawing, key=key, alt=text, width=width)


def who_and_when(screen: str, *, metered: bool = True) -> tuple[str, datetime.datetime, float | None]:
    """Name, time and hour meter of an entry; the time defaults to now and may be earlier (readings from paper).

    metered : whether it has an hour meter at all; a delivery has none.
    """
    name = who()
    now = _saving.opened(screen)
    typed = st.text_input(
        "When (empty: now)", key=f"{screen}_when", autocomplete="off", placeholder=now.strftime("%Y-%m-%d %H:%M"), persist_state="page"
    )
    meter = _state.number_box("Hour meter (h; empty: not read)", f"{screen}_meter") if metered else None
    return name, _when(typed or "", now), meter


def who() -> str:
    """The name of the person who enters something, kept from screen to screen."""
    _state.keep("by_name")
    return (st.text_input("Your name", key="by_name", autocomplete="off", persist_state="session") or "").strip()


def save_button(
    screen: str, label: str, build: Callable[[], Sequence[NewEntry]], by_name: str = "", key: str | None = None, *, bold: bool = True
) -> bool:
    """A button that stores what ``build`` makes in one transaction, and says so, or says why not; True where it was stored just now.

    Once exactly this is stored, the button gives way to a line that says so, and to one that stores the same once more.
    key : of the button, where a press that was meant for an earlier state of the screen must not count. bold : whether it is what
    comes next.
    """
    before = _saving.stored(screen, build, by_name)
    if before is not None:
        st.caption(f"Already stored at {before.at:%Y-%m-%d %H:%M}. Change it to store something else; *Undo a save* is on Records.")
        if not st.button("Store the same once more", key=f"{screen}_again_{before.id[:8]}", width="stretch"):
            return False
        _saving.forget(screen)
    elif not st.button(label, key=key or f"{screen}_save", type="primary" if bold else "secondary", width="stretch"):
        return False
    try:
        _saving.store(screen, build(), by_name)
    except FluidappError as err:
        st.error(str(err))
        return False
    st.success("Stored in the records.", icon=":material/check:")
    st.page_link("screens/records.py", label="See the records", query_params={MACHINE: st.session_state.get(MACHINE) or ""})
    return True


def next_steps(links: Sequence[tuple[str, str, dict[str, str]]]) -> None:
    """Where the work goes on: (screen file, words, query parameters)."""
    st.divider()
    st.caption("Next")
    for page, label, query in links:
        st.page_link(page, label=label, icon=":material/arrow_forward:", query_params=dict(query), width="stretch")


def from_address(name: str, known: list[str], kind: str, key: str | None = None) -> None:
    """Takes a choice over from the address, once for each new address; Unknown for a key that is not listed."""
    asked = st.query_params.get(name)
    if asked is None or (st.session_state.get(f"_address_{name}") == asked and st.session_state.get(key or name) is not None):
        return
    st.session_state[f"_address_{name}"] = asked
    if asked not in known:
        raise Unknown(kind, asked, known)
    st.session_state[key or name] = asked


def to_address(name: str, key: str) -> None:
    """Keeps a choice in the address."""
    st.session_state[f"_address_{name}"] = key
    if st.query_params.get(name) != key:
        st.query_params[name] = key


def _when(text: str, now: datetime.datetime) -> datetime.datetime:
    if not text.strip():
        return now
    for form in ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d"):
        try:
            return _resources.local(datetime.datetime.strptime(text.strip(), form))
        except (ValueError, OverflowError, OSError):
            continue
    raise BadInput("When", text, "Write it like 2026-05-04 06:30.")
