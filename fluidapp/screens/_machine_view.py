"""One machine on the screen Consumption: a compartment's chart, its intervals, and the way on to the entries."""

import streamlit as st

from fluidapp.calc.consumption import FLOOR_SOURCE
from fluidapp.calc.figure import figure
from fluidapp.charts.consumption import use
from fluidapp.model import Machine
from fluidapp.screens import _fleet_view, _parts, _resources, _state, _tables, _use
from fluidapp.screens._fleet import Seen

WORDS = {"above": "above", "within": "within", "not clear": "not clearly above or below"}


def show(machine: Machine, seen: Seen) -> None:
    """Everything of one machine."""
    st.query_params[_parts.MACHINE] = machine.key  # said again: a link from this screen to itself leaves the browser's address as it was
    st.button("All machines", key="consumption_all", on_click=_leave, icon=":material/arrow_back:", type="tertiary")
    _fleet_view.first(seen, machine.key)
    mine = {p.compartment.key: m for m, p in enumerate(seen.of()) if p.machine.key == machine.key}
    counts = seen.fleet.seen.found.counts
    mine = dict(sorted(mine.items(), key=lambda km: -int(counts[km[1]])))
    if not mine:
        st.info("Nothing was poured into this machine yet: Service and Top-up store it.")
    else:
        told = [t.part for t in seen.first if t.machine == machine.key and t.part in mine and t.finding.kind != "gain"]
        labels = {c.key: c.label for c in machine.compartments}
        st.session_state.setdefault(_key(machine), (told or list(mine))[0])
        if st.session_state[_key(machine)] not in mine:
            st.session_state[_key(machine)] = next(iter(mine))
        if st.query_params.get("part") not in (None, *mine):  # a case that rose has readings, not top-ups
            del st.query_params["part"]
        _parts.from_address("part", list(mine), "Compartment", _key(machine))
        part = st.selectbox(
            "Compartment", list(mine), format_func=lambda k: labels.get(k, str(k)), key=_key(machine), persist_state="session"
        )
        _parts.to_address("part", part)
        st.query_params["part"] = part
        _one(machine, _use.one_part(seen, mine[part]), seen)
    here = {"machine": machine.key}
    gains = any(t.machine == machine.key and t.finding.kind == "gain" for t in seen.first)
    _parts.next_steps([
        *([("screens/gearcase.py", "Gear case: what came in, keep or change?", here)] if gains else []),
        ("screens/records.py", "Records: the entries behind it", here | ({"part": st.session_state[_key(machine)]} if mine else {})),
        ("screens/balance.py", "Oil balance: where did it go?", here),
        ("screens/watch.py", "Level watch: is it holding?", here),
    ])  # fmt: skip


def _key(machine: Machine) -> str:
    return f"consumption_{machine.key}_part"


def _leave() -> None:
    """Back to the fleet."""
    st.session_state[_parts.MACHINE] = None
    for name in (_parts.MACHINE, "part"):
        st.query_params.pop(name, None)


def _one(machine: Machine, found: _use.OnePart, seen: Seen) -> None:
    show, picture = _state.show(), found.picture
    if picture.usual is not None:
        label = "Usually" if picture.change is None else "Usually, before the change"
        _parts.answer(label, _use.rate_text(*picture.usual, show))
    if picture.change is not None and found.rate is not None:
        _parts.answer("Since the change", _use.rate_text(100 * found.rate[0], 100 * found.rate[1], show))
    if not picture.dots:
        st.info("An interval needs two levels with their meter hours: a change or a top-up to the mark, and the next one.")
        return
    if picture.usual is None:
        st.caption("Too few intervals to tell what is usual: three are needed.")
    one = _use.per_l(show)
    _parts.chart(use(picture, lambda litres: litres * one, show.volume, _parts.ink()), picture.text, "consumption_use")
    kind = found.part.compartment.kind
    u = float(seen.fleet.u_level_l[found.m])
    st.caption(
        "Each point is an interval between two fills. The bar behind it is the usual band for so many hours; points outside are diamonds. "
        f"A level counts as known to {show.plus_minus(u)}: typical of a {kind}, shrunk to how well such levels repeat in these records."
    )
    _tables.table(_use.part_rows(picture, show), f"Intervals of {found.part.compartment.label}, newest first", "consumption_part",
                  f"{machine.key}-{found.part.compartment.key}-intervals", folded="As a table")  # fmt: skip
    lines = []
    if found.yearly is not None:
        of = found.yearly
        floor = "" if kind == "engine sump" else f", {WORDS[of.word]} the {show.about(of.floor_l)} that are a realistic floor"
        lines.append(f"A year at this rate: **{show.litres(of.litres, of.u)}**, {100 * of.share:.0f} % of what it holds{floor}.")
        known = _use.prices(seen, _resources.products()).get(found.part.compartment.product or "")
        if known is not None:
            lines.append(f"Cost of it: {figure(of.litres * known[0], of.u * known[0], unit=known[1])} a year, oil alone.")
    if found.ratio is not None:
        lines.append(f"Poured in the last 12 months, changes apart: {found.ratio:.2g} times what it holds.")
    st.markdown("\n".join(f"* {line}" for line in lines))
    if found.yearly is not None and kind != "engine sump":
        st.caption(FLOOR_SOURCE)
