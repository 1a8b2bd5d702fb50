"""Killed in the middle, or written from many sides at once: every save is there whole, or not at all."""

import random
import sqlite3
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from fluidapp.errors import BadInput, RecordsProblem
from fluidapp.store import Save, kinds, open_store

pytestmark = pytest.mark.trust
SIZE = 6  # entries in a save

CHILD = """
import itertools, os, signal, sys
from datetime import UTC, datetime
from sqlalchemy import event
from fluidapp.store import NewEntry, Save, kinds, open_store

path, first, die_at = sys.argv[1], int(sys.argv[2]), sys.argv[3]
store = open_store(path)
now = datetime(2026, 5, 4, 18, tzinfo=UTC)
at = datetime(2026, 4, 1, tzinfo=UTC)

def die(*_):
    os.kill(os.getpid(), signal.SIGKILL)

def save(n):
    entries = [NewEntry(machine="ex-1", at=at, doc=kinds.LevelReading(node="tank", gauge="glass", level=n + i)) for i in range(4)]
    entries += [
        NewEntry(machine="ex-1", at=at, doc=kinds.Movement(from_node="outside", to_node="stock", volume_l=1 + n, purpose="stock")),
        NewEntry(machine="ex-1", at=at, doc=kinds.Shot(point="ring", strokes=1 + n % 1000)),
    ]
    return Save(id=f"save-{n}", entries=tuple(entries))

if die_at == "after commit":
    store.record(save(first), now_utc=now)
    die()
elif die_at == "commit":
    event.listen(store.engine, "commit", die)
elif die_at != "-":
    seen = itertools.count(1)
    event.listen(store.engine, "after_cursor_execute", lambda *_: next(seen) == int(die_at) and die())
for n in itertools.count(first):
    store.record(save(n), now_utc=now)
    print(n, flush=True)
"""


def check(path, acknowledged) -> set[int]:
    """The numbers of the stored saves, after looking that each is whole and every acknowledged one is there."""
    with sqlite3.connect(path) as conn:
        assert conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert conn.execute("PRAGMA foreign_key_check").fetchall() == []
        sizes = dict(conn.execute("SELECT save.id, count(entry.id) FROM save LEFT JOIN entry ON entry.save_id = save.id GROUP BY save.id"))
        assert set(sizes.values()) <= {SIZE}
        n = len(sizes)
        for table, each in (("reading", 4), ("movement", 1), ("shot", 1)):
            assert conn.execute(f"SELECT count(*) FROM {table}").fetchone() == (each * n,)
    conn.close()
    stored = {int(name.removeprefix("save-")) for name in sizes}
    assert set(acknowledged) <= stored
    return stored


def run(path, first, die_at):
    return subprocess.Popen([sys.executable, "-c", CHILD, str(path), str(first), die_at], stdout=subprocess.PIPE, text=True)


@pytest.mark.parametrize("die_at", ["2", "6", "8", "9", "commit", "after commit"])
def test_a_save_killed_at_this_statement_is_whole_or_not_there(store, tmp_path, die_at):
    path = tmp_path / "records.db"
    child = run(path, 1, die_at)
    said, _ = child.communicate(timeout=60)
    assert child.returncode == -9
    assert check(path, map(int, said.split())) == ({1} if die_at == "after commit" else set())


def test_a_save_that_was_killed_is_repeated_with_the_same_id(store, tmp_path):
    for die_at in ("commit", "after commit", "after commit"):
        run(tmp_path / "records.db", 1, die_at).communicate(timeout=60)
    assert check(tmp_path / "records.db", [1]) == {1}


def kill_at_random(path, times):
    rng = random.Random(4)
    acknowledged: list[int] = []
    for n in range(times):
        child = run(path, 1 + 100_000 * n, "-")
        acknowledged.append(int(child.stdout.readline()))
        time.sleep(rng.uniform(0, 0.1))
        child.kill()
        acknowledged += [int(word) for word in child.stdout.read().split("\n")[:-1]]
        child.wait()
        child.stdout.close()
    return acknowledged


def test_nothing_acknowledged_is_lost_when_killed_at_random(store, tmp_path):
    acknowledged = kill_at_random(tmp_path / "records.db", 4)
    assert len(acknowledged) >= 4
    check(tmp_path / "records.db", acknowledged)


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_when_killed_200_times(store, tmp_path):
    acknowledged = kill_at_random(tmp_path / "records.db", 200)
    assert len(acknowledged) >= 200
    check(tmp_path / "records.db", acknowledged)


def test_writers_at_once_lose_nothing(store, tmp_path, make):
    def write(worker: int) -> None:
        mine = open_store(tmp_path / "records.db")
        for n in range(12):
            doc = kinds.Note(text=f"{worker}-{n}")
            mine.record(Save(id=f"s-{worker}-{n}", entries=(make.entry(doc),)), now_utc=make.now)
            assert mine.entries("ex-1")

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(write, range(8)))
    assert {e.doc.text for e in store.entries()} == {f"{w}-{n}" for w in range(8) for n in range(12)}
    assert sorted(e.seq for e in store.entries()) == list(range(1, 97))


def test_the_same_save_from_many_sides_is_stored_once(store, make):
    save = Save(id="double tap", entries=(make.reading(), make.reading(213, 1)))
    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(lambda _: store.record(save, now_utc=make.now), range(8)))
    assert len({f.entry_ids for f in found}) == 1
    assert [f.repeated for f in found].count(False) == 1
    assert store.count() == 2


def test_two_voids_at_once_leave_one(store, put, make):
    (wrong,) = put(make.reading())
    start = threading.Barrier(4)

    def void(n: int) -> bool:
        start.wait()
        try:
            store.record(Save(id=f"v{n}", entries=(make.entry(kinds.Void(entry=wrong)),)), now_utc=make.now)
        except RecordsProblem:
            return False
        return True

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(void, range(4))) == [False, False, False, True]
    assert store.count() == 2


def test_two_meters_at_once_never_run_backwards(store, make):
    start = threading.Barrier(2)

    def read(n: int) -> bool | None:
        start.wait()
        try:
            store.record(Save(id=f"m{n}", entries=(make.entry(kinds.Meter(), n, 100.0 - n),)), now_utc=make.now)
        except BadInput as err:
            return "hour meter" in str(err)
        return None

    with ThreadPoolExecutor(2) as pool:
        assert sorted(pool.map(read, range(2)), key=str) == [None, True]  # one stored, one refused by name
