"""`dip-chart` and `level-sheet`: the table in the terminal, the files, and mistakes as one sentence."""

import csv
import datetime
import io
from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner, Result

from fluidapp import cli
from fluidapp.model import Machine, from_toml
from fluidapp.store import open_store

MACHINE = """
key = "ex-1"
label = "Excavator 1"
[[compartments]]
key = "tank"
label = "Hydraulic tank"
kind = "hydraulic tank"
source = "taped"
body = {shape = "box", length = 700, width = 500, height = 600}
[[compartments.gauges]]
kind = "sight glass"
name = "glass"
at = [700, 250, 150]
end_mm = 350
bands = [{low = 150, high = 250}]
[[compartments.gauges]]
kind = "percent"
name = "dial"
of = "capacity"
at = [0, 0, 0]
"""


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "records.db"
    monkeypatch.setenv("FLUIDAPP_DB", str(path))
    open_store().put(from_toml(MACHINE, "ex-1.toml", Machine), now_utc=datetime.datetime(2026, 5, 4, tzinfo=datetime.UTC))
    return path


def run(*args: str) -> Result:
    return CliRunner().invoke(cli.main, args)


def lines(output: str) -> list[list[str]]:
    return [line.split() for line in output.splitlines() if line.startswith(" ") and line.split()[0][0].isdigit()]


def test_the_table_in_the_terminal_is_the_box_s_own_arithmetic(records: Path) -> None:
    # 700 x 500 mm hold 0.35 L in each mm, and the glass begins 150 mm over the floor
    found = run("dip-chart", "ex-1", "tank", "--step", "50mm")
    assert found.exit_code == 0, found.output
    rows = lines(found.output)
    assert [row[0] for row in rows] == ["0", "50", "100", "150", "200", "250", "300", "350"]
    for row in rows:
        assert float(row[2]) == pytest.approx(0.35 * (float(row[0]) + 150), abs=0.5)
        assert float(row[4]) > 0
    assert [row[5] for row in rows if len(row) > 5] == ["L", "target", "H"]
    assert "About the target 10 mm (0.39 in) are 3.5 L" in found.output


def test_a_step_in_inches_and_in_per_cent_is_understood(records: Path) -> None:
    inches = run("dip-chart", "ex-1", "tank", "--step", "2 in")
    assert lines(inches.output)[1][:2] == ["50.8", "2.00"]
    dial = run("dip-chart", "ex-1", "tank", "--gauge", "dial", "--step", "25%")
    assert [row[0] for row in lines(dial.output)] == ["0", "25", "50", "75", "100"]
    assert lines(dial.output)[2][2] == "105"


def test_the_pdf_is_one_page_with_the_figures_and_the_csv_is_the_same_table(records: Path, tmp_path: Path) -> None:
    for name in ("tank.pdf", "tank.csv"):
        found = run("dip-chart", "ex-1", "tank", "--step", "50mm", "--out", str(tmp_path / name))
        assert found.exit_code == 0, found.output
        assert found.output == f"Written: {tmp_path / name}\n"
    pdf = pypdf.PdfReader(io.BytesIO((tmp_path / "tank.pdf").read_bytes()))
    assert len(pdf.pages) == 1
    text = pdf.pages[0].extract_text()
    rows = list(csv.DictReader(io.StringIO((tmp_path / "tank.csv").read_text())))
    assert [float(row["volume_l"]) for row in rows] == pytest.approx([0.35 * (50 * k + 150) for k in range(8)])
    for expected in ("Excavator 1", "± L", "target", *(f"{float(row['volume_l']):.0f}" for row in rows if row["mark"])):
        assert expected in text


def test_the_blank_sheet_is_written_with_the_mark_table(records: Path, tmp_path: Path) -> None:
    found = run("level-sheet", "ex-1", "--out", str(tmp_path / "blank.pdf"))
    assert found.exit_code == 0, found.output
    text = pypdf.PdfReader(tmp_path / "blank.pdf").pages[0].extract_text()
    assert "200 mm" in text
    assert "122 L" in text  # (150 + 200) x 0.35 = 122.5 L at the target
    assert "3.5 L" in text


def test_the_demo_s_machines_can_be_asked(tmp_path: Path) -> None:
    found = run("dip-chart", "--demo", "teasel", "tank", "--out", str(tmp_path / "teasel.pdf"))
    assert found.exit_code == 0, found.output


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("dip-chart", "ex-9", "tank"), ("ex-9", "ex-1")),
        (("dip-chart", "ex-1", "sump"), ("sump", "tank")),
        (("dip-chart", "ex-1", "tank", "--gauge", "stick"), ("stick", "glass, dial")),
        (("dip-chart", "ex-1", "tank", "--step", "0"), ("step", "above 0")),
        (("dip-chart", "ex-1", "tank", "--step", "5 gal"), ("--step", "5 gal", "gal")),
        (("dip-chart", "ex-1", "tank", "--step", ""), ("--step", "5mm")),
        (("dip-chart", "ex-1", "tank", "--step", "0.5 mm"), ("more than 400 lines", "choose at least 1")),
        (("dip-chart", "ex-1", "tank", "--out", "card.docx"), ("card.docx", ".pdf or .csv")),
        (("dip-chart", "ex-1", "tank", "--step", "2 mm", "--out", "card.pdf"), ("One card holds 132", "choose at least 5 mm")),
        (("dip-chart", "ex-1", "tank", "--out", "no/such/folder/card.pdf"), ("no/such/folder", "another folder")),
        (("level-sheet", "ex-1", "--out", "sheet.txt"), ("sheet.txt", ".pdf")),
    ],
)
def test_a_mistake_is_one_sentence_with_exit_code_2_and_no_file(
    records: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...], said: tuple[str, ...]
) -> None:
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    found = run(*args)
    assert found.exit_code == 2, found.output
    assert found.output.startswith("Error: ")
    assert len(found.output.strip().splitlines()) == 1
    assert all(word in found.output for word in said), found.output
    assert list(here.iterdir()) == []


@pytest.mark.parametrize("command", ["dip-chart", "level-sheet"])
def test_help_shows_an_example(command: str) -> None:
    found = run(command, "--help")
    assert found.exit_code == 0
    assert f"Example: fluidapp {command}" in found.output
