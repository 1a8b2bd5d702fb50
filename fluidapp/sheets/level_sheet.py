"""A blank level-check sheet for days without a laptop: the marks with their litres, and lines to write readings into."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fluidapp.calc import dipchart, level
from fluidapp.calc.figure import about
from fluidapp.errors import FluidappError
from fluidapp.model import Machine, Percent
from fluidapp.sheets import _page

if TYPE_CHECKING:
    from fpdf import FPDF

LINES = 12
HEAD = ("compartment", "gauge", "reading at L", "target", "H", "litres at L", "target", "H", "10 mm are")
BLANK = ("date, time", "hour meter", "compartment", "reading, unit", "oil temp.", "slope along / across", "posture ok", "poured", "by")


@dataclass(frozen=True, slots=True)
class MarkRow:
    """The marks of one gauge: its readings at L, target and H, the litres there, and what 10 mm (1 %) are, all as text."""

    compartment: str
    gauge: str
    readings: tuple[str, str, str]
    litres: tuple[str, str, str]
    per_step: str

    @property
    def cells(self) -> tuple[str, ...]:
        """One line of the table."""
        return self.compartment, self.gauge, *self.readings, *self.litres, self.per_step


def mark_rows(machine: Machine) -> list[MarkRow]:
    """One line for each gauge of the machine, the first band of its marks; what cannot be told is a dash."""
    rows = []
    for part in machine.compartments:
        for gauge in part.gauges:
            unit = "%" if isinstance(gauge, Percent) else "mm"
            readings = litres = ("–", "–", "–")
            marks = dipchart.marks_of(part, gauge.name)[:3]
            if marks:
                readings = tuple(f"{at:g} {unit}" for _, at in marks)  # type: ignore[assignment]
            try:
                chart = dipchart.dip_chart(machine, part.key, gauge.name)
                step = f"{chart.per_step_l:.3g} L" + (" a %" if unit == "%" else "")
                if marks:
                    known = level.marks(part, gauge.name)
                    litres = tuple(about(x) for x in (known.low_l, known.target_l, known.high_l))  # type: ignore[assignment]
            except FluidappError:
                step = "–"
            name = f"{gauge.name}, below the lip" if gauge.kind == "level plug" else gauge.name
            rows.append(MarkRow(part.label, name, readings, litres, step))
    return rows


def level_sheet_pdf(machine: Machine, date: str) -> bytes:
    """One page for a clip board: cautions, the mark table of every gauge, blank lines to be typed in later."""
    lines = [f"Made on {date}. Read as the marks ask: machine level; reference posture: {machine.posture or 'as the maker asks'}."]
    pdf = _page.page(f"Level check: {machine.label}", lines, [_page.READING], landscape=True)
    pdf.set_auto_page_break(False)
    rows = mark_rows(machine)
    wide = pdf.w - pdf.l_margin - pdf.r_margin
    widths = [wide * share for share in (0.17, 0.17, 0.1, 0.09, 0.09, 0.1, 0.09, 0.09, 0.1)]
    height = min(7.0, max(4.2, 62.0 / (len(rows) + 1)))
    _page.table(pdf, [HEAD, *(row.cells for row in rows)], widths, height)
    pdf.ln(4)
    pdf.set_font(_page.FONT, "", 10)
    pdf.multi_cell(
        0,
        5,
        "Nothing on the gauge? Write “dry”, “below” or “above”. Type the lines in later, with the time they were taken.",
        align="L",
        new_x="LMARGIN",
        new_y="NEXT",
    )
    pdf.ln(1)
    _blank(pdf, wide)
    return _page.done(pdf)


def _blank(pdf: "FPDF", wide: float) -> None:
    """The lines to write into, as many as still fit, boxed."""
    shares = (0.13, 0.1, 0.16, 0.12, 0.09, 0.14, 0.08, 0.09, 0.09)
    x, y = pdf.l_margin, pdf.get_y()
    height = 9.0
    count = min(LINES, int((pdf.h - 11 - y - 6.5) / height))
    pdf.set_fill_color(*_page.GREY)
    pdf.set_xy(x, y)
    for name, share in zip(BLANK, shares, strict=True):
        _page.fit(pdf, name, share * wide - 1.5, "B", 10)
        pdf.cell(share * wide, 6.5, name, border=1, align="C", fill=True)
    for line in range(max(count, 1)):
        pdf.set_xy(x, y + 6.5 + line * height)
        for share in shares:
            pdf.cell(share * wide, height, "", border=1)
