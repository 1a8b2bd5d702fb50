"""The stories on the Oil balance: ranked, drawn, ruled out, and the check that would tell them apart."""

from collections.abc import Sequence

import streamlit as st

from fluidapp.calc.leak_paths import RuledOut, Way, Ways
from fluidapp.calc.story_picture import story
from fluidapp.charts.flow import flow as draw_flow
from fluidapp.screens import _parts, _state

FIT = {"fits": "", "fits badly": " Even it fits badly.", "not testable": " With so few readings it is not testable whether it fits."}


def largest() -> float | None:
    """The most that one way may have carried, as entered; drawn where the settings of the screen stand."""
    return _state.box(
        "Most that one way may have carried", "balance_fmax", "volume", placeholder="20 L, typical",
        help="Every way may have carried anything from nothing to this. With a larger one, “no leak” weighs more.",
    )  # fmt: skip


def which_way(ways: Ways | None) -> None:
    """The explanations that fit, the leading one as a picture, and the check that would tell them apart."""
    if ways is None:
        return
    st.header("Which way fits", anchor=False)
    if not ways.ways:
        st.warning(" ".join(ways.remarks))
        return
    lead = ways.ways[0]
    st.markdown(_lead(lead))
    if ways.read_next:
        st.markdown(f"Cheapest check: read **{ways.read_next}** next.")
    for look in ways.looks:
        st.markdown(f"* {look}")
    show = _state.show()
    drawn = story(lead, ways)
    if drawn is not None:
        _parts.chart(draw_flow(drawn, show.litres, show.amount, _parts.ink()), drawn.text, "balance_story")
        st.caption("The heaviest way" + (", the first of those that tie" if lead.tied else "") + ": arrows are as wide as their litres.")
    st.table([row(way) for way in ways.ways], hide_index=True, alt="Ways that the oil may have gone, the heaviest first")
    st.caption(
        f"Weight among all ways, each up to {show.amount(ways.fmax_l)}; χ² and p tell how well the readings fit, p below 0.05 badly. "
        f"Ways in one row tie: these readings cannot tell them apart. {' '.join(ways.remarks)}"
    )
    if lead.signs:
        with st.expander("What to look for"):
            st.table(
                [{"where": where, "sign": sign} for where, sign in _signs(ways)], hide_index=True,
                alt="Where the oil would leave on each way, and what shows it",
            )  # fmt: skip
            st.caption("Common practice, no source. No part is named as failed by litres alone.")
    if ways.ruled_out or ways.not_told:
        with st.expander("Ruled out, and why"):
            for one in ways.ruled_out:
                st.markdown(f"* {_why(one)}")
            if ways.not_told:
                st.caption(f"These readings say nothing about: {'; '.join(ways.not_told)}.")


def row(way: Way) -> dict[str, str]:
    """One way, or several that tie, as a row of the table."""
    show = _state.show()
    carried = " and ".join(show.litres(litres, u) for litres, u in way.litres if litres > 0)
    return {
        "way": way.shown + (f": {carried}" if carried else "") + (" (tie)" if way.tied else ""),
        "weight": _percent(way.weight),
        "χ²": f"{way.chi2:.1f} ({way.dof})",
        "p": way.fit if way.fit == "not testable" else f"{way.p:.2f}" if way.p >= 0.005 else "<0.01",
    }


def _lead(way: Way) -> str:
    word = "Heaviest, several tie" if way.tied else "Heaviest"
    return f"{word}: **{way.shown}** ({_percent(way.weight)})." + FIT[way.fit]


def _percent(weight: float) -> str:
    return f"{100 * weight:.0f} %" if weight >= 0.01 else "<1 %"


def _why(one: RuledOut) -> str:
    show = _state.show()
    did = f"it {'gained' if one.read_l >= 0 else 'lost'} {show.litres(abs(one.read_l), one.u_l)}"
    if abs(one.expected_l) < 1e-9:
        return f"{one.text}: {one.label} should not have changed, {did}."
    should = "gained" if one.expected_l > 0 else "lost"
    return f"{one.text}: at best {one.label} would have {should} {show.amount(round(abs(one.expected_l), 1))}, {did}."


def _signs(ways: Ways) -> Sequence[tuple[str, str]]:
    return tuple(dict.fromkeys(sign for way in ways.ways for sign in way.signs))
