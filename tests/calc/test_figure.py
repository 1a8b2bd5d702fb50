"""A value and its ±, as they are printed, and amounts that people can measure out."""

import math
import re

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import figure as fig
from fluidapp.errors import BadInput

VALUES = st.floats(-1e6, 1e6)
DOUBTS = st.floats(1e-6, 1e5)
FREEDOM = st.floats(1.0, 1e6) | st.just(math.inf)


@pytest.mark.published("figure", "student")
def test_the_factor_agrees_with_the_printed_table(case):
    g = case["given"]
    assert fig.coverage_factor(g["dof"], g["p"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.parametrize("dof", range(1, 31))
def test_the_factor_is_student_s_t_up_to_30_degrees_of_freedom(dof):
    assert fig.coverage_factor(dof) == pytest.approx(scipy.stats.t.ppf(0.975, dof), rel=1e-9)
    assert fig.coverage_factor(dof, 0.99) == pytest.approx(scipy.stats.t.ppf(0.995, dof), rel=1e-9)


def test_the_factor_is_2_above_30_degrees_of_freedom_and_fractions_are_cut():
    assert fig.coverage_factor(30.5) == fig.coverage_factor(math.inf) == 2.0
    assert fig.coverage_factor(16.9) == fig.coverage_factor(16.0)
    assert fig.coverage_factor(0.4) == fig.coverage_factor(1.0)
    assert fig.coverage_factor(math.inf, 0.99) == pytest.approx(scipy.stats.norm.ppf(0.995), rel=1e-9)


@given(VALUES, DOUBTS, FREEDOM)
def test_the_printed_interval_covers_the_computed_one(value, u, dof):
    shown = fig.figure(value, u, dof)
    assert shown.half >= fig.half_width(u, dof) * (1 - 1e-9)  # the last digits of a float, not of the figure
    assert shown.half > 0


@given(VALUES, DOUBTS, FREEDOM)
def test_the_value_is_within_half_a_step_and_the_step_not_above_the_half_width(value, u, dof):
    shown = fig.figure(value, u, dof)
    steps = [s * 10.0**p for p in range(-9, 8) for s in (1, 2, 5)]
    step = max(s for s in steps if s <= fig.half_width(u, dof) * (1 + 1e-6))
    assert abs(shown.value - value) <= step / 2 * (1 + 1e-6) + 1e-12 * abs(value)


@given(VALUES, DOUBTS, FREEDOM)
def test_the_printed_interval_is_less_than_twice_the_computed_one(value, u, dof):
    assert fig.figure(value, u, dof).half <= 2 * fig.half_width(u, dof) * (1 + 1e-9)


@given(VALUES, DOUBTS, FREEDOM)
def test_value_and_interval_are_printed_with_the_same_decimals_and_lose_nothing(value, u, dof):
    shown = fig.figure(value, u, dof, "L")
    found = re.fullmatch(r"(-?\d+(?:\.(\d+))?) ± (\d+(?:\.(\d+))?) L", str(shown))
    assert found
    assert len(found[2] or "") == len(found[4] or "")
    assert float(found[1]) == pytest.approx(shown.value, abs=shown.half * 1e-6)
    assert float(found[3]) == pytest.approx(shown.half, rel=1e-9)
    assert float(found[3]) > 0


@given(st.floats(-10, 10), st.floats(1e-3, 100))
def test_a_negative_zero_is_never_printed(value, u):
    assert not re.match(r"-0(\.0*)?(\s|$)", str(fig.figure(value, u)))


@pytest.mark.parametrize(
    ("value", "u", "dof", "words"),
    [
        (25.7, 1.45, math.inf, "26 ± 3 L"),
        (-0.2, 0.5, math.inf, "0 ± 1 L"),
        (0.637, 0.011, 3, "0.64 ± 0.04 L"),
        (235.2, 4.51, math.inf, "235 ± 10 L"),
        (235.2, 0.05, math.inf, "235.2 ± 0.1 L"),
        (1234.0, 60.0, math.inf, "1200 ± 200 L"),
        (9.96, 0.499, math.inf, "10.0 ± 1.0 L"),
        (25.0, 0.505, math.inf, "25 ± 2 L"),
        (0.0, 0.0005, math.inf, "0.000 ± 0.001 L"),
    ],
)
def test_figures_worked_out_by_hand(value, u, dof, words):
    assert str(fig.figure(value, u, dof)) == words


def test_a_figure_without_a_unit_ends_with_its_interval():
    assert str(fig.figure(0.5, 0.1, unit="")) == "0.5 ± 0.2"


@pytest.mark.parametrize("u", [0.0, -1.0, math.nan, math.inf])
def test_no_figure_without_its_doubt(u):
    with pytest.raises(BadInput, match="standard uncertainty"):
        fig.figure(10.0, u)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_no_figure(value):
    with pytest.raises(BadInput, match="value"):
        fig.figure(value, 1.0)


@pytest.mark.parametrize("dof", [0.0, -1.0, math.nan])
def test_degrees_of_freedom_are_above_0(dof):
    with pytest.raises(BadInput, match="degrees of freedom"):
        fig.figure(10.0, 1.0, dof)


@pytest.mark.published("figure", "pour_step")
def test_the_step_of_a_pour_is_what_people_can_measure(case):
    g = case["given"]
    assert fig.pour_step(g["amount"], g.get("class_t")) == case["want"]


@given(st.floats(-500, 500), st.none() | st.floats(1, 400))
def test_an_amount_to_pour_is_a_whole_number_of_steps_within_half_a_step(amount, class_t):
    pour, step = fig.to_pour(amount, class_t), fig.pour_step(amount, class_t)
    assert abs(pour - amount) <= step / 2 + 0.005
    assert pour / step == pytest.approx(round(pour / step), abs=1e-6)
    assert math.copysign(1.0, pour) == 1.0 or pour < 0


@pytest.mark.parametrize(
    ("amount", "words"), [(6.0, "6 L"), (1.25, "1.25 L"), (1.3, "1.3 L"), (100.0, "100 L"), (0.0, "0 L"), (20.0, "20 L")]
)
def test_litres_are_written_without_needless_zeros(amount, words):
    assert fig.litres(amount) == words
