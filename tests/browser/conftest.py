"""One app on the demo and one on empty records for all browser tests of a worker."""

import os
from collections.abc import Iterator
from typing import Any

import pytest

from tests.browser import driving


@pytest.fixture(scope="session", autouse=True)
def chromium() -> None:
    """A newcomer without Debian's chromium may skip; CI may not."""
    if driving.CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("chromium is not installed, and in CI a browser test must run")
        pytest.skip("chromium is not installed (apt-get install chromium)")


@pytest.fixture(scope="session")
def demo_app() -> Iterator[str]:
    with driving.app("demo") as base:
        yield base


@pytest.fixture(scope="session")
def opened() -> Iterator[Any]:
    with driving.browser() as browser:
        yield browser


@pytest.fixture
def phone(opened: Any, demo_app: str) -> Iterator[tuple[Any, driving.Seen]]:
    """A page at phone size on the demo, and what it asked for."""
    context = driving.context(opened)
    page = context.new_page()
    seen = driving.Seen(demo_app)
    seen.watch(page)
    yield page, seen
    context.close()
