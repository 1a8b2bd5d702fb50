"""Entries as rows of readable tables: the columns of each CSV file, row to entry and entry to row.

``readings.csv``, ``movements.csv``, ``shots.csv`` and ``meters.csv`` hold what comes in numbers; every other kind is an
``[[entry]]`` of a TOML file. Times carry their offset ("2026-05-04T06:30+02:00"), units stand in a column or in its name.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fluidapp import units
from fluidapp.errors import BadInput
from fluidapp.store.kinds import LevelReading, Meter, MeterChanged, Movement, Shot
from fluidapp.store.saves import Entry

Cells = Mapping[str, str]  # column -> text, stripped, never missing, but for as_read where the file has no such column
HEAD = ("time", "machine", "meter_h", "by")
TAIL = ("as_read", "note", "id")
YES = {"yes": True, "no": False}
_LONG = re.compile(r"-?\d{1,9}\.\d{1,20}")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One kind of CSV file. ``needs`` are the columns that must be there; ``fields`` say which column a field of the doc is."""

    name: str
    columns: tuple[str, ...]
    needs: tuple[str, ...]
    kinds: tuple[str, ...]
    doc: Callable[[Cells, bool], dict[str, Any]]
    row: Callable[[Entry], dict[str, Any]]
    fields: Mapping[str, str]


