"""Grease bath: how much oil is in the grease; what out, what in?"""

import streamlit as st

from fluidapp import units
from fluidapp.calc.bath_picture import bath_picture
from fluidapp.calc.budget import Line
from fluidapp.charts.bath import bath as draw_bath
from fluidapp.errors import FluidappError
from fluidapp.model import Bath, Machine
from fluidapp.screens import _bath, _lab, _parts, _state
from fluidapp.screens.words import bath_lines
from fluidapp.store import NewEntry
from fluidapp.store.kinds import LevelReading

_parts.head("Grease bath", "How much oil is in the grease; what out, what in?", "slew")
machine = _parts.pick_machine()
asked_at, answer_at, more_at, lab_at, below = (st.container() for _ in range(5))


def shown_answer(machine: Machine, bath: Bath) -> None:
    """Shows what the depths say; a refusal is one sentence."""
    got = _bath.ask(machine, bath, asked_at, more_at)
    found, show = got.found, _state.show()
    if got.after is None:
        answer_at.info("Enter at least one depth of the grease to see how much oil came in.")
        return
    rise = found.estimate
    with answer_at:
        if rise.volume_l is not None and rise.u_l is not None:
            _parts.answer("Oil that went in", show.litres(rise.volume_l, rise.u_l, rise.dof_l))
        if rise.refused:
            st.warning(f"No share of oil: {rise.refused_reason}.")
        for line in bath_lines(found, got.bath, show):
            st.markdown(line)
    with lab_at:
        every = _lab.ask(machine, got.bath, got)
        if every is not None:
            answer_at.markdown(_lab.line(every))
            _lab.shown(every)
    with below:
        drawn = bath_picture(got.bath, found, got.after, got.before)
        _parts.chart(
            draw_bath(drawn, lambda mm: units.convert("depth", mm, "mm", show.length, "length"), show.length, _parts.ink()),
            drawn.text,
            "bath_chart",
        )
        st.caption(f"The pan cut along its middle and laid flat: bars are the depths now, the dashed lines the depths {drawn.before}.")
        for title, said in (("Assumed", found.assumed), ("Not measured, and counted in the ±", found.not_measured)):
            if said:
                st.caption(f"{title}: {'; '.join(said)}.")
        st.markdown("\n".join(f"* {line}" for line in found.remarks))
        _parts.budget_table([Line(part.name, part.u_l, part.measured, part.hint) for part in rise.budget])
        store_fold(machine, bath, got)


def store_fold(machine: Machine, bath: Bath, got: _bath.Asked) -> None:
    """The depths of now into the records, once."""
    if got.after is None:
        return
    as_read = "; ".join(_state.as_read(box) for box in got.boxes)
    caught = _state.value(f"bath_{machine.key}_{bath.key}_caught")
    doc = LevelReading.made(node=bath.key, depths_mm=got.after.depths_mm, water_seen=got.water, as_read=as_read, free_oil_l=caught)
    report = _lab.doc(bath, f"bath_{machine.key}_{bath.key}")
    docs = (doc, report) if report else (doc,)
    with st.expander("Store this survey"):
        name, at, meter = _parts.who_and_when("bath")
        _parts.save_button(
            "bath",
            "Store the survey",
            lambda: [NewEntry.made(doc=d, at=at, machine=machine.key, meter_h=meter) for d in docs],
            by_name=name,
        )


bath = _bath.pick_bath(machine)
try:
    shown_answer(machine, bath)
except FluidappError as err:
    answer_at.error(str(err))
typed = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/balance.py", "Oil balance: where did it come from?", typed),
        ("screens/greasing.py", "Greasing: which positions are done?", typed),
        ("screens/records.py", "Records of this machine", typed),
    ]
)
