"""From a machine's file and one reading to litres, at the machine's convention."""

import math

import pytest
from pydantic import ValidationError

from fluidapp.calc import level, oil
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange, Unknown
from fluidapp.model import Cylinder, Reading

STICK = '{ name = "stick", kind = "stick", tip = [850, 350, 20], angle = 25, toward = 0 }'
LYING = 'body = { shape = "horizontal cylinder", diameter = 600, length = 1200, at = [0, 300, 0] }'
CYLINDERS = """cylinders = [
  { name = "boom", count = 2, rod = 85, stroke = 1290, ref = 200 },
  { name = "arm", rod = 100, stroke = 1510 },
]"""
WARM = "bands = [{ low = 150, high = 250, temp_low_c = 50, temp_high_c = 80 }]"
WARM_GLASS = '{ name = "glass", kind = "sight glass", at = [1200, 200, 80], ' + WARM + " }"


def at(level_mm=None, **fields):
    return Reading(level=level_mm, **fields)


@pytest.mark.published("level", "box")
def test_the_box_gives_the_litres_of_its_closed_formula(case, one):
    g = case["given"]
    machine = one(gauge=STICK) if g["gauge"] == "stick" else one()
    found = level.volume(machine, "tank", at(g["reading"], pitch_deg=g.get("pitch"), roll_deg=g.get("roll")))
    assert found.as_read_l == found.value_l == pytest.approx(case["want"], abs=case["tol"], rel=0)
    assert found.slope_l == pytest.approx(found.value_l - level.volume(machine, "tank", at(g["reading"])).value_l, abs=1e-12)


def test_a_sloping_box_agrees_with_its_closed_formula_at_every_small_slope(one):
    machine = one()
    for pitch in (-6.0, -1.0, 0.0, 2.0, 5.0):
        for roll in (-5.0, 0.0, 3.0):
            p, r = math.radians(pitch), math.radians(roll)
            middle = 2.8 + 6.0 * math.tan(p) / math.cos(r) - 1.5 * math.tan(r)  # height of the plane over the middle of the floor [dm]
            found = level.volume(machine, "tank", at(200.0, pitch_deg=pitch, roll_deg=roll))
            assert found.as_read_l == pytest.approx(84 * middle, rel=1e-12)


def test_with_the_nose_up_a_forward_gauge_means_more_and_a_rear_one_less(one):
    flat = '{{ name = "g", kind = "sight glass", at = [{x}, {y}, 80] }}'
    level_l = 235.2
    for x, y, pitch, roll, more in [
        (1200, 350, 2, 0, 1),
        (0, 350, 2, 0, -1),
        (600, 700, 0, 2, 1),
        (600, 0, 0, 2, -1),
        (1200, 350, -2, 0, -1),
    ]:
        found = level.volume(one(gauge=flat.format(x=x, y=y)), "tank", at(200.0, pitch_deg=float(pitch), roll_deg=float(roll)))
        assert (found.as_read_l - level_l) * more > 1.0


def test_half_a_turn_of_the_upper_structure_turns_the_slope_round(one):
    machine = one()
    turned = level.volume(machine, "tank", at(200.0, pitch_deg=3.0, roll_deg=-2.0, swing_deg=180.0))
    other = level.volume(machine, "tank", at(200.0, pitch_deg=-3.0, roll_deg=2.0))
    assert turned.as_read_l == pytest.approx(other.as_read_l, rel=1e-12)
    quarter = level.volume(machine, "tank", at(200.0, pitch_deg=3.0, swing_deg=90.0))  # downhill, the rear, is now its left side
    assert quarter.as_read_l == pytest.approx(84 * (2.8 + 1.5 * math.tan(math.radians(3))), rel=1e-12)


def test_what_sits_on_the_undercarriage_does_not_turn_with_the_swing(one):
    machine = one(more='on = "undercarriage"', kind="final drive")
    for swing in (0.0, 90.0, 180.0):
        found = level.volume(machine, "tank", at(200.0, pitch_deg=3.0, swing_deg=swing))
        assert found.as_read_l == pytest.approx(261.6135, abs=5e-5)


