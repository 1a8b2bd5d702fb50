"""Calibration by pouring: the litres per mm and what does not fit, by name."""

import math

import numpy as np
import pytest

from fluidapp.calc import calibration
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Pour, typical

GLASS = '{ name = "glass", kind = "sight glass", at = [700, 250, 150], end_mm = 350, u_mm = 3, bands = [{ low = 150, high = 250 }] }'
BOX = 'body = { shape = "box", length = 700, width = 500, height = 600 }'  # 0.35 L per mm


@pytest.fixture
def tank(one):
    """A tank of 0.35 L per mm whose shape nobody measured (10 %)."""
    return one(body=BOX, gauge=GLASS).compartment("tank").model_copy(update={"source": "typical"})


def walk(first, *steps):
    """(litres, reading after them) one after the other, as pours."""
    pours, at = [], first
    for add, after in steps:
        pours.append(Pour(add=float(add), before=float(at), after=float(after)))
        at = after
    return pours


def test_three_pours_of_ten_litres_give_the_area_by_hand(tank):
    """10 L raise 0.35 L/mm by 28.571 mm; u(b) = 3 / sqrt(2 (15² + 5²)) mm/L, u = u(b) a². Least squares, by hand."""
    rise = 10 / 0.35
    found = calibration.calibrate(tank, walk(150, (10, 150 + rise), (10, 150 + 2 * rise), (10, 150 + 3 * rise)))
    assert found.pours_l == pytest.approx(0.35)
    assert found.u_pours_l == pytest.approx(3 / math.sqrt(2 * (15**2 + 5**2)) * 0.35**2)
    assert found.other_l == pytest.approx(0.35)
    assert found.told_by == "typical shape"
    assert found.blended
    assert found.u_used_l < min(found.u_pours_l, found.u_other_l)
    assert found.named == ()
    assert found.litres == 30


def test_the_stated_doubt_covers_the_truth_in_95_of_100_simulated_calibrations(tank):
    """600 seeded walks of four 10 L pours on a glass with u = 3 mm: 92 to 98 % within 1.96 u."""
    rng, n = np.random.default_rng(2), 600
    true = 150 + np.arange(5) * 10 / 0.35
    hits = 0
    for noise in rng.normal(0, 3, (n, 5)):
        shown = true + noise
        found = calibration.calibrate(tank, walk(shown[0], *((10, x) for x in shown[1:])))
        hits += abs(1 / found.pours_l - 1 / 0.35) <= 1.96 * found.u_pours_l / found.pours_l**2
    assert 0.92 <= hits / n <= 0.98


def test_a_drain_says_the_same_as_a_pour(tank):
    up = calibration.calibrate(tank, walk(150, (10, 180), (10, 208)))
    down = calibration.calibrate(tank, walk(208, (-10, 180), (-10, 150)))
    assert down.pours_l == pytest.approx(up.pours_l)
    assert down.u_pours_l == pytest.approx(up.u_pours_l)


def test_two_exchanged_readings_are_named(tank):
    found = calibration.calibrate(tank, walk(150, (10, 207), (10, 179), (10, 236)))
    assert any("Readings 2 and 3 look exchanged" in line for line in found.named)


def test_one_reading_that_does_not_fit_is_named_and_marked(tank):
    found = calibration.calibrate(tank, walk(150, (10, 179), (10, 250), (10, 236), (10, 264), (10, 293)))
    assert any("Reading 3 does not fit the others" in line for line in found.named)
    assert [p.odd for p in found.points] == [False, False, True, False, False, False]


def test_two_contradictory_pours_are_named(tank):
    found = calibration.calibrate(tank, walk(150, (10, 179), (10, 250)))
    assert any("Pours 1 and 2 contradict each other: 10 L raised the gauge by 29 mm, 10 L by 71 mm" in line for line in found.named)


