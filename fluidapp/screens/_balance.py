"""The inputs of the Oil balance: one row for each compartment, filled from the records where they know something."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import streamlit as st

from fluidapp.calc import between
from fluidapp.calc.balance import Change
from fluidapp.calc.bath import Survey, Weighed
from fluidapp.calc.budget import Line
from fluidapp.calc.watch.points import cold_share
from fluidapp.errors import BadInput, FluidappError
from fluidapp.model import Bath, Compartment, LevelPlug, Machine, Percent, Reading
from fluidapp.screens import _past, _resources, _state
from fluidapp.screens._days import Days
from fluidapp.screens._past import Past
from fluidapp.screens.words import one_sided
from fluidapp.store.kinds import LevelReading

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator


_STORED = "_balance_stored"
FOUR = 4  # the fewest depths that "four or more" stands for


@dataclass(frozen=True, slots=True)
class Row:
    """One compartment as entered. ``change`` is None until both readings are there; ``doc`` is a new reading to be stored."""

    key: str
    change: Change | None = None
    lines: tuple[Line, ...] = ()
    doc: LevelReading | None = None
    before: Past | None = None
    cold: float | None = None  # litres at 15 °C for one at the marks' warmth, where that is known


@contextmanager
def about(label: str) -> Iterator[None]:
    """A refusal inside names the compartment before the field."""
    try:
        yield
    except BadInput as err:
        if not err.field.startswith(label):
            err.field = f"{label}, {err.field[:1].lower()}{err.field[1:]}"
        raise


@contextmanager
def _abreast(count: int) -> "Iterator[list[DeltaGenerator]]":
    """Places for narrow boxes side by side, on a phone too."""
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        yield [st.container(width=104 if count > 1 else "stretch") for _ in range(count)]


def ask_oil(machine: Machine, part: Compartment, days: Days | None, same: bool, fold: "DeltaGenerator") -> Row:
    """The row of a tank or gear case: before, now, poured; in ``fold`` drained and, for a tank, the temperatures."""
    key = f"balance_{machine.key}_{part.key}"
    gauge = _gauge(machine, part, key)
    scale = part.gauge(gauge)
    unit, kind = ("%", "number") if isinstance(scale, Percent) else ("mm", "length")
    before, now = _both(machine, part.key, gauge, days)
    moved = _past.moved(machine, part.key, before, now)
    for name, past in (("before", before), ("now", now)):
        _from_records(f"{key}_{name}", past.entry.id if past else None, past.doc.level if past else None, unit, kind)
        if part.kind == "hydraulic tank":
            _from_records(f"{key}_{name}_temp", past.entry.id if past else None, past.doc.temp_c if past else None, "°C", "temperature")
    _fill_moved(key, before, moved.ids, {"poured": moved.in_l, "drained": moved.out_l}, "L", "volume")
    with about(part.label):
        temps: list[float | None] = [None, None]
        with fold:
            st.markdown(f"**{part.label}**")
            with _abreast(3) as (first, *places):
                with first:
                    drained = _state.box("Drained", f"{key}_drained", "volume") or 0.0
                for i, name in enumerate(("before", "now") if part.kind == "hydraulic tank" else ()):
                    with places[i]:
                        temps[i] = _state.box(f"Oil {name}", f"{key}_{name}_temp", "temperature")
        _title(part.label, gauge, before, now, moved.ids)
        if one_sided := newest_one_sided(machine, part):
            st.caption(one_sided)
        below = ", below the lip" if isinstance(scale, LevelPlug) else ""
        levels: list[float | None] = [None, None]
        with _abreast(3) as (*places, last):
            for i, (place, label, name) in enumerate(zip(places, ("Before", "Now"), ("before", "now"), strict=True)):
                with place:
                    at = f"{key}_{name}"
                    levels[i] = _state.number_box(f"{label} (%)", at) if kind == "number" else _state.box(label + below, at, kind)
            with last:
                poured = _state.box("Poured", f"{key}_poured", "volume") or 0.0
        ok = None
        if isinstance(scale, LevelPlug) and not all(past and past.doc.position_ok for past in (before, now)):
            ok = st.checkbox("Plug in its position both times (track turned until it is)", key=f"{key}_plug_ok", persist_state="session")
        then, later = (
            None if level is None else _reading(scale.name, kind, f"{key}_{name}", level, past, temp, ok)
            for name, level, past, temp in zip(("before", "now"), levels, (before, now), temps, strict=True)
        )
        if then is None or later is None:
            return Row(part.key, before=before)
        rho15 = _resources.rho15(part.product)
        change, lines = between.oil_change(
            machine, part.key, then, later, same_state=same, poured_l=poured, drained_l=drained,
            rho15=rho15,
            u_poured_l=moved.u_in_l if poured and poured == moved.in_l else None,
            u_drained_l=moved.u_out_l if drained and drained == moved.out_l else None,
        )  # fmt: skip
    kept = now is not None and _state.untouched(f"{key}_now")
    cold = cold_share(machine, part.key, gauge, rho15)
    return Row(part.key, change, lines, None if kept else LevelReading.made(node=part.key, **later.model_dump()), before, cold)


def ask_bath(machine: Machine, bath: Bath, days: Days | None, fold: "DeltaGenerator") -> Row:
    """The row of a grease bath: mean depth before and now, grease added; in ``fold`` what was taken out."""
    key = f"balance_{machine.key}_{bath.key}"
    before, now = _both(machine, bath.key, None, days)
    moved = _past.moved(machine, bath.key, before, now)
    as_packed = before is None and days is None and bath.packed_depth_mm is not None
    start = (before.entry.id, before.doc.level) if before else ("as packed", bath.packed_depth_mm if as_packed else None)
    _from_records(f"{key}_before", *start, "mm", "length")
    _from_records(f"{key}_now", now.entry.id if now else None, now.doc.level if now else None, "mm", "length")
    _fill_moved(key, before, moved.ids, {"poured": moved.in_kg, "drained": moved.out_kg}, "kg", "mass")
    with about(bath.label):
        with fold, _abreast(1) as (place,), place:
            removed = _state.box(f"{bath.label}, taken out", f"{key}_drained", "mass") or 0.0
        _title(bath.label, "mean depth", before, now, moved.ids, "before: as last packed" if as_packed else "")
        with _abreast(3) as (first, second, third):
            with first:
                then = _state.box("Before", f"{key}_before", "length")
            with second:
                later = _state.box("Now", f"{key}_now", "length")
            with third:
                added = _state.box("Added", f"{key}_poured", "mass") or 0.0
        four = st.checkbox("Means of four or more opposite depths", key=f"{key}_four", persist_state="session")
        if then is None or later is None:
            return Row(bath.key, before=before)
        grease = _resources.product(bath.product)
        packed = as_packed and _state.untouched(f"{key}_before")
        change, lines = between.bath_change(
            bath, None if packed else _survey(f"{key}_before", then, before, four), _survey(f"{key}_now", later, now, four),
            added=Weighed(added), removed=Weighed(removed), rho_grease=grease.rho15 if grease else None,
        )  # fmt: skip
    doc = LevelReading.made(node=bath.key, depths_mm=(later,), depths_n=FOUR if four else None, as_read=_state.as_read(f"{key}_now"))
    return Row(bath.key, change, lines, None if now is not None and _state.untouched(f"{key}_now") else doc, before)


def newest_one_sided(machine: Machine, part: Compartment) -> str:
    """What the newest reading says where it names no level: no change follows from it, but it must not be overlooked."""
    past = _past.newest_one_sided(machine, part.key)
    return f"{part.label}, newest reading {past}: {one_sided(part, past.doc.gauge)[past.doc.bound]}." if past else ""


def keep_stored(machine: Machine, rows: list[Row]) -> None:
    """These readings of now were stored: while they stand in their boxes, they stay "now" and do not become "before"."""
    boxes = [f"balance_{machine.key}_{row.key}_now" for row in rows]
    st.session_state[_STORED] = {box: _text(box) for box in boxes}


def _text(box: str) -> str:
    """What was typed into a box, whatever the unit of the view."""
    try:
        return _state.as_read(box)
    except (FluidappError, KeyError):  # not a number, or a box without a unit
        return str(st.session_state.get(box) or "")


def both_read(machine: Machine, key: str, days: Days) -> bool:
    """Whether a compartment was read on both days."""
    return all(_past.on_day(machine, key, None, day) for day in days)


def _both(machine: Machine, node: str, gauge: str | None, days: Days | None) -> tuple[Past | None, Past | None]:
    """The recorded readings of both days, or the last one alone, to be compared with now."""
    if days is None:
        now_box = f"balance_{machine.key}_{node}_now"
        shown = _text(now_box)
        stored = bool(shown) and st.session_state.get(_STORED, {}).get(now_box) == shown
        found = _past.readings(machine, node, gauge, most=2)
        if stored and found and found[0].doc.as_read in (shown, f"{shown} %"):  # it may have been voided since
            found = found[1:]
        return (found[0] if found else None), None
    return _past.on_day(machine, node, gauge, days[0]), _past.on_day(machine, node, gauge, days[1])


def _gauge(machine: Machine, part: Compartment, key: str) -> str:
    """The gauge of the row: the one last read, else the first; a choice where there are several."""
    names = [g.name for g in part.gauges]
    if len(names) == 1:
        return names[0]
    past = _past.last(machine, part.key)
    last = past.doc.gauge if past else None
    st.session_state.setdefault(f"{key}_gauge", last if last in names else names[0])
    return st.selectbox(f"Gauge of {part.label}", names, key=f"{key}_gauge", persist_state="session") or names[0]


def _title(label: str, gauge: str, before: Past | None, now: Past | None, poured: str, instead: str = "") -> None:
    told = [f"before {before}" if before else instead, f"now {now}" if now else "", "poured and drained" if poured else ""]
    said = "; ".join(t for t in told if t)
    st.markdown(f"**{label}** · {gauge}" + (f"  \n:small[From the records: {said}]" if said else ""))


def _fill_moved(key: str, before: Past | None, ids: str, amounts: dict[str, float], unit: str, kind: str) -> None:
    for name, amount in amounts.items():
        _from_records(f"{key}_{name}", f"{before.entry.id} {ids}" if before else None, amount or None, unit, kind)


def _from_records(key: str, token: str | None, amount: float | None, unit: str, kind: str) -> None:
    """Fills a box from the records, or takes back what was filled before where they say nothing now."""
    if token is None or amount is None:
        _state.unfill(key)
    else:
        _state.fill(key, token, amount, unit, kind)


def _reading(gauge: str, kind: str, key: str, level: float, past: Past | None, temp: float | None, ok: bool | None) -> Reading:
    """The recorded reading with all that was noted while the box still holds it, else a new one."""
    if past and _state.untouched(key):
        kept = past.doc.reading()
        return kept.model_copy(update={"temp_c": kept.temp_c if temp is None else temp, "position_ok": kept.position_ok or ok})
    typed = f"{st.session_state.get(key)} %" if kind == "number" else _state.as_read(key)
    return Reading.made(gauge=gauge, level=level, as_read=typed, temp_c=temp, position_ok=ok)


def _survey(key: str, depth: float, past: Past | None, four: bool) -> Survey:
    if past and past.doc.depths_mm and _state.untouched(key):
        return _past.survey(past.doc)
    return Survey((depth,), mean_of=FOUR if four else 1)
