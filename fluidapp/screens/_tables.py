"""A table with its file: what stands in a chart, as rows that a spreadsheet opens."""

from collections.abc import Sequence

import streamlit as st

from fluidapp.store.safe import csv_text

Rows = Sequence[dict[str, str]]


def csv_bytes(rows: Rows) -> bytes:
    """The rows as a file; no cell is taken for a formula."""
    return csv_text(list(rows[0]) if rows else [], rows).encode("utf-8-sig")


def table(rows: Rows, alt: str, key: str, name: str, *, folded: str | None = None) -> None:
    """The rows, in an expander of that title where ``folded`` gives one, and the button for the file ``name``.csv."""
    with st.expander(folded) if folded else st.container():
        st.dataframe(list(rows), hide_index=True, width="stretch", alt=alt, key=f"{key}_rows")
        st.download_button(
            "This table (CSV)", data=lambda: csv_bytes(rows), file_name=f"{name}.csv", mime="text/csv", on_click="ignore", key=f"{key}_csv",
            icon=":material/download:", width="stretch",
        )  # fmt: skip
