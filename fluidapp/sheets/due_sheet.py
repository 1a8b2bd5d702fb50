"""The due list on paper: one line a task with a box to tick, black and white, with blanks for a pen."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fluidapp.sheets import _page

if TYPE_CHECKING:
    from fpdf import FPDF

HEAD = ("", "Machine, task", "When, why", "Bring", "Done at, h", "On, by")
WIDTHS = (8.0, 62.0, 104.0, 45.0, 24.0, 30.0)
SIZE, LINE = 9.0, 4.0


@dataclass(frozen=True, slots=True)
class Line:
    """One task in words; ``why`` and ``bring`` may be empty."""

    machine: str
    task: str
    when: str
    why: str = ""
    bring: str = ""


@dataclass(frozen=True, slots=True)
class DueSheet:
    """All that stands on the list. asked : which machines and tasks, in words. questions : what is odd about the meters."""

    made_on: str
    asked: str
    lines: tuple[Line, ...]
    questions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def due_sheet_pdf(sheet: DueSheet) -> bytes:
    """The list as a PDF, A4 across, as many pages as it takes; a line never breaks over two pages, the head stands on each."""
    pdf = _page.page("Due list", [f"{sheet.asked}. Made on {sheet.made_on}.", *sheet.notes], [_page.READING], landscape=True)
    _row(pdf, HEAD, 6.0, bold=True)
    for line in sheet.lines:
        texts = ("", f"**{line.machine}**\n{line.task}", f"**{line.when}**" + (f"\n{line.why}" if line.why else ""), line.bring, "", "")
        height = max(9.0, *(_height(pdf, w, t) for w, t in zip(WIDTHS, texts, strict=True)))
        if pdf.will_page_break(height):
            pdf.add_page()
            _row(pdf, HEAD, 6.0, bold=True)
        y = pdf.get_y()
        _row(pdf, texts, height)
        pdf.rect(pdf.l_margin + 1.8, y + 1.8, 4.4, 4.4)
    if not sheet.lines:
        pdf.set_font(_page.FONT, "", 11)
        pdf.multi_cell(0, 8, "Nothing is due.", new_x="LMARGIN", new_y="NEXT")
    _asked(pdf, sheet.questions)
    return _page.done(pdf)


def _height(pdf: "FPDF", width: float, text: str) -> float:
    pdf.set_font(_page.FONT, "", SIZE)
    return float(pdf.multi_cell(width, LINE, text, align="L", padding=1, markdown=True, dry_run=True, output="HEIGHT"))  # type: ignore[arg-type]


def _row(pdf: "FPDF", texts: Sequence[str], height: float, *, bold: bool = False) -> None:
    x, y = pdf.l_margin, pdf.get_y()
    pdf.set_fill_color(*_page.GREY)
    for text, width in zip(texts, WIDTHS, strict=True):
        pdf.rect(x, y, width, height, style="DF" if bold else "D")
        pdf.set_xy(x, y)
        pdf.set_font(_page.FONT, "B" if bold else "", SIZE)
        pdf.multi_cell(width, LINE, text, align="L", padding=1, markdown=not bold)
        x += width
    pdf.set_xy(pdf.l_margin, y + height)


def _asked(pdf: "FPDF", questions: Sequence[str]) -> None:
    """What is odd about the meters: dates by hours are in doubt until it is answered."""
    if not questions:
        return
    pdf.ln(3)
    pdf.set_font(_page.FONT, "B", 11)
    pdf.multi_cell(0, 6, "Questions about the hour meters", new_x="LMARGIN", new_y="NEXT")
    pdf.set_font(_page.FONT, "", 9.5)
    for text in questions:
        pdf.multi_cell(0, 4.6, text, align="L", new_x="LMARGIN", new_y="NEXT")
