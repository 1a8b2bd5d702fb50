"""Rows and sentences about consumption, for the screen and the monthly report: rates of groups, flows of a period, one compartment."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fluidapp import units
from fluidapp.calc import consumption as con
from fluidapp.calc import due, figure, stock
from fluidapp.calc.between import POURED_SHARE
from fluidapp.model import Product
from fluidapp.screens._fleet import Part, Seen
from fluidapp.screens._span import Span
from fluidapp.screens.words import Show

GROUPS: dict[str, Callable[[Part], str]] = {
    "machine": lambda p: p.machine.label,
    "compartment": lambda p: f"{p.machine.label}, {p.compartment.label[:1].lower()}{p.compartment.label[1:]}",
    "kind of compartment": lambda p: p.compartment.kind,
    "class": lambda p: f"{p.machine.kind}, {p.machine.class_t:g} t" if p.machine.class_t else p.machine.kind,
    "product": lambda p: p.compartment.product or "not entered",
}


@dataclass(frozen=True, slots=True)
class Ranked:
    """Rates of a period, and of the one before where the records reach back; None = no interval ends in it."""

    now: con.Rates | None
    before: con.Rates | None
    compared: con.Compared | None


def ranked(seen: Seen, span: Span, group: str, product: str | None, earlier: Span | None = None) -> Ranked:
    """Groups by their rate in the period. group : of GROUPS. product : only compartments that hold it. earlier : None = as long before."""
    parts = seen.of()
    of = [GROUPS[group](p) for p in parts]
    machine = [p.machine.key for p in parts]
    mine = np.array([product is None or p.compartment.product == product for p in parts], np.bool_)
    found = seen.fleet.seen.found

    def rated(when: Span) -> con.Rates | None:
        only = seen.fleet.within(when.first, when.last) & mine[found.series]
        return con.rates(found, machine, of, seen.fleet.u_level_l, only=only) if only.any() else None

    now, before = rated(span), rated(earlier or span.before)
    return Ranked(now, before, con.compare(before, now) if before is not None and now is not None else None)


def per_l(show: Show) -> float:
    """One litre in the person's unit."""
    return float(units.convert("volume", 1.0, "L", show.volume, "volume"))


def rate_text(rate: float, u: float, show: Show) -> str:
    """A rate in L/100 h with its ±, as text."""
    one = per_l(show)
    return str(figure.figure(rate * one, u * one, unit=f"{show.volume}/100 h"))


def bare(text: str) -> str:
    """A rate without its unit, for a column that names it."""
    return text.rpartition(" ")[0].rpartition(" ")[0]


def ranked_rows(found: Ranked, group: str, names: dict[str, str], show: Show) -> list[dict[str, str]]:
    """The ranking as text, largest rate first. names : labels of keys, for products."""
    if found.now is None:
        return []
    now = found.now
    before: dict[str, str] = {}
    words: dict[str, str] = {}
    if found.before is not None and found.compared is not None:
        of = found.before
        before = {str(g): bare(rate_text(r, u, show)) for g, r, u in zip(of.group, of.rate.tolist(), of.u.tolist(), strict=True)}
        words = {str(g): word for g, word in zip(found.compared.group, found.compared.word, strict=True)}
    rows = []
    for k, name in enumerate(now.group.tolist()):
        rows.append({
            group: names.get(name, name),
            f"{show.volume}/100 h": bare(rate_text(float(now.rate[k]), float(now.u[k]), show)),
            "period before": before.get(name, "–"),
            "against it": words.get(name, "–"),
            "topped up": show.litres(float(now.litres[k]), max(POURED_SHARE * abs(float(now.litres[k])), 0.01)),
            "hours": f"{now.hours[k]:.0f}",
        })  # fmt: skip
    return rows


def prices(seen: Seen, products: dict[str, Product]) -> dict[str, tuple[float, str]]:
    """Price a litre by product: as entered for it, else that of the newest delivery."""
    moves, found = seen.ledger.moves, {}
    for k in np.flatnonzero(~np.isnan(moves.price) & (moves.product >= 0)):
        found[seen.ledger.products[int(moves.product[k])]] = (float(moves.price[k]), seen.ledger.currencies[int(moves.currency[k])])
    return found | {key: (p.price, p.currency) for key, p in products.items() if p.price is not None}


@dataclass(frozen=True, slots=True)
class Flows:
    """Litres ± u of a period by the names of FLOWS, what the top-ups cost by currency, and the account of it all."""

    litres: dict[str, tuple[float, float]]
    costs: tuple[con.Cost, ...]
    account: con.Accounted
    unpriced_l: float


def flows(seen: Seen, span: Span, product: str | None, price: dict[str, tuple[float, str]]) -> Flows:
    """Where the oil of a period went. price : as :func:`prices` gives it. A movement without a doubt of its own has 2 % (typical)."""
    moves = seen.ledger.moves
    part = (moves.day >= span.first) & (moves.day < span.last)
    if product is not None:
        part &= moves.product == (seen.ledger.products.index(product) if product in seen.ledger.products else -2)
    kind = con.sort(moves.from_kind[part], moves.to_kind[part], moves.purpose[part])
    litres, u = moves.litres[part], moves.u[part]
    u = np.where(np.isnan(u), POURED_SHARE * litres, u)
    total, doubt = con.totals(kind, np.zeros(len(kind), np.intp), 1, litres, u)
    by = {name: (float(total[0, k]), float(doubt[0, k])) for k, name in enumerate(con.FLOWS)}
    costs, unpriced = _costs(seen, moves.product[part], litres, u, kind == con.FLOWS.index("topped up"), price)
    return Flows(by, stock.total_cost(costs), con.account(by), unpriced)


