"""Refill after a repair: before the start and after running, suction, stages, the whole answer."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import oil, refill, topup
from fluidapp.calc.refill import Line, Marks, Missing
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Container, Reading

MARKS = Marks(120.0, 140.0, 160.0)
PAIL = Container(label="20 L pail", volume_l=20.0)
DRUM = Container(label="208 L drum", volume_l=208.0)
JUG = Container(label="5 L can", volume_l=5.0)


def circuit(litres, u=0.1):
    return Line("hoses", litres, u, "after running", "circuit", True)


# two numbers


def test_before_the_start_go_the_deficit_the_cases_and_what_is_prefilled_and_the_circuit_afterwards():
    lines = [refill.case(1.5), refill.housing(100.0, 300.0, prefilled=True), refill.hose(25.4, 4.0), refill.cooler(18.0)]
    plan = refill.refill(Missing(20.0, 1.0), lines, marks=Marks(80.0, 140.0, 160.0))
    assert plan.before_start.value_l == pytest.approx(20.0 + 1.5 + lines[1].value_l)
    assert plan.after_running.value_l == pytest.approx(lines[2].value_l + 18.0)
    assert (plan.tank_l, plan.extra_l, plan.suction) == (20.0, 0.0, "covered")
    assert plan.total.value_l == pytest.approx(20.0 + sum(line.value_l for line in lines))
    for portion in (plan.before_start, plan.after_running, plan.total, plan.circuit):
        assert portion.value_l == pytest.approx(sum(line.value_l for line in portion.lines))
        assert portion.u_l == pytest.approx(math.sqrt(sum(line.u_l**2 for line in portion.lines)))


def test_the_doubt_of_the_two_numbers_agrees_with_random_draws():
    """Deficit, case and circuit drawn; poured is what the reading says, and afterwards what is really missing: within 3 %."""
    rng = np.random.default_rng(2)
    missing, case, hoses = (m + u * rng.standard_normal(40000) for m, u in ((20.0, 1.0), (2.0, 0.4), (6.0, 0.5)))
    lines = [Line("case", 2.0, 0.4, "before start", "motor or pump case", True), circuit(6.0, 0.5)]
    plan = refill.refill(Missing(20.0, 1.0), lines, marks=MARKS)
    assert plan.before_start.u_l == pytest.approx(np.std(missing + case), rel=0.03)
    after = missing - plan.tank_l + hoses
    assert plan.after_running.value_l == pytest.approx(np.mean(after), abs=0.05)
    assert plan.after_running.u_l == pytest.approx(np.std(after), rel=0.03)
    assert plan.total.u_l == pytest.approx(np.std(missing + case + hoses), rel=0.03)


def test_the_range_is_95_per_cent_by_degrees_of_freedom_and_never_below_0():
    few = refill.refill(Missing(20.0, 1.0, dof=4.0), [])
    assert few.before_start.half_l == pytest.approx(2.776, abs=0.001)
    assert (few.before_start.low_l, few.before_start.high_l) == pytest.approx((17.224, 22.776), abs=0.001)
    assert refill.refill(Missing(0.5, 1.0), []).before_start.low_l == 0.0
    assert few.circuit.half_l == 0.0


def test_gear_cases_are_never_summed_up_with_the_hydraulic_oil():
    plan = refill.refill(Missing(20.0, 1.0), [refill.gear_case(6.0, product="gear"), circuit(4.0)], marks=MARKS)
    assert plan.total.value_l == pytest.approx(24.0)
    assert [line.value_l for line in plan.gear_cases] == [6.0]


def test_what_stands_too_much_in_the_tank_goes_into_the_circuit_first():
    plan = refill.refill(Missing(-3.0, 1.0), [circuit(10.0)], marks=MARKS)
    assert (plan.tank_l, plan.before_start.value_l) == (0.0, 0.0)
    assert plan.after_running.value_l == pytest.approx(7.0)
    assert any("too much stand" in text for text in plan.remarks)
    over = refill.refill(Missing(-8.0, 1.0), [circuit(1.0)], marks=MARKS)
    assert over.after_running.value_l == pytest.approx(-7.0)
    assert any("drain to the mark" in text for text in over.remarks)


def test_a_typical_line_is_named_under_the_answer():
    assert any("typical" in text for text in refill.refill(Missing(5.0, 1.0), [refill.case()], marks=MARKS).remarks)
    assert not any("typical" in text for text in refill.refill(Missing(5.0, 1.0), [refill.case(1.0)], marks=MARKS).remarks)


# suction


@given(
    st.floats(-40, 140),
    st.floats(0.1, 5),
    st.floats(0.0, 400),
    st.floats(0.05, 5),
    st.tuples(st.floats(20, 130), st.floats(0, 60), st.floats(0, 60)),
)
def test_the_level_never_falls_below_l_nor_is_filled_above_h_and_the_pours_add_up(add, u_add, draws, u_draws, heights):
    low, below, above = heights
    marks = Marks(low, low + below, low + below + above + 0.5)
    if add > marks.target_l:
        return
    plan = refill.refill(Missing(add, u_add), [circuit(draws, u_draws)], marks=marks)
    assert plan.before_start.value_l + plan.after_running.value_l == pytest.approx(add + draws, abs=1e-6)
    now = marks.target_l - add
    assert plan.tank_l <= max(marks.high_l - now, max(add, 0.0)) + 1e-9
    u = math.hypot(u_add, u_draws)
    floor = marks.low_l + 2.0 * u
    if plan.suction == "cannot be covered":
        assert marks.high_l - floor <= draws / 20 + 1e-9
        return
    standing = now
    for stage in plan.stages:
        standing += stage.pour_l
        assert standing <= max(marks.high_l, now) + 1e-6
        standing -= stage.draws_l
        assert standing == pytest.approx(stage.left_l, abs=1e-6)
        assert standing >= floor - 1e-6
    assert math.fsum(s.draws_l for s in plan.stages) == pytest.approx(draws, abs=1e-6)
    assert standing == pytest.approx(now + math.fsum(s.pour_l for s in plan.stages) - draws, abs=1e-6)
    later = math.fsum(s.pour_l for s in plan.stages[1:])
    assert plan.after_running.value_l == pytest.approx(later + marks.target_l - standing, abs=1e-6)


def test_the_suction_limit_is_the_low_mark_and_the_half_width_of_both():
    """140 at the target, low mark 120, U = 2 x 0.5 L: a circuit of 19 L is covered, of 19.1 L needs more before the start."""
    u = 0.5 / math.sqrt(2)
    just, more = (refill.refill(Missing(20.0, u), [circuit(litres, u)], marks=MARKS) for litres in (18.999, 19.1))
    assert (just.suction, just.extra_l) == ("covered", 0.0)
    assert just.stages[0].left_l == pytest.approx(121.0, abs=0.002)
    assert more.suction == "covered with more before the start"
    assert more.extra_l == pytest.approx(0.1, abs=1e-9)
    assert more.before_start.value_l == pytest.approx(20.1)
    assert more.after_running.value_l == pytest.approx(19.0)
    assert any("more than to the target before the start" in text for text in more.remarks)


def test_a_circuit_larger_than_the_tank_may_give_is_filled_in_stages():
    """From 160 down to 121 L: 39 L a start, so 100 L take three."""
    u = 0.5 / math.sqrt(2)
    plan = refill.refill(Missing(20.0, u), [circuit(100.0, u)], marks=MARKS)
    assert plan.suction == "in stages"
    assert [round(s.pour_l, 6) for s in plan.stages] == [40.0, 39.0, 39.0]
    assert [round(s.draws_l, 6) for s in plan.stages] == [39.0, 39.0, 22.0]
    assert plan.before_start.value_l == pytest.approx(40.0)
    assert plan.after_running.value_l == pytest.approx(80.0)
    assert any(text.startswith("Start 3 times") for text in plan.remarks)


def test_more_than_twenty_starts_are_no_plan():
    """39 L a start: 20 starts give 780 L."""
    u = 0.5 / math.sqrt(2)
    assert len(refill.refill(Missing(20.0, u), [circuit(779.0, u)], marks=MARKS).stages) == 20
    assert refill.refill(Missing(20.0, u), [circuit(781.0, u)], marks=MARKS).suction == "cannot be covered"


def test_marks_closer_than_the_doubt_cannot_keep_the_suction_covered():
    plan = refill.refill(Missing(5.0, 3.0), [circuit(10.0)], marks=Marks(138.0, 140.0, 142.0))
    assert (plan.suction, plan.stages) == ("cannot be covered", ())
    assert plan.tank_l == pytest.approx(7.0)
    assert any("by hand before the start" in text for text in plan.remarks)


def test_without_marks_or_with_a_one_sided_reading_the_suction_is_not_checked():
    assert refill.refill(Missing(5.0, 1.0), [circuit(1.0)]).suction == "not checked"
    dry = topup.TopUp(18.0, 1.0, math.inf, 18.0, (), (), "at least")
    plan = refill.refill(dry, [circuit(1.0)], marks=MARKS)
    assert (plan.suction, plan.bound) == ("not checked", "at least")
    assert "at least this much is missing" in plan.remarks[0]
    over = topup.TopUp(-18.0, 1.0, math.inf, 0.0, (), (), "at most")
    assert "above the gauge" in refill.refill(over, [], marks=MARKS).remarks[0]


@pytest.mark.parametrize(
    ("call", "error", "says"),
    [
        (lambda: refill.refill(Missing(math.nan, 1.0), []), BadInput, "missing in the tank"),
        (lambda: refill.refill(Missing(5.0, 0.0), []), BadInput, "no reading is exact"),
        (lambda: refill.refill(Missing(141.0, 1.0), [], marks=MARKS), OutOfRange, "More than the tank holds"),
        (lambda: Marks(140.0, 130.0, 120.0), BadInput, "low mark lies below"),
        (lambda: Marks(120.0, 170.0, 160.0), OutOfRange, "between the marks"),
    ],
)
def test_a_deficit_or_marks_that_cannot_be_are_refused(call, error, says):
    with pytest.raises(error, match=says):
        call()


def test_the_promised_names_are_there():
    assert topup.refill is refill.refill
    assert topup.Refill is refill.Refill
    assert topup.rinse_cycles is oil.rinse_cycles
    assert topup.rinse_cycles(0.2, 0.05) == 2


# the whole answer: a box of 84 dm2, glass from 80 mm over its floor, marks 150 to 250 mm


CYLINDERS = 'cylinders = [{ name = "boom", count = 2, rod = 85, stroke = 1290, bore = 120, ref = 200 }]'
LABELS = "capacities = { at_mark_l = 235, refill_l = 230, system_l = 400 }"


def at(mm=None, **more):
    return Reading(level=mm, pitch_deg=0.0, roll_deg=0.0, **({"posture": "reference"} | more))


def test_from_a_reading_to_two_numbers(one):
    """Glass at 180 mm of a target of 200 mm: 16.8 L are missing; hoses take 2 L more."""
    plan = refill.plan(one(), "tank", at(180.0), [refill.hose(25.4, 4.0), refill.case(1.2)], containers=(PAIL,))
    assert plan.refill.tank_l == pytest.approx(84 * 0.2)
    assert plan.refill.before_start.value_l == pytest.approx(84 * 0.2 + 1.2)
    assert plan.refill.after_running.value_l == pytest.approx(4 * 0.5067, abs=1e-3)
    assert plan.refill.suction == "covered"
    assert plan.refill.stages[0].left_l == pytest.approx(84 * 2.8 - 4 * 0.5067, abs=1e-2)
    assert plan.pour_l == 17.0
    assert [str(pack) for pack in plan.packs] == ["17 L"]
    assert plan.topup.add_l == plan.refill.tank_l
    assert {"case", "weep"} <= {gate.key for gate in plan.steps}
    assert "strokes" not in {gate.key for gate in plan.steps}
    assert plan.cautions


def test_a_dry_cylinder_is_a_line_and_leaves_the_posture(one):
    """Read with both booms 700 mm out, one of them dry: only one rod goes back to the tank, and the dry one takes its contents."""
    machine = one(machine=CYLINDERS)
    out = {"posture": "other", "shown_mm": {"boom": 700.0}}
    wet, dry = refill.plan(machine, "tank", at(180.0, **out)), refill.plan(machine, "tank", at(180.0, **out), dry={"boom": 1})
    rod = math.pi / 4 * 85**2 * 500 / 1e6
    assert dry.refill.tank_l - wet.refill.tank_l == pytest.approx(rod)
    contents = math.pi / 4 * (120**2 * 200 + (120**2 - 85**2) * 1090) / 1e6
    assert dry.refill.circuit.value_l == pytest.approx(contents)
    assert "strokes" in {gate.key for gate in dry.steps}
    both = refill.plan(machine, "tank", at(180.0, **out), dry={"boom": 2})
    assert both.refill.circuit.value_l == pytest.approx(2 * contents)
    assert both.refill.tank_l - wet.refill.tank_l == pytest.approx(2 * rod)
    assert refill.plan(machine, "tank", at(180.0, **out), dry={"boom": 0}).refill == wet.refill
    arm = one(machine=CYLINDERS.replace("}]", '}, { name = "arm", rod = 100, stroke = 1510 }]'))
    out["shown_mm"] = {"boom": 700.0, "arm": 0.0}
    assert refill.plan(arm, "tank", at(180.0, **out), dry={"boom": 2}).refill.tank_l == pytest.approx(both.refill.tank_l)


def test_a_whole_drain_takes_the_refill_capacity_never_the_systems(one):
    plan = refill.plan(one(more=LABELS), "tank", None, [circuit(5.0)])
    assert plan.refill.tank_l == 230.0
    assert plan.refill.before_start.u_l == pytest.approx(0.03 * 230)
    assert plan.topup is None
    only_mark = refill.drained_tank(one(more="capacities = { at_mark_l = 235, system_l = 400 }").compartment("tank"))
    assert only_mark.add_l == 235.0
    with pytest.raises(CannotAnswer, match="neither its refill capacity"):
        refill.plan(one(more="capacities = { system_l = 400 }"), "tank", None)


def test_a_label_beyond_the_tanks_shape_is_named(one):
    """The shape holds 235.2 L at the target: 240 is taken as 235.2 and said, 300 is refused."""
    near = refill.plan(one(more="capacities = { refill_l = 240 }"), "tank", None)
    assert near.refill.tank_l == pytest.approx(235.2)
    assert any("240 L by its label" in text for text in near.remarks)
    with pytest.raises(CannotAnswer, match="235 L at its target by its shape, and 300 L by its label"):
        refill.plan(one(more="capacities = { refill_l = 300 }"), "tank", None)


def test_a_fill_beyond_its_label_is_named_with_the_systems_figure(one):
    part = one(more=LABELS).compartment("tank")
    assert refill.label_remark(part, 230.0) is None
    assert refill.label_remark(part, 241.0) is None
    assert "check the reading and the label" in refill.label_remark(part, 250.0)
    assert "system's figure" in refill.label_remark(part, 400.0)
    assert "“at mark”" in refill.label_remark(one(more="capacities = { at_mark_l = 100 }").compartment("tank"), 200.0)
    assert refill.label_remark(one().compartment("tank"), 999.0) is None
    wide = one(more="capacities = { refill_l = 10 }")
    assert any("more than its label" in text for text in refill.plan(wide, "tank", at(180.0)).remarks)


def test_the_instruction_never_fills_above_h(one):
    """A circuit of 70 or 90 L wants more before the start; rounded too, what is poured stays at or below the high mark (58.8 L)."""
    for litres, suction, pour in ((70.0, "covered with more before the start", None), (90.0, "in stages", 58.0)):
        plan = refill.plan(one(), "tank", at(180.0), [circuit(litres)])
        assert plan.refill.suction == suction
        assert 84 * 2.6 + plan.pour_l <= 84 * 3.3 + 1e-9
        assert plan.topup.pour_l < plan.pour_l == (pour or plan.pour_l)


def test_a_dry_glass_gives_at_least_and_asks_for_a_second_reading(one):
    plan = refill.plan(one(), "tank", at(bound="at most"), [circuit(2.0)])
    assert plan.refill.suction == "not checked"
    assert "at least this much is missing" in plan.remarks[0]
    assert plan.refill.tank_l == pytest.approx(84 * 2.0)


def test_a_changed_seal_asks_for_the_drain_filter(one):
    assert "seal" in {gate.key for gate in refill.plan(one(), "tank", at(180.0), seal=True).steps}
