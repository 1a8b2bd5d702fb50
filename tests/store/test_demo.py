"""The demo: invented and saying so, built once from its files, copied at each start, with its stories in it."""

import csv
import itertools
import shutil
import subprocess
import sys
from datetime import UTC, datetime

import pytest

from fluidapp.calc import level
from fluidapp.errors import FileProblem, RecordsProblem
from fluidapp.store import NewEntry, Save, demo, kinds
from fluidapp.store.files import read_folder


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    """A cache folder of these tests with the demo in it."""
    folder = tmp_path_factory.mktemp("cache")
    demo.built(cache=folder)
    return folder


@pytest.fixture(scope="module")
def quarry(cache, tmp_path_factory):
    """The demo's records, for reading only."""
    return demo.open_demo(tmp_path_factory.mktemp("quarry"), cache=cache)


def test_it_is_invented_and_says_so(quarry):
    site = quarry.site()
    assert site.invented
    assert site.today == "2026-09-30"
    assert "invented" in site.note
    assert all(machine.typical for machine in quarry.machines())


def test_it_holds_a_fleet_of_every_kind_in_less_than_a_megabyte(quarry):
    machines = quarry.machines()
    assert len(machines) == 12
    assert {m.class_t for m in machines if m.kind == "excavator"} == {5, 13, 20, 35, 50}
    assert {m.kind for m in machines} == {"excavator", "wheel loader", "crusher loader", "crawler loader", "drill"}
    tanks = [m.compartment("tank") for m in machines]
    assert {t.body.shape for t in tanks if t.body} == {"box", "section", "obround", "horizontal cylinder", "elliptical"}
    assert [m.key for m in machines if m.compartment("tank").pours] == ["gorse"]
    assert [m.key for m in machines if m.compartment("tank").table] == ["bracken"]
    assert sum(len(data) for data in read_folder(demo.demo_folder()).values()) < 1_000_000


def test_nothing_lies_after_its_day(quarry):
    now = demo.demo_now(read_folder(demo.demo_folder()))
    assert now == datetime(2026, 9, 30, 18, tzinfo=UTC)
    assert quarry.entries(limit=1)[0].at <= now


def test_every_reading_is_one_that_its_gauge_can_show(quarry):
    machines = {m.key: m for m in quarry.machines()}
    seen = 0
    for entry in quarry.entries(kinds="reading")[::5]:
        part = entry.doc.node.partition("/")[2]
        if part == "bath":
            continue
        found = level.volume(machines[entry.machine], part, entry.doc.reading())
        assert 0 < found.value_l <= found.capacity_l * 1.02
        seen += 1
    assert seen > 500


def test_it_is_built_once_for_the_same_files(cache):
    path = demo.built(cache=cache)
    made = path.stat().st_mtime_ns
    assert demo.built(cache=cache) == path
    assert path.stat().st_mtime_ns == made
    assert [p.name for p in cache.iterdir()] == [path.name]


@pytest.fixture
def small(tmp_path):
    """A small demo of its own."""
    folder = tmp_path / "files"
    folder.mkdir()
    (folder / "site.toml").write_text('[site]\nkey = "s"\nlabel = "S"\ntoday = "2026-09-30"\ninvented = true\n')
    return folder


def test_changed_files_are_built_anew_and_the_old_ones_go(small, tmp_path):
    first = demo.built(small, tmp_path / "cache")
    (small / "products.toml").write_text('[[product]]\nkey = "x"\nlabel = "X"\nkind = "oil"\n')
    second = demo.built(small, tmp_path / "cache")
    assert first != second
    assert list((tmp_path / "cache").iterdir()) == [second]


def test_two_processes_that_start_at_once_both_get_it(small, tmp_path):
    code = "import sys; from pathlib import Path; from fluidapp.store import demo; print(demo.built(*map(Path, sys.argv[1:])))"
    run = [
        subprocess.Popen([sys.executable, "-c", code, str(small), str(tmp_path / "c")], stdout=subprocess.PIPE, text=True) for _ in range(3)
    ]
    paths = {process.communicate(timeout=60)[0].strip() for process in run}
    assert [process.returncode for process in run] == [0, 0, 0]
    assert [str(p) for p in (tmp_path / "c").iterdir()] == list(paths)


def test_what_is_entered_in_one_copy_is_not_in_the_next(cache, tmp_path, make):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    a, before = demo.open_demo(tmp_path / "a", cache=cache), demo.open_demo(tmp_path / "b", cache=cache).count()
    note = NewEntry(machine="teasel", at=make.now, doc=kinds.Note(text="x"))
    a.record(Save(id="s", entries=(note,)), now_utc=datetime(2026, 9, 30, 18, tzinfo=UTC))
    assert a.count() == before + 1
    assert demo.open_demo(tmp_path / "b", cache=cache).count() == before


