"""A newcomer at phone size, from empty records: a machine from typical figures, three pours, the dip chart, a reading."""

from pathlib import Path
from typing import Any

import pytest

from tests.browser import driving
from tests.browser.driving import Seen, choose, settled, type_into

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def test_a_newcomer_adds_an_excavator_calibrates_its_tank_prints_the_chart_and_reads_it(opened: Any, tmp_path: Path) -> None:
    with driving.app(env={"FLUIDAPP_DB": str(tmp_path / "own.db")}) as base:
        context = driving.context(opened)
        page = context.new_page()
        seen = Seen(base)
        seen.watch(page)

        page.goto(f"{base}/machines")
        settled(page)
        type_into(page, "Name of the machine", "Digger 7")
        choose(page, "Class", "20 t excavator")
        page.get_by_role("button", name="Add the machine").click()
        page.get_by_text("Digger 7 is entered").first.wait_for()
        settled(page)

        page.get_by_test_id("stMain").get_by_role("link", name="Calibration").first.click()
        settled(page)
        # 5 L each raise a tank of 600 x 550 mm (0.33 L in each mm) by 15.2 mm; read to the nearest mm
        type_into(page, "Reading 1, before the first pour (mm)", "262")
        for n, reading in enumerate(("277", "292", "308"), 1):
            type_into(page, f"Pour {n} (L)", "5")
            type_into(page, f"Reading {n + 1} (mm)", reading)
        page.get_by_test_id("stMetricValue").first.wait_for()
        per_step = page.get_by_test_id("stMetricValue").first.inner_text()
        value, half = float(per_step.split()[0]), float(per_step.split("±")[1].split()[0])
        assert abs(value - 3.26) <= half  # 15 L over 46 mm, for 10 mm
        page.get_by_role("button", name="Use it for this machine").click()
        page.get_by_text("is calibrated with 3 pours").first.wait_for()
        settled(page)

        page.goto(f"{base}/machines?machine=digger-7")
        settled(page)
        page.get_by_text("Dip chart: a card for the cab").first.click()
        card = page.get_by_role("button", name="Card (PDF)").first
        card.scroll_into_view_if_needed()
        with page.expect_download(timeout=30_000) as waiting:
            card.click()
        assert Path(waiting.value.path()).read_bytes().startswith(b"%PDF")

        page.goto(f"{base}/level-check?machine=digger-7&part=tank")
        settled(page)
        type_into(page, "Sight gauge (mm)", "300")
        page.get_by_test_id("stMetricValue").first.wait_for()
        assert "±" in page.get_by_test_id("stMetricValue").first.inner_text()

        context.close()
    assert seen.outside == []
    assert seen.complaints == []
