"""Which marks count where a gauge has several: for cold and for hot oil, or for another posture."""

import math

import pytest

from fluidapp.calc import bands, between, level, oil, topup, twogauges, twopos
from fluidapp.calc.watch import points
from fluidapp.model import Reading

COLD = '{ low = 85, high = 135, temp_low_c = 10, temp_high_c = 30, label = "cold" }'
HOT = '{ low = 110, high = 170, temp_low_c = 50, temp_high_c = 80, label = "hot" }'
UP = '{ low = 60, high = 80, posture = "boom raised", label = "boom raised" }'
CYLINDERS = 'cylinders = [{ name = "boom", count = 2, rod = 85, stroke = 1290, ref = 200 }]'
SYSTEM = "capacities = { system_l = 250 }"
KNOWN = {"pitch_deg": 0.0, "roll_deg": 0.0, "posture": "reference"}


def glass(*marks):
    return f'{{ name = "glass", kind = "sight glass", at = [1200, 200, 80], end_mm = 500, bands = [{", ".join(marks)}] }}'


def at(level_mm=None, **fields):
    return Reading(level=level_mm, **fields)


def line(volume, name):
    return next(found for found in volume.budget if found.name == name)


@pytest.fixture
def two(one):
    return one(gauge=glass(COLD, HOT), more=SYSTEM, machine=CYLINDERS)


@pytest.mark.parametrize(
    ("temp_c", "label"), [(-5, "cold"), (10, "cold"), (30, "cold"), (39, "cold"), (41, "hot"), (65, "hot"), (95, "hot")]
)
def test_the_marks_whose_range_holds_the_oil_or_is_nearest_count(two, temp_c, label):
    found = level.volume(two, "tank", at(95.0, temp_c=float(temp_c)))
    assert found.band.label == label
    assert level.convention(two.compartment("tank"), None, at(95.0, temp_c=float(temp_c))).label == label
    inside = 10 <= temp_c <= 30 or 50 <= temp_c <= 80
    said = f"since the oil has {temp_c} °C." if inside else f"which are the nearest to the oil's {temp_c} °C."
    ranges = {"cold": "(10 to 30 °C)", "hot": "(50 to 80 °C)"}
    assert [r for r in found.remarks if r.startswith("Taken by")] == [f"Taken by the {label} marks {ranges[label]}, {said}"]


def test_where_the_ranges_overlap_the_nearer_middle_counts(one):
    part = one(gauge=glass(COLD.replace("30", "60"), HOT)).compartment("tank")  # middles 35 and 65 °C
    assert bands.meant(part, None, at(95.0, temp_c=49.9)).band.label == "cold"
    assert bands.meant(part, None, at(95.0, temp_c=55.0)).band.label == "hot"


def test_marks_with_a_range_go_before_marks_without_one(one):
    part = one(gauge=glass("{ low = 10, high = 20 }", HOT)).compartment("tank")
    assert bands.meant(part, None, at(95.0, temp_c=-20.0)).band.label == "hot"
    assert bands.meant(part, None, at(95.0)).band.low == 10


def test_a_range_that_is_open_on_one_side_reaches_without_end(one):
    part = one(gauge=glass(COLD, HOT.replace(", temp_high_c = 80", ""))).compartment("tank")
    assert bands.meant(part, None, at(95.0, temp_c=140.0)).band.label == "hot"
    assert bands.meant(part, None, at(95.0, temp_c=35.0)).band.label == "cold"


def test_hot_oil_is_not_corrected_to_cold_marks(two):
    """At 65 °C, the middle of the hot marks' range, nothing is left to correct; by the cold marks it would be 8.4 L less."""
    assert level.volume(two, "tank", at(95.0, temp_c=65.0)).temperature_l == pytest.approx(0.0, abs=1e-12)
    cold = level.convention(two.compartment("tank"))
    assert cold.label == "cold"
    by_cold = level.volume(two, "tank", at(95.0, temp_c=65.0), band=cold)
    at_15 = 250 * oil.vcf(875.0, 20.0)
    assert by_cold.temperature_l == pytest.approx(at_15 * (1 / oil.vcf(875.0, 20.0) - 1 / oil.vcf(875.0, 65.0)))
    assert by_cold.band is cold
    assert not any("Taken by" in remark for remark in by_cold.remarks)


