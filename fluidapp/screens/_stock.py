"""Rows and sentences about stock and used oil, for the screen and the monthly report."""

import math
from dataclasses import dataclass

import numpy as np

from fluidapp.calc import consumption as con
from fluidapp.calc import due, figure, stock
from fluidapp.calc.between import POURED_SHARE
from fluidapp.calc.consumption.series import Array
from fluidapp.calc.due.projection import Use
from fluidapp.model import Container, Product
from fluidapp.screens._fleet import Seen
from fluidapp.screens._span import Span
from fluidapp.screens.words import Show
from fluidapp.store import ledger

PIECE_L = 250.0  # the largest container that is counted and ordered by the piece (own limit)
MONTH = 30.0
USED = "used oil"
SERVICES = {"9 of 10 times": 0.9, "19 of 20 times": 0.95, "99 of 100 times": 0.99}
LEAD_DAYS = 14.0  # typical


@dataclass(frozen=True, slots=True)
class Held:
    """One product in stock: litres ± u in all places, by place, its weekly use (None: too little known), how long it lasts.

    size : the container in which it is counted. point : containers at which to order, None where nothing is known of its use.
    """

    product: Product
    litres: float
    u: float
    places: tuple[tuple[str, float, float], ...]
    use: Use | None
    cover: stock.Cover | None
    size: Container | None
    point: int | None


def doubts(told: ledger.Moves) -> Array:
    """u of each movement: as entered; else 0 for what came in by the container, and 2 % (typical) for what was poured and drained."""
    return np.where(np.isnan(told.u), np.where(told.from_kind == ledger.OUTSIDE, 0.0, POURED_SHARE * told.litres), told.u)


def held(seen: Seen, products: dict[str, Product], names: dict[str, str], lead_days: float, service: float) -> tuple[list[Held], list[str]]:
    """Every product that ever was in stock, and what has to be said with it. names : of places."""
    moves, told = seen.ledger.moves, seen.ledger
    if not len(moves.litres):
        return [], []
    keys = np.array([*told.products, "unknown"], dtype=object)[moves.product]
    labels = {key: products[key].label if key in products else key for key in set(keys)}
    kinds = dict(zip(moves.from_place.tolist(), moves.from_kind.tolist(), strict=True))
    kinds |= dict(zip(moves.to_place.tolist(), moves.to_kind.tolist(), strict=True))
    where = np.array([names.get(place, place) for place in told.places])
    places = sorted({str(where[k]) for k, kind in kinds.items() if kind == ledger.STOCK})
    past = moves.day <= seen.today
    got = stock.on_hand(
        np.array([labels[k] for k in keys])[past], where[moves.from_place][past], where[moves.to_place][past], moves.litres[past],
        doubts(moves)[past], places,
    )  # fmt: skip
    out = past & (moves.from_kind == ledger.STOCK) & (moves.to_kind == ledger.MACHINE)
    found = []
    for key, label in sorted(labels.items(), key=lambda kl: kl[1]):
        rows = np.flatnonzero(got.product == label)
        if len(rows):
            product = products.get(key) or Product(key=key, label=label, kind="oil")
            mine = out & (keys == key)
            spread = tuple((str(got.place[k]), float(got.litres[k]), float(got.u[k])) for k in rows)
            found.append(_held(product, got.of(label), spread, moves.day[mine], moves.litres[mine], seen, lead_days, service))
    return found, list(got.remarks)


def _held(
    product: Product, amount: tuple[float, float], spread: tuple[tuple[str, float, float], ...], day: Array, litres: Array, seen: Seen,
    lead_days: float, service: float,
) -> Held:  # fmt: skip
    since = float(seen.ledger.moves.day.min())
    use = stock.weekly_use(day, litres, seen.today, since)
    cover = stock.cover(*amount, use) if use is not None else None
    size = _size(product)
    point = None
    if use is not None and size is not None and use.per_week > 0:
        days = 7.0 * use.span
        mean, var = stock.rate_of(round(use.per_week * use.span / size.volume_l), days)
        point = stock.reorder_point(mean, var, lead_days, service)
    return Held(product, *amount, spread, use, cover, size, point)


def _size(product: Product) -> Container | None:
    pieces = [c for c in product.containers if c.volume_l <= PIECE_L]
    return max(pieces, key=lambda c: c.volume_l) if pieces else min(product.containers, key=lambda c: c.volume_l, default=None)


def litres(value: float, u: float, show: Show) -> str:
    """Litres with their ±, or plain where they were counted by the container."""
    return show.litres(value, u) if u > 0 else show.about(value)


def cover_words(found: stock.Cover | None) -> str:
    """Days with their range."""
    if found is None:
        return "not known yet"
    if math.isinf(found.days):
        return "no use lately"
    ends = f" ({found.low:.0f} to {found.high:.0f})" if found.low is not None and found.high is not None else ""
    return f"{found.days:.0f} days{ends}"


