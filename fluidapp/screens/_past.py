"""What the records say about one compartment: its last readings, and what was poured and drained in between."""

import datetime
import math
from dataclasses import dataclass

from fluidapp.calc.bath import Survey
from fluidapp.calc.between import poured_doubt
from fluidapp.calc.decision import quadrature
from fluidapp.model import Machine
from fluidapp.screens import _resources
from fluidapp.store import Entry
from fluidapp.store.kinds import LevelReading, Movement


@dataclass(frozen=True, slots=True)
class Past:
    """A recorded reading: its entry, and what it says."""

    entry: Entry
    doc: LevelReading

    def __str__(self) -> str:
        """When it was taken: "2026-05-04 06:30, 5123 h"."""
        meter = "" if self.entry.meter_h is None else f", {self.entry.meter_h:.0f} h"
        return f"{self.entry.at_local:%Y-%m-%d %H:%M}{meter}"


@dataclass(frozen=True, slots=True)
class Moved:
    """Put in and taken out between two readings: litres with u, kilograms, and the ids of the entries behind them."""

    in_l: float = 0.0
    u_in_l: float = 0.0
    out_l: float = 0.0
    u_out_l: float = 0.0
    in_kg: float = 0.0
    out_kg: float = 0.0
    ids: str = ""


def survey(doc: LevelReading) -> Survey:
    """The depths of a recorded survey of a grease bath, or the mean that was stored alone with how many stand behind it."""
    return Survey(doc.depths_mm or (doc.level or 0.0,), doc.depths_at_deg, mean_of=doc.depths_n or 1)


def last(machine: Machine, node: str, gauge: str | None = None) -> Past | None:
    """The newest reading of a compartment or bath that names a level."""
    return next(iter(readings(machine, node, gauge)), None)


def on_day(machine: Machine, node: str, gauge: str | None, day: datetime.date) -> Past | None:
    """The newest reading of that local day that names a level."""
    start = datetime.datetime.combine(day, datetime.time(), tzinfo=datetime.UTC)
    around = (start - datetime.timedelta(days=1), start + datetime.timedelta(days=2))
    found = _exact(_resources.store().entries(machine.key, "reading", node, *around), gauge)
    return next((past for past in found if past.entry.at_local.date() == day), None)


def readings(machine: Machine, node: str, gauge: str | None = None, most: int = 1) -> list[Past]:
    """The newest readings of a compartment or bath that name a level, newest first."""
    return _exact(_resources.store().entries(machine.key, "reading", node, limit=12), gauge)[:most]


def newest_one_sided(machine: Machine, node: str) -> Past | None:
    """The newest reading of all, where it was one-sided: a dry stick, oil over the lip."""
    newest = _resources.store().entries(machine.key, "reading", node, limit=1)
    doc = newest[0].doc if newest else None
    return Past(newest[0], doc) if isinstance(doc, LevelReading) and doc.bound != "exact" else None


def _exact(entries: list[Entry], gauge: str | None) -> list[Past]:
    return [
        Past(entry, entry.doc)
        for entry in entries
        if isinstance(entry.doc, LevelReading) and entry.doc.bound == "exact" and entry.doc.gauge in (gauge or entry.doc.gauge, None)
    ]


def moved(machine: Machine, node: str, since: Past | None, until: Past | None = None) -> Moved:
    """What was put in and taken out after one reading, and before another one; nothing without the first."""
    if since is None:
        return Moved()
    full, first = f"{machine.key}/{node}", (since.entry.at, since.entry.seq)
    last = (until.entry.at, until.entry.seq) if until else None
    entries = _resources.store().entries(None, "movement", full, since=first[0], until=last[0] if last else None)
    counted = [e for e in entries if (e.at, e.seq) > first and (last is None or (e.at, e.seq) < last)]
    total = dict.fromkeys(("in_l", "out_l", "in_kg", "out_kg"), 0.0)
    doubts: dict[str, list[tuple[float, float]]] = {"in": [], "out": []}
    for doc in (e.doc for e in counted):
        assert isinstance(doc, Movement)
        way = "in" if doc.to_node == full else "out"
        total[f"{way}_kg"] += doc.mass_kg or 0.0
        if doc.volume_l is not None:
            total[f"{way}_l"] += doc.volume_l
            doubts[way].append((poured_doubt(doc.volume_l) if doc.u is None else doc.u, math.inf))
    total |= {f"u_{way}_l": quadrature(found)[0] for way, found in doubts.items()}
    return Moved(**total, ids=",".join(e.id for e in counted))