def test_missing_places_are_named(small, tmp_path, cache, monkeypatch):
    with pytest.raises(RecordsProblem, match="this folder does not exist"):
        demo.open_demo(tmp_path / "no", cache=cache)
    (tmp_path / "file").write_text("")
    with pytest.raises(RecordsProblem, match="the demo cannot be built here"):
        demo.built(small, tmp_path / "file")
    (small / "site.toml").write_text('[site]\nkey = "s"\nlabel = "S"\n')
    with pytest.raises(FileProblem, match="the demo needs a fixed day"):
        demo.built(small, tmp_path / "c")
    monkeypatch.setattr(demo, "__file__", str(tmp_path / "fluidapp" / "store" / "demo.py"))
    with pytest.raises(FileProblem, match="the demo's files are missing"):
        demo.demo_folder()


# the stories, as far as the bare records show them


def shown(quarry, machine, node, since):
    return [e.doc.level for e in reversed(quarry.entries(machine, "reading", node, since))]


def day(month, of_month):
    return datetime(2026, month, of_month, tzinfo=UTC)


def test_a_gearbox_fills_from_the_tank_and_the_bath_gains(quarry):
    stick = shown(quarry, "teasel", "slew", day(6, 1))
    assert stick[0] < 50 < 90 < stick[-1]
    before, after = (quarry.last_reading("teasel", "bath", until=at).doc.level for at in (day(8, 1), day(9, 30)))
    assert after - before > 4
    for healthy in ("tansy", "yarrow", "juniper", "fennel"):
        assert max(shown(quarry, healthy, "slew", day(1, 1))) < 52


def test_one_ring_position_was_left_out_since_spring(quarry):
    for machine in ("juniper", "yarrow", "tansy"):
        swings = {e.doc.swing_deg for e in quarry.shots(machine, "ring", since=day(5, 11))}
        assert swings == ({0, 90, 270} if machine == "juniper" else {0, 90, 180, 270})
    assert 180 in {e.doc.swing_deg for e in quarry.shots("juniper", "ring")}


def test_one_final_drive_runs_over(quarry):
    over = {(e.machine, e.doc.node.partition("/")[2]) for e in quarry.entries(kinds="reading") if e.doc.bound == "at least"}
    assert over == {("fennel", "drive-right")}


def test_one_loader_drinks_more_than_it_did(quarry):
    poured = [(m.at, m.volume_l) for m in quarry.movements("mallow", node="tank", purposes=["top-up"])]
    early, late = (
        sum(v for at, v in poured if a <= at < b) for a, b in ((datetime(2025, 9, 1, tzinfo=UTC), day(4, 20)), (day(4, 20), day(10, 1)))
    )
    assert late > 2 * early * (163 / 231)  # days


def test_one_tank_was_filled_in_the_wrong_posture(quarry):
    high = quarry.machine("burdock").compartment("tank").gauges[0].bands[0].high
    assert shown(quarry, "burdock", "tank", day(9, 24))[-1] > high
    for machine in quarry.machines():
        gauge = machine.compartment("tank").gauges[0]
        if machine.key != "burdock":
            assert quarry.last_reading(machine.key, "tank", gauge.name).doc.level <= gauge.bands[0].high


def test_hours_go_on_over_the_new_meter(quarry):
    points = quarry.meter_points("gorse")
    assert {p.segment for p in points} == {0, 1}
    assert all(0 <= b.total_h - a.total_h < 60 for a, b in itertools.pairwise(points))
    assert min(p.meter_h for p in points) == 0
    assert {p.segment for p in quarry.meter_points("teasel")} == {0}


# the maker of the files


@pytest.fixture
def maker(root, monkeypatch):
    """The modules that write the demo."""
    if not (root / "demo" / "make_quarry.py").is_file():
        pytest.skip("the maker is not installed with the package")
    monkeypatch.syspath_prepend(str(root / "demo"))
    from maker import fleet, stories, year

    return fleet.fleet(), stories.STORIES, year.live


def test_the_seed_gives_one_machines_rows_again(maker, root):
    machines, stories, live = maker
    book = live([doc for doc in machines if doc["key"] == "sorrel"], stories)
    with (root / "demo" / "quarry" / "readings.csv").open(encoding="utf-8", newline="") as file:
        kept = [row for row in csv.DictReader(file) if row["machine"] == "sorrel"]
    made = [{column: str(row.get(column, "")) for column in kept[0]} for row in book.readings]
    assert made == kept


@pytest.mark.slow
def test_the_seed_gives_every_file_again(maker, root, tmp_path):
    subprocess.run([sys.executable, str(root / "demo" / "make_quarry.py"), str(tmp_path / "again")], check=True)
    assert read_folder(tmp_path / "again") == read_folder(root / "demo" / "quarry")
    shutil.rmtree(tmp_path / "again")
