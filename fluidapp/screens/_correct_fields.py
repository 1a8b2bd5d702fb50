"""The fields of a recorded entry, filled with what was entered: each kind's own boxes, the same as where it was entered."""

from collections.abc import Callable
from typing import Any

import streamlit as st

from fluidapp import units
from fluidapp.calc import greasing
from fluidapp.model import Frozen, Percent
from fluidapp.screens import _pour, _resources, _state
from fluidapp.screens.words import one_sided
from fluidapp.store import Entry
from fluidapp.store.kinds import LabResult, LevelReading, Movement, OilSample, Shot, named
from fluidapp.store.tables import split_as_read

Fields = Callable[[], dict[str, Any]]
# the words of each other kind: field -> label
WORDS = {
    "note": ("text", "Note"),
    "observation": ("seen", "What was seen"),
    "task done": ("task", "What was done"),
    "repair": ("what", "What was repaired"),
    "duty": ("reason", "Why"),
    "watch opened": ("reason", "Why it is watched"),
    "watch closed": ("reason", "Why it ended"),
    "oil sample": ("bottle", "Bottle number"),
    "lab result": ("bottle", "Bottle number"),
}
NUMBERS = {"duty": ("factor", "Counts how many times"), "meter changed": ("old_end_h", "The old meter ended at (h)")}


def ask(entry: Entry) -> Callable[[], Frozen]:
    """Draws the boxes of ``entry``; what makes the corrected doc out of them, everything else taken over. Raises what they refuse."""
    key, doc = f"fix_{entry.id}", entry.doc
    if isinstance(doc, LevelReading):
        changed = _reading(entry, doc, key)
    elif isinstance(doc, Movement):
        changed = _movement(entry, doc, key)
    elif isinstance(doc, Shot):
        changed = _shot(entry, doc, key)
    else:
        changed = _words(entry, key)
    if entry.kind != "note":
        changed["note"] = _text("Note", f"{key}_note", doc.note)
    return lambda: type(doc).made(**(doc.model_dump() | changed))


def _text(label: str, key: str, old: str, **more: Any) -> str:
    if f"_filled_{key}" not in st.session_state:
        st.session_state[f"_filled_{key}"] = True
        st.session_state[key] = old
    return (st.text_input(label, key=key, autocomplete="off", persist_state="page", **more) or "").strip()


def _quantity(label: str, key: str, old: float | None, as_read: str, kind: str, inside: str) -> tuple[float | None, str]:
    """A box with a recorded amount in the unit in which it was typed; its value and what was typed, as they were while untouched."""
    if old is not None:
        text, unit = split_as_read(as_read, old, kind, inside)
        _state.fill(key, key, units.number(label, text) or 0.0, unit, kind)
    value = _state.box(label, key, kind)
    return (old, as_read) if old is not None and _state.untouched(key) else (value, _state.as_read(key))


def _number(label: str, key: str, old: float | None) -> float | None:
    if old is not None:
        _state.fill(key, key, old, "", "number")
    value = _state.number_box(label, key)
    return old if old is not None and _state.untouched(key) else value


def _temperature(doc: LevelReading | Movement, key: str) -> float | None:
    return _quantity("Oil temperature", f"{key}_temp", doc.temp_c, "", "temperature", "°C")[0]


def _reading(entry: Entry, doc: LevelReading, key: str) -> dict[str, Any]:
    machine = _resources.store().machine(str(entry.machine))
    part = next((c for c in machine.compartments if c.key == doc.node.partition("/")[2]), None)
    if part is None or doc.depths_mm:
        return _depths(doc, key)
    if doc.ran_out_l is not None:
        ran_out, typed = _quantity(
            "Ran out until it stopped", f"{key}_ran_out", doc.ran_out_l, doc.as_read.removeprefix("ran out "), "volume", "L"
        )
        return {"ran_out_l": ran_out, "as_read": f"ran out {typed}", "temp_c": _temperature(doc, key)}
    names = one_sided(part, doc.gauge)
    if isinstance(part.gauge(doc.gauge), Percent):
        level = _number(f"{doc.gauge} (%)", f"{key}_level", doc.level)
        as_read = doc.as_read if level == doc.level else f"{st.session_state.get(f'{key}_level') or ''} %"
    else:
        gauge = doc.gauge or "reading"
        level, as_read = _quantity(gauge[:1].upper() + gauge[1:], f"{key}_level", doc.level, doc.as_read, "length", "mm")
    ways = {bound: names[bound] for bound in ("at most", "at least")}
    st.session_state.setdefault(f"{key}_bound", doc.bound if doc.bound in ways else None)
    bound = st.segmented_control(
        "Or otherwise", list(ways), format_func=lambda b: ways[b], key=f"{key}_bound", persist_state="page", label_visibility="collapsed"
    )  # fmt: skip
    if bound == doc.bound:
        level, as_read = doc.level, doc.as_read
    elif bound:
        level, as_read = None, ways[bound]
    return {"level": level, "as_read": as_read, "bound": bound or "exact", "temp_c": _temperature(doc, key)}