def time(text: str) -> datetime:
    """A time with its offset from UTC; BadInput where either is missing."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        raise BadInput("time", text, "Give date, time and offset from UTC, like 2026-05-04T06:30+02:00.")
    return at


def number(cells: Cells, column: str, comma: bool) -> float | None:
    """The number of a cell, None where it is empty."""
    return one(column, cells[column], comma)


def one(column: str, text: str, comma: bool) -> float | None:
    """A number as people write it, or one with all the digits that this program writes."""
    if _LONG.fullmatch(text) and len(text) > 15:
        return float(text)
    return units.number(column, text, comma=comma)


def whole(cells: Cells, column: str) -> int | None:
    """The whole number of a cell."""
    text = cells[column]
    if text and not text.isdecimal():
        raise BadInput(column, text, "Enter a whole number, like 4.")
    return int(text) if text else None


def yes_no(cells: Cells, column: str) -> bool | None:
    """ "yes", "no", or None where it is empty."""
    text = cells[column].lower()
    if text and text not in YES:
        raise BadInput(column, cells[column], "Enter yes or no, or leave it empty.")
    return YES.get(text)


def typed(cells: Cells, text: str = "", unit: str = "") -> str:
    """What was typed: the column as_read where the file has one, else number and unit."""
    return cells.get("as_read", f"{text} {unit}" if text else "")


def numbers(cells: Cells, column: str, comma: bool) -> list[float]:
    """Numbers separated by spaces."""
    return [n for word in cells[column].split() if (n := one(column, word, comma)) is not None]


def _named(cells: Cells, column: str, comma: bool) -> dict[str, float]:
    found = {}
    for word in cells[column].split():
        name, sign, text = word.partition("=")
        value = one(column, text, comma)
        if not sign or not name or value is None:
            raise BadInput(column, cells[column], "Enter names and mm like: boom=310 arm=0.")
        found[name] = value
    return found


def _reading(cells: Cells, comma: bool) -> dict[str, Any]:
    unit = cells["unit"] or ("mm" if not cells["reading"] else "")
    level = number(cells, "reading", comma)
    if level is not None and unit == "":
        raise BadInput("unit", "", f"Name the unit of the reading: %, {', '.join(units.LENGTH)}.")
    if level is not None and unit != "%":
        level = float(units.to_mm("reading", level, units.unit_name("unit", unit, "length")))
    return {
        "kind": "reading",
        "node": cells["node"],
        "gauge": cells["gauge"] or None,
        "level": level,
        "bound": cells["bound"] or "exact",
        "as_read": typed(cells, cells["reading"], unit),
        "temp_c": number(cells, "oil_c", comma),
        "pitch_deg": number(cells, "pitch_deg", comma),
        "roll_deg": number(cells, "roll_deg", comma),
        "swing_deg": number(cells, "swing_deg", comma) or 0.0,
        "posture": cells["posture"] or None,
        "shown_mm": _named(cells, "rods_shown_mm", comma),
        "u_mm": number(cells, "u_mm", comma),
        "position_ok": yes_no(cells, "plug_in_position"),
        "ran_out_l": number(cells, "ran_out_l", comma),
        "depths_mm": numbers(cells, "depths_mm", comma),
        "depths_at_deg": numbers(cells, "depths_at_deg", comma),
        "depths_n": whole(cells, "depths_n"),
        "colour": cells["colour"],
        "water_seen": yes_no(cells, "water_seen"),
        "free_oil_l": number(cells, "free_oil_l", comma),
    }


def _reading_row(entry: Entry) -> dict[str, Any]:
    doc = entry.doc
    assert isinstance(doc, LevelReading)
    text, unit = split_as_read(doc.as_read, doc.level, "length", "mm")
    return {
        "node": local(doc.node, entry.machine),
        "gauge": doc.gauge,
        "reading": "" if doc.depths_mm else text,
        "unit": "" if doc.depths_mm or not text else unit,
        "bound": "" if doc.bound == "exact" else doc.bound,
        "oil_c": doc.temp_c,
        "pitch_deg": doc.pitch_deg,
        "roll_deg": doc.roll_deg,
        "swing_deg": doc.swing_deg or None,
        "posture": doc.posture,
        "rods_shown_mm": " ".join(f"{name}={plain(mm)}" for name, mm in doc.shown_mm.items()),
        "u_mm": doc.u_mm,
        "plug_in_position": doc.position_ok,
        "ran_out_l": doc.ran_out_l,
        "depths_mm": " ".join(plain(d) for d in doc.depths_mm),
        "depths_at_deg": " ".join(plain(d) for d in doc.depths_at_deg),
        "depths_n": doc.depths_n,
        "colour": doc.colour,
        "water_seen": doc.water_seen,
        "free_oil_l": doc.free_oil_l,
        "as_read": doc.as_read,
    }


def _movement(cells: Cells, comma: bool) -> dict[str, Any]:
    amount, u = number(cells, "amount", comma), number(cells, "u", comma)
    unit = cells["unit"]
    doc: dict[str, Any] = {"volume_l": None, "mass_kg": number(cells, "mass_kg", comma), "u": None}
    if amount is not None:
        try:
            kind, unit = "volume", units.unit_name("unit", unit, "volume")
        except BadInput as err:
            if unit.lower() not in (m.lower() for m in units.MASS):
                listed = ", ".join([*units.VOLUME, *units.MASS])
                raise BadInput("unit", unit, err.fix if "Say which" in err.fix else f"Use one of: {listed}.") from err
            kind, unit = "mass", units.unit_name("unit", unit, "mass")
        convert = units.to_l if kind == "volume" else units.to_kg
        doc["volume_l" if kind == "volume" else "mass_kg"] = float(convert("amount", amount, unit))
        doc["u"] = None if u is None else float(convert("u", u, unit))
    return doc | {
        "kind": "movement",
        "from_node": cells["from"],
        "to_node": cells["to"],
        "product": cells["product"] or "unknown",
        "temp_c": number(cells, "oil_c", comma),
        "purpose": cells["purpose"],
        "price": number(cells, "price", comma),
        "currency": cells["currency"],
        "document": cells["document"],
        "receiver": cells["receiver"],
        "as_read": typed(cells, cells["amount"], unit),
    }


def _movement_row(entry: Entry) -> dict[str, Any]:
    doc = entry.doc
    assert isinstance(doc, Movement)
    kind, inside = ("volume", "L") if doc.volume_l is not None else ("mass", "kg")
    value = doc.volume_l if doc.volume_l is not None else doc.mass_kg
    text, unit = split_as_read(doc.as_read, value, kind, inside)
    u = doc.u
    if u is not None and unit != inside:
        shown = round(float(units.convert("u", u, inside, unit, kind)), 12)
        if float(units.convert("u", shown, unit, inside, kind)) == u:
            u = shown
        else:  # the typed unit would not give it back to the last digit
            text, unit = plain(value or 0.0), inside
    return {
        "from": local(doc.from_node, entry.machine),
        "to": local(doc.to_node, entry.machine),
        "product": doc.product,
        "amount": text,
        "unit": unit,
        "mass_kg": doc.mass_kg if doc.volume_l is not None else None,
        "u": u,
        "oil_c": doc.temp_c,
        "purpose": doc.purpose,
        "price": doc.price,
        "currency": doc.currency,
        "document": doc.document,
        "receiver": doc.receiver,
        "as_read": doc.as_read,
    }


def _shot(cells: Cells, comma: bool) -> dict[str, Any]:
    return {
        "kind": "shot",
        "point": cells["point"],
        "nipple": whole(cells, "nipple") or 1,
        "swing_deg": number(cells, "swing_deg", comma),
        "strokes": number(cells, "strokes", comma),
        "seconds": number(cells, "seconds", comma),
        "mass_g": number(cells, "mass_g", comma),
        "gun": cells["gun"] or None,
        "purge_seen": yes_no(cells, "purge_seen"),
        "as_read": typed(cells),
    }


def _shot_row(entry: Entry) -> dict[str, Any]:
    doc = entry.doc
    assert isinstance(doc, Shot)
    names = ("point", "nipple", "swing_deg", "strokes", "seconds", "mass_g", "gun", "purge_seen", "as_read")
    return {name: getattr(doc, name) for name in names}


def _meter(cells: Cells, comma: bool) -> dict[str, Any]:
    if cells["state"] == "exchanged":
        return {"kind": "meter changed", "old_end_h": number(cells, "old_end_h", comma)}
    if cells["old_end_h"]:
        raise BadInput("old_end_h", cells["old_end_h"], "It belongs to the state “exchanged” only.")
    return {"kind": "meter", "state": cells["state"] or "read", "as_read": typed(cells)}


def _meter_row(entry: Entry) -> dict[str, Any]:
    doc = entry.doc
    if isinstance(doc, MeterChanged):
        return {"state": "exchanged", "old_end_h": doc.old_end_h}
    assert isinstance(doc, Meter)
    return {"state": "" if doc.state == "read" else doc.state, "as_read": doc.as_read}


def _sheet(
    name: str,
    own: tuple[str, ...],
    needs: tuple[str, ...],
    kinds: tuple[str, ...],
    doc: Callable[[Cells, bool], dict[str, Any]],
    row: Callable[[Entry], dict[str, Any]],
    **fields: str,
) -> Sheet:
    return Sheet(name, (*HEAD, *own, *TAIL), ("time", *needs), kinds, doc, row, fields)


SHEETS: Mapping[str, Sheet] = {
    sheet.name: sheet
    for sheet in (
        _sheet(
            "readings",
            (
                "node", "gauge", "reading", "unit", "bound", "oil_c", "pitch_deg", "roll_deg", "swing_deg", "posture",
                "rods_shown_mm", "u_mm",
                "plug_in_position", "ran_out_l", "depths_mm", "depths_at_deg", "depths_n", "colour", "water_seen", "free_oil_l",
            ),
            ("machine", "node"), ("reading",), _reading, _reading_row,
            temp_c="oil_c", level="reading", shown_mm="rods_shown_mm", position_ok="plug_in_position",
        ),
        _sheet(
            "movements",
            ("from", "to", "product", "amount", "unit", "mass_kg", "u", "oil_c", "purpose", "price", "currency", "document", "receiver"),
            ("from", "to", "amount", "unit", "purpose"), ("movement",), _movement, _movement_row,
            temp_c="oil_c", from_node="from", to_node="to", volume_l="amount",
        ),
        _sheet(
            "shots",
            ("point", "nipple", "swing_deg", "strokes", "seconds", "mass_g", "gun", "purge_seen"),
            ("machine", "point"), ("shot",), _shot, _shot_row,
        ),
        _sheet("meters", ("state", "old_end_h"), ("machine", "meter_h"), ("meter", "meter changed"), _meter, _meter_row),
    )
}  # fmt: skip


def row_of(sheet: Sheet, entry: Entry) -> dict[str, str]:
    """One entry as a row of its table: what :class:`Sheet.doc` reads back as the same entry."""
    cells: dict[str, Any] = {"time": iso(entry.at_local), "machine": entry.machine, "meter_h": entry.meter_h, "by": entry.by_name}
    cells |= {**sheet.row(entry), "note": entry.doc.note, "id": entry.id}
    return {column: text_of(cells.get(column)) for column in sheet.columns}


def split_as_read(as_read: str, value: float | None, kind: str, inside: str) -> tuple[str, str]:
    """The number and unit that a person typed where they give ``value``, else the value in its inside unit."""
    if value is None:
        return "", inside
    number_text, _, unit = as_read.rpartition(" ") if as_read.count(" ") == 1 else ("", "", "")
    if unit == "%":
        try:
            return (number_text if units.number("", number_text) == value else plain(value)), unit
        except BadInput:
            return plain(value), unit
    try:
        typed = units.quantity("", as_read, kind, inside)
        if typed is not None and as_read.endswith(typed[1]):
            text = as_read.removesuffix(typed[1]).strip()
            if units.number("", text) == typed[0] and float(units.convert("", typed[0], typed[1], inside, kind)) == value:
                return text, typed[1]
    except BadInput:
        pass
    return plain(value), inside


def local(node: str, machine: str | None) -> str:
    """A node as it is written in a file: short on its own machine."""
    return node.removeprefix(f"{machine}/") if machine else node


def iso(at: datetime) -> str:
    """A time to the minute, with seconds only where it has some."""
    return at.isoformat(timespec="seconds" if at.second else "minutes")


def plain(value: float) -> str:
    """A number in the fewest digits that give it back, without an exponent."""
    text = repr(float(value))
    return f"{value:.15f}".rstrip("0").rstrip(".") if "e" in text else text.removesuffix(".0")


def text_of(value: Any) -> str:
    """A cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return plain(value) if isinstance(value, (int, float)) else str(value)
