"""What the records say about the greasing of one point, as the calculation takes it."""

import datetime
from dataclasses import dataclass

from fluidapp.calc import greasing
from fluidapp.calc.hours import hours_at, total_now
from fluidapp.model import GreasePoint, Gun, Machine
from fluidapp.screens import _due, _resources
from fluidapp.store import Entry
from fluidapp.store.kinds import Duty, Movement, Shot


@dataclass(frozen=True, slots=True)
class History:
    """Everything on record for one grease point. ``shots`` newest first; ``hours_as_of`` says how the hours of now are known."""

    events: tuple[greasing.Event, ...]
    duty: tuple[greasing.Duty, ...]
    shots: tuple[Entry, ...]
    now_h: float
    now_day: float
    hours_as_of: str

    @property
    def last_swing_deg(self) -> float:
        """Where the boom was at the last shot; 0 where there is none."""
        doc = self.shots[0].doc if self.shots else None
        return doc.swing_deg or 0.0 if isinstance(doc, Shot) else 0.0

    @property
    def last(self) -> tuple[Entry, ...]:
        """The entries of the last shot: one for each nipple."""
        return tuple(e for e in self.shots if e.save_id == self.shots[0].save_id and e.at == self.shots[0].at)


def history(machine: Machine, point: GreasePoint, gun: Gun | None, meter_h: float | None) -> History:
    """Shots, refills and duty of ``point`` in machine hours and days. meter_h : what the meter shows now, None = not read.

    OutOfRange where the meter shows less than before.
    """
    store, now = _resources.store(), _resources.now()
    meter = store.meter_points(machine.key)
    days, totals = [_day(p.at) for p in meter], [p.total_h for p in meter]
    by_entry = {p.entry_id: p.total_h for p in meter}
    if meter_h is not None:
        now_h = total_now(meter_h, meter[-1].meter_h if meter else None, totals[-1] if meter else 0.0)
        as_of = ""
    elif meter:
        now_h = totals[-1]
        local = meter[-1].at.astimezone(now.tzinfo)
        as_of = f"Hours count up to the last look at the meter, {meter[-1].meter_h:g} h on {local:%Y-%m-%d}: enter what it shows now."
    else:
        now_h, as_of = 0.0, "The hour meter was never read: only days count. Enter what it shows."

    def hours(entry: Entry) -> float:
        return min(by_entry.get(entry.id, hours_at(days, totals, _day(entry.at))), now_h)

    shots = store.shots(machine.key, point.key)
    guns = {g.key: g for g in store.guns()}
    events: list[greasing.Event] = [_due.shot(e.doc, hours(e), _day(e.at), point, guns) for e in reversed(shots) if isinstance(e.doc, Shot)]
    for entry in store.entries(None, "movement", f"{machine.key}/{point.key}"):
        if gun is not None and gun.feed == "auto" and isinstance(entry.doc, Movement) and entry.doc.mass_kg is not None:
            events.append(greasing.Refill(hours(entry), _day(entry.at), 1000.0 * entry.doc.mass_kg))
    duty = tuple(greasing.Duty(hours(e), e.doc.factor) for e in store.entries(machine.key, "duty") if isinstance(e.doc, Duty))
    return History(tuple(events), duty, tuple(shots), now_h, _day(now), as_of)


def last_gun(machine: Machine) -> str | None:
    """The gun of the machine's last shot, where it was written down."""
    newest = _resources.store().entries(machine.key, "shot", limit=1)
    return newest[0].doc.gun if newest and isinstance(newest[0].doc, Shot) else None


def shots_of(point: GreasePoint, swing_deg: float, amount: float | None, gun: Gun | None, purge: bool | None) -> list[Shot]:
    """The entries of one shot: one for each nipple, as counted and with its grams where the gun is weighed."""
    power = gun is not None and gun.feed == "power"
    strokes, seconds = (None, amount) if power else (amount, None)
    counted = "" if amount is None else f"{amount:g} {'s' if power else 'strokes'}"
    return [
        Shot.made(
            point=point.key, nipple=k + 1, swing_deg=swing_deg if point.ring else None, strokes=strokes, seconds=seconds,
            mass_g=greasing.grams(strokes, seconds, gun), gun=gun.key if gun else None, purge_seen=purge, as_read=counted,
        )
        for k in range(len(point.ring.nipples_deg) if point.ring else 1)
    ]  # fmt: skip


def said(machine: Machine, entry: Entry) -> str:
    """A recorded shot in words: "left track, 23 strokes, 2026-05-04 06:30"."""
    doc = entry.doc
    assert isinstance(doc, Shot)
    place = greasing.position_name(doc.swing_deg, machine.sprockets) if doc.swing_deg is not None else ""
    counted = doc.as_read or (f"{doc.strokes:g} strokes" if doc.strokes else f"{doc.seconds:g} s" if doc.seconds else "")
    return ", ".join(part for part in (place, counted, f"{entry.at_local:%Y-%m-%d %H:%M}") if part)


def _day(at: datetime.datetime) -> float:
    return at.timestamp() / 86400.0
