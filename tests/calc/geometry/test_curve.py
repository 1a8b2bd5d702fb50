"""The level curve: the exact volume again, there and back, from brim to bottom, and nothing outside."""

import pickle

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fluidapp.calc import geometry as geo
from fluidapp.errors import OutOfRange

TANKS = {
    "box": geo.Tank([(1, geo.box(12, 7, 6))]),
    "lying cylinder": geo.Tank([(1, geo.horizontal_cylinder(6.0, 12.0))]),
    "obround with a pipe": geo.Tank([(1, geo.obround(10, 5, 16)), (-1, geo.upright_cylinder(0.6, 3.0, at=(3, 5, 0.5)))]),
    "two floors": geo.Tank([(1, geo.box(6, 5, 4)), (-1, geo.box(3, 5, 1.5))]),
}
SLOPES = [(0.0, 0.0), (3.0, -2.0), (0.001, 0.0), (0.0, 12.0), (-35.0, 20.0)]


@pytest.mark.parametrize("slope", SLOPES)
@pytest.mark.parametrize("name", TANKS)
def test_the_curve_is_the_exact_volume(name, slope):
    t, n = TANKS[name], geo.up(*slope)
    curve = t.curve(*slope)
    level = np.linspace(0.008, 0.992, 501) * curve.high_mm
    exact, area = t.vol(curve.bottom_c_dm + level / 100.0, n)
    assert curve.volume_l(level) == pytest.approx(exact, rel=1e-9, abs=1e-10 * t.capacity_l if any(slope) else 0.0)
    away = np.min(np.abs(curve.bottom_c_dm + level[:, None] / 100.0 - t.crit(n)), axis=1) > 1e-3
    assert curve.area_dm2(level)[away] == pytest.approx(area[away], rel=1e-5)


def test_the_curve_of_a_lying_cylinder_agrees_with_the_reference_library():
    curve, other = TANKS["lying cylinder"].curve(), fluids.TANK(D=6.0, L=12.0, horizontal=True)
    h = np.linspace(0.008, 0.992, 1000) * 6.0
    assert curve.volume_l(100.0 * h) == pytest.approx(np.array([other.V_from_h(x) for x in h]), rel=1e-9)


@pytest.mark.parametrize("slope", SLOPES)
@pytest.mark.parametrize("name", TANKS)
def test_bottom_and_brim_are_exact(name, slope):
    t = TANKS[name]
    curve = t.curve(*slope)
    assert curve.low_mm == 0.0
    assert curve.volume_l(curve.low_mm) == 0.0
    assert curve.volume_l(curve.high_mm) == t.capacity_l == curve.capacity_l
    assert curve.level_mm(0.0) == 0.0
    assert curve.level_mm(t.capacity_l) == curve.high_mm
    both = np.array([curve.low_mm, curve.high_mm])
    assert curve.volume_l(both).tolist() == [0.0, t.capacity_l]
    assert curve.level_mm(np.array([0.0, t.capacity_l])).tolist() == both.tolist()


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(TANKS)), st.sampled_from(SLOPES), st.floats(0.0, 1.0))
def test_there_and_back_is_the_same_volume(name, slope, share):
    curve = TANKS[name].curve(*slope)
    volume = share * curve.capacity_l
    assert curve.volume_l(curve.level_mm(volume)) == pytest.approx(volume, abs=1e-11 * curve.capacity_l)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(TANKS)), st.sampled_from(SLOPES), st.floats(0.02, 0.98))
def test_there_and_back_is_the_same_level(name, slope, share):
    curve = TANKS[name].curve(*slope)
    level = share * curve.high_mm
    assert curve.level_mm(curve.volume_l(level)) == pytest.approx(level, abs=1e-7)


@pytest.mark.parametrize("name", TANKS)
def test_one_reading_and_a_column_of_readings_agree(name):
    curve = TANKS[name].curve(3.0, -2.0)
    level = np.linspace(0.0, curve.high_mm, 333)
    volume = curve.volume_l(level)
    assert [curve.volume_l(float(x)) for x in level] == pytest.approx(volume.tolist(), rel=1e-14, abs=1e-14)
    assert [curve.level_mm(float(v)) for v in volume] == pytest.approx(curve.level_mm(volume).tolist(), abs=1e-9)
    assert curve.volume_l(level.reshape(9, 37)).shape == (9, 37)
    assert isinstance(curve.volume_l(10.0), float)
    assert isinstance(curve.level_mm(10.0), float)
    assert isinstance(curve.area_dm2(10.0), float)


@pytest.mark.parametrize("name", TANKS)
def test_a_million_levels_never_run_backwards(name):
    curve = TANKS[name].curve(0.3, 0.0)
    assert np.all(np.diff(curve.volume_l(np.linspace(0.0, curve.high_mm, 1_000_000))) >= -1e-12 * curve.capacity_l)


