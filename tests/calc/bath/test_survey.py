"""What the mean of some depths round the ring is worth."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc.bath import Survey
from fluidapp.errors import BadInput, OutOfRange


def test_four_opposite_depths_are_worth_two_mm_over_the_root_of_four():
    survey = Survey((30, 30, 30, 30), (0, 90, 180, 270))
    assert survey.mean_mm == 30
    assert survey.u_mm == pytest.approx(1.0)
    assert survey.dof == math.inf
    assert survey.remarks == ()


@pytest.mark.parametrize("n", [4, 6, 9])
def test_a_mean_of_four_or_more_is_worth_as_much_as_its_depths_one_by_one(n):
    told, one_by_one = Survey((30.0,), mean_of=n), Survey((30.0,) * n)
    assert (told.mean_mm, told.dof) == (one_by_one.mean_mm, one_by_one.dof)
    assert told.u_mm == pytest.approx(one_by_one.u_mm)
    assert (told.balanced, told.remarks, told.assumed) == (True, one_by_one.remarks, one_by_one.assumed)


def test_a_mean_of_three_leaves_the_tilt_in():
    assert Survey((30.0,), mean_of=3).u_mm == 8.0
    assert "Fewer than four" in Survey((30.0,), mean_of=3).remarks[0]


@pytest.mark.parametrize(("depths", "n"), [((30.0, 31.0), 4), ((30.0,), 0)])
def test_how_many_depths_a_mean_has_goes_with_one_figure_alone(depths, n):
    with pytest.raises(BadInput, match="depths behind the mean"):
        Survey(depths, mean_of=n)


@pytest.mark.parametrize("n", [1, 2, 3])
def test_fewer_than_four_depths_widen_the_answer_to_8_mm(n):
    survey = Survey((30.0,) * n)
    assert survey.u_mm == 8.0
    assert any("Fewer than four" in remark for remark in survey.remarks)


def test_depths_on_one_side_leave_the_tilt_in():
    survey = Survey((30, 31, 32, 33), (0, 20, 40, 60))
    assert not survey.balanced
    assert survey.u_mm == 8.0
    assert any("one side" in remark for remark in survey.remarks)


@given(tilt=st.floats(-15, 15), toward=st.floats(0, 360), mean=st.floats(20, 60))
def test_a_tilt_cancels_in_opposite_pairs(tilt, toward, mean):
    """A tilted plane read at opposite places: the mean is the middle's depth, and its ± does not grow."""
    angles = (0, 45, 90, 180, 225, 270)
    depths = tuple(mean + tilt * math.cos(math.radians(a - toward)) for a in angles)
    survey = Survey(depths, angles)
    assert survey.mean_mm == pytest.approx(mean, abs=1e-9)
    assert survey.scatter_mm == pytest.approx(0.0, abs=1e-6)
    assert survey.u_mm == pytest.approx(2.0 / math.sqrt(6))


def test_one_degree_over_0_9_m_is_a_bias_of_7_9_mm_at_one_edge():
    """Plane geometry, computed by us; the reason for the 8 mm of one-sided depths."""
    assert 450 * math.tan(math.radians(1)) == pytest.approx(7.9, abs=0.05)
    assert Survey((30,)).u_mm == pytest.approx(7.9, abs=0.2)


def test_uneven_grease_widens_the_mean_little_by_little():
    """Scatter 6 mm about the plane on 5 degrees of freedom beside a typical 2 mm on 8: sqrt((8*4 + 5*36)/13) = 4.04 mm."""
    depths = (30.0, 30.0, 30.0, 30.0, 30.0, 30.0, 30.0, 30.0)
    angles = (0, 45, 90, 135, 180, 225, 270, 315)
    wave = [6.0 * math.sqrt(5 / 8) * s for s in (1, -1, 1, -1, 1, -1, 1, -1)]  # no tilt in it
    survey = Survey(tuple(d + w for d, w in zip(depths, wave, strict=True)), angles)
    assert survey.scatter_mm == pytest.approx(6.0)
    assert survey.u_mm == pytest.approx(math.sqrt((8 * 4 + 5 * 36) / 13) / math.sqrt(8))
    assert survey.dof == 13
    assert any("does not level itself" in remark for remark in survey.remarks)


def test_places_that_were_not_noted_are_named_as_assumed():
    assert Survey((30, 31, 30, 31)).assumed == ("the depths are spread evenly, all round",)
    assert Survey((30, 31, 30, 31), (0, 180, 90, 270)).assumed == ()


@pytest.mark.parametrize(
    ("kwargs", "error"),
    [
        ({"depths_mm": ()}, BadInput),
        ({"depths_mm": (30, -1)}, OutOfRange),
        ({"depths_mm": (30, math.nan)}, OutOfRange),
        ({"depths_mm": (30, 30), "slew_deg": (0,)}, BadInput),
        ({"depths_mm": (30,), "slew_deg": (math.nan,)}, BadInput),
        ({"depths_mm": (30,), "u_few_mm": 0.0}, BadInput),
    ],
)
def test_depths_that_cannot_be_are_errors(kwargs, error):
    with pytest.raises(error):
        Survey(**kwargs)
