"""Tables with a known verdict: good ones in many spellings, and ones spoilt in one known way. All data are invented.

A verdict is the set of rows that must be named (empty: clean), or "file" where the file as a whole cannot be read, or "unsaid" where a
column is missing. ``truth`` are the figures that a clean file must give, worked out here: 1 US gal = 3.785411784 L (231 cubic inches of
25.4 mm, by definition), °F = 1.8 °C + 32.
"""

import csv
import io
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from openpyxl import Workbook

from fluidapp.store.grid import Encoding
from fluidapp.store.wanted import Columns

HEADS = {
    "time": ("Date", "date / time", "When"), "machine": ("Machine", "Unit no", "MACHINE NAME"), "meter_h": ("Hours", "Hour meter"),
    "node": ("Compartment", "Tank", "component"), "amount": ("Quantity", "Amount", "Volume"), "reading": ("Level", "Reading"),
    "oil_c": ("Oil temp", "Temperature"), "note": ("Remarks", "Note"), "point": ("Grease point", "Fitting"),
    "strokes": ("Strokes", "Pumps"),
    "task": ("Work done", "Service"), "gauge": ("Gauge",), "product": ("Oil type", "Product"),
}  # fmt: skip
TABLES = {
    "top-ups": ("time", "machine", "meter_h", "node", "product", "amount", "oil_c", "note"),
    "drains": ("time", "machine", "meter_h", "node", "product", "amount", "oil_c", "note"),
    "readings": ("time", "machine", "meter_h", "node", "gauge", "reading", "oil_c", "note"),
    "shots": ("time", "machine", "meter_h", "point", "strokes", "note"),
    "services": ("time", "machine", "meter_h", "task", "node", "note"),
}
FIGURE = {"top-ups": "amount", "drains": "amount", "readings": "reading", "shots": "strokes", "services": "meter_h"}
LITRES = {"L": 1.0, "US gal": 3.785411784, "mL": 0.001}
MM = {"mm": 1.0, "in": 25.4, "cm": 10.0}
DATES = {
    "year first": ("%Y-%m-%d %H:%M",),
    "day first": ("%d.%m.%Y %H:%M", "%d/%m/%Y %H:%M", "%d-%m-%Y %I:%M %p"),
    "month first": ("%m/%d/%Y %H:%M", "%m/%d/%Y %I:%M %p"),
}


@dataclass
class Made:
    """A file, how it is said to be written, and what must come of it."""

    name: str
    data: bytes
    said: Columns
    verdict: Any = frozenset()
    encoding: Encoding | None = None
    how: str = ""
    truth: list[dict[str, Any]] = field(default_factory=list)


@dataclass
class Base:
    """A good table before it is written: cells as texts, and as values for a spreadsheet."""

    rng: random.Random
    table: str
    heads: dict[str, str]
    rows: list[dict[str, str]]
    values: list[dict[str, Any]]
    said: Columns
    truth: list[dict[str, Any]]
    delimiter: str

    @property
    def figure(self) -> str:
        return FIGURE[self.table]

    def csv(self, quote_all: bool = False, end: str = "\n") -> str:
        out = io.StringIO(newline="")
        writer = csv.writer(out, delimiter=self.delimiter, lineterminator=end, quoting=csv.QUOTE_ALL if quote_all else csv.QUOTE_MINIMAL)
        writer.writerow(self.heads.values())
        writer.writerows([row[name] for name in self.heads] for row in self.rows)
        return out.getvalue()

    def other_mark(self, text: str) -> str:
        return text.replace(".", ",") if self.said.decimal == "point" else text.replace(",", ".")