@pytest.mark.published("level", "swing")
def test_reading_before_and_after_half_a_turn_takes_the_slope_out(case, one):
    machine = one(gauge=STICK)
    volume_l, pitch = case["given"]["volume"], case["given"]["pitch"]
    shown = []
    for slope in (pitch, -pitch):
        low, high = 0.0, 450.0
        for _ in range(60):  # the reading at which the sloping tank holds just that much
            middle = (low + high) / 2
            held = level.volume(machine, "tank", at(middle, pitch_deg=slope)).as_read_l
            low, high = (middle, high) if held < volume_l else (low, middle)
        shown.append(low)
    charts = [level.volume(machine, "tank", at(x)).as_read_l for x in (*shown, sum(shown) / 2)]
    assert charts == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.parametrize("reading", [-1.0, 501.0])
def test_a_reading_off_the_gauge_is_refused_by_name(one, reading):
    with pytest.raises(OutOfRange, match=r"glass: .* is not within 0 to 500 mm"):
        level.volume(one(), "tank", at(reading))


def test_a_reading_beyond_the_tank_is_refused_in_the_gauge_s_own_scale(one):
    tall = '{ name = "glass", kind = "sight glass", at = [1200, 200, 80], start_mm = -100 }'
    for reading in (521.0, -81.0):
        with pytest.raises(OutOfRange, match=r"glass: .* is not within -80 to 520 mm"):
            level.volume(one(gauge=tall), "tank", at(reading))
    assert level.volume(one(gauge=tall), "tank", at(520.0)).value_l == pytest.approx(504.0)
    assert level.volume(one(gauge=tall), "tank", at(-80.0)).value_l == pytest.approx(0.0, abs=1e-9)
    dial = '{ name = "dial", kind = "percent", range_mm = 800, at = [0, 0, 0] }'
    with pytest.raises(OutOfRange, match=r"dial: 80 % is not within 0 to 75 %"):
        level.volume(one(gauge=dial), "tank", at(80.0))


@pytest.mark.parametrize(("bound", "litres"), [("at most", 67.2), ("at least", 487.2)])
def test_a_reading_that_only_shows_a_side_gives_a_bound(one, bound, litres):
    found = level.volume(one(), "tank", at(bound=bound))
    assert found.bound == bound
    assert found.value_l == pytest.approx(litres)


def test_a_plug_with_nothing_in_reach_means_at_most_and_over_the_lip_at_least(one):
    plug = '{ name = "plug", kind = "level plug", at = [600, 350, 400], end_mm = 60 }'
    below = level.volume(one(gauge=plug), "tank", at(bound="at most", position_ok=True))
    above = level.volume(one(gauge=plug), "tank", at(bound="at least", position_ok=True))
    assert (below.value_l, below.bound) == (pytest.approx(84 * 3.4), "at most")
    assert (above.value_l, above.bound) == (pytest.approx(84 * 4.0), "at least")


def test_a_dial_at_its_stops_is_one_sided_too(one):
    """A dial ends at 0 and 100 % by itself."""
    machine = one(gauge='{ name = "dial", kind = "percent", range_mm = 500, at = [0, 0, 50] }')
    assert level.volume(machine, "tank", at(bound="at least")).value_l == pytest.approx(84 * 5.5)
    assert level.volume(machine, "tank", at(bound="at most")).value_l == pytest.approx(84 * 0.5)


def test_above_a_glass_whose_end_is_not_entered_is_refused(one):
    with pytest.raises(CannotAnswer, match="where the gauge ends is not entered"):
        level.volume(one(gauge=STICK), "tank", at(bound="at least"))


