"""Greasing: which positions, how many strokes, which are done?"""

from typing import TYPE_CHECKING

import streamlit as st

from fluidapp.calc import greasing
from fluidapp.calc.greasing.gun import WEIGH
from fluidapp.calc.ring_picture import ring_picture
from fluidapp.charts.ring import ring as draw_ring
from fluidapp.errors import FluidappError
from fluidapp.model import GreasePoint, Gun, Machine
from fluidapp.screens import _greasing, _parts, _resources, _shots, _state
from fluidapp.screens.words import dose_words, greasing_rows, greasing_way, next_position

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

_parts.head("Greasing", "Which positions, how many strokes, which are done?", "slew")
machine = _parts.pick_machine()
chosen_at, answer_at, meter_at, record_at, below = (st.container() for _ in range(5))


def pick(machine: Machine) -> tuple[GreasePoint, Gun | None]:
    """Grease point and gun; stops where the machine has no grease point."""
    points = {p.key: p for p in sorted(machine.grease_points, key=lambda p: p.ring is None)}
    if not points:
        st.info(f"{machine.label} has no grease point yet: enter one on Machines.")
        st.stop()
    guns = {g.key: g for g in _resources.store().guns()}
    first = next(iter(points))
    key, gun = first, next(iter(guns)) if len(guns) == 1 else None
    with chosen_at, st.container(horizontal=True, gap="small"):
        if len(points) > 1:
            key = st.selectbox(
                "Grease point", list(points), format_func=lambda k: points[k].label, key=f"greasing_{machine.key}_point",
                persist_state="session", width=166,
            ) or first  # fmt: skip
        if len(guns) > 1:
            _state.keep("greasing_gun")
            if (last := _greasing.last_gun(machine)) in guns:
                st.session_state.setdefault("greasing_gun", last)
            gun = st.selectbox(
                "Gun", list(guns), format_func=lambda k: guns[k].label, key="greasing_gun", index=None, placeholder="Choose",
                persist_state="session", width=166,
            )  # fmt: skip
    return points[key], guns[gun] if gun else None


def closing_inputs(fold: "DeltaGenerator") -> tuple[float | None, bool | None, bool | None]:
    """What the closing turns depend on; nothing is taken as clear that was not entered."""
    with fold:
        slope = _state.box("Slope of the ground", "greasing_slope", "angle")
        asked = (("Slewing arc clear", "arc"), ("Slewing drive or ring under suspicion, opened or low on oil", "suspect"))
        said = [st.segmented_control(label, ["yes", "no"], key=f"greasing_{key}", persist_state="session") for label, key in asked]
    clear, suspect = (None if one is None else one == "yes" for one in said)
    return slope, clear, suspect


def shown_answer(machine: Machine, point: GreasePoint, gun: Gun | None) -> None:
    """Replays the records, shows what comes next, takes one shot at a time."""
    with meter_at, st.container(horizontal=True, gap="small"):
        by = _parts.who_and_when("greasing")
    past = _greasing.history(machine, point, gun, None if st.session_state.get("greasing_when") else by[2])
    picture_at = below.container()
    fold = below.expander("Closing turns without grease") if point.ring and point.ring.finish_turns else None
    slope, clear, suspect = closing_inputs(fold) if fold else (None, None, None)
    grease = _resources.product(point.product)
    found = greasing.greasing_round(
        machine, point, past.events, past.now_h, past.now_day, swing_deg=past.last_swing_deg, gun=gun, duty=past.duty,
        density_kg_m3=grease.rho15 if grease and grease.rho15 else 900.0, slope_deg=slope, arc_clear=clear, ring_suspect=suspect,
    )  # fmt: skip
    if fold:
        turns = f"{found.closing.turns} full turns" if found.closing.turns else "No closing turns"
        fold.markdown(f"**{turns}**: {found.closing.reason}.")
    with answer_at:
        _parts.answer(*next_position(found, point), [dose_words(found.one_shot.dose, gun, point)])
        if past.hours_as_of:
            st.caption(past.hours_as_of)
    with record_at:
        _shots.record(machine, point, gun, past, found, by)
        _shots.take_back(machine, past, by[0])
    with picture_at:
        for line in found.warnings:
            st.warning(line, icon=":material/priority_high:")
        if point.ring:
            drawn = ring_picture(found, machine.sprockets)
            _parts.chart(draw_ring(drawn, _parts.ink()), drawn.text, "greasing_chart", width="content")
        st.table(
            greasing_rows(found, point),
            hide_index=True,
            alt="Each position: share of its interval used up, and the time since its last shot",
        )
        st.caption(greasing_way(point, found))
        st.markdown("\n".join(f"* {line}" for line in found.remarks if gun or line != WEIGH))


point, gun = pick(machine)
try:
    shown_answer(machine, point, gun)
except FluidappError as err:
    answer_at.error(str(err))
typed = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/bath.py", "Grease bath: how much oil is in the grease?", typed),
        ("screens/level.py", "Level check: read the slewing gearbox", typed),
        ("screens/records.py", "Records of this machine", typed),
    ]
)
