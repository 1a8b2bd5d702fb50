"""The fleet on the screen Consumption: where to look first, the ranking, and where the oil of the period went."""

import streamlit as st

from fluidapp.calc.consumption import NOTHING
from fluidapp.charts.consumption import Bar, bars
from fluidapp.model import Product
from fluidapp.screens import _parts, _resources, _span, _state, _tables, _use
from fluidapp.screens._entry_words import escaped
from fluidapp.screens._fleet import Seen

ALL_PRODUCTS = "all products"


def filters(seen: Seen) -> tuple[_span.Span, str, str | None]:
    """Period, grouping and product, each kept in the address."""
    known = {p.label: p.key for p in _resources.products().values()}
    held = [label for label, key in known.items() if key in {p.compartment.product for p in seen.of()}]
    if st.session_state.get("product") not in (None, ALL_PRODUCTS, *held):
        st.session_state.pop("product", None)
    with st.container(horizontal=True, gap="small"):
        span = _span.ask(float(seen.ledger.moves.day.min(initial=seen.today)))
        group = st.selectbox(
            "By", list(_use.GROUPS), key="group", persist_state="session", bind="query-params", width=166
        )  # fmt: skip
        product = st.selectbox(
            "Product", [ALL_PRODUCTS, *held], key="product", persist_state="session", bind="query-params", width=240
        )  # fmt: skip
    return span, group or "machine", known.get(product or "")


def first(seen: Seen, only: str | None = None) -> None:
    """The list in words, each line with its link. only : of one machine, without links to itself."""
    told = [t for t in seen.first if only in (None, t.machine)]
    if only is None:
        st.header("Look at first", anchor=False)
        if not told:
            st.markdown(NOTHING)
    for t in told:
        said = str(t.finding)
        st.markdown(escaped(said if said.endswith("?") else f"{said}."))
        if only is None:
            st.page_link(
                "screens/consumption.py", label=t.label, icon=":material/arrow_forward:",
                query_params={"machine": t.machine} | ({"part": t.part} if t.finding.kind != "gain" else {}),
            )  # fmt: skip
    if only is None and seen.more:
        st.caption(f"{seen.more} more did not fit on this list.")


def ranking(seen: Seen, span: _span.Span, group: str, product: str | None) -> None:
    """Ranked bars with their table."""
    show = _state.show()
    st.header(f"Top-ups by {group}", anchor=False)
    found = _use.ranked(seen, span, group, product)
    if found.now is None:
        st.info(f"No interval between two top-ups ends in this period ({span.words}). Choose a longer one.")
        return
    names = {p.key: p.label for p in _resources.products().values()} if group == "product" else {}
    one, rows = _use.per_l(show), []
    for k, name in enumerate(found.now.group.tolist()):
        rate, u = float(found.now.rate[k]), float(found.now.u[k])
        rows.append(
            Bar(names.get(name, name), rate * one, max(0.0, rate - 2 * u) * one, (rate + 2 * u) * one, _use.rate_text(rate, u, show))
        )
    text = f"{len(rows)} bars, from {rows[0].name}, {rows[0].text}, to {rows[-1].name}, {rows[-1].text}; the table below has all"
    _parts.chart(bars(rows, f"{show.volume}/100 h", _parts.ink()), text, "consumption_bars")
    st.caption(
        f"Intervals between top-ups that end in the period, {span.words}, against as many days before. Planned changes and first fills do "
        "not count. A machine takes the sum of its compartments; a line is the 95 % range. A change is named where it is beyond doubt."
    )
    table = _use.ranked_rows(found, group, names, show)
    _tables.table(table, f"Top-ups by {group}, largest first", "consumption_ranking", f"top-ups-by-{group.replace(' ', '-')}")


def flows(seen: Seen, span: _span.Span, product: str | None, products: dict[str, Product]) -> None:
    """What was delivered, poured, drained and handed over, and what the top-ups cost."""
    show = _state.show()
    found = _use.flows(seen, span, product, _use.prices(seen, products))
    st.header("Where it went", anchor=False)
    st.markdown(f"Top-ups of the period cost **{escaped(_use.money(found.costs))}**." if found.costs else "No price is known for top-ups.")
    if found.unpriced_l > 0:
        st.caption(f"Not in it, for want of a price: {show.about(found.unpriced_l)}.")
    st.markdown(_use.account_words(found.account, show))
    rows = _use.flow_rows(found, show)
    if rows:
        _tables.table(rows, "Litres of the period by where they went", "consumption_flows", "where-it-went", folded="As a table")
