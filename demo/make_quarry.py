"""Writes the demo's files: an invented gravel quarry with eighteen months of records. Run it as: python demo/make_quarry.py [folder]

The seed is fixed, so that the files come out the same every time; another one gives another eighteen months of the same stories. Nothing
in them is real.
"""

import sys
from pathlib import Path

from maker import fleet, site, writing
from maker.stories import STORIES
from maker.year import live

HEADING = "Invented demo data, written by demo/make_quarry.py."


def main(folder: Path, seed: int | None = None) -> None:
    """All files of the demo into ``folder``; seed : another course of chance than that of the demo."""
    (folder / "machines").mkdir(parents=True, exist_ok=True)
    machines = fleet.fleet()
    for doc in machines:
        text = f"# {HEADING} Every figure is typical for its size class.\n{writing.toml(doc)}"
        (folder / "machines" / f"{doc['key']}.toml").write_text(text, encoding="utf-8")
    text = f"# {HEADING}\n\n[site]\n{writing.toml(site.site())}" + "".join(f"\n[[gun]]\n{writing.toml(gun)}" for gun in site.guns())
    (folder / "quarry.toml").write_text(text, encoding="utf-8")
    text = f"# {HEADING} No maker's product.\n" + "".join(f"\n[[product]]\n{writing.toml(p)}" for p in site.products())
    (folder / "products.toml").write_text(text, encoding="utf-8")
    book = live(machines, STORIES) if seed is None else live(machines, STORIES, seed)
    for sheet in ("readings", "movements", "shots", "meters"):
        writing.table(getattr(book, sheet), sheet, folder / f"{sheet}.csv")
    writing.entries(book.others, folder / "others.toml", HEADING)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "quarry")
