"""The ± of a volume: what widens it, what shrinks it, and that it holds when everything is drawn at random."""

import math

import numpy as np
import pytest

from fluidapp.calc import budget, level
from fluidapp.calc.budget import Line
from fluidapp.calc.reader import moved
from fluidapp.errors import OutOfRange, Unknown
from fluidapp.model import Doubts, Reading

DRAWS = 400_000
LYING = 'body = { shape = "horizontal cylinder", diameter = 600, length = 1200, at = [0, 300, 0] }'
MIDDLE = '{ name = "tube", kind = "sight glass", at = [600, 300, 0] }'
WARM_GLASS = (
    '{ name = "glass", kind = "sight glass", at = [1200, 200, 80], bands = [{ low = 150, high = 250, temp_low_c = 50, temp_high_c = 80 }] }'
)
CYLINDERS = """cylinders = [
  { name = "boom", count = 2, rod = 85, stroke = 1290, ref = 200 },
  { name = "arm", rod = 100, stroke = 1510 },
]"""
BOOM, ARM = 2 * math.pi / 4 * 85**2 * 1e-6, math.pi / 4 * 100**2 * 1e-6  # litres per mm of rod


def at(level_mm=None, **fields):
    return Reading(level=level_mm, **fields)


def line(volume, name):
    return next(found for found in volume.budget if found.name == name)


def whole(one):
    return one(gauge=WARM_GLASS, machine=CYLINDERS, more="capacities = { system_l = 400 }")


@pytest.mark.published("level", "ends")
def test_the_reading_s_doubt_does_not_vanish_at_empty_or_brim_full(case, one):
    found = level.volume(one(body=LYING, gauge=MIDDLE), "tank", at(case["given"]["reading"], u_mm=5.0))
    assert line(found, "reading").u_l == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.parametrize("reading", [0.0, 1e-6, 5.0, 100.0, 300.0, 595.0, 599.999, 600.0])
def test_no_volume_is_without_its_doubt(one, reading):
    found = level.volume(one(body=LYING, gauge=MIDDLE), "tank", at(reading, pitch_deg=0.0, roll_deg=0.0))
    assert found.u_l > 0.1
    assert all(part.u_l > 0 for part in found.budget)
    assert found.u_l == pytest.approx(math.sqrt(sum(part.u_l**2 for part in found.budget)), rel=1e-12)


@pytest.mark.parametrize(("reading", "toward"), [(3.0, 5.0), (100.0, 5.0), (500.0, -5.0), (597.0, -5.0)])
def test_the_larger_change_of_either_side_counts(one, reading, toward):
    """Lying cylinder of 600 mm: towards the middle the surface widens. Circle segment: R^2 acos((R-h)/R) - (R-h) sqrt(2Rh - h^2)."""

    def held(mm):
        h = mm / 100
        return 12 * (9 * math.acos((3 - h) / 3) - (3 - h) * math.sqrt(6 * h - h * h))

    found = level.volume(one(body=LYING, gauge=MIDDLE), "tank", at(reading, u_mm=5.0))
    assert line(found, "reading").u_l == pytest.approx(abs(held(reading + toward) - held(reading)), rel=1e-9)


def test_a_side_that_leaves_the_tank_counts_up_to_its_very_edge():
    """All of its litres stand in the last millimetre below the brim at 10 mm: from 9 mm on, 100 L per mm."""

    def litres(shown, pitch, roll):
        if not 0.0 <= shown <= 10.0:
            raise OutOfRange("glass", shown, 0.0, 10.0, "mm", "Read again.")
        return 100.0 * max(0.0, shown - 9.0)

    assert moved(litres, 9.0, 1.6, 0.0, 0.0) == pytest.approx(100.0, rel=1e-8)
    assert moved(litres, 9.0, 0.5, 0.0, 0.0) == pytest.approx(50.0)
    assert moved(litres, 10.0, 1.6, 0.0, 0.0) == pytest.approx(100.0)


def test_in_the_middle_the_reading_s_doubt_is_the_free_surface_times_the_reading_error(one):
    found = level.volume(one(), "tank", at(200.0))
    assert line(found, "reading").u_l == pytest.approx(0.84 * 3.0, rel=1e-9)  # 84 dm2 = 0.84 L per mm, glass 3 mm
    assert line(level.volume(one(), "tank", at(200.0, u_mm=1.0)), "reading").u_l == pytest.approx(0.84, rel=1e-9)


