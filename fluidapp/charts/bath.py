"""The grease bath laid flat: a bar for each depth, the earlier depth as a line, the machine's band behind."""

from collections.abc import Callable

import altair as alt
import pandas as pd

from fluidapp.calc.bath_picture import BathPicture

WALL, GREASE, BEFORE, BAND, TEXT = "#7A8794", "#4C9FD0", "#D55E00", "#009E73", 13


def bath(picture: BathPicture, view: Callable[[float], float], unit: str, ink: str = "#15212B") -> alt.LayerChart:
    """The pan with its walls. view : mm in the unit that the person reads, whose name is ``unit``. ink : colour of the words."""
    count = len(picture.places)
    top = view(picture.top_mm)
    x = alt.X("x:Q", axis=None, scale=alt.Scale(domain=[-0.15, count + 1.05], nice=False))
    y = alt.Y(
        "y:Q", scale=alt.Scale(domain=[0, top], nice=False), axis=alt.Axis(title=f"Depth from the {picture.datum} ({unit})", grid=False)
    )
    layers: list[alt.Chart] = []
    if picture.low_mm is not None and picture.high_mm is not None:
        band = pd.DataFrame([{"x": 0.0, "x2": float(count), "y": view(picture.low_mm), "y2": view(picture.high_mm)}])
        layers.append(alt.Chart(band).mark_rect(fill=BAND, fillOpacity=0.16, tooltip=None).encode(x=x, x2="x2:Q", y=y, y2="y2:Q"))
        for height, word in ((picture.high_mm, "highest"), (picture.low_mm, "lowest")):
            layers += _line(x, y, count, view(height), word, BAND, [2, 2], ink)
    digits = 0 if unit == "mm" else 2
    bars = pd.DataFrame(
        {
            "x": [p.number - 0.85 for p in picture.places],
            "x2": [p.number - 0.15 for p in picture.places],
            "middle": [p.number - 0.5 for p in picture.places],
            "y": 0.0,
            "y2": [view(p.depth_mm) for p in picture.places],
            "clear": [view(max(p.depth_mm, p.before_mm or 0.0)) for p in picture.places],
            "place": [str(p.number) for p in picture.places],
            "text": [f"{view(p.depth_mm):.{digits}f}" for p in picture.places],
        }
    )
    base = alt.Chart(bars)
    layers.append(base.mark_rect(fill=GREASE, fillOpacity=0.75, tooltip=None).encode(x=x, x2="x2:Q", y=y, y2="y2:Q"))
    label = base.mark_text(color=ink, dy=-9, fontSize=TEXT + 1, fontWeight="bold", tooltip=None)
    layers.append(label.encode(x=alt.X("middle:Q", axis=None), y="clear:Q", text="text:N"))
    foot = base.mark_text(color=ink, dy=-9, fontSize=TEXT, tooltip=None)
    layers.append(foot.encode(x=alt.X("middle:Q", axis=None), y=alt.Y("y:Q"), text="place:N"))
    before = [p for p in picture.places if p.before_mm is not None]
    if before:
        rows = pd.DataFrame([{"x": p.number - 0.95, "x2": p.number - 0.05, "y": view(p.before_mm or 0.0)} for p in before])
        rule = alt.Chart(rows).mark_rule(color=BEFORE, strokeWidth=3, strokeDash=[6, 3], tooltip=None)
        layers.append(rule.encode(x=x, x2="x2:Q", y=y))
        layers.append(_word(x, count, view(before[-1].before_mm or 0.0), "before", ink))
    if picture.pinion_mm is not None and picture.pinion_mm <= picture.top_mm:
        layers += _line(x, y, count, view(picture.pinion_mm), "pinion top", WALL, [8, 3], ink)
    pan = pd.DataFrame({"x": [0.0, 0.0, float(count), float(count)], "y": [top, 0.0, 0.0, top], "i": range(4)})
    layers.append(alt.Chart(pan).mark_line(color=WALL, strokeWidth=4, tooltip=None).encode(x=x, y=y, order="i:Q"))
    drawn: alt.LayerChart = alt.layer(*layers).properties(width=340, height=230).configure_view(strokeWidth=0)
    return drawn


def _line(x: alt.X, y: alt.Y, count: int, height: float, word: str, colour: str, dash: list[int], ink: str) -> list[alt.Chart]:
    frame = pd.DataFrame([{"x": 0.0, "x2": count + 0.04, "y": height}])
    rule = alt.Chart(frame).mark_rule(color=colour, strokeDash=dash, strokeWidth=1.5, tooltip=None).encode(x=x, x2="x2:Q", y=y)
    return [rule, _word(x, count, height, word, ink)]


def _word(x: alt.X, count: int, height: float, word: str, ink: str) -> alt.Chart:
    frame = pd.DataFrame([{"x": count + 0.08, "y": height, "text": word}])
    text = alt.Chart(frame).mark_text(color=ink, align="left", baseline="middle", fontSize=TEXT, tooltip=None)
    drawn: alt.Chart = text.encode(x=x, y="y:Q", text="text:N")
    return drawn
