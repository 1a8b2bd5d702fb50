"""Gear case: how much hydraulic oil is in the gear oil; keep or change?"""

import streamlit as st

from fluidapp.calc.gearcase_picture import picture, share_at_limit
from fluidapp.charts.gearcase import shares as draw_shares
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _gearcase, _parts, _state
from fluidapp.store import NewEntry
from fluidapp.store.kinds import LevelReading

_parts.head("Gear case", "How much hydraulic oil is in the gear oil; keep or change?", "gear case")
machine = _parts.pick_machine()
part = _parts.pick_compartment(machine, "gearcase", lambda c: c.kind in _gearcase.KINDS and c.grease_packed_kg is None)
asked_at, answer_at, more_at, fold_at, below = (st.container() for _ in range(5))


def shown_answer(machine: Machine, part: Compartment) -> None:
    """Shows what level and viscosity say; a refusal is one sentence."""
    got = _gearcase.ask(machine, part, asked_at, more_at, fold_at)
    found = got.found
    if found is None:
        answer_at.info("Enter what the gauge shows, or a viscosity under *I have a lab report*, to see what is in the gear oil.")
        return
    with answer_at:
        _parts.answer(*_gearcase.share_words(found), _gearcase.lines(found, _state.show()))
    with below:
        at_limit = share_at_limit(got.own, got.other, found.limit)
        drawn = picture(found, at_limit)
        if drawn.unseen is not None:
            least = f"Not detectable below {drawn.unseen:.0f} %."
            if drawn.limit is not None and drawn.unseen > drawn.limit:
                least += f" The limit is reached at {drawn.limit:.0f} % already: compare with an earlier reading, or take a sample."
            st.caption(least)
        if drawn.rows:
            _parts.chart(draw_shares(drawn, _parts.ink()), drawn.text, "gearcase_chart")
            st.caption(
                "Bars are 95 % ranges, the dot is the figure. Nothing can be told apart in the grey part. At the dashed line the mixture "
                f"has changed as much as the limit says ({found.limit.label})."
            )
        if found.mix:
            st.table(
                _gearcase.rows(found), hide_index=True,
                alt="Viscosity of the gear oil as new and as the share makes it, at each temperature",
            )  # fmt: skip
        st.markdown("\n".join(f"* {line}" for line in found.remarks))
        store_fold(machine, part, got)


def store_fold(machine: Machine, part: Compartment, got: _gearcase.Asked) -> None:
    """The reading into the records, once."""
    if got.reading is None:
        return
    doc = LevelReading.made(node=part.key, **got.reading.model_dump())
    with st.expander("Store this reading"):
        name, at, meter = _parts.who_and_when("gearcase")
        _parts.save_button(
            "gearcase", "Store the reading", lambda: [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter)], by_name=name
        )


try:
    shown_answer(machine, part)
except FluidappError as err:
    answer_at.error(str(err))
here = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/balance.py", "Oil balance: where did it come from?", here),
        ("screens/refill.py", "Refill: what do I bring?", here),
        ("screens/service.py", "Service: what did I do here?", here),
    ]
)
