"""What every printed sheet shares."""

from pathlib import Path
from typing import Any

import pytest

from fluidapp.sheets import _page


def test_a_page_leaves_no_font_file_open_finished_or_not(monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[Any] = []
    real = open
    monkeypatch.setattr("builtins.open", lambda *args, **kwargs: opened.append(real(*args, **kwargs)) or opened[-1])
    _page.page("Sheet", ["a line"], ["a caution"])
    fonts = [file for file in opened if Path(file.name).suffix == ".ttf"]
    assert len(fonts) == 2
    assert all(file.closed for file in fonts)
