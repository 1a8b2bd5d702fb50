"""Readings told by the marks. Arithmetic on the scale, by hand; the width of "one third" is our own, typical figure."""

import math

import numpy as np
import pytest

from fluidapp.calc import marks
from fluidapp.errors import BadInput, OutOfRange
from fluidapp.model import Band, LevelPlug, Percent, SightGlass, Stick

BAND = Band(low=150.0, high=250.0, target=240.0)
GLASS = SightGlass(kind="sight glass", name="glass", end_mm=300.0, bands=(BAND,))


@pytest.mark.parametrize(
    ("mark", "below", "level"),
    [("H", 12.0, 238.0), ("H", -8.0, 258.0), ("L", 30.0, 120.0), ("target", 0.0, 240.0), ("target", 15.5, 224.5)],
)
def test_so_many_mm_below_a_mark_is_a_reading(mark: marks.Mark, below: float, level: float) -> None:
    assert marks.from_mark(GLASS, BAND, mark, below) == pytest.approx(level)


def test_below_the_mark_beyond_the_gauge_is_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match=r"glass: -50 mm is not within 0 to 300 mm"):
        marks.from_mark(GLASS, BAND, "L", 200.0)


def test_one_third_between_the_marks_stands_a_third_of_their_distance_over_the_low_one() -> None:
    level, u = marks.between(GLASS, BAND, marks.SHARES["one third"])
    assert level == pytest.approx(150 + 100 / 3)
    assert u == pytest.approx(math.hypot(3.0, 100 / 12 / math.sqrt(3)))  # 3 mm: typical for a glass


def test_the_doubt_of_a_share_is_that_of_people_who_say_the_nearest_word() -> None:
    """Levels anywhere from 1/4 to 5/12 are called "one third"; their scatter about it is what is added to the reading's own."""
    _, u = marks.between(GLASS.model_copy(update={"u_mm": 1e-6}), BAND, 1 / 3)
    called = np.random.default_rng(3).uniform(150 + 100 / 4, 150 + 100 * 5 / 12, 200_000)
    assert called.std() == pytest.approx(u, rel=0.01)


@pytest.mark.parametrize("share", [-0.1, 1.1, math.nan])
def test_a_share_outside_the_marks_is_refused(share: float) -> None:
    with pytest.raises(BadInput, match="share of the way up"):
        marks.between(GLASS, BAND, share)


def test_only_gauges_with_marks_on_a_rising_mm_scale_are_told_by_them() -> None:
    assert marks.told_by_marks(GLASS)
    assert not marks.told_by_marks(Stick(kind="stick", name="s"))
    assert not marks.told_by_marks(LevelPlug(kind="level plug", name="p", bands=(Band(low=0.0, high=8.0),)))
    assert not marks.told_by_marks(Percent(kind="percent", name="dial", bands=(Band(low=40.0, high=60.0),)))
