"""The monthly report of a fleet: where to look first, the ranking as bars, charts of what changed, flows, stock, used oil and cost."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fluidapp.calc.consumption import NOTHING, UsePicture, day_words
from fluidapp.sheets import _page

if TYPE_CHECKING:
    from fpdf import FPDF

Rows = Sequence[Mapping[str, str]]
CHART_MM = 27.0
BAR = (170, 170, 170)
BAND = (214, 214, 214)


@dataclass(frozen=True, slots=True)
class Bar:
    """One group of the ranking: its name, its figure as text, the period before as text, the word for it, and its share of the largest."""

    name: str
    text: str
    before: str
    word: str
    share: float


@dataclass(frozen=True, slots=True)
class MonthlyReport:
    """All that stands on it. charts : a title and its picture each; the tables as rows of text; today : a day count."""

    site: str
    month: str
    made_on: str
    today: float
    first: tuple[str, ...]
    bars: tuple[Bar, ...]
    charts: tuple[tuple[str, UsePicture], ...]
    went: tuple[str, ...]
    flows: Rows
    stock: Rows
    used: tuple[str, ...]
    costs: Rows
    cost: str
    notes: tuple[str, ...]


def monthly_report_pdf(report: MonthlyReport) -> bytes:
    """The report as a PDF of A4 pages."""
    of = f" of {report.site}" if report.site else ""
    pdf = _page.page(f"Oil{of}, {report.month}", [f"Made on {report.made_on} from the records."])
    _head(pdf, "Look at first")
    for line in report.first or (NOTHING,):
        _text(pdf, f"• {line}")
    if report.bars:
        _head(pdf, "Top-ups by machine, L/100 h")
        _text(pdf, "In brackets the month before, and how this month stands against it.", 9)
        for bar in report.bars:
            _bar(pdf, bar)
    for title, picture in report.charts:
        _chart(pdf, title, picture, report.today)
    _head(pdf, "Where it went")
    for line in report.went:
        _text(pdf, line)
    _rows(pdf, report.flows)
    _head(pdf, "Stock")
    _rows(pdf, report.stock)
    _head(pdf, "Used oil")
    for line in report.used:
        _text(pdf, line)
    _head(pdf, "Cost")
    _text(pdf, report.cost)
    _rows(pdf, report.costs)
    for line in report.notes:
        _text(pdf, line, 8.5)
    return _page.done(pdf)


def _head(pdf: "FPDF", text: str) -> None:
    _room(pdf, 20)
    pdf.ln(3)
    _text(pdf, text, 13, "B")
    pdf.ln(1)


def _text(pdf: "FPDF", text: str, size: float = 10.5, style: Literal["", "B"] = "") -> None:
    pdf.set_font(_page.FONT, style, size)
    pdf.multi_cell(0, size * 0.48, text, align="L", new_x="LMARGIN", new_y="NEXT")


def _room(pdf: "FPDF", height: float) -> None:
    """A new page where less than ``height`` [mm] is left."""
    if pdf.will_page_break(height):
        pdf.add_page()


def _bar(pdf: "FPDF", bar: Bar) -> None:
    """Name and figures above, a grey bar below."""
    _room(pdf, 9)
    pdf.set_font(_page.FONT, "", 9.5)
    before = f" ({bar.before}, {bar.word})" if bar.before != "–" else ""
    pdf.cell(0, 4.5, f"{bar.name}: {bar.text}{before}", new_x="LMARGIN", new_y="NEXT")
    pdf.set_fill_color(*BAR)
    pdf.rect(pdf.l_margin, pdf.get_y(), max(0.3, pdf.epw * min(1.0, max(0.0, bar.share))), 2.4, style="F")
    pdf.ln(4)


def _rows(pdf: "FPDF", rows: Rows) -> None:
    """Rows as a table as wide as the page; each column as wide as its longest text asks."""
    if not rows:
        return
    cells = [list(rows[0]), *([*row.values()] for row in rows)]
    longest = [max(8, *(len(line[k]) for line in cells)) for k in range(len(cells[0]))]
    widths = [pdf.epw * n / sum(longest) for n in longest]
    _room(pdf, 6.0 * len(cells) + 2)
    _page.table(pdf, cells, widths, 6.0)
    pdf.ln(2)


def _chart(pdf: "FPDF", title: str, picture: UsePicture, today: float) -> None:
    """Points of one compartment, its usual band, the change as a frame, the alarm as a dashed line, the picture in words below."""
    if not picture.dots:
        return
    _room(pdf, CHART_MM + 24)
    _text(pdf, f"{title}, L/100 h", 11, "B")
    pdf.ln(2)
    left, top, width = pdf.l_margin + 10, pdf.get_y(), pdf.epw - 12
    days = [d.day for d in picture.dots]
    first = min(days[0], picture.change[0] if picture.change else days[0])
    span = max(days[-1] - first, 1.0)
    most = max(max(d.rate for d in picture.dots), max((d.high for d in picture.dots if picture.usual), default=0.0), 1e-9) * 1.1

    def x(day: float) -> float:
        return left + 3 + (width - 6) * (day - first) / span

    def y(rate: float) -> float:
        return top + CHART_MM * (1.0 - min(max(rate, 0.0), most) / most)

    if picture.usual is not None:
        pdf.set_fill_color(*BAND)
        for d in picture.dots:
            pdf.rect(x(d.day) - 1.2, y(d.high), 2.4, y(d.low) - y(d.high), style="F")
        pdf.line(left, y(picture.usual[0]), left + width, y(picture.usual[0]))
    pdf.rect(left, top, width, CHART_MM)
    if picture.change is not None:
        pdf.rect(x(picture.change[0]), top, x(picture.change[1]) - x(picture.change[0]), CHART_MM)
    if picture.alarm is not None:
        pdf.set_dash_pattern(dash=1.5, gap=1)
        pdf.line(x(picture.alarm), top, x(picture.alarm), top + CHART_MM)
        pdf.set_dash_pattern()
    pdf.set_fill_color(0, 0, 0)
    for d in picture.dots:
        pdf.circle(x(d.day), y(d.rate), 0.9 if d.word == "within the band" else 1.4, style="F")
    pdf.set_font(_page.FONT, "", 8)
    for rate in (0.0, most / 1.1):
        pdf.text(pdf.l_margin, y(rate) + (0.0 if rate == 0 else 2.5), f"{rate:.2g}")
    pdf.text(left, top + CHART_MM + 4, day_words(first, today))
    newest = day_words(days[-1], today)
    pdf.text(left + width - pdf.get_string_width(newest), top + CHART_MM + 4, newest)
    pdf.set_y(top + CHART_MM + 5.5)
    _text(pdf, picture.text, 9)
    pdf.ln(1)