def test_a_level_plug_counts_only_with_its_tick(one):
    machine = one(gauge='{ name = "plug", kind = "level plug", at = [600, 350, 400] }', kind="final drive")
    for ticked in (None, False):
        with pytest.raises(CannotAnswer, match=r"plug: .* Turn the track until the plug is in its position, then tick it"):
            level.volume(machine, "tank", at(20.0, position_ok=ticked))
    assert level.volume(machine, "tank", at(20.0, position_ok=True)).value_l == pytest.approx(84 * 3.8)
    free = one(gauge='{ name = "plug", kind = "level plug", at = [600, 350, 400], position_tick = false }', kind="final drive")
    assert level.volume(free, "tank", at(0.0)).value_l == pytest.approx(84 * 4.0)


def test_what_ran_out_at_a_plug_was_in_it_above_the_lip(one):
    machine = one(gauge='{ name = "plug", kind = "level plug", at = [600, 350, 400] }', kind="final drive")
    lip = level.volume(machine, "tank", at(0.0, position_ok=True))
    found = level.volume(machine, "tank", at(0.0, position_ok=True, ran_out_l=5.0))
    assert found.value_l == pytest.approx(lip.value_l + 5.0)
    assert found.bound == "exact"
    line = next(line for line in found.budget if line.name == "what ran out")
    assert line.u_l == pytest.approx(0.15)  # 3 % of what a marked pail caught: typical, common practice, no source
    assert found.u_l == pytest.approx(math.hypot(lip.u_l, 0.15))
    assert any("record it as drained" in remark for remark in found.remarks)


def test_oil_runs_out_at_a_plug_only_and_until_it_stands_at_the_lip(one):
    with pytest.raises(BadInput, match="Oil runs out at a level plug only"):
        level.volume(one(gauge=STICK), "tank", at(0.0, ran_out_l=2.0))
    with pytest.raises(ValidationError, match="the level is then exactly 0 mm"):
        at(12.0, ran_out_l=2.0)


def test_a_dial_of_its_range_reads_a_height_and_one_of_the_capacity_reads_litres(one):
    range_dial = '{ name = "dial", kind = "percent", range_mm = 500, at = [0, 0, 50] }'
    lying = one(body=LYING, gauge=range_dial)
    assert level.volume(lying, "tank", at(50.0)).value_l == pytest.approx(math.pi * 36 / 4 * 12 / 2, rel=1e-9)  # 50 + 250 mm = half full
    capacity_dial = '{ name = "dial", kind = "percent", of = "capacity" }'
    machine = one(body=LYING, gauge=capacity_dial)
    assert level.volume(machine, "tank", at(25.0)).value_l == pytest.approx(math.pi * 36 / 4 * 12 / 4, rel=1e-12)
    assert level.reading_at(machine.compartment("tank"), 100.0) == pytest.approx(100 / (math.pi * 36 / 4 * 12) * 100)


@pytest.mark.published("level", "posture")
def test_rods_take_their_volume_out_of_the_tank(case):
    rods = [Cylinder(name=n, count=c, rod=d, stroke=s) for n, c, d, s in case["given"]["rods"]]
    out = level.posture_l(tuple(rods), {rod.name: rod.stroke for rod in rods})
    assert out == pytest.approx(case["want"], abs=case["tol"], rel=0)


def test_a_tank_read_with_the_rods_out_is_brought_back_to_the_reference_posture(one):
    machine = one(machine=CYLINDERS)
    found = level.volume(machine, "tank", at(200.0, posture="other", shown_mm={"boom": 1290.0, "arm": 0.0}))
    rods = 2 * math.pi / 4 * 0.85**2 * 10.9  # from ref 200 mm to 1290 mm
    assert found.posture_l == pytest.approx(rods, rel=1e-12)
    assert found.value_l == pytest.approx(235.2 + rods, rel=1e-12)
    inwards = level.volume(machine, "tank", at(200.0, posture="other", shown_mm={"boom": 0.0, "arm": 0.0}))
    assert inwards.posture_l == pytest.approx(-2 * math.pi / 4 * 0.85**2 * 2.0, rel=1e-12)


