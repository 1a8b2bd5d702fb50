"""Writes demo/screenshots: the screens on the demo, at phone and desktop size, in both themes.

Usage: python -m tests.browser.screenshots [FOLDER]
"""

import sys
from pathlib import Path
from typing import Any

from tests.browser import driving

FOLDER = Path(__file__).parents[2] / "demo" / "screenshots"
SHOTS = {
    "start": "",
    "level-check": "level-check?machine=teasel&part=tank&level_reading=90",
    "top-up": "top-up?machine=yarrow&part=tank&topup_reading=125",
    "oil-balance": "oil-balance?machine=teasel",
    "grease-bath": "grease-bath?machine=teasel",
    "greasing": "greasing?machine=juniper",
    "machines": "machines?machine=teasel",
    "records": "records?machine=teasel",
}


def entered(page: Any, name: str) -> None:
    """What a person would type on screens whose inputs are not in the address."""
    if name == "oil-balance":
        for k, text in enumerate(("84", "118", "51")):
            box = page.get_by_label("Now (mm)", exact=True).nth(k)
            box.fill(text)
            page.keyboard.press("Enter")
            driving.settled(page)
    if name == "grease-bath":
        for k, text in enumerate(("52", "50", "53", "51"), 1):
            driving.type_into(page, f"Depth {k} (mm)", text)


def main(folder: Path) -> int:
    folder.mkdir(parents=True, exist_ok=True)
    with driving.app("demo") as base, driving.browser() as opened:
        for size in ("phone", "desk"):
            for scheme in ("light", "dark"):
                context = driving.context(opened, size, scheme)
                page = context.new_page()
                for name, path in SHOTS.items():
                    page.goto(f"{base}/{path}")
                    driving.settled(page)
                    entered(page, name)
                    page.wait_for_timeout(700)
                    page.evaluate("document.activeElement && document.activeElement.blur()")
                    page.screenshot(path=folder / f"{name}-{size}-{scheme}.png")
                context.close()
    print(f"{len(list(folder.glob('*.png')))} pictures in {folder}")
    return 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER))
