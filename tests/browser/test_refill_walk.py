"""At phone size: a top-up in at most five inputs, and a refill from its bring list to the service sheet."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdf
import pytest

from tests.browser.driving import Seen, choose, metric, no_overflow, press, settled, type_into

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def pick(page: Any, label: str, option: str) -> None:
    """As ``choose``, but opens a list again that the picture below, when it is drawn late, has closed."""
    from playwright.sync_api import TimeoutError

    metric(page)
    wanted = page.get_by_role("option", name=option, exact=True)
    for _ in range(4):
        page.get_by_role("combobox", name=label).click()
        try:
            wanted.wait_for(timeout=4_000)
        except TimeoutError:
            page.keyboard.press("Escape")
            continue
        break
    wanted.click()
    settled(page)


def test_a_top_up_takes_at_most_five_inputs(phone: tuple[Any, Seen]) -> None:
    page, seen = phone
    page.goto(f"{seen.base}/top-up")
    settled(page)
    acts: list[Callable[[], None]] = [
        lambda: choose(page, "Machine", "Juniper, 20 t"),
        lambda: type_into(page, "Sight gauge (mm)", "60"),
        lambda: pick(page, "Container at hand", "10 L can"),
    ]
    assert len(acts) <= 5
    for act in acts:
        act()
    assert "±" in metric(page)
    page.get_by_text("10 L can", exact=False).first.wait_for()
    answer = page.get_by_test_id("stMetricValue").first.bounding_box()
    assert answer["y"] + answer["height"] <= 844  # input and answer stand on the first screen
    assert no_overflow(page)
    assert seen.outside == []
    assert seen.complaints == []


def test_a_refill_from_the_bring_list_to_the_service_sheet(phone: tuple[Any, Seen], tmp_path: Path) -> None:
    page, seen = phone
    page.goto(f"{seen.base}/refill?machine=juniper")
    settled(page)
    type_into(page, "Sight gauge (mm)", "60")
    before = metric(page)
    assert "±" in before
    press(page, "hoses")
    press(page, "motor or pump case")
    type_into(page, "Bore (mm)", "25.4")
    type_into(page, "Length (m)", "2.5")
    page.get_by_text("2 × 20 L pail", exact=False).first.wait_for()
    assert no_overflow(page)

    with page.expect_download() as waiting:
        page.get_by_role("button", name="Service sheet (PDF)").click()
    path = tmp_path / "refill.pdf"
    waiting.value.save_as(path)
    (sheet,) = pypdf.PdfReader(path).pages
    said = " ".join(str(sheet.extract_text()).split())
    assert "Service sheet: Juniper, 20 t" in said
    assert f"before start {metric(page)}" in said
    assert "2 × 20 L pail" in said
    assert said.index("Drain cocks shut") < said.index("Fill the motor or pump case") < said.index("Low idle")

    page.get_by_text("After the pour: compare, next change, store", exact=True).click()
    type_into(page, "Poured before start (L)", "16")
    page.get_by_text("poured 16 L, expected", exact=False).first.wait_for()
    type_into(page, "Sight gauge after (mm)", "110")
    press(page, "Store the refill")
    page.get_by_text("Stored in the records.").first.wait_for()
    assert no_overflow(page)

    page.get_by_test_id("stMain").get_by_role("link", name="Service").first.click()
    settled(page)
    page.get_by_text("Undo a save", exact=True).click()
    page.get_by_text("top-up: 16 L", exact=False).first.wait_for()
    press(page, "Undo this save")
    page.get_by_text("entries crossed out", exact=False).first.wait_for()
    assert seen.outside == []
    assert seen.complaints == []


def test_service_prints_a_blank_sheet(phone: tuple[Any, Seen], tmp_path: Path) -> None:
    page, seen = phone
    page.goto(f"{seen.base}/service?machine=juniper")
    settled(page)
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Blank service sheet (PDF)").click()
    path = tmp_path / "blank.pdf"
    waiting.value.save_as(path)
    assert len(pypdf.PdfReader(path).pages) == 1
    assert no_overflow(page)
    assert seen.outside == []
