"""Measured tables."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from fluidapp.calc import geometry as geo
from fluidapp.errors import BadInput, OutOfRange

LEVELS, LITRES = [0, 50, 100, 150, 200, 250], [0, 11, 26, 44, 63, 80]


def test_every_mark_of_the_table_is_given_back():
    curve = geo.strapping(LEVELS, LITRES)
    assert curve.volume_l(np.array(LEVELS, float)) == pytest.approx(LITRES, abs=1e-12)
    assert curve.level_mm(np.array(LITRES, float)) == pytest.approx(LEVELS, abs=1e-9)


def test_between_marks_it_is_the_monotone_cubic_of_the_reference_library():
    curve, other = geo.strapping(LEVELS, LITRES), PchipInterpolator(LEVELS, LITRES)
    level = np.linspace(0, 250, 1001)
    assert curve.volume_l(level) == pytest.approx(other(level), abs=1e-11)
    assert curve.area_dm2(level) == pytest.approx(100.0 * other.derivative()(level), abs=1e-9)


def test_its_inverse_agrees_with_a_root_finder_on_the_reference_library():
    from scipy.optimize import brentq

    want = brentq(lambda h: PchipInterpolator(LEVELS, LITRES)(h) - 35.0, 100, 150, xtol=1e-12)
    assert geo.strapping(LEVELS, LITRES).level_mm(35.0) == pytest.approx(want, abs=1e-8)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(0.5, 80), st.floats(0.0, 40)), min_size=1, max_size=12), st.floats(0, 1))
def test_any_table_goes_there_and_back(steps, share):
    level, litres = np.cumsum([(5.0, 2.0), *steps], axis=0).T
    if not litres[-1] > litres[0]:
        return
    curve = geo.strapping(level, litres)
    volume = curve.least_l + share * (curve.capacity_l - curve.least_l)
    assert curve.volume_l(curve.level_mm(volume)) == pytest.approx(volume, abs=1e-10 * curve.capacity_l)
    assert np.all(np.diff(curve.volume_l(np.linspace(level[0], level[-1], 500))) >= -1e-12 * curve.capacity_l)


def test_a_table_of_a_lying_cylinder_is_as_good_as_the_docstring_says():
    """11 equal steps: 0.33 % of the capacity at worst."""
    exact = geo.Tank([(1, geo.horizontal_cylinder(6.0, 12.0))]).curve()
    marks = np.linspace(0, 600, 11)
    table = geo.strapping(marks, exact.volume_l(marks))
    level = np.linspace(0, 600, 4001)
    worst = np.max(np.abs(table.volume_l(level) - exact.volume_l(level))) / exact.capacity_l
    assert 0.0032 < worst < 0.0034


def test_it_is_never_read_beyond_its_marks():
    curve = geo.strapping([20, 120], [5, 30])
    assert (curve.low_mm, curve.high_mm, curve.least_l, curve.capacity_l, curve.bottom_c_dm) == (20.0, 120.0, 5.0, 30.0, None)
    for bad in (19.999, 120.001):
        with pytest.raises(OutOfRange):
            curve.volume_l(bad)
    for bad in (4.999, 30.001):
        with pytest.raises(OutOfRange):
            curve.level_mm(bad)


@pytest.mark.parametrize(
    ("level", "litres", "named"),
    [
        ([0, 100, 90], [0, 10, 20], 90.0),
        ([0, 100, 100], [0, 10, 20], 100.0),
        ([0, 100, 200], [0, 10, 9.5], 9.5),
        ([0, 100, float("nan")], [0, 10, 20], None),
        ([0, 100], [-1, 10], -1.0),
        ([0, 100], [5, 5], 5.0),
        ([0], [0], None),
        ([0, 100], [0, 10, 20], None),
    ],
)
def test_a_table_out_of_order_is_refused_and_the_place_named(level, litres, named):
    with pytest.raises(BadInput) as caught:
        geo.strapping(level, litres)
    if named is not None:
        assert caught.value.value == named
