"""A table as people hand it over, CSV or spreadsheet, as rows of plain values. Formulas are never computed: stored values only."""

import csv
import io
import re
import warnings
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Literal

from fluidapp.errors import FileProblem

Cell = str | float | bool | date | datetime | time | None
Encoding = Literal["UTF-8", "UTF-16", "Windows (cp1252)"]
ENCODINGS: dict[Encoding, str] = {"UTF-8": "utf-8-sig", "UTF-16": "utf-16", "Windows (cp1252)": "cp1252"}
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}
MOST_ROWS, MOST_BYTES, MOST_UNPACKED = 100_000, 50_000_000, 400_000_000
CUT = "Split it into smaller files."
_FORMULA = re.compile(rb"<f[ >/]")


class NotComputed(str):
    """A spreadsheet cell that holds a formula without a stored value, or an error value."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Headings (made different from each other) and rows; ``numbers`` are the rows as the file counts them.

    encoding, delimiter : of a CSV file; ``sheets`` are the sheets of a spreadsheet and ``sheet`` is the one read.
    """

    file: str
    headings: tuple[str, ...]
    rows: Sequence[Sequence[Cell]]
    numbers: Sequence[int]
    encoding: str = ""
    delimiter: str = ""
    sheets: tuple[str, ...] = ()
    sheet: str = ""


def read_grid(file: str, data: bytes, *, encoding: Encoding | None = None, delimiter: str | None = None, sheet: str | None = None) -> Grid:
    """The table in ``data``: a spreadsheet where its name ends in .xlsx, else CSV.

    encoding, delimiter : None takes UTF-8 or what the byte order mark says, and what stands most often in the first row; what was
    taken is in the result. FileProblem for anything that cannot be read, with the place.
    """
    if len(data) > MOST_BYTES:
        raise FileProblem(file, "", f"it is larger than {MOST_BYTES // 1_000_000} MB", CUT)
    if file.lower().endswith(".xlsx"):
        return _spreadsheet(file, data, sheet)
    if file.lower().endswith((".xls", ".ods", ".xlsm", ".xlsb", ".numbers")):
        raise FileProblem(file, "", "this kind of spreadsheet is not read", "Save it as .xlsx or .csv.")
    text, encoding = _decoded(file, data, encoding)
    if not text.strip():
        raise FileProblem(file, "", "the file is empty", "Its first row names the columns.")
    return _csv(file, text, encoding, delimiter or _delimiter(text))


def _decoded(file: str, data: bytes, encoding: Encoding | None) -> tuple[str, Encoding]:
    if encoding is None:
        encoding = "UTF-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "UTF-8"
    if encoding != "UTF-16" and b"\0" in data:
        at = data.index(b"\0") + 1
        raise FileProblem(
            file, f"byte {at}", "this is no text in that encoding", "If it is text in UTF-16, choose that; else save it as UTF-8."
        )
    try:
        return data.decode(ENCODINGS[encoding]), encoding
    except UnicodeDecodeError as err:
        line = data.count(b"\n", 0, err.start) + 1
        bad = data[err.start : err.start + 1]
        meant = bad.decode("cp1252", "replace")
        fix = "Save it as UTF-8."
        if encoding == "UTF-8" and meant != "\ufffd":
            fix = f"In Windows text (cp1252) it would be “{meant}”: choose that encoding, or save it as UTF-8."
        raise FileProblem(file, f"line {line}, byte {err.start + 1}", f"this is not {encoding} text", fix) from err


def _delimiter(text: str) -> str:
    bare = re.sub(r'"[^"]*"', "", text.lstrip("\r\n").partition("\n")[0])
    return max(DELIMITERS, key=bare.count)


def _csv(file: str, text: str, encoding: str, delimiter: str) -> Grid:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    heads: list[str] = []
    rows: list[list[Cell]] = []
    numbers: list[int] = []
    n = 0
    try:
        for n, cells in enumerate(reader, 1):
            if not any(cell.strip() for cell in cells):
                continue
            if not heads:
                heads = cells
                continue
            if len(rows) == MOST_ROWS:
                raise FileProblem(file, "", f"it has more than {MOST_ROWS:,} rows", CUT)
            rows.append([*map(str.strip, cells)])
            numbers.append(n)
    except csv.Error as err:
        raise FileProblem(file, f"row {n + 1}", f"this is no valid row ({err})", "Check its quotation marks; the file may be cut.") from err
    return Grid(file, _headings(heads), rows, numbers, encoding, delimiter)


def _headings(cells: Sequence[object]) -> tuple[str, ...]:
    found: list[str] = []
    for n, cell in enumerate(cells, 1):
        name = " ".join(str(cell if cell is not None else "").split()) or f"column {n}"
        twin, k = name, 2
        while twin in found:
            twin, k = f"{name} ({k})", k + 1
        found.append(twin)
    return tuple(found)


def _spreadsheet(file: str, data: bytes, sheet: str | None) -> Grid:
    fix = "Open it in a spreadsheet program and save it again as .xlsx, or as .csv."
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MOST_UNPACKED:
                raise FileProblem(file, "", f"it unpacks to more than {MOST_UNPACKED // 1_000_000} MB", CUT)
            formulas = any(
                _FORMULA.search(packed.read(part))
                for part in packed.namelist()
                if part.startswith("xl/worksheets/") and part.endswith(".xml")
            )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            names, name, rows = _values(data, sheet, True)
            meant = _values(data, sheet, False)[2] if formulas else None
    except FileProblem:
        raise
    except Exception as err:  # a damaged file fails in openpyxl in many ways
        raise FileProblem(file, "", "this is no whole .xlsx file", fix) from err
    if len(rows) > MOST_ROWS + 1:
        raise FileProblem(file, "", f"it has more than {MOST_ROWS:,} rows", CUT)
    cells: list[list[Cell]] = []
    numbers: list[int] = []
    heads: tuple[str, ...] = ()
    for n, row in enumerate(rows):
        made = [_cell(value, meant[n][k] if meant and k < len(meant[n]) else None) for k, value in enumerate(row)]
        while made and made[-1] is None:
            made.pop()
        if not made:
            continue
        if not heads:
            heads = _headings(made)
        else:
            cells.append(made + [None] * (len(heads) - len(made)))
            numbers.append(n + 1)
    if not heads:
        raise FileProblem(file, f"sheet “{name}”", "it is empty", "Choose another sheet; its first row names the columns.")
    return Grid(file, heads, cells, numbers, sheets=names, sheet=name)


def _values(data: bytes, sheet: str | None, values: bool) -> tuple[tuple[str, ...], str, list[tuple[object, ...]]]:
    """The sheets, the one that is read, and its rows: stored values, or what was entered (formulas as texts)."""
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(data), read_only=True, data_only=values, keep_links=False)
    try:
        names = tuple(str(one.title) for one in book.worksheets)
        name = sheet if sheet is not None and sheet in names else names[0]
        page = book[name]
        page.reset_dimensions()
        return names, name, list(page.iter_rows(max_row=MOST_ROWS + 2, values_only=True))
    finally:
        book.close()


def _cell(value: object, meant: object) -> Cell:
    if isinstance(value, str):
        text = value.strip()
        return NotComputed(text) if re.fullmatch(r"#(N/A|REF!|DIV/0!|VALUE!|NAME\?|NUM!|NULL!)", text) else text or None
    if isinstance(value, bool | datetime | date | time):
        return value
    if isinstance(value, int | float):
        return float(value)
    if value is None and isinstance(meant, str) and meant.startswith("="):
        return NotComputed(meant)
    return None if value is None else str(value)
