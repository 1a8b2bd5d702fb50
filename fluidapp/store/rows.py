"""One row of a stranger's table as an entry: dates, numbers and names as the person said they stand, or what is wrong with it."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from pydantic import ValidationError

from fluidapp import units
from fluidapp.errors import BadInput, FluidappError, Unknown
from fluidapp.model import Machine
from fluidapp.store.grid import Cell, NotComputed
from fluidapp.store.kinds import PLACES
from fluidapp.store.safe import unquoted
from fluidapp.store.saves import NewEntry
from fluidapp.store.subjects import Directory
from fluidapp.store.tables import iso, one, plain
from fluidapp.store.wanted import Columns, Table

NOT_EXACT = {
    **dict.fromkeys(("below", "dry", "dry stick", "below the glass", "below the gauge"), "at most"),
    **dict.fromkeys(("above", "above the glass", "above the gauge"), "at least"),
}
YES_NO = {**dict.fromkeys(("yes", "y", "true", "x", "1"), "yes"), **dict.fromkeys(("no", "n", "false", "0"), "no")}
_DATE = re.compile(r"(\d{1,4})([-./])(\d{1,2})\2(\d{1,4})")
_CLOCK = re.compile(r"(\d{1,2})[:.](\d\d)(?:[:.](\d\d)(?:\.0+)?)?\s*([ap]m)?", re.IGNORECASE)
_CLOCK_FIX = "Write it like 06:30 or 6:30 pm."


@dataclass(frozen=True, slots=True)
class RowProblem:
    """A row that cannot be taken in: its number as the file counts, the heading and what stands there, why, and what would do."""

    row: int
    column: str
    value: str
    why: str
    fix: str

    def __str__(self) -> str:
        at = f", column “{self.column}”" if self.column else ""
        return f"row {self.row}{at}: “{self.value}”: {self.why}. {self.fix}"


class Reader:
    """Turns rows into entries. ``place`` gives a time without an offset its own (the site's).

    midnight : a date cell of a spreadsheet at 0:00 is midnight, since others of its column have a time; else it is a date alone.
    """

    def __init__(
        self, table: Table, said: Columns, directory: Directory, place: Callable[[datetime], datetime], midnight: bool = False
    ) -> None:
        self.midnight = midnight
        self.table, self.said, self.directory, self.place = table, said, directory, place
        self._names = {kind: _by_name(directory, kind) for kind in ("machine", "product", "gun", "truck")}
        self._parts: dict[str, dict[str, list[str]]] = {}
        self._amount = "reading" if table.name == "readings" else "amount"
        self._columns = {"volume_l": "amount", "mass_kg": "amount", "u": "amount", **{c: f for f, c in table.as_column.items()}}

    def heading(self, field: str) -> str:
        """The column of a field, its title where no column holds it."""
        field = self._columns.get(field, field)
        known = next((f for f in self.table.fields if field in (f.name, f.title)), None)
        return field if known is None else self.said.columns.get(known.name, known.title)

    def entry(self, row: Mapping[str, Cell], origin: str) -> tuple[str, NewEntry]:
        """Who, and the entry that a row says; BadInput whose field is one of the table's."""
        raw = {f.name: row.get(self.said.columns.get(f.name, "")) for f in self.table.fields}
        raw |= {name: value for name, value in self.said.fixed.items() if value}
        for name, cell in raw.items():
            if isinstance(cell, NotComputed):
                raise BadInput(name, str(cell), "This is a formula without a value. Put the value itself into the cell.")
        for f in self.table.fields:
            if f.needed and raw[f.name] is None:
                raise BadInput(f.name, "", "It is empty. Fill it in, or take the row out.")
        at = self._time(raw.get("time"), raw.get("clock"))
        cells = dict.fromkeys(self.table.sheet.columns, "") | dict(self.table.always)
        machine = self._machine(raw)
        for f in self.table.fields:
            if f.name not in ("time", "clock", "machine", "unit") and raw[f.name] is not None:
                column = self.table.as_column.get(f.name, f.name)
                cells[column] = self._cell(f.name, bool(f.units), raw, machine)
        if (typed := raw.get(self._amount)) is not None:
            bound = NOT_EXACT.get(text_of(typed).casefold()) if self._amount == "reading" else None
            if bound is not None:
                cells |= {"bound": bound, "as_read": text_of(typed)}
            else:
                cells["unit"] = self._unit(self._amount, raw)
                cells["as_read"] = f"{text_of(typed)} {cells['unit']}"
        by, note, hours = cells["by"], cells["note"], cells["meter_h"]
        doc = {name: value for name, value in self.table.sheet.doc(cells, False).items() if value is not None}
        fields = {"doc": {**doc, "note": note}, "at": at, "machine": machine, "meter_h": float(hours) if hours else None, "origin": origin}
        try:
            return by, NewEntry.model_validate(fields)
        except ValidationError as err:
            raise self._refused(err, raw) from err

    def _refused(self, err: ValidationError, raw: Mapping[str, Cell]) -> BadInput:
        first = err.errors(include_url=False)[0]
        name = next((str(step) for step in reversed(first["loc"]) if isinstance(step, str)), "")
        name = self._columns.get(self.table.sheet.fields.get(name, name), self.table.sheet.fields.get(name, name))
        what = first["msg"].removeprefix("Value error, ")
        known = name if name in raw else ""
        return BadInput(known, text_of(raw.get(known)), f"{what[:1].upper()}{what[1:]}.")

    def _cell(self, name: str, number: bool, raw: Mapping[str, Cell], machine: str | None) -> str:
        """A cell as the readable tables have it."""
        cell = raw[name]
        if name == "purge_seen":
            found = YES_NO.get(text_of(cell).casefold())
            if found is None:
                raise BadInput(name, text_of(cell), "Enter yes or no, or leave it empty.")
            return found
        if number:
            if name == "reading" and text_of(cell).casefold() in NOT_EXACT:
                return ""
            value = self._number(name, cell)
            unit = self._unit(name, raw)
            if name == "oil_c":
                value = float(units.to_c(name, value, unit))
            elif name == "mass_g":
                value = 1000 * float(units.to_kg(name, value, unit))
            elif name == "meter_h" and value < 0:
                raise BadInput(name, text_of(cell), "An hour meter shows no negative hours.")
            return plain(round(value, 12))
        text = text_of(cell)
        if name in ("node", "from", "to", "point"):
            return self._node(name, text, machine)
        if name in ("product", "gun"):
            return self._key(name, name, text)
        return text.casefold() if name in ("purpose", "posture") else text

    def _number(self, name: str, cell: Cell) -> float:
        if isinstance(cell, bool | date | time):
            raise BadInput(name, text_of(cell), "This is no number. Format the cell as a number.")
        if isinstance(cell, float | int):
            return float(cell)
        text = str(cell)
        comma = self.said.decimal == "comma"
        if comma and "." in text:
            raise BadInput(name, text, f"Numbers were said to have a decimal comma: write {text.replace('.', ',')}, or choose the point.")
        try:  # the style was said, so that 1,234 has one meaning
            found = one(name, text.replace(",", ".") if comma else text, False)
        except BadInput as err:
            fix = err.fix
            if not comma and text.count(",") == 1 and "." not in text:
                fix = f"Numbers were said to have a decimal point: write {text.replace(',', '.')}, or choose the comma."
            raise BadInput(name, text, fix) from err
        if found is None:
            raise BadInput(name, text, "It is empty.")
        return found

    def _unit(self, name: str, raw: Mapping[str, Cell]) -> str:
        f = self.table.field(name)
        if name == self._amount and raw.get("unit") is not None:
            text = text_of(raw["unit"])
            for kind in ("length", "volume", "mass"):
                try:
                    if (unit := units.unit_name("unit", text, kind)) in f.units:
                        return unit
                except BadInput as err:
                    if "Say which" in err.fix:
                        raise
            if text in f.units:
                return text
            raise BadInput("unit", text, f"Use one of: {', '.join(f.units)}.")
        if name == self._amount and "unit" in self.said.columns and name not in self.said.units:
            raise BadInput("unit", "", f"Name the unit: one of {', '.join(f.units)}.")
        return f.units[0] if len(f.units) == 1 else self.said.units[name]

    def _time(self, cell: Cell, beside: Cell) -> datetime:
        if isinstance(cell, bool | float):
            raise BadInput("time", text_of(cell), "This is a number. Format the cells of this column as dates.")
        if isinstance(cell, datetime):
            day, hour = cell.date(), cell.time() if self.midnight or cell.time() != time() else None
            zone = cell.tzinfo
        elif isinstance(cell, date):
            day, hour, zone = cell, None, None
        else:
            day, hour, zone = self._typed_time(text_of(cell))
        if beside is not None:
            hour = beside if isinstance(beside, time) else clock("clock", text_of(beside))
        hour = hour or self.said.at_time
        if hour is None:
            raise BadInput("time", text_of(cell), "It has no time of day. Add one, or say which time of day counts.")
        at = datetime.combine(day, hour, zone)
        return at if zone else self.place(at)

    def _typed_time(self, text: str) -> tuple[date, time | None, Any]:
        order = self.said.dates
        if order == "year first":
            try:
                at = datetime.fromisoformat(text)
            except ValueError as err:
                raise BadInput("time", text, "Dates were said to begin with the year: write it like 2026-05-04 06:30.") from err
            return at.date(), at.timetz().replace(tzinfo=None) if len(text) > 10 else None, at.tzinfo
        head, _, rest = text.partition(" ")
        match = _DATE.fullmatch(head)
        example = "4.5.2026 or 04/05/2026" if order == "day first" else "5/4/2026"
        if match is None or len(match[4]) != 4:
            raise BadInput("time", text, f"Write the date like {example}, the year with four digits.")
        first, second, year = int(match[1]), int(match[3]), int(match[4])
        month, day = (second, first) if order == "day first" else (first, second)
        try:
            found = date(year, month, day)
        except ValueError as err:
            raise BadInput(
                "time", text, f"There is no such day when it is read {order}. Choose the other date style, or correct it."
            ) from err
        return found, clock("time", rest.strip()) if rest.strip() else None, None

    def _machine(self, raw: Mapping[str, Cell]) -> str | None:
        text = text_of(raw.get("machine"))
        return self._key("machine", "machine", text) if text else None

    def _key(self, field: str, kind: str, text: str) -> str:
        """A key from a key or label, whatever its capitals."""
        if kind == "product" and text.casefold() == "unknown":
            return "unknown"
        found = self._names[kind].get(_folded(text), [])
        if len(found) != 1:
            known = [s.doc.label for s in self.directory.by_kind[kind].values() if not s.archived]
            fix = "Several have this name: use the key." if found else f"Known: {', '.join(map(str, known)) or 'none yet'}."
            raise BadInput(field, text, fix)
        return found[0]

    def _node(self, field: str, text: str, machine: str | None) -> str:
        """A node from keys or labels: "tank" on the row's machine, "machine / tank", or a place."""
        if (folded := _folded(text).replace(" ", "-")) in PLACES:
            return folded
        owner, slash, part = text.partition("/")
        if slash:
            try:
                key = self._key(field, "machine", owner.strip())
            except BadInput:
                key = self._key(field, "truck", owner.strip())
        elif machine is None:
            raise BadInput(field, text, f"Name the machine too, like machine/{text}, or one of: {', '.join(PLACES)}.")
        else:
            key = machine
        found = self._of(key).get(_folded(part if slash else text), [])
        if len(found) != 1:
            known = sorted({key for keys in self._of(key).values() for key in keys})
            fix = "Several have this name: use the key." if found else f"On {key} there are: {', '.join(known) or 'none yet'}."
            raise BadInput(field, text, fix)
        return f"{key}/{found[0]}" if slash else found[0]

    def _of(self, owner: str) -> dict[str, list[str]]:
        if owner not in self._parts:
            found = self.directory.owner(owner)
            parts = [*found.compartments, *((*found.baths, *found.grease_points) if isinstance(found, Machine) else ())]
            listed: dict[str, list[str]] = {}
            for part in parts:
                for name in {_folded(part.key), _folded(part.label)}:
                    listed.setdefault(name, []).append(part.key)
            self._parts[owner] = listed
        return self._parts[owner]

    def problem(self, row: int, cells: Mapping[str, Cell], err: FluidappError) -> RowProblem:
        """What is wrong with a row, in the words of its own file."""
        if isinstance(err, Unknown):
            field = {"machine": "machine", "product": "product", "gun": "gun", "gauge of": "gauge", "gauge": "gauge"}.get(
                err.kind.casefold(), "node"
            )
            heading = self.heading(field)
            return RowProblem(
                row, heading, text_of(cells.get(heading)) or err.name, "this is not known", f"Known: {', '.join(err.known) or 'none yet'}."
            )
        if not isinstance(err, BadInput):
            problem, fix = getattr(err, "problem", str(err).rstrip(".")), getattr(err, "fix", "Correct this row.")
            return RowProblem(row, "", "", problem, fix)
        names = {"hour meter": "meter_h", "old hour meter": "meter_h", "litres": "amount", "kilograms": "amount"}
        heading = self.heading(names.get(err.field.casefold(), err.field))
        if heading not in cells and heading not in {f.title for f in self.table.fields} and self._amount in self.said.columns:
            heading = self.heading(self._amount)  # a gauge or a compartment that cannot hold the figure
        value = (
            text_of(cells.get(heading))
            if heading in cells
            else text_of(err.value if isinstance(err.value, str | float) else str(err.value))
        )
        why = str(err).partition(": ")[2].partition(". ")[0] if not isinstance(err.value, str) else "it cannot be used"
        return RowProblem(row, heading, value, "it is empty" if not value else why, err.fix)


def _by_name(directory: Directory, kind: str) -> dict[str, list[str]]:
    """Keys by key and by label."""
    found: dict[str, list[str]] = {}
    for key, subject in directory.by_kind[kind].items():
        for name in {_folded(key), _folded(subject.doc.label)}:
            found.setdefault(name, []).append(key)
    return found


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())


def text_of(cell: Cell) -> str:
    """A cell as it is shown."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return iso(cell)
    if isinstance(cell, date | time):
        return cell.isoformat()
    return plain(cell) if isinstance(cell, float) else unquoted(str(cell).strip())


def clock(field: str, text: str) -> time:
    """A time of day; BadInput for anything else."""
    match = _CLOCK.fullmatch(text)
    if match is None:
        raise BadInput(field, text, _CLOCK_FIX)
    hour, minute, second, half = int(match[1]), int(match[2]), int(match[3] or 0), (match[4] or "").casefold()
    if half:
        if not 1 <= hour <= 12:
            raise BadInput(field, text, _CLOCK_FIX)
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        return time(hour, minute, second)
    except ValueError as err:
        raise BadInput(field, text, _CLOCK_FIX) from err
