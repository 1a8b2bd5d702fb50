"""The whole records as one file, and back: SQLite's own online copy, safe while the program is in use."""

import os
import sqlite3
import tempfile
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path

from fluidapp.errors import FileProblem, RecordsProblem
from fluidapp.store.engine import BUSY_MS, make_engine, migrate, place, revision_of, shown
from fluidapp.store.records import Store

SERVER = "Use the tools of the database server, or: fluidapp export FOLDER."


def backup(store: Store, file: Path | str) -> Path:
    """Copies the records into ``file``, which must not exist; it appears whole or not at all, checked."""
    file = Path(file)
    if store.engine.dialect.name != "sqlite":
        raise RecordsProblem(store.where, "they are on a database server", SERVER)
    if file.exists():
        raise FileProblem(str(file), "", "this file exists already", "Name a new file; an older backup is never overwritten.")
    if not file.parent.is_dir():
        raise FileProblem(str(file), "", f"the folder {file.parent} does not exist", "Make it, or choose another place.")
    try:
        with tempfile.TemporaryDirectory(prefix=".fluidapp-", dir=file.parent) as folder:
            made = Path(folder) / "backup.db"
            _copy(Path(store.where), made)
            check(made)
            os.link(made, file)  # refuses where another backup was faster
    except (OSError, sqlite3.Error) as err:
        raise FileProblem(str(file), "", f"it cannot be written ({err})", "Check the folder and its free space.") from err
    return file


def restore(file: Path | str, url_or_path: str | Path | None, now_utc: datetime, *, replace: bool = False) -> tuple[Path, Path | None]:
    """Puts the records of a backup in place of those at ``url_or_path`` (as :func:`open_store` finds them).

    The backup is checked first: whole, records, of this or an earlier shape. Records that are there are replaced only with
    ``replace``, and kept beside. The place, and where the former ones are kept.
    """
    file = Path(file)
    url = place(url_or_path, os.environ.get("FLUIDAPP_DB"))
    if url.get_backend_name() != "sqlite":
        raise RecordsProblem(shown(url), "they are on a database server", SERVER)
    target = Path(url.database or "")
    check(file)
    if target.exists() and file.samefile(target):
        raise FileProblem(str(file), "", "these are the records in use", "Name a backup.")
    if target.exists() and not replace:
        raise RecordsProblem(str(target), "there are records already", "Add --replace; they will be kept beside it.")
    kept = None
    try:
        if target.exists():
            kept = target.with_name(f"{target.stem}-before-{now_utc:%Y%m%d-%H%M%S}{target.suffix}")
            if kept.exists():
                raise FileProblem(str(kept), "", "this file exists already", "Try again in a second.")
            _keep(target, kept)
        _copy(file, target)
    except (OSError, sqlite3.Error) as err:
        raise RecordsProblem(
            str(target), f"they cannot be replaced now ({err})", "Close other programs that use them and try again."
        ) from err
    migrate(make_engine(url))
    return target, kept


def check(file: Path) -> None:
    """FileProblem unless ``file`` holds whole records of this fluidapp or an earlier one; nothing in it is changed."""
    if not file.is_file():
        raise FileProblem(str(file), "", "there is no such file", "Check its name.")
    fix = "Choose another backup."
    try:
        with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as conn:
            found = conn.execute("PRAGMA integrity_check(1)").fetchone()[0]
            if found != "ok":
                raise FileProblem(str(file), "", "it is damaged", fix)
            if broken := conn.execute("PRAGMA foreign_key_check").fetchone():
                raise FileProblem(str(file), f"table “{broken[0]}”", "it names what is not there", fix)
    except sqlite3.DatabaseError as err:
        raise FileProblem(str(file), "", f"it is no backup, or is damaged ({err})", fix) from err
    try:
        shape = revision_of(file)
    except RecordsProblem as err:
        raise FileProblem(str(file), "", err.problem, err.fix) from err
    if shape is None:
        raise FileProblem(str(file), "", "there are no records in it", fix)


def _copy(source: Path, target: Path) -> None:
    """One consistent state of ``source`` into ``target``, in one transaction."""
    with (
        closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True, timeout=BUSY_MS / 1000)) as one,
        closing(sqlite3.connect(target, timeout=BUSY_MS / 1000)) as other,
    ):
        one.backup(other)


def _keep(target: Path, kept: Path) -> None:
    """The former records under another name; where they are too damaged to be copied, the files themselves."""
    try:
        _copy(target, kept)
    except sqlite3.DatabaseError as err:
        if isinstance(err, sqlite3.OperationalError):
            raise
        for ending in ("-wal", "-shm", ""):
            with suppress(FileNotFoundError):
                Path(f"{target}{ending}").rename(f"{kept}{ending}")
