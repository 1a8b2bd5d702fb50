"""Taking in a table of 100,000 readings: seconds and memory, CSV and spreadsheet. Run: python -m tests.benchmarks.bench_intake

All data are invented: 40 machines, an hour meter that runs forwards, a reading every 20 minutes.
"""

import datetime
import io
import resource
import sys
import tempfile
import time
from pathlib import Path

from openpyxl import Workbook

from fluidapp.model import Machine
from fluidapp.store import Store, open_store
from fluidapp.store.grid import read_grid
from fluidapp.store.intake import preview, store_table
from fluidapp.store.wanted import Columns

START = datetime.datetime(2021, 1, 1, 6, 0, tzinfo=datetime.UTC)
NOW = datetime.datetime(2026, 5, 4, tzinfo=datetime.UTC)
HEADS = ("Date", "Machine", "Hours", "Compartment", "Gauge", "Level (mm)", "Remarks")
FIELDS = ("time", "machine", "meter_h", "node", "gauge", "reading", "note")
MACHINES = 40
SAID = Columns(
    "readings",
    dict(zip(FIELDS, HEADS, strict=True)),
    {"meter_h": "h", "reading": "mm"},
    decimal="point",
    dates="year first",
)


def records(folder: Path, name: str) -> Store:
    """Records with the machines."""
    store = open_store(folder / name)
    gauge = {"kind": "stick", "name": "dip"}
    tank = {"key": "tank", "label": "Tank", "kind": "hydraulic tank", "gauges": [gauge], "fill": {"litres": 300.0, "reading": 200.0}}
    made = ({"key": f"m{n}", "label": f"Machine {n}", "compartments": [tank]} for n in range(MACHINES))
    store.put(*map(Machine.model_validate, made), now_utc=START)
    return store


def rows(n: int) -> list[tuple[object, ...]]:
    """Rows as a spreadsheet has them."""
    return [
        (
            (START + datetime.timedelta(minutes=20 * k)).replace(tzinfo=None), f"m{k % MACHINES}", 100 + k / 100, "tank", "dip",
            100 + k % 150 + 0.5, f"row {k}",
        )
        for k in range(n)
    ]  # fmt: skip


def measure(n: int, kind: str, folder: Path) -> str:
    """Seconds of reading, preview and storing, and the peak of this process so far."""
    if kind == "csv":
        lines = ["\t".join(HEADS), *("\t".join(str(cell) for cell in row) for row in rows(n))]
        name, data = "mine.csv", "\n".join(lines).encode()
    else:
        book = Workbook(write_only=True)
        page = book.create_sheet()
        page.append(HEADS)
        for row in rows(n):
            page.append(row)
        out = io.BytesIO()
        book.save(out)
        name, data = "mine.xlsx", out.getvalue()
    store = records(folder, f"{kind}.db")
    before = peak_mb()
    start = time.perf_counter()
    grid = read_grid(name, data)
    read = time.perf_counter()
    found = preview(store, grid, SAID, now_utc=NOW, place=lambda at: at.replace(tzinfo=datetime.UTC))
    looked = time.perf_counter()
    assert not found.problems, found.problems[0]
    assert store_table(store, found, now_utc=NOW) == n
    stored = time.perf_counter()
    again = preview(store, grid, SAID, now_utc=NOW, place=lambda at: at.replace(tzinfo=datetime.UTC))
    assert (again.new, again.already) == (0, n)
    return (
        f"{n:,} rows, {kind} ({len(data) / 1e6:.1f} MB): read {read - start:.1f} s, preview {looked - read:.1f} s, "
        f"store {stored - looked:.1f} s, look again {time.perf_counter() - stored:.1f} s; memory {before:.0f} -> {peak_mb():.0f} MB"
    )


def peak_mb() -> float:
    """The most memory this process has had [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Prints a line for each kind of file."""
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        for kind in ("csv", "xlsx"):
            print(measure(n, kind, Path(folder)), flush=True)


if __name__ == "__main__":
    main()
