"""Machines, Edit: grease baths, cylinders, grease points, tasks with their intervals."""

from collections.abc import Mapping
from typing import Any

import streamlit as st

from fluidapp.calc import bath as baths
from fluidapp.calc import level
from fluidapp.errors import FluidappError
from fluidapp.model import Bath, Cylinder, GreasePoint, Machine
from fluidapp.model.intervals import Task
from fluidapp.screens import _form_inputs, _state
from fluidapp.screens._form import Form

WAYS_BATH = {"area": "litres per mm", "radii": "radii", "gear": "gear and wall"}
Doc = dict[str, Any]


def bath(form: Form, start: Mapping[str, Any]) -> Doc:
    doc = form.draw(Bath, start, only=("label", "product"))
    now = "gear" if start.get("gear") else "radii" if start.get("outer_mm") else "area"
    _form_inputs.seed(f"{form.key}_way", form.token, now)
    way = st.segmented_control("Its litres from", list(WAYS_BATH), format_func=lambda w: WAYS_BATH[w], key=f"{form.key}_way", required=True)
    fields = {"area": ("area_l_per_mm",), "radii": ("outer_mm", "inner_mm"), "gear": ("gear", "wall_radius_mm")}
    for other, names in fields.items():
        if other != way:
            doc = {k: v for k, v in doc.items() if k not in names}
    rest = (
        "u_area_percent",
        "packed_depth_mm",
        "u_packed_mm",
        "depth_low_mm",
        "depth_high_mm",
        "depth_max_mm",
        "datum",
        "linked",
        "source",
    )
    doc = form.draw(Bath, doc, only=(*fields[way or "area"], *rest))
    try:
        found = baths.area(form.made(Bath, {"key": "new", **doc}))
        st.caption(f"{found.l_per_mm:.3g} L in each mm of depth, from {found.how}.")
    except FluidappError as err:
        st.warning(str(err))
    return doc


def doubts(form: Form, doc: Doc) -> Doc:
    st.caption(
        "What counts where a reading brings nothing better: one standard uncertainty each, so the printed ± is about twice as wide. "
        "The figures are typical (common practice, no source) until you change them for this machine."
    )
    return form.draw(Machine, doc, only=("doubts",))


def cylinders(form: Form, doc: Doc) -> Doc:
    st.caption("Every cylinder that moves oil: boom, arm, bucket, blade, boom swing, attachment. One frame for each kind.")
    rows = form.draw(Machine, doc, only=("cylinders",))
    show = _state.show()
    try:
        made = [form.made(Cylinder, c, f"Cylinder {k + 1}") for k, c in enumerate(rows.get("cylinders", ()))]
        for c in made:
            out = level.posture_l((c,), {c.name: c.stroke})
            st.caption(
                f"{c.count} × {c.name}: all out, they hold {show.amount(round(out, 1))} less in the tank than in the reference posture."
            )
    except FluidappError as err:
        st.warning(str(err))
    return rows


def points(form: Form, doc: Doc) -> list[Doc]:
    return form.items(lambda s, at, where: _point(form, s, at, where), doc.get("grease_points", ()), "points_", "Grease point")


def _point(form: Form, start: Mapping[str, Any], at: str, where: str) -> Doc:
    doc = form.draw(GreasePoint, start, at, where=where, only=[n for n in form.words["GreasePoint"] if n != "ring"])
    if not (doc.get("kind") or "").startswith("slew"):
        return {k: v for k, v in doc.items() if k != "ring"}
    return form.draw(GreasePoint, doc, at, where=where, only=("ring",))


def tasks(form: Form, doc: Doc) -> Doc:
    """Tasks of the due list, and the conditions that hold on this machine and shorten some of them."""
    st.caption(
        "What the due list counts: hours or days, whichever comes first. The maker's manual comes first; typical figures are common "
        "practice, no source, until you replace them."
    )
    places = {p["key"]: p["label"] for kind in ("compartments", "baths", "grease_points") for p in doc.get(kind, ())}
    rows = form.items(lambda s, at, where: _task(form, s, at, where, places), doc.get("tasks", ()), "tasks_", "Task")
    named = sorted({s["condition"] for row in rows for s in row.get("shorter", ()) if s.get("condition")})
    key = f"{form.key}_conditions"
    _form_inputs.seed(key, form.token, list(doc.get("conditions", ())))
    st.session_state[key] = [c for c in st.session_state[key] or () if c in named]
    if named:
        st.pills("Conditions that hold here", named, selection_mode="multi", key=key, persist_state="session")
    return doc | {"tasks": rows, "conditions": list(st.session_state[key] or ())}


def _task(form: Form, start: Mapping[str, Any], at: str, where: str, places: Mapping[str, str]) -> Doc:
    """One task: its place is chosen by name, the rest as the words say."""
    names = [n for n in form.words["Task"] if n != "at"]
    doc = form.draw(Task, start, at, where=where, only=names[:2])
    key, spec = f"{form.key}_{at}at", form.words["Task"]["at"]
    _form_inputs.seed(key, form.token, doc.get("at"))
    place = st.selectbox(
        spec.label, list(places), format_func=lambda k: places.get(k, k), key=key, index=None, placeholder="the whole machine",
        help=spec.help, persist_state="session",
    )  # fmt: skip
    doc = {k: v for k, v in doc.items() if k != "at"} | ({"at": place} if place else {})
    return form.draw(Task, doc, at, where=where, only=names[2:])
