"""A reading told by the marks: so many mm below one, or a share of the way between them."""

from dataclasses import dataclass
from typing import cast

import streamlit as st

from fluidapp.calc import marks
from fluidapp.calc.gauge import AnyGauge
from fluidapp.model import Band
from fluidapp.screens import _state

WAYS = {"mark": "mm below a mark", "between": "between the marks"}


@dataclass(frozen=True, slots=True)
class Told:
    """What a person told by the marks: the level on the gauge's scale, its own doubt where it is wider, and their words."""

    level: float | None = None
    u_mm: float | None = None
    as_read: str = ""


def ask(scale: AnyGauge, screen: str, way: str) -> Told:
    """The inputs of one of the WAYS; without a level while nothing is entered. Raises what the boxes and the gauge refuse."""
    band = _band(scale, screen)
    if way == "mark":
        mark = st.segmented_control("Mark", ["H", "target", "L"], key=f"{screen}_mark", default="H", required=True)
        label = f"Below the {mark} mark; above it is below 0" if mark != "target" else "Below the target; above it is below 0"
        below = _state.box(label, f"{screen}_below", "length")
        if below is None:
            return Told()
        level = marks.from_mark(scale, band, cast("marks.Mark", mark), below)
        return Told(level, None, f"{_state.as_read(f'{screen}_below')} below {mark}")
    said = st.selectbox(
        "How far up from L to H", list(marks.SHARES), key=f"{screen}_share", index=None, placeholder="Choose", persist_state="page"
    )
    if said is None:
        return Told()
    level, u_mm = marks.between(scale, band, marks.SHARES[said])
    return Told(level, u_mm, f"between L and H, {said}")


def _band(scale: AnyGauge, screen: str) -> Band:
    """The band that is meant, asked for where there are several."""
    if len(scale.bands) == 1:
        return scale.bands[0]
    names = {k: band.label or f"{band.low:g} to {band.high:g} mm" for k, band in enumerate(scale.bands)}
    chosen = st.selectbox("Marks", list(names), format_func=lambda k: names[k], key=f"{screen}_band", persist_state="page")
    return scale.bands[chosen or 0]
