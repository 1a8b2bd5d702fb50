"""What every printed sheet shares: the font, the head, the foot. Black and white, large type, one page where it can be."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fpdf import FPDF

FONTS = Path(__file__).parent.parent / "static" / "fonts"
FONT = "sheet"
FIRST = "The maker's manual, site rules, local codes and licensed people come before this sheet."


def page(title: str, lines: Sequence[str] = (), *, landscape: bool = False) -> "FPDF":
    """A new A4 page with its title and the lines below it; compressed, with the sheet's own font inside."""
    from fpdf import FPDF

    pdf = FPDF(orientation="landscape" if landscape else "portrait", format="A4")
    pdf.set_margin(12)
    pdf.set_auto_page_break(True, margin=14)
    for style, name in (("", "DejaVuSansCondensed.ttf"), ("B", "DejaVuSansCondensed-Bold.ttf")):
        pdf.add_font(FONT, style, FONTS / name)
    pdf.set_title(title)
    pdf.add_page()
    pdf.set_font(FONT, "B", 20)
    pdf.multi_cell(0, 9, title, new_x="LMARGIN", new_y="NEXT")
    pdf.set_font(FONT, "", 11)
    for line in lines:
        pdf.multi_cell(0, 5.5, line, new_x="LMARGIN", new_y="NEXT")
    pdf.ln(2)
    return pdf


def caution(pdf: "FPDF", lines: Sequence[str]) -> None:
    """A framed caution, the maker's manual first."""
    pdf.set_font(FONT, "B", 11)
    pdf.multi_cell(0, 6, "\n".join([*lines, FIRST]), border=1, padding=2, new_x="LMARGIN", new_y="NEXT")
    pdf.ln(2)


def done(pdf: "FPDF") -> bytes:
    """The finished file."""
    return bytes(pdf.output())
