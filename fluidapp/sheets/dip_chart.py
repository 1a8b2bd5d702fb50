"""The dip chart on paper and as a table: mm and inches to litres and US gallons, with ± and marks."""

import csv
import io
from typing import TYPE_CHECKING

from fluidapp import units
from fluidapp.calc.dipchart import DipChart, Row
from fluidapp.calc.figure import figure
from fluidapp.calc.picture import TankPicture
from fluidapp.sheets import _page

if TYPE_CHECKING:
    from fpdf import FPDF

HEAD = ("mm", "in", "L", "US gal", "± L", "mark")


def dip_chart_csv(chart: DipChart) -> str:
    """The chart as CSV: a point as decimal mark, one head line, the unit in each name."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    scale = "level_percent" if chart.unit == "%" else "level_mm"
    writer.writerow([scale, "level_in", "volume_l", "volume_us_gal", "plus_minus_95_l", "mark"])
    for row in chart.rows:
        mm, inch, litres, gal, doubt, mark = _cells(row, chart.unit)
        writer.writerow([mm, inch, litres, gal, doubt, mark])
    return out.getvalue()


def dip_chart_pdf(chart: DipChart, date: str, picture: TankPicture | None = None) -> bytes:
    """The chart on one page: litres beside the marks, the tank's cut, what it holds for, machine and date."""
    pdf = _page.page(f"Dip chart: {chart.machine}", [f"{chart.compartment}, {chart.gauge}. Made on {date}.", *chart.holds_for])
    top = pdf.get_y()
    rows = [_cells(row, chart.unit) for row in chart.rows]
    half = (len(rows) + 1) // 2 if len(rows) > 34 else len(rows)
    height = min(6.4, max(3.6, (pdf.h - 18 - top - 8 - 16) / (half + 1)))
    head = (chart.unit, *HEAD[1:])
    width = 15.5
    for block, part in enumerate(filter(None, (rows[:half], rows[half:]))):
        _table(pdf, head, part, pdf.l_margin + block * (6 * width + 4), top, width, height)
    if picture is not None and len(rows) == half:
        _draw(pdf, picture, pdf.l_margin + 6 * width + 8, top, pdf.w - pdf.r_margin - (pdf.l_margin + 6 * width + 8), 70)
    pdf.set_y(top + (half + 1) * height + 3)
    pdf.set_font(_page.FONT, "", 9)
    pdf.multi_cell(0, 4.4, f"± is the 95 % half-width of one reading taken as above. {_page.FIRST}", new_x="LMARGIN", new_y="NEXT")
    return _page.done(pdf)


def _cells(row: Row, unit: str) -> tuple[str, ...]:
    shown = figure(row.volume_l, row.u_l, row.dof)
    gal = float(units.convert("volume", row.volume_l, "L", "US gal", "volume"))
    inch = "" if unit == "%" else f"{float(units.convert('level', row.reading, 'mm', 'in', 'length')):.2f}"
    litres = f"{row.volume_l:.{max(1, shown.decimals)}f}"
    return f"{row.reading:g}", inch, litres, f"{gal:.{max(1, shown.decimals)}f}", f"{shown.half:.{shown.decimals}f}", row.mark


def _table(pdf: "FPDF", head: tuple[str, ...], rows: list[tuple[str, ...]], x: float, y: float, width: float, height: float) -> None:
    size = min(10.5, height * 2.0)
    for i, cells in enumerate([head, *rows]):
        marked = i == 0 or bool(cells[-1])
        pdf.set_font(_page.FONT, "B" if marked else "", size)
        pdf.set_xy(x, y + i * height)
        if marked:
            pdf.set_fill_color(225, 225, 225)
        for cell in cells:
            pdf.cell(width, height, cell, border="B", align="R", fill=marked)


def _draw(pdf: "FPDF", picture: TankPicture, x: float, y: float, width: float, height: float) -> None:
    xs = [point[0] for loop in picture.walls for point in loop]
    left, wide = min(xs), max(max(xs) - min(xs), 1.0)
    high = max(picture.high_mm - picture.low_mm, 1.0)
    scale = min((width - 22) / wide, height / high)

    def place(point: tuple[float, float]) -> tuple[float, float]:
        return x + (point[0] - left) * scale, y + height - (point[1] - picture.low_mm) * scale

    pdf.set_line_width(0.6)
    for loop in picture.walls:
        pdf.polygon([place(point) for point in loop], style="D")
    pdf.set_line_width(0.3)
    for loop in picture.solids:
        pdf.polygon([place(point) for point in loop], style="D")
    pdf.set_font(_page.FONT, "", 9)
    for mark in picture.marks:
        at = place((left + wide, mark.height_mm))
        pdf.line(at[0] - 6, at[1], at[0] + 3, at[1])
        pdf.text(at[0] + 4, at[1] + 1.2, f"{mark.label} {mark.litres:.0f} L")
    pdf.set_line_width(0.2)
