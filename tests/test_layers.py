"""The calculation core is pure, and a cold start does not pay for what it does not need."""

import subprocess
import sys

import pytest

FORBIDDEN = {"streamlit", "pandas", "altair", "sqlalchemy", "alembic", "pint", "click"}

HEAVY = {"scipy.stats", "fpdf"}


def loaded_after(code: str) -> set[str]:
    found = subprocess.run(
        [sys.executable, "-c", f"import sys\n{code}\nprint(' '.join(sys.modules))"], capture_output=True, text=True, check=True
    )
    return set(found.stdout.split())


@pytest.mark.parametrize("module", ["level", "topup", "bath", "balance", "greasing", "picture", "oil", "figure"])
def test_the_core_imports_nothing_of_the_screens_or_the_records(module: str) -> None:
    found = loaded_after(f"import fluidapp.calc.{module}")
    assert f"fluidapp.calc.{module}" in found
    assert not FORBIDDEN & found
    assert not {name for name in found if name.startswith(("fluidapp.store", "fluidapp.screens", "fluidapp.charts"))}


def test_opening_start_loads_no_statistics_or_printing() -> None:
    found = loaded_after("import os, tempfile\nos.environ['FLUIDAPP_DB'] = tempfile.mkdtemp() + '/a.db'\nfrom pathlib import Path\n"
                         "import fluidapp\nfrom streamlit.testing.v1 import AppTest\n"
                         "at = AppTest.from_file(str(Path(fluidapp.__file__).parent / 'app.py'), default_timeout=30).run()\n"
                         "assert not at.exception, at.exception")  # fmt: skip
    assert "streamlit" in found
    assert not HEAVY & found


def test_what_is_heavy_is_there_and_would_be_seen() -> None:
    """Each is a dependency, and so would be loaded by whoever asks for it too early; one for routes joins them with the routes."""
    assert loaded_after("".join(f"import {name}\n" for name in sorted(HEAVY))) >= HEAVY
