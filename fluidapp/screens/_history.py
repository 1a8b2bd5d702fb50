"""The history: which entries are asked for, a page of them as a list in words or as a table, all of them as a file."""

import datetime
from dataclasses import asdict, dataclass

import streamlit as st

from fluidapp.errors import BadInput
from fluidapp.model import Machine
from fluidapp.screens import _parts, _resources
from fluidapp.screens._entry_words import Names, crossed, entry_words, escaped, head
from fluidapp.store import Entry
from fluidapp.store.kinds import MODELS
from fluidapp.store.safe import csv_text

KINDS = tuple(kind for kind in MODELS if kind != "void")  # a void is shown on the entry that it crosses out
PAGE, ROWS = 20, 100
LIST, TABLE = "list", "table"
ENTRY, PART = "entry", "part"  # in the address: the entry that is open, the compartment
COLUMNS = ("time", "machine", "meter_h", "kind", "what", "by", "crossed_out", "id")
_CHOSEN = "_records_filter"


@dataclass(frozen=True, slots=True)
class Filter:
    """What is asked for, as :meth:`fluidapp.store.Store.entries` takes it."""

    machine: str | None
    kinds: tuple[str, ...]
    node: str | None
    since: datetime.datetime | None
    until: datetime.datetime | None
    by: str | None
    live: bool

    def words(self, names: Names) -> str:
        """What is left out, in words; "" where nothing is."""
        days = [f"{word} {at:%Y-%m-%d}" for word, at in (("from", self.since), ("to", self.until)) if at is not None]
        part = names.part(f"{self.machine}/{self.node}", self.machine) if self.node else ""
        kinds = ", ".join(self.kinds) if self.kinds != KINDS else ""
        return "; ".join(text for text in (kinds, part, " ".join(days), f"by {self.by}" if self.by else "") if text)


def ask(machine: Machine | None) -> Filter:
    """The folded filters, each kept in the address. BadInput for a day that is none."""
    parts: dict[str, str] = {}
    if machine:
        parts = {one.key: one.label for group in (machine.compartments, machine.baths, machine.grease_points) for one in group}
    people = _resources.store().names()
    if st.query_params.get(PART) not in parts:
        st.query_params.pop(PART, None)
    _parts.from_address(PART, list(parts), "Compartment", "records_part")
    for key, known in (("records_part", parts), ("records_by", people)):
        if st.session_state.get(key) not in known:
            st.session_state.pop(key, None)
    with st.expander("Filter"):
        kinds = st.multiselect(
            "Kind", KINDS, key="records_kind", placeholder="every kind", persist_state="page", bind="query-params"
        )  # fmt: skip
        part = None
        if parts:
            part = st.selectbox(
                "Compartment, bath or grease point", list(parts), format_func=lambda k: parts.get(k, str(k)), key="records_part",
                index=None, placeholder="all of the machine", persist_state="page", on_change=_parts.cleared, args=(PART, "records_part"),
            )  # fmt: skip
            if part:
                _parts.to_address(PART, part)
        with st.container(horizontal=True, gap="small"):
            since = _day("From day", "records_from")
            until = _day("To day", "records_to")
        by = st.selectbox(
            "By whom", people, key="records_by", index=None, placeholder="everybody", persist_state="page", bind="query-params"
        )  # fmt: skip
        voided = st.checkbox("Crossed out too", key="records_crossed", persist_state="page", bind="query-params")
    end = None if until is None else until + datetime.timedelta(days=1, seconds=-1)
    node = part if machine and part else None
    return Filter(machine.key if machine else None, tuple(kinds) or KINDS, node, since, end, by, not voided)


def _day(label: str, key: str) -> datetime.datetime | None:
    text = st.text_input(
        label, key=key, autocomplete="off", placeholder="2026-05-04", persist_state="page", bind="query-params", width=140
    )  # fmt: skip
    if not (text or "").strip():
        return None
    try:
        return _resources.local(datetime.datetime.strptime(text.strip(), "%Y-%m-%d"))
    except (ValueError, OverflowError, OSError) as err:
        raise BadInput(label, text, "Write it like 2026-05-04.") from err