def test_the_first_drops_in_a_corner_are_never_below_nothing():
    """Volume grows there with the third power of the level: the cubic cell must not dip under 0 on its way."""
    curve = TANKS["box"].curve(-35.0, 20.0)
    volume = curve.volume_l(np.geomspace(1e-12, 1e-2, 2000))
    assert np.all(volume >= 0.0)
    assert np.all(np.diff(volume) >= 0.0)


@pytest.mark.parametrize("slope", [(0.0, 0.0), (-35.0, 20.0)])
@pytest.mark.parametrize("name", ["lying cylinder", "obround with a pipe"])
def test_the_level_of_the_first_drops_is_found_to_a_millionth(name, slope):
    """In the lowest cell the curve is far from straight: as many steps as it takes, for one and for many."""
    curve = TANKS[name].curve(*slope)
    level = np.geomspace(1e-4, 1.0, 200)
    volume = curve.volume_l(level)
    assert curve.level_mm(volume) == pytest.approx(level, rel=1e-6)
    assert [curve.level_mm(float(v)) for v in volume] == pytest.approx(level.tolist(), rel=1e-6)


@pytest.mark.parametrize("asked", [-1e-6, 600.000001, float("nan"), float("inf")])
def test_just_outside_is_refused_with_its_numbers(asked):
    curve = TANKS["box"].curve()
    for value in (asked, np.array([300.0, asked])):
        with pytest.raises(OutOfRange) as caught:
            curve.volume_l(value)
        assert (caught.value.field, caught.value.low, caught.value.high, caught.value.unit) == ("level", 0.0, 600.0, "mm")
        assert caught.value.value == asked or np.isnan(asked)
        with pytest.raises(OutOfRange):
            curve.area_dm2(value)


@pytest.mark.parametrize("asked", [-1e-9, 504.0000001, float("nan")])
def test_a_volume_that_does_not_fit_is_refused(asked):
    curve = TANKS["box"].curve()
    for value in (asked, np.array([300.0, asked])):
        with pytest.raises(OutOfRange) as caught:
            curve.level_mm(value)
        assert (caught.value.field, caught.value.low, caught.value.high, caught.value.unit) == ("volume", 0.0, 504.0, "L")


def test_a_column_may_have_its_bad_readings_marked_instead():
    curve = TANKS["box"].curve()
    asked = np.array([-1.0, 100.0, 601.0, np.nan, 600.0])
    assert np.isnan(curve.volume_l(asked, outside="nan")).tolist() == [True, False, True, True, False]
    assert np.isnan(curve.area_dm2(asked, outside="nan")).tolist() == [True, False, True, True, False]
    assert np.isnan(curve.level_mm(np.array([-1.0, 100.0, 505.0, np.nan]), outside="nan")).tolist() == [True, False, True, True]
    assert np.isnan(curve.volume_l(-1.0, outside="nan"))
    assert np.isnan(curve.level_mm(505.0, outside="nan"))


def test_the_surface_at_a_floor_is_the_one_above_it():
    curve = TANKS["two floors"].curve()
    assert curve.area_dm2(0.0) == pytest.approx(15.0, rel=1e-9)
    assert curve.area_dm2(149.999) == pytest.approx(15.0, rel=1e-5)
    assert curve.area_dm2(150.0) == pytest.approx(30.0, rel=1e-9)
    assert curve.area_dm2(400.0) == pytest.approx(30.0, rel=1e-9)


def test_the_level_counts_from_the_lowest_point_at_that_slope():
    curve = TANKS["box"].curve(4.0, 0.0)
    assert curve.bottom_c_dm == pytest.approx(0.0, abs=1e-12)
    curve = TANKS["box"].curve(-4.0, 0.0)
    assert curve.bottom_c_dm == pytest.approx(-12.0 * np.sin(np.radians(4.0)), rel=1e-12)


def test_a_slope_on_the_upper_structure_turns_with_it():
    assert TANKS["box"].curve(4.0, 0.0, 180.0).volume_l(77.0) == pytest.approx(TANKS["box"].curve(-4.0, 0.0).volume_l(77.0), rel=1e-12)


def test_a_curve_is_kept_for_the_next_call():
    assert TANKS["box"].curve(1.5, 0.0) is TANKS["box"].curve(1.5, 0.0)
    assert TANKS["box"].curve(1e-5, 0.0) is TANKS["box"].curve()


def test_tanks_and_curves_can_be_sent_to_another_process():
    copy = pickle.loads(pickle.dumps(TANKS["lying cylinder"]))
    assert copy.curve(2.0, 1.0).volume_l(123.0) == TANKS["lying cylinder"].curve(2.0, 1.0).volume_l(123.0)
    assert pickle.loads(pickle.dumps(copy.curve())).level_mm(100.0) == copy.curve().level_mm(100.0)
