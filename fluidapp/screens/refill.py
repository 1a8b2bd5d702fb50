"""Refill: after a repair: what do I bring, how much before the start, how much after?"""

import streamlit as st

from fluidapp.calc import picture, refill
from fluidapp.charts.tank import tank as draw_tank
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _opened, _parts, _reading, _refill, _refill_after, _resources, _state
from fluidapp.screens._service_sheet import portion, poured

_parts.head("Refill", "After a repair: what do I bring, how much before the start, how much after?", "tank")
machine = _parts.pick_machine()
tanks = [c for c in machine.compartments if c.kind == "hydraulic tank" and any(g.bands for g in c.gauges)]
if not tanks:
    st.info(f"{machine.label} has no hydraulic tank with marks yet: enter one on Machines. For a gear case alone, use Top-up.")
    _parts.next_steps([("screens/topup.py", "Top-up: how much to the mark", {"machine": machine.key})])
    st.stop()
part = tanks[0] if len(tanks) == 1 else _parts.pick_compartment(machine, "refill", lambda c: c in tanks)
asked_at, answer_at, opened_at, bring_at, fold_at, below = (st.container() for _ in range(6))


def shown_answer(machine: Machine, part: Compartment) -> None:
    """Reads the inputs and shows what they say; a refusal is one sentence."""
    with asked_at:
        asked = _reading.ask(machine, part, "refill", fold_at)
    with opened_at:
        opened = _opened.ask(machine)
    reading = None if opened.whole else asked.reading
    if reading is None and not opened.whole:
        answer_at.info("Read the tank with the lines plugged, or tick that it was drained whole, to see what to bring and to pour.")
        return
    product = _resources.product(part.product)
    rho15 = _resources.rho15(part.product)
    plan = refill.plan(
        opened.machine, part.key, reading, opened.lines, dry=opened.dry, seal=_opened.SEAL in opened.ticked,
        containers=_refill.pails(product), rho15=rho15,
    )  # fmt: skip
    found, show = plan.refill, _state.show()
    with answer_at:
        if plan.topup and plan.topup.before_you_pour and not opened.ticked:
            st.warning(plan.topup.before_you_pour)
        later = f"After running: **{portion(found.after_running, show)}**, then read again."
        _parts.answer("Before the start", portion(found.before_start, show), [later])
        if plan.pour_l > 0:
            st.markdown(f"Into the tank before the start: **{poured(plan, show)}**.")
        if plan.topup and plan.topup.volume and not plan.topup.volume.largest.measured:
            largest = plan.topup.volume.largest
            st.caption(f"Largest doubt: {largest.name}. {largest.hint}")
        if opened.missing:
            st.warning(f"Not in these figures yet: {'; '.join(opened.missing)}.")
    with bring_at:
        listed = _refill.bring(machine, part, opened, plan)
        st.header("Bring", anchor=False)
        st.table(
            _refill.bring_rows(listed, _refill.products()), hide_index=True,
            alt="What to bring for this refill: each product at its upper end, in whole containers",
        )  # fmt: skip
        _refill.sheet_button(machine, part, plan, listed)
    with below:
        if reading is not None and plan.topup and plan.topup.volume:
            drawn = picture.tank(part, reading, plan.topup.volume.reading_mm)
            _parts.chart(draw_tank(drawn, _state.show().about), drawn.text, "refill_chart", "content")
        st.table(
            _refill.rows(plan, show), hide_index=True, alt="The lines of both figures: litres, when they are poured, how they are known"
        )
        for i, stage in enumerate(found.stages, start=1):
            if len(found.stages) > 1:
                st.caption(f"Start {i}: pour {show.amount(stage.pour_l)}, stop when the circuit has taken {show.amount(stage.draws_l)}.")
        st.markdown("\n".join(f"* {line}" for line in plan.remarks))
        if plan.topup and plan.topup.volume:
            _reading.say_weights(asked, plan.topup.volume.budget)
        _refill.steps_fold(machine, plan)
        metal, _ = _refill.flush_fold(machine)
        _refill_after.fold(machine, part, reading, opened, plan, metal)


try:
    shown_answer(machine, part)
except FluidappError as err:
    answer_at.error(str(err))
here = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/gearcase.py", "Gear case: keep or change the gear oil?", here),
        ("screens/service.py", "Service: what did I do here?", here),
        ("screens/records.py", "Records of this machine", here),
    ]
)
