"""Litres per millimetre from pours, from the fill, or from both."""

import numpy as np
import pytest

from fluidapp.calc import geometry as geo
from fluidapp.errors import BadInput, CannotAnswer

LITRES, READINGS = [0.0, 0.5, 1.0, 1.5, 2.0], [420.0, 427.0, 435.0, 442.0, 450.0]


def test_the_line_is_the_least_squares_line_of_the_reference_library():
    from scipy.stats import linregress

    fit, other = geo.pour_fit(LITRES, READINGS, 2.0), linregress(LITRES, READINGS)
    assert 100.0 / fit.area_dm2 == pytest.approx(other.slope, rel=1e-13)
    assert fit.start_mm == pytest.approx(other.intercept, rel=1e-13)
    spread = np.sum((np.array(LITRES) - 1.0) ** 2)
    assert fit.u_area_dm2 == pytest.approx(2.0 / np.sqrt(spread) * fit.area_dm2**2 / 100.0, rel=1e-13)
    assert (fit.dof, fit.outliers, fit.remarks) == (3, (), ())


def test_unlike_readings_are_weighted_as_in_the_reference_library():
    u = np.array([1.0, 4.0, 1.0, 2.0, 1.5])
    slope, start = np.polyfit(LITRES, READINGS, 1, w=1.0 / u)
    cov = np.polyfit(LITRES, READINGS, 1, w=1.0 / u, cov="unscaled")[1]
    fit = geo.pour_fit(LITRES, READINGS, u)
    assert (100.0 / fit.area_dm2, fit.start_mm) == (pytest.approx(slope, rel=1e-12), pytest.approx(start, rel=1e-12))
    assert fit.u_area_dm2 * 100.0 / fit.area_dm2**2 == pytest.approx(np.sqrt(cov[0, 0]), rel=1e-12)


def test_readings_that_scatter_more_than_stated_widen_the_figure():
    wild = [420.0, 433.0, 431.0, 449.0, 447.0]
    fit, calm = geo.pour_fit(LITRES, wild, 1.0), geo.pour_fit(LITRES, READINGS, 1.0)
    assert fit.chi2 > fit.dof
    bare = 1.0 / np.sqrt(2.5) * fit.area_dm2**2 / 100.0
    assert fit.u_area_dm2 == pytest.approx(bare * np.sqrt(fit.chi2 / fit.dof), rel=1e-12)
    assert calm.u_area_dm2 < fit.u_area_dm2


def simulated(pours, each_l, u_mm, area_dm2, runs, seed):
    """Share of runs whose 95 % interval (k = 1.96) holds the true litres per mm, in 1/area, and the median relative u."""
    rng = np.random.default_rng(seed)
    litres = each_l * np.arange(pours + 1)
    hit, spread = 0, []
    for _ in range(runs):
        readings = 200.0 + 100.0 * litres / area_dm2 + rng.normal(0.0, u_mm, litres.size)
        fit = geo.pour_fit(litres, readings, u_mm)
        b, u_b = 1.0 / fit.area_dm2, fit.u_area_dm2 / fit.area_dm2**2
        hit += abs(b - 1.0 / area_dm2) <= 1.96 * u_b
        spread.append(fit.u_area_dm2 / fit.area_dm2)
    return hit / runs, float(np.median(spread))


@pytest.mark.parametrize(("pours", "each_l", "u_mm"), [(4, 0.75, 2.0), (6, 0.5, 1.0), (3, 2.0, 2.0)])
def test_the_stated_interval_holds_the_truth_95_times_in_100(pours, each_l, u_mm):
    """2,000 runs, seed 17; binomial scatter of that many is 0.5 %."""
    coverage, _ = simulated(pours, each_l, u_mm, 6.5, 2000, seed=17)
    assert 0.92 <= coverage <= 0.98


@pytest.mark.slow
@pytest.mark.parametrize(("pours", "each_l", "u_mm"), [(4, 0.75, 2.0), (6, 0.5, 1.0), (3, 2.0, 2.0)])
def test_the_stated_interval_holds_the_truth_95_times_in_100_long_form(pours, each_l, u_mm):
    coverage, _ = simulated(pours, each_l, u_mm, 6.5, 40_000, seed=18)
    assert 0.94 <= coverage <= 0.97


