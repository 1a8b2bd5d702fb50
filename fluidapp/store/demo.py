"""The demo's records: built once from its readable files through the import, kept in the cache folder, copied at each start."""

import atexit
import contextlib
import hashlib
import os
import shutil
import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

import platformdirs

from fluidapp.errors import FileProblem, RecordsProblem
from fluidapp.store import schema
from fluidapp.store.files import load_files, parse, read_folder
from fluidapp.store.records import Store, open_store

FORM = "1"  # raised when the import itself stores the same files differently


def demo_folder() -> Path:
    """The readable files of the demo: inside an installed package, else beside the package in its repository."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "_demo", package.parent / "demo" / "quarry"):
        if any(folder.glob("*.toml")):
            return folder
    raise FileProblem(str(package / "_demo"), "", "the demo's files are missing", "Install fluidapp again.")


def demo_now(files: Mapping[str, bytes]) -> datetime:
    """The evening of the demo's fixed day [UTC]."""
    site = parse({name: data for name, data in files.items() if name.endswith(".toml") and "/" not in name}).site
    if site is None or site.today is None:
        raise FileProblem("site", "today", "the demo needs a fixed day", "Add today to [site].")
    return datetime.combine(datetime.fromisoformat(site.today), time(20), UTC) - timedelta(minutes=site.utc_offset_min)


def built(folder: Path | None = None, cache: Path | None = None) -> Path:
    """The demo's records in the cache folder, built if there are none for exactly these files.

    Two processes that start at once both build, each under a name of its own; the last one to finish replaces the other's.
    """
    files = read_folder(folder or demo_folder())
    cache = cache or Path(platformdirs.user_cache_dir("fluidapp", appauthor=False))
    path = cache / f"demo-{_name(files)}.db"
    if path.is_file():
        return path
    try:
        cache.mkdir(parents=True, exist_ok=True)
        part = Path(tempfile.mkdtemp(prefix="demo-", dir=cache))
    except OSError as err:
        raise RecordsProblem(
            str(cache), f"the demo cannot be built here ({err.strerror})", "Free the folder, or set XDG_CACHE_HOME."
        ) from err
    try:
        store = open_store(part / "records.db")
        load_files(store, files, now_utc=demo_now(files))
        store.settle()
        os.replace(part / "records.db", path)  # noqa: PTH105
    finally:
        shutil.rmtree(part, ignore_errors=True)
    for old in cache.glob("demo-*.db"):
        if old != path:
            with contextlib.suppress(OSError):
                old.unlink()
    return path


def open_demo(folder: Path | str | None = None, cache: Path | None = None) -> Store:
    """A fresh copy of the demo's records: in ``folder``, where it stays, else in a temporary one that goes with the process."""
    kept = built(cache=cache)
    if folder is None:
        place = Path(tempfile.mkdtemp(prefix="fluidapp-demo-"))
        atexit.register(shutil.rmtree, place, ignore_errors=True)
    else:
        place = Path(folder)
    if not place.is_dir():
        raise RecordsProblem(str(place), "this folder does not exist", "Make it, or choose another place.")
    working = place / "demo.db"
    shutil.copyfile(kept, working)
    return open_store(working)


def _name(files: Mapping[str, bytes]) -> str:
    said = hashlib.sha256(f"{FORM} {schema.HEAD}".encode())
    for name, data in sorted(files.items()):
        said.update(f"\n{name} {len(data)}\n".encode())
        said.update(data)
    return said.hexdigest()[:16]
