"""Machine hours between two looks at the meter."""

import pytest

from fluidapp.calc.hours import hours_at, total_now
from fluidapp.errors import BadInput, OutOfRange


def test_hours_grow_in_proportion_between_two_looks_and_stand_still_outside() -> None:
    assert [hours_at([0.0, 10.0, 20.0], [100.0, 150.0, 150.0], day) for day in (-1.0, 0.0, 5.0, 15.0, 99.0)] == [100, 100, 125, 150, 150]
    assert hours_at([], [], 3.0) == 0.0
    with pytest.raises(BadInput, match="hours"):
        hours_at([0.0], [], 1.0)


def test_the_total_goes_on_from_the_last_look_and_never_back() -> None:
    assert total_now(40.0, 30.0, 8000.0) == 8010.0  # after a new meter
    assert total_now(5100.0, None, 0.0) == 5100.0
    with pytest.raises(OutOfRange, match="Hour meter: 20 h is below 30 h"):
        total_now(20.0, 30.0, 8000.0)
