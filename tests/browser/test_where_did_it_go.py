"""From "the gauge is low and nothing is wet" to a ranked answer at phone size, in at most twelve inputs."""

from typing import Any

import pytest

from tests.browser.driving import Seen, choose, settled

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


class Counted:
    """A page on which every input is counted: a choice, a tap on an answer, a number."""

    def __init__(self, page: Any) -> None:
        self.page, self.inputs = page, 0

    def choose(self, label: str, option: str) -> None:
        choose(self.page, label, option)
        self.inputs += 1

    def tap(self, words: str) -> None:
        self.page.get_by_text(words, exact=True).first.click()
        settled(self.page)
        self.inputs += 1

    def enter(self, number: int, text: str) -> None:
        """Types into the box "Now (mm)" of that number."""
        box = self.page.get_by_label("Now (mm)", exact=True).nth(number)
        box.click()
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")
        settled(self.page)
        self.inputs += 1


def test_nothing_is_wet_and_the_walk_ends_with_ranked_ways(phone: tuple[Any, Seen]) -> None:
    page, seen = phone
    page.goto(f"{seen.base}/oil-balance")
    settled(page)
    hand = Counted(page)
    hand.choose("Machine", "Yarrow, 20 t")
    hand.tap("Question guide")
    for question, answer in (
        ("1. Read in the same posture", "yes"),
        ("2. Has anybody poured", "no"),
        ("3. Wet outside", "dry all round"),
        ("4. Are all drain cocks", "yes"),
        ("5. Slewing gearbox: what does the stick show", "above, thin"),
    ):
        page.get_by_text(question, exact=False).first.wait_for(timeout=30_000)
        hand.tap(answer)
    page.get_by_text("6. Grease bath", exact=False).first.wait_for(timeout=30_000)
    hand.enter(0, "60")  # the gauge is low: the sight gauge of the tank
    hand.enter(1, "130")  # and the dipstick of the slewing gearbox
    page.get_by_text("Which way fits", exact=True).first.wait_for(timeout=30_000)
    lead = page.get_by_text("Heaviest", exact=False).first.inner_text()
    assert "hydraulic tank → slewing gearbox" in lead
    assert "outside" not in lead
    assert "nobody wrote down" not in lead
    assert "±" in page.get_by_test_id("stMetricValue").first.inner_text()
    page.get_by_text("Cheapest check", exact=False).first.wait_for()
    assert hand.inputs <= 12, hand.inputs
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert page.get_by_test_id("stException").count() == 0
    assert seen.outside == []
    assert seen.complaints == []
