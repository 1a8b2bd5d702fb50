"""What was done on every machine, as the due list takes it: one query for the whole fleet, live entries only.

Nothing here is computed but total hours over exchanged meters and day counts.
"""

import functools
from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby
from operator import attrgetter
from typing import Any, Final, NamedTuple

from sqlalchemy import and_, or_, select

from fluidapp.store import schema
from fluidapp.store.engine import reading
from fluidapp.store.kinds import Doc, doc_adapter
from fluidapp.store.meters import Metered, totals
from fluidapp.store.records import Store
from fluidapp.store.saves import utc_time

TOLD: Final = ("meter", "meter changed", "task done", "oil sample", "repair", "duty", "shot")  # kinds whose whole entry is read
FILLS: Final = ("planned change", "first fill", "greasing")  # purposes of the movements that are read


@dataclass(frozen=True, slots=True)
class Deed:
    """One entry about a machine.

    day : day count as ``date.toordinal()``, with its fraction, by the clock of the place. node : in full, of a reading. meter_h, segment :
    what the hour meter showed, and which one it was; total_h : machine hours over all meters; None = not read. doc : the entry itself, of
    the kinds and purposes above.
    """

    id: str
    kind: str
    machine: str
    day: float
    node: str | None
    meter_h: float | None
    segment: int
    total_h: float | None
    doc: Doc | None


class _Row(NamedTuple):
    id: str
    kind: str
    at_utc: str
    utc_offset_min: int
    seq: int
    meter_h: float | None
    meter_segment: int
    of_machine: str | None
    node: str | None
    to_node: str | None
    doc: dict[str, Any] | None

    @property
    def owner(self) -> str:
        """The machine of the entry, else that of the place into which a movement went."""
        return self.of_machine or (self.to_node or "").partition("/")[0]


def read_deeds(store: Store) -> list[Deed]:
    """Every live entry of every machine, machine by machine, oldest first."""
    e, r, m = schema.live_entry, schema.reading, schema.movement
    whole, machine = schema.entry.alias("whole"), schema.subject
    query = (
        select(
            e.c.id, e.c.kind, e.c.at_utc, e.c.utc_offset_min, e.c.seq, e.c.meter_h, e.c.meter_segment,
            machine.c.key, r.c.node, m.c.to_node, whole.c.doc,
        )
        .outerjoin_from(e, machine, machine.c.id == e.c.machine_id)
        .outerjoin(r, r.c.entry_id == e.c.id)
        .outerjoin(m, and_(m.c.entry_id == e.c.id, m.c.purpose.in_(FILLS)))
        .outerjoin(whole, and_(whole.c.id == e.c.id, or_(e.c.kind.in_(TOLD), m.c.entry_id.is_not(None))))
        .where(or_(e.c.machine_id.is_not(None), m.c.entry_id.is_not(None)))
        .order_by(e.c.at_utc, e.c.seq)
    )  # fmt: skip
    with reading(store.engine) as conn:
        rows = [_Row(*r) for r in conn.execute(query)]
    rows.sort(key=attrgetter("owner"))  # keeps the order of time within a machine
    return [deed for owner, group in groupby(rows, key=attrgetter("owner")) for deed in _of_machine(owner, list(group))]


def _of_machine(machine: str, rows: list[_Row]) -> list[Deed]:
    metered = [r for r in rows if r.of_machine is not None and (r.meter_h is not None or r.kind == "meter changed")]
    total = dict(zip((r.id for r in metered), totals(_metered(r) for r in metered), strict=True))
    read = doc_adapter().validate_python
    return [
        Deed(
            id=r.id,
            kind=r.kind,
            machine=machine,
            day=_day(r.at_utc, r.utc_offset_min),
            node=r.node,
            meter_h=r.meter_h,
            segment=r.meter_segment,
            total_h=None if r.meter_h is None else total.get(r.id),
            doc=None if r.doc is None else read(r.doc),
        )
        for r in rows
    ]


def _metered(r: _Row) -> Metered:
    change = r.kind == "meter changed"
    return Metered(r.at_utc, r.seq, r.meter_h, r.meter_segment, change, r.doc.get("old_end_h") if change and r.doc else None, r.id)


@functools.lru_cache(maxsize=4096)
def _day(at_utc: str, utc_offset_min: int) -> float:
    at = utc_time(at_utc) + timedelta(minutes=utc_offset_min)
    return at.toordinal() + (at.hour * 60 + at.minute) / 1440.0
