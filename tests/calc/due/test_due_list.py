"""The list: events found by place and words, litres, grease points, order, and what voiding does."""

import dataclasses
import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import due, greasing
from fluidapp.calc.due import Event, Look
from fluidapp.errors import BadInput
from fluidapp.model import Machine
from fluidapp.model.intervals import Task

TODAY = datetime.date(2026, 5, 29)
NOW = float(TODAY.toordinal())
LOOKS = [Look(NOW - 7.0 * k, 5000.0 - 42.0 * k, 5000.0 - 42.0 * k) for k in range(30)]
FILE = """
key = "ex"
label = "Ex"

[[compartments]]
key = "slew"
label = "Slewing gearbox"
kind = "slewing gearbox"
product = "gear_vg220"
fill = { litres = 6.2, reading = 60.0, depth_mm = 180.0 }
gauges = [{ kind = "stick", name = "dipstick", end_mm = 120.0, bands = [{ low = 40.0, high = 60.0, target = 60.0 }] }]
MORE

[[compartments]]
key = "engine"
label = "Engine sump"
kind = "engine sump"
product = "eng_15w40"
capacities = { refill_l = 23.0 }

[[grease_points]]
key = "ring"
label = "Slewing ring"
kind = "slew race"
limit_h = 100.0
dose_g = 30.0
ring = { positions = 4 }

[[tasks]]
key = "slew-change"
label = "slewing gearbox oil change"
kind = "change"
at = "slew"
repeat_h = 2000.0

[[tasks]]
key = "engine-change"
label = "engine oil and filter change"
kind = "change"
at = "engine"
repeat_h = 500.0
repeat_days = 365.0

[[tasks]]
key = "engine-filter"
label = "oil filter"
kind = "filter"
at = "engine"
repeat_h = 500.0

[[tasks]]
key = "slew-sample"
label = "gear oil sample"
kind = "sample"
at = "slew"
repeat_h = 500.0
source = "maker's manual, section 4"
"""


@pytest.fixture(scope="module")
def machine(machine_of) -> Machine:
    return machine_of(FILE.replace("MORE", ""))


def listed(machine, *events: Event, **more) -> dict[str, due.Due]:
    return {d.key: d for d in due.due_list([machine], events, {"ex": LOOKS}, TODAY, **more)}


def done(what: str, at: str, ago_h: float, **more) -> Event:
    return Event("ex", what, NOW - ago_h / 6.0, at, 5000.0 - ago_h, 5000.0 - ago_h, **more)


def test_a_repair_that_brings_its_intervals_begins_them_at_its_meter_and_the_next_change_ends_the_first(machine) -> None:
    repair = done("repair", "slew", 90.0, first_h=150.0, repeat_h=800.0)
    found = listed(machine, done("done", "slew", 900.0, task="oil change"), repair)["slew-change"]
    assert found.target_h == 5060.0
    assert found.why == "First change 150 h after the repair at 4910 h on 2026-05-14."
    assert found.day == pytest.approx(NOW + 10.0)
    changed = listed(machine, repair, done("done", "slew", 10.0, task="Oil change"))["slew-change"]
    assert changed.target_h == 4990.0 + 800.0  # the repeat of the repair goes on
    same_day = dataclasses.replace(done("done", "slew", 90.0, task="oil change"), day=repair.day + 0.01)
    assert listed(machine, repair, same_day)["slew-change"].target_h == 5060.0  # the refill of the repair itself


def test_a_repair_without_intervals_begins_nothing_anew_and_a_first_fill_counts_as_a_change(machine) -> None:
    change, repair = done("done", "slew", 900.0, task="oil change"), done("repair", "slew", 90.0)
    assert listed(machine, change, repair)["slew-change"].target_h == 4100.0 + 2000.0
    assert listed(machine, change, done("first fill", "slew", 90.0))["slew-change"].target_h == 4910.0 + 2000.0
    rule = Task(key="slew-change", label="x", kind="change", at="slew", first_h=150.0, repeat_h=800.0)
    assert listed(machine.model_copy(update={"tasks": (rule,)}), change, repair)["slew-change"].target_h == 5060.0


@pytest.mark.parametrize(
    ("words", "at", "keys"),
    [
        ("oil change", "engine", {"engine-change"}),
        ("engine oil and filter change", "engine", {"engine-change", "engine-filter"}),
        ("Engine oil and filter change", None, {"engine-change"}),
        ("oil filter change", "engine", {"engine-filter"}),
        ("oil filter", "engine", {"engine-filter"}),
        ("slew-change", "slew", {"slew-change"}),
        ("oil sample taken", "slew", {"slew-sample"}),
        ("oil change", None, set()),
        ("oil chg", "engine", set()),
    ],
)
def test_what_was_done_is_told_by_place_and_words(machine, words: str, at: str | None, keys: set[str]) -> None:
    event = Event("ex", "done", NOW, at, 5000.0, task=words)
    assert {t.key for t in machine.tasks if due.does(event, t)} == keys
    assert due.unmatched(machine, [event]) == (() if keys else (event,))


def test_samples_count_from_the_last_sample_and_tell_how_old_the_oil_is_where_no_change_is_on_record(machine) -> None:
    sample = done("sample", "slew", 120.0, oil_h=1500.0)
    found = listed(machine, sample)
    assert found["slew-sample"].target_h == 4880.0 + 500.0
    assert found["slew-change"].target_h == 4880.0 - 1500.0 + 2000.0
    assert found["slew-change"].why == "Every 2000 h; last done, as the sample of 2026-05-09 says (oil 1500 h old), at 3380 h."
    assert listed(machine, sample, done("done", "slew", 900.0, task="oil change"))["slew-change"].target_h == 6100.0


