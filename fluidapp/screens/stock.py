"""Stock: enough oil, what did it cost, what left as used oil?"""

import streamlit as st

from fluidapp.charts.consumption import Bar, bars
from fluidapp.errors import BadInput, FluidappError
from fluidapp.screens import _parts, _resources, _span, _state, _stock, _tables, _use
from fluidapp.screens._entry_words import Names
from fluidapp.screens._fleet import Seen


def on_hand(seen: Seen) -> list[_stock.Held]:
    """What is there, how long it lasts and when to order."""
    show = _state.show()
    with st.container(horizontal=True, gap="small"):
        lead = _state.number_box("Days until a delivery (empty: 14, typical)", "stock_lead", bind=True)
        service = st.selectbox("Enough until then, in", list(_stock.SERVICES), index=1, key="service", bind="query-params", width=220)
    if lead is not None and not 0 < lead <= 365:
        raise BadInput("Days until a delivery", lead, "Enter 1 to 365.")
    names = Names.read()
    places = {place: names.part(place) for place in seen.ledger.places}
    found, remarks = _stock.held(
        seen, _resources.products(), places, lead or _stock.LEAD_DAYS, _stock.SERVICES[service or "19 of 20 times"]
    )  # fmt: skip
    if not found:
        st.info("Nothing was ever booked into stock: enter the opening stock as a delivery on Records.")
        return found
    one = _use.per_l(show)
    rows = [
        Bar(h.product.label, h.litres * one, max(0.0, h.litres - 2 * h.u) * one, (h.litres + 2 * h.u) * one,
            f"{_stock.litres(h.litres, h.u, show)}, lasts {_stock.cover_words(h.cover)}")
        for h in found
    ]  # fmt: skip
    text = "; ".join(f"{row.name}: {row.text}" for row in rows)
    _parts.chart(bars(rows, f"On hand ({show.volume})", _parts.ink()), text, "stock_bars")
    for line in remarks:
        st.info(line)
    _tables.table(_stock.held_rows(found, show), "Stock by product", "stock_held", "stock")
    st.caption(
        "On hand: everything that came in less everything that went out. Lasts: at the use of the last 17 weeks or fewer, changes "
        "counted as they came, with the range in which 95 of 100 lie. Order at: so many full containers left, open ones counted by their "
        "share; orders that are on their way are not known here."
    )
    return found


def used(seen: Seen, span: _span.Span) -> None:
    """The used-oil store against its limit, and the hand-overs."""
    show = _state.show()
    st.header("Used oil", anchor=False)
    now = _stock.used_oil(seen)
    _parts.answer("In the used-oil store, by the records", _stock.litres(now.litres, now.u, show))
    if now.litres < 0:
        st.info("More was handed over than ever came in: a draining is missing in the records.")
    limit = _state.box("It holds at most", "used_limit", "volume", bind=True)
    if limit is None:
        st.caption("Enter what it holds at most to see when it is full.")
    elif limit <= 0:
        raise BadInput("It holds at most", limit, "Enter litres above 0.")
    else:
        st.markdown(_stock.full_words(now, limit, seen.today))
    total, rows = _stock.handed(seen, span)
    if not rows:
        st.markdown(f"Nothing was handed over in the period, {span.words}.")
        return
    missing = f", **{total.without_paper} without a paper number and receiver**" if total.without_paper else ", each with its paper"
    times = f"{total.times} hand-overs" if total.times > 1 else "1 hand-over"
    st.markdown(f"Handed over in the period: {_stock.litres(total.litres, total.u, show)} in {times}{missing}.")
    _tables.table(rows, "Hand-overs of the period", "stock_handed", "hand-overs", folded="Each hand-over")


def costs(seen: Seen, span: _span.Span, found: list[_stock.Held]) -> None:
    """What the period cost, and what the next month will."""
    st.header("Cost", anchor=False)
    rows, past, ahead = _stock.cost_rows(seen, span, found, _use.prices(seen, _resources.products()))
    if not rows:
        st.markdown("Nothing with a price went out of stock in the period.")
        return
    st.markdown(f"Oil of the period, {span.words}: **{_use.money(past)}**. Next 30 days, as things went lately: **{_use.money(ahead)}**.")
    _tables.table(rows, "Cost by product", "stock_cost", "cost-by-product")


_parts.head("Stock", "Enough oil, what did it cost, what left as used oil?")
_parts.need_machines()
_state.units_box()
try:
    seen = _resources.fleet()
    found = on_hand(seen)
    span = _span.ask(float(seen.ledger.moves.day.min(initial=seen.today)))
    used(seen, span)
    costs(seen, span, found)
except FluidappError as err:
    st.error(str(err))
_parts.next_steps(
    [("screens/consumption.py", "Consumption: who takes it?", {}), ("screens/records.py", "Records: deliveries and hand-overs", {})]
)
