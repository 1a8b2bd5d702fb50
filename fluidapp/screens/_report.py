"""The monthly report: the last whole month from the records, on the click."""

import datetime

import streamlit as st

from fluidapp.calc import due
from fluidapp.model import Product, Site
from fluidapp.screens import _resources, _span, _stock, _use
from fluidapp.screens._entry_words import Names
from fluidapp.screens._fleet import Seen
from fluidapp.screens.words import METRIC
from fluidapp.sheets.monthly_report import Bar, MonthlyReport, monthly_report_pdf

CHARTS = 4  # at most


def month(today: datetime.date) -> _span.Span:
    """The last whole month, this one where today is its last day.

    >>> month(datetime.date(2026, 9, 30)).words, month(datetime.date(2026, 9, 29)).words
    ('2026-09-01 to 2026-09-30', '2026-08-01 to 2026-08-31')
    """
    end = (today + datetime.timedelta(days=1)).replace(day=1)
    first = (end - datetime.timedelta(days=1)).replace(day=1)
    return _span.between(float(first.toordinal()), float(end.toordinal()))


def name(span: _span.Span) -> str:
    """A month in words: "September 2026"."""
    return f"{datetime.date.fromordinal(int(span.first)):%B %Y}"


def made(seen: Seen, span: _span.Span, products: dict[str, Product], site: Site | None, names: dict[str, str]) -> MonthlyReport:
    """What stands on the report. names : of places. In litres, whatever the view shows."""
    day_before = datetime.date.fromordinal(int(span.first) - 1)
    before = _span.between(float(day_before.replace(day=1).toordinal()), span.first)
    ranked = _use.ranked(seen, span, "machine", None, before)
    rows = _use.ranked_rows(ranked, "machine", {}, METRIC)
    top = float(ranked.now.rate[0]) if ranked.now is not None and ranked.now.rate[0] > 0 else 1.0
    bars = [
        Bar(row["machine"], row["L/100 h"], row["period before"], row["against it"], float(ranked.now.rate[k]) / top)
        for k, row in enumerate(rows)
        if ranked.now is not None
    ]
    place = {(p.machine.key, p.compartment.key): m for m, p in enumerate(seen.of())}
    charts = [
        (t.label, _use.one_part(seen, place[t.machine, t.part]).picture)
        for t in seen.first
        if t.finding.kind in ("takes more", "at once", "twice its median") and (t.machine, t.part) in place
    ]
    price = _use.prices(seen, products)
    flows = _use.flows(seen, span, None, price)
    held, remarks = _stock.held(seen, products, names, _stock.LEAD_DAYS, 0.95)
    costs, past, ahead = _stock.cost_rows(seen, span, held, price)
    used, handed = _stock.used_oil(seen), _stock.handed(seen, span)[0]
    lines = [f"In the used-oil store by the records: {_stock.litres(used.litres, used.u, METRIC)}."]
    lines.append(
        f"Handed over in the month: {_stock.litres(handed.litres, handed.u, METRIC)}, {handed.times} times, "
        f"{handed.without_paper} of these without a paper number and receiver."
        if handed.times else "Nothing was handed over in the month."
    )  # fmt: skip
    stock = [{k: v for k, v in row.items() if k in ("product", "on hand", "lasts", "order at")} for row in _stock.held_rows(held, METRIC)]
    return MonthlyReport(
        site.label if site else "", name(span), due.on(seen.today), seen.today,
        tuple(_said(str(t.finding)) for t in seen.first), tuple(bars), tuple(charts[:CHARTS]),
        (_use.account_words(flows.account, METRIC).replace("**", ""), f"Top-ups of the month cost {_use.money(flows.costs)}."),
        _use.flow_rows(flows, METRIC), stock, (*lines, *remarks), costs,
        f"Oil out of stock in the month: {_use.money(past)}. Next 30 days, as things went lately: {_use.money(ahead)}.",
        (
            "Every ± is a 95 % half-width. Order at: enough until a delivery in 19 of 20 cases, delivery in 14 days (typical).",
            "What the records do not hold is not in this report. The maker's manual and site rules decide what is done.",
        ),
    )  # fmt: skip


def _said(text: str) -> str:
    return text if text.endswith("?") else f"{text}."


def button(seen: Seen) -> None:
    """The one button; the file is made on the click."""
    span = month(datetime.date.fromordinal(int(seen.today)))
    names = Names.read()
    places = {place: names.part(place) for place in seen.ledger.places}
    products, site = _resources.products(), _resources.site()
    st.download_button(
        f"Monthly report, {name(span)} (PDF)", data=lambda: monthly_report_pdf(made(seen, span, products, site, places)),
        file_name=f"oil-{datetime.date.fromordinal(int(span.first)):%Y-%m}.pdf", mime="application/pdf", on_click="ignore",
        key="consumption_report", icon=":material/download:", width="stretch",
    )  # fmt: skip
