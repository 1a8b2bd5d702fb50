"""The cut of a tank on paper: walls, oil up to the target, marks with their litres."""

from typing import TYPE_CHECKING

from fluidapp.calc.figure import about
from fluidapp.calc.picture import TankPicture
from fluidapp.sheets import _page

if TYPE_CHECKING:
    from fpdf import FPDF

LABELS = 26.0  # mm to the right of the tank for the marks' words


def draw(pdf: "FPDF", picture: TankPicture, x: float, y: float, width: float, height: float) -> None:
    """Draws ``picture`` into a rectangle [mm on the page]; true to scale, height and width alike."""
    xs = [point[0] for loop in picture.walls for point in loop]
    left, wide = min(xs), max(max(xs) - min(xs), 1.0)
    high = max(picture.high_mm - picture.low_mm, 1.0)
    scale = min((width - LABELS) / wide, height / high)
    foot = y + (height + high * scale) / 2

    def place(point: tuple[float, float]) -> tuple[float, float]:
        return x + (point[0] - left) * scale, foot - (point[1] - picture.low_mm) * scale

    pdf.set_fill_color(*_page.GREY)
    for loop in picture.liquid:
        pdf.polygon([place(point) for point in loop], style="F")
    pdf.set_line_width(0.6)
    if not picture.drawn:
        pdf.set_dash_pattern(2, 1.5)
    for loop in picture.walls:
        pdf.polygon([place(point) for point in loop], style="D")
    pdf.set_dash_pattern()
    pdf.set_line_width(0.3)
    for loop in picture.solids:
        pdf.polygon([place(point) for point in loop], style="D")
    pdf.set_font(_page.FONT, "", 9)
    edge = place((left + wide, picture.low_mm))[0]
    heights = [place((left, mark.height_mm))[1] for mark in picture.marks]
    for mark, at, beside in zip(picture.marks, heights, apart(heights, 4.2), strict=True):
        pdf.line(edge - 6, at, edge + 2, at)
        pdf.line(edge + 2, at, edge + 4, beside)
        pdf.text(edge + 5, beside + 1.2, f"{mark.label} {about(mark.litres)}")
    pdf.set_line_width(0.2)


def apart(heights: list[float], least: float) -> list[float]:
    """Places for labels, in the order of ``heights``, at least ``least`` apart and as near to their marks as that allows."""
    order = sorted(range(len(heights)), key=lambda k: heights[k])
    placed: list[float] = []
    for k in order:
        placed.append(max(heights[k], placed[-1] + least) if placed else heights[k])
    shift = sum(heights[k] - p for k, p in zip(order, placed, strict=True)) / max(len(order), 1)
    found = [0.0] * len(heights)
    for k, p in zip(order, placed, strict=True):
        found[k] = p + shift
    return found
