"""One task after one event: hours or calendar, first then repeat, shortened, overdue, and no date that nobody knows."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import due
from fluidapp.calc.due import Look
from fluidapp.errors import OutOfRange
from fluidapp.model.intervals import Shorter, Task
from fluidapp.model.typical import BREAKER

TODAY = datetime.date(2026, 5, 29)
NOW = float(TODAY.toordinal())


def meter(now_h: float = 5000.0, per_week: float = 42.0, n: int = 12, age: float = 0.0) -> due.Meter:
    return due.read_meter([Look(NOW - age - 7.0 * k, now_h - per_week * k, now_h - per_week * k) for k in range(n)], TODAY)


def task(**more) -> Task:
    return Task(**({"key": "slew-change", "label": "slewing gearbox oil change", "kind": "change", "at": "slew"} | more))


@pytest.mark.published("due", "rule")
def test_the_first_interval_counts_from_the_meter_at_the_repair_and_the_repeat_from_the_change(case: dict) -> None:
    g, want = case["given"], case["want"]
    rule = task(**{name: g[name] for name in ("first_h", "repeat_h", "repeat_days") if name in g})
    known = meter(g["repair_h"] + 5000.0)
    first = due.next_due(rule, g["repair_h"], NOW - 900.0, known, first=True)
    assert first.target_h == pytest.approx(want["first"], abs=case["tol"])
    changed = want["first"] if rule.has_first else g["repair_h"]
    second = due.next_due(rule, changed, NOW - 900.0, known)
    assert second.target_h == pytest.approx(want["second"], abs=case["tol"])
    assert second.target_day == (NOW - 900.0 + want["second_days"] if "second_days" in want else None)


@pytest.mark.published("due", "breaker")
def test_a_breaker_shortens_the_hydraulic_oil_by_its_share_of_the_time(case: dict) -> None:
    rule = task(repeat_h=case["given"]["hours"], shorter=BREAKER)
    for share, factor in list(case["given"].items())[1:]:
        condition = next(s.condition for s in BREAKER if share in s.condition)
        found = due.next_due(rule, 4900.0, NOW - 10.0, meter(), conditions=(condition,))
        assert found.target_h - 4900.0 == pytest.approx(case["want"][share], abs=case["tol"])
        assert f"Shortened to {factor:g} of it: breaker, {share}" in found.why


def test_the_words_name_interval_event_hours_and_date() -> None:
    rule = task(first_h=150.0, repeat_h=800.0, repeat_days=365.0)
    first = due.next_due(rule, 4910.0, NOW - 15.0, meter(), first=True, since="the repair")
    assert first.why == "First change 150 h after the repair at 4910 h on 2026-05-14."
    later = due.next_due(rule, 4910.0, NOW - 15.0, meter())
    assert later.why == "Every 800 h or 365 days, whichever comes first; last done at 4910 h on 2026-05-14."


def test_hours_or_calendar_whichever_comes_first() -> None:
    by_hours = due.next_due(task(repeat_h=100.0, repeat_days=365.0), 4960.0, NOW - 7.0, meter())
    assert by_hours.day == pytest.approx(NOW + 10.0)  # 60 h at 6 h a day
    by_calendar = due.next_due(task(repeat_h=5000.0, repeat_days=30.0), 4960.0, NOW - 7.0, meter())
    assert (by_calendar.day, by_calendar.low, by_calendar.high) == (NOW + 23.0,) * 3
    assert by_calendar.target_meter_h == pytest.approx(9960.0)


def test_what_is_over_has_no_date_and_says_by_how_much_of_each() -> None:
    found = due.next_due(task(repeat_h=100.0, repeat_days=30.0), 4863.0, NOW - 42.0, meter())
    assert found.state == "overdue"
    assert found.overdue == "overdue by 37 h (by the meter on 2026-05-29) and 12 days"
    assert (found.day, found.low, found.high, found.left_h, found.left_days) == (None, None, None, -37.0, -12.0)
    assert due.next_due(task(repeat_days=41.0), None, NOW - 42.0, meter()).overdue == "overdue by 1 day"


def test_due_today_is_not_overdue() -> None:
    for rule in (task(repeat_days=42.0), task(repeat_h=100.0)):
        found = due.next_due(rule, 4900.0, NOW - 42.0, meter())
        assert (found.state, found.day, found.overdue) == ("due now", NOW, "")


def test_what_should_be_reached_since_the_last_look_is_due_now_and_asks_for_the_meter() -> None:
    found = due.next_due(task(repeat_h=120.0), 4900.0, NOW - 30.0, meter(age=10.0))
    assert (found.state, found.day, found.low) == ("due now", NOW, NOW)
    assert found.remarks == ("It should be reached by now: read the meter (20 h were left by the meter on 2026-05-19).",)


def test_a_broken_meter_makes_it_overdue_by_an_estimate_that_says_so() -> None:
    looks = [Look(NOW - 14.0 - 7.0 * k, 5000.0 - 42.0 * k) for k in range(8)] + [Look(NOW - 14.0, None, state="broken since")]
    found = due.next_due(task(repeat_h=100.0), 4950.0, NOW - 20.0, due.read_meter(looks, TODAY))
    assert found.overdue == "overdue by 34 h (estimated, the meter is broken since 2026-05-15)"


def test_no_date_is_invented() -> None:
    one = due.read_meter([Look(NOW - 3.0, 5000.0, 5000.0)], TODAY)
    found = due.next_due(task(repeat_h=100.0), 4950.0, NOW - 9.0, one)
    assert (found.state, found.day, found.target_h) == ("no date", None, 5050.0)
    assert found.remarks == ("No date by hours: it needs two readings of the hour meter.",)
    never = due.next_due(task(repeat_h=100.0), None, NOW - 9.0, due.read_meter([], TODAY))
    assert never.state == "no date"
    assert never.remarks == ("Its 100 h do not count: the machine's hours at that time are not known.",)
    few = due.next_due(task(repeat_h=100.0), 4950.0, NOW - 9.0, meter(n=3))
    assert (few.state, few.low, few.high) == ("coming", None, None)
    assert few.remarks == ("The date has no range yet: it needs four weeks of readings, there are 2.",)
    stood = due.next_due(task(repeat_h=100.0), 4950.0, NOW - 9.0, meter(per_week=0.0))
    assert stood.remarks == ("No date by hours: the meter did not move.",)


def test_hours_a_week_as_entered_stand_in_for_readings_without_a_range() -> None:
    one = due.read_meter([Look(NOW, 5000.0, 5000.0)], TODAY, 35.0)
    found = due.next_due(task(repeat_h=100.0), 4950.0, NOW, one)
    assert (found.day, found.low) == (pytest.approx(NOW + 10.0), None)
    assert "as entered for the machine" in found.remarks[0]


def test_a_rule_without_a_repeat_ends_when_it_was_done() -> None:
    rule = task(first_h=50.0)
    assert due.next_due(rule, 4990.0, NOW, meter(), first=True).target_h == 5040.0
    assert due.next_due(rule, 4990.0, NOW, meter()) is None


def test_the_strongest_condition_counts_and_they_are_not_multiplied() -> None:
    rule = task(repeat_h=1000.0, repeat_days=300.0, shorter=(Shorter(condition="dust", factor=0.5), Shorter(condition="heat", factor=0.4)))
    both = due.next_due(rule, 4900.0, NOW - 10.0, meter(), conditions=("dust", "heat"))
    assert (both.target_h, both.target_day) == pytest.approx((5300.0, NOW - 10.0 + 120.0))
    assert due.next_due(rule, 4900.0, NOW - 10.0, meter(), conditions=("water",)).target_h == 5900.0


def test_events_after_today_or_after_the_hours_of_now_are_refused() -> None:
    with pytest.raises(OutOfRange, match="hours at the event"):
        due.next_due(task(repeat_h=100.0), 5010.0, NOW, meter())
    with pytest.raises(OutOfRange, match="day of the event"):
        due.next_due(task(repeat_h=100.0), 5000.0, NOW + 1.0, meter())


spans = st.floats(1.0, 5000.0)


@given(spans, spans, st.floats(0.01, 1.0), st.floats(0.0, 1000.0), st.floats(0.0, 700.0), st.booleans())
def test_due_is_never_earlier_than_its_event_and_no_date_lies_before_today(
    every_h: float, every_days: float, factor: float, ago_h: float, ago_days: float, first: bool
) -> None:
    shorter = (Shorter(condition="dust", factor=factor),)
    rule = task(first_h=every_h, repeat_h=every_h, repeat_days=every_days, shorter=shorter)
    found = due.next_due(rule, 5000.0 - ago_h, NOW - ago_days, meter(), first=first, conditions=("dust",))
    assert found.target_h >= 5000.0 - ago_h
    assert found.target_day is None or found.target_day >= NOW - ago_days
    assert (found.state == "overdue") == (found.overdue != "")
    if found.state == "overdue":
        assert found.day is None
    else:
        assert NOW <= found.low <= found.day <= found.high