def _costs(
    seen: Seen, product: NDArray[np.intp], litres: NDArray[np.float64], u: NDArray[np.float64], some: NDArray[np.bool_],
    price: dict[str, tuple[float, str]],
) -> tuple[list[con.Cost], float]:  # fmt: skip
    costs, unpriced = [], 0.0
    for k in np.unique(product[some]).tolist():
        part = some & (product == k)
        amount, doubt = float(litres[part].sum()), float(np.sqrt(np.square(u[part]).sum()))
        known = price.get(seen.ledger.products[k]) if k >= 0 else None
        if known is None:
            unpriced += amount
        else:
            costs.append(con.cost(amount, doubt, *known))
    return costs, unpriced


def money(costs: Sequence[con.Cost]) -> str:
    """Costs with their ±, one a currency."""
    return ", ".join(str(figure.figure(c.value, max(c.u, 0.005), unit=c.currency)) for c in costs) or "no price is entered"


FLOW_WORDS = {
    "delivered": "delivered",
    "topped up": "topped up",
    "changed": "poured in changes and first fills",
    "poured, other": "poured for another reason",
    "drained": "drained",
    "handed over": "handed over as used oil",
    "left stock": "left the stock another way",
    "moved": "moved between places",
}


def flow_rows(found: Flows, show: Show) -> list[dict[str, str]]:
    """Flows of a period that are not 0, as text."""
    return [{"flow": FLOW_WORDS[name], show.volume: show.litres(*both)} for name, both in found.litres.items() if both[0] > 0]


def account_words(found: con.Accounted, show: Show) -> str:
    """What the account says, the levels taken as they were."""
    if found.added_l == 0 and found.drained_l == 0:
        return "Nothing was poured or drained."
    lost = show.litres(found.lost_l, found.u_l) if found.u_l > 0 else show.amount(found.lost_l)
    said = {
        "balanced": "within the ± of what was measured",
        "not clear": "too near the limit to say",
        "does not close": "burnt, lost to the ground, into a compartment that is not counted, or an error in the records"
        if found.lost_l > 0 else "more was drained than poured: an entry is missing",
    }  # fmt: skip
    return (
        f"Poured less drained: **{lost}**, {said[found.word]}. Drained less handed over: {show.about(found.still_here_l)}, which the "
        "used-oil store must hold more than before. What the machines hold is taken as unchanged."
    )


@dataclass(frozen=True, slots=True)
class OnePart:
    """One compartment: its place in the review, its picture, its litres a year against what it holds, the ratio, the price a litre."""

    m: int
    part: Part
    picture: con.UsePicture
    yearly: con.Yearly | None
    ratio: float | None
    rate: tuple[float, float] | None


def one_part(seen: Seen, m: int) -> OnePart:
    """Everything that is told of the series number ``m``; the rate of now is that since the change, else the usual one [L/h]."""
    part, fleet = seen.of()[m], seen.fleet
    picture = con.picture(fleet, m, seen.today)
    review, found = fleet.seen, fleet.seen.found
    alarm = review.alarm_at[m] >= 0
    at = (float(review.now[m]), float(review.u_now[m])) if alarm else (float(review.usual.rate[m]), float(review.usual.u[m]))
    rate = None if math.isnan(at[0]) else at
    charge = con.charge_l(part.compartment)
    yearly = ratio = None
    rows = slice(int(found.start[m]), int(found.start[m + 1]))
    days = float(fleet.day[found.row[rows]].max() - fleet.day[found.before[rows]].min()) if picture.dots else 0.0
    if rate and charge and days > 0:
        yearly = con.against_floor(*rate, 365.25 * float(found.hours[rows].sum()) / days, charge)
    if charge:
        records = seen.ledger.records
        mine = (records.series == part.number) & (records.day > seen.today - 365.25) & (records.day <= seen.today) & (records.litres > 0)
        known = min(365.25, seen.today - float(seen.ledger.moves.day.min(initial=seen.today)))
        ratio = con.makeup_ratio(float(records.litres[mine].sum()), charge, known) if known > 30 else None
    return OnePart(m, part, picture, yearly, ratio, rate)


def part_rows(picture: con.UsePicture, show: Show) -> list[dict[str, str]]:
    """The intervals of a compartment, newest first, as text."""
    one = per_l(show)
    return [
        {
            "to": due.on(d.day), "hours": f"{d.hours:.0f}", "used": show.litres(d.litres, d.u_l),
            f"{show.volume}/100 h": bare(rate_text(d.rate, 100.0 * d.u_l / d.hours, show)),
            "usual band": "–" if math.isnan(d.low) else f"{d.low * one:.2f} to {d.high * one:.2f}",
            "against it": d.word, f"running sum, {show.volume}": f"{d.sum_l * one:.1f}",
        }
        for d in reversed(picture.dots)
    ]  # fmt: skip
