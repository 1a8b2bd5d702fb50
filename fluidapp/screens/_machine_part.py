"""Machines, Edit: one compartment, its cut and its litres while it is typed."""

import dataclasses
from collections.abc import Mapping
from typing import Any, get_args

import streamlit as st

from fluidapp.calc import build, dipchart, level, picture
from fluidapp.charts.tank import tank as draw_tank
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, Deadwood, Frozen, Gauge, Shape
from fluidapp.screens import _form_inputs, _form_words, _machine_look, _parts, _state
from fluidapp.screens._form import Form

WAYS = {"body": "shape", "table": "table", "fill": "fill and mark", "pours": "pours"}
PACKED = ("slewing gearbox", "final drive", "gear case", "other")
KINDS: dict[str, type[Frozen]] = {get_args(one.model_fields["kind"].annotation)[0]: one for one in get_args(get_args(Gauge)[0])}
SHAPES: dict[str, type[Frozen]] = {get_args(one.model_fields["shape"].annotation)[0]: one for one in get_args(get_args(Shape)[0])}
LITRES_ONLY = "only its litres"


def draw(form: Form, start: Mapping[str, Any]) -> dict[str, Any]:
    """The inputs of a compartment; the picture stands between its shape and its gauges. Returns what they hold."""
    doc = form.draw(Compartment, start, only=("label", "kind", "side", "on", "product"))
    if doc.get("kind") in PACKED and _form_inputs.ask(
        "yes", "Packed with grease: no level", f"{form.key}_packed", form.token, bool(start.get("grease_packed_kg")), None
    ):
        doc = form.draw(Compartment, doc, only=("grease_packed_kg",))
        return {k: v for k, v in doc.items() if k not in (*WAYS, "minus", "gauges", "u_tank_percent")}
    doc.pop("grease_packed_kg", None)
    first = next((g.get("kind") for g in start.get("gauges", ())), None)
    words = dataclasses.replace(form, words=_form_words.PERCENT) if first == "percent" else form
    _form_inputs.seed(f"{form.key}_ways", form.token, [way for way in WAYS if start.get(way)] or ["body"])
    ways = st.pills(
        "How its litres are known", list(WAYS), selection_mode="multi", format_func=lambda w: WAYS[w], key=f"{form.key}_ways",
        persist_state="session", help="One is enough. Two are combined, or their contradiction is named.",
    )  # fmt: skip
    for way in WAYS:
        if way not in ways:
            doc.pop(way, None)
        elif way == "body":
            doc["body"] = _body(words, start.get("body") or {})
        else:
            doc = words.draw(Compartment, doc, only=(way,))
    seen_at = st.container()
    if "body" in ways:
        with st.expander(f"What stands inside ({len(start.get('minus', ()))})"):
            doc["minus"] = words.items(lambda s, at, where: _inside(words, s, at, where), start.get("minus", ()), "minus_", "Thing inside")
    else:
        doc.pop("minus", None)
    st.markdown("**Gauges**")
    doc["gauges"] = form.items(lambda s, at, where: _gauge(form, s, at, where), start.get("gauges", ()), "gauges_", "Gauge")
    with st.expander("Written litres, waiting, where the figures come from"):
        doc = form.draw(Compartment, doc, only=("capacities", "settle_min", "usual_topup_l", "u_tank_percent", "source"))
    with seen_at:
        seen(form, doc)
    return doc


