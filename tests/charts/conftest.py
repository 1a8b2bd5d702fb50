"""Every mark of a chart is checked against altair's schema while the tests of charts run."""

from collections.abc import Iterator

import pytest
from altair.utils import schemapi

import fluidapp.charts


@pytest.fixture(autouse=True)
def _checked() -> Iterator[None]:
    assert fluidapp.charts.schemapi.DEBUG_MODE is False
    with schemapi.debug_mode(True):
        yield
