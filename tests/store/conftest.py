"""An invented machine, and records of it in a file of their own."""

import itertools
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from fluidapp.model import Gun, Machine, Product, Site
from fluidapp.store import NewEntry, Save, Store, kinds, open_store

NOW = datetime(2026, 5, 4, 18, tzinfo=UTC)
MACHINE = {
    "key": "ex-1",
    "label": "Excavator one",
    "compartments": [
        {
            "key": "tank",
            "label": "Hydraulic tank",
            "kind": "hydraulic tank",
            "body": {"shape": "box", "length": 1000.0, "width": 500.0, "height": 600.0},
            "gauges": [
                {"kind": "sight glass", "name": "glass", "at": (0.0, 0.0, 100.0)},
                {"kind": "percent", "name": "panel", "range_mm": 400.0, "at": (0.0, 0.0, 100.0)},
                {"kind": "sight glass", "name": "tube", "at": (0.0, 0.0, 100.0), "start_mm": 20.0, "end_mm": 350.0},
            ],
        },
        {
            "key": "slew",
            "label": "Slewing gearbox",
            "kind": "slewing gearbox",
            "fill": {"litres": 5.0, "reading": 40.0},
            "gauges": [{"kind": "stick", "name": "stick"}],
        },
    ],
    "baths": [{"key": "bath", "label": "Grease bath", "area_l_per_mm": 0.4}],
    "grease_points": [
        {"key": "ring", "label": "Slewing ring", "kind": "slew race", "limit_h": 100.0, "ring": {"nipples_deg": [0.0, 180.0]}}
    ],
}


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records with one excavator, one loader, two products, a gun: made once, copied for every test."""
    path = tmp_path_factory.mktemp("template") / "records.db"
    store = open_store(path)
    store.put(
        Site(key="pit", label="The pit"),
        Machine.model_validate(MACHINE),
        Machine.model_validate({"key": "wl-2", "label": "Loader two"}),
        Product(key="hyd", label="Hydraulic oil", kind="oil"),
        Product(key="grease", label="Grease", kind="grease"),
        Gun(key="gun-a", label="Hand gun A"),
        now_utc=NOW,
    )
    store.settle()
    return path


@pytest.fixture
def store(template: Path, tmp_path: Path) -> Store:
    """A copy of the template of its own."""
    return open_store(shutil.copyfile(template, tmp_path / "records.db"))


def at(day: float = 0.0) -> datetime:
    """A time, days after 1 April 2026 at 06:30 UTC."""
    return datetime(2026, 4, 1, 6, 30, tzinfo=UTC) + timedelta(days=day)


def reading(mm: float = 212.0, day: float = 0.0, meter_h: float | None = None, **more: Any) -> NewEntry:
    """A reading of the tank's glass."""
    doc = kinds.LevelReading(node="tank", gauge="glass", level=mm, as_read=f"{mm:g} mm", **more)
    return NewEntry(machine="ex-1", at=at(day), meter_h=meter_h, doc=doc)


def entry(doc: kinds.Doc, day: float = 0.0, meter_h: float | None = None, machine: str | None = "ex-1") -> NewEntry:
    """An entry on the excavator."""
    return NewEntry(machine=machine, at=at(day), meter_h=meter_h, doc=doc)


@pytest.fixture(scope="session")
def make() -> SimpleNamespace:
    """What the tests make entries with: now, at(day), reading(mm, day, meter_h), entry(doc, day, meter_h), machine (its fields)."""
    return SimpleNamespace(now=NOW, at=at, reading=reading, entry=entry, machine=MACHINE)


@pytest.fixture
def put(store: Store) -> Callable[..., tuple[str, ...]]:
    """Stores entries in one save; their ids."""
    made = itertools.count()

    def put(*entries: NewEntry) -> tuple[str, ...]:
        return store.record(Save(id=f"save-{next(made)}", entries=entries, by_name="Ann"), now_utc=NOW).entry_ids

    return put
