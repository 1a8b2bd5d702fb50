"""Every screen of the menu opens: on empty records, with a machine, on the demo."""

import dataclasses
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

import fluidapp
from fluidapp.calc.balance import Account
from fluidapp.calc.bath import BathCheck
from fluidapp.calc.gearcase import GearCase
from fluidapp.calc.greasing import Greasing

APP = Path(fluidapp.__file__).parent / "app.py"
SCREENS = sorted(set(re.findall(r'"screens/(\w+)\.py"', APP.read_text(encoding="utf-8"))))
ASK_FOR_A_MACHINE = [screen for screen in SCREENS if screen not in ("start", "help")]
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


@pytest.mark.parametrize(
    ("screen", "result"),
    [("balance", Account), ("gearcase", GearCase), ("bath", BathCheck), ("greasing", Greasing)],
)
def test_the_cautions_of_an_answer_stand_at_the_top_of_its_screen(open_demo_screen: Open, screen: str, result: type) -> None:
    fields = {field.name: field.default for field in dataclasses.fields(result)}
    at = open_demo_screen(screen)
    assert at.expander[0].markdown[0].value.splitlines() == [f"* {line}" for line in fields["cautions"]]
    assert "maker's manual" in fields["cautions"][-1]


def test_start_claims_about_the_internet_what_holds_with_a_phone_too(open_empty: Open) -> None:
    said = " ".join(str(caption.value) for caption in open_empty("start").caption)
    assert "No request leaves this machine for the internet" in said
    assert "Nothing leaves" not in said


@pytest.mark.parametrize("screen", SCREENS)
def test_it_opens_on_the_demo(open_demo_screen: Open, screen: str) -> None:
    at = open_demo_screen(screen)
    assert not at.exception
    assert not at.error


def opens(open_demo_screen: Open, screen: str, machines: list[str]) -> None:
    for machine in machines:
        at = open_demo_screen(screen, machine=machine)
        assert not at.exception, (machine, at.exception)
        assert not at.error, (machine, at.error[0].value)


@pytest.mark.parametrize("screen", ASK_FOR_A_MACHINE)
def test_it_opens_on_a_quarter_of_the_machines_of_the_demo(open_demo_screen: Open, demo_machines: list[str], screen: str) -> None:
    """Short form: each machine is opened on every fourth screen, each screen with every fourth machine."""
    opens(open_demo_screen, screen, demo_machines[ASK_FOR_A_MACHINE.index(screen) % 4 :: 4])


@pytest.mark.slow
@pytest.mark.parametrize("screen", ASK_FOR_A_MACHINE)
def test_it_opens_on_every_machine_of_the_demo(open_demo_screen: Open, demo_machines: list[str], screen: str) -> None:
    opens(open_demo_screen, screen, demo_machines)