def show(asked: Filter) -> None:
    """One page of what is asked for, newest first."""
    store, wanted = _resources.store(), asdict(asked)
    if st.session_state.get(_CHOSEN, asked) != asked:
        st.session_state["records_page"] = 1
    st.session_state[_CHOSEN] = asked
    count = store.how_many(**wanted)
    if not count:
        st.info("Nothing like that is recorded." if store.count() else "Nothing is recorded yet. A level check is a good first entry.")
        st.page_link("screens/level.py", label="Level check", query_params={"machine": asked.machine} if asked.machine else None)
        return
    form = st.segmented_control(
        "Shown as", [LIST, TABLE], default=LIST, key="records_as", required=True, persist_state="page", bind="query-params",
        label_visibility="collapsed",
    )  # fmt: skip
    size = PAGE if form == LIST else ROWS
    pages = -(-count // size)
    if not 1 <= st.session_state.get("records_page", 1) <= pages:
        st.session_state["records_page"] = 1
    at = st.container()
    page = 1
    if pages > 1:
        page = st.pagination(pages, max_visible_pages=5, key="records_page", bind="query-params", persist_state="page")
    entries = store.entries(**wanted, limit=size, offset=(page - 1) * size)
    voids = store.by_ids({entry.voided_by for entry in entries if entry.voided_by})
    names = Names.read()
    with at:
        many = "more than 10,000" if count >= 10_000 else f"{count:,}"
        first = (page - 1) * size
        only = asked.words(names)
        st.caption(
            f"{many} {'entries' if count > 1 else 'entry'}, newest first; {first + 1} to {first + len(entries)} are shown."
            + (f" Only {escaped(only)}." if only else "")
        )
        if form == LIST:
            for entry in entries:
                line(entry, voids.get(entry.voided_by or ""), names, asked.machine)
        else:
            rows = [row(entry, voids.get(entry.voided_by or ""), names) for entry in entries]
            st.dataframe([shown(r) for r in rows], hide_index=True, width="stretch", alt="Entries, newest first", key="records_table")
    if form == TABLE:
        st.download_button(
            "All of them as a table (CSV)", data=lambda: as_csv(asked), file_name="records.csv", mime="text/csv", on_click="ignore",
            key="records_csv", width="stretch", icon=":material/download:",
        )  # fmt: skip


def line(entry: Entry, void: Entry | None, names: Names, on: str | None) -> None:
    """One entry in words, and the button that opens it. on : the machine that need not be named."""
    said = escaped(entry_words(entry, names))
    by = f" · {entry.by_name}" if entry.by_name else ""
    text = f":small[{escaped(head(entry, names, on) + by)}]  \n" + (said if void is None else f"~~{said}~~")
    if void is not None:
        text += f"  \n:small[{escaped(crossed(void))}]"
    with st.container(horizontal=True, gap="small", vertical_alignment="center", wrap=False):
        st.markdown(text, width="stretch")
        st.button(
            "Open",
            key=f"records_open_{entry.id}",
            type="tertiary",
            icon=":material/chevron_right:",
            icon_position="right",
            on_click=opens,
            args=(entry.id,),
        )


def opens(entry_id: str | None) -> None:
    """Opens one entry, or goes back to the list."""
    if entry_id is None:
        st.query_params.pop(ENTRY, None)
    else:
        st.query_params[ENTRY] = entry_id


def row(entry: Entry, void: Entry | None, names: Names) -> dict[str, str]:
    """One entry as a row of the file."""
    said = (
        entry.at_local.isoformat(timespec="minutes"), names.machine(entry.machine), "" if entry.meter_h is None else f"{entry.meter_h:g}",
        entry.kind, entry_words(entry, names), entry.by_name, "" if void is None else crossed(void), entry.id,
    )  # fmt: skip
    return dict(zip(COLUMNS, said, strict=True))


def shown(r: dict[str, str]) -> dict[str, str]:
    """The same for the screen: without ids, the time as a clock shows it."""
    return {
        "when": r["time"][:16].replace("T", " "), "what": r["what"], "machine": r["machine"], "meter h": r["meter_h"], "by": r["by"],
        "crossed out": r["crossed_out"],
    }  # fmt: skip


def as_csv(asked: Filter) -> bytes:
    """Everything that is asked for as a table that a spreadsheet opens; no cell is taken for a formula there."""
    store, names = _resources.store(), Names.read()
    entries = store.entries(**asdict(asked))
    voids = {e.id: e for e in store.entries(asked.machine, "void", live=False)} if not asked.live else {}
    return csv_text(COLUMNS, (row(entry, voids.get(entry.voided_by or ""), names) for entry in entries)).encode("utf-8-sig")