def test_rods_that_were_measured_count_even_if_nobody_named_the_posture(one):
    machine = one(machine=CYLINDERS)
    shown = {"boom": 1290.0, "arm": 700.0}
    named = level.volume(machine, "tank", at(200.0, posture="other", shown_mm=shown))
    assert level.volume(machine, "tank", at(200.0, shown_mm=shown)).value_l == named.value_l


def test_rods_entered_beside_the_reference_posture_are_remarked(one):
    found = level.volume(one(machine=CYLINDERS), "tank", at(200.0, posture="reference", shown_mm={"boom": 900.0}))
    assert found.posture_l == 0.0
    assert any("rods that were entered are not used" in r for r in found.remarks)


def test_a_rod_beyond_its_stroke_or_of_no_cylinder_is_refused(one):
    machine = one(machine=CYLINDERS)
    with pytest.raises(OutOfRange, match=r"rod shown, arm: 1511 mm is not within 0 to 1510 mm"):
        level.volume(machine, "tank", at(200.0, posture="other", shown_mm={"arm": 1511.0}))
    with pytest.raises(Unknown, match="“blade” is not known"):
        level.volume(machine, "tank", at(200.0, posture="other", shown_mm={"blade": 10.0}))


def test_the_rods_do_not_touch_a_gear_case(one):
    found = level.volume(one(machine=CYLINDERS, kind="gear case"), "tank", at(200.0, posture="other", shown_mm={"arm": 500.0}))
    assert found.posture_l == 0.0
    assert "posture" not in {line.name for line in found.budget}


@pytest.mark.parametrize("temp_c", [-10.0, 15.0, 30.0, 65.0, 80.0])
def test_oil_of_the_whole_system_warms_in_a_hydraulic_tank(one, temp_c):
    """Level shift = V_sys,15 (1/VCF(mark) - 1/VCF(read)), the system being known at its marks' temperature of 65 °C."""
    machine = one(gauge=WARM_GLASS, more="capacities = { system_l = 400 }")
    found = level.volume(machine, "tank", at(200.0, temp_c=temp_c), rho15=880.0)
    at_15 = 400 * oil.vcf(880.0, 65.0)
    assert found.temperature_l == pytest.approx(at_15 * (1 / oil.vcf(880.0, 65.0) - 1 / oil.vcf(880.0, temp_c)), abs=1e-12)
    assert found.value_l == pytest.approx(235.2 + found.temperature_l)
    assert found.temperature_l == 0.0 if temp_c == 65.0 else (found.temperature_l > 0) == (temp_c < 65.0)


def test_45_kelvin_on_250_litres_move_the_level_by_about_8_litres(one):
    """Rule of the help text: 250 L x 7.1e-4 x 45 K = 8.0 L (computed by us); the linear rule is good to a few per cent."""
    machine = one(gauge=WARM_GLASS, more="capacities = { system_l = 250 }")
    assert level.volume(machine, "tank", at(200.0, temp_c=20.0)).temperature_l == pytest.approx(8.0, abs=0.4)


@pytest.mark.parametrize("temp_c", [-10.0, 20.0, 65.0, 90.0])
def test_a_gear_case_grows_with_its_own_oil_only(one, temp_c):
    machine = one(gauge=WARM_GLASS, kind="slewing gearbox")
    found = level.volume(machine, "tank", at(200.0, temp_c=temp_c), rho15=900.0)
    assert found.value_l == pytest.approx(oil.convert_volume(235.2, temp_c, 65.0, 900.0), rel=1e-12)


def test_a_temperature_beyond_the_printed_table_is_remarked(one):
    machine = one(gauge=WARM_GLASS)
    assert any("outside the printed table" in r for r in level.volume(machine, "tank", at(200.0, temp_c=120.0)).remarks)
    assert not any("outside the printed table" in r for r in level.volume(machine, "tank", at(200.0, temp_c=60.0)).remarks)


