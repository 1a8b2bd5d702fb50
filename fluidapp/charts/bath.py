"""The grease bath laid flat: a bar for each depth, the earlier depth as a line, the machine's band behind."""

from collections.abc import Callable

import altair as alt
import pandas as pd

from fluidapp.calc.bath_picture import BathPicture
from fluidapp.charts import INK

WALL, GREASE, BEFORE, BAND, TEXT = "#7A8794", "#4C9FD0", "#D55E00", "#009E73", 13


def bath(picture: BathPicture, view: Callable[[float], float], unit: str, ink: str = INK) -> alt.LayerChart:
    """The pan with its walls. view : mm in the unit that the person reads, whose name is ``unit``. ink : colour of the words."""
    count = len(picture.places)
    top = view(picture.top_mm)
    x = alt.X("x:Q", axis=None, scale=alt.Scale(domain=[-0.15, count + 1.05], nice=False))
    y = alt.Y(
        "y:Q", scale=alt.Scale(domain=[0, top], nice=False), axis=alt.Axis(title=f"Depth from the {picture.datum} ({unit})", grid=False)
    )
    layers: list[alt.Chart] = []
    rules = [{"x": p.number - 0.95, "x2": p.number - 0.05, "y": view(p.before_mm), "colour": BEFORE} for p in picture.places if p.before_mm]
    names = [(picture.before_mm, "before", ""), (picture.low_mm, "lowest", BAND), (picture.high_mm, "highest", BAND)]
    names += [(picture.pinion_mm if (picture.pinion_mm or 0.0) <= picture.top_mm else None, "pinion top", WALL)]
    words: list[dict[str, object]] = []
    for height, word, colour in names:
        if height is not None:
            words.append({"x": count + 0.08, "y": view(height), "text": word})
            if colour:
                rules.append({"x": 0.0, "x2": count + 0.04, "y": view(height), "colour": colour})
    if picture.low_mm is not None and picture.high_mm is not None:
        band = pd.DataFrame([{"x": 0.0, "x2": float(count), "y": view(picture.low_mm), "y2": view(picture.high_mm)}])
        layers.append(
            alt.Chart(band).mark_rect(fill=BAND, fillOpacity=0.16, tooltip=None).encode(x=x, x2=alt.X2("x2:Q"), y=y, y2=alt.Y2("y2:Q"))
        )
    bars = pd.DataFrame([{"x": p.number - 0.85, "x2": p.number - 0.15, "y": 0.0, "y2": view(p.depth_mm)} for p in picture.places])
    bar = alt.Chart(bars).mark_rect(fill=GREASE, fillOpacity=0.75, tooltip=None)
    layers.append(bar.encode(x=x, x2=alt.X2("x2:Q"), y=y, y2=alt.Y2("y2:Q")))
    if rules:
        rule = alt.Chart(pd.DataFrame(rules)).mark_rule(strokeWidth=2.5, strokeDash=[6, 3], tooltip=None)
        layers.append(rule.encode(x=x, x2=alt.X2("x2:Q"), y=y, color=alt.Color("colour:N", scale=None, legend=None)))
    numbers = []
    for place in picture.places:
        above = view(max(place.depth_mm, place.before_mm or 0.0))
        numbers.append({"x": place.number - 0.5, "y": above, "text": f"{view(place.depth_mm):.{0 if unit == 'mm' else 2}f}"})
        numbers.append({"x": place.number - 0.5, "y": 0.0, "text": f"({place.number})"})
    text = alt.Chart(pd.DataFrame(numbers)).mark_text(color=ink, dy=-10, fontSize=TEXT + 1, tooltip=None)
    layers.append(text.encode(x=x, y=y, text=alt.Text("text:N")))
    if words:
        words = _apart(words, 16.0 * top / 215.0)
        beside = alt.Chart(pd.DataFrame(words)).mark_text(color=ink, align="left", baseline="middle", fontSize=TEXT, tooltip=None)
        layers.append(beside.encode(x=x, y=y, text=alt.Text("text:N")))
    pan = pd.DataFrame({"x": [0.0, 0.0, float(count), float(count)], "y": [top, 0.0, 0.0, top], "i": range(4)})
    layers.append(alt.Chart(pan).mark_line(color=WALL, strokeWidth=4, tooltip=None).encode(x=x, y=y, order=alt.Order("i:Q")))
    drawn: alt.LayerChart = alt.layer(*layers).properties(width=340, height=230).configure_view(strokeWidth=0)
    return drawn


def _apart(words: list[dict[str, object]], least: float) -> list[dict[str, object]]:
    """The words from below upwards, each at least ``least`` above the one before."""
    placed: list[dict[str, object]] = []
    for word in sorted(words, key=lambda w: float(str(w["y"]))):
        low = float(str(placed[-1]["y"])) + least if placed else 0.0
        placed.append({**word, "y": max(float(str(word["y"])), low)})
    return placed
