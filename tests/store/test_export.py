"""Everything out as readable files, and into empty records again: every table the same, the second export equal to the byte."""

import io
import shutil
import zipfile

import pytest
from sqlalchemy import select

from fluidapp.errors import FileProblem
from fluidapp.model import Machine, Product, Setting, Site
from fluidapp.store import NewEntry, Save, demo, kinds, open_store, schema
from fluidapp.store.export import export_files, export_folder, export_zip
from fluidapp.store.files import FilesProblem, load_files, load_folder, read_folder


def tables(store):
    """Every row of every table; of an entry's number only the order, which the export keeps."""
    found = {}
    with store.engine.connect() as conn:
        for table in schema.metadata.sorted_tables:
            columns = [c for c in table.c if c.name != "seq"]
            rows = [
                tuple(map(str, row))
                for row in conn.execute(select(*columns).order_by(*([table.c.seq] if "seq" in table.c else table.primary_key)))
            ]
            found[table.name] = rows
    return found


def again(files, tmp_path, now, name="again.db"):
    """Empty records with those files in them."""
    store = open_store(tmp_path / name)
    load_files(store, files, now_utc=now)
    return store


def test_the_demo_comes_back_the_same_and_exports_the_same_bytes(tmp_path):
    store = open_store(shutil.copyfile(demo.built(), tmp_path / "demo.db"))
    now = demo.demo_now(read_folder(demo.demo_folder()))
    files = export_files(store)
    other = again(files, tmp_path, now)
    assert other.count() == store.count() > 5000
    assert tables(other) == tables(store)
    assert export_files(other) == files
    assert load_files(other, files, now_utc=now).entries == 0
    assert tables(other) == tables(store)


@pytest.fixture
def eventful(store, make, put):
    """Records in which much happened: voids, a typo of the meter, twins, versions, odd texts, a machine off the lists."""
    put(make.reading(212.0, 0, 100.0, note="=1+1"), make.entry(kinds.Meter(), 0, 100.0))
    (typo,) = put(make.reading(210.0, 1, 99_999.0, note='\u2019 "quoted", two\nlines'))
    put(make.entry(kinds.Void(entry=typo, reason="-typo"), 1), make.reading(210.0, 1, 110.0))
    put(make.reading(205.0, 2, 120.0), make.reading(205.0, 2, 120.0))
    gone = {**make.machine, "compartments": [{**make.machine["compartments"][0], "gauges": [{"kind": "stick", "name": "dip"}]}]}
    store.put(Machine.model_validate(gone), now_utc=make.now.replace(hour=19), by="@Bea")
    store.put(
        Setting(key="costs", label="Costs", values={"km": 1.5, "own": True, "word": "=2"}),
        Product(key="old", label="Old", kind="oil"),
        now_utc=make.now,
    )
    store.archive("old")
    new = make.entry(kinds.LevelReading(node="tank", gauge="dip", level=310.0, as_read="310 mm"), 3, 130.0)
    later = make.now.replace(day=5)
    store.record(Save(id="login", entries=(new,), by_name=" +Cy ", by_login="cy"), now_utc=later)
    store.record(
        Save(
            id="many",
            entries=(
                make.entry(kinds.MeterChanged(old_end_h=131.0), 4, 0.5),
                make.entry(kinds.LevelReading(node="tank", gauge="dip", level=300.0, as_read="@300"), 4, 0.5),
                make.entry(
                    kinds.Movement(from_node="stock", to_node="tank", product="old", volume_l=0.1 + 0.2, u=1 / 3, purpose="top-up"), 4, 0.5
                ),
                make.entry(kinds.LevelReading(node="tank", gauge="dip", level=301.0, as_read="-301 mm"), 4, 0.5),
                make.entry(kinds.LevelReading(node="bath", level=19.51, depths_mm=(19.0, 20.0)), 4),
                make.entry(kinds.Shot(point="ring", swing_deg=-90.0, strokes=4.0, as_read="'=4"), 4),
                make.entry(kinds.Note(text='=HYPERLINK("x")'), 4, None, None),
                make.entry(kinds.Observation(seen="milky", product="unknown"), 4),
            ),
        ),
        now_utc=later,
    )
    return store, later


def test_an_eventful_history_comes_back_with_voids_versions_saves_and_order(eventful, tmp_path):
    store, now = eventful
    files = export_files(store)
    other = again(files, tmp_path, now)
    assert tables(other) == tables(store)
    assert export_files(other) == files


