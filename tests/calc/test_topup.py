"""How much to the mark: litres ±, rounded to what people can measure, in their containers."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import figure, level, oil, topup
from fluidapp.errors import BadInput, CannotAnswer
from fluidapp.model import Container, Reading

PAIL, CAN = Container(label="20 L pail", volume_l=20.0), Container(label="5 L can", volume_l=5.0)
HOT_GLASS = (
    '{ name = "glass", kind = "sight glass", at = [1200, 200, 80], end_mm = 500, '
    "bands = [{ low = 150, high = 250, temp_low_c = 50, temp_high_c = 80 }] }"
)
CYLINDERS = 'cylinders = [{ name = "boom", count = 2, rod = 100, stroke = 1500, ref = 600 }]'
BOOM = 2 * math.pi / 4 * 100**2 * 1e-6  # L per mm of rod
LEVEL = {"pitch_deg": 0.0, "roll_deg": 0.0, "posture": "reference"}


def ask(machine, reading, containers=(), **fields):
    return topup.answer(machine, "tank", Reading(level=reading, **(LEVEL | fields)), containers)


def line(budget, name):
    return next(found for found in budget if found.name == name)


def test_a_low_tank_gets_what_is_missing_in_pails_and_a_rest(one):
    """Box, target 200 mm: at 169 mm 31 mm x 0.84 L/mm = 26.04 L are missing."""
    found = ask(one(machine="class_t = 20"), 169.0, (CAN, PAIL))
    assert found.add_l == pytest.approx(26.04)
    assert found.pour_l == 26.0
    assert found.words == "a 20 L pail and a 5 L can and 1 L"
    assert ask(one(machine="class_t = 20"), 169.0, (PAIL,)).words == "a 20 L pail and 6 L"
    assert ask(one(machine="class_t = 20"), 169.0).words == "26 L"


@pytest.mark.parametrize(
    ("class_t", "kind", "pour"),
    [(20, "hydraulic tank", 26.0), (50, "hydraulic tank", 25.0), (20, "gear case", 26.0), (20, "engine sump", 26.0)],
)
def test_the_instruction_follows_what_people_can_measure(one, class_t, kind, pour):
    assert ask(one(machine=f"class_t = {class_t}", kind=kind), 169.0).pour_l == pour


def test_reading_and_mark_share_the_tank_s_doubt_so_only_the_difference_is_doubted(one):
    found = ask(one(), 169.0)
    assert line(found.volume.budget, "tank").u_l == pytest.approx(0.01 * 84 * 2.49)
    without = math.sqrt(found.volume.u_l**2 - line(found.volume.budget, "tank").u_l ** 2)
    assert found.u_l == pytest.approx(math.hypot(without, 0.01 * 26.04))


def test_the_doubt_of_a_top_up_agrees_with_everything_drawn_at_random(one):
    """Independent: closed formula of the box; the tank's scale multiplies reading and mark alike. N draws: standard error u/sqrt(2N)."""
    machine = one(gauge=HOT_GLASS, machine=CYLINDERS, more="capacities = { system_l = 400 }\nu_tank_percent = 10")
    found = topup.answer(
        machine, "tank", Reading(level=120.0, pitch_deg=1.0, roll_deg=0.0, temp_c=65.0, posture="other", shown_mm={"boom": 900.0})
    )
    rng, n = np.random.default_rng(7), 400_000

    def draw(value, u):
        return value + u * rng.standard_normal(n)

    p, r = np.radians(draw(1.0, 0.3)), np.radians(draw(0.0, 0.3))
    read = 84 * (0.8 + draw(1.2, 0.03) + 6.0 * np.tan(p) / np.cos(r) - 1.5 * np.tan(r))
    missing = (84 * 2.8 - read) * draw(1.0, 0.1) - BOOM * (draw(900.0, 10.0) - 600.0) - draw(0.0, 400 * 7e-4 * 2)
    error = found.u_l / math.sqrt(n)
    assert missing.std() == pytest.approx(found.u_l, abs=4 * error / math.sqrt(2) + 2e-3 * found.u_l)  # 0.2 %: product of two doubts
    assert missing.mean() == pytest.approx(found.add_l, abs=4 * error + 0.01)


