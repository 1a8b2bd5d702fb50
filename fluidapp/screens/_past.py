"""What the records say about one compartment: its last readings, and what was poured and drained in between."""

import math
from dataclasses import dataclass

from fluidapp.calc.between import poured_doubt
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
        meter = "" if self.entry.meter_h is None else f", {self.entry.meter_h:g} h"
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


def any_reading(machine: Machine) -> bool:
    """Whether any level of this machine was ever recorded."""
    return bool(_resources.store().entries(machine.key, "reading", limit=1))


def readings(machine: Machine, node: str, gauge: str | None = None, most: int = 2) -> list[Past]:
    """The newest readings of a compartment or bath that name a level, newest first; each of another visit than the next."""
    found: list[Past] = []
    for entry in _resources.store().entries(machine.key, "reading", node, limit=20 * most):
        doc, visit = entry.doc, found[-1].entry.save_id if found else ""
        if isinstance(doc, LevelReading) and doc.bound == "exact" and entry.save_id != visit and doc.gauge in (gauge or doc.gauge, None):
            found.append(Past(entry, doc))
    return found[:most]


def moved(machine: Machine, node: str, since: Past | None, until: Past | None = None) -> Moved:
    """What was put in and taken out after one reading, and before another one; nothing without the first."""
    if since is None:
        return Moved()
    full, first = f"{machine.key}/{node}", (since.entry.at, since.entry.seq)
    last = (until.entry.at, until.entry.seq) if until else None
    entries = _resources.store().entries(None, "movement", full, since=first[0], until=last[0] if last else None)
    counted = [e for e in entries if (e.at, e.seq) > first and (last is None or (e.at, e.seq) < last)]
    total = dict.fromkeys(("in_l", "u_in_l", "out_l", "u_out_l", "in_kg", "out_kg"), 0.0)
    for doc in (e.doc for e in counted):
        assert isinstance(doc, Movement)
        way = "in" if doc.to_node == full else "out"
        total[f"{way}_kg"] += doc.mass_kg or 0.0
        if doc.volume_l is not None:
            total[f"{way}_l"] += doc.volume_l
            total[f"u_{way}_l"] = math.hypot(total[f"u_{way}_l"], poured_doubt(doc.volume_l) if doc.u is None else doc.u)
    return Moved(**total, ids=",".join(e.id for e in counted))
