"""Reading twice: another gauge of the same compartment, or the same gauge after slewing 180°."""

from typing import TYPE_CHECKING

import streamlit as st

from fluidapp.calc import twogauges, twopos
from fluidapp.model import Compartment, LevelPlug, Machine, Percent, Reading
from fluidapp.screens import _state
from fluidapp.screens.words import one_sided, scale_unit, understood

if TYPE_CHECKING:
    from fluidapp.calc.level import Volume

SECOND = "level2"


def other_gauge(machine: Machine, part: Compartment, first: Reading) -> Reading | None:
    """The reading of another gauge of the compartment, in the same state of the machine; None while nothing is entered."""
    others = [g.name for g in part.gauges if g.name != part.gauge(first.gauge).name]
    if not others:
        return None
    with st.expander("Read another gauge of it too"):
        name = others[0]
        if len(others) > 1:
            name = st.selectbox("Other gauge", others, key=f"{SECOND}_gauge", persist_state="page") or name
        scale, names = part.gauge(name), one_sided(part, name)
        label = f"{scale.name}, below the lip" if isinstance(scale, LevelPlug) else scale.name
        label = label[:1].upper() + label[1:]
        percent = isinstance(scale, Percent)
        key = f"{SECOND}_{'share' if percent else 'reading'}"
        level = _state.number_box(f"{label} (%)", key) if percent else _state.box(label, key, "length")
        bound = st.segmented_control(
            "Or no number on it", [b for b in names if b != "exact"], format_func=lambda b: names[b], key=f"{SECOND}_bound",
            label_visibility="collapsed", persist_state="page",
        )  # fmt: skip
        ok = None
        if isinstance(scale, LevelPlug) and scale.position_tick:
            ok = st.checkbox("The other gauge's plug stands in its position", key=f"{SECOND}_plug_ok", persist_state="page")
        if level is None and bound is None:
            return None
        typed = f"{st.session_state.get(key) or ''} %" if percent else _state.as_read(key)
        same = first.model_dump(include={"temp_c", "pitch_deg", "roll_deg", "posture", "shown_mm", "swing_deg"})
        return Reading.made(
            gauge=name, level=level if bound is None else None, bound=bound or "exact", as_read=typed if bound is None else names[bound],
            position_ok=ok, **same,
        )  # fmt: skip


def say_both(part: Compartment, found: twogauges.TwoGauges) -> None:
    """Both gauges one by one, and whether they agree."""
    show = _state.show()
    for volume in (found.first, found.second):
        st.caption(f"{understood(volume, scale_unit(part, volume.gauge), show)}.")
    if found.together is None:
        st.warning(f"{found.sentence} The figure above is that of the {found.first.gauge}.")
    else:
        st.caption(found.sentence)


def turned(machine: Machine, part: Compartment, first: Reading) -> Reading | None:
    """The reading after slewing 180°, behind its gate; None while it is not entered or must not be taken."""
    if part.on != "upper structure" or first.bound != "exact":
        return None
    with st.expander("Slope not known? Read, slew 180°, read again"):
        st.caption(
            "On an even slope the two readings lie as far over as under the truth, and their mean is what level ground would show. "
            "Same posture both times: bare rods may differ after the turn."
        )
        slopes = [abs(x) for x in (first.pitch_deg, first.roll_deg) if x is not None]
        small = bool(slopes) or st.checkbox(f"The slope is at most {twopos.STEEPEST_DEG:g}°", key="level_slope_small", persist_state="page")
        clear = st.checkbox("The slewing arc is clear, nobody is in it", key="level_arc_clear", persist_state="page")
        sound = st.checkbox(
            "Slewing motor, gearbox and ring are sound: not under suspicion, opened or low on oil", key="level_drive_sound",
            persist_state="page",
        )  # fmt: skip
        reasons = twopos.refusals(part, slope_deg=max(slopes) if slopes else None, slope_small=small, arc_clear=clear, drive_sound=sound)
        if reasons:
            st.info(f"{reasons[0]} Otherwise enter the phone's slope above.")
            return None
        st.markdown("1. Slew 180° and set the same posture again.\n2. Stop the engine, isolate, wait, and read the same gauge.")
        name = part.gauge(first.gauge).name
        label = f"{name[:1].upper()}{name[1:]} after the turn"
        percent = scale_unit(part, name) == "%"
        key = f"level_turned_{'share' if percent else 'reading'}"
        level = _state.number_box(f"{label} (%)", key) if percent else _state.box(label, key, "length")
        shown = dict(first.shown_mm)
        for cylinder in machine.cylinders if first.posture == "other" else ():
            rod = _state.box(f"Bare rod after the turn, {cylinder.name}", f"level_turned_rod_{cylinder.name}", "length")
            if rod is not None:
                shown[cylinder.name] = rod
        if level is None:
            return None
        typed = f"{st.session_state.get(key) or ''} %" if percent else _state.as_read(key)
        change = {"level": level, "as_read": typed, "swing_deg": 180.0, "shown_mm": shown}
        return Reading.made(**(first.model_dump() | change))


def say_turned(part: Compartment, first: Reading, second: Reading, found: "Volume") -> None:
    """Both positions as they were understood."""
    show, unit = _state.show(), scale_unit(part, first.gauge)
    both = " and ".join(show.reading(r.level, unit) for r in (first, second) if r.level is not None)
    st.caption(f"Read {both}: mean {show.reading(found.reading_mm, unit)}, the slope taken out.")
