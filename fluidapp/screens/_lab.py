"""Grease bath, folded away: free oil at the drain, what tank and gearbox could have given, and a laboratory's report."""

import streamlit as st

from fluidapp import units
from fluidapp.calc import bath as baths
from fluidapp.calc.figure import figure
from fluidapp.model import Bath, Machine
from fluidapp.screens import _bath, _state
from fluidapp.store.kinds import LabResult

FIGURES = {  # field: (label, unit)
    "tracer_clean": ("Tracer, clean grease", "ppm"),
    "tracer_oil": ("Tracer, oil", "ppm"),
    "tracer_sample": ("Tracer, sample", "ppm"),
    "nu_clean": ("Viscosity, clean grease's oil", "mm²/s"),
    "nu_oil": ("Viscosity, foreign oil", "mm²/s"),
    "nu_sample": ("Viscosity, sample's oil", "mm²/s"),
    "thickener_clean": ("Thickener, clean grease", "%"),
    "thickener_sample": ("Thickener, sample", "%"),
    "penetration_clean": ("Penetration, clean grease", "0.1 mm"),
    "penetration_sample": ("Penetration, sample", "0.1 mm"),
}
HELP = {
    "tracer_clean": "One element that the oil holds and the grease does not: zinc, phosphorus, calcium, magnesium, boron.",
    "nu_clean": "All three at the same temperature, of the oil drawn out of the grease.",
    "thickener_clean": "Of the same batch: soap, insolubles or soap metal.",
    "penetration_clean": "Worked. Softening allows at most so much oil; shear and water soften too.",
}
WHAT = {"two_sided": "share", "upper": "at most", "lower": "at least", "ceiling": "at most"}


def ask(machine: Machine, bath: Bath, got: _bath.Asked) -> baths.Together | None:
    """The folded inputs and, where anything is entered, what all methods say together. Raises what the methods refuse."""
    key = f"bath_{machine.key}_{bath.key}"
    bounds = _bounds(machine, bath, key)
    lab = _report(key)
    return baths.together(got.found, lab, bounds, water=got.water)


def line(found: baths.Together) -> str:
    """What all methods say together, in one sentence."""
    all_of = found.combined
    if all_of.agree is False:
        return "**The methods disagree and are not averaged**: look for water, added grease, or a wrong reference."
    if all_of.w is None or all_of.u is None:
        return "No method gives a share yet."
    share = figure(100.0 * all_of.w, 100.0 * all_of.u, all_of.u_dof, "%")
    names = " and ".join(all_of.used)
    return f"From {names} {'together' if len(all_of.used) > 1 else 'alone'}: **{share}** oil by mass."


def shown(found: baths.Together) -> None:
    """Every method with its share or bound, and why it was left out."""
    show = _state.show()
    rows = []
    for one in found.estimates:
        if one.w is not None and one.u is not None:
            said = f"{WHAT[one.kind]} {figure(100.0 * one.w, 100.0 * one.u, one.dof, '%')}"
        elif one.refused:
            said = f"not used: {one.refused_reason}"
        elif one.volume_l is not None and one.u_l is not None:
            said = f"{WHAT[one.kind]} {show.litres(one.volume_l, one.u_l, one.dof_l)}"
        else:
            said = "–"
        rows.append({"method": one.method, "oil by mass, or litres": said})
    st.table(rows, hide_index=True, alt="Each method, and the share or the bound that it gives")
    st.caption(" ".join(found.combined.remarks))
    if found.combined.dof:
        st.caption(f"χ² {found.combined.chi2:.1f} on {found.combined.dof}: how far the methods lie apart. Doubts are typical figures.")
    for said in dict.fromkeys(remark for one in found.estimates for remark in one.remarks if one.method != "level rise"):
        st.caption(said)


def doc(bath: Bath, key: str) -> LabResult | None:
    """The report as it goes into the records; None where nothing of it is entered."""
    entered = {name: _value(key, name) for name in FIGURES}
    values = {FIGURES[name][0]: value for name, value in entered.items() if value is not None}
    if not values:
        return None
    of = {label: unit for label, unit in FIGURES.values() if label in values}
    return LabResult.made(node=bath.key, laboratory=(st.session_state.get(f"{key}_laboratory") or "").strip(), values=values, units=of)


def _bounds(machine: Machine, bath: Bath, key: str) -> baths.Bounds:
    with st.expander("Free oil at the drain; what tank and gearbox lost"):
        caught = _state.box("Free oil caught at the bath's drain", f"{key}_caught", "volume", help="Before it was drained; a lower bound.")
        st.caption("Lost by themselves since the depth before, from Oil balance; below 0: gained. Together they bound what can have come.")
        tank = _state.box("Hydraulic tank lost", f"{key}_tank_lost", "volume")
        gearboxes = [
            _state.box(f"{part.label} lost", f"{key}_{part.key}_lost", "volume") for part in machine.compartments if part.key in bath.linked
        ]
        outside = _state.box("Seen to leak out", f"{key}_outside", "volume")
        if not bath.linked:
            st.caption("No gearbox is linked to this bath on Machines, so there is no ceiling.")
    return baths.Bounds(caught, tank, tuple(gearboxes), outside or 0.0)


def _report(key: str) -> baths.LabReport:
    with st.expander("I have a lab report"):
        st.text_input("Laboratory, bottle", key=f"{key}_laboratory", autocomplete="off", persist_state="session")
        found = {}
        for name, (label, unit) in FIGURES.items():
            if name in HELP:
                st.caption(HELP[name])
            found[name] = _state.number_box(f"{label} ({unit})", f"{key}_{name}")
        sampling = _state.number_box("Doubt of taking the sample (% of mass, 1 σ; empty: not known)", f"{key}_sampling")
    return baths.LabReport(**found, u_sampling=None if sampling is None else sampling / 100.0)


def _value(key: str, name: str) -> float | None:
    return units.number(FIGURES[name][0], st.session_state.get(f"{key}_{name}") or "", comma=True)