def test_a_reading_of_the_place_is_a_check(machine) -> None:
    check = Task(key="look", label="look at the stick", kind="check", at="slew", repeat_h=50.0)
    assert listed(machine.model_copy(update={"tasks": (check,)}), done("reading", "slew", 30.0))["look"].target_h == 5020.0


def test_without_an_event_nothing_is_invented(machine) -> None:
    found = listed(machine)
    assert {d.state for d in found.values()} == {"never recorded"}
    assert {d.why for d in found.values()} == {"Never recorded: enter when it was last done."}
    assert all(d.day is None and d.target_h is None and d.target_day is None for d in found.values())


def test_what_is_dated_after_today_does_not_count(machine) -> None:
    late = Event("ex", "done", NOW + 1.0, "engine", 5000.0, task="oil change")
    shot = greasing.Shot(5000.0, NOW + 1.2, 0.0, grams=30.0)
    assert listed(machine, late, greased={("ex", "ring"): [shot]}) == listed(machine)


def test_a_change_names_product_and_litres_with_their_doubt(machine, machine_of) -> None:
    found = listed(machine)
    assert (found["engine-change"].product, found["engine-change"].charge) == ("eng_15w40", due.Charge(23.0, 0.03 * 23.0))
    assert found["slew-change"].charge.volume_l == pytest.approx(6.2)  # no capacity entered: what it holds at the mark
    assert found["slew-change"].charge.u_l == pytest.approx(0.186)
    assert (found["slew-sample"].product, found["slew-sample"].charge) == (None, None)
    plate = machine_of(FILE.replace("MORE", "capacities = { refill_l = 5.5 }"))
    assert listed(plate)["slew-change"].charge.volume_l == 5.5


def test_typical_intervals_are_marked_and_own_ones_are_not(machine) -> None:
    found = listed(machine)
    assert {key for key, d in found.items() if d.typical} == {"slew-change", "engine-change", "engine-filter", "ring"}


def test_the_ring_is_due_by_its_position_that_waited_longest(machine) -> None:
    shots = [greasing.Shot(5000.0 - 60.0 + k, NOW - 9.0, 90.0 * k, grams=30.0) for k in range(3)]
    shots.append(greasing.Shot(4916.0, NOW - 14.0, 270.0, grams=30.0))
    found = listed(machine, greased={("ex", "ring"): shots})["ring"]
    assert found.target_h == pytest.approx(5016.0)
    assert found.target_day == pytest.approx(NOW - 14.0 + 182.0)
    assert "position over right track last greased at 4916 h on 2026-05-15" in found.why
    dusty = listed(machine, greased={("ex", "ring"): shots}, duty={"ex": [greasing.Duty(0.0, 0.5)]})["ring"]
    assert dusty.target_h == pytest.approx(4966.0)
    assert dusty.state == "overdue"
    assert dusty.overdue.startswith("overdue by 34 h")


def test_the_meters_oddities_stand_under_every_date_that_hours_decide(machine) -> None:
    looks = [*LOOKS[1:], Look(NOW, 9000.0, 9000.0)]
    found = due.due_list([machine], [done("done", "engine", 300.0, task="oil change")], {"ex": looks}, TODAY)
    assert [any("More than 24 h a day" in r for r in d.remarks) for d in found if d.key == "engine-change"] == [True]
    assert not any(d.remarks for d in found if d.state == "never recorded")


def test_the_list_begins_with_what_is_most_overdue_and_ends_with_what_was_never_recorded(machine) -> None:
    other = machine.model_copy(update={"key": "ax", "label": "Ax"})
    events = [
        done("done", "engine", 900.0, task="engine oil and filter change"),  # 400 h over 500
        dataclasses.replace(done("done", "engine", 600.0, task="oil change"), machine="ax"),  # 100 h over
        done("sample", "slew", 480.0),
        dataclasses.replace(done("sample", "slew", 100.0), machine="ax"),
    ]
    found = due.due_list([other, machine], events, {"ex": LOOKS, "ax": LOOKS}, TODAY)
    assert [(d.machine, d.key) for d in found[:5]] == [
        ("ex", "engine-change"), ("ex", "engine-filter"), ("ax", "engine-change"), ("ex", "slew-sample"), ("ax", "slew-sample"),
    ]  # fmt: skip
    assert {d.state for d in found[5:]} == {"never recorded"}
    assert [d.machine for d in due.due_list([other], events, {"ax": LOOKS}, TODAY)] == ["ax"] * 5
    days = [d.day for d in found if d.state == "coming"]
    assert days == sorted(days)


WHATS = st.sampled_from(["done", "repair", "first fill", "sample"])


@given(st.lists(st.tuples(WHATS, st.sampled_from(["slew", "engine"]), st.floats(0.0, 1200.0)), max_size=6), WHATS, st.floats(0.0, 1200.0))
def test_voiding_an_event_restores_the_list_exactly(machine, before, what: str, ago: float) -> None:
    events = [
        done(w, at, h, task="oil change", first_h=150.0 if w == "repair" else None, key=f"e{k}") for k, (w, at, h) in enumerate(before)
    ]
    more = done(what, "slew", ago, task="oil change", first_h=90.0, key="wrong")
    void = Event("ex", "done", NOW, key="void", voids="wrong")
    assert listed(machine, *events, more, void) == listed(machine, *events)
    assert listed(machine, *events, void, more, dataclasses.replace(void, key="again", voids="void")) == listed(machine, *events, more)


def test_a_void_of_nothing_is_refused(machine) -> None:
    with pytest.raises(BadInput, match="taken back"):
        listed(machine, Event("ex", "done", NOW, key="void", voids="gone"))
