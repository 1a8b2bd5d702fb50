"""The inputs of the Grease bath: depths now and before, grease put in and taken out, and what sharpens the answer."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import streamlit as st

from fluidapp.calc import bath as baths
from fluidapp.calc import between
from fluidapp.model import Bath, Machine
from fluidapp.screens import _past, _resources, _state

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

PACKED, TYPED = "as last packed", "a depth that I enter"


@dataclass(frozen=True, slots=True)
class Asked:
    """What was entered: depths now and before, and the answer that follows."""

    after: baths.Survey | None
    before: baths.Survey | None
    bath: Bath
    found: baths.BathCheck
    water: bool | None
    boxes: tuple[str, ...]


def pick_bath(machine: Machine) -> Bath:
    """The bath of the machine, or one of several; stops where there is none."""
    found = {b.key: b for b in machine.baths}
    if not found:
        st.info(f"{machine.label} has no grease bath yet: enter one on Machines.")
        st.stop()
    if len(found) == 1:
        return machine.baths[0]
    key = st.selectbox("Bath", list(found), format_func=lambda k: found[k].label, key=f"bath_{machine.key}_which", persist_state="session")
    return found[key or machine.baths[0].key]


def depths(key: str) -> dict[str, float]:
    """Every depth that was entered, by its box; one is enough."""
    st.session_state.setdefault(f"{key}_count", 4)
    count = st.segmented_control(
        "Depths read round the ring", [1, 4, 6, 8], key=f"{key}_count", required=True, persist_state="session",
        help="One is enough. Four or more, evenly all round, take the tilt out: from one cover, slew a quarter turn between them "
        "where slewing is allowed.",
    )  # fmt: skip
    with st.container(horizontal=True, gap="xsmall"):
        places = [st.container(width=80) for _ in range(count or 4)]
    found: dict[str, float] = {}
    for i, place in enumerate(places, start=1):
        with place:
            depth = _state.box(f"Depth {i}", f"{key}_depth_{i}", "length")
        if depth is not None:
            found[f"{key}_depth_{i}"] = depth
    return found


def earlier(machine: Machine, bath: Bath, key: str) -> tuple[baths.Survey | None, bool | None, _past.Moved]:
    """The depth to compare with, whether that was a clean start, and what the records say was put in and taken out since."""
    stored = {f"survey of {past}": past for past in _past.readings(machine, bath.key, most=3)}
    choices = [*stored, *([PACKED] if bath.packed_depth_mm else []), TYPED]
    if st.session_state.get(f"{key}_before") not in choices:
        st.session_state[f"{key}_before"] = choices[0]
    choice = st.selectbox("Compare with", choices, key=f"{key}_before", persist_state="session")
    if choice == PACKED:
        return None, None, _past.Moved()
    clean = st.checkbox("Freshly packed with clean grease then", key=f"{key}_clean", persist_state="session")
    if choice in stored:
        doc = stored[choice].doc
        return _past.survey(doc), clean or None, _past.moved(machine, bath.key, stored[choice])
    depth = _state.box("Depth then", f"{key}_then", "length")
    return (None if depth is None else baths.Survey((depth,))), clean or None, _past.Moved()


def ask(machine: Machine, bath: Bath, asked_at: "DeltaGenerator", more_at: "DeltaGenerator") -> Asked:
    """Draws the inputs, in ``more_at`` those that sharpen the answer, and asks the calculation. Raises what it refuses."""
    key = f"bath_{machine.key}_{bath.key}"
    grease = _resources.product(bath.product)
    with asked_at:
        now = depths(key)
    with more_at:
        before, clean, moved = earlier(machine, bath, key)
        for name, amount in (("added", moved.in_kg), ("removed", moved.out_kg)):
            if amount:
                _state.fill(f"{key}_{name}", moved.ids, amount, "kg", "mass")
            else:
                _state.unfill(f"{key}_{name}")
        with st.container(horizontal=True, gap="small"):
            places = [st.container(width=158) for _ in range(2)]
        with places[0]:
            added = _state.box("Grease put in", f"{key}_added", "mass")
        with places[1]:
            removed = _state.box("Grease taken out", f"{key}_removed", "mass")
        if moved.ids:
            st.caption("Put in and taken out since then, from the records.")
        water = st.segmented_control("Water (white, milky)", ["seen", "not seen"], key=f"{key}_water", persist_state="session")
    with more_at, st.expander("Sharpen it: depth as packed, hours, temperature, densities"):
        packed = _state.box("Depth as last packed", f"{key}_packed", "length", placeholder=f"{bath.packed_depth_mm or ''}")
        hours = _state.number_box("Hours worked since (ring grease may have run into the bath)", f"{key}_hours")
        temps = [_state.box(f"Grease temperature {when}", f"{key}_temp_{when}", "temperature") for when in ("then", "now")]
        rho_grease = _state.number_box("Density of the grease (kg/m³; empty: typical)", f"{key}_rho_grease")
        rho_oil = _state.number_box("Density of the oil (kg/m³; empty: typical)", f"{key}_rho_oil")
    if packed is not None:
        bath = bath.model_copy(update={"packed_depth_mm": packed})
    if rho_grease is None and grease is not None:
        rho_grease = grease.rho15
    after = baths.Survey(tuple(now.values())) if now else None
    found = baths.check(
        bath, after, before, before_clean=clean, water=None if water is None else water == "seen",
        added=None if added is None else baths.Weighed(added), removed=None if removed is None else baths.Weighed(removed),
        purged_l=None if hours is None else between.ring_purge(machine, hours, rho_grease),
        temp_before_c=temps[0], temp_after_c=temps[1], rho_oil=rho_oil, rho_grease=rho_grease,
    )  # fmt: skip
    return Asked(after, before, bath, found, None if water is None else water == "seen", tuple(now))