def test_the_slope_s_doubt_is_the_free_surface_times_the_lever(one):
    """8.7965 L per degree of pitch and 2.1991 per degree of roll at level (computed by us: 84 x 6 and 84 x 1.5 dm per radian)."""
    found = level.volume(one(), "tank", at(200.0))
    assert line(found, "slope").u_l == pytest.approx(math.hypot(8.7965, 2.1991), rel=2e-4)
    measured = level.volume(one(), "tank", at(200.0, pitch_deg=0.0, roll_deg=0.0))
    assert line(measured, "slope").u_l == pytest.approx(0.3 * math.hypot(8.7965, 2.1991), rel=2e-4)


def test_where_only_one_way_of_tilting_changes_the_volume_that_way_counts_in_full(one):
    """Empty box, glass at its front edge: nose up it holds a wedge of 12 x 12 tan(p)/2 x 7 dm, nose down nothing, as before."""
    corner = '{ name = "glass", kind = "sight glass", at = [1200, 350, 0] }'
    found = level.volume(one(gauge=corner), "tank", at(0.0, roll_deg=0.0, pitch_deg=0.0))
    p = math.radians(0.3)
    along, across = 12 * 12 * math.tan(p) / 2 * 7, 3.5 * 3.5 * math.tan(p) / 2 * 12
    assert line(found, "slope").u_l == pytest.approx(math.hypot(along, across), rel=1e-9)


def test_a_gauge_that_every_tilt_takes_out_of_the_tank_keeps_its_slope_s_doubt(one):
    """Flat pan of 33.6 L, half full, read 3 m before it: a degree, 52 mm, means full or empty, so half of it is in doubt."""
    far = '{ name = "glass", kind = "sight glass", at = [4200, 350, 0] }'
    pan = one(body='body = { shape = "box", length = 1200, width = 700, height = 40 }', gauge=far)
    found = level.volume(pan, "tank", at(20.0))
    assert line(found, "slope").u_l == pytest.approx(16.8, rel=1e-6)
    assert "slope" in found.not_measured


def test_entering_what_was_assumed_shrinks_the_doubt_and_takes_it_off_the_list(one):
    machine = whole(one)
    fields, before, names = {}, level.volume(machine, "tank", at(200.0)), ["slope", "oil temperature", "posture"]
    assert set(before.not_measured) == set(names)
    for entered in ({"pitch_deg": 0.0, "roll_deg": 0.0}, {"temp_c": 65.0}, {"posture": "reference"}):
        fields |= entered
        now = level.volume(machine, "tank", at(200.0, **fields))
        assert now.u_l < before.u_l
        assert now.value_l == pytest.approx(235.2)
        assert set(now.not_measured) == set(names[1:])
        before, names = now, names[1:]


def test_one_angle_of_two_shrinks_the_doubt_and_the_slope_stays_on_the_list(one):
    none, first, both = (
        level.volume(one(), "tank", at(200.0, **given)) for given in ({}, {"pitch_deg": 0.0}, {"pitch_deg": 0.0, "roll_deg": 0.0})
    )
    assert none.u_l > first.u_l > both.u_l
    assert "slope" in first.not_measured
    assert "slope" not in both.not_measured


def test_a_slope_that_does_not_matter_is_still_named_as_not_measured(one):
    middle = '{ name = "tube", kind = "sight glass", at = [600, 350, 0] }'
    assert "slope" in level.volume(one(gauge=middle), "tank", at(200.0)).not_measured


@pytest.mark.parametrize("kind", ["hydraulic tank", "gear case"])
def test_an_oil_temperature_that_was_not_taken_widens_by_15_kelvin(one, kind):
    machine = one(gauge=WARM_GLASS, more="capacities = { system_l = 400 }", kind=kind)
    warms = 400 if kind == "hydraulic tank" else 235.2
    assert line(level.volume(machine, "tank", at(200.0)), "oil temperature").u_l == pytest.approx(warms * 7e-4 * 15)


def test_a_temperature_without_a_mark_s_own_corrects_nothing_and_says_so(one):
    found = level.volume(one(), "tank", at(200.0, temp_c=20.0))
    assert found.temperature_l == 0.0
    assert "oil temperature" in found.not_measured
    assert any("for which the marks hold is not entered" in remark for remark in found.remarks)


def test_a_posture_not_looked_at_widens_by_a_twentieth_of_all_rods(one):
    found = level.volume(whole(one), "tank", at(200.0))
    assert line(found, "posture").u_l == pytest.approx(0.05 * (BOOM * 1290 + ARM * 1510))


