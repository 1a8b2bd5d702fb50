"""At phone size: a table with three bad rows is mapped, its rows are named, and what is put right goes in."""

from pathlib import Path
from typing import Any

import pytest

from tests.browser.driving import Seen, choose, no_overflow, press_until, settled

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

HEAD = "Date;Unit no;Component;Litres added;Remark\n"
GOOD = "1.9.2026 06:30;Juniper, 20 t;tank;5,5;=1+1\n"
BAD = "31.9.2026 06:30;juniper;tank;5;\n2.9.2026 06:30;nobody;tank;5;\n3.9.2026 06:30;juniper;tank;5.5;\n"


def upload(page: Any, path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
    page.locator("input[type=file]").set_input_files(path)
    page.get_by_text(path.name).first.wait_for()
    settled(page)


def say(page: Any) -> None:
    page.get_by_text("Comma: 12,5", exact=True).click()
    settled(page)
    page.get_by_text("Day first", exact=False).first.click()
    settled(page)


def test_a_table_with_three_bad_rows(phone: tuple[Any, Seen], tmp_path: Path) -> None:
    page, seen = phone
    page.goto(f"{seen.base}/in-and-out")
    settled(page)
    upload(page, tmp_path / "mine.csv", HEAD + GOOD + BAD)
    choose(page, "What the rows are", "Top-ups")
    page.get_by_text("Before the rows can be read", exact=False).wait_for()
    say(page)
    page.get_by_text("3 of 4 rows cannot be taken in", exact=False).wait_for()
    table = page.get_by_test_id("stTable").first
    named = table.inner_text()
    assert all(word in named for word in ("31.9.2026", "nobody", "5.5"))
    assert page.get_by_role("button", name="Store the rows").is_disabled()
    assert no_overflow(page)

    upload(page, tmp_path / "right.csv", HEAD + GOOD)  # same headings: what was said of them stays
    page.get_by_text("Every row can be taken in (1)", exact=False).wait_for()
    settled(page)
    page.wait_for_timeout(500)  # the preview is drawn anew once more when the file has gone up
    press_until(page, "Store 1 row", "Stored from right.csv: 1")
    assert no_overflow(page)
    assert seen.outside == []
    assert seen.complaints == []
