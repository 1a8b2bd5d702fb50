"""Records at phone size: filters in the address, an entry added, corrected and undone, nothing clipped."""

from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.driving import Seen, faults, no_overflow, press_until, settled, type_into

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def test_an_entry_is_found_by_its_filters_added_corrected_and_undone(phone: tuple[Any, Seen]) -> None:
    page, seen = phone
    page.goto(f"{seen.base}/records?machine=sorrel&records_kind=note&records_kind=oil+sample&add_what=Note")
    settled(page)
    page.get_by_text("Only note, oil sample.", exact=False).wait_for()
    page.get_by_text("Oil sample from Hydraulic tank", exact=False).first.wait_for()
    assert no_overflow(page)

    page.get_by_label("Note", exact=True).fill("The stick is bent")
    page.keyboard.press("Tab")
    settled(page)
    press_until(page, "Store the note", "Note: stored in the records.")
    page.get_by_text("Note: The stick is bent").first.wait_for()
    expect(page.get_by_label("Note", exact=True)).to_have_value("")

    page.get_by_text("Open", exact=True).first.click()
    settled(page)
    page.wait_for_url("**entry=**")
    page.get_by_text("Correct it", exact=True).click()
    settled(page)
    box = page.get_by_label("Note", exact=True)
    expect(box).to_have_value("The stick is bent")
    type_into(page, "Note", "The stick is straight")
    assert no_overflow(page)
    assert faults(page) == []
    press_until(page, "Store the correction", "Corrected: the new entry counts")
    page.get_by_text("Note: The stick is straight").first.wait_for()
    page.wait_for_url("**records_kind=note**")  # the filters came back into the address
    assert page.get_by_text("Note: The stick is bent").count() == 0

    page.get_by_text("Undo a save", exact=True).click()
    press_until(page, "Undo this save", "1 entry crossed out")
    assert no_overflow(page)
    assert seen.outside == []
    assert seen.complaints == []
