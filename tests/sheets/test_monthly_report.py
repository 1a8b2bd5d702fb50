"""The monthly report, read back from its PDF: it says what the screens say."""

import datetime
import io
import re

import pypdf
import pytest

from fluidapp.screens import _fleet, _report
from fluidapp.sheets.monthly_report import MonthlyReport, monthly_report_pdf
from fluidapp.store import open_store
from fluidapp.store.demo import built

TODAY = datetime.date(2026, 9, 30)


def text(pdf: bytes) -> tuple[str, int]:
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split()), len(pages)


@pytest.fixture(scope="module")
def seen() -> _fleet.Seen:
    store = open_store(built())
    return _fleet.gather(store, store.machines(), {p.key: p for p in store.products()}, TODAY.toordinal() + 1 - 1e-6)


def test_the_report_of_the_demo_tells_its_stories_and_the_figures_of_the_month(seen: _fleet.Seen) -> None:
    store = open_store(built())
    report = _report.made(seen, _report.month(TODAY), {p.key: p for p in store.products()}, store.site(), {})
    said, pages = text(monthly_report_pdf(report))
    assert pages <= 3
    assert said.startswith("Oil of Sallowfield gravel quarry, September 2026 Made on 2026-09-30")
    for told in seen.first:
        assert str(told.finding) in said
    names = [bar.name for bar in report.bars]
    assert names[0] == "Burdock, 50 t"
    assert report.bars[0].word == "more"
    for bar in report.bars:
        assert f"{bar.name}: {bar.text}" in said
    moves = seen.ledger.moves
    first, last = (datetime.date(2026, m, 1).toordinal() for m in (9, 10))
    poured = moves.litres[(moves.day >= first) & (moves.day < last) & (moves.purpose == 0)].sum()
    printed = re.search(r"topped up (\d+\.\d) ±", said)
    assert printed is not None
    assert float(printed[1]) == pytest.approx(poured, abs=0.25)  # to the step of its ±
    assert "Hydraulic oil ISO VG 46" in said
    assert "A lasting change began between 22 June and 3 August" in said  # Mallow's chart in words
    assert "Nothing was handed over in the month." in said


def test_the_month_is_the_last_whole_one() -> None:
    assert _report.name(_report.month(TODAY)) == "September 2026"
    assert _report.month(datetime.date(2026, 3, 30)).words == "2026-02-01 to 2026-02-28"


def test_an_empty_month_has_a_report_too() -> None:
    nothing = MonthlyReport(
        "", "May 2026", "2026-06-01", 739768.0, (), (), (), ("Nothing was poured or drained.",), (), (), (), (), "None.", ()
    )
    said, pages = text(monthly_report_pdf(nothing))
    assert pages == 1
    assert said.startswith("Oil, May 2026")
    assert "Nothing stands out" in said
