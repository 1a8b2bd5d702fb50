"""The commands: the same answers as the screens, a mistake is one sentence and exit code 2, nothing is written."""

import datetime
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from fluidapp import cli
from fluidapp.model import Machine, from_toml
from fluidapp.store import open_store

MACHINE = """
key = "ex-1"
label = "Excavator 1"
class_t = 22.0
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


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "records.db"
    monkeypatch.setenv("FLUIDAPP_DB", str(path))
    open_store().put(from_toml(MACHINE, "ex-1.toml", Machine), now_utc=datetime.datetime(2026, 5, 4, tzinfo=datetime.UTC))
    return path


def run(*args: str) -> Result:
    return CliRunner().invoke(cli.main, args)


def test_a_top_up_is_the_height_to_the_target_times_the_tanks_area(records: Path) -> None:
    # 700 x 500 mm hold 0.35 L in each mm; from 125 mm to the middle of 150..250 mm are 75 mm: 26.25 L
    found = run("top-up", "ex-1", "tank", "--reading", "125 mm", "--pail", "20 L")
    assert found.exit_code == 0, found.output
    lines = found.output.splitlines()
    assert "Pour a 20 L pail and 6 L" in lines
    assert "Add 25 ± 8 L" in lines  # the instruction by itself; what to pour stands in its own line
    assert "Target at 200.0 mm on the glass" in lines  # no litres without their ±
    assert "* Hot oil, pressure: isolate, vent slowly. The maker's manual and site rules come first." in lines


def test_inches_and_us_gallons_are_understood(records: Path) -> None:
    mm = run("top-up", "ex-1", "tank", "--reading", "101.6 mm", "--pail", "5 US gal")
    inches = run("top-up", "ex-1", "tank", "--reading", "4 in", "--pail", "5 US gal")
    assert inches.exit_code == 0, inches.output
    assert mm.output == inches.output
    assert "5 US gal pail" in inches.output


def test_what_was_measured_shrinks_the_doubt(records: Path) -> None:
    rough = run("top-up", "ex-1", "tank", "--reading", "125 mm")
    fine = run("top-up", "ex-1", "tank", "--reading", "125 mm", "--temp", "65 °C", "--pitch", "0", "--roll", "0", "--reference-posture")
    widths = [
        int(next(line for line in out.splitlines() if line.startswith("Add ")).split("±")[1].split()[0])
        for out in (rough.output, fine.output)
    ]
    assert widths[1] < widths[0]
    assert "Not measured" in rough.output
    assert "Not measured" not in fine.output


def test_a_level_below_the_glass_gives_a_bound(records: Path) -> None:
    found = run("top-up", "ex-1", "tank", "--reading", "below")
    assert found.exit_code == 0, found.output
    assert "Add at least" in found.output
    assert "then read again" in found.output


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--reading", "12x"), ("--reading", "12x")),
        (("--reading", "12,5 mm"), ("--reading", "12,5", "12.5")),
        (("--reading", "-3 mm"), ("glass", "-3 mm", "0 to 350")),
        (("--reading", "900 mm"), ("glass", "900 mm", "0 to 350")),
        (("--reading", "12 gal"), ("--reading", "gal")),
        (("--reading", ""), ("--reading", "212 mm")),
        (("--reading", "125 mm", "--temp", "45 K"), ("--temp", "K", "°C")),
        (("--reading", "125 mm", "--temp", "400 °C"), ("Oil temperature", "400", "150")),
        (("--reading", "125 mm", "--pail", "5 gal"), ("--pail", "gal", "US gal or imp gal")),
        (("--reading", "125 mm", "--pail", "0 L"), ("--pail", "20 L")),
        (("--reading", "125 mm", "--gauge", "stick"), ("Gauge", "stick", "glass")),
        (("--reading", "125 mm", "--pitch", "steep"), ("--pitch", "steep")),
    ],
)
def test_a_mistake_is_one_sentence_that_names_field_and_fix_with_exit_code_2(
    records: Path, args: tuple[str, ...], said: tuple[str, ...]
) -> None:
    before = records.read_bytes()
    found = run("top-up", "ex-1", "tank", *args)
    assert found.exit_code == 2, found.output
    assert found.output.startswith("Error: ")
    assert len(found.output.strip().splitlines()) == 1
    assert all(word in found.output for word in said), found.output
    assert records.read_bytes() == before


def test_unknown_machine_and_compartment_are_named_with_what_there_is(records: Path) -> None:
    machine = run("top-up", "ex-9", "tank", "--reading", "1 mm")
    part = run("top-up", "ex-1", "sump", "--reading", "1 mm")
    assert (machine.exit_code, part.exit_code) == (2, 2)
    assert "ex-9" in machine.output
    assert "ex-1" in machine.output
    assert "sump" in part.output
    assert "tank" in part.output


def test_records_that_are_no_records_are_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "letter.db"
    path.write_text("dear all" * 400)
    monkeypatch.setenv("FLUIDAPP_DB", str(path))
    found = run("top-up", "ex-1", "tank", "--reading", "1 mm")
    assert found.exit_code == 2
    assert "letter.db" in found.output
    assert path.read_text() == "dear all" * 400


@pytest.mark.parametrize("command", [(), ("demo",), ("top-up",), ("load",)])
def test_help_shows_an_example(command: tuple[str, ...]) -> None:
    found = run(*command, "--help")
    assert found.exit_code == 0
    assert "Example: fluidapp" in found.output


def test_the_module_tells_its_version_without_the_heavy_parts() -> None:
    code = (
        "import sys, runpy; sys.argv=['fluidapp','--version']\n"
        "try: runpy.run_module('fluidapp', run_name='__main__')\nexcept SystemExit: pass\n"
    )
    code += "print(sorted({'streamlit','pandas','scipy.stats','pyvrp','fpdf','altair'} & set(sys.modules)))"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.splitlines() == ["fluidapp, version 0.1.0", "[]"], found.stdout
