"""The slewing ring from above: a sector for each position, with its number, name, word and share of the interval."""

import math

import altair as alt
import pandas as pd

from fluidapp.calc.ring_picture import RingPicture, Sector
from fluidapp.charts import INK

INNER, OUTER, EDGE, NEXT, TEXT = 58, 160, "#7A8794", "#D55E00", 13
SHADES = ((0.2, "#DCEBF4", "#0A1620"), (0.5, "#A9CDE4", "#0A1620"), (0.8, "#5A9BC6", "#04090D"), (1.0, "#0B4F79", "#FFFFFF"))


def ring(picture: RingPicture, ink: str = INK) -> alt.LayerChart:
    """Sectors of one hue, darker the longer ago; the next one has a thick edge and says so. ink : colour of the words outside them."""
    frame = pd.DataFrame([_row(sector) for sector in picture.sectors])
    base = alt.Chart(frame)
    angle = alt.Theta("start:Q", scale=None)
    arcs = base.mark_arc(innerRadius=INNER, outerRadius=OUTER, stroke=EDGE, strokeWidth=2, tooltip=None).encode(
        theta=angle, theta2=alt.Theta2("end:Q"), color=alt.Color("fill:N", scale=None, legend=None)
    )
    coming = alt.Chart(frame[frame["next"]]).mark_arc(
        innerRadius=INNER + 3, outerRadius=OUTER - 3, fillOpacity=0.0, stroke=NEXT, strokeWidth=5, tooltip=None
    )  # fmt: skip
    layers: list[alt.Chart] = [arcs, coming.encode(theta=angle, theta2=alt.Theta2("end:Q"))]
    texts = pd.DataFrame([row for sector in picture.sectors for row in _texts(sector)])
    layers.append(
        alt.Chart(texts)
        .mark_text(fontSize=TEXT, baseline="middle", align="center", tooltip=None)
        .encode(
            x=alt.X("x:Q", axis=None, scale=alt.Scale(domain=[-OUTER - 10, OUTER + 10], nice=False)),
            y=alt.Y("y:Q", axis=None, scale=alt.Scale(domain=[-OUTER - 10, OUTER + 10], nice=False)),
            text=alt.Text("text:N"),
            color=alt.Color("ink:N", scale=None, legend=None),
        )
    )
    middle = pd.DataFrame([{"x": 0.0, "y": 22.0, "text": "▲ front"}, {"x": 0.0, "y": 0.0, "text": "from above"}])
    layers.append(
        alt.Chart(middle).mark_text(color=ink, fontSize=TEXT, tooltip=None).encode(x=alt.X("x:Q"), y=alt.Y("y:Q"), text=alt.Text("text:N"))
    )
    side = 2 * (OUTER + 10)
    drawn: alt.LayerChart = alt.layer(*layers).properties(width=side, height=side).configure_view(strokeWidth=0)
    return drawn


def _row(sector: Sector) -> dict[str, object]:
    fill, _ = _colours(sector)
    return {"start": sector.start, "end": sector.end, "fill": fill, "next": sector.comes_next}


def _texts(sector: Sector) -> list[dict[str, object]]:
    """The lines of a sector, one below the other about its middle."""
    _, ink = _colours(sector)
    lines = (*sector.lines, sector.mark) if sector.comes_next and len(sector.lines) > 2 else sector.lines
    out = (INNER + OUTER) / 2
    x, y = out * math.sin(sector.middle), out * math.cos(sector.middle)
    top = y + 8.0 * (len(lines) - 1)
    return [{"x": x, "y": top - 16.0 * i, "text": line, "ink": ink} for i, line in enumerate(lines)]


def _colours(sector: Sector) -> tuple[str, str]:
    return next((fill, ink) for most, fill, ink in SHADES if sector.shade <= most)
