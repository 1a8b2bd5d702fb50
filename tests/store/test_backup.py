"""Backup and restore: one consistent state while others write, nothing overwritten unasked, the former records kept."""

import sqlite3
import threading
from datetime import UTC, datetime

import pytest

from fluidapp import cli
from fluidapp.errors import FileProblem, RecordsProblem
from fluidapp.store import Save, open_store
from fluidapp.store.backup import backup, restore
from tests.test_cli import run

NOW = datetime(2026, 5, 4, 18, tzinfo=UTC)


def test_a_backup_taken_while_somebody_writes_holds_whole_saves(store, make, tmp_path):
    stop = threading.Event()

    def write():
        n = 0
        while not stop.is_set():
            pair = (make.reading(200.0, n / 1000), make.reading(201.0, n / 1000))
            store.record(Save(id=f"s{n}", entries=pair), now_utc=make.now)
            n += 1

    writer = threading.Thread(target=write)
    writer.start()
    counts = []
    try:
        for n in range(5):
            copy = open_store(backup(store, tmp_path / f"b{n}.db"))
            counts.append(copy.count())
    finally:
        stop.set()
        writer.join()
    assert counts == sorted(counts)
    assert counts[-1] > counts[0]
    assert all(count % 2 == 0 for count in counts)
    assert store.count() >= counts[-1]


def test_a_backup_is_one_file_and_never_overwrites(store, put, make, tmp_path):
    put(make.reading())
    folder = tmp_path / "out"
    folder.mkdir()
    backup(store, folder / "b.db")
    assert [p.name for p in folder.iterdir()] == ["b.db"]
    with pytest.raises(FileProblem, match="exists already"):
        backup(store, folder / "b.db")
    with pytest.raises(FileProblem, match="does not exist"):
        backup(store, tmp_path / "no" / "b.db")


def test_a_restore_keeps_what_was_there_and_works_under_an_open_store(store, put, make, tmp_path):
    put(make.reading())
    kept = backup(store, tmp_path / "b.db")
    put(make.reading(213.0, 1))
    with pytest.raises(RecordsProblem, match="there are records already"):
        restore(kept, store.where, NOW)
    assert store.count() == 2
    place, former = restore(kept, store.where, NOW, replace=True)
    assert str(place) == store.where
    assert store.count() == 1
    assert open_store(former).count() == 2
    assert former.name == "records-before-20260504-180000.db"
    put(make.reading(214.0, 2))  # it goes on
    assert store.count() == 2


def test_a_restore_into_an_empty_place_needs_no_word(store, put, make, tmp_path):
    put(make.reading())
    place, former = restore(backup(store, tmp_path / "a b%20#?é.db"), tmp_path / "new.db", NOW)  # any name that the disk takes
    assert former is None
    assert open_store(place).count() == 1


def test_damaged_records_can_be_replaced_and_are_kept(store, put, make, tmp_path):
    put(make.reading())
    kept = backup(store, tmp_path / "b.db")
    bad = tmp_path / "bad.db"
    bad.write_bytes(b"nothing of the kind" * 100)
    place, former = restore(kept, bad, NOW, replace=True)
    assert open_store(place).count() == 1
    assert former.read_bytes().startswith(b"nothing of the kind")


def newer(path):
    with sqlite3.connect(path) as conn:
        conn.execute("UPDATE alembic_version SET version_num = 'r9999'")
    conn.close()


def cut(path):
    path.write_bytes(path.read_bytes()[:20_000])


def scribbled(path):
    data = bytearray(path.read_bytes())
    data[4096 * 3 : 4096 * 3 + 600] = b"\xff" * 600
    path.write_bytes(data)


def foreign(path):
    path.unlink()
    with sqlite3.connect(path) as conn:
        conn.execute("CREATE TABLE recipes (x)")
    conn.close()


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (newer, "a newer fluidapp wrote them"),
        (cut, "damaged"),
        (scribbled, "damaged"),
        (foreign, "it holds other tables"),
        (lambda path: path.write_text("text"), "it is no backup"),
        (lambda path: path.write_bytes(b""), "there are no records in it"),
        (lambda path: path.unlink(), "there is no such file"),
    ],
)
def test_what_is_no_whole_backup_is_refused_and_the_records_stay(store, put, make, tmp_path, spoil, said):
    put(make.reading())
    kept = backup(store, tmp_path / "b.db")
    spoil(kept)
    with pytest.raises(FileProblem, match=said):
        restore(kept, store.where, NOW, replace=True)
    assert store.count() == 1
    assert not list(tmp_path.glob("*before*"))


def test_records_cannot_be_restored_from_themselves(store):
    with pytest.raises(FileProblem, match="the records in use"):
        restore(store.where, store.where, NOW, replace=True)


def test_the_commands_go_round(store, put, make, tmp_path, monkeypatch):
    put(make.reading())
    monkeypatch.setenv("FLUIDAPP_DB", store.where)
    monkeypatch.setattr(cli, "now", lambda: NOW)
    for args in (("backup", str(tmp_path / "b.db")), ("export", str(tmp_path / "site"))):
        found = run(*args)
        assert found.exit_code == 0, found.output
        assert found.output.startswith("Written: ")
        again = run(*args)
        assert again.exit_code == 2
        assert len(again.output.splitlines()) == 1
        assert again.output.startswith("Error: ")
    refused = run("restore", str(tmp_path / "b.db"))
    assert (refused.exit_code, len(refused.output.splitlines())) == (2, 1)
    assert "--replace" in refused.output
    done = run("restore", str(tmp_path / "b.db"), "--replace")
    assert done.exit_code == 0, done.output
    assert "kept as" in done.output
    monkeypatch.setenv("FLUIDAPP_DB", str(tmp_path / "empty.db"))
    loaded = run("load", str(tmp_path / "site"))
    assert "1 new entries" in loaded.output, loaded.output


@pytest.mark.parametrize("command", ["export", "backup", "restore", "load"])
def test_help_has_an_example(command):
    found = run(command, "--help")
    assert found.exit_code == 0
    assert f"Example: fluidapp {command}" in found.output