def base(rng: random.Random) -> Base:
    """A table that is good: 3 to 7 rows, one machine, an hour meter that runs forwards."""
    table = rng.choice(list(TABLES))
    names = list(TABLES[table])
    rng.shuffle(names)
    decimal, dates, style = rng.choice(("point", "comma")), *(chosen := rng.choice(list(DATES.items())))[:1], rng.choice(chosen[1])
    liquid, long, temp = rng.choice(list(LITRES)), rng.choice(list(MM)), rng.choice(("°C", "°F"))
    units = {"meter_h": "h", "amount": liquid, "reading": long, "oil_c": temp, "strokes": "strokes"}
    at, hours = datetime(2026, 4, rng.randint(1, 4), 6, 30), 5000.5
    rows, values, truth = [], [], []
    for _ in range(rng.randint(3, 7)):
        at += timedelta(hours=rng.randint(10, 40), minutes=rng.randint(0, 59))
        hours = round(hours + rng.randint(1, 30) + 0.2, 2)  # never a whole number: every spelling has its mark
        litres, mm, celsius, strokes = (
            rng.randint(160, 600) + 0.5,
            rng.randint(30, 300) + 0.5,
            rng.randint(15, 60) + 0.5,
            rng.randint(1, 20) + 0.5,
        )
        figures = {
            "meter_h": hours,
            "amount": round(litres / LITRES[liquid], 4),
            "reading": round(mm / MM[long], 4),
            "oil_c": round(celsius if temp == "°C" else celsius * 1.8 + 32, 1),
            "strokes": strokes,
        }
        value = {
            "time": at, "machine": rng.choice(("ex-1", "Excavator one", "EX-1")), "gauge": "tube",
            "node": rng.choice(("tank", "Hydraulic tank")),
            "product": rng.choice(("hyd", "hydraulic oil")), "point": rng.choice(("ring", "Slewing ring")), "task": "filter, changed",
            "note": rng.choice(("", "ok", "dark; thin", "=1+1", "@here", "-", "+", '=HYPERLINK("x")', "Öl")), **figures,
        }  # fmt: skip
        spell = {name: f"{figure:.10g}" for name, figure in figures.items()}
        spell = {name: text.replace(".", ",") if decimal == "comma" else text for name, text in spell.items()}
        rows.append({name: spell.get(name, at.strftime(style) if name == "time" else str(value[name])) for name in names})
        values.append({name: value[name] for name in names})
        truth.append(
            {
                "at": at, "meter_h": hours, "volume_l": figures["amount"] * LITRES[liquid], "level": figures["reading"] * MM[long],
                "temp_c": figures["oil_c"] if temp == "°C" else (figures["oil_c"] - 32) / 1.8, "strokes": strokes, "note": value["note"],
            }
        )  # fmt: skip
    heads = {name: rng.choice(HEADS[name]) for name in names}
    delimiter = rng.choice((";", "\t", ",") if decimal == "point" else (";", "\t"))
    said = Columns(table, dict(heads), {n: u for n, u in units.items() if n in heads}, {}, decimal, dates)  # type: ignore[arg-type]
    return Base(rng, table, heads, rows, values, said, truth, delimiter)


def _file(
    b: Base, verdict: Any, *, encoding: Encoding | None = None, text: str | None = None, data: bytes | None = None, **more: Any
) -> Made:
    body = data if data is not None else (text if text is not None else b.csv()).encode()
    return Made("mine.csv", body, more.get("said", b.said), verdict, encoding, truth=b.truth if verdict == frozenset() else [])


def _some(b: Base) -> int:
    return b.rng.randrange(len(b.rows))


def _set(b: Base, name: str, text: str, row: int | None = None) -> Made:
    """One cell replaced by what cannot be used."""
    k = _some(b) if row is None else row
    b.rows[k][name] = text
    return _file(b, frozenset({k + 2}))


def plain(b: Base) -> Made:
    return _file(b, frozenset())


def bom(b: Base) -> Made:
    return _file(b, frozenset(), data=b"\xef\xbb\xbf" + b.csv().encode())


def utf16(b: Base) -> Made:
    return _file(b, frozenset(), data=b.rng.choice((b"\xff\xfe" + b.csv().encode("utf-16-le"), b"\xfe\xff" + b.csv().encode("utf-16-be"))))


def utf16_without_mark(b: Base) -> Made:
    return _file(b, "file", data=b.csv().encode("utf-16-le"))


def windows_said(b: Base) -> Made:
    return _file(b, frozenset(), data=b.csv().encode("cp1252"), encoding="Windows (cp1252)")


def windows_not_said(b: Base) -> Made:
    b.rows[0]["note"] = "Öl, trüb"
    return _file(b, "file", data=b.csv().encode("cp1252"))


def line_ends(b: Base) -> Made:
    return _file(b, frozenset(), text=b.csv(end="\r\n"))


def all_quoted(b: Base) -> Made:
    return _file(b, frozenset(), text=b.csv(quote_all=True))


def blank_lines(b: Base) -> Made:
    return _file(b, frozenset(), text=b.csv() + "\n" + b.delimiter * (len(b.heads) - 1) + "\n\n")


def spreadsheet(b: Base) -> Made:
    book = Workbook()
    page = book.active
    page.append(list(b.heads.values()))
    for row in b.values:
        page.append([None if row[name] == "" else row[name] for name in b.heads])
        for cell in page[page.max_row]:
            if isinstance(cell.value, str):
                cell.data_type = "s"  # "=1+1" as a text, not as a formula
    return _book(b, book, frozenset())


