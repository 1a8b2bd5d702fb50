"""What goes into the records in one piece, and what comes back from them."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, ConfigDict, Field, Strict

from fluidapp.errors import BadInput
from fluidapp.model import Frozen, Key
from fluidapp.store.kinds import Doc

Source = Literal["form", "cli", "import"]


class NewEntry(Frozen):
    """One entry as a form, a command or a file hands it over.

    at : when it was seen or done, with its offset from UTC. meter_h : None where the meter was not read.
    origin : the place in a file ("readings.csv, row 12"), named in an error and not stored. id : made here unless given.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    doc: Doc
    at: Annotated[AwareDatetime, Field(title="time")]
    machine: Key | None = None
    meter_h: Annotated[float, Strict(), Field(ge=0, le=1_000_000)] | None = Field(default=None, title="hour meter")
    id: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    origin: str = ""


class Save(Frozen):
    """Entries that are stored together or not at all. ``id`` is made when the form opens, so that a retry is recognised."""

    id: Annotated[str, Field(min_length=1, max_length=80)]
    entries: Annotated[tuple[NewEntry, ...], Field(min_length=1)]
    by_name: str = ""
    by_login: str = ""
    source: Source = "form"
    file: str = ""


@dataclass(frozen=True, slots=True)
class Saved:
    """``entry_ids`` in the order of the save; ``repeated`` where this save had been stored before."""

    save_id: str
    entry_ids: tuple[str, ...]
    repeated: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """One stored entry. ``voided_by`` is the id of the void that crossed it out."""

    seq: int
    id: str
    save_id: str
    kind: str
    at: datetime  # UTC
    utc_offset_min: int
    machine: str | None
    version_id: str | None
    meter_h: float | None
    meter_segment: int
    voids: str | None
    voided_by: str | None
    row_hash: str
    by_name: str
    made: datetime  # UTC
    source: str
    file: str
    doc: Doc

    @property
    def at_local(self) -> datetime:
        """The time as the person's clock showed it."""
        return self.at.astimezone(timezone(timedelta(minutes=self.utc_offset_min)))


@dataclass(frozen=True, slots=True)
class MeterPoint:
    """One metered entry; ``total_h`` adds up over exchanged meters."""

    at: datetime
    meter_h: float
    segment: int
    total_h: float
    entry_id: str


@dataclass(frozen=True, slots=True)
class MovementRow:
    """One movement as the ledger sees it, without the text of its entry. ``product`` is None where it is not known."""

    at: datetime
    machine: str | None
    meter_h: float | None
    meter_segment: int
    from_node: str
    to_node: str
    product: str | None
    volume_l: float | None
    mass_kg: float | None
    u: float | None
    temp_c: float | None
    purpose: str
    price: float | None
    currency: str
    entry_id: str


# who may write: (by_login, what) -> None, or the reason why not; ``what`` is "entries" or the kind of a subject
May = Callable[[str, str], str | None]


def everyone_may(by_login: str, what: str) -> str | None:
    """On one's own machine everybody writes."""
    return None


def utc_text(at: datetime) -> str:
    """A time as it is stored: UTC, whole seconds."""
    if at.tzinfo is None:
        raise BadInput("time", at.isoformat(), "Give it with its offset from UTC, like 2026-05-04T06:30+02:00.")
    return at.astimezone(UTC).replace(microsecond=0, tzinfo=None).isoformat() + "Z"


def utc_time(text: str) -> datetime:
    """A stored time."""
    return datetime.fromisoformat(text)


def offset_min(at: datetime) -> int:
    """The offset of a time from UTC [min]."""
    return round((at.utcoffset() or timedelta()).total_seconds() / 60)


def content(doc: Frozen) -> dict[str, Any]:
    """A model as it is stored: plain values; what was not entered is left out, defaults are written down."""
    return doc.model_dump(mode="json", exclude_none=True)


def row_hash(machine: str | None, at_utc: str, meter_h: float | None, doc: Frozen) -> str:
    """A name for what an entry says, so that the same row of a file is recognised when it comes again.

    Defaults do not count, so that the name stays when a later version knows more fields.
    """
    plain = doc.model_dump(mode="json", exclude_defaults=True)
    said = json.dumps(
        [machine, at_utc, meter_h, getattr(doc, "kind", ""), plain], sort_keys=True, ensure_ascii=False, separators=(",", ":")
    )
    return hashlib.sha256(said.encode()).hexdigest()[:32]
