"""Calibration: how do mm become litres?"""

import math

import streamlit as st

from fluidapp import units
from fluidapp.calc import calibration as calc
from fluidapp.charts import calibration as charts
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, Machine, Pour
from fluidapp.screens import _machine_save, _parts, _pouring, _state
from fluidapp.screens.words import scale_unit
from fluidapp.store import NewEntry
from fluidapp.store.kinds import LevelReading, Movement

_parts.head("Calibration", "How do mm become litres? Read, pour a measured amount, read again.", "tank")
if said := st.session_state.pop(_machine_save.SAID, None):
    st.success(said, icon=":material/check:")
machine = _parts.pick_machine()
part = _parts.pick_compartment(machine, "calibration")
names = [g.name for g in part.gauges]
gauge = names[0]
if len(names) > 1:
    gauge = st.selectbox("Gauge", names, key=f"calibration_gauge_{part.key}", persist_state="page") or gauge


def step_litres(per_mm: float, u: float, dof: float = math.inf) -> str:
    """Litres that 10 mm of height (or 1 in) are, with their ±, in the person's units."""
    step = 10.0 if _state.show().length == "mm" else 25.4
    return _state.show().litres(per_mm * step, u * step, dof)


def shown(found: calc.Calibration) -> None:
    """The answer, what does not fit, the picture with its numbers."""
    step = "10 mm" if _state.show().length == "mm" else "1 in"
    _parts.answer(f"From the pours, {step} of height are", step_litres(found.pours_l, found.u_pours_l, found.dof_pours))
    for line in found.named:
        st.warning(line)
    if found.other_l and found.u_other_l:
        st.caption(f"From the {found.told_by}: {step_litres(found.other_l, found.u_other_l)}.")
        used = step_litres(found.used_l, found.u_used_l, found.dof_used)
        if found.blended:
            st.markdown(f"Together, weighted by how sure each is: **{used}**. That is what will be used.")
        else:
            st.markdown(f"They are not blended. The pours will be used: **{used}**.")
    show = _state.show()
    volume, length = (float(units.convert("", 1.0, *pair)) for pair in (("L", show.volume, "volume"), ("mm", show.length, "length")))
    _parts.chart(charts.calibration(found, show.volume, show.length, volume, length), charts.text(found), "calibration_chart")
    st.caption(
        "Line: the pours, with their 95 % band. Bars: ± of each reading." + (" Dashed: what is entered so far." if found.other_l else "")
    )
    unit, several = scale_unit(part, found.gauge), found.points[-1].chain > 0
    st.table(
        [
            {
                **({"list": str(p.chain + 1)} if several else {}),
                "poured so far": show.amount(p.litres),
                "reading": show.reading(p.reading, unit),
                "off the line": f"{p.off_mm * length:+.{1 if show.length == 'mm' else 2}f} {show.length}",
                "fits": "no" if p.odd else "yes",
            }
            for p in found.points
        ],
        hide_index=True,
        alt="Every reading with the litres poured so far and its distance from the line",
    )
    st.caption("Litres count as poured: pails that are 2 % off make the litres per mm 2 % off, which no reading can show.")


def use_it(machine: Machine, part: Compartment, pours: list[Pour]) -> None:
    """Writes the pours into the compartment as a new version of the machine."""
    by = _machine_save.name_box("calibration_by")
    if st.button("Use it for this machine", key="calibration_use", type="primary", width="stretch"):
        try:
            changed = Compartment.made(**(part.model_dump() | {"pours": tuple(pours)}))
            parts = tuple(changed if c.key == part.key else c for c in machine.compartments)
            made = Machine.model_validate(machine.model_copy(update={"compartments": parts}).model_dump())
            _machine_save.store(made, by, f"{part.label} is calibrated with {len(pours)} pours.")
        except FluidappError as err:
            st.error(str(err))


def into_the_records(machine: Machine, part: Compartment, done: _pouring.Walk) -> None:
    """The walk's readings and pours as entries, so that what was poured is not missed elsewhere."""
    with st.expander("Poured today? Store the readings and the pours in the records too"):
        st.caption("Then stock, consumption and oil balance know of the oil.")
        name, at, meter = _parts.who_and_when("calibration")

        def entries() -> list[NewEntry]:
            def reading(level: float, text: str) -> LevelReading:
                ok = True if part.gauge(gauge).kind == "level plug" else None
                return LevelReading.made(node=part.key, gauge=gauge, level=level, as_read=text, position_ok=ok)

            docs: list[LevelReading | Movement] = [reading(done.pours[0].before, done.first_read)]
            for pour, (amount, text) in zip(done.pours, done.texts, strict=True):
                way = ("stock", part.key) if pour.add > 0 else (part.key, "used-oil")
                docs.append(
                    Movement.made(
                        from_node=way[0], to_node=way[1], product=part.product or "unknown", volume_l=abs(pour.add),
                        purpose="top-up" if pour.add > 0 else "drain", as_read=amount.removeprefix("-"),
                    )
                )  # fmt: skip
                docs.append(reading(pour.after, text))
            return [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter) for doc in docs]

        _parts.save_button("calibration", "Store them in the records", entries, by_name=name)


with st.expander("How it is done", expanded=not part.pours):
    _pouring.steps(machine, part, gauge)
try:
    done = _pouring.walk(machine, part, gauge)
    old, others = _pouring.kept(part, gauge)
    pours = [*old, *done.pours, *_pouring.from_records(machine, part, gauge)]
    if done.following:
        st.info(done.following)
    if pours:
        shown(calc.calibrate(part, pours))
        use_it(machine, part, [*others, *pours])
        if done.pours:
            into_the_records(machine, part, done)
except FluidappError as err:
    st.error(str(err))
here = {"machine": machine.key, "part": part.key}
_parts.next_steps(
    [
        ("screens/level.py", "Level check of it", here),
        ("screens/machines.py", "Machines: its dip chart, its marks", {"machine": machine.key}),
    ]
)