def test_without_a_cylinder_the_posture_counts_with_a_typical_share_and_is_named(one):
    """13 % of 400 L of the system are typical rods, 52 L: a twentieth of it not looked at, a hundredth confirmed, a third elsewhere."""
    machine = one(gauge=WARM_GLASS, more="capacities = { system_l = 400 }")
    unseen = level.volume(machine, "tank", at(200.0))
    assert line(unseen, "posture").u_l == pytest.approx(0.05 * 52.0)
    assert "posture" in unseen.not_measured
    assert any("No cylinder is entered for this machine" in remark for remark in unseen.remarks)
    confirmed = level.volume(machine, "tank", at(200.0, posture="reference"))
    assert line(confirmed, "posture").u_l == pytest.approx(0.01 * 52.0)
    assert "posture" not in confirmed.not_measured
    assert not any("No cylinder" in remark for remark in confirmed.remarks)
    elsewhere = level.volume(machine, "tank", at(200.0, posture="other"))
    assert line(elsewhere, "posture").u_l == pytest.approx(52.0 / 3)
    assert "posture" in elsewhere.not_measured
    assert unseen.value_l == confirmed.value_l == elsewhere.value_l == pytest.approx(235.2)
    edited = level.volume(machine, "tank", at(200.0), doubts=Doubts(rods_over_system=0.2, posture_share=0.1))
    assert line(edited, "posture").u_l == pytest.approx(0.1 * 80.0)


def test_without_a_cylinder_a_gear_case_has_no_posture_and_a_rod_is_refused(one):
    assert "posture" not in {part.name for part in level.volume(one(kind="gear case"), "tank", at(200.0)).budget}
    with pytest.raises(Unknown, match=r"Cylinder: “boom” is not known\. Known: none yet\."):
        level.volume(one(), "tank", at(200.0, posture="other", shown_mm={"boom": 100.0}))


def test_a_rod_not_measured_in_another_posture_may_stand_anywhere_in_its_stroke(one):
    found = level.volume(whole(one), "tank", at(200.0, posture="other", shown_mm={"boom": 700.0}))
    rng = np.random.default_rng(2)
    litres = BOOM * 10 * rng.standard_normal(DRAWS) + ARM * rng.uniform(0, 1510, DRAWS)  # taken as standing at its ref, 0
    spread = np.sqrt(np.mean(litres**2))
    assert line(found, "posture").u_l == pytest.approx(spread, rel=5e-3)
    assert any("not entered for: arm" in remark for remark in found.remarks)
    assert "posture" in found.not_measured


@pytest.mark.parametrize(
    "gauge",
    [
        '{ name = "dial", kind = "percent", range_mm = 250 }',
        '{ name = "dial", kind = "percent", of = "capacity" }',
        '{ name = "stick", kind = "stick", angle = 60 }',
    ],
)
def test_without_a_drawing_the_slope_s_doubt_does_not_depend_on_the_kind_of_gauge(one, gauge):
    """Upright walls, 0.32 L per mm: lever a quarter of the width, 0.25 sqrt(0.32 m2) = 141 mm (typical, own proposal)."""
    table = "table = [[0, 0], [250, 80]]"
    glass = level.volume(one(body=table, gauge='{ name = "g", kind = "sight glass" }'), "tank", at(100.0))
    other = level.volume(one(body=table, gauge=gauge), "tank", at(200.0 if "stick" in gauge else 40.0))
    assert line(glass, "slope").u_l == pytest.approx(math.sqrt(2) * 0.32 * 141.42 * math.radians(1.0), rel=1e-3)
    assert other.as_read_l == pytest.approx(glass.as_read_l)
    assert line(other, "slope").u_l == pytest.approx(line(glass, "slope").u_l, rel=1e-6)


def test_without_a_drawing_a_slope_widens_but_cannot_be_corrected(one):
    machine = one(body="table = [[0, 0], [250, 80]]", gauge='{ name = "g", kind = "sight glass" }')
    flat, leaning = (level.volume(machine, "tank", at(100.0, pitch_deg=p, roll_deg=0.0)) for p in (0.0, 3.0))
    assert leaning.value_l == flat.value_l
    assert leaning.u_l > 2 * flat.u_l
    assert any("cannot be corrected" in remark for remark in leaning.remarks)


