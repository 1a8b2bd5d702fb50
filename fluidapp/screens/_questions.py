"""The question guide on the Oil balance: one question at a time, the cheapest first; it may stop early."""

import streamlit as st

from fluidapp.calc import questions
from fluidapp.model import Machine
from fluidapp.store.kinds import Observation

MODE = "Question guide"
_ANSWERS = "_guide"


def walk(machine: Machine) -> questions.Guide:
    """Draws the next question and what the answers so far say; the answers count in the stories below."""
    now = answered(machine)
    answers = st.session_state[_ANSWERS][machine.key]
    if now.stopped:
        st.warning(now.stopped, icon=":material/front_hand:")
    elif now.next is not None:
        key = f"guide_{machine.key}_{now.next.key}"
        number = len(now.answered) + 1
        chosen = st.radio(f"{number}. {now.next.text}", [*(o.text for o in now.next.options), questions.NOT_LOOKED], key=key, index=None)
        if chosen is not None:
            answers[now.next.key] = chosen
            st.rerun()
    else:
        st.info(now.end)
    for said in now.says:
        if said != now.stopped:
            st.markdown(f"* {said}")
    if now.answered:
        with st.container(horizontal=True, gap="small"):
            if st.button("Back", key="guide_back"):
                answers.popitem()
                st.rerun()
            if st.button("Start again", key="guide_again"):
                answers.clear()
                st.rerun()
    with st.expander(f"Still open: {len(now.open_ways)} ways" if now.open_ways else "No single way is left open"):
        st.markdown("\n".join(f"* {way}" for way in now.open_ways) or "Look for two ways at once, a wrong reading, or a missing entry.")
        for line in questions.shown(now):
            st.caption(line)
    return now


def answered(machine: Machine) -> questions.Guide:
    """Where the walk of this machine stands."""
    answers = st.session_state.setdefault(_ANSWERS, {}).setdefault(machine.key, {})
    return questions.guide(machine, answers)


def asked_first(machine: Machine, now: questions.Guide) -> tuple[str, ...]:
    """What the answer to "anything not written down?" rules out, asked before any way is believed, unless the guide has asked it."""
    if any(question.key == "unwritten" for question, _ in now.answered):
        return ()
    said = st.segmented_control(
        "Ask first: anything poured, drained or greased in between and not written down?", ["no, asked", "yes"],
        key=f"balance_{machine.key}_unwritten", persist_state="session",
    )  # fmt: skip
    if said == "yes":
        st.warning("Enter it above under poured or drained; until then no way below can be trusted.")
    return ("R>*",) if said == "no, asked" else ()


def counted(now: questions.Guide) -> None:
    """Says that the answers of the guide count in the ways."""
    if now.answered:
        st.caption(f"{len(now.answered)} answers of the question guide count here.")


def docs(now: questions.Guide) -> tuple[Observation, ...]:
    """The answers as they go into the records; what was not looked at is no answer."""
    return tuple(
        Observation(node=question.node or None, asked=question.text, seen=option.text)
        for question, option in now.answered
        if option.text != questions.NOT_LOOKED
    )
