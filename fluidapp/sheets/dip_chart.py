"""The dip chart on paper and as a table: mm and inches to litres and US gallons, with ± and marks."""

import csv
import io
import math

from fluidapp import units
from fluidapp.calc.dipchart import DipChart, Row, round_step
from fluidapp.calc.figure import figure
from fluidapp.calc.picture import TankPicture
from fluidapp.errors import BadInput
from fluidapp.sheets import _page, _tank

HEAD = ("mm", "in", "L", "US gal", "± L", "mark")
ON_A_CARD = 132  # lines that can still be read on one page
HIGHEST, LOWEST = 7.5, 4.0  # height of a line [mm]


def dip_chart_csv(chart: DipChart) -> str:
    """The chart as CSV: a point as decimal mark, one head line, the unit in each name."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    percent = chart.unit == "%"
    writer.writerow(["level_percent" if percent else "level_mm", "level_in", "volume_l", "volume_us_gal", "plus_minus_95_l", "mark"])
    for row in chart.rows:
        shown = figure(row.volume_l, row.u_l, row.dof)
        inch = "" if percent else f"{_inches(row.reading):.3f}"
        writer.writerow([f"{row.reading:g}", inch, f"{row.volume_l:.3f}", f"{_gallons(row.volume_l):.3f}", f"{shown.half:g}", row.mark])
    return out.getvalue()


def dip_chart_rows(chart: DipChart) -> list[tuple[str, ...]]:
    """The lines as they are printed, the head first: litres with as many decimals as most of their ±."""
    decimals = sorted(figure(row.volume_l, row.u_l, row.dof).decimals for row in chart.rows)[len(chart.rows) // 2]
    return [(chart.unit, *HEAD[1:]), *(_cells(row, chart.unit, decimals) for row in chart.rows)]


def dip_chart_notes(chart: DipChart) -> list[str]:
    """What the chart is made from and what it holds for, in lines."""
    step = "1 %" if chart.unit == "%" else "10 mm (0.39 in)"
    known = f"Litres from: {chart.known_by}. " if chart.known_by else ""
    return [
        f"Reading in {chart.unit} {chart.counts}.",
        f"About the target {step} are {chart.per_step_l:.3g} L ({_gallons(chart.per_step_l):.2g} US gal).",
        f"{known}± is the 95 % half-width of one reading.",
        *chart.holds_for,
    ]


def dip_chart_pdf(chart: DipChart, date: str, picture: TankPicture | None = None) -> bytes:
    """The chart on one page: marks, what it holds for, the tank's cut, machine and date. BadInput for more lines than fit."""
    if len(chart.rows) > ON_A_CARD:
        least = round_step((chart.rows[-1].reading - chart.rows[0].reading) / (ON_A_CARD - 12))
        raise BadInput("step", f"{len(chart.rows)} lines", f"One card holds {ON_A_CARD}: choose at least {least:g} {chart.unit}.")
    pdf = _page.page(f"Dip chart: {chart.machine}", [f"{chart.compartment}, {chart.gauge}. Made on {date}."], [_page.READING])
    top, wide = pdf.get_y(), pdf.w - pdf.l_margin - pdf.r_margin
    room = 66.0 if picture is not None else 0.0
    pdf.set_font(_page.FONT, "", 9.5)
    pdf.multi_cell(wide - room, 4.8, "\n".join(dip_chart_notes(chart)), align="L", new_x="LMARGIN", new_y="NEXT")
    foot = pdf.get_y()
    if picture is not None:
        _tank.draw(pdf, picture, pdf.w - pdf.r_margin - room + 4, top, room - 4, max(foot - top, 34.0))
        foot = max(foot, top + 34.0)
    top = foot + 3
    rows = dip_chart_rows(chart)
    blocks = 1 if len(rows) <= 26 else (2 if len(rows) <= 78 else 3)
    each = math.ceil(len(chart.rows) / blocks)
    height = min(HIGHEST, max(LOWEST, (pdf.h - 13 - top) / (each + 1)))
    gap = 4.0
    block_wide = (wide - (blocks - 1) * gap) / blocks
    widths = [0.155 * block_wide] * 5 + [0.225 * block_wide]
    pdf.set_auto_page_break(False)
    for block in range(blocks):
        part = chart.rows[block * each : (block + 1) * each]
        pdf.set_xy(pdf.l_margin + block * (block_wide + gap), top)
        bold = [0, *(i + 1 for i, row in enumerate(part) if row.mark)]
        _page.table(pdf, [rows[0], *rows[1 + block * each :][: len(part)]], widths, height, bold=bold)
    return _page.done(pdf)


def _cells(row: Row, unit: str, decimals: int) -> tuple[str, ...]:
    shown = figure(row.volume_l, row.u_l, row.dof)
    inch = "–" if unit == "%" else f"{_inches(row.reading):.2f}"
    litres, gallons = f"{row.volume_l:.{decimals}f}", f"{_gallons(row.volume_l):.{decimals + 1}f}"
    return f"{row.reading:.1f}".removesuffix(".0"), inch, litres, gallons, f"{shown.half:.{shown.decimals}f}", row.mark


def _inches(mm: float) -> float:
    return float(units.convert("level", mm, "mm", "in", "length"))


def _gallons(litres: float) -> float:
    return float(units.convert("volume", litres, "L", "US gal", "volume"))
