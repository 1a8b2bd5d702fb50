"""What a person typed and chose: the units, and boxes that keep the entry when the unit of the view changes."""

import streamlit as st

from fluidapp import units
from fluidapp.errors import FluidappError
from fluidapp.screens.words import Show

UNITS = "units"
CHOICES: dict[str, Show] = {
    "mm, L": Show(),
    "in, US gal": Show("in", "US gal", "lb", "°F"),
    "in, imp gal": Show("in", "imp gal", "lb", "°C"),
}
_BOXES, _ENTERED, _CHOSEN, _FILLED = "_boxes", "_entered", "_units_before", "_filled"


def show() -> Show:
    """The units that this person reads."""
    return CHOICES[st.session_state.get(UNITS) or "mm, L"]


def _unit(kind: str, of: Show) -> str:
    return {"length": of.length, "volume": of.volume, "mass": of.mass, "temperature": of.temperature, "angle": "°"}[kind]


def keep(*keys: str) -> None:
    """Carries the values of these widgets over to the screen that is opened now; call it before the widgets are drawn."""
    for key in keys:
        if st.session_state.get(key) is not None:
            st.session_state[key] = st.session_state[key]


def units_box() -> None:
    """The choice of units; changing it converts what the boxes show and leaves what was entered as it is."""
    keep(UNITS)
    st.selectbox(
        "Units", list(CHOICES), key=UNITS, on_change=_convert_boxes, persist_state="session", width=100,
        help="Every box also takes its unit: 8 3/8 in, 5 US gal, 45 °C.",
    )  # fmt: skip
    st.session_state[_CHOSEN] = st.session_state[UNITS]


def box(label: str, key: str, kind: str, *, help: str | None = None, bind: bool = False, placeholder: str | None = None) -> float | None:
    """A text box for a quantity; the value in mm, L, kg, °C or degrees, None while it is empty.

    The label carries the unit. BadInput, naming the field, for anything that is not a number with a listed unit.
    """
    unit = _unit(kind, show())
    st.session_state.setdefault(_BOXES, {})[key] = (label, kind)
    st.text_input(
        f"{label} ({unit})", key=key, help=help, autocomplete="off", placeholder=placeholder, persist_state="session",
        bind="query-params" if bind else None,
    )  # fmt: skip
    return value(key)


def number_box(label: str, key: str, *, help: str | None = None, bind: bool = False) -> float | None:
    """A text box for a plain number (per cent, strokes, hours); None while it is empty."""
    text = st.text_input(label, key=key, help=help, autocomplete="off", persist_state="session", bind="query-params" if bind else None)
    return units.number(label, text or "", comma=True)


def value(key: str) -> float | None:
    """What a box holds, in the inside unit."""
    entered = _entered(key)
    if entered is None:
        return None
    _, kind = st.session_state[_BOXES][key]
    amount, unit = entered
    return float(units.convert("", amount, unit, _INSIDE[kind], kind))


def as_read(key: str) -> str:
    """What was typed into a box, as it was typed first; the unit is added where none was written."""
    if _entered(key) is None:
        return ""
    return _typed(key, show())


def fill(key: str, token: str, amount: float, unit: str, kind: str) -> None:
    """Puts an amount from the records into a box before it is drawn, once for each ``token``; what is typed later stays.

    kind : as in :func:`box`, or "number" for a number box.
    """
    filled = st.session_state.setdefault(_FILLED, {})
    if filled.get(key, ("",))[0] == token and key in st.session_state:
        return
    to = unit if kind == "number" else _unit(kind, show())
    view = amount if to == unit else float(units.convert("", amount, unit, to, kind))
    text = _plain(view)
    filled[key] = (token, text, amount, unit)
    st.session_state[key] = text
    if kind != "number":
        st.session_state.setdefault(_ENTERED, {})[key] = (text, amount, unit, f"{amount:g} {unit}")


def unfill(key: str) -> None:
    """Empties a box that still holds what :func:`fill` put there, before it is drawn; what a person typed stays."""
    filled = st.session_state.get(_FILLED, {})
    if key in filled and untouched(key):
        st.session_state[key] = ""
        del filled[key]


def untouched(key: str) -> bool:
    """True while a box holds what :func:`fill` put there, whatever the unit of the view."""
    filled = st.session_state.get(_FILLED, {}).get(key)
    if filled is None:
        return False
    if key not in st.session_state.get(_BOXES, {}):
        return bool((st.session_state.get(key) or "").strip() == filled[1])
    return bool(_entered(key) == filled[2:])


_INSIDE = {"length": "mm", "volume": "L", "mass": "kg", "temperature": "°C", "angle": "°"}


def _entered(key: str, of: Show | None = None) -> tuple[float, str] | None:
    """Number and unit as entered; where the box only shows a converted view, what stood there before."""
    label, kind = st.session_state[_BOXES][key]
    text = (st.session_state.get(key) or "").strip()
    kept = st.session_state.get(_ENTERED, {}).get(key)
    if kept and kept[0] == text:
        return kept[1], kept[2]
    return units.quantity(label, text, kind, _unit(kind, of or show()), comma=True)


def _typed(key: str, of: Show) -> str:
    """What was typed into a box that can be read, whatever its view shows now."""
    text = (st.session_state.get(key) or "").strip()
    kept = st.session_state.get(_ENTERED, {}).get(key)
    if kept and kept[0] == text:
        return str(kept[3])
    return units.as_typed(text, _unit(st.session_state[_BOXES][key][1], of))


def _plain(view: float) -> str:
    """A number as a box shows it: up to three decimals, without needless zeros."""
    return f"{view:.3f}".rstrip("0").rstrip(".")


def _convert_boxes() -> None:
    before = CHOICES[st.session_state.get(_CHOSEN) or "mm, L"]
    kept = st.session_state.setdefault(_ENTERED, {})
    for key, (_, kind) in st.session_state.get(_BOXES, {}).items():
        if not st.session_state.get(key):
            continue
        try:
            entered = _entered(key, before)
        except FluidappError:
            continue
        if entered is None:
            continue
        to = _unit(kind, show())
        view = entered[0] if entered[1] == to else float(units.convert("", entered[0], entered[1], to, kind))
        typed, text = _typed(key, before), _plain(view)
        kept[key] = (text, *entered, typed)
        st.session_state[key] = text
