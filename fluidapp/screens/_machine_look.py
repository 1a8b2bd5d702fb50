"""Machines, Look: what is entered about a machine, the marks in litres, the dip chart."""

import streamlit as st

from fluidapp.calc import bath, build, dipchart, level, picture
from fluidapp.calc.figure import figure
from fluidapp.charts.tank import tank as draw_tank
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _downloads, _parts, _resources, _state
from fluidapp.screens.words import scale_unit

KEY = "machines"


def look(machine: Machine) -> None:
    """Everything that is entered about ``machine``."""
    size = f"{machine.class_t:g} t class" if machine.class_t else "class not entered"
    versions = _resources.store().versions(machine.key)
    last = versions[0]
    by = f" by {last.by}" if last.by else ""
    st.caption(f"{machine.kind}, {size}. Version {last.n} of {last.made:%Y-%m-%d}{by}; readings keep the version they were read with.")
    if machine.typical:
        st.info("Typical figures of its class, not measured on this machine. Begin with the tank: Calibration, three pours.")
        st.page_link(
            "screens/calibration.py", label="Calibrate by pouring", icon=":material/arrow_forward:", query_params={"machine": machine.key}
        )
    if machine.posture:
        st.markdown(f"**Reference posture:** {machine.posture}")
    if machine.compartments:
        st.table(_compartments(machine), hide_index=True, alt="Compartments and how their litres are known")
        _one(machine)
    else:
        st.info("No compartment is entered yet: choose Edit, then New compartment.")
    _others(machine)
    if machine.note:
        st.caption(f"Note: {machine.note}")


def _compartments(machine: Machine) -> list[dict[str, str]]:
    rows = []
    for part in machine.compartments:
        product = _resources.product(part.product)
        packed = f"packed with {part.grease_packed_kg:g} kg of grease: no level" if part.grease_packed_kg else ""
        rows.append(
            {
                "compartment": part.label,
                "product": product.label if product else "not entered",
                "litres from": packed or dipchart.known_by(part) or "not entered",
                "gauges": ", ".join(g.name for g in part.gauges) or "none",
            }
        )
    return rows


def _one(machine: Machine) -> None:
    """One compartment with its cut, its gauges, its dip chart."""
    gauged = {c.key: c for c in machine.compartments if c.gauges}
    if not gauged:
        return
    if st.session_state.get(f"{KEY}_part") not in gauged:
        st.session_state.pop(f"{KEY}_part", None)
    key = st.selectbox("Compartment", list(gauged), format_func=lambda k: gauged[k].label, key=f"{KEY}_part", persist_state="page")
    part = gauged[key]
    try:
        told = build.per_mm(part).remark if part.pours and build.told(part) is not None else None
        scale = next((g for g in part.gauges if g.bands), part.gauges[0])
        at = scale.bands[0].aim_mm if scale.bands else scale.start_mm
        drawn = picture.tank(part, dipchart.as_asked(part, scale.name, at), at)
        _parts.chart(draw_tank(drawn, _state.show().about), drawn.text, f"{KEY}_chart", "content")
        st.caption("Shown filled to the target." if scale.bands else "No marks are entered.")
        if told:
            st.warning(told)
        st.table(gauge_rows(part), hide_index=True, alt=f"Gauges of {part.label} with the litres at their marks")
        doubt, holds = build.doubt(part), level.capacity_l(part)
        st.caption(
            f"Holds {_state.show().litres(holds, doubt.at(holds), doubt.dof)} to {level.top(part)}. Litres per mm known to about "
            f"{figure(100.0, 100.0 * doubt.rel, doubt.dof, '%').plus_minus} (95 %). {doubt.hint}"
        )
    except FluidappError as err:
        st.warning(str(err))
        return
    with st.expander("Dip chart: a card for the cab"):
        names = [g.name for g in part.gauges]
        name = names[0]
        if len(names) > 1:
            name = st.selectbox("Gauge of the chart", names, key=f"{KEY}_chart_gauge_{part.key}", persist_state="page") or name
        percent = scale_unit(part, name) == "%"
        try:
            step = (
                _state.number_box("Distance of its lines (%; empty: about 30 lines)", f"{KEY}_step_share")
                if percent
                else _state.box("Distance of its lines; empty: about 30 lines", f"{KEY}_step", "length")
            )
            _downloads.dip_chart(machine, part.key, name, step, KEY)
        except FluidappError as err:
            st.error(str(err))


def gauge_rows(part: Compartment) -> list[dict[str, str]]:
    """One row for each band of each gauge: the marks and the litres at them."""
    show, rows = _state.show(), []
    for gauge in part.gauges:
        marks = dipchart.marks_of(part, gauge.name)
        unit = scale_unit(part, gauge.name)
        for k in range(0, max(len(marks), 1), 3):
            band = gauge.bands[k // 3] if gauge.bands else None
            row = {
                "gauge": gauge.name + (f", {band.label}" if band and band.label else ""),
                "kind": gauge.kind,
                "marks": "none",
                "litres": "–",
            }
            if band:
                low, _, high = (at for _, at in marks[k : k + 3])
                row["marks"] = f"{show.reading(low, unit)} to {show.reading(high, unit)}"
                row["litres"] = _litres(part, gauge.name, (low, high))
            rows.append(row)
    return rows


def _litres(part: Compartment, gauge: str, readings: tuple[float, float]) -> str:
    show, said = _state.show(), []
    for at in readings:
        try:
            one = Machine(key="shown", label="shown", compartments=(part,))
            found = level.volume(one, part.key, dipchart.as_asked(part, gauge, at))
            said.append(show.litres(found.as_read_l, found.u_l, found.dof))
        except FluidappError:
            said.append("outside the tank")
    return " to ".join(said)


def _others(machine: Machine) -> None:
    show = _state.show()
    if machine.cylinders:
        with st.expander("Cylinders"):
            rods = [
                {
                    "cylinder": f"{c.count} × {c.name}",
                    "rod": show.reading(c.rod, "mm"),
                    "stroke": show.reading(c.stroke, "mm"),
                    "bare in reference posture": show.reading(c.ref, "mm"),
                    "all out": show.amount(round(level.posture_l((c,), {c.name: c.stroke}), 1)),
                }
                for c in machine.cylinders
            ]
            st.table(rods, hide_index=True, alt="Cylinders with the oil that their rods push out")
    if machine.baths or machine.grease_points:
        with st.expander("Grease baths and grease points"):
            rows = [
                {"place": p.label, "kind": p.kind, "figure": f"every {p.limit_h:g} h" + (f", {p.dose_g:g} g" if p.dose_g else "")}
                for p in machine.grease_points
            ]
            rows += [{"place": b.label, "kind": "grease bath", "figure": f"{bath.area(b).l_per_mm:.3g} L per mm"} for b in machine.baths]
            st.table(rows, hide_index=True, alt="Grease baths and grease points")