def test_without_a_temperature_the_doubt_reaches_to_the_other_marks(two):
    """Middles 20 and 65 °C: half of what 45 K are, so that twice that reaches there; with nearer marks, 15 K and a/sqrt 3."""
    found = level.volume(two, "tank", at(95.0))
    far = 250 * (oil.vcf(875.0, 20.0) / oil.vcf(875.0, 65.0) - 1)
    assert found.band.label == "cold"
    assert line(found, "oil temperature").u_l == pytest.approx(far / 2)
    assert "oil temperature" in found.not_measured
    said = "Taken by the cold marks (10 to 30 °C), since no oil temperature is entered; the ± reaches to the other marks."
    assert said in found.remarks
    fixed = level.volume(two, "tank", at(95.0), band=found.band)
    assert line(fixed, "oil temperature").u_l == pytest.approx(250 * 7e-4 * 15.0)


def test_other_marks_that_are_near_add_as_a_rectangle(one):
    """Middles 20 and 30 °C, 10 K apart: u^2 = (15 K)^2 and the square of half of 10 K over root 3."""
    near = one(gauge=glass(COLD, HOT.replace("50", "20").replace("80", "40")), more=SYSTEM)
    half = 250 * (oil.vcf(875.0, 20.0) / oil.vcf(875.0, 30.0) - 1) / 2
    u = line(level.volume(near, "tank", at(95.0)), "oil temperature").u_l
    assert u == pytest.approx(math.hypot(250 * 7e-4 * 15.0, half / math.sqrt(3.0)))


def test_an_answer_with_the_temperature_lies_within_the_doubt_of_the_one_without(two):
    """Even where all else is measured, whichever marks are gone by."""
    blind = level.volume(two, "tank", at(95.0, u_mm=0.1, **KNOWN))
    cold = level.convention(two.compartment("tank"))
    for temp_c in (10.0, 20.0, 40.0, 65.0):
        seen = level.volume(two, "tank", at(95.0, temp_c=temp_c, u_mm=0.1, **KNOWN), band=cold)
        assert abs(seen.value_l - blind.value_l) < 2 * blind.u_l, temp_c
        assert level.volume(two, "tank", at(95.0, temp_c=temp_c, u_mm=0.1, **KNOWN)).u_l < blind.u_l
    assert level.volume(two, "tank", at(95.0, temp_c=65.0, u_mm=0.1, **KNOWN), band=cold).value_l < blind.value_l - 8.0


def test_one_pair_of_marks_is_taken_without_a_word(one):
    found = level.volume(one(gauge=glass(HOT), more=SYSTEM), "tank", at(95.0))
    assert line(found, "oil temperature").u_l == pytest.approx(250 * 7e-4 * 15.0)
    assert not any("Taken by" in remark for remark in found.remarks)


def test_litres_at_the_marks_and_the_target_of_a_top_up_follow_the_marks_that_count(two):
    """0.84 L/mm from 80 mm over the floor: cold L 85, target 110, H 135; hot L 110, target 140, H 170."""
    part = two.compartment("tank")
    assert level.marks(part).target_l == pytest.approx(0.84 * 190)
    hot = level.convention(part, None, at(95.0, temp_c=65.0))
    assert level.marks(part, None, hot).target_l == pytest.approx(0.84 * 220)
    cold_answer, hot_answer = (topup.answer(two, "tank", at(95.0, temp_c=t, **KNOWN)) for t in (20.0, 65.0))
    assert cold_answer.add_l == pytest.approx(0.84 * 15)
    assert cold_answer.marks.band.label == "cold"
    assert hot_answer.add_l == pytest.approx(0.84 * 45)
    assert hot_answer.marks.band.label == "hot"