def test_the_area_is_nearly_free_of_bias_when_the_litres_are_the_exact_side():
    """Six pours of 0.5 L read to 1 mm: 2.5 % for one calibration, less than 0.3 % on the mean of many."""
    rng, litres = np.random.default_rng(3), 0.5 * np.arange(7)
    areas = [geo.pour_fit(litres, 100.0 + litres * 100.0 / 6.5 + rng.normal(0, 1, 7), 1.0).area_dm2 for _ in range(3000)]
    assert np.mean(areas) == pytest.approx(6.5, rel=0.003)
    assert np.std(areas) / 6.5 == pytest.approx(0.0246, rel=0.06)


def test_two_exchanged_readings_are_named():
    readings = [420.0, 427.0, 442.0, 435.0, 450.0]
    fit = geo.pour_fit(LITRES, readings, 1.0)
    assert fit.outliers == (2, 3)
    assert "3 and 4" in fit.remarks[0]


def test_one_wrong_reading_is_named_and_kept():
    litres = np.arange(7.0)
    readings = 100.0 + 15.0 * litres
    readings[4] += 20.0
    fit = geo.pour_fit(litres, readings, 1.5)
    assert fit.outliers == (4,)
    assert "Reading 5" in fit.remarks[0]
    assert fit.chi2 > 50.0
    assert fit.area_dm2 != pytest.approx(100.0 / 15.0, rel=1e-3)


def test_good_readings_are_rarely_named():
    rng, litres = np.random.default_rng(9), np.arange(6.0)
    named = sum(bool(geo.pour_fit(litres, 100 + 15 * litres + rng.normal(0, 1.5, 6), 1.5).outliers) for _ in range(1000))
    assert named <= 30


def test_three_readings_can_only_tell_a_fall():
    assert geo.pour_fit([0, 1, 2], [100.0, 90.0, 130.0], 1.0).outliers == (1,)
    assert geo.pour_fit([0, 1, 2], [100.0, 112.0, 130.0], 1.0).outliers == ()


def test_one_pour_is_enough_for_a_figure():
    fit = geo.pour_fit([0.0, 20.0], [300.0, 357.0], 2.0)
    assert fit.area_dm2 == pytest.approx(20.0 / 0.57, rel=1e-13)
    assert fit.u_area_dm2 / fit.area_dm2 == pytest.approx(np.sqrt(2) * 2.0 / 57.0, rel=1e-12)
    assert (fit.dof, fit.chi2) == (0, pytest.approx(0.0, abs=1e-20))


def test_too_few_litres_are_remarked():
    assert "Too few" in geo.pour_fit([0.0, 0.2], [300.0, 303.0], 2.0).remarks[0]


@pytest.mark.parametrize(
    ("litres", "readings", "u", "error"),
    [
        ([0.0], [1.0], 1.0, BadInput),
        ([0.0, 1.0], [1.0, 2.0, 3.0], 1.0, BadInput),
        ([0.0, 1.0, 1.0], [1.0, 2.0, 3.0], 1.0, BadInput),
        ([0.0, 1.0], [1.0, float("nan")], 1.0, BadInput),
        ([0.0, 1.0], [1.0, 2.0], 0.0, BadInput),
        ([0.0, 1.0], [2.0, 1.0], 1.0, CannotAnswer),
    ],
)
def test_pours_that_cannot_be_used_are_refused(litres, readings, u, error):
    with pytest.raises(error):
        geo.pour_fit(litres, readings, u)


def test_the_fill_alone_gives_the_mean_of_its_shapes():
    area, u = geo.fill_area(28.7, 460.0)
    rng = np.random.default_rng(1)
    drawn = rng.uniform(1.0, 1.5, 400_000) * 28.7 / 4.6
    assert area == pytest.approx(drawn.mean(), rel=1e-3)
    assert u == pytest.approx(drawn.std(), rel=3e-3)


@pytest.mark.parametrize(("shape", "e"), [("box", 1.0), ("cone", 3.0), ("trough", 2.0)])
def test_area_times_depth_over_volume_is_a_number_of_the_shape(shape, e):
    tank = {
        "box": geo.box(3, 3, 4),
        "cone": geo.frustum(0.0, 3.0, 4.0),
        "trough": geo.lying(geo.LineArc([geo.polygon([(-2, 4), (0, 0), (2, 4)])]), 5.0),
    }[shape]
    volume, area = geo.Tank([(1, tank)]).vol(2.5, geo.up(0, 0))
    assert area * 2.5 / volume == pytest.approx(e, rel=1e-12)


