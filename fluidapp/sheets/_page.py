"""What every printed sheet shares: the font, the head, the caution, tables. Black and white, large type, one page where it can be."""

import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fpdf import FPDF
    from fpdf.fonts import TTFFont

FONTS = Path(__file__).parent.parent / "static" / "fonts"
FONT = "sheet"
FIRST = "The maker's manual, site rules, local codes and licensed people come before this sheet."
READING = "Attachment down, engine off, isolated. Oil may be hot and under pressure: open the breather slowly."
GREY = (228, 228, 228)


def page(title: str, lines: Sequence[str] = (), cautions: Sequence[str] = (), *, landscape: bool = False) -> "FPDF":
    """A new A4 page with its title, the framed cautions, and the lines below them; compressed, with the sheet's own font inside."""
    from fpdf import FPDF
    from fpdf.fonts import TTFFont

    pdf = FPDF(orientation="landscape" if landscape else "portrait", format="A4")
    pdf.set_margin(12)
    pdf.set_auto_page_break(True, margin=12)
    for style, name in (("", "DejaVuSansCondensed.ttf"), ("B", "DejaVuSansCondensed-Bold.ttf")):
        pdf.add_font(FONT, style, FONTS / name)
    for font in pdf.fonts.values():
        if isinstance(font, TTFFont):
            _read_whole(font)
    pdf.set_title(title)
    pdf.add_page()
    pdf.set_font(FONT, "B", 20)
    pdf.multi_cell(0, 9, title, align="L", new_x="LMARGIN", new_y="NEXT")
    if cautions:
        caution(pdf, cautions)
    pdf.set_font(FONT, "", 11)
    for line in lines:
        pdf.multi_cell(0, 5.5, line, align="L", new_x="LMARGIN", new_y="NEXT")
    pdf.ln(2)
    return pdf


def caution(pdf: "FPDF", lines: Sequence[str]) -> None:
    """A framed caution, with the sentence that the maker's manual comes first."""
    pdf.set_font(FONT, "B", 10)
    pdf.multi_cell(0, 5, " ".join([*lines, FIRST]), align="L", border=1, padding=2, new_x="LMARGIN", new_y="NEXT")
    pdf.ln(2)


def table(pdf: "FPDF", rows: Sequence[Sequence[str]], widths: Sequence[float], height: float, *, bold: Sequence[int] = (0,)) -> None:
    """A table at the present place: line under each row, figures to the right, the rows in ``bold`` grey; text shrinks to its cell."""
    x, y = pdf.get_x(), pdf.get_y()
    size = min(11.0, height * 1.9)
    pdf.set_fill_color(*GREY)
    for i, cells in enumerate(rows):
        pdf.set_xy(x, y + i * height)
        strong = i in bold
        for cell, below, width in zip(cells, rows[-1] if i == 0 else cells, widths, strict=True):
            fit(pdf, cell, width - 1.5, "B" if strong else "", size)
            pdf.cell(width, height, cell, border="B", align="R" if _figure(below) else "L", fill=strong)
    pdf.set_xy(x, y + len(rows) * height)


def fit(pdf: "FPDF", text: str, width: float, style: str, size: float) -> None:
    """Sets the font so that ``text`` fits into ``width`` [mm], not below 5 pt."""
    pdf.set_font(FONT, style, size)
    while size > 5.0 and pdf.get_string_width(text) > width:
        size -= 0.25
        pdf.set_font(FONT, style, size)


def _figure(text: str) -> bool:
    return text[:1].isdigit() or text[:1] in "-–+±"


def done(pdf: "FPDF") -> bytes:
    """The finished file."""
    return bytes(pdf.output())


def _read_whole(font: "TTFFont") -> None:
    """Puts the font file into memory and closes it: else it stays open until the page is collected, finished or not."""
    reader = font.ttfont.reader
    with reader.file as file:
        file.seek(0)
        reader.file = io.BytesIO(file.read())
