"""Read, slew 180°, read again: the slope cancels, and the gate says when it must not be done."""

import math

import pytest

from fluidapp.calc import level, twopos
from fluidapp.errors import BadInput, CannotAnswer
from fluidapp.model import Cylinder, Reading

STICK = '{ name = "stick", kind = "stick", tip = [850, 350, 20], angle = 25, toward = 0, end_mm = 600 }'
OK = {"slope_deg": None, "slope_small": True, "arc_clear": True, "drive_sound": True}


@pytest.fixture
def machine(one):
    """The box 1200 x 700 x 600 mm with a stick leaning 25° forward. Source of the check values below: computed by us."""
    return one(gauge=STICK)


def readings(machine, litres, pitch, roll=0.0):
    part = machine.compartment("tank")
    return [
        Reading(gauge="stick", level=level.reading_at(part, litres, pitch_deg=pitch, roll_deg=roll, swing_deg=swing))
        for swing in (0.0, 180.0)
    ]


@pytest.mark.parametrize(("pitch", "one_way", "other_way", "both"), [(3.0, 184.887, 215.871, 200.379), (5.0, 175.167, 226.946, 201.056)])
def test_two_readings_on_the_level_chart_average_to_the_known_figures(machine, pitch, one_way, other_way, both):
    first, second = readings(machine, 200.0, pitch)
    alone = [level.volume(machine, "tank", r).as_read_l for r in (first, second)]
    assert sorted(alone) == pytest.approx([one_way, other_way], abs=5e-4)
    assert twopos.volume(machine, "tank", first, second).value_l == pytest.approx(both, abs=5e-4)


def test_what_is_left_of_the_slope_is_within_the_stated_doubt(machine):
    for k in range(12):
        pitch, roll = 3 * math.cos(k * math.pi / 6), 3 * math.sin(k * math.pi / 6)
        found = twopos.volume(machine, "tank", *readings(machine, 200.0, pitch, roll))
        slope = next(line.u_l for line in found.budget if line.name == "slope")
        assert abs(found.value_l - 200.0) <= 2 * slope


def test_an_upright_gauge_in_upright_walls_leaves_nothing_of_the_slope(one):
    machine = one()
    part = machine.compartment("tank")
    both = [Reading(level=level.reading_at(part, 250.0, pitch_deg=2.0, roll_deg=-1.5, swing_deg=s)) for s in (0.0, 180.0)]
    assert twopos.volume(machine, "tank", *both).value_l == pytest.approx(250.0, rel=2e-3)


def test_it_narrows_the_doubt_of_a_slope_that_nobody_measured(machine):
    first, second = readings(machine, 200.0, 2.0)
    found, alone = twopos.volume(machine, "tank", first, second), level.volume(machine, "tank", first)
    assert found.u_l < alone.u_l
    assert "slope" not in found.not_measured
    assert "slope" in alone.not_measured
    assert "Two positions, 180° apart" in found.remarks[0]


def test_rods_are_corrected_before_the_readings_are_averaged(one):
    """Teeth on the ground gives another boom extension after the turn: 100 mm of two 80 mm rods are 1.005 L."""
    machine = one().model_copy(update={"cylinders": (Cylinder(name="boom", count=2, rod=80.0, stroke=1000.0, ref=200.0),)})
    a = Reading(level=200.0, posture="other", shown_mm={"boom": 200.0})
    b = Reading(level=200.0, posture="other", shown_mm={"boom": 300.0})
    same, moved = twopos.volume(machine, "tank", a, a), twopos.volume(machine, "tank", a, b)
    assert moved.value_l - same.value_l == pytest.approx(0.5 * 2 * math.pi / 4 * 80.0**2 * 100.0 * 1e-6, rel=1e-6)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"slope_deg": 3.1}, "more than 3°"),
        ({"slope_small": False}, "at most 3°"),
        ({"arc_clear": False}, "slewing arc clear"),
        ({"drive_sound": False}, "under suspicion, opened or low on oil"),
    ],
)
def test_the_gate_is_shut_with_its_reason(machine, change, said):
    part = machine.compartment("tank")
    assert twopos.refusals(part, **OK) == []
    reasons = twopos.refusals(part, **{**OK, **change})
    assert len(reasons) == 1
    assert said in reasons[0]


def test_a_final_drive_does_not_turn(one):
    machine = one(kind="final drive", body="fill = { litres = 5, reading = 50, depth_mm = 150 }")
    assert "does not turn" in twopos.refusals(machine.compartment("tank"), **OK)[0]
    with pytest.raises(CannotAnswer, match="does not turn"):
        twopos.volume(machine, "tank", Reading(level=40.0), Reading(level=42.0))


def test_a_reading_without_a_number_or_of_another_gauge_is_refused(machine):
    with pytest.raises(BadInput, match="need a number"):
        twopos.volume(machine, "tank", Reading(bound="at most"), Reading(level=100.0))
    with pytest.raises(BadInput, match="Read the stick both times"):
        twopos.volume(machine, "tank", Reading(level=100.0), Reading(gauge="glass", level=100.0))
