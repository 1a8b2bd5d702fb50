"""Mutated files with a known verdict each: right both ways, no other error, all or nothing, the figures those of the file."""

import shutil
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from fluidapp.errors import BadInput, FileProblem
from fluidapp.store import Store, open_store
from fluidapp.store.files import FilesProblem
from fluidapp.store.grid import read_grid
from fluidapp.store.intake import preview, store_table
from tests.store.mutated_tables import MUTATIONS, Made, made

NOW = datetime(2026, 5, 4, 18, tzinfo=UTC)
ZONE = timezone(timedelta(hours=2))


def verdict(store: Store, file: Made):
    """What the import says of a file, and the preview."""
    try:
        grid = read_grid(file.name, file.data, encoding=file.encoding)
        found = preview(store, grid, file.said, now_utc=NOW, place=lambda at: at.replace(tzinfo=ZONE))
    except FileProblem:
        return "file", None
    except BadInput as err:
        return "unsaid" if err.field == "Columns" else str(err), None
    return frozenset(p.row for p in found.problems), found


def judged(store: Store, numbers: range) -> list[str]:
    """Files whose verdict is wrong, with both verdicts."""
    wrong = []
    for n in numbers:
        file = made(n)
        said, found = verdict(store, file)
        if said != file.verdict:
            wrong.append(f"{file.how}: {said}, not {file.verdict}: {[str(p) for p in found.problems] if found else ''}")
        elif file.verdict == frozenset():
            assert (found.new, found.already) == (len(file.truth), 0), file.how
            agrees(found, file)
        elif found is not None:
            assert all(p.why and p.fix.endswith((".", "?")) for p in found.problems), file.how
            with pytest.raises(FilesProblem):
                store_table(store, found, now_utc=NOW)
    assert store.count() == 0
    return wrong


def agrees(found, file: Made) -> None:
    """Every figure of a clean file is the one that was written into it."""
    entries = [new for save in found.saves for new in save.entries]
    for new, true in zip(entries, file.truth, strict=True):
        assert new.at == true["at"].replace(tzinfo=ZONE), file.how
        assert new.meter_h == pytest.approx(true["meter_h"], rel=1e-12), file.how
        assert new.doc.note == true["note"], file.how
        for name in ("volume_l", "level", "temp_c", "strokes"):
            if (value := getattr(new.doc, name, None)) is not None:
                assert value == pytest.approx(true[name], rel=1e-9), (file.how, name)


def test_a_hundred_and_fifty_mutated_files_are_judged_right(store: Store) -> None:
    """Short form: every mutation four times."""
    assert judged(store, range(4 * len(MUTATIONS))) == []


@pytest.mark.slow
def test_two_thousand_mutated_files_are_judged_right(store: Store) -> None:
    assert judged(store, range(2000)) == []


def test_clean_files_are_stored_whole_and_recognised_again(template: Path, tmp_path: Path) -> None:
    for n, index in enumerate(k for k in range(2 * len(MUTATIONS)) if made(k).verdict == frozenset()):
        file, store = made(index), open_store(shutil.copyfile(template, tmp_path / f"{n}.db"))
        for new in (len(file.truth), 0):
            _, found = verdict(store, file)
            assert (found.new, found.already) == (new, len(file.truth) - new)
            assert store_table(store, found, now_utc=NOW) == new
        assert store.count() == len(file.truth)


def test_the_files_are_the_same_every_time() -> None:
    assert made(7).data == made(7).data
    assert {made(n).how.split()[1] for n in range(len(MUTATIONS))} == {m.__name__ for m in MUTATIONS}
