"""Starts the demo of an installed fluidapp from an empty folder and reads one answer off the screen.

Usage: python tests/browser/wheel.py PATH/TO/fluidapp
"""

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.browser import driving


def main(command: str) -> int:
    with (
        tempfile.TemporaryDirectory() as empty,
        driving.app("demo", fluidapp=[command], cwd=Path(empty)) as base,
        driving.browser() as opened,
    ):
        page = driving.context(opened).new_page()
        seen = driving.Seen(base)
        seen.watch(page)
        page.goto(f"{base}/top-up?machine=juniper&part=tank&topup_reading=95")
        driving.settled(page)
        page.get_by_test_id("stMetricValue").first.wait_for(timeout=30_000)
        answer = page.get_by_test_id("stMetricValue").first.inner_text()
        print(f"{command} demo, from another folder: {answer}")
        assert "±" in answer, answer
        assert not seen.outside, seen.outside
        assert not seen.complaints, seen.complaints
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