def _depths(doc: LevelReading, key: str) -> dict[str, Any]:
    """The depths of a survey in one box, one after the other."""
    old = doc.depths_mm or ((doc.level,) if doc.level is not None else ())
    text = _text("Depths (mm), one after the other", f"{key}_depths", " ".join(f"{d:.10g}" for d in old))
    depths = tuple(n for word in text.split() if (n := units.number("Depths", word, comma=True)) is not None)
    if depths == old:
        return {}
    angles = doc.depths_at_deg if len(depths) == len(doc.depths_at_deg) else ()
    said = f"{', '.join(text.split())} mm"
    return {"depths_mm": depths, "depths_at_deg": angles, "depths_n": None, "level": None, "as_read": said}


def _movement(entry: Entry, doc: Movement, key: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    kind, field, inside = ("volume", "volume_l", "L") if doc.volume_l is not None else ("mass", "mass_kg", "kg")
    found[field], found["as_read"] = _quantity("Amount", f"{key}_amount", getattr(doc, field), doc.as_read, kind, inside)
    products = [p.key for p in _resources.store().products()]
    listed = list(dict.fromkeys([doc.product, *products, _pour.UNKNOWN]))
    found["product"] = st.selectbox("Product", listed, format_func=_pour.product_label, key=f"{key}_product", persist_state="page")
    found["temp_c"] = _temperature(doc, key)
    if doc.purpose in ("stock", "used oil"):
        found["price"] = _number("Price a litre (grease: a kg)", f"{key}_price", doc.price)
        found["document"] = _text("Document number", f"{key}_document", doc.document)
        if doc.purpose == "used oil":
            found["receiver"] = _text("Receiver", f"{key}_receiver", doc.receiver)
    return found


def _shot(entry: Entry, doc: Shot, key: str) -> dict[str, Any]:
    machine = _resources.store().machine(str(entry.machine))
    ring = next((p.ring for p in machine.grease_points if p.key == doc.point), None)
    field, label = (
        ("seconds", "Given (s)")
        if doc.seconds
        else ("mass_g", "Given (g)")
        if doc.mass_g and not doc.strokes
        else ("strokes", "Given (strokes)")
    )
    amount = _number(label, f"{key}_given", getattr(doc, field))
    found: dict[str, Any] = {field: amount}
    if amount != getattr(doc, field) and field != "mass_g":
        gun = next((g for g in _resources.store().guns(archived=True) if g.key == doc.gun), None)
        grams = greasing.grams(amount, None, gun) if field == "strokes" else greasing.grams(None, amount, gun)
        found |= {
            "mass_g": grams,
            "as_read": f"{amount:g} {'strokes' if field == 'strokes' else 's'}" if amount else "",
        }
    elif amount != doc.mass_g and field == "mass_g":
        found["as_read"] = f"{amount:g} g" if amount else ""
    if ring is not None:
        places = dict.fromkeys(
            [*([doc.swing_deg] if doc.swing_deg is not None else []), *(360.0 * i / ring.positions for i in range(ring.positions))]
        )
        found["swing_deg"] = st.selectbox(
            "Boom over", list(places), format_func=lambda deg: f"{greasing.position_name(deg, machine.sprockets)} ({deg:g}°)",
            key=f"{key}_swing", persist_state="page",
        )  # fmt: skip
    seals = {None: None, True: "shows", False: "does not show"}
    st.session_state.setdefault(f"{key}_purge", seals[doc.purge_seen])
    seal = st.segmented_control("Grease at the seal", ["shows", "does not show"], key=f"{key}_purge", persist_state="page")
    found["purge_seen"] = None if seal is None else seal == "shows"
    return found


def _words(entry: Entry, key: str) -> dict[str, Any]:
    """Every other kind: its words and its number."""
    doc = entry.doc
    found: dict[str, Any] = {}
    if entry.kind in WORDS:
        field, label = WORDS[entry.kind]
        found[field] = _text(label, f"{key}_words", getattr(doc, field) or "")
    if entry.kind in NUMBERS:
        field, label = NUMBERS[entry.kind]
        found[field] = _number(label, f"{key}_number", named(doc, field))
    if isinstance(doc, OilSample):
        found["oil_h"] = _number("Hours on the oil (h)", f"{key}_oil_h", doc.oil_h)
        found["added_l"], found["as_read"] = _quantity(
            "Added since the last sample", f"{key}_added", doc.added_l, doc.as_read, "volume", "L"
        )
    if isinstance(doc, LabResult):
        values = {name: _number(f"{name} ({doc.units[name]})", f"{key}_{i}", value) for i, (name, value) in enumerate(doc.values.items())}
        found["values"] = {name: value for name, value in values.items() if value is not None}
        found["units"] = {name: doc.units[name] for name in found["values"]}
    return found