def packed_words(one: Held, show: Show) -> str:
    """What is on hand in containers, at most one of them open."""
    if one.size is None:
        return "–"
    of = stock.packed(one.litres, one.size.volume_l)
    rest = f"{show.about(of.open_l)} open" if of.open_l >= 0.5 else ""
    return " and ".join(text for text in (f"{of.full} × {one.size.label}" if of.full else "", rest) if text) or "none"


def order_words(one: Held) -> str:
    """The reorder point, and whether the stock stands at it."""
    if one.point is None or one.size is None:
        return "–"
    pieces = one.litres / one.size.volume_l
    return f"{one.point} × {one.size.label}: {'order now' if pieces <= one.point else 'enough for now'}"


def held_rows(found: list[Held], show: Show) -> list[dict[str, str]]:
    """One row a product."""
    return [
        {
            "product": h.product.label, "on hand": litres(h.litres, h.u, show), "lasts": cover_words(h.cover),
            "order at": order_words(h), "in containers": packed_words(h, show),
            "use a week": show.about(h.use.per_week) if h.use is not None else "–",
            "where": ", ".join(f"{place} {show.about(amount)}" for place, amount, _ in h.places if abs(amount) > 0.5) or "–",
        }
        for h in found
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class UsedOil:
    """The used-oil store: litres ± u now, and what comes in a week."""

    litres: float
    u: float
    inflow: Use | None


def used_oil(seen: Seen) -> UsedOil:
    """All movements into it and out of it, whatever the product was called before."""
    moves = seen.ledger.moves
    past = moves.day <= seen.today
    into, out = past & (moves.to_kind == ledger.USED_OIL), past & (moves.from_kind == ledger.USED_OIL)
    u = doubts(moves)
    within = into & out
    doubt = float(np.sqrt(np.square(u[(into | out) & ~within]).sum()))
    since = float(moves.day.min(initial=seen.today))
    flow = stock.weekly_use(moves.day[into & ~within], moves.litres[into & ~within], seen.today, since)
    return UsedOil(float(moves.litres[into].sum() - moves.litres[out].sum()), doubt, flow)


def full_words(of: UsedOil, limit_l: float, today: float) -> str:
    """When the used-oil store will be full."""
    found = stock.used_oil(max(0.0, of.litres), of.u, limit_l, of.inflow, (), (), math.floor(today), days=180)
    if of.litres >= limit_l:
        return "It is at its limit by the records: have it collected before the next change."
    if found.crosses is None:
        return "It will not be full within 180 days, as things went lately."
    early = f", in 1 case of 20 by {due.on(found.early)}" if found.early is not None and found.early < found.crosses else ""
    return f"As things went lately it is full about {due.on(found.crosses)}{early}."


def handed(seen: Seen, span: Span) -> tuple[stock.HandedOver, list[dict[str, str]]]:
    """Hand-overs of the period: their sum, and one row each."""
    moves = seen.ledger.moves
    some = np.flatnonzero(
        (moves.from_kind == ledger.USED_OIL) & (moves.to_kind == ledger.OUTSIDE) & (moves.day >= span.first) & (moves.day < span.last)
    )
    total = stock.handed_over(moves.day[some], moves.litres[some], doubts(moves)[some], moves.paper[some], span.first, span.last)
    rows = [
        {
            "day": due.on(float(moves.day[k])),
            "L": f"{moves.litres[k]:.0f}",
            "paper and receiver": "entered" if moves.paper[k] else "missing",
        }
        for k in some
    ]
    return total, rows


def cost_rows(
    seen: Seen, span: Span, found: list[Held], price: dict[str, tuple[float, str]]
) -> tuple[list[dict[str, str]], tuple[con.Cost, ...], tuple[con.Cost, ...]]:
    """What was taken out of stock in the period cost, by product, and what the next 30 days will cost; with both totals."""
    moves = seen.ledger.moves
    out = (moves.from_kind == ledger.STOCK) & (moves.to_kind == ledger.MACHINE) & (moves.day >= span.first) & (moves.day < span.last)
    rows, past, ahead = [], [], []
    for one in found:
        known = price.get(one.product.key)
        code = seen.ledger.products.index(one.product.key) if one.product.key in seen.ledger.products else -1
        mine = out & (moves.product == code)
        if known is None or not mine.any():
            continue
        amount, u = float(moves.litres[mine].sum()), float(np.sqrt(np.square(doubts(moves)[mine]).sum()))
        past.append(con.cost(amount, u, *known))
        start = float(math.floor(seen.today))
        coming = stock.period_cost(one.use, (), *known, start, start + MONTH) if one.use is not None else None
        ahead += [coming] if coming else []
        rows.append({
            "product": one.product.label, "litres": str(figure.figure(amount, u)) if u > 0 else figure.about(amount),
            "price a litre": f"{known[0]:g} {known[1]}", "cost": _cost(past[-1]), "next 30 days": _cost(coming) if coming else "–",
        })  # fmt: skip
    return rows, stock.total_cost(past), stock.total_cost(ahead)


def _cost(of: con.Cost) -> str:
    return str(figure.figure(of.value, max(of.u, 0.005), unit=of.currency))
