"""Machines: what is measured?"""

import streamlit as st

from fluidapp.calc import build, level
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _parts, _resources, _state
from fluidapp.screens.words import scale_unit

_parts.head("Machines", "What is entered about it: tanks, gauges, marks, cylinders, grease points?")


def compartment_rows(machine: Machine) -> list[dict[str, str]]:
    """One row a compartment: what it holds, how its litres are known."""
    rows = []
    for part in machine.compartments:
        product = _resources.product(part.product)
        rows.append(
            {
                "compartment": part.label,
                "product": product.label if product else "not entered",
                "litres from": known_by(part),
                "gauges": ", ".join(g.name for g in part.gauges) or "none",
            }
        )
    return rows


def known_by(part: Compartment) -> str:
    """How the litres of a compartment are known, in words."""
    if part.grease_packed_kg:
        return f"packed with {part.grease_packed_kg:g} kg of grease: no level"
    for way, words in (
        (part.body, "shape"),
        (part.table, "table"),
        (part.pours, "pours"),
        (part.fill, "fill and mark"),
    ):
        if way:
            return words + (" (typical)" if part.source == "typical" else f" ({part.source})")
    return "not entered"


def gauge_rows(part: Compartment) -> list[dict[str, str]]:
    """One row a gauge: marks, litres at them."""
    show, rows = _state.show(), []
    for gauge in part.gauges:
        row = {"gauge": gauge.name, "kind": gauge.kind, "marks": "none", "litres at the marks": "–"}
        if gauge.bands:
            unit = scale_unit(part, gauge.name)
            band = gauge.bands[0]
            row["marks"] = f"{show.reading(band.low, unit)} to {show.reading(band.high, unit)}"
            try:
                marks = level.marks(part, gauge.name)
                row["litres at the marks"] = f"{show.amount(round(marks.low_l, 2))} to {show.amount(round(marks.high_l, 2))}"
            except FluidappError as err:
                row["litres at the marks"] = str(err)
        rows.append(row)
    return rows


machine = _parts.pick_machine()
st.subheader(machine.label, anchor=False)
size = f"{machine.class_t:g} t class" if machine.class_t else "class not entered"
st.caption(f"{machine.kind}, {size}" + (". Typical figures: replace them with this machine's own." if machine.typical else "."))
if machine.posture:
    st.markdown(f"**Reference posture:** {machine.posture}")
st.table(compartment_rows(machine), hide_index=True, alt="Compartments and how their litres are known")
for part in machine.compartments:
    if part.gauges:
        with st.expander(f"{part.label}: gauges and marks"):
            st.table(gauge_rows(part), hide_index=True, alt=f"Gauges of {part.label}")
            doubt = build.doubt(part)
            st.caption(f"The litres per mm are known to about ± {200 * doubt.rel:.0f} % (95 %). {doubt.hint}")
if machine.cylinders:
    with st.expander("Cylinders"):
        rods = [
            {
                "cylinder": c.name,
                "count": str(c.count),
                "rod": _state.show().reading(c.rod, "mm"),
                "stroke": _state.show().reading(c.stroke, "mm"),
                "rod shown in reference posture": _state.show().reading(c.ref, "mm"),
                "all out": _state.show().amount(round(level.posture_l((c,), {c.name: c.stroke}), 1)),
            }
            for c in machine.cylinders
        ]
        st.table(rods, hide_index=True, alt="Cylinders with the oil that their rods push out")
if machine.baths or machine.grease_points:
    with st.expander("Grease baths and grease points"):
        points = [
            {
                "place": p.label,
                "kind": p.kind,
                "every": f"{p.limit_h:g} h or {p.limit_days:g} days",
                "dose": f"{p.dose_g:g} g" if p.dose_g else "–",
            }
            for p in machine.grease_points
        ]
        points += [{"place": b.label, "kind": "grease bath", "every": "–", "dose": "–"} for b in machine.baths]
        st.table(points, hide_index=True, alt="Grease baths and grease points")
_parts.next_steps(
    [("screens/level.py", "Level check", {"machine": machine.key}), ("screens/greasing.py", "Greasing", {"machine": machine.key})]
)
