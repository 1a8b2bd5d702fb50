"""Opening the records: the engine, its settings, the migrations, and database errors as sentences."""

import functools
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import platformdirs
from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.pool import NullPool

from fluidapp.errors import RecordsProblem
from fluidapp.store.schema import HEAD, metadata

BUSY_MS = 5000
_LOCK = 0x666C7569  # the number of the advisory lock that orders writers on PostgreSQL
_SENTENCES = (
    ("file is not a database", "this file holds something else, or is damaged", "Choose another file, or restore a backup."),
    ("malformed", "the file is damaged", "Keep a copy of it and restore a backup."),
    ("disk i/o error", "the disk failed while they were used", "Check the disk and its free space."),
    ("database is locked", "another program has been writing for more than 5 seconds", "Nothing was stored. Try again."),
    ("readonly database", "they can be read but not written", "Check who may write to the file and its folder."),
    ("disk is full", "the disk is full", "Nothing was stored. Make room and try again."),
    ("unable to open", "the file cannot be opened", "Check the name, and that you may read and write in its folder."),
    ("connection refused", "no server answers there", "Check the address, and that the server runs."),
    ("connection failed", "no server answers there", "Check the address, and that the server runs."),
    ("kept as they were written", "stored entries are never changed", "Void the entry and enter a new one."),
)


def place(url_or_path: str | Path | None, env: str | None) -> URL:
    """The database that is meant: what was passed, else FLUIDAPP_DB, else a file in the user's data folder."""
    given = url_or_path or env
    if given is None:
        folder = Path(platformdirs.user_data_dir("fluidapp", appauthor=False))
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as err:
            raise RecordsProblem(str(folder), f"this folder cannot be made ({err.strerror})", "Pass --db with another place.") from err
        given = folder / "records.db"
    if isinstance(given, str) and "://" in given:
        try:
            url = make_url(given)
        except (ArgumentError, ValueError) as err:
            raise RecordsProblem(given.split("@")[-1], "this is not a database address", "Use a path or sqlite:///path.") from err
    else:
        url = URL.create("sqlite", database=str(given))
    if url.get_backend_name() == "sqlite":
        path = Path(url.database or "")
        if not url.database or url.database == ":memory:":
            raise RecordsProblem("memory", "records need a file", "Pass a path.")
        if not path.parent.is_dir():
            raise RecordsProblem(str(path), f"the folder {path.parent} does not exist", "Make it, or choose another place.")
        if path.is_dir():
            raise RecordsProblem(str(path), "this is a folder", "Name a file in it, like records.db.")
    return url


def shown(url: URL) -> str:
    """The place in words that are safe to show: a path, or an address without its password."""
    return (url.database or "") if url.get_backend_name() == "sqlite" else url.render_as_string(hide_password=True)


def make_engine(url: URL) -> Engine:
    """An engine that keeps no SQLite connection between calls and writes every commit through to the disk."""
    sqlite = url.get_backend_name() == "sqlite"
    try:
        engine = create_engine(url, poolclass=NullPool) if sqlite else create_engine(url, pool_pre_ping=True)
    except (NoSuchModuleError, ModuleNotFoundError) as err:
        raise RecordsProblem(shown(url), f"no driver for this database ({err})", "Install its driver, for example psycopg.") from err
    if sqlite:
        event.listen(engine, "connect", _settings)
    event.listen(engine, "begin", _begin)
    return engine


def _settings(dbapi: sqlite3.Connection, _: object) -> None:
    dbapi.isolation_level = None  # BEGIN is ours, below
    cursor = dbapi.cursor()
    cursor.execute(f"PRAGMA busy_timeout={BUSY_MS}")
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.execute("PRAGMA recursive_triggers=ON")  # else INSERT OR REPLACE would delete past the triggers
    cursor.close()


def _begin(conn: Connection) -> None:
    writes = conn.get_execution_options().get("fluidapp_writes", False)
    if conn.dialect.name == "sqlite":
        conn.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
    elif writes:
        conn.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK})


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A connection for a few queries that see one state of the records."""
    with said(engine), engine.connect() as conn:
        yield conn


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A connection inside the one writing transaction: all of it is stored when the block ends, or nothing."""
    with _turn(engine.url), said(engine), engine.connect().execution_options(fluidapp_writes=True) as conn, conn.begin():
        yield conn


@functools.cache
def _turn(url: URL) -> threading.RLock:
    """Whose turn it is to write among the threads of this process: SQLite's own waiting is by chance and can starve one of them."""
    return threading.RLock()


@contextmanager
def said(engine: Engine) -> Iterator[None]:
    """Database errors become one sentence."""
    try:
        yield
    except DBAPIError as err:
        reason = str(err.orig)
        for part, problem, fix in _SENTENCES:
            if part in reason.lower():
                raise RecordsProblem(shown(engine.url), problem, fix) from err
        first = reason.strip().splitlines()[0][:200] if reason.strip() else type(err.orig).__name__
        raise RecordsProblem(shown(engine.url), f"the database refused ({first})", "Nothing was stored.") from err


def migrate(engine: Engine) -> None:
    """Brings the records to the newest shape, or refuses: foreign tables, records of a newer program."""
    with reading(engine) as conn:
        if _revision(conn, engine.url) == HEAD:
            return
    with writing(engine) as conn:
        if _revision(conn, engine.url) == HEAD:  # another process was faster
            return
        from alembic import command

        config = alembic_config()
        config.attributes["connection"] = conn
        command.upgrade(config, "head")


def alembic_config() -> Any:
    """Alembic's settings without an ini file."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _revision(conn: Connection, url: URL) -> str | None:
    tables = set(inspect(conn).get_table_names())
    if "alembic_version" not in tables:
        if tables:
            raise RecordsProblem(
                shown(url), f"it holds other tables ({', '.join(sorted(tables)[:3])})", "Choose another file; this one was left as it is."
            )
        return None
    found: str | None = conn.scalar(text("SELECT version_num FROM alembic_version"))
    if found is not None and found != HEAD and found not in _known():
        raise RecordsProblem(shown(url), f"a newer fluidapp wrote them (shape {found})", "Update fluidapp: pip install -U fluidapp.")
    if found == HEAD and (gone := set(metadata.tables) - tables):
        raise RecordsProblem(shown(url), f"the table “{min(gone)}” is missing", "Restore a backup; the file was left as it is.")
    return found


def revision_of(file: Path) -> str | None:
    """The shape of the records in a file, None where it is empty; RecordsProblem for other tables and for newer records."""
    url = URL.create("sqlite", database=file.resolve().as_uri(), query={"mode": "ro", "uri": "true"})
    engine = create_engine(url, poolclass=NullPool)
    with said(engine), engine.connect() as conn:
        return _revision(conn, URL.create("sqlite", database=str(file)))


def _known() -> set[str]:
    from alembic.script import ScriptDirectory

    return {script.revision for script in ScriptDirectory.from_config(alembic_config()).walk_revisions()}
