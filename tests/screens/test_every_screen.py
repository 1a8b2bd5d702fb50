"""Every screen of the menu opens: on empty records, with a machine, on the demo."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

import fluidapp

APP = Path(fluidapp.__file__).parent / "app.py"
SCREENS = sorted(set(re.findall(r'"screens/(\w+)\.py"', APP.read_text(encoding="utf-8"))))
Open = Callable[..., AppTest]


def test_every_screen_file_is_on_the_menu() -> None:
    files = {path.stem for path in (APP.parent / "screens").glob("*.py") if not path.stem.startswith("_")} - {"words"}
    assert set(SCREENS) == files


@pytest.mark.parametrize("screen", SCREENS)
def test_it_opens_on_empty_records_and_says_what_to_do_first(open_empty: Open, screen: str) -> None:
    at = open_empty(screen)
    assert not at.exception
    assert at.title
    if screen not in ("start", "help", "products"):
        assert any("No machine is entered yet" in info.value for info in at.info)


@pytest.mark.parametrize("screen", SCREENS)
def test_it_opens_on_the_demo(open_demo_screen: Open, screen: str) -> None:
    at = open_demo_screen(screen)
    assert not at.exception
    assert not at.error


@pytest.mark.parametrize("screen", SCREENS)
def test_it_opens_on_every_machine_of_the_demo(open_demo_screen: Open, demo_machines: list[str], screen: str) -> None:
    if screen in ("start", "help"):
        return
    for machine in demo_machines:
        at = open_demo_screen(screen, machine=machine)
        assert not at.exception, (machine, at.exception)
        assert not at.error, (machine, at.error[0].value)
