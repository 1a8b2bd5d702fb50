"""Which tables can be taken in, the fields of each, and which column of a stranger's table may be meant by its heading."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import time
from typing import Any, Literal

from fluidapp import units
from fluidapp.errors import BadInput
from fluidapp.store.tables import HEAD, SHEETS, TAIL, Cells, Sheet

Dates = Literal["year first", "day first", "month first"]
DATES: Mapping[Dates, str] = {
    "year first": "Year first: 2026-05-04",
    "day first": "Day first: 4.5.2026 or 04/05/2026",
    "month first": "Month first: 5/4/2026",
}
LENGTHS, VOLUMES, MASSES = tuple(units.LENGTH), tuple(units.VOLUME), tuple(units.MASS)


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a table. ``words`` are headings that may mean it; ``units`` the units its numbers can have, none for texts."""

    name: str
    title: str
    words: tuple[str, ...]
    units: tuple[str, ...] = ()
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A kind of table. ``always`` are cells that are the same in every row; ``as_column`` says where a field goes in the sheet."""

    name: str
    title: str
    sheet: Sheet
    fields: tuple[Field, ...]
    always: Mapping[str, str] = field(default_factory=dict)
    as_column: Mapping[str, str] = field(default_factory=dict)

    def field(self, name: str) -> Field:
        """The field of that name."""
        return next(f for f in self.fields if f.name == name)


@dataclass(frozen=True, slots=True)
class Columns:
    """How a table is read: heading and unit of each field, values of fields that no column holds, and how numbers and dates stand.

    decimal and dates : None is "not said", and then nothing is read. at_time : the time of day of rows with a date alone.
    """

    table: str
    columns: Mapping[str, str]
    units: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)
    decimal: Literal["point", "comma"] | None = None
    dates: Dates | None = None
    at_time: time | None = None


def _service(cells: Cells, comma: bool) -> dict[str, Any]:
    return {"kind": "task done", "task": cells["task"], "node": cells["node"] or None, "product": cells["product"] or None}


SERVICES = Sheet("services", (*HEAD, "task", "node", "product", *TAIL), ("time", "task"), ("task done",), _service, lambda entry: {}, {})
_TIME = Field(
    "time", "Date, or date and time", ("date", "time", "date time", "when", "day", "timestamp", "read on", "done on"), needed=True
)
_CLOCK = Field("clock", "Time of day", ("time of day", "clock", "clock time", "hour", "at"))
_MACHINE = Field(
    "machine", "Machine", ("machine", "unit no", "machine no", "machine name", "equipment", "fleet no", "vehicle", "asset"), needed=True
)
_METER = Field("meter_h", "Hour meter", ("hour meter", "hours", "meter", "meter hours", "engine hours", "machine hours", "h"), ("h",))
_BY = Field("by", "By", ("by", "who", "name", "mechanic", "operator", "person", "entered by", "done by"))
_NOTE = Field("note", "Note", ("note", "notes", "remark", "remarks", "comment", "comments"))
_NODE = Field("node", "Compartment", ("compartment", "component", "tank", "node", "part", "where", "place"), needed=True)
_TEMP = Field("oil_c", "Oil temperature", ("oil temperature", "oil temp", "temperature", "temp", "oil c"), ("°C", "°F"))
_PRODUCT = Field("product", "Product", ("product", "oil", "grease", "fluid", "lubricant", "oil type", "grade"))
_AMOUNT = Field(
    "amount", "Amount", ("amount", "quantity", "qty", "volume", "litres", "liters", "added", "drained", "poured", "litres added"),
    (*VOLUMES, *MASSES), True,
)  # fmt: skip
_UNIT = Field("unit", "Unit of the amount, in a column", ("unit", "units", "uom", "unit of measure"))
_PRICE = Field("price", "Price", ("price", "unit price", "cost"), ("per L, of grease per kg",))
_CURRENCY = Field("currency", "Currency", ("currency",))
_PAPER = Field("document", "Paper", ("document", "paper", "delivery note", "docket", "slip"))
_FIRST, _LAST = (_TIME, _CLOCK, _MACHINE, _METER), (_BY, _NOTE)
_POUR = (_NODE, _PRODUCT, _AMOUNT, _UNIT, _TEMP, _PRICE, _CURRENCY, _PAPER)
TABLES: Mapping[str, Table] = {
    table.name: table
    for table in (
        Table("readings", "Readings", SHEETS["readings"], (
            *_FIRST, _NODE,
            Field("gauge", "Gauge", ("gauge", "stick", "glass", "dipstick", "sight glass")),
            Field("reading", "Reading", ("reading", "level", "gauge reading", "height", "mm", "level reading"), (*LENGTHS, "%"), True),
            Field("unit", "Unit of the reading, in a column", _UNIT.words),
            _TEMP,
            Field("pitch_deg", "Slope along", ("pitch", "slope along", "nose up"), ("°",)),
            Field("roll_deg", "Slope across", ("roll", "slope across", "right side down"), ("°",)),
            Field("posture", "Posture", ("posture",)), *_LAST,
        )),
        Table("top-ups", "Top-ups", SHEETS["movements"], (*_FIRST, *_POUR, *_LAST),
              {"from": "stock", "purpose": "top-up"}, {"node": "to"}),
        Table("drains", "Drains", SHEETS["movements"], (*_FIRST, *_POUR, *_LAST),
              {"to": "used-oil", "purpose": "drain"}, {"node": "from"}),
        Table("movements", "Movements of every kind", SHEETS["movements"], (
            _TIME, _CLOCK, Field("machine", "Machine", _MACHINE.words), _METER,
            Field("from", "From", ("from", "source", "out of"), needed=True),
            Field("to", "To", ("to", "into", "destination"), needed=True),
            _PRODUCT, _AMOUNT, _UNIT, _TEMP,
            Field("purpose", "Purpose", ("purpose", "reason", "kind", "why"), needed=True),
            _PRICE, _CURRENCY, _PAPER, Field("receiver", "Receiver", ("receiver", "taken by", "handed to")), *_LAST,
        )),
        Table("services", "Services", SERVICES, (
            *_FIRST, Field("task", "Task", ("task", "service", "work", "job", "work done", "what", "description"), needed=True),
            Field("node", "Compartment", _NODE.words), _PRODUCT, *_LAST,
        )),
        Table("shots", "Shots of grease", SHEETS["shots"], (
            *_FIRST, Field("point", "Grease point", ("grease point", "point", "greased", "fitting", "place"), needed=True),
            Field("nipple", "Nipple number", ("nipple", "nipple no", "nipple number"), ("number",)),
            Field("swing_deg", "Boom points at", ("boom points at", "swing", "position", "angle", "swing angle"), ("°",)),
            Field("strokes", "Strokes", ("strokes", "pumps", "shots"), ("strokes",)),
            Field("seconds", "Seconds of a power gun", ("seconds", "duration"), ("s",)),
            Field("mass_g", "Grease", ("grease", "mass", "weight", "grams", "dose"), MASSES),
            Field("gun", "Gun", ("gun", "grease gun")),
            Field("purge_seen", "Old grease came out", ("old grease came out", "purge", "purged", "purge seen", "came out")), *_LAST,
        )),
    )
}  # fmt: skip


def suggested(table: Table, headings: Sequence[str]) -> Columns:
    """The column that each field may be, and the unit that its heading names, as a beginning for a person to correct.

    A heading is given to one field: first where it is one of the field's words, then where it begins or ends with one, long words first.
    Decimal style and date style are never suggested.
    """
    left = {heading: _bare(heading) for heading in headings}
    columns: dict[str, str] = {}
    words = [(f.name, word) for f in table.fields for word in (f.name.replace("_", " "), *f.words)]
    longest = sorted(words, key=lambda pair: -len(pair[1]))
    for exact, some in ((True, words), (False, longest)):
        for name, word in some:
            found = next((heading for heading, said in left.items() if _fits(said, word, exact)), None)
            if name not in columns and found is not None:
                columns[name] = found
                del left[found]
    named = {name: unit for name, heading in columns.items() if (unit := unit_in(table.field(name), heading))}
    if "unit" in columns:
        named.pop("amount" if table.sheet.name == "movements" else "reading", None)
    return Columns(table.name, columns, named)


def _fits(said: str, word: str, exact: bool) -> bool:
    return said == word if exact else said.startswith(f"{word} ") or said.endswith(f" {word}")


def unit_in(f: Field, heading: str) -> str | None:
    """The unit that a heading names: in brackets, or as its last or first word; the only one, where a field has one."""
    if len(f.units) < 2:
        return f.units[0] if f.units else None
    words = re.findall(r"[\[(]([^\])]*)[\])]", heading)
    last = heading.replace("_", " ").split()
    words += [" ".join(last[-2:]), last[-1], last[0]] if last else []
    for word in words:
        for kind in ("length", "volume", "mass", "temperature"):
            try:
                unit: str = units.unit_name("", word, kind)
            except BadInput:
                continue
            if unit in f.units:
                return unit
        if str(word).strip() in f.units:
            return str(word).strip()
    return None


def _bare(heading: str) -> str:
    """A heading without brackets, marks and capitals."""
    text = re.sub(r"[\[(].*?[\])]", " ", heading.casefold())
    return " ".join(re.sub(r"[^\w%]+|_", " ", text).split())
