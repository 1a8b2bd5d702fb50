"""Every edit is a version of its own, and an entry keeps the one it was read with."""

import datetime
from pathlib import Path

from fluidapp.model import Machine
from fluidapp.store import NewEntry, Save, kinds, open_store

AT = datetime.datetime(2026, 3, 2, 6, 30, tzinfo=datetime.UTC)
TANK = {
    "key": "tank", "label": "Tank", "kind": "hydraulic tank", "table": [[0.0, 0.0], [400.0, 140.0]],
    "gauges": [{"kind": "stick", "name": "stick", "end_mm": 400.0}],
}  # fmt: skip


def test_versions_are_counted_with_their_maker_and_an_old_reading_keeps_its_own(tmp_path: Path) -> None:
    store = open_store(tmp_path / "records.db")
    first = Machine.model_validate({"key": "ex", "label": "Old name", "compartments": [TANK]})
    store.put(first, now_utc=AT, by="Ada")
    reading = kinds.LevelReading(node="tank", gauge="stick", level=200.0, as_read="200 mm")
    store.record(Save(id="s", entries=(NewEntry(machine="ex", at=AT, doc=reading),)), now_utc=AT)
    second = first.model_copy(update={"label": "New name"})
    later = AT + datetime.timedelta(days=1)
    store.put(second, now_utc=later, by="Bo")
    store.put(second, now_utc=later, by="Bo")  # nothing changed: no version
    found = store.versions("ex")
    assert [(v.n, v.by, v.made) for v in found] == [(2, "Bo", later), (1, "Ada", AT)]
    (entry,) = store.entries("ex", "reading")
    assert entry.version_id == found[1].id
    assert store.version(entry.version_id) == first
    assert store.machine("ex") == second
    assert store.versions("nobody") == []