@given(st.floats(0, 2000), st.lists(st.integers(1, 30_000), max_size=4))
def test_packs_add_up_to_the_amount(amount, sizes):
    amount = figure.to_pour(amount)
    containers = tuple(Container(label=f"{s / 100:g} L can", volume_l=s / 100) for s in sizes)
    found = topup.packs(amount, containers)
    assert sum(pack.count * pack.volume_l for pack in found) == pytest.approx(amount, abs=1e-6)
    assert all(pack.count >= 1 and pack.volume_l > 0 for pack in found)
    rest = [pack for pack in found if not pack.label]
    assert len(rest) <= 1
    assert all(pack.volume_l < min((c.volume_l for c in containers), default=math.inf) for pack in rest)


@given(st.floats(0, 500), st.floats(1, 60))
def test_packs_of_any_size_miss_the_amount_by_less_than_5_millilitres(amount, size):
    found = topup.packs(amount, (Container(label="pail", volume_l=size),))
    assert abs(sum(pack.count * pack.volume_l for pack in found) - amount) < 0.005


def test_a_pail_of_5_us_gallons_leaves_its_exact_rest():
    found = topup.packs(26.0, (Container(label="5 US gal pail", volume_l=18.92705892),))
    assert sum(pack.count * pack.volume_l for pack in found) == pytest.approx(26.0, abs=1e-9)
    assert str(found[1]) == "7.07 L"


@pytest.mark.parametrize(
    ("amount", "words"),
    [
        (40.0, ["2 × 20 L pail"]),
        (0.0, []),
        (19.9, ["3 × 5 L can", "4.9 L"]),
        (20.0, ["a 20 L pail"]),
        (65.0, ["3 × 20 L pail", "a 5 L can"]),
    ],
)
def test_amounts_in_pails_and_cans(amount, words):
    assert [str(pack) for pack in topup.packs(amount, (CAN, PAIL))] == words


@pytest.mark.parametrize("label", ["8 L can", "18 L pail", "11 L can", "80 L keg"])
def test_the_article_is_that_of_the_spoken_number(label):
    assert str(topup.Pack(1, label, 8.0)) == f"an {label}"


@pytest.mark.parametrize("amount", [-0.1, math.nan, math.inf])
def test_no_packs_of_less_than_nothing(amount):
    with pytest.raises(BadInput, match="amount"):
        topup.packs(amount, (PAIL,))


@pytest.mark.parametrize("target", [0.0, -5.0, math.nan, math.inf])
def test_a_target_is_above_0(one, target):
    volume = level.volume(one(), "tank", Reading(level=169.0))
    with pytest.raises(BadInput, match="target"):
        topup.size(volume, target)


def test_a_dry_gauge_asks_for_what_is_missing_at_least_and_for_another_reading(one):
    """Glass from 0 mm = 67.2 L, target 235.2 L: 168 L; steps of 5 L in a large tank, and never more than is certain."""
    found = ask(one(machine="class_t = 50"), None, (PAIL,), bound="at most")
    assert (found.bound, found.add_l) == ("at least", pytest.approx(168.0))
    assert found.pour_l == 165.0
    assert found.remarks[0] == "At least 165 L missing: pour 165 L, then read again."
    assert found.after_mm is None
    small = ask(one(machine="class_t = 20", gauge=HOT_GLASS), None, bound="at most")
    assert small.pour_l == 168.0


def test_above_the_gauge_nothing_is_poured(one):
    short = HOT_GLASS.replace("end_mm = 500", "end_mm = 180")  # even where the target, 200 mm, stands above its end
    found = ask(one(gauge=short), None, (PAIL,), bound="at least")
    assert (found.bound, found.pour_l, found.packs) == ("at most", 0.0, ())
    assert "add nothing" in found.remarks[0]


def test_too_much_is_a_drain_and_pours_nothing(one):
    found = ask(one(), 240.0)
    assert found.add_l == pytest.approx(-0.84 * 40)
    assert (found.pour_l, found.packs, found.words) == (0.0, (), "")


def test_a_difference_within_its_doubt_is_called_so(one):
    assert any("within its ±" in remark for remark in ask(one(), 199.0).remarks)
    assert not any("within its ±" in remark for remark in ask(one(), 150.0).remarks)


def test_where_the_doubt_reaches_over_the_upper_mark_pour_most_and_read_again(one):
    narrow = HOT_GLASS.replace("high = 250", "high = 204, target = 200")
    assert any("reaches over the upper mark" in remark for remark in ask(one(gauge=narrow), 150.0).remarks)
    assert not any("reaches over the upper mark" in remark for remark in ask(one(gauge=HOT_GLASS), 150.0).remarks)


