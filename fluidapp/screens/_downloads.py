"""Download buttons of printed sheets; each file is made on the click."""

import streamlit as st

from fluidapp.calc import dipchart, picture
from fluidapp.errors import FluidappError
from fluidapp.model import Machine
from fluidapp.screens import _resources
from fluidapp.sheets import dip_chart as sheet
from fluidapp.sheets.level_sheet import level_sheet_pdf


def level_sheet(machine: Machine, screen: str) -> None:
    """The blank level-check sheet of a machine, for days without a laptop."""
    day, name = f"{_resources.now():%Y-%m-%d}", f"{machine.key}-level-check.pdf"
    st.download_button(
        "Blank level-check sheet with the marks (PDF)", data=lambda: level_sheet_pdf(machine, day), file_name=name, mime="application/pdf",
        on_click="ignore", key=f"{screen}_level_sheet", width="stretch",
    )  # fmt: skip


def dip_chart(machine: Machine, part_key: str, gauge: str, step: float | None, screen: str) -> None:
    """The dip chart of one gauge as a card and as a table; why not, where there is none."""
    try:
        chart = dipchart.dip_chart(machine, part_key, gauge, step)
        if len(chart.rows) > sheet.ON_A_CARD:
            st.caption(f"{len(chart.rows)} lines: more than one card holds ({sheet.ON_A_CARD}), so as a table only.")
    except FluidappError as err:
        st.error(str(err))
        return
    part = machine.compartment(part_key)
    scale = part.gauge(gauge)
    aim = scale.bands[0].aim_mm if scale.bands else (chart.rows[0].reading + chart.rows[-1].reading) / 2
    day = f"{_resources.now():%Y-%m-%d}"

    def card() -> bytes:
        return sheet.dip_chart_pdf(chart, day, picture.tank(part, dipchart.as_asked(part, scale.name, aim), aim))

    name = f"{machine.key}-{part_key}-{scale.name.replace(' ', '-')}"
    with st.container(horizontal=True):
        st.download_button(
            "Card (PDF)", data=card, file_name=f"{name}.pdf", mime="application/pdf", on_click="ignore", key=f"{screen}_card",
            disabled=len(chart.rows) > sheet.ON_A_CARD, width="stretch",
        )  # fmt: skip
        st.download_button(
            "Table (CSV)", data=sheet.dip_chart_csv(chart), file_name=f"{name}.csv", mime="text/csv", on_click="ignore",
            key=f"{screen}_csv", width="stretch",
        )  # fmt: skip
    rows = sheet.dip_chart_rows(chart)
    with st.expander("See the lines"):
        st.table(
            [dict(zip(rows[0], cells, strict=True)) for cells in rows[1:]], hide_index=True,
            alt=f"Dip chart of {chart.compartment}, {chart.gauge}: readings with litres, their ± and the marks",
        )  # fmt: skip
