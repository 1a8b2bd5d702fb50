"""Level check: how much is in it, and is this reading any good?"""

import streamlit as st

from fluidapp.calc import level, picture, twogauges, twopos
from fluidapp.charts.tank import tank as draw_tank
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _downloads, _parts, _reading, _resources, _state, _twice
from fluidapp.screens.words import not_measured, scale_unit, stands, understood
from fluidapp.store import NewEntry
from fluidapp.store.kinds import LevelReading

_parts.head("Level check", "How much is in it, and is this reading any good?", "tank")
machine = _parts.pick_machine()
part = _parts.pick_compartment(machine, "level")
asked_at = st.container()
answer_at = st.container()
below = st.container()


def shown_answer(machine: Machine, part: Compartment) -> None:
    """Reads the inputs and shows what they say; a refusal is one sentence."""
    with asked_at:
        asked = _reading.ask(machine, part, "level", below)
    reading = asked.reading
    if reading is None:
        answer_at.info("Enter what the gauge shows to see the litres.")
        return
    with below:
        other, turned = _twice.other_gauge(machine, part, reading), _twice.turned(machine, part, reading)
    with answer_at:
        rho15 = _resources.rho15(part.product)
        volume = level.volume(machine, part.key, reading, rho15=rho15)
        two = twogauges.read(machine, part.key, reading, other, rho15=rho15) if other else None
        if two and two.together:
            volume = two.together
        elif turned:
            volume = twopos.volume(machine, part.key, reading, turned, rho15=rho15)
        show = _state.show()
        unit = scale_unit(part, volume.gauge)
        sign = {"exact": "In it", "at most": "In it, at most", "at least": "In it, at least"}[volume.bound]
        _parts.answer(f"{sign}, at the marks' convention", show.litres(volume.value_l, volume.u_l, volume.dof))
        if two:
            _twice.say_both(part, two)
        elif turned:
            _twice.say_turned(part, reading, turned, volume)
        else:
            st.caption(f"{understood(volume, unit, show)}.")
        if where := stands(part, volume, show):
            st.markdown(where)
        if assumed := not_measured(volume):
            st.caption(assumed)
        _reading.say_weights(asked, volume.budget)
        _parts.remarks(volume.remarks)
        drawn = picture.tank(part, reading, two.first.reading_mm if two else volume.reading_mm)
        _parts.chart(draw_tank(drawn, show.about), drawn.text, "level_chart", "content")
    with below:
        _parts.budget_table(volume.budget)
        with st.expander("Store this reading"):
            name, at, meter = _parts.who_and_when("level")
            note = (st.text_input("Note", key="level_note", autocomplete="off", persist_state="page") or "").strip()
            # the first reading comes last, so that it is the newest: the other screens go by it
            docs = [LevelReading.made(node=part.key, note=note, **r.model_dump()) for r in (turned, other, reading) if r is not None]
            _parts.save_button(
                "level", "Store the reading" if len(docs) == 1 else "Store the readings",
                lambda: [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter) for doc in docs], by_name=name,
            )  # fmt: skip


try:
    shown_answer(machine, part)
except FluidappError as err:
    answer_at.error(str(err))
typed = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/topup.py", "Top-up: how much to the mark", typed),
        ("screens/balance.py", "Oil balance: where did it go?", typed),
        ("screens/records.py", "Records of this machine", typed),
    ]
)
st.caption("No laptop in the pit? Take the marks along on paper and type the readings in later.")
_downloads.level_sheet(machine, "level")