def test_pours_that_agree_are_rarely_called_contradictory(tank):
    """Two pours of 20 L, u = 3 mm, 1000 seeded: |z| > 2 happens by chance in 4.55 % of them, neighbours sharing a reading included."""
    rng, said = np.random.default_rng(4), 0
    true = 150 + np.arange(3) * 20 / 0.35
    for noise in rng.normal(0, 3, (1000, 3)):
        shown = true + noise
        found = calibration.calibrate(tank, walk(shown[0], (20, shown[1]), (20, shown[2])))
        said += any("contradict each other" in line and "Pours 1" in line for line in found.named)
    assert said / 1000 == pytest.approx(0.0455, abs=0.02)


def test_a_pour_beyond_the_tank_is_refused_by_name(tank):
    with pytest.raises(OutOfRange, match=r"Pour 2: 2000 L is above 210 L\. That is more than Tank holds: check the amount\."):
        calibration.calibrate(tank, walk(150, (10, 179), (2000, 207)))


def test_pours_that_would_have_run_over_are_named(tank):
    found = calibration.calibrate(tank, walk(150, (100, 200), (100, 250)))
    assert any("Pours 1 to 2: 200 L on top of what stood at 150" in line and "more than Tank holds" in line for line in found.named)


def test_two_pours_that_scatter_have_one_degree_of_freedom_and_pours_that_agree_none_to_name(one):
    bare = one(body="fill = { litres = 100, reading = 250 }", gauge=GLASS).compartment("tank")
    apart = [Pour(add=20.0, before=150.0, after=197.0), Pour(add=20.0, before=150.0, after=217.0)]
    found = calibration.calibrate(bare, apart)
    assert (found.dof_pours, found.dof_used) == (1.0, 1.0)
    agree = calibration.calibrate(bare, [apart[0], apart[0]])
    assert (agree.dof_pours, agree.dof_used) == (math.inf, math.inf)


def test_a_contradiction_with_the_shape_is_named_not_blended_and_the_pours_count(tank):
    found = calibration.calibrate(tank, walk(150, (20, 190), (20, 230), (20, 270), (20, 310)))
    assert not found.blended
    assert abs(found.z) > 2
    assert found.used_l == found.pours_l == pytest.approx(0.5)
    assert found.other_l == pytest.approx(0.35)
    assert any("not blended, the pours are used" in line for line in found.named)


def test_pours_alone_stand_alone(one):
    part = one(body="table = [[0, 0], [350, 100]]", gauge=GLASS).compartment("tank").model_copy(update={"table": ()})
    found = calibration.calibrate(part, walk(150, (10, 179)))
    assert found.other_l is None
    assert found.told_by == ""
    assert found.used_l == found.pours_l


@pytest.mark.parametrize(
    ("pours", "error", "said"),
    [
        ([], BadInput, "at least one pour"),
        ([Pour.model_construct(add=0.0, before=150.0, after=160.0, gauge=None)], BadInput, "Pour 1: 0 cannot be used"),
        (walk(150, (10, 400)), OutOfRange, "Pour 1, glass after it: 400 mm is not within 0 to 350 mm"),
        (walk(180, (10, 150)), CannotAnswer, "Pour 1: 10 L moved the glass from 180 to 150. Check whether the readings before and after"),
        (walk(150, (10, 140), (10, 130)), CannotAnswer, "the readings do not rise with what was poured"),
    ],
)
def test_what_cannot_be_used_is_refused_with_field_and_fix(tank, pours, error, said):
    with pytest.raises(error) as found:
        calibration.calibrate(tank, pours)
    assert said in str(found.value)


def test_too_few_litres_for_the_gauge_are_said(tank):
    found = calibration.calibrate(tank, walk(150, (1, 153)))
    assert any("Too few litres were poured" in line for line in found.named)


def test_it_begins_at_the_low_mark_and_three_pours_stay_within_the_marks():
    for size in typical.SIZES:
        part = typical.machine(size, "ex", "Excavator").compartment("tank")
        scale = part.gauge()
        begin, pour = calibration.begin_at(part), calibration.pour_to_try(part)
        assert begin == scale.bands[0].low
        per_mm = part.body.length * part.body.width * 1e-6
        assert begin + 3 * pour / per_mm <= scale.bands[0].high + 5
        assert pour / per_mm >= 5 * 3.0 - 1
