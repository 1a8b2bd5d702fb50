"""Oil balance: where did the oil go?"""

import streamlit as st

from fluidapp.calc import between, flow
from fluidapp.calc.balance import account
from fluidapp.calc.balance.stories import FMAX_L
from fluidapp.calc.figure import figure, to_pour
from fluidapp.calc.leak_paths import leak_paths
from fluidapp.charts.flow import flow as draw_flow
from fluidapp.errors import FluidappError
from fluidapp.model import Machine
from fluidapp.screens import _balance, _days, _parts, _period, _questions, _reading, _state, _stories
from fluidapp.screens.words import balance_rows, balance_words
from fluidapp.store import NewEntry

_parts.head("Oil balance", "Where did the oil go? Two readings of everything that holds oil, and what was poured in between.", "tank")
machine = _parts.pick_machine()
answer_at, rows_at, fold_at, below = (st.container() for _ in range(4))


def asked(machine: Machine, notes: _reading.Asked) -> list[_balance.Row]:
    """Every row of the screen as entered; ``notes`` takes the places where each refinement says what it could still change."""
    usual = [c for c in machine.compartments if c.gauges and c.kind in ("hydraulic tank", "slewing gearbox")]
    others = {c.key: c for c in machine.compartments if c.gauges and c not in usual and c.kind not in ("coolant", "fuel tank")}
    with fold_at:
        fold = st.expander("Sharpen it: drained in between, oil temperature, same place")
    with fold:
        notes.notes.update({name: st.empty() for name in ("oil temperature", "slope", "posture")})
        same = st.checkbox("Same place, same posture, oil as warm as then", key="balance_same", persist_state="session")
        st.checkbox("One thermometer for everything", key="balance_one", persist_state="session")
        _state.box("Known seepage or drips from the tank in between", "balance_seepage", "volume")
    with rows_at:
        days = _days.pick(machine)
        if st.session_state.get("balance_mode") == _days.GUIDE:
            _questions.walk(machine)
        rows = [_balance.ask_oil(machine, part, days, same, fold) for part in usual]
        rows += [_balance.ask_bath(machine, bath, days, fold) for bath in machine.baths]
        more = []
        if others:
            more = st.pills(
                "Also read", list(others), selection_mode="multi", format_func=lambda k: others[k].label,
                key=f"balance_{machine.key}_more", persist_state="session",
            )  # fmt: skip
        for key, part in others.items():
            if key in more or (days and part.kind != "engine sump" and _balance.both_read(machine, key, days)):
                rows.append(_balance.ask_oil(machine, part, days, same, fold))
            elif one_sided := _balance.newest_one_sided(machine, part):
                st.caption(one_sided)
    return rows


def shown_answer(machine: Machine) -> None:
    """Reads the inputs and shows what they add up to."""
    notes = _reading.Asked(None)
    rows = asked(machine, notes)
    rows = [_period.with_seepage(machine, row, _state.value("balance_seepage")) for row in rows]
    changes = [row.change for row in rows if row.change is not None]
    if not changes:
        answer_at.info("Enter two readings, before and now, of at least one compartment to see what is missing.")
        with below:
            store_fold(machine, [])
        return
    lines = [(c, row.lines) for row in rows if (c := row.change) is not None]
    shared = between.one_thermometer(lines) if st.session_state.get("balance_one") else None
    found = account(changes, shared)
    read = [row.key for row in rows if row.change is not None]
    show = _state.show()
    label, verdict = balance_words(found)
    with answer_at:
        _parts.answer(label, show.litres(abs(found.unaccounted_l), found.u_l, found.dof), [f"**{verdict}**"])
        if first := between.look_first(machine, found, read):
            st.warning(first, icon=":material/priority_high:")
        spread = {row.before.entry.at_local.date() for row in rows if row.before and row.change}
        if spread and (max(spread) - min(spread)).days > 3:
            st.warning(
                f"The readings before are from different days, {min(spread)} to {max(spread)}: oil that moved meanwhile is missing here."
            )
        st.caption(f"These readings would have shown a loss of {show.amount(to_pour(found.sees_l, machine.class_t, up=True))} or more.")
    with below:
        st.table(
            balance_rows(changes, found, show), hide_index=True,
            alt="Each compartment: what its level did, what was poured and drained, and whether it lost or gained by itself",
        )  # fmt: skip
        drawn = flow.flow(found)
        _parts.chart(draw_flow(drawn, show.litres, show.amount, _parts.ink()), drawn.text, "balance_chart")
        st.caption(
            "Streams are as wide as their litres; pale ones are within their ±. Which way the oil took is not known from levels alone."
        )
        if any(line.word != "no clear change" for line in found.lines) or found.verdict not in ("balanced", "no clear change"):
            guide = _questions.answered(machine)
            removed = (*guide.removed, *_questions.asked_first(machine, guide))
            ways_at = st.container()
            fmax = _stories.largest()
            with ways_at:
                _stories.which_way(
                    leak_paths(
                        machine, found, read, FMAX_L if fmax is None else fmax, correlation=shared, removed=removed, needed=guide.needed
                    )
                )
                _questions.counted(guide)
        st.markdown("\n".join(f"* {line}" for line in found.remarks))
        if unread := between.not_read(machine, read):
            st.caption(f"Not read, so nothing is known about: {', '.join(unread)}.")
        poured = figure(100.0, 100.0 * between.POURED_SHARE, unit="%").plus_minus
        st.caption(f"Poured and drained count as {poured} (typical) where the records say nothing better.")
        _period.both_ways(rows)
        _reading.say_weights(notes, between.by_cause(lines))
        _parts.budget_table(between.budget(lines))
        store_fold(machine, [row for row in rows if row.doc is not None and row.change is not None])


def store_fold(machine: Machine, rows: list[_balance.Row]) -> None:
    """The new readings, and the answers of the question guide, into the records."""
    docs = (*(row.doc for row in rows if row.doc is not None), *_questions.docs(_questions.answered(machine)))
    if not docs:
        return
    with st.expander("Store these readings" if rows else "Store these answers"):
        st.caption("The readings of now and the answers are stored. Enter what was poured on Top-up, so that the next balance knows it.")
        name, at, meter = _parts.who_and_when("balance")

        def build() -> list[NewEntry]:
            return [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter) for doc in docs]

        if _parts.save_button("balance", "Store them", build, by_name=name):
            _balance.keep_stored(machine, rows)


try:
    shown_answer(machine)
except FluidappError as err:
    answer_at.error(str(err))
typed = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/bath.py", "Grease bath: how much oil is in the grease?", typed),
        ("screens/topup.py", "Top-up: how much to the mark", typed),
        ("screens/records.py", "Records of this machine", typed),
    ]
)
