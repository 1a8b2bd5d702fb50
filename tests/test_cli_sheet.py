"""`fluidapp sheet`: a PDF of one page; a mistake is one sentence and exit code 2; nothing is recorded."""

from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner, Result

from fluidapp import cli


def run(*words: str) -> Result:
    return CliRunner().invoke(cli.main, ["sheet", *words])


def text(path: Path) -> str:
    (page,) = pypdf.PdfReader(path).pages
    return " ".join(str(page.extract_text()).split())


def test_it_writes_the_sheet_of_a_machine(tmp_path: Path) -> None:
    path = tmp_path / "teasel.pdf"
    done = run("teasel", "--demo", "--out", str(path))
    assert done.exit_code == 0, done.output
    assert str(path) in done.output
    said = text(path)
    assert "Service sheet: Teasel, 35 t" in said
    assert "never let it down to the mark" in said  # its slewing gearbox has risen: the demo's README tells so
    assert "Made on 2026-09-30" in said  # the demo's fixed day


def test_a_blank_one_has_no_plan(tmp_path: Path) -> None:
    path = tmp_path / "blank.pdf"
    assert run("teasel", "--demo", "--blank", "--out", str(path)).exit_code == 0
    said = text(path)
    assert "Slewing gearbox" in said
    assert "over its mark" not in said
    assert "±" not in said.partition("In the order of the work")[0]


def test_without_a_name_it_is_named_after_the_machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("gorse", "--demo").exit_code == 0
    assert (tmp_path / "gorse-service.pdf").exists()


def test_an_unknown_machine_is_one_sentence(tmp_path: Path) -> None:
    done = run("nobody", "--demo", "--out", str(tmp_path / "x.pdf"))
    assert done.exit_code == 2
    assert "“nobody” is not known" in done.output
    assert "Traceback" not in done.output
    assert not (tmp_path / "x.pdf").exists()


def test_a_place_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    done = run("teasel", "--demo", "--out", str(tmp_path / "missing" / "x.pdf"))
    assert done.exit_code == 2
    assert "Name a file that can be written" in done.output
