"""Which way is up."""

import numpy as np
import pytest

from fluidapp.calc.geometry import slope, up
from fluidapp.errors import BadInput


def test_a_level_machine_points_straight_up():
    assert up(0.0, 0.0).tolist() == [0.0, 0.0, 1.0]


def test_nose_up_lifts_what_lies_ahead():
    assert up(3.0, 0.0) @ [1.0, 0.0, 0.0] > 0.0


def test_right_side_down_lifts_the_left():
    assert up(0.0, 3.0) @ [0.0, 1.0, 0.0] > 0.0


def test_the_direction_has_length_one_and_gives_its_angles_back():
    rng = np.random.default_rng(7)
    for pitch, roll in rng.uniform(-40, 40, (50, 2)):
        n = up(pitch, roll)
        assert n @ n == pytest.approx(1.0, abs=1e-15)
        assert slope(n) == pytest.approx((pitch, roll), abs=1e-12)


def test_a_level_laid_across_reads_the_cosine_rule():
    """A level along y shows b with sin b = cos p sin r: the height gained along y over the length along y."""
    n = up(10.0, 20.0)
    assert np.arcsin(n[1]) == pytest.approx(np.arcsin(np.cos(np.radians(10)) * np.sin(np.radians(20))), abs=1e-15)


def test_half_a_turn_of_swing_reverses_both_slopes():
    assert slope(up(4.0, -2.0, 180.0)) == pytest.approx((-4.0, 2.0), abs=1e-12)


def test_a_quarter_turn_to_the_left_makes_nose_up_into_right_side_up():
    """Upper structure turned left: what was ahead of it is now the machine's left, so uphill lies to its right."""
    pitch, roll = slope(up(5.0, 0.0, 90.0))
    assert pitch == pytest.approx(0.0, abs=1e-12)
    assert roll == pytest.approx(-5.0, abs=1e-12)


def test_swing_on_level_ground_changes_nothing():
    assert up(0.0, 0.0, 37.0).tolist() == [0.0, 0.0, 1.0]


def test_slopes_too_small_to_measure_count_as_level():
    assert up(4.9e-4, -4.9e-4).tolist() == [0.0, 0.0, 1.0]
    assert up(5.1e-4, 0.0)[0] > 0.0


def test_arrays_broadcast():
    n = up(np.zeros((4, 1)), np.linspace(0, 3, 5))
    assert n.shape == (4, 5, 3)
    assert n[2, 4].tolist() == up(0.0, 3.0).tolist()


@pytest.mark.parametrize("field", ["pitch", "roll", "swing"])
def test_an_angle_that_is_not_a_number_is_refused_by_name(field):
    angles = {"pitch": 1.0, "roll": 1.0, "swing": 0.0} | {field: float("nan")}
    with pytest.raises(BadInput) as caught:
        up(angles["pitch"], angles["roll"], angles["swing"])
    assert caught.value.field == field