def test_pours_and_fill_that_agree_are_weighed_together():
    fit = geo.pour_fit([0.0, 2.0, 4.0], [100.0, 130.0, 160.0], 3.0)
    area, u = geo.fill_area(28.7, 460.0)
    both = geo.combine_area(fit, area, u)
    assert both.blended
    assert both.u_area_dm2 < min(fit.u_area_dm2, u)
    assert min(fit.area_dm2, area) < both.area_dm2 < max(fit.area_dm2, area)
    b = np.array([1 / fit.area_dm2, 1 / area])
    w = np.array([fit.area_dm2**2 / fit.u_area_dm2, area**2 / u]) ** 2
    assert 1.0 / both.area_dm2 == pytest.approx(np.average(b, weights=w), rel=1e-13)


def test_pours_and_fill_that_contradict_each_other_are_not_blended():
    """Fill 8.5 L at 210 mm, pours of 1 and 1 L read 3, 12, 22 mm: 3.8 standard deviations apart, no average helps."""
    fit = geo.pour_fit([0.0, 1.0, 2.0], [3.0, 12.0, 22.0], 2.0)
    area, u = geo.fill_area(8.5, 210.0)
    both = geo.combine_area(fit, area, u)
    assert (fit.area_dm2, fit.u_area_dm2) == (pytest.approx(10.53, abs=0.005), pytest.approx(1.57, abs=0.005))
    assert (area, u) == (pytest.approx(5.06, abs=0.005), pytest.approx(0.58, abs=0.005))
    assert abs(both.z) == pytest.approx(3.8, abs=0.05)
    assert not both.blended
    assert (both.area_dm2, both.u_area_dm2) == (fit.area_dm2, fit.u_area_dm2)
    assert both.remarks


def drawn():
    return geo.Tank([(1, geo.horizontal_cylinder(5.0, 8.0))]).curve()


def test_scale_and_offset_of_a_drawn_tank_are_found_again():
    """Exact readings of a tank that holds 0.93 of its drawing, read 15 mm low."""
    curve = drawn()
    volume = np.linspace(20.0, 120.0, 8)
    reading = curve.level_mm(volume / 0.93) - 15.0
    fit = geo.shape_fit(curve, volume, reading, 2.0)
    assert (fit.scale, fit.offset_mm) == (pytest.approx(0.93, abs=1e-9), pytest.approx(15.0, abs=1e-6))
    assert fit.chi2 == pytest.approx(0.0, abs=1e-10)
    assert fit.dof == 6


def test_scale_and_offset_agree_with_the_reference_library():
    from scipy.optimize import curve_fit

    curve, volume = drawn(), np.linspace(20.0, 120.0, 8)
    reading = curve.level_mm(volume / 0.93) - 15.0 + np.random.default_rng(2).normal(0.0, 2.0, 8)
    fit = geo.shape_fit(curve, volume, reading, 2.0)
    want, cov = curve_fit(
        lambda v, k, d: curve.level_mm(v / k) - d, volume, reading, p0=(1.0, 0.0), sigma=np.full(8, 2.0), absolute_sigma=True
    )
    assert (fit.scale, fit.offset_mm) == (pytest.approx(want[0], abs=1e-6), pytest.approx(want[1], abs=1e-3))
    wider = np.sqrt(max(1.0, fit.chi2 / fit.dof))
    assert (fit.u_scale, fit.u_offset_mm) == pytest.approx(tuple(wider * np.sqrt(np.diag(cov))), rel=1e-4)
    assert fit.correlation == pytest.approx(cov[0, 1] / np.sqrt(cov[0, 0] * cov[1, 1]), abs=1e-4)


def test_the_interval_of_the_scale_holds_the_truth_95_times_in_100():
    """600 runs, seed 4."""
    curve, volume, rng, hit = drawn(), np.linspace(20.0, 120.0, 8), np.random.default_rng(4), 0
    true = curve.level_mm(volume / 0.93) - 15.0
    for _ in range(600):
        fit = geo.shape_fit(curve, volume, true + rng.normal(0.0, 2.0, 8), 2.0)
        hit += abs(fit.scale - 0.93) <= 1.96 * fit.u_scale
    assert 0.92 <= hit / 600 <= 0.98


def test_fills_larger_than_the_drawing_scale_it_up():
    curve = drawn()
    volume = np.linspace(60.0, 180.0, 8)
    fit = geo.shape_fit(curve, volume, curve.level_mm(volume / 1.25) - 5.0, 2.0)
    assert fit.scale == pytest.approx(1.25, abs=1e-8)


def test_fills_of_a_straight_wall_cannot_tell_scale_from_offset_at_one_volume():
    with pytest.raises(CannotAnswer):
        geo.shape_fit(geo.Tank([(1, geo.box(3, 3, 4))]).curve(), [9.0, 9.0], [100.0, 100.0], 2.0)