def seen(form: Form, doc: Mapping[str, Any]) -> None:
    """The cut, the capacity and the litres at the marks of what is typed now; a refusal as one sentence."""
    try:
        part = made(form, doc)
        if not part.gauges:
            st.caption(f"Holds {_state.show().amount(round(level.capacity_l(part), 1))}. Add a gauge below to read it.")
            return
        for gauge in part.gauges:
            if gauge.bands:
                level.marks(part, gauge.name)  # refuses marks outside the tank
        scale = next((g for g in part.gauges if g.bands), part.gauges[0])
        at = scale.bands[0].aim_mm if scale.bands else (dipchart.span(part, scale.name)[0] + dipchart.span(part, scale.name)[1]) / 2
        frame = st.container()
        drawn = picture.tank(part, dipchart.as_asked(part, scale.name, at), at, _view(form, part))
        with frame:
            _parts.chart(draw_tank(drawn, _state.show().about), drawn.text, f"{form.key}_chart", "content")
        holds = f"Holds {_state.show().amount(round(level.capacity_l(part), 1))} to {level.top(part)}"
        st.caption(f"{holds}.")
        st.bottom.caption(
            " · ".join([f"As typed: {holds[:1].lower()}{holds[1:]}", *(f"{m.label} {_state.show().about(m.litres)}" for m in drawn.marks)])
        )
        st.table(_machine_look.gauge_rows(part), hide_index=True, alt=f"Gauges of {part.label} with the litres at their marks, as typed")
        if part.pours and build.told(part) is not None and (said := build.per_mm(part).remark):
            st.warning(said)
    except FluidappError as err:
        st.bottom.warning(str(err))


def _view(form: Form, part: Compartment) -> picture.View:
    """From where a drawn tank is looked at."""
    if part.body is None:
        return "side"
    key, views = f"{form.key}_view", {"side": "from the side", "behind": "from behind"}
    chosen = st.segmented_control("Seen", list(views), format_func=lambda v: views[v], key=key, default="side", required=True)
    return "behind" if chosen == "behind" else "side"


def made(form: Form, doc: Mapping[str, Any]) -> Compartment:
    """The compartment as typed; BadInput naming part and field."""
    return form.made(Compartment, {"key": "new", **doc})


def _gauge(form: Form, start: Mapping[str, Any], at: str, where: str) -> dict[str, Any]:
    kind = start.get("kind")
    chosen = _form_inputs.ask("choice", "Kind of gauge", f"{form.key}_{at}kind", form.token, kind or "stick", None, (tuple(KINDS), False))
    words = dataclasses.replace(form, words=_form_words.PERCENT) if chosen == "percent" else form
    model = KINDS[chosen]
    kept = {k: v for k, v in start.items() if k in model.model_fields and k != "kind"}
    return {**words.draw(model, {"name": _form_words.GAUGE_NAMES[chosen], **kept}, at, where=where), "kind": chosen}


def _inside(form: Form, start: Mapping[str, Any], at: str, where: str) -> dict[str, Any]:
    shape = start.get("shape", LITRES_ONLY)
    known = (LITRES_ONLY, *_offered(shape))
    chosen = _form_inputs.ask("choice", "Known by", f"{form.key}_{at}shape", form.token, shape, None, (known, False))
    if chosen == LITRES_ONLY:
        kept = {k: v for k, v in start.items() if k in Deadwood.model_fields} if shape == LITRES_ONLY else {}
        return form.draw(Deadwood, kept, at, where=where)
    return _shape(form, chosen, start, at, where)


def _offered(stored: str | None) -> list[str]:
    """Shapes to choose from: one of faces is not typed, it comes from a file."""
    return [shape for shape in SHAPES if shape != "mesh" or stored == "mesh"]


def _body(form: Form, start: Mapping[str, Any]) -> dict[str, Any]:
    stored = start.get("shape")
    _form_inputs.seed(f"{form.key}_body_shape", form.token, stored or "box")
    chosen = st.selectbox(
        "Shape", _offered(stored), format_func=lambda s: _form_words.SHAPE_NAMES[s], key=f"{form.key}_body_shape", persist_state="session"
    )
    return _shape(form, chosen or "box", start, "body_", "Shape, ")


def _shape(form: Form, chosen: str, start: Mapping[str, Any], at: str, where: str) -> dict[str, Any]:
    model = SHAPES[chosen]
    kept = {k: v for k, v in start.items() if k in model.model_fields and k != "shape"}
    if chosen == "mesh":
        st.caption(
            f"{len(kept['corners'])} corners and {len(kept['faces'])} faces, as in the machine's file: change them there, under Files."
        )
    return {**form.draw(model, kept, at, where=where), "shape": chosen}