def spreadsheet_formula(b: Base) -> Made:
    """A formula in a number column that no program has computed."""
    book = Workbook()
    page = book.active
    page.append(list(b.heads.values()))
    for row in b.values:
        page.append([None if str(row[name]).startswith("=") else row[name] for name in b.heads])
    k = _some(b)
    page.cell(k + 2, list(b.heads).index(b.figure) + 1).value = "=10+2.5"
    return _book(b, book, frozenset({k + 2}))


def _book(b: Base, book: Workbook, verdict: Any) -> Made:
    out = io.BytesIO()
    book.save(out)
    data = out.getvalue()
    return Made("mine.xlsx", data, b.said, verdict, truth=b.truth if verdict == frozenset() else [])


def spreadsheet_cut(b: Base) -> Made:
    made = spreadsheet(b)
    return Made("mine.xlsx", made.data[: len(made.data) * b.rng.randint(10, 90) // 100], b.said, "file")


def cut_between_cells(b: Base) -> Made:
    """The last row loses some of its cells."""
    b.rows[-1]["note"] = "ok"
    text = b.csv()
    start = text.rindex("\n", 0, -1) + 1
    ends = [k for k in range(start, len(text)) if text[k] == b.delimiter and text.count('"', start, k) % 2 == 0]
    return _file(b, frozenset({len(b.rows) + 1}), text=text[: b.rng.choice(ends)])


def cut_in_quotes(b: Base) -> Made:
    b.rows = [{**row, "note": "ok"} for row in b.rows]
    text = b.csv(quote_all=True)
    return _file(b, "file", text=text[: text.rindex(b.delimiter) + 3])


def broken_quote(b: Base) -> Made:
    b.rows = [{**row, "note": "ok"} for row in b.rows]
    text = b.csv()
    at = text.index("\n") + 1
    return _file(b, "file", text=f'{text[:at]}"x"y{b.delimiter}{text[at:]}')


def null_byte(b: Base) -> Made:
    return _file(b, "file", data=b.csv().encode().replace(b"\n", b"\n\0", 1))


def nothing(b: Base) -> Made:
    return _file(b, "file", text=b.rng.choice(("", "\n\n", " ")))


def cell_too_many(b: Base) -> Made:
    lines = b.csv(quote_all=True).splitlines()
    k = _some(b)
    lines[k + 1] += f"{b.delimiter}more"
    return _file(b, frozenset({k + 2}), text="\n".join(lines) + "\n")


def heading_missing(b: Base) -> Made:
    gone = b.heads.pop(b.rng.choice(("time", "machine")))
    left = {n: h for n, h in b.said.columns.items() if h != gone}
    said = Columns(b.table, left, b.said.units, {}, b.said.decimal, b.said.dates)
    return _file(b, "unsaid", said=said)


def columns_moved(b: Base) -> Made:
    """Headings and cells together: nothing is wrong."""
    b.heads = dict(b.rng.sample(list(b.heads.items()), len(b.heads)))
    return _file(b, frozenset())


def columns_swapped(b: Base) -> Made:
    """The cells under two headings change places."""
    one, other = b.rng.choice((("machine", "time"), ("machine", b.figure), ("time", b.figure), ("time", "note"), ("meter_h", "machine")))
    b.rows = [{**row, "note": "ok"} for row in b.rows]
    b.rows = [{**row, one: row[other], other: row[one]} for row in b.rows]
    return _file(b, frozenset(range(2, len(b.rows) + 2)))


def litres_and_degrees_swapped(b: Base) -> Made:
    if b.figure != "amount" or b.said.units["amount"] == "US gal":
        return columns_swapped(b)
    b.rows = [{**row, "amount": row["oil_c"], "oil_c": row["amount"]} for row in b.rows]
    hot = 150 if b.said.units["oil_c"] == "°C" else 302
    figures = [float(row["oil_c"].replace(",", ".")) for row in b.rows]
    return _file(b, frozenset(k + 2 for k, figure in enumerate(figures) if figure > hot))


def other_mark_in_a_row(b: Base) -> Made:
    k = _some(b)
    b.rows[k]["meter_h"] = b.other_mark(b.rows[k]["meter_h"])
    return _file(b, frozenset({k + 2}))


def other_mark_said(b: Base) -> Made:
    said = Columns(b.table, b.said.columns, b.said.units, {}, "comma" if b.said.decimal == "point" else "point", b.said.dates)
    return _file(b, frozenset(range(2, len(b.rows) + 2)), said=said)


def thousands(b: Base) -> Made:
    return _set(b, "meter_h", b.rng.choice(("5,100.5", "5.100,5", "5 100.5", "5'100")))


def other_dates_said(b: Base) -> Made:
    others = {"year first": ("day first", "month first"), "day first": ("year first",), "month first": ("year first",)}[str(b.said.dates)]
    said = Columns(b.table, b.said.columns, b.said.units, {}, b.said.decimal, b.rng.choice(others))  # type: ignore[arg-type]
    return _file(b, frozenset(range(2, len(b.rows) + 2)), said=said)


def day_and_month_swapped(b: Base) -> Made:
    """Day first where month first was said, and the other way: rows that have no such day, or lie in the future, are named."""
    if b.said.dates == "year first":
        return other_dates_said(b)
    for row, value in zip(b.rows, b.values, strict=True):
        row["time"] = value["time"].replace(day=value["time"].day % 12 + 13).strftime(DATES[str(b.said.dates)][0])
    said = Columns(b.table, b.said.columns, b.said.units, {}, b.said.decimal, "month first" if b.said.dates == "day first" else "day first")
    return _file(b, frozenset(range(2, len(b.rows) + 2)), said=said)


def no_such_day(b: Base) -> Made:
    text = {"year first": "2026-02-30 06:30", "day first": "30.02.2026 06:30", "month first": "02/30/2026 06:30"}[str(b.said.dates)]
    return _set(b, "time", text)


def odd_time(b: Base) -> Made:
    return _set(b, "time", b.rng.choice(("", "soon", "4.5.26 06:30", "46146", "2026-05", "12", "1.4.2026 25:00", "=NOW()")))


def date_alone(b: Base) -> Made:
    k = _some(b)
    b.rows[k]["time"] = b.rows[k]["time"].split(" ")[0]
    return _file(b, frozenset({k + 2}))


def in_the_future(b: Base) -> Made:
    return _set(b, "time", datetime(2031, 3, 5, 6, 30).strftime(DATES[str(b.said.dates)][0]))


def formula_in_a_number(b: Base) -> Made:
    return _set(b, b.rng.choice((b.figure, "meter_h")), b.rng.choice(("=12+1", "=A1", "+A1", "@SUM(A1)", "-A1", "=1")))


def no_number(b: Base) -> Made:
    return _set(b, b.rng.choice((b.figure, "meter_h")), b.rng.choice(("NaN", "inf", "1e3", "12 L", "ten", "--5", "1/0", "0x10", "−", "%")))


def unknown_machine(b: Base) -> Made:
    return _set(b, "machine", b.rng.choice(("ex-9", "Excavator", "", "hyd", "tank")))


def unknown_part(b: Base) -> Made:
    return _set(b, "point" if b.table == "shots" else "node", b.rng.choice(("tunk", "engine", "glass", "wl-2/tank")))


def impossible(b: Base) -> Made:
    if b.table in ("services", "shots"):
        return _set(b, "meter_h" if b.table == "services" else "strokes", "-5")
    return _set(b, b.figure, b.rng.choice(("-5", "999999")))


def meter_backwards(b: Base) -> Made:
    return _set(b, "meter_h", "4000", b.rng.randrange(1, len(b.rows)))


def two_rows(b: Base) -> Made:
    """Two rows, each with something else: both are named."""
    k, m = b.rng.sample(range(len(b.rows)), 2)
    b.rows[k]["machine"], b.rows[m]["meter_h"] = "nobody", "x"
    return _file(b, frozenset({k + 2, m + 2}))


MUTATIONS: list[Callable[[Base], Made]] = [
    plain, bom, utf16, utf16_without_mark, windows_said, windows_not_said, line_ends, all_quoted, blank_lines, spreadsheet,
    spreadsheet_formula, spreadsheet_cut, cut_between_cells, cut_in_quotes, broken_quote, null_byte, nothing, cell_too_many,
    heading_missing, columns_moved, columns_swapped, litres_and_degrees_swapped, other_mark_in_a_row, other_mark_said, thousands,
    other_dates_said, day_and_month_swapped, no_such_day, odd_time, date_alone, in_the_future, formula_in_a_number,
    no_number, unknown_machine, unknown_part, impossible, meter_backwards, two_rows,
]  # fmt: skip


def made(n: int) -> Made:
    """The n-th file: the mutations take turns, the rest is drawn with ``n`` as seed."""
    mutation = MUTATIONS[n % len(MUTATIONS)]
    found = mutation(base(random.Random(n)))
    found.how = f"{n} {mutation.__name__}"
    return found