def test_a_top_up_without_a_temperature_reaches_to_the_targets_of_the_other_marks(two):
    """Cold 12.6 L, hot 37.8 L are missing at 95 mm: the answer without a temperature covers both."""
    blind = topup.answer(two, "tank", at(95.0, u_mm=0.1, **KNOWN))
    assert blind.add_l == pytest.approx(0.84 * 15)
    assert blind.add_l + 2 * blind.u_l > 0.84 * 45
    aims = 0.84 * 30 / 2
    rest = math.hypot(*(part.u_l for part in blind.volume.budget if part.name not in ("oil temperature", "tank")))
    tank = max(blind.volume.tank_rel * blind.add_l, 1e-3)
    assert blind.u_l == pytest.approx(math.hypot(aims, rest, tank), rel=1e-9)


def test_marks_of_another_posture_count_for_that_posture_alone(one):
    machine = one(gauge=glass(COLD, UP), more=SYSTEM, machine=CYLINDERS)
    for posture, shown, label in (
        (None, {}, "cold"),
        ("reference", {}, "cold"),
        ("other", {"boom": 900.0}, "cold"),
        ("other", {}, "boom raised"),
    ):
        assert level.volume(machine, "tank", at(95.0, posture=posture, shown_mm=shown)).band.label == label
    raised = level.volume(machine, "tank", at(95.0, posture="other"))
    assert raised.posture_l == 0.0
    assert "Taken by the boom raised marks, which hold for: boom raised." in raised.remarks
    full = 2 * math.pi / 4 * 85**2 * 1290 * 1e-6
    assert line(raised, "posture").u_l == pytest.approx(0.05 * full)
    assert line(raised, "posture").hint == "Confirm that it stands as the marks ask: boom raised."
    assert "posture" in raised.not_measured


def test_marks_that_all_bear_a_posture_s_own_words_are_the_machine_s_own(one):
    """Somebody who writes the reference posture out in words means no other posture."""
    machine = one(gauge=glass(UP), more=SYSTEM, machine=CYLINDERS)
    found = level.volume(machine, "tank", at(95.0, posture="other"))
    assert line(found, "posture").u_l > 5.0
    assert any("the rod shown is not entered for: boom" in remark for remark in found.remarks)


def test_a_difference_of_two_readings_goes_by_the_same_marks_however_warm(two):
    """The same oil, read cold and hot: what heat alone raised is no change."""
    part = two.compartment("tank")
    cold, warm = at(95.0, temp_c=20.0, **KNOWN), None
    grown = 250 * oil.vcf(875.0, 20.0) * (1 / oil.vcf(875.0, 65.0) - 1 / oil.vcf(875.0, 20.0))
    warm = at(95.0 + grown / 0.84, temp_c=65.0, **KNOWN)
    assert level.convention(part, None, cold).label != level.convention(part, None, warm).label
    change, _ = between.oil_change(two, "tank", cold, warm)
    assert change.change_l == pytest.approx(0.0, abs=1e-9)
    both = [points.oil_litres(two, "tank", reading) for reading in (cold, warm)]
    assert both[1].at_15_l == pytest.approx(both[0].at_15_l, abs=1e-9)
    turned = twopos.volume(two, "tank", cold, warm)
    assert turned.value_l == pytest.approx(level.volume(two, "tank", cold).value_l, rel=1e-9)


def test_two_gauges_are_compared_by_the_same_marks(one):
    stick = '{ name = "stick", kind = "stick", tip = [600, 350, 0], bands = [' + HOT + "] }"
    machine = one(gauge=f"{glass(COLD)}, {stick}", more=SYSTEM)
    found = twogauges.read(machine, "tank", at(95.0, gauge="glass"), at(175.0, gauge="stick"))
    assert found.z == pytest.approx(0.0, abs=1e-9)
    warm = twogauges.read(machine, "tank", at(95.0, gauge="glass", temp_c=60.0), at(175.0, gauge="stick", temp_c=60.0))
    assert warm.z == pytest.approx(0.0, abs=1e-9)
