"""One shot of grease into the records, and the last one taken back."""

import datetime

import streamlit as st

from fluidapp.calc import greasing
from fluidapp.calc.ring_picture import coming
from fluidapp.errors import BadInput, FluidappError
from fluidapp.model import GreasePoint, Gun, Machine
from fluidapp.model.holds import check_shot
from fluidapp.screens import _greasing, _parts, _state, _undo
from fluidapp.store import NewEntry

_ANEW = "_greasing_anew"
STAND_CLEAR = (
    "Between shots: gun off, hands out, everybody out of the slewing arc, then slew; stop, lower, isolate, then grease. "
    "Never grease while the machine slews."
)


def record(
    machine: Machine,
    point: GreasePoint,
    gun: Gun | None,
    past: _greasing.History,
    found: greasing.Greasing,
    by: tuple[str, datetime.datetime, float | None],
) -> None:
    """Position, strokes and what the seal shows, one button. Empty strokes stand for the amount that the button names.

    Where nothing is due nothing stands for them: an extra shot is counted. The button is another one after each shot: a second tap
    of the one before it records nothing. Raises what the boxes refuse.
    """
    if gun is not None and gun.feed == "auto":
        st.info("An automatic system is recorded by what fills its reservoir.")
        return
    key = f"greasing_{machine.key}_{point.key}"
    if st.session_state.pop(_ANEW, False):
        st.session_state.update({f"{key}_position": None, f"{key}_given": "", f"{key}_purge": None})
    numbers = {p.number: p for p in found.positions}
    here = coming(found).positions[0]
    if st.session_state.get(f"{key}_position") not in numbers:
        st.session_state[f"{key}_position"] = here
    number = here
    power = gun is not None and gun.feed == "power"
    unit = "s" if power else "strokes"
    extra = not found.steps
    counted = None if extra else found.one_shot.dose.seconds if power else found.one_shot.dose.strokes
    if extra:
        st.info("**Nothing is due**; this would be an extra shot. To record one, enter what was given.")
    if point.ring:
        st.warning(STAND_CLEAR, icon=":material/front_hand:")
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        if point.ring:
            chosen = st.selectbox(
                "Boom over", list(numbers), format_func=lambda n: f"{n + 1} {numbers[n].name}", key=f"{key}_position",
                persist_state="session", width=196,
            )  # fmt: skip
            number = here if chosen is None else chosen
        with st.container(width=130):
            given = _state.number_box(f"Given ({unit})", f"{key}_given")
    amount = given if given is not None else None if counted is None else float(round(counted))
    purge = st.segmented_control("Grease at the seal", ["shows", "does not show"], key=f"{key}_purge", persist_state="session")
    check_shot(point, None if power else amount, amount if power else None, None, gun)
    name = numbers[number].name if point.ring else point.label
    words = f"{name}, {amount:g} {unit}" if amount is not None else name if extra else f"{name}, not counted"

    def build() -> list[NewEntry]:
        if extra and given is None:
            raise BadInput(f"Given ({unit})", "nothing", "Nothing is due: enter what was given, to record an extra shot.")
        shots = _greasing.shots_of(point, numbers[number].swing_deg, amount, gun, None if purge is None else purge == "shows")
        return [NewEntry.made(doc=shot, at=by[1], machine=machine.key, meter_h=by[2]) for shot in shots]

    label = f"Record an extra shot: {words}" if extra else f"Record: {words}"
    if _parts.save_button("greasing", label, build, by_name=by[0], key=f"greasing_save_{_newest(past)}", bold=not extra):
        st.session_state[_ANEW] = True
        st.rerun()


def take_back(machine: Machine, past: _greasing.History, by_name: str) -> None:
    """The last shot in words, and a button that voids it."""
    if not past.shots:
        st.caption("No shot is on record here.")
        return
    with st.container(horizontal=True, gap="small", vertical_alignment="center"):
        st.markdown(f":small[Last shot: {_greasing.said(machine, past.shots[0])}]", width="content")
        pressed = st.button("Take it back", key=f"greasing_back_{_newest(past)}")
    if not pressed:
        return
    try:
        _undo.cross_out(past.last, "taken back on Greasing", by_name, f"back-{past.shots[0].id}")
    except FluidappError as err:
        st.error(str(err))
        return
    st.session_state[_ANEW] = True  # position, amount and seal begin again with what comes next now
    st.rerun()


def _newest(past: _greasing.History) -> str:
    return past.shots[0].id if past.shots else "first"
