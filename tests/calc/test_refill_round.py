"""Round a refill: steps, flush, poured against expected, used oil, changes, bring list."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import cautions, refill
from fluidapp.calc.refill import Line, Marks, Missing, Need, Portion
from fluidapp.errors import BadInput, OutOfRange, Unknown
from fluidapp.model import Container

MARKS = Marks(120.0, 140.0, 160.0)
PAIL = Container(label="20 L pail", volume_l=20.0)
DRUM = Container(label="208 L drum", volume_l=208.0)
JUG = Container(label="5 L can", volume_l=5.0)


def circuit(litres, u=0.1):
    return Line("hoses", litres, u, "after running", "circuit", True)


# steps


def test_the_steps_come_in_the_order_of_the_work():
    every = [gate.key for gate in refill.gates(refill.PARTS)]
    assert every == [gate.key for gate in refill.GATES]
    for one, other in (
        ("safe", "case"), ("case", "tank"), ("tank", "weep"), ("weep", "slow"), ("slow", "add"), ("add", "strokes"), ("strokes", "reading"),
        ("reading", "watch"), ("gear case", "gear case again"),
    ):  # fmt: skip
        assert every.index(one) < every.index(other)


def test_only_the_steps_of_what_was_opened_appear():
    plain = {gate.key for gate in refill.gates(["circuit"])}
    assert not {"case", "weep", "strokes", "gear case", "seal"} & plain
    assert {"safe", "tank", "slow", "add", "reading", "watch"} <= plain
    assert {"case", "weep"} <= {gate.key for gate in refill.gates(["motor or pump case"])}
    with pytest.raises(Unknown, match="Opened part"):
        refill.gates(["pump"])


def test_the_engine_waits_for_the_case_to_be_filled():
    steps = refill.gates(["motor or pump case"])
    done = {"safe", "shut", "tank", "people"}
    assert [gate.key for gate in refill.still_open(steps, done)] == ["case"]
    assert refill.still_open(steps, done | {"case"}) == ()
    case = next(gate for gate in steps if gate.key == "case")
    assert (case.confirm, case.before_start) == ("litres", True)
    with pytest.raises(Unknown, match="Step"):
        refill.still_open(steps, {"coffee"})


def test_every_step_and_caution_names_its_source():
    for gate in refill.GATES:
        assert any(word in gate.source for word in ("second-hand", "read", "common practice, no source")), gate
    assert next(gate for gate in refill.GATES if gate.key == "reading").confirm == "reading"
    assert all("(" in line and line.endswith(").") for line in cautions.REFILL[:-1])
    assert cautions.REFILL[-1] == cautions.LAST


def test_the_opened_parts_follow_from_the_lines(one):
    machine = one(machine='cylinders = [{ name = "boom", rod = 85, stroke = 1290, bore = 120 }]')
    lines = [refill.case(1.0), refill.cylinder(machine.cylinders[0]), refill.gear_case(6.0)]
    assert refill.parts_of(lines) == {"motor or pump case", "cylinder", "circuit", "gear case"}
    assert refill.parts_of([]) == frozenset()


# flush, poured, used oil, changes


@pytest.mark.published("refill", "flush")
def test_flush_or_not_by_what_failed(case):
    g = case["given"]
    found = refill.flush(g["failed"], g["metal"], g.get("clean"))
    assert found.word == case["want"]
    assert ("service bulletin" in found.source) == (case["kind"] == "printed, title not recorded")


def test_without_a_look_for_metal_nothing_is_decided():
    for failed in ("motor", "pump", "seal only"):
        assert refill.flush(failed, None).word == "look first"
    assert refill.flush("seal only", False).word == "look first"
    dirty = refill.flush("seal only", False, drain_filter_clean=False)
    assert (dirty.word, "cut it open" in dirty.steps[0]) == ("look first", True)
    assert refill.flush("hose", None).word == "make up the loss"
    for failed in refill.FAILED:
        assert refill.flush(failed, True).word == "flush"
    with pytest.raises(Unknown, match="What failed"):
        refill.flush("engine", True)


def test_what_was_poured_is_held_against_what_was_expected():
    expected = Portion(23.0, 1.0, math.inf, ())
    found = refill.against(expected, 22.5)
    assert (found.word, found.text) == ("as expected", "poured 22.5 L, expected 21 to 25 L")
    more, less = refill.against(expected, 26.0), refill.against(expected, 20.0)
    assert (more.word, less.word) == ("more", "less")
    assert "leak" in more.text
    assert "air" in less.text
    for z, word in ((1.99, "as expected"), (2.01, "more"), (-2.01, "less")):
        assert refill.against(expected, 23.0 + z * math.hypot(1.0, 0.5), 0.5).word == word
    assert refill.against(Portion(0.0, 0.0, math.inf, ()), 0.0).word == "as expected"
    with pytest.raises(OutOfRange, match="poured"):
        refill.against(expected, -1.0)


def test_used_oil_is_reckoned_at_its_upper_end():
    drained = Portion(140.0, 5.0, math.inf, ())
    found = refill.used_oil(drained, 100.0)
    assert (found.most_l, found.over_l, found.pails) == (150.0, 50.0, 3)
    assert refill.used_oil(drained, 150.0).pails == 0
    assert refill.used_oil(drained, 130.0, pail_l=20.0).pails == 1
    for room, pail in ((-1.0, 20.0), (10.0, 0.0), (math.nan, 20.0)):
        with pytest.raises(OutOfRange):
            refill.used_oil(drained, room, pail)


@pytest.mark.published("refill", "change")
def test_the_first_change_counts_from_the_meter_at_the_repair(case):
    rule = next(r for r in refill.CHANGE_RULES if r.label == case["given"]["label"])
    assert list(refill.changes(case["given"]["event_h"], rule.first_h[0], rule.repeat_h[0])) == case["want"]
    assert rule.source == "common practice, no source"


def test_a_meter_that_was_not_read_gives_no_hour():
    with pytest.raises(BadInput, match="hour meter at the repair"):
        refill.changes(None, 150.0, 800.0)
    for event, first, repeat in ((-1.0, 150.0, 800.0), (0.0, 0.0, 800.0), (0.0, 150.0, -1.0), (math.nan, 150.0, None)):
        with pytest.raises(OutOfRange):
            refill.changes(event, first, repeat)
    assert refill.changes(100.0, 50.0) == (150.0,)


def test_the_rows_of_change_rules_are_whole():
    assert len({r.label for r in refill.CHANGE_RULES}) == len(refill.CHANGE_RULES) == 7
    for rule in refill.CHANGE_RULES:
        assert 0 < rule.first_h[0] <= rule.first_h[1]
        assert any(word in rule.source for word in ("second-hand", "read", "common practice, no source"))


# bring list


def test_each_product_is_brought_at_its_upper_end_less_what_stands_open():
    wanted = [Need("hyd", 24.0, 1.0, "refill"), Need("hyd", 10.0, 0.0, "rinse"), Need("gear", 6.0, 0.2, "gear case"),
              Need("grease", 12.0, 0.5, "bath", "kg")]  # fmt: skip
    found = refill.bring_list(wanted, {"hyd": 3.0, "gear": 9.0}, {"hyd": (PAIL, JUG)}, also=("return filter",))
    hyd, gear, grease = found.items
    assert (hyd.upper, hyd.bring, hyd.words) == (36.0, 33.0, "1 × 20 L pail and 3 × 5 L can")
    assert (gear.bring, gear.words) == (0.0, "nothing: what stands open is enough")
    assert (grease.unit, grease.bring, grease.words) == ("kg", 13.0, "13.0 kg")
    assert hyd.why == ("refill", "rinse")
    assert found.also == ("return filter",)


@given(st.floats(0, 900), st.permutations([PAIL, DRUM, JUG]))
def test_whole_containers_hold_what_is_needed_and_not_one_smallest_more(amount, sizes):
    found = refill.bring_list([Need("hyd", amount, 0.0, "refill")], {}, {"hyd": tuple(sizes)}).items[0]
    volume = {c.label: c.volume_l for c in sizes}
    taken = sum(n * volume[label] for n, label in found.containers)
    assert taken >= amount - 1e-6
    assert taken - amount < 5.0 + 1e-6


def test_one_large_container_is_taken_where_the_small_ones_would_hold_as_much():
    found = [
        refill.bring_list([Need("hyd", litres, 0.0, "")], {}, {"hyd": (JUG, PAIL, DRUM)}).items[0].words for litres in (19.0, 14.0, 207.0)
    ]
    assert found == ["1 × 20 L pail", "3 × 5 L can", "1 × 208 L drum"]


def test_one_size_alone_is_rounded_up():
    found = refill.bring_list([Need("hyd", 41.0, 0.0, "refill")], {}, {"hyd": (PAIL,)}).items[0]
    assert found.words == "3 × 20 L pail"
    assert refill.bring_list([Need("hyd", 40.0, 0.0, "refill")], {}, {"hyd": (PAIL,)}).items[0].words == "2 × 20 L pail"


def test_empty_pails_are_counted_for_used_oil():
    found = refill.bring_list([], used=Portion(140.0, 5.0, math.inf, ()), room_l=100.0)
    assert (found.used_l, found.pails) == (150.0, 3)
    assert refill.bring_list([]).pails == 0


def test_a_refill_becomes_needs_with_its_doubt_counted_once():
    plan = refill.refill(Missing(20.0, 1.0), [circuit(4.0, 0.5), refill.gear_case(6.0, product="gear")], marks=MARKS)
    first, gear, rinse = refill.needs(plan, "hyd", rinse_l=9.0, rinse_product="rinse")
    assert first.upper == pytest.approx(24.0 + 2 * math.hypot(1.0, 0.5))
    assert (gear.product, gear.value, rinse.product, rinse.upper) == ("gear", 6.0, "rinse", 9.0)
    assert len(refill.needs(plan, "hyd")) == 2


def test_a_bring_list_that_cannot_be_is_refused():
    with pytest.raises(OutOfRange, match="open container, hyd"):
        refill.bring_list([], {"hyd": -1.0})
    with pytest.raises(BadInput, match="counted in one unit"):
        refill.bring_list([Need("x", 1.0, 0.0, "a"), Need("x", 1.0, 0.0, "b", "kg")])
    with pytest.raises(BadInput, match="finite"):
        refill.bring_list([Need("x", math.nan, 0.0, "a")])
    for more in ({"pail_l": 0.0}, {"room_l": -1.0}):
        with pytest.raises(OutOfRange):
            refill.bring_list([], **more)
