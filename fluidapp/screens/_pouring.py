"""The inputs of a calibration by pouring: the walk, what the records offer, what is stored already."""

from dataclasses import dataclass

import streamlit as st

from fluidapp.calc import calibration
from fluidapp.errors import BadInput
from fluidapp.model import Compartment, LevelPlug, Machine, Percent, Pour
from fluidapp.screens import _offers, _state
from fluidapp.screens.words import scale_unit

MOST = 12


@dataclass(frozen=True, slots=True)
class Walk:
    """The walk as far as it has got: its pours, and what comes next in a sentence. texts : (poured, reading) as typed, by pour."""

    pours: tuple[Pour, ...]
    following: str
    first_read: str = ""
    texts: tuple[tuple[str, str], ...] = ()


def steps(machine: Machine, part: Compartment, gauge: str) -> None:
    """How it is done, beginning at the low mark."""
    show, unit = _state.show(), scale_unit(part, gauge)
    begin, pour = calibration.begin_at(part, gauge), calibration.pour_to_try(part, gauge)
    posture = " and in its reference posture" if machine.posture and part.kind == "hydraulic tank" else ""
    start = f"near the low mark ({show.reading(begin, unit)})" if begin is not None else "low on the gauge, where it still shows"
    amount = f"about {show.amount(pour)}" if pour else "a measured amount"
    plug = " Turn the plug into its position first." if isinstance(part.gauge(gauge), LevelPlug) else ""
    st.markdown(
        f"1. Machine level{posture}, oil neither hot nor just stirred.{plug}\n"
        f"2. Begin {start} and **read**.\n"
        f"3. **Pour {amount}**, measured, of the right product. Wait until it stands still, then **read again**.\n"
        "4. Three times or more, never over the upper mark."
    )


def walk(machine: Machine, part: Compartment, gauge: str) -> Walk:
    """Read, pour, read again: one row more than is filled. Raises what the boxes refuse."""
    key = f"calibration_{machine.key}_{part.key}_{[g.name for g in part.gauges].index(gauge)}"
    percent = isinstance(part.gauge(gauge), Percent)

    def read(label: str, name: str) -> float | None:
        return _state.number_box(f"{label} (%)", f"{key}_{name}") if percent else _state.box(label, f"{key}_{name}", "length")

    def typed(name: str) -> str:
        return f"{st.session_state.get(f'{key}_{name}') or ''} %" if percent else _state.as_read(f"{key}_{name}")

    lip = ", below the lip" if isinstance(part.gauge(gauge), LevelPlug) else ""
    at = read(f"Reading 1, before the first pour{lip}", "start")
    if at is None:
        return Walk((), f"Read the {gauge} and enter it.")
    pours: list[Pour] = []
    texts: list[tuple[str, str]] = []
    for n in range(1, MOST + 1):
        with st.grid(2, min_column_width=120, vertical_alignment="bottom"):
            litres = _state.box(f"Pour {n}", f"{key}_litres{n}", "volume", help="Drained instead: below 0." if n == 1 else None)
            after = read(f"Reading {n + 1}", f"after{n}")
        if litres is None and after is None:
            return Walk(tuple(pours), f"Pour no. {n}, then read again." if n <= 3 else "", typed("start"), tuple(texts))
        if litres is None:
            raise BadInput(f"Pour {n}", "nothing", "Enter the litres that were poured before this reading.")
        if after is None:
            return Walk(tuple(pours), f"{part.label}: read the {gauge} again after pour {n}.", typed("start"), tuple(texts))
        pours.append(_pour(n, litres, at, after, gauge))
        texts.append((_state.as_read(f"{key}_litres{n}"), typed(f"after{n}")))
        at = after
    return Walk(tuple(pours), "", typed("start"), tuple(texts))


def _pour(n: int, litres: float, before: float, after: float, gauge: str) -> Pour:
    try:
        return Pour.made(add=litres, before=before, after=after, gauge=gauge)
    except BadInput as err:
        raise BadInput(f"Pour {n}", f"{litres:g} L, {before:g} to {after:g}", err.fix) from err


def from_records(machine: Machine, part: Compartment, gauge: str) -> list[Pour]:
    """The recorded pours that the person ticks; those that are stored for the calibration already are left out."""
    stored = {(p.add, p.before, p.after) for p in part.pours}
    found = [(day, o) for day, o in _offers.recorded(machine, part) if o.pour.gauge == gauge and _told(o.pour) not in stored]
    if not found:
        return []
    good = [k for k, (_, o) in enumerate(found) if not o.cautions]
    rest = [k for k in range(len(found)) if k not in good]
    show, unit = _state.show(), scale_unit(part, gauge)

    def words(k: int) -> str:
        day, o = found[k]
        amount = show.amount(abs(o.pour.add))
        verb = "" if o.pour.add > 0 else "drained "
        why = f" ({', '.join(o.cautions)})" if o.cautions else ""
        return f"{day}: {verb}{amount}, {show.reading(o.pour.before, unit)} to {show.reading(o.pour.after, unit)}{why}"

    key = f"calibration_{machine.key}_{part.key}_recorded"
    with st.expander(f"From the records: {len(found)} with a reading before and after"):
        chosen = []
        for name, numbers in (("Read before and after in one visit", good), ("With something in between", rest)):
            if numbers:
                chosen += st.multiselect(
                    name, numbers, format_func=words, key=f"{key}_{'good' if numbers is good else 'rest'}", persist_state="session",
                    placeholder="Choose what to count",
                )  # fmt: skip
        st.caption("Work, warmth or days in between blur the rise: the fewer, the better.")
    return [found[k][1].pour for k in chosen]


def kept(part: Compartment, gauge: str) -> tuple[list[Pour], list[Pour]]:
    """The pours stored for this gauge, if the person keeps them, and those of other gauges, which stay."""
    scale = part.gauge(gauge).name
    own = [p for p in part.pours if part.gauge(p.gauge).name == scale]
    others = [p for p in part.pours if part.gauge(p.gauge).name != scale]
    if not own:
        return [], others
    key = f"calibration_keep_{part.key}"
    st.session_state.setdefault(key, True)
    many = f"the {len(own)} pours" if len(own) > 1 else "the pour"
    keep = st.checkbox(f"Keep {many} that {'are' if len(own) > 1 else 'is'} stored for it", key=key, persist_state="page")
    return (own if keep else []), others


def _told(pour: Pour) -> tuple[float, float, float]:
    return pour.add, pour.before, pour.after
