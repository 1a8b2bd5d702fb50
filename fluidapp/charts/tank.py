"""The tank with its marks and its level."""

from collections.abc import Callable

import altair as alt
import pandas as pd

from fluidapp.calc.picture import Loop, TankPicture

EVEN = {"left": 2, "right": 2, "top": 2, "bottom": 2}  # px; the page's own would take height away, and circles would be oval
EDGE, LABELS, LINE = 12, 112, 10  # px: round the tank, for the litres beside it, of a mark outside the wall
LOWEST, HIGHEST = 130, 300  # px
WALL, OIL, MARK = "#7A8794", "#4C9FD0", "#D55E00"


def tank(picture: TankPicture, words: Callable[[float], str], width: int = 320) -> alt.LayerChart:
    """An upright cut: walls, oil, marks with their litres, the surface; one scale for both ways, so that what is round looks round.

    words : litres as text, in the reader's unit. width : of the whole [px].
    """
    xs = [x for loop in picture.walls for x, _ in loop]
    left, right = min(xs), max(xs)
    wide, high = max(right - left, 1.0), max(picture.high_mm - picture.low_mm, 1.0)
    mm = max(wide / (width - EDGE - LABELS), high / (HIGHEST - 2 * EDGE))  # of a pixel
    height = max(high / mm + 2 * EDGE, LOWEST)
    low = picture.low_mm - (height * mm - high) / 2
    x = alt.X("x:Q", axis=None, scale=alt.Scale(domain=[left - EDGE * mm, left + (width - EDGE) * mm], nice=False))
    y = alt.Y(
        "y:Q",
        axis=alt.Axis(title=None, labels=False, ticks=False, grid=False, domain=False),
        scale=alt.Scale(domain=[low, low + height * mm], nice=False, zero=False),
    )
    layers: list[alt.Chart] = []
    for loops, fill, opacity in ((picture.liquid, OIL, 0.55), (picture.solids, WALL, 0.9)):
        if loops:
            layers.append(
                alt.Chart(_frame(loops))
                .mark_line(filled=True, fill=fill, fillOpacity=opacity, strokeWidth=0, tooltip=None)
                .encode(x=x, y=y, detail=alt.Detail("loop:N"), order=alt.Order("i:Q"))
            )
    dash = [1, 0] if picture.drawn else [5, 4]
    layers.append(
        alt.Chart(_frame(picture.walls))
        .mark_line(color=WALL, strokeWidth=3, strokeDash=dash, interpolate="linear-closed", tooltip=None)
        .encode(x=x, y=y, detail=alt.Detail("loop:N"), order=alt.Order("i:Q"))
    )
    if picture.marks:
        marks = pd.DataFrame(
            {
                "y": [m.height_mm for m in picture.marks],
                "x": right - 0.10 * wide,
                "x2": right + LINE * mm,
                "text": [f"{m.label}  {words(m.litres)}" for m in picture.marks],
                "at": right + (LINE + 5) * mm,
                "beside": _apart([m.height_mm for m in picture.marks], 17.0 * mm),
            }
        )
        base = alt.Chart(marks)
        layers.append(base.mark_rule(color=MARK, strokeWidth=3).encode(x=x, x2=alt.X2("x2:Q"), y=y))
        layers.append(
            base.mark_text(align="left", baseline="middle", fontSize=14).encode(
                x=alt.X("at:Q", axis=None), y=alt.Y("beside:Q"), text=alt.Text("text:N"), color=alt.value(MARK)
            )
        )
    surface = pd.DataFrame({"y": [picture.level_mm], "x": [left - EDGE * mm], "x2": [right + LINE * mm]})
    layers.append(alt.Chart(surface).mark_rule(strokeDash=[6, 3], strokeWidth=2, color=OIL).encode(x=alt.X("x:Q"), x2=alt.X2("x2:Q"), y=y))
    drawing: alt.LayerChart = alt.layer(*layers).properties(width=width, height=height, padding=EVEN).configure_view(strokeWidth=0)
    return drawing


def _apart(heights: list[float], least: float) -> list[float]:
    """Heights of labels, in the order of ``heights``, at least ``least`` apart and as near to their marks as that allows."""
    order = sorted(range(len(heights)), key=lambda k: heights[k])
    placed: list[float] = []
    for k in order:
        placed.append(max(heights[k], placed[-1] + least) if placed else heights[k])
    shift = sum(heights[k] - p for k, p in zip(order, placed, strict=True)) / max(len(order), 1)
    result = [0.0] * len(heights)
    for k, p in zip(order, placed, strict=True):
        result[k] = p + shift
    return result


def _frame(loops: tuple[Loop, ...]) -> pd.DataFrame:
    rows = [(k, i, x, y) for k, loop in enumerate(loops) for i, (x, y) in enumerate((*loop, loop[0]))]
    return pd.DataFrame(rows, columns=["loop", "i", "x", "y"])
