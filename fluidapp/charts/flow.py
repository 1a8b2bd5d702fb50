"""Where the oil went: compartments as boxes, streams as wide as their litres."""

from collections.abc import Callable

import altair as alt
import pandas as pd

from fluidapp.calc.flow import WIDE, Box, FlowPicture, Stream
from fluidapp.charts import INK

EDGE, OPEN, OIL, POUR, DRAIN, TEXT = "#7A8794", "#D55E00", "#4C9FD0", "#009E73", "#CC79A7", 13
COLOURS = {"by itself": OIL, "poured": POUR, "drained": DRAIN}


def flow(picture: FlowPicture, say: Callable[[float, float, float], str], amount: Callable[[float], str], ink: str = INK) -> alt.LayerChart:
    """Boxes with what left or came by itself, streams between them, pours and drains as upright arrows.

    say : litres, u and degrees of freedom as text. amount : litres without ± as text. ink : colour of the words.
    """
    x = alt.X("x:Q", axis=None, scale=alt.Scale(domain=[0, WIDE], nice=False))
    y = alt.Y("y:Q", axis=None, scale=alt.Scale(domain=[picture.high, 0], nice=False, zero=False))
    streams = pd.DataFrame([row for k, stream in enumerate(picture.streams) for row in _outline(k, stream)])
    layers: list[alt.Chart] = [
        alt.Chart(streams)
        .mark_line(filled=True, strokeWidth=0, tooltip=None)
        .encode(
            x=x, y=y, detail=alt.Detail("stream:N"), order=alt.Order("i:Q"), fill=alt.Fill("fill:N", scale=None, legend=None),
            fillOpacity=alt.FillOpacity("opacity:Q", scale=None, legend=None),
        )
    ]  # fmt: skip
    rows = [_row(box, say) for box in picture.boxes]
    for known, edge, dash in ((True, EDGE, [1, 0]), (False, OPEN, [5, 4])):
        some = [row for row, box in zip(rows, picture.boxes, strict=True) if box.known == known]
        if some:
            rect = alt.Chart(pd.DataFrame(some)).mark_rect(
                fill=edge, fillOpacity=0.12, stroke=edge, strokeWidth=2, strokeDash=dash, cornerRadius=4, tooltip=None
            )
            layers.append(rect.encode(x=x, x2=alt.X2("x2:Q"), y=y, y2=alt.Y2("y2:Q")))
    words = [{"x": row["middle"], "y": row["top"], "text": row["shown"]} for row in rows]
    base = alt.Chart(pd.DataFrame(words)).mark_text(
        color=ink, fontSize=TEXT, lineBreak="\n", baseline="middle", lineHeight=16, tooltip=None
    )
    layers.append(base.encode(x=x, y=y, text=alt.Text("text:N")))
    upright = [{"x": s.at[0], "y": s.at[1], "text": f"{s.kind} {amount(s.litres)}"} for s in picture.streams if s.kind != "by itself"]
    if upright:
        marks = alt.Chart(pd.DataFrame(upright)).mark_text(color=ink, fontSize=TEXT, align="left", baseline="middle", tooltip=None)
        layers.append(marks.encode(x=x, y=y, text=alt.Text("text:N")))
    drawn: alt.LayerChart = alt.layer(*layers).properties(width=340, height=picture.high).configure_view(strokeWidth=0)
    return drawn


def _row(box: Box, say: Callable[[float, float, float], str]) -> dict[str, object]:
    amount = say(abs(box.litres), box.u_l, box.dof)
    said = f"{'left' if box.litres >= 0 else 'came in'} {amount}" if box.known else amount
    shown = f"{_wrapped(box.label)}\n{said}"
    top = (box.y + box.y2) / 2 - 8.0 * shown.count("\n")  # the first line stands there, the others 16 px below each other
    return {"x": box.x, "x2": box.x2, "y": box.y, "y2": box.y2, "middle": (box.x + box.x2) / 2, "top": top, "shown": shown}


def _wrapped(label: str, most: int = 17) -> str:
    """The label in lines of at most ``most`` letters, broken at spaces."""
    lines = [""]
    for word in label.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return "\n".join(lines)


def _outline(number: int, stream: Stream) -> list[dict[str, object]]:
    same = {"stream": number, "fill": COLOURS[stream.kind], "opacity": 0.75 if stream.clear else 0.3}
    return [{**same, "i": i, "x": x, "y": y} for i, (x, y) in enumerate(stream.outline)]