def test_a_day_plan_with_empty_values_inside_comes_back(store, put, make, tmp_path):
    put(make.entry(kinds.Plan(truck="truck", day="2026-04-01", data={"stops": [{"at": None}], "n": 1}), 0, None, None))
    assert tables(again(export_files(store), tmp_path, make.now)) == tables(store)


def test_a_second_site_comes_back(store, make, tmp_path):
    store.put(Site(key="zzz", label="Another"), now_utc=make.now)
    assert tables(again(export_files(store), tmp_path, make.now)) == tables(store)


def test_records_that_went_on_elsewhere_take_over_what_is_new_only(eventful, tmp_path):
    store, now = eventful
    other = again(export_files(store), tmp_path, now)
    new = NewEntry(machine="wl-2", at=now, doc=kinds.Note(text="later"))
    store.record(Save(id="later", entries=(new,)), now_utc=now)
    assert load_files(other, export_files(store), now_utc=now).entries == 1
    assert tables(other) == tables(store)


def test_an_older_export_does_not_bring_an_older_version_back(store, make, tmp_path):
    before = export_files(store)
    store.put(Machine.model_validate({"key": "wl-2", "label": "Renamed"}), now_utc=make.now)
    load_files(store, before, now_utc=make.now)
    assert store.machine("wl-2").label == "Renamed"


def test_no_cell_of_an_export_can_begin_a_formula(eventful):
    import csv

    store, _ = eventful
    seen = 0
    for name, data in export_files(store).items():
        if name.endswith(".csv"):
            for row in csv.reader(io.StringIO(data.decode(), newline="")):
                for cell in row:
                    assert not cell.lstrip().startswith(("=", "+", "@")), (name, cell)
                    assert not cell.startswith("-") or float(cell), (name, cell)
                    seen += cell.startswith("'")
    assert seen >= 5


@pytest.mark.parametrize(
    ("file", "change", "said"),
    [
        ("readings.csv", lambda data: data[: data.rindex(b"\n", 0, -1) + 1], "stand in none of the files"),
        ("saves.csv", lambda data: data.replace(b",form,", b",forms,", 1), "it is not as it was exported"),
        ("saves.csv", lambda data: data.replace(b"entry,save", b"save,entry", 1), "these are not its columns"),
        ("versions.toml", lambda data: data.replace(b"n = 1", b"n = 3", 1), "a version is missing"),
        ("versions.toml", lambda data: data.replace(b'made = "2', b'made = "x', 1), "it is not as it was exported"),
        ("machines/wl-2.toml", lambda data: b"", "the file is empty"),
        ("machines/wl-2.toml", None, "the file of this machine is missing"),
    ],
)
def test_an_export_that_was_damaged_is_named_and_nothing_is_stored(eventful, tmp_path, file, change, said):
    store, now = eventful
    files = export_files(store)
    if change is None:
        del files[file]
    else:
        assert change(files[file]) != files[file]
        files[file] = change(files[file])
    empty = open_store(tmp_path / "empty.db")
    with pytest.raises(FileProblem, match=said) as caught:
        load_files(empty, files, now_utc=now)
    assert (caught.value.problems[0] if isinstance(caught.value, FilesProblem) else caught.value).file in (
        file,
        "saves.csv",
        "versions.toml",
    )
    assert empty.count() == 0
    assert empty.machines() == []


def test_a_folder_is_written_once_and_reads_back_and_a_zip_holds_the_same(store, put, make, tmp_path):
    put(make.reading())
    names = export_folder(store, tmp_path / "out" / "site")
    with pytest.raises(FileProblem, match="not an empty folder"):
        export_folder(store, tmp_path / "out" / "site")
    assert read_folder(tmp_path / "out" / "site") == export_files(store)
    with zipfile.ZipFile(io.BytesIO(export_zip(store))) as packed:
        assert {name: packed.read(name) for name in packed.namelist()} == export_files(store)
    assert export_zip(store) == export_zip(store)
    assert "readings.csv" in names
    other = open_store(tmp_path / "other.db")
    assert load_folder(other, tmp_path / "out" / "site", now_utc=make.now).entries == 1
    assert list((tmp_path / "out").iterdir()) == [tmp_path / "out" / "site"]


def test_empty_records_export_nothing(tmp_path):
    assert export_files(open_store(tmp_path / "empty.db")) == {}
