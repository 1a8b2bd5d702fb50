"""The inputs of one gauge reading: what the gauge shows first, what sharpens it folded below."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import streamlit as st

from fluidapp.calc.marks import told_by_marks
from fluidapp.model import Bound, Compartment, LevelPlug, Machine, Percent, Reading
from fluidapp.screens import _by_marks, _state
from fluidapp.screens.words import one_sided

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

    from fluidapp.calc.budget import Line


@dataclass
class Asked:
    """A reading as asked for, with the places where each refinement can say how much it still matters."""

    reading: Reading | None
    notes: "dict[str, DeltaGenerator]" = field(default_factory=dict)


def ask(machine: Machine, part: Compartment, screen: str, below: "DeltaGenerator") -> Asked:
    """Gauge and reading, and in ``below`` what sharpens it. The reading is None while nothing is entered.

    Raises what the boxes refuse.
    """
    _start_empty(screen, f"{machine.key}/{part.key}")
    gauge = part.gauges[0].name
    if len(part.gauges) > 1:
        gauge = st.selectbox("Gauge", [g.name for g in part.gauges], key=f"{screen}_gauge", persist_state="page") or gauge
    scale = part.gauge(gauge)
    names = one_sided(part, gauge)
    if isinstance(scale, Percent):
        level = _state.number_box(f"{scale.name} (%)", f"{screen}_reading", bind=True)
    else:
        label = f"{scale.name}, below the lip" if isinstance(scale, LevelPlug) else scale.name
        level = _state.box(label[:1].upper() + label[1:], f"{screen}_reading", "length", bind=True)
    ways = {b: names[b] for b in names if b != "exact"} | (_by_marks.WAYS if told_by_marks(scale) else {})
    if st.session_state.get(f"{screen}_bound") not in ways:
        st.session_state.pop(f"{screen}_bound", None)
    chosen = st.segmented_control(
        "Or otherwise", list(ways), format_func=lambda b: ways[b], key=f"{screen}_bound", label_visibility="collapsed", persist_state="page"
    )
    bound: Bound | None = "at most" if chosen == "at most" else "at least" if chosen == "at least" else None
    ran_out = None
    if bound == "at least" and isinstance(scale, LevelPlug):
        ran_out = _state.box(
            "Ran out until it stopped, caught", f"{screen}_ran_out", "volume", help="Caught in a marked pail: the best measurement."
        )
        if ran_out is not None:
            bound, level = None, 0.0
    told = _by_marks.ask(scale, screen, chosen) if chosen in _by_marks.WAYS else None
    ok = None
    if isinstance(scale, LevelPlug) and scale.position_tick:
        ok = st.checkbox("The plug stands in its position (track turned until it does)", key=f"{screen}_plug_ok", persist_state="page")
    asked = Asked(None)
    with below:
        extra = sharpen(machine, part, screen, asked)
    if told is not None:
        level = told.level
    if level is None and bound is None:
        return asked
    typed = f"{st.session_state.get(f'{screen}_reading') or ''} %" if isinstance(scale, Percent) else _state.as_read(f"{screen}_reading")
    if ran_out is not None:
        typed = f"ran out {_state.as_read(f'{screen}_ran_out')}"
    if told is not None:
        typed, extra = told.as_read, extra | {"u_mm": told.u_mm}
    asked.reading = Reading.made(
        gauge=gauge,
        level=level if bound is None else None,
        bound=bound or "exact",
        as_read=typed if bound is None else names[bound],
        position_ok=ok,
        ran_out_l=ran_out,
        **extra,
    )
    return asked


def _start_empty(screen: str, place: str) -> None:
    """What was typed belongs to one compartment of one machine: at another one the boxes start empty."""
    before = st.session_state.get(f"_place_{screen}")
    st.session_state[f"_place_{screen}"] = place
    if before in (None, place):
        return
    for key in [str(k) for k in st.session_state if str(k).startswith(f"{screen}_")]:
        if key.removeprefix(f"{screen}_") in ("part", "pail", "when", "meter"):
            continue
        if isinstance(st.session_state[key], str):
            st.session_state[key] = ""
        else:
            del st.session_state[key]
        if key in st.query_params:
            del st.query_params[key]


def sharpen(machine: Machine, part: Compartment, screen: str, asked: Asked) -> dict[str, object]:
    """The folded refinements: temperature, slope, posture. Empty ones stay out of the reading."""
    with st.expander("Sharpen it: oil temperature, slope, posture"):
        asked.notes["oil temperature"] = st.empty()
        temp = _state.box("Oil temperature", f"{screen}_temp", "temperature")
        asked.notes["slope"] = st.empty()
        pitch = _state.box(
            "Slope along, nose up is above 0", f"{screen}_pitch", "angle", help="Lay a phone on the frame, along the machine."
        )
        roll = _state.box("Slope across, right side down is above 0", f"{screen}_roll", "angle", help="Lay a phone on the frame, across.")
        posture, shown = None, {}
        if part.kind == "hydraulic tank":
            asked.notes["posture"] = st.empty()
            st.caption(machine.posture or "Reference posture: the one for which the marks hold.")
            posture = st.segmented_control(
                "Posture", ["reference", "other"], key=f"{screen}_posture", persist_state="page",
                format_func=lambda p: {"reference": "reference posture", "other": "cannot be reached"}[p],
            )  # fmt: skip
            if posture == "other":
                for cylinder in machine.cylinders:
                    rod = _state.box(f"Bare rod, {cylinder.name}", f"{screen}_rod_{cylinder.name}", "length")
                    if rod is not None:
                        shown[cylinder.name] = rod
    return {"temp_c": temp, "pitch_deg": pitch, "roll_deg": roll, "posture": posture, "shown_mm": shown}


def say_weights(asked: Asked, lines: "tuple[Line, ...]") -> None:
    """Beside each refinement: how much it could still change the answer."""
    show = _state.show()
    for line in lines:
        slot = asked.notes.get(line.name)
        if slot is not None:
            could = show.plus_minus(line.u_l, line.dof)
            slot.caption(f"**{line.name.capitalize()}**: {'counts for' if line.measured else 'could still change the answer by'} {could}")
