"""A level watch: readings with their ±, the line and its band over the watch's clock."""

from collections.abc import Callable
from typing import cast

import altair as alt
import pandas as pd

from fluidapp.calc.watch.picture import WatchPicture
from fluidapp.charts import INK

DOT, ODD, LINE, MARK = "#4C9FD0", "#D55E00", "#7A8794", "#CC79A7"


def watch(picture: WatchPicture, to_unit: Callable[[float], float], unit: str, ink: str = INK) -> alt.LayerChart:
    """The trend. to_unit : litres into the person's unit, named ``unit``. ink : colour of the words."""
    x = alt.X("hour:Q", title=f"{picture.clock} (h)", scale=alt.Scale(zero=False, nice=False, padding=14))
    y_title = f"In it ({unit})"
    y = alt.Y("litres:Q", title=y_title, scale=alt.Scale(zero=False))
    layers: list[alt.Chart] = []
    if picture.line:
        frame = pd.DataFrame(
            [(t, to_unit(v), to_unit(low), to_unit(high)) for t, v, low, high in picture.line], columns=["hour", "litres", "low", "high"]
        )
        base = alt.Chart(frame)
        layers.append(
            base.mark_area(color=DOT, opacity=0.22, tooltip=None).encode(
                x=x, y=alt.Y("low:Q", title=y_title, scale=alt.Scale(zero=False)), y2=alt.Y2("high:Q")
            )
        )
        layers.append(base.mark_line(color=DOT, strokeWidth=2, tooltip=None).encode(x=x, y=y))
    dots = pd.DataFrame(
        [(d.hour, to_unit(d.volume_l), to_unit(d.low_l), to_unit(d.high_l), "fits" if d.fits else "does not fit") for d in picture.dots],
        columns=["hour", "litres", "low", "high", "word"],
    )
    points = alt.Chart(dots)
    tips = [alt.Tooltip("hour:Q", format=".1f", title="hours"), alt.Tooltip("litres:Q", format=".1f", title=unit), "word:N"]
    layers.append(
        points.mark_rule(color=LINE, strokeWidth=1.5, tooltip=None).encode(x=x, y=alt.Y("low:Q", title=y_title), y2=alt.Y2("high:Q"))
    )
    layers.append(
        points.mark_point(filled=True, size=70, opacity=1).encode(
            x=x, y=y, tooltip=tips,
            color=alt.condition("datum.word === 'fits'", alt.value(LINE), alt.value(ODD)),
            shape=alt.condition("datum.word === 'fits'", alt.value("circle"), alt.value("diamond")),
        )
    )  # fmt: skip
    if picture.low_mark_l is not None:
        mark = pd.DataFrame([{"litres": to_unit(picture.low_mark_l), "text": "low mark"}])
        layers.append(alt.Chart(mark).mark_rule(color=MARK, strokeDash=[6, 4], strokeWidth=2, tooltip=None).encode(y=y))
        layers.append(
            alt.Chart(mark)
            .mark_text(color=ink, align="left", dx=4, dy=-8, tooltip=None, fontSize=13)
            .encode(x=alt.value(0), y=y, text=alt.Text("text:N"))
        )
    return cast("alt.LayerChart", alt.layer(*layers).properties(height=260))