def test_oil_that_would_not_fit_or_not_be_there_at_the_convention_is_remarked(one):
    """Box of 504 L read at 500 mm = 487.2 L: the rods bring 28.6 L, the room above the glass is 16.8 L."""
    machine = one(machine=CYLINDERS.replace("rod = 85", "rod = 120"))
    found = level.volume(machine, "tank", at(500.0, posture="other", shown_mm={"boom": 1490.0 - 200.0, "arm": 500.0}))
    over = 487.2 + 2 * math.pi / 4 * 1.2**2 * 10.9 + math.pi / 4 * 5.0 - 504
    assert found.value_l == pytest.approx(504 + over)
    assert any(f"about {over:.1f} L over the brim" in remark for remark in found.remarks)
    hot = one(gauge=WARM_GLASS, more="capacities = { system_l = 9000 }")
    found = level.volume(hot, "tank", at(0.0, temp_c=90.0))
    assert found.value_l < 0
    assert any("empty" in remark for remark in found.remarks)
    assert not any("brim" in remark or "empty" in remark for remark in level.volume(one(), "tank", at(200.0)).remarks)


def test_a_tilted_tank_with_a_low_roof_is_said_to_keep_air_where_the_oil_reaches_it(one):
    """A step of 250 mm before a tower of 520 mm: nose up, the end of the low roof is the higher one."""
    outline = "[{ to = [950, 0] }, { to = [950, 250] }, { to = [600, 250] }, { to = [600, 520] }, { to = [0, 520] }, { to = [0, 0] }]"
    step = one(
        body=f'body = {{ shape = "section", outline = {outline}, length = 430, axis = "y" }}',
        gauge='{ name = "glass", kind = "sight glass", at = [0, 215, 0] }',
    )
    for mm, pitch, roll, said in (
        (380.0, 2.0, 0.0, True),
        (380.0, -2.0, 0.0, False),
        (380.0, 0.0, 0.0, False),
        (380.0, None, None, False),
        (150.0, 2.0, 0.0, False),
    ):
        remarks = level.volume(step, "tank", at(mm, pitch_deg=pitch, roll_deg=roll)).remarks
        assert any("air may stay under a low part of the roof" in remark for remark in remarks) is said, (mm, pitch)
    assert not any("air may stay" in remark for remark in level.volume(one(), "tank", at(200.0, pitch_deg=3.0, roll_deg=1.0)).remarks)


def test_marks_are_litres_on_the_level_machine(one):
    found = level.marks(one().compartment("tank"))
    assert (found.low_l, found.target_l, found.high_l) == pytest.approx((84 * 2.3, 84 * 2.8, 84 * 3.3))
    plug = '{ name = "plug", kind = "level plug", at = [600, 350, 400], bands = [{ low = 0, high = 20, target = 5 }] }'
    found = level.marks(one(gauge=plug).compartment("tank"))
    assert (found.low_l, found.target_l, found.high_l) == pytest.approx((84 * 3.8, 84 * 3.95, 84 * 4.0))
    with pytest.raises(CannotAnswer, match="no marks are entered"):
        level.marks(one(gauge=STICK).compartment("tank"))


def test_marks_of_another_gauge_stay_on_that_gauge(one):
    """A gauge without marks aims at the marks of its neighbour: the same litres, not the same number on another scale."""
    both = one(gauge=STICK + ", " + WARM_GLASS).compartment("tank")
    found = level.marks(both, "stick")
    assert (found.low_l, found.target_l, found.high_l) == pytest.approx((84 * 2.3, 84 * 2.8, 84 * 3.3))
    assert found.gauge == "glass"


def test_without_a_gauge_or_a_name_that_exists_there_is_no_answer(one):
    with pytest.raises(CannotAnswer, match="no gauge is entered"):
        level.volume(one(gauge=""), "tank", at(200.0))
    with pytest.raises(Unknown, match=r"“dial” is not known. Known: glass\."):
        level.volume(one(), "tank", at(200.0, gauge="dial"))
    with pytest.raises(Unknown, match=r"“sump” is not known. Known: tank\."):
        level.volume(one(), "sump", at(200.0))