def test_a_dial_of_the_capacity_is_corrected_for_the_slope_where_its_place_is_known(one):
    """Box: 235.2 L is 46.67 %, 2.8 dm at the glass; nose up the level there means more."""
    placed = one(gauge='{ name = "dial", kind = "percent", of = "capacity", at = [1200, 200, 0] }')
    share = 235.2 / 504 * 100
    assert level.volume(placed, "tank", at(share)).as_read_l == pytest.approx(235.2)
    assert level.volume(placed, "tank", at(share, pitch_deg=3.0)).as_read_l == pytest.approx(261.6135, abs=5e-5)
    somewhere = level.volume(
        one(gauge='{ name = "dial", kind = "percent", of = "capacity" }'), "tank", at(share, pitch_deg=3.0, roll_deg=0.0)
    )
    assert somewhere.as_read_l == pytest.approx(235.2)
    assert line(somewhere, "slope").u_l > 5.0
    assert any("cannot be corrected" in remark for remark in somewhere.remarks)


def test_more_than_3_degrees_are_remarked(one):
    assert any("more than 3°" in r for r in level.volume(one(), "tank", at(200.0, pitch_deg=3.5, roll_deg=0.0)).remarks)
    assert not any("more than 3°" in r for r in level.volume(one(), "tank", at(200.0, pitch_deg=3.0, roll_deg=0.0)).remarks)


def test_the_largest_line_is_named_first(one):
    found = level.volume(whole(one), "tank", at(200.0))
    assert found.largest is found.budget[0]
    assert [part.u_l for part in found.budget] == sorted((part.u_l for part in found.budget), reverse=True)
    assert found.largest.name == "slope"
    assert found.largest.hint


def test_degrees_of_freedom_combine_as_in_the_gum():
    """GUM H.1.6 (from memory): 25 nm with 18, 9.7 with 25.6, 2.9 with 50, 16.6 with 2 degrees of freedom give 32 nm with 16.7."""
    parts = [Line(str(u), u, True, "", dof) for u, dof in ((25.0, 18), (9.7, 25.6), (2.9, 50), (16.6, 2))]
    u, dof = budget.combine(parts)
    assert u == pytest.approx(32, abs=0.5)
    assert dof == pytest.approx(16.7, abs=0.1)
    assert budget.combine([Line("a", 3.0, True, ""), Line("b", 4.0, True, "")]) == (5.0, math.inf)


def test_typical_figures_can_be_edited(one):
    wide = level.volume(one(), "tank", at(200.0), doubts=Doubts(glass_mm=30.0))
    assert line(wide, "reading").u_l == pytest.approx(25.2, rel=1e-9)


def test_the_whole_budget_agrees_with_everything_drawn_at_random(one):
    """Independent: closed formula of the box, VCF written out again, each input drawn with its stated doubt.

    The spread of N draws has a standard error of u / sqrt(2 N) = 0.11 %, their mean one of u / sqrt(N); four of them are allowed,
    and 0.1 % for the heat line, which takes 7e-4 per K for what VCF gives as 7.4e-4.
    """
    entered = {"pitch_deg": 2.0, "roll_deg": -1.0, "temp_c": 30.0, "posture": "other", "shown_mm": {"boom": 900.0, "arm": 400.0}}
    found = level.volume(whole(one), "tank", at(200.0, **entered), rho15=880.0)
    rng = np.random.default_rng(20240611)

    def draw(value, u):
        return value + u * rng.standard_normal(DRAWS)

    def vcf(temp_c):
        x = 0.6278 / 880.0 * (temp_c - 15.0)
        return np.exp(-x * (1 + 0.8 * x))

    p, r = np.radians(draw(2.0, 0.3)), np.radians(draw(-1.0, 0.3))
    middle = 0.8 + draw(2.0, 0.03) + 6.0 * np.tan(p) / np.cos(r) - 1.5 * np.tan(r)
    heat = 400 * (1 - vcf(65.0) / vcf(draw(30.0, 2.0)))
    rods = BOOM * (draw(900.0, 10.0) - 200.0) + ARM * draw(400.0, 10.0)
    litres = 84 * middle * draw(1.0, 0.01) + heat + rods
    error = found.u_l / math.sqrt(DRAWS)
    assert litres.std() == pytest.approx(found.u_l, abs=4 * error / math.sqrt(2) + 1e-3 * found.u_l)
    assert litres.mean() == pytest.approx(found.value_l, abs=4 * error + 0.01)  # 0.01 L: curvature of tan and VCF over their doubts


def test_the_doubts_of_the_machine_itself_count(one):
    machine = one()
    careless = machine.model_copy(update={"doubts": Doubts(glass_mm=30.0)})
    assert level.volume(careless, "tank", at(200.0)).u_l > 2 * level.volume(machine, "tank", at(200.0)).u_l
    assert level.volume(careless, "tank", at(200.0), doubts=Doubts()).u_l == level.volume(machine, "tank", at(200.0)).u_l
