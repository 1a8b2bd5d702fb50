"""Level watch: is it holding?"""

import datetime
import math

import streamlit as st

from fluidapp import units
from fluidapp.calc.watch import about, earliest_h, words
from fluidapp.calc.watch.picture import picture
from fluidapp.charts.watch import watch as draw_watch
from fluidapp.errors import FluidappError
from fluidapp.model import Machine
from fluidapp.screens import _parts, _resources, _state, _watch, _watch_forms

_parts.head("Level watch", "Is it holding?", "tank")
machine = _parts.pick_machine()
BACK = "Look back over the records"


def pick(machine: Machine, watches: list[_watch.Watch]) -> tuple[_watch.Watch, str] | None:
    """The watch and the compartment to be looked at; None where nothing can be followed."""
    named = {str(w.entry.id if w.entry else ""): w for w in watches if not w.closed}
    named |= {str(w.entry.id if w.entry else ""): w for w in watches if w.closed}
    choices = [*named, BACK]
    key = f"watch_{machine.key}_which"
    if st.session_state.get(key) not in choices:
        st.session_state[key] = choices[0]
    label = {w: f"{named[w]}" + (" (closed)" if named[w].closed else "") for w in named}
    chosen = st.selectbox("Watch", choices, format_func=lambda k: label.get(k, k), key=key, persist_state="session")
    parts = {c.key: c.label for c in machine.compartments if c.gauges} | {b.key: b.label for b in machine.baths}
    if chosen in named:
        told = [_watch.part_of(machine, node) for node in named[chosen].doc.at_nodes]
        parts = {one[0]: one[1] for one in told if one}
    if not parts:
        return None
    node_key = f"watch_{machine.key}_node"
    if st.session_state.get(node_key) not in parts:
        st.session_state[node_key] = next(iter(parts))
    with st.container(horizontal=True, gap="small"):
        node = st.selectbox("Level", list(parts), format_func=lambda k: parts[k], key=node_key, persist_state="session", width=200)
        if chosen in named:
            return named[chosen], node
        days = _state.number_box("Days back (empty: 60)", "watch_days")
    since = _resources.now() - datetime.timedelta(days=60.0 if days is None else days)
    return _watch.look_back(machine, node, since), node


def shown(machine: Machine, watch: _watch.Watch, node: str, answer_at: "st.delta_generator.DeltaGenerator") -> None:
    """The answer for one compartment, its trend, and what it may say."""
    show = _state.show()
    per_l = float(units.convert("volume", 1.0, "L", show.volume, "volume"))
    without = tuple(st.session_state.get(f"watch_{machine.key}_{node}_without") or ())
    got = _watch.follow(machine, watch, node, bool(st.session_state.get("watch_same")), without)
    if got is None:
        answer_at.info("Nothing is read yet since the watch began: take the first reading on Level check.")
        _watch_forms.note_form(machine, watch, ())
        return
    found = got.found
    clock = "machine hours" if found.kind == "working" else "hours at rest"
    with answer_at:
        _parts.answer(words.headline(found), words.rate(found, per_l, show.volume))
        lines = []
        if math.isfinite(found.u):
            lines.append(f"Smallest leak that these readings would have shown: **{words.amount(found.sees_l_h, per_l, show.volume)}**.")
        if found.next_h is not None:
            after = f"{found.next_h - found.hours[-1]:.0f} {clock} after the last reading"
            at = f", meter {_watch.shifted(got, found.next_h):.0f} h" if found.kind == "working" else ""
            lines.append(f"One more reading tells about {words.amount(found.leak_l_h, per_l, show.volume)} from **{after}**{at}.")
        if got.low_l is not None and math.isfinite(found.u):
            first = earliest_h(found, got.low_l)
            if first is None:
                lines.append("The low mark is not in sight on this line.")
            else:
                at = f"meter **{_watch.shifted(got, first):.0f} h**" if found.kind == "working" else f"**{first:.0f} h** at rest"
                lines.append(f"Earliest the low mark may be reached (95 %): {at}.")
        st.markdown("\n".join(f"* {line}" for line in lines))
        for line in found.remarks:
            st.caption(line)
    drawn = picture(found, got.low_l)
    _parts.chart(draw_watch(drawn, lambda v: v * per_l, show.volume, _parts.ink()), drawn.text, "watch_chart")
    st.caption(
        "Litres at 15 °C less what was poured since the start, each ± 95 %; the band is that of the line. The tank's own doubt is the same "
        "in all readings and is left out."
    )
    st.checkbox(
        "Read in the same place, posture and warmth every time", key="watch_same", persist_state="session",
        help="Then most of what was not measured is the same in every reading, and the ± shrinks.",
    )  # fmt: skip
    st.table(readings_table(got, show.volume, per_l), hide_index=True, alt="Each reading of the watch, oldest first, in litres with its ±")
    for text in got.left_out:
        st.caption(f"Not counted: {text}.")
    _watch_forms.note_form(machine, watch, [entry for entry, _ in got.rows])
    with st.expander("What this says about each way"):
        st.table(
            [{"way": way, "this watch says": said} for way, said in about(found, got.kind)], hide_index=True,
            alt="Each way that oil may leave, and what this watch says about it",
        )  # fmt: skip
        st.caption("All ways that show on this level together: a loss is not told apart here. Common practice, no source.")
    with st.expander("Leave out a reading"):
        by_id = {entry.id: f"{entry.at_local:%Y-%m-%d %H:%M}" for entry, _ in got.rows} | dict.fromkeys(without, "left out")
        st.multiselect(
            "Readings that do not count", list(by_id), format_func=lambda i: by_id[i], key=f"watch_{machine.key}_{node}_without",
            persist_state="session",
        )  # fmt: skip


def readings_table(got: _watch.Followed, unit: str, per_l: float) -> list[dict[str, str]]:
    """The readings as text: at the convention, and at 15 °C where temperatures were read."""
    rows = []
    for n, (entry, litres) in enumerate(got.rows):
        odd = " (does not fit)" if n in got.found.outliers else ""
        rows.append({
            "read": f"{entry.at_local:%m-%d %H:%M}{odd}",
            "h": f"{got.found.hours[n] - got.found.hours[0]:.0f}",
            f"as for the marks, {unit}": f"{litres.convention_l * per_l:.1f}",
            f"at 15 °C, {unit}": f"{litres.at_15_l * per_l:.1f}" if litres.known else "–",
            "±": f"{2 * litres.u_l * per_l:.1f}",
        })  # fmt: skip
    return rows


watches = _watch.all_watches(machine)
try:
    chosen = pick(machine, watches)
    answer_at = st.container()
    if not watches:
        st.caption("No watch is open on this machine. Below, the records as they are; open one to follow a level after a repair.")
    if chosen is not None:
        shown(machine, *chosen, answer_at)
    if chosen is not None and chosen[0].entry is not None:
        if chosen[0].closed is None:
            _watch_forms.close_form(machine, chosen[0])
        else:
            st.caption(f"Closed {chosen[0].closed.at_local:%Y-%m-%d}: {getattr(chosen[0].closed.doc, 'reason', '')}")
        st.caption(f"To open another watch, choose “{BACK}” above.")
    else:
        with st.expander("Open a watch"):
            _watch_forms.open_form(machine)
except FluidappError as err:
    st.error(str(err))
typed = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/level.py", "Level check: take the next reading", typed),
        ("screens/balance.py", "Oil balance: where did it go?", typed),
        ("screens/records.py", "Records of this machine", typed),
    ]
)
