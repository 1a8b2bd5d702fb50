"""Pours and the line through them."""

from typing import cast

import altair as alt
import numpy as np
import pandas as pd

from fluidapp.calc.calibration import Calibration
from fluidapp.calc.figure import half_width

LINE, ODD, BAND = "#0072B2", "#D55E00", 0.18


def calibration(
    found: Calibration, volume: str = "L", length: str = "mm", per_volume: float = 1.0, per_length: float = 1.0
) -> alt.LayerChart:
    """Rise of the gauge over litres poured: readings with their ±, the line of the pours with its 95 % band, what else tells.

    volume, length : names of the units to show; per_volume, per_length : how many of them are 1 L and 1 mm.
    """
    most = max(p.litres for p in found.points) * 1.04
    ends = np.array([0.0, most])
    slope, u_slope = 1 / found.pours_l, found.u_pours_l / found.pours_l**2
    x = alt.X("litres:Q", title=f"poured ({volume})", scale=alt.Scale(nice=False, domain=[-0.02 * most * per_volume, most * per_volume]))
    y_title = f"gauge rose by ({length})"
    line = pd.DataFrame({"litres": ends * per_volume, "rise": ends * slope * per_length})
    half = half_width(u_slope, found.dof_pours)
    line["low"], line["high"] = (ends * max(slope - half, 0.0) * per_length, ends * (slope + half) * per_length)
    layers: list[alt.Chart] = [
        alt.Chart(line).mark_area(color=LINE, opacity=BAND, tooltip=None).encode(x=x, y=alt.Y("low:Q", title=y_title), y2=alt.Y2("high:Q")),
        alt.Chart(line).mark_line(color=LINE, strokeWidth=2, tooltip=None).encode(x=x, y=alt.Y("rise:Q")),
    ]
    if found.other_l:
        told = pd.DataFrame({"litres": ends * per_volume, "rise": ends / found.other_l * per_length})
        layers.append(
            alt.Chart(told).mark_line(color="#7A8794", strokeDash=[6, 4], strokeWidth=2, tooltip=None).encode(x=x, y=alt.Y("rise:Q"))
        )
    points = pd.DataFrame(
        {
            "litres": [p.litres * per_volume for p in found.points],
            "rise": [p.rise_mm * per_length for p in found.points],
            "low": [(p.rise_mm - 2 * p.u_mm) * per_length for p in found.points],
            "high": [(p.rise_mm + 2 * p.u_mm) * per_length for p in found.points],
            "word": ["does not fit" if p.odd else "reading" for p in found.points],
            "reading": [p.reading for p in found.points],
        }
    )
    look = alt.Scale(domain=["reading", "does not fit"])
    base = alt.Chart(points)
    layers.append(base.mark_rule(strokeWidth=1.5).encode(x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q"), color=alt.value("#7A8794")))
    layers.append(
        base.mark_point(filled=True, size=90).encode(
            x=x,
            y=alt.Y("rise:Q"),
            color=alt.Color("word:N", scale=alt.Scale(domain=look.domain, range=[LINE, ODD]), legend=None),
            shape=alt.Shape("word:N", scale=alt.Scale(domain=look.domain, range=["circle", "cross"]), legend=None),
            tooltip=[
                alt.Tooltip("reading:Q", title="reading", format=".1f"),
                alt.Tooltip("litres:Q", title=f"poured ({volume})", format=".2f"),
                alt.Tooltip("word:N", title="it"),
            ],
        )
    )
    return cast("alt.LayerChart", alt.layer(*layers).properties(height=260))


def text(found: Calibration) -> str:
    """The picture in words."""
    odd = sum(p.odd for p in found.points)
    other = f", dashed the {found.told_by} with {found.other_l:.3g}" if found.other_l else ""
    fits = f"{odd} of {len(found.points)} readings do not fit" if odd else f"all {len(found.points)} readings lie about it"
    return f"Rise of the {found.gauge} over litres poured: the line means {found.pours_l:.3g} L per mm{other}; {fits}."
