"""The main job at phone size, from the menu to the records, as a mechanic walks it."""

import re
from pathlib import Path
from typing import Any

import pytest

import fluidapp
from tests.browser import driving
from tests.browser.driving import Seen, choose, faults, follow, metric, no_overflow, settled, type_into

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
MACHINE = "Teasel, 35 t"
PHONE = dict(zip(("width", "height"), driving.SIZES["phone"], strict=True))
SCREENS = ("", *re.findall(r'url_path="([\w-]+)"', (Path(fluidapp.__file__).parent / "app.py").read_text(encoding="utf-8")))


def test_from_a_reading_to_a_top_up_the_balance_the_bath_and_the_ring(phone: tuple[Any, Seen]) -> None:
    page, seen = phone
    page.goto(seen.base)
    settled(page)
    assert no_overflow(page)

    follow(page, "Level check")
    choose(page, "Machine", MACHINE)
    type_into(page, "Sight gauge (mm)", "90")
    level = metric(page)
    assert "±" in level
    assert level.endswith("L")
    page.get_by_text("90.0 mm on the sight gauge is").first.wait_for()
    assert no_overflow(page)

    follow(page, "Top-up")
    type_into(page, "Sight gauge (mm)", "90")
    assert "±" in metric(page)
    page.get_by_text("Pour", exact=False).first.wait_for()
    page.get_by_text("Store the reading and what was poured").click()
    type_into(page, "Really poured (L)", "5 US gal")
    type_into(page, "Your name", "Ada")
    page.get_by_role("button", name="Store it").click()
    page.get_by_text("Stored in the records.").wait_for()
    settled(page)
    assert no_overflow(page)

    follow(page, "Oil balance")
    boxes = page.get_by_label("Now (mm)", exact=True)
    boxes.nth(0).fill("80")
    page.keyboard.press("Enter")
    settled(page)
    boxes.nth(1).fill("120")
    page.keyboard.press("Enter")
    settled(page)
    assert "±" in metric(page)
    assert no_overflow(page)

    follow(page, "Grease bath")
    for k, depth in enumerate(("49", "48", "50", "49"), 1):
        type_into(page, f"Depth {k} (mm)", depth)
    assert "±" in metric(page)
    assert no_overflow(page)

    follow(page, "Greasing")
    page.get_by_text("boom over", exact=False).first.wait_for()
    assert no_overflow(page)

    follow(page, "Records")
    page.get_by_text("top-up: 5 US gal", exact=False).first.wait_for()
    assert no_overflow(page)

    assert seen.outside == []
    assert seen.complaints == []


def test_a_refused_reading_is_one_sentence_and_no_answer(phone: tuple[Any, Seen]) -> None:
    page, seen = phone
    page.goto(f"{seen.base}/level-check?machine=teasel&part=tank")
    settled(page)
    type_into(page, "Sight gauge (mm)", "12x")
    page.get_by_text("“12x” cannot be used").wait_for()
    assert page.get_by_test_id("stMetricValue").count() == 0
    type_into(page, "Sight gauge (mm)", "12,5")
    page.get_by_text("12.5 mm on the sight gauge").first.wait_for()


def test_a_deep_link_stands_after_a_reload(phone: tuple[Any, Seen]) -> None:
    page, seen = phone
    page.goto(f"{seen.base}/top-up?machine=teasel&part=tank&topup_reading=90")
    settled(page)
    first = metric(page)
    page.reload()
    settled(page)
    assert metric(page) == first


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_screen_is_too_wide_or_hard_to_use_and_nothing_leaves_the_machine(opened: Any, demo_app: str, scheme: str) -> None:
    context = driving.context(opened, "phone", scheme)
    page = context.new_page()
    seen = driving.Seen(demo_app)
    seen.watch(page)
    for path in SCREENS:
        page.set_viewport_size(PHONE)
        page.goto(f"{demo_app}/{path}" + ("" if path in ("", "help") else "?machine=teasel"))
        settled(page)
        page.get_by_role("heading", level=1).first.wait_for()
        assert page.get_by_test_id("stException").count() == 0, path
        assert no_overflow(page), (path, PHONE)
        assert faults(page) == [], path
        for width, height in (driving.SIZES["tablet"], driving.SIZES["desk"]):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(150)  # pictures are drawn anew at the new width
            assert no_overflow(page), (path, width)
    context.close()
    assert seen.outside == []
    assert seen.complaints == []
