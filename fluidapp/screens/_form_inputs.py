"""The inputs of a form, one for each kind of field, filled once from what is stored.

Kinds: length, volume, mass, temperature, angle (with a unit), number, count, text, words, choice, yes, product, point, degrees,
pairs, edges, keys. WIDE ones take a line for themselves.
"""

from collections.abc import Callable
from typing import Any

import streamlit as st

from fluidapp import units
from fluidapp.errors import BadInput
from fluidapp.screens import _resources, _state

QUANTITIES = {"length": "mm", "volume": "L", "mass": "kg", "temperature": "°C", "angle": "°"}
WIDE = {"yes", "words", "point", "pairs", "edges", "part", "list"}
AXES = ("forward", "left", "up")
_SEEDED = "_form_seeded"


def ask(
    kind: str, label: str, key: str, token: str, start: Any, help: str | None, choices: tuple[tuple[str, ...], bool] = ((), False)
) -> Any:
    """Draws one input and returns what it holds as a plain value, None where it is empty. Raises what it refuses."""
    if kind in QUANTITIES:
        return _quantity(kind, label, key, token, start, help)
    match kind:
        case "number" | "count":
            seed(key, token, "" if start is None else f"{start:.12g}")
            value = _state.number_box(label, key, help=help)
            return int(value) if kind == "count" and value is not None and value.is_integer() else value
        case "choice" | "product" | "keys":
            return _choice(kind, label, key, token, start, help, choices)
        case "yes":
            seed(key, token, bool(start))
            return st.checkbox(label, key=key, help=help, persist_state="session")
        case "point":
            return _point(label, key, token, start, help)
        case "degrees":
            seed(key, token, " ".join(f"{x:g}" for x in start or ()))
            text = st.text_input(label, key=key, help=help, autocomplete="off", persist_state="session") or ""
            return [x for part in text.replace("°", " ").split() if (x := units.number(label, part.strip(","), comma=True)) is not None]
        case "pairs" | "edges":
            return _lines(kind, label, key, token, start, help)
        case "words":
            seed(key, token, start or "")
            return (st.text_area(label, key=key, help=help, height=90, persist_state="session") or "").strip()
    seed(key, token, start or "")
    return (st.text_input(label, key=key, help=help, autocomplete="off", persist_state="session") or "").strip()


def _quantity(kind: str, label: str, key: str, token: str, start: Any, help: str | None) -> float | None:
    _fresh(key, token, start, kind)
    return _state.box(label, key, kind, help=help)


def _fresh(key: str, token: str, start: Any, kind: str) -> None:
    """Puts a stored amount into a box, once for each token."""
    if st.session_state.setdefault(_SEEDED, {}).get(key) == token and key in st.session_state:
        return
    st.session_state[_SEEDED][key] = token
    st.session_state.pop(key, None)
    if start is None:
        st.session_state[key] = ""
    else:
        _state.fill(key, token, float(start), QUANTITIES[kind], kind)


def seed(key: str, token: str, value: Any) -> None:
    """The same for an input that is no box."""
    if st.session_state.setdefault(_SEEDED, {}).get(key) == token and key in st.session_state:
        return
    st.session_state[_SEEDED][key] = token
    st.session_state[key] = value


def _choice(kind: str, label: str, key: str, token: str, start: Any, help: str | None, choices: tuple[tuple[str, ...], bool]) -> Any:
    options, optional = list(choices[0]), choices[1]
    words: Callable[[str], str] = str
    if kind == "product":
        labels = {p.key: p.label for p in _resources.store().products()}
        options, optional = list(dict.fromkeys([*labels, *([start] if start else [])])), True
        words = lambda k: labels.get(k, str(k))  # noqa: E731
    if kind == "keys":
        seed(key, token, " ".join(start or ()))
        return (st.text_input(label, key=key, help=help, autocomplete="off", persist_state="session") or "").replace(",", " ").split()
    seed(key, token, start)
    if st.session_state[key] not in options:
        st.session_state[key] = None if optional or not options else options[0]
    return st.selectbox(
        label, options, key=key, help=help, index=None if optional else 0, format_func=words, placeholder="not entered",
        persist_state="session",
    )  # fmt: skip


def _point(label: str, key: str, token: str, start: Any, help: str | None) -> list[float] | None:
    """Three lengths; all empty means not entered."""
    st.caption(f"{label}" + (f": {help}" if help else ""))
    found = []
    with st.grid(3, min_column_width=80, vertical_alignment="bottom"):
        for k, axis in enumerate(AXES):
            found.append(_quantity("length", axis, f"{key}_{axis[0]}", token, start[k] if start else None, None))
    if all(x is None for x in found):
        return None
    for x, axis in zip(found, AXES, strict=True):
        if x is None:
            raise BadInput(f"{label}, {axis}", "nothing", "Enter all three, or none; 0 counts as entered.")
    return [float(x) for x in found if x is not None]


def _lines(kind: str, label: str, key: str, token: str, start: Any, help: str | None) -> list[Any] | None:
    """Numbers in lines: "mm litres" of a table, "across up [radius]" of an outline."""
    rows = [[*(e["to"]), *([e["radius"]] if e.get("radius") is not None else [])] for e in start or ()] if kind == "edges" else start or ()
    seed(key, token, "\n".join(" ".join(f"{x:g}" for x in row) for row in rows))
    text = st.text_area(label, key=key, help=help, height=150, persist_state="session") or ""
    found: list[Any] = []
    for n, line in enumerate(text.splitlines(), start=1):
        parts = line.replace(";", " ").split()
        if not parts:
            continue
        where = f"{label}, line {n}"
        numbers = [units.number(where, part, comma=True) for part in parts]
        if len(numbers) not in ((2,) if kind == "pairs" else (2, 3)):
            fix = (
                "Write level and litres, with a space between." if kind == "pairs" else "Write two places, and a radius where it is an arc."
            )
            raise BadInput(where, line.strip(), fix)
        found.append(numbers if kind == "pairs" else {"to": numbers[:2]} | ({"radius": numbers[2]} if len(numbers) == 3 else {}))
    return found or None
