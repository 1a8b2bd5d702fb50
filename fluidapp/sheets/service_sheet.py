"""The service sheet: one page for one machine, black and white, large type, with blanks for a pen."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fluidapp.sheets import _page

if TYPE_CHECKING:
    from fpdf import FPDF

SIZES = (11.5, 11.0, 10.5, 10.0, 9.5, 9.0, 8.5, 8.0, 7.5)  # of the steps [pt]: the largest with which all fits on one page
WIDTHS = (45.0, 65.0, 19.0, 19.0, 19.0, 19.0)
HEAD = ("Compartment, product", "Mark, plan", "Before", "Drained", "Added", "After")
FILL = ("Date", "Hour meter, or “not read”", "Oil temperature", "Done by")


@dataclass(frozen=True, slots=True)
class Row:
    """One compartment: its name, its product, and what is planned for it, or its marks."""

    compartment: str
    product: str
    plan: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step in the order of the work, and what is written down for it."""

    text: str
    confirm: Literal["tick", "litres", "reading"] = "tick"
    source: str = ""


@dataclass(frozen=True, slots=True)
class ServiceSheet:
    """All that stands on the sheet; ``bring`` and ``notes`` may be empty, as on a blank one."""

    machine: str
    job: str
    made_on: str
    cautions: tuple[str, ...]
    rows: tuple[Row, ...]
    steps: tuple[Step, ...]
    bring: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def service_sheet_pdf(sheet: ServiceSheet) -> bytes:
    """The sheet as a PDF of one A4 page; the type of the steps shrinks until all of it fits, never below 7.5 pt."""
    for size in SIZES:
        pdf = _drawn(sheet, size)
        if pdf.page == 1:
            break
    return _page.done(pdf)


def _drawn(sheet: ServiceSheet, size: float) -> "FPDF":
    pdf = _page.page(f"Service sheet: {sheet.machine}")
    pdf.set_y(pdf.get_y() - 2)
    made = f" Made on {sheet.made_on}." if sheet.made_on else ""
    _text(pdf, f"{sheet.job}{made}", 11)
    _frame(pdf, sheet.cautions, min(size, 9.5) - 0.5)
    _blanks(pdf, FILL)
    if sheet.bring:
        _text(pdf, "Bring", 12, "B")
        for line in sheet.bring:
            _text(pdf, f"▢ {line}", size)
        pdf.ln(1)
    _rows(pdf, sheet.rows, size)
    _text(pdf, "In the order of the work", 12, "B")
    for i, step in enumerate(sheet.steps, start=1):
        _step(pdf, i, step, size)
    for line in sheet.notes:
        _text(pdf, line, min(size, 10.0))
    sources = dict.fromkeys(step.source for step in sheet.steps if step.source)
    if sources:
        pdf.ln(0.8)
        _text(pdf, f"Sources of the steps: {'; '.join(sources)}.", 6.5)
    pdf.ln(1.5)
    _blanks(pdf, ("Leak class, bottle no.", "Used oil handed over, L", "Signature"))
    return pdf


def _text(pdf: "FPDF", text: str, size: float, style: Literal["", "B"] = "") -> None:
    pdf.set_font(_page.FONT, style, size)
    pdf.multi_cell(0, size * 0.45, text, align="L", new_x="LMARGIN", new_y="NEXT")


def _frame(pdf: "FPDF", cautions: Sequence[str], size: float) -> None:
    """The cautions, each with its source, in one frame; that the maker's manual comes first stands in bold."""
    pdf.ln(1)
    pdf.set_font(_page.FONT, "B", size)
    lines = "\n".join((f"**{_page.FIRST}**", *(f"• {line}" for line in cautions)))
    pdf.set_font(_page.FONT, "", size)
    pdf.multi_cell(0, size * 0.42, lines, align="L", border=1, padding=1, markdown=True, new_x="LMARGIN", new_y="NEXT")
    pdf.ln(2)


def _blanks(pdf: "FPDF", names: Sequence[str]) -> None:
    """A line of blanks, each with its name below it."""
    width = pdf.epw / len(names)
    top = pdf.get_y() + 8
    pdf.set_font(_page.FONT, "", 8)
    for i, name in enumerate(names):
        x = pdf.l_margin + i * width
        pdf.line(x, top, x + width - 4, top)
        pdf.text(x, top + 3.4, name)
    pdf.set_y(top + 5.5)


def _rows(pdf: "FPDF", rows: Sequence[Row], size: float) -> None:
    """The compartments, with four cells of each left blank for a pen."""
    line = min(size, 10.5) * 0.43
    pdf.set_fill_color(*_page.GREY)
    pdf.set_font(_page.FONT, "B", 9.5)
    for name, width in zip(HEAD, WIDTHS, strict=True):
        pdf.cell(width, 5.5, name, border=1, fill=True)
    pdf.ln(5.5)
    for row in rows:
        texts = ((f"**{row.compartment}**\n{row.product}").strip(), row.plan)
        pdf.set_font(_page.FONT, "", min(size, 10.5))
        heights = [
            float(pdf.multi_cell(w, line, t, align="L", padding=1, markdown=True, dry_run=True, output="HEIGHT"))  # type: ignore[arg-type]
            for w, t in zip(WIDTHS[:2], texts, strict=True)
        ]
        height = max(11.0, *heights)
        if pdf.will_page_break(height):
            pdf.add_page()
        x, y = pdf.l_margin, pdf.get_y()
        for k, width in enumerate(WIDTHS):
            pdf.rect(x, y, width, height)
            if k < 2:
                pdf.set_xy(x, y)
                pdf.multi_cell(width, line, texts[k], align="L", padding=1, markdown=True)
            x += width
        pdf.set_xy(pdf.l_margin, y + height)
    pdf.ln(2)


def _step(pdf: "FPDF", number: int, step: Step, size: float) -> None:
    """A box to tick, the step, and a blank for its litres or its reading."""
    blank = {"tick": 0.0, "litres": 30.0, "reading": 30.0}[step.confirm]
    line = size * 0.43
    pdf.set_font(_page.FONT, "", size)
    width = pdf.epw - 8 - blank
    height = float(pdf.multi_cell(width, line, f"{number}. {step.text}", align="L", dry_run=True, output="HEIGHT"))  # type: ignore[arg-type]
    if pdf.will_page_break(height + 1.2):
        pdf.add_page()
    y = pdf.get_y()
    box = min(4.2, size * 0.42)
    pdf.rect(pdf.l_margin, y + 0.3, box, box)
    pdf.set_xy(pdf.l_margin + 7, y)
    pdf.multi_cell(width, line, f"{number}. {step.text}", align="L")
    if blank:
        right = pdf.l_margin + pdf.epw
        pdf.line(right - blank + 2, y + line + 0.6, right - 9, y + line + 0.6)
        pdf.text(right - 8, y + line, "L" if step.confirm == "litres" else "mm")
    pdf.set_xy(pdf.l_margin, y + max(height, box + 0.6) + 1.2)