def test_more_missing_than_usual_means_look_before_you_pour(one):
    machine = one(more="usual_topup_l = 5")
    assert "slewing gearbox stick" in (ask(machine, 169.0).before_you_pour or "")
    assert ask(machine, 193.0).before_you_pour is None  # 5.88 L are not certainly more than 5 L
    assert ask(one(), 169.0).before_you_pour is None


@pytest.mark.parametrize("slope", [{}, {"pitch_deg": 3.0}, {"pitch_deg": -2.0, "roll_deg": 1.5}, {"pitch_deg": 3.0, "swing_deg": 180.0}])
@pytest.mark.parametrize(
    "gauge",
    [
        HOT_GLASS,
        '{ name = "s", kind = "stick", tip = [850, 350, 20], angle = 25, toward = 0, bands = [{ low = 200, high = 300 }] }',
        '{ name = "d", kind = "percent", of = "capacity", at = [1200, 200, 0], bands = [{ low = 40, high = 50 }] }',
        '{ name = "d", kind = "percent", range_mm = 500, at = [1200, 200, 0], bands = [{ low = 40, high = 60 }] }',
    ],
)
def test_the_reading_to_expect_holds_where_the_machine_stands(one, gauge, slope):
    """After the pour the gauge shows it on the same slope, with the oil as warm and the rods as far out as they were."""
    machine = one(gauge=gauge, machine=CYLINDERS)
    fields = {"pitch_deg": 0.0, "roll_deg": 0.0, "posture": "other", "shown_mm": {"boom": 800.0}} | slope
    before = 150.0 if "stick" in gauge else 30.0 if "percent" in gauge else 140.0
    found = ask(machine, before, **fields)
    assert found.add_l > 0
    after = level.volume(machine, "tank", Reading(level=found.after_mm, **fields))
    assert after.value_l == pytest.approx(found.marks.target_l, rel=1e-8)


def test_hot_oil_stands_higher_by_the_growth_of_the_system(one):
    machine = one(gauge=HOT_GLASS, more="capacities = { system_l = 400 }")
    found = ask(machine, 150.0, temp_c=65.0)
    growth = 400 * (oil.vcf(875.0, 65.0) / oil.vcf(875.0, 80.0) - 1)
    assert found.hot_level_mm == pytest.approx(200 + growth / 0.84, abs=1e-6)
    assert found.hot_c == 80.0
    assert ask(one(), 150.0).hot_level_mm is None  # no temperature is known for its marks


def test_hot_oil_over_the_gauge_has_no_reading_and_over_the_brim_is_remarked(one):
    short = HOT_GLASS.replace("end_mm = 500", "end_mm = 252")
    assert ask(one(gauge=short, more="capacities = { system_l = 4000 }"), 150.0, temp_c=65.0).hot_level_mm is None
    full = HOT_GLASS.replace("high = 250", "high = 500, target = 500")
    found = ask(one(gauge=full, more="capacities = { system_l = 2000 }"), 450.0, temp_c=65.0)
    over = 84 * 5.8 + 2000 * (oil.vcf(875.0, 65.0) / oil.vcf(875.0, 80.0) - 1) - 504
    assert found.hot_level_mm is None
    assert any(f"At 80 °C the oil would stand about {figure.litres(figure.to_pour(over))} over the brim" in r for r in found.remarks)


def test_hot_oil_with_all_rods_in_is_checked_as_well(one):
    """Marks hold with 600 mm of rod out: fully in, 9.42 L more stand in the tank. Hot alone it stays 2.6 L below the brim."""
    full = HOT_GLASS.replace("high = 250", "high = 500, target = 500")
    more = "capacities = { system_l = 1250 }"
    assert pytest.approx(9.42, abs=0.01) == BOOM * 600
    safe = ask(one(gauge=full, more=more), 450.0, temp_c=65.0)
    assert not any("brim" in remark for remark in safe.remarks)
    found = ask(one(gauge=full, more=more, machine=CYLINDERS), 450.0, temp_c=65.0)
    assert found.hot_level_mm is None  # beyond the glass, which ends at 500 mm
    assert any("with all rods in" in remark and "over the brim" in remark for remark in found.remarks)
    low = ask(one(gauge=HOT_GLASS, more=more, machine=CYLINDERS), 150.0, temp_c=65.0)
    assert not any("brim" in remark for remark in low.remarks)


