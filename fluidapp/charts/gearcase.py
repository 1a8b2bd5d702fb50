"""The share of hydraulic oil in a gear case: each method with its range, against the limit and what cannot be seen."""

import altair as alt
import pandas as pd

from fluidapp.calc.gearcase_picture import SharePicture
from fluidapp.charts import INK

RANGE, UNSEEN, LIMIT, TEXT = "#1F7DB5", "#7A8794", "#D55E00", 14


def shares(picture: SharePicture, ink: str = INK) -> alt.LayerChart:
    """One line for each method. ink : colour of the words."""
    count = len(picture.rows)
    scale = alt.Scale(domain=[0, picture.right], nice=False, clamp=True)
    axis = alt.Axis(title="Share of hydraulic oil (%)", grid=False)
    x = alt.X("x:Q", scale=scale, axis=axis)
    y = alt.Y("y:Q", axis=None, scale=alt.Scale(domain=[0, count + 0.75], nice=False))
    layers: list[alt.Chart] = []
    words = []
    top = count + 0.45
    if picture.unseen is not None:
        zone = pd.DataFrame([{"x": 0.0, "x2": picture.unseen, "y": 0.0, "y2": count + 0.2}])
        layers.append(
            alt.Chart(zone).mark_rect(fill=UNSEEN, fillOpacity=0.25, tooltip=None).encode(x=x, x2=alt.X2("x2:Q"), y=y, y2=alt.Y2("y2:Q"))
        )
    if picture.limit is not None:
        rule = pd.DataFrame([{"x": picture.limit, "y": 0.0, "y2": count + 0.2}])
        layers.append(
            alt.Chart(rule).mark_rule(color=LIMIT, strokeWidth=3, strokeDash=[7, 4], tooltip=None).encode(x=x, y=y, y2=alt.Y2("y2:Q"))
        )
        left = picture.limit > 0.6 * picture.right
        words.append({"x": picture.limit, "y": top, "text": f"limit at {picture.limit:.1f} %", "left": left})
    spans = [
        {"x": max(row.low, 0.0), "x2": row.high, "y": count - k - 0.65, "middle": row.middle, "method": row.method}
        for k, row in enumerate(picture.rows)
    ]
    frame = pd.DataFrame(spans)
    layers.append(alt.Chart(frame).mark_rule(color=RANGE, strokeWidth=7, opacity=0.55, tooltip=None).encode(x=x, x2=alt.X2("x2:Q"), y=y))
    points = frame[frame["middle"].notna()]
    if len(points):
        layers.append(
            alt.Chart(points)
            .mark_point(color=RANGE, filled=True, size=160, opacity=1, tooltip=None)
            .encode(x=alt.X("middle:Q", scale=scale, axis=axis), y=y)
        )
    names = pd.DataFrame([{"x": 0.0, "y": count - k - 0.25, "text": row.method} for k, row in enumerate(picture.rows)])
    layers.append(
        alt.Chart(names).mark_text(color=ink, align="left", dx=5, fontSize=TEXT, tooltip=None).encode(x=x, y=y, text=alt.Text("text:N"))
    )
    for word in words:
        text = alt.Chart(pd.DataFrame([word])).mark_text(color=ink, align="right" if word["left"] else "left", fontSize=TEXT, tooltip=None)
        layers.append(text.encode(x=x, y=y, text=alt.Text("text:N")))
    drawn: alt.LayerChart = alt.layer(*layers).properties(width=340, height=100 + 60 * count).configure_view(strokeWidth=0)
    return drawn
