"""Consumption: ranked bars of groups, and what one compartment took in each interval with its usual band, alarm and change.

One hue; what stands out has another shape and a word.
"""

import datetime
from collections.abc import Callable, Sequence
from typing import NamedTuple, cast

import altair as alt
import pandas as pd

from fluidapp.calc.consumption.picture import UsePicture
from fluidapp.charts import INK

HUE, LINE = "#4C9FD0", "#7A8794"
ROW = 48


class Bar(NamedTuple):
    """One group: its name, its figure with the ends of its 95 % range, and the figure as text."""

    name: str
    value: float
    low: float
    high: float
    text: str


def bars(rows: Sequence[Bar], title: str, ink: str = INK) -> alt.LayerChart:
    """Bars in the order given, with their ± as lines; the names stand above the bars, so that they fit on a phone."""
    frame = pd.DataFrame([{**row._asdict(), "at": k} for k, row in enumerate(rows)])
    frame["end"] = frame["high"].clip(lower=frame["value"])
    y = alt.Y("at:O", axis=None, scale=alt.Scale(paddingInner=0.6, paddingOuter=0.35))
    scale = alt.Scale(domain=[min(0.0, float(frame["low"].min())), float(frame["end"].max()) or 1.0], nice=True)
    x = alt.X("value:Q", title=title, scale=scale)
    base = alt.Chart(frame)
    tips = [alt.Tooltip("name:N", title=" "), alt.Tooltip("text:N", title=title)]
    layers = (
        base.mark_bar(color=HUE, opacity=0.75, cornerRadiusEnd=2).encode(x=x, y=y, tooltip=tips),
        base.mark_rule(color=ink, strokeWidth=2, tooltip=None).encode(x=alt.X("low:Q", title=title, scale=scale), x2=alt.X2("high:Q"), y=y),
        base.mark_text(align="left", baseline="bottom", dy=-9, dx=2, color=ink, fontSize=13, tooltip=None).encode(
            x=alt.value(0), y=y, text=alt.Text("label:N")
        ),
    )
    frame["label"] = frame["name"] + ": " + frame["text"]
    return cast("alt.LayerChart", alt.layer(*layers).properties(height=max(80, ROW * len(rows) + 60)))


def use(picture: UsePicture, per_l: Callable[[float], float], unit: str, ink: str = INK) -> alt.LayerChart:
    """What each interval took, over the days. per_l : litres into the person's unit, named ``unit``."""
    title = f"{unit}/100 h"
    frame = pd.DataFrame(
        [
            {
                "day": _date(d.day), "rate": per_l(d.rate), "low": per_l(d.low), "high": per_l(d.high), "word": d.word,
                "hours": d.hours, "litres": per_l(d.litres),
            }
            for d in picture.dots
        ]
    )  # fmt: skip
    first = min(picture.dots[0].day, picture.change[0] if picture.change else picture.dots[0].day)
    length = picture.dots[-1].day - first
    pad = max(15.0, 0.04 * length)
    months = alt.TimeIntervalStep("month", max(1, round((length + 2 * pad) / 30.0 / 5.0)))
    x_scale = alt.Scale(domain=[_date(first - pad).isoformat(), _date(picture.dots[-1].day + pad).isoformat()], nice=False)
    x = alt.X("day:T", title=None, scale=x_scale, axis=alt.Axis(labelOverlap="greedy", format="%b %Y", tickCount=months))
    top = max(1.3 * max(frame["rate"].max(), frame["high"].max() if picture.usual else 0.0), 1e-9)
    y = alt.Y("rate:Q", title=title, scale=alt.Scale(domain=[min(0.0, float(frame["rate"].min())), float(top)], nice=False))
    layers: list[alt.Chart] = []
    if picture.change is not None:
        span = pd.DataFrame([{"a": _date(picture.change[0]), "b": _date(picture.change[1]), "text": "change"}])
        layers.append(alt.Chart(span).mark_rect(color=LINE, opacity=0.2, tooltip=None).encode(x=alt.X("a:T", title=None), x2=alt.X2("b:T")))
        layers.append(_above(span, "a", ink, 12))
    if picture.usual is not None:
        band = alt.Chart(frame)
        layers.append(
            band.mark_bar(color=HUE, opacity=0.25, width=9, tooltip=None).encode(x=x, y=alt.Y("low:Q", title=title), y2=alt.Y2("high:Q"))
        )
        usual = pd.DataFrame([{"rate": per_l(picture.usual[0])}])
        layers.append(alt.Chart(usual).mark_rule(color=HUE, strokeWidth=2, tooltip=None).encode(y=y))
    if picture.alarm is not None:
        alarm = pd.DataFrame([{"a": _date(picture.alarm), "text": "alarm"}])
        layers.append(
            alt.Chart(alarm).mark_rule(color=ink, strokeDash=[5, 4], strokeWidth=1.5, tooltip=None).encode(x=alt.X("a:T", title=None))
        )
        layers.append(_above(alarm, "a", ink, 28))
    tips = [
        alt.Tooltip("day:T", title="to", format="%Y-%m-%d"), alt.Tooltip("litres:Q", title=unit, format=".1f"),
        alt.Tooltip("hours:Q", format=".0f"), alt.Tooltip("rate:Q", title=title, format=".2f"), "word:N",
    ]  # fmt: skip
    inside = "datum.word !== 'above the band' && datum.word !== 'below the band'"
    layers.append(
        alt.Chart(frame)
        .mark_point(filled=True, opacity=1)
        .encode(
            x=x, y=y, tooltip=tips,
            color=alt.condition(inside, alt.value(HUE), alt.value(ink)),
            shape=alt.condition(inside, alt.value("circle"), alt.value("diamond")),
            size=alt.condition(inside, alt.value(70), alt.value(130)),
        )
    )  # fmt: skip
    return cast("alt.LayerChart", alt.layer(*layers).properties(height=280))


def _above(frame: pd.DataFrame, field: str, ink: str, y: int) -> alt.Chart:
    """A word beside an upright line; towards the left, since lines stand near the newest day."""
    words = alt.Chart(frame).mark_text(align="right", dx=-4, color=ink, fontSize=13, tooltip=None)
    return cast("alt.Chart", words.encode(x=alt.X(f"{field}:T", title=None), y=alt.value(y), text=alt.Text("text:N")))


def _date(day: float) -> datetime.datetime:
    return datetime.datetime.fromordinal(int(day)) + datetime.timedelta(days=day % 1.0)