FULL = '{ name = "glass", kind = "sight glass", at = [1200, 200, 80], end_mm = 500, bands = [{ low = 150, high = 510, target = 510 }] }'


def test_without_the_marks_temperature_all_rods_in_are_checked_all_the_same(one):
    """Filled to 590 mm, 8.4 L are left to the brim of 600 mm; 600 mm of both booms bring 9.42 L."""
    found = ask(one(gauge=FULL, machine=CYLINDERS), 450.0)
    assert found.hot.rods_in_l == pytest.approx(84 * 5.9 + BOOM * 600)
    assert found.hot.temp_c is None
    assert found.hot_level_mm is None
    assert "With all rods in (boom retracted) the oil would stand about 1 L over the brim: pour less." in found.remarks
    assert "Hot oil was not checked: enter the oil temperature for which the marks hold, or that of the oil." in found.remarks
    bare = ask(one(gauge=FULL), 450.0)
    assert not any("brim" in remark for remark in bare.remarks)


def test_without_the_marks_temperature_the_oil_warms_from_the_one_that_was_read(one):
    found = ask(one(gauge=FULL, more="capacities = { system_l = 400 }"), 450.0, temp_c=20.0)
    growth = 400 * (oil.vcf(875.0, 20.0) / oil.vcf(875.0, 80.0) - 1)
    assert found.hot.reference_l == pytest.approx(84 * 5.9 + growth)
    assert found.hot.temp_c == 80.0
    over = figure.litres(figure.to_pour(growth - 8.4))
    assert f"At 80 °C the oil would stand about {over} over the brim: pour less." in found.remarks
    assert not any("was not checked" in remark for remark in found.remarks)


def test_marks_for_oil_hotter_than_the_check_still_get_all_rods_in(one):
    hotter = FULL.replace("high = 510,", "high = 510, temp_low_c = 80, temp_high_c = 90,")
    found = ask(one(gauge=hotter, machine=CYLINDERS), 450.0, temp_c=85.0)
    assert any(remark.startswith("With all rods in (boom retracted)") for remark in found.remarks)
    assert "Hotter oil was not checked: the marks hold at 85 °C, and the check is made at 80 °C." in found.remarks


def test_a_level_plug_is_not_asked_for_the_warmth_of_its_mark(one):
    plug = '{ name = "plug", kind = "level plug", at = [600, 350, 400], position_tick = false, bands = [{ low = 0, high = 20 }] }'
    assert not any("not checked" in remark for remark in ask(one(gauge=plug, kind="final drive"), 20.0).remarks)


def test_marks_of_another_posture_leave_the_rods_unchecked_and_say_so(one):
    raised = FULL.replace("}] }", '}, { low = 100, high = 510, target = 510, posture = "boom raised" }] }')
    found = ask(one(gauge=raised, machine=CYLINDERS), 450.0, posture="other")
    assert found.hot.rods == ()
    assert "All rods in was not checked: the marks hold for another posture." in found.remarks


def test_a_class_that_is_not_entered_is_said_where_it_rounds_the_pour(one):
    said = "The machine's class is not entered: litres to pour are rounded as for 20 t."
    assert said in ask(one(), 169.0).remarks
    assert said not in ask(one(machine="class_t = 20"), 169.0).remarks
    assert said not in ask(one(kind="gear case"), 169.0).remarks
    assert said not in ask(one(), 195.0).remarks  # 4.2 L: measured with a jug, whatever the machine


def test_an_undrawn_tank_has_no_brim_to_run_over_only_a_highest_known_level(one):
    gauge = HOT_GLASS.replace("end_mm = 500, ", "").replace("high = 250", "high = 250, target = 250")
    machine = one(body="pours = [{ add = 20, before = 180, after = 237 }]\nfill = { litres = 200, reading = 240 }", gauge=gauge)
    remarks = ask(machine, 200.0, temp_c=65.0).remarks
    assert any("over the highest level that is known here: make sure that it stays below the breather" in remark for remark in remarks)
    assert not any("brim" in remark for remark in remarks)


def test_without_marks_there_is_nothing_to_fill_to(one):
    with pytest.raises(CannotAnswer, match="no marks are entered"):
        ask(one(gauge='{ name = "s", kind = "stick", tip = [0, 0, 0] }'), 150.0)
