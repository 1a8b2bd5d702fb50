"""Screens run against records of their own; nothing is shared between tests."""

import datetime
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

import fluidapp
from fluidapp.model import Machine, from_toml
from fluidapp.store import Store, open_store
from fluidapp.store.demo import built

APP = str(Path(fluidapp.__file__).parent / "app.py")
EARLIER = datetime.datetime(2026, 1, 5, 8, 0, tzinfo=datetime.UTC)
MACHINE = """
key = "ex-1"
label = "Excavator 1"
class_t = 22.0
[[cylinders]]
name = "boom"
count = 2
rod = 85
stroke = 1290
ref = 200
[[compartments]]
key = "tank"
label = "Hydraulic tank"
kind = "hydraulic tank"
source = "taped"
body = {shape = "box", length = 700, width = 500, height = 600}
capacities = {system_l = 250}
[[compartments.gauges]]
kind = "sight glass"
name = "glass"
at = [700, 250, 150]
end_mm = 350
bands = [{low = 150, high = 250, temp_low_c = 50, temp_high_c = 80}]
"""


@pytest.fixture(autouse=True)
def _own_records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FLUIDAPP_DB", str(tmp_path / "records.db"))
    st.cache_data.clear()
    st.cache_resource.clear()


def opened(screen: str, **address: str) -> AppTest:
    at = AppTest.from_file(APP, default_timeout=30)
    at.run()
    if screen != "start":
        at.switch_page(f"screens/{screen}.py")
    for name, value in address.items():
        at.query_params[name] = value
    return at.run()


@pytest.fixture
def records(tmp_path: Path) -> Store:
    """Records with one machine, "ex-1"."""
    store = open_store(tmp_path / "records.db")
    store.put(from_toml(MACHINE, "ex-1.toml", Machine), now_utc=EARLIER)
    return store


@pytest.fixture
def open_screen(records: Store) -> Callable[..., AppTest]:
    """Opens a screen on the one machine."""
    return opened


@pytest.fixture
def open_empty() -> Callable[..., AppTest]:
    """Opens a screen on empty records."""
    return opened


@pytest.fixture
def open_demo_screen(tmp_path: Path) -> Callable[..., AppTest]:
    """Opens a screen on a copy of the demo."""
    shutil.copyfile(built(), tmp_path / "records.db")
    return opened


@pytest.fixture(scope="session")
def demo_machines() -> list[str]:
    return [machine.key for machine in open_store(built()).machines()]
