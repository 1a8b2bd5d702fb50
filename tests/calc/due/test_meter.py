"""The hour meter cleaned: typing errors by name, replaced and broken meters, and what is estimated."""

import datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import due
from fluidapp.calc.due import Look
from fluidapp.errors import BadInput, OutOfRange
from fluidapp.store.meters import Metered, totals

TODAY = datetime.date(2026, 5, 29)  # a Friday
NOW = float(TODAY.toordinal())


def weekly(n: int = 12, per_week: float = 42.0, end_h: float = 5000.0, age: float = 0.0) -> list[Look]:
    """n looks a week apart, the last one ``age`` days ago."""
    return [Look(NOW - age - 7.0 * k, end_h - per_week * k, end_h - per_week * k) for k in range(n)][::-1]


def kinds(meter: due.Meter) -> list[str]:
    return [f.kind for f in meter.faults]


def test_good_readings_are_all_believed_and_nothing_is_said() -> None:
    meter = due.read_meter(weekly(), TODAY)
    assert (len(meter.points), meter.faults, meter.now_h, meter.estimated) == (12, (), 5000.0, False)
    assert meter.use is not None
    assert meter.use.per_week == pytest.approx(42.0)
    assert meter.use.per_day == pytest.approx(6.0)


def test_a_figure_too_high_is_left_out_as_more_than_24_h_a_day_and_named_with_dates_and_hours() -> None:
    looks = weekly()
    looks[-1] = Look(NOW, 5900.0, 5900.0)
    (fault,) = due.read_meter(looks, TODAY).faults
    assert fault.kind == "more than 24 h a day"
    assert fault.words == (
        "More than 24 h a day: 4958 h on 2026-05-22, then 5900 h on 2026-05-29, 942 h in 7 days. "
        "5900 h on 2026-05-29 is left out: read the meter again, void the entry that is wrong."
    )
    assert due.read_meter(looks, TODAY).now_h == 4958.0


def test_a_figure_too_low_is_left_out_as_backwards() -> None:
    looks = weekly()
    looks[6] = Look(looks[6].day, 474.8, 474.8)
    meter = due.read_meter(looks, TODAY)
    assert kinds(meter) == ["backwards"]
    assert "4748 h on 2026-04-17, then 474.8 h on 2026-04-24" in meter.faults[0].words
    assert meter.now_h == 5000.0


def test_one_high_figure_does_not_throw_out_the_good_ones_after_it() -> None:
    looks = weekly()
    looks[4] = Look(looks[4].day, looks[4].total_h + 100.0)
    meter = due.read_meter(looks, TODAY)
    assert len(meter.points) == 11
    assert kinds(meter) == ["backwards"]  # 100 h too many in a week is possible, but then it ran backwards


@given(st.integers(0, 11), st.floats(200.0, 9000.0), st.booleans())
def test_one_typing_error_anywhere_leaves_out_that_look_and_no_other(at: int, by: float, up: bool) -> None:
    looks = weekly(end_h=20_000.0)
    wrong = looks[at].total_h + (by if up else -by)
    meter = due.read_meter([*looks[:at], Look(looks[at].day, wrong, wrong), *looks[at + 1 :]], TODAY)
    assert [p for p in meter.points if p.total_h == wrong] == []
    assert len(meter.points) == 11
    assert len([f for f in meter.faults if f.kind in ("backwards", "more than 24 h a day")]) == 1


@given(st.lists(st.floats(0.0, 24.0), min_size=2, max_size=40), st.integers(0, 1000))
def test_a_meter_that_runs_up_to_24_h_a_day_is_believed_in_any_order(worked: list[float], seed: int) -> None:
    total = np.cumsum(worked)
    looks = [Look(NOW - len(worked) + 1 + k, float(h)) for k, h in enumerate(total)]
    order = np.random.default_rng(seed).permutation(len(looks))
    meter = due.read_meter([looks[i] for i in order], TODAY)
    assert [p.total_h for p in meter.points] == sorted(float(h) for h in total)
    assert not {"backwards", "more than 24 h a day"} & set(kinds(meter))


def test_the_same_figure_over_two_working_days_is_asked_about_but_not_over_a_weekend() -> None:
    friday = NOW - 7.0
    stood = [*weekly(3, age=14.0, end_h=4900.0), Look(friday, 4950.0), Look(friday + 3.0, 4950.0), Look(NOW, 4990.0)]
    assert kinds(due.read_meter(stood, TODAY)) == []
    stood[-2] = Look(friday + 4.0, 4950.0)  # Tuesday
    (fault,) = due.read_meter(stood, TODAY).faults
    assert fault.words == "The meter showed 4950 h on 2026-05-22 and still on 2026-05-26, 2 working days later: stuck, or did it stand?"


def test_a_meter_not_read_adds_nothing_and_is_named() -> None:
    meter = due.read_meter([*weekly(age=7.0), Look(NOW - 1.0, None, state="not read")], TODAY)
    assert (kinds(meter), meter.now_h) == (["not read"], 5000.0)
    assert meter.faults[0].words == "The meter was not read on 2026-05-28."


def test_a_last_look_that_is_old_for_this_machine_is_named() -> None:
    assert kinds(due.read_meter(weekly(age=14.0), TODAY)) == []
    (fault,) = due.read_meter(weekly(age=20.0), TODAY).faults
    assert fault.words == "The meter was last read on 2026-05-09, 20 days ago, usually every 7 days or so: read it."


def test_a_broken_meter_is_estimated_from_the_use_before_it_and_marked() -> None:
    looks = weekly(age=14.0)
    meter = due.read_meter([*looks, Look(NOW - 14.0, 5000.0, 5000.0, state="broken since"), Look(NOW - 3.0, 5000.0, 5000.0)], TODAY)
    assert meter.estimated
    assert meter.now_h == pytest.approx(5000.0 + 14.0 * 6.0)
    assert meter.as_of == "estimated, the meter is broken since 2026-05-15"
    assert kinds(meter) == ["broken"]
    assert meter.faults[0].words.endswith("hours are estimated, about 6.0 h a day, as the meter ran before.")
    assert meter.hours(NOW - 7.0, 5000.0) == pytest.approx(5042.0)  # what the broken meter shows does not count
    assert meter.shows_at(5100.0) is None


def test_hours_missed_while_it_was_broken_are_added_to_all_later_ones() -> None:
    before = weekly(8, age=42.0)  # up to 5000 h
    broken = [Look(NOW - 42.0, None, state="broken since")]
    after = [Look(NOW - 14.0 + 7.0 * k, 5000.0 + 42.0 * k, 42.0 * k, segment=1) for k in range(3)]
    meter = due.read_meter([*before, *broken, *after], TODAY)
    assert meter.now_h == pytest.approx(5000.0 + 28.0 * 6.0 + 84.0)
    assert meter.use.per_week == pytest.approx(42.0)  # the gap tells nothing about use
    assert meter.hours(NOW - 14.0) == pytest.approx(5000.0 + 168.0)
    assert meter.hours(NOW - 10.5, 5020.0) == pytest.approx(5000.0 + 168.0 + 20.0)  # as written down, not the 21 h of half a week
    assert meter.shows_at(meter.now_h + 10.0) == pytest.approx(94.0)
    assert set(kinds(meter)) == {"broken", "replaced"}


def test_a_meter_broken_from_the_first_is_estimated_as_entered_or_not_at_all() -> None:
    looks = [Look(NOW - 10.0, 5000.0), Look(NOW - 10.0, None, state="broken since")]
    assert due.read_meter(looks, TODAY, 35.0).now_h == pytest.approx(5050.0)
    unknown = due.read_meter(looks, TODAY)
    assert (unknown.now_h, unknown.estimated) == (5000.0, False)
    assert "are not counted" in unknown.faults[0].words


@given(st.integers(1, 10), st.floats(0.0, 300.0), st.integers(0, 11))
def test_a_replaced_meter_does_not_change_hours_since_an_event(swap: int, starts_at: float, event: int) -> None:
    one = weekly()
    plain = due.read_meter(one, TODAY)
    rows = [Metered(due.on(p.day), k, p.total_h, 0) for k, p in enumerate(one[:swap])]
    gone = one[swap - 1].total_h
    rows.append(Metered(due.on(one[swap - 1].day), swap, starts_at, 1, change=True, old_end_h=gone))
    rows += [Metered(due.on(p.day), k + swap + 1, starts_at + p.total_h - gone, 1) for k, p in enumerate(one[swap:])]
    days = [p.day for p in one[:swap]] + [one[swap - 1].day] + [p.day for p in one[swap:]]
    looks = [Look(d, t, m.meter_h, m.segment) for d, m, t in zip(days, rows, totals(rows), strict=True)]
    swapped = due.read_meter(looks, TODAY)
    day = one[event].day
    assert swapped.now_h - swapped.hours(day) == pytest.approx(plain.now_h - plain.hours(day))
    assert swapped.use.per_week == pytest.approx(plain.use.per_week)
    assert not {"backwards", "more than 24 h a day"} & set(kinds(swapped))


def test_hours_of_a_day_are_those_written_down_where_they_can_be_true_else_in_proportion() -> None:
    meter = due.read_meter(weekly(), TODAY)
    assert meter.hours(NOW - 3.0, 4990.0) == 4990.0
    assert meter.hours(NOW - 3.5, 5990.0) == pytest.approx(4979.0)
    assert meter.hours(NOW - 3.5) == pytest.approx(4979.0)
    assert meter.hours(NOW - 500.0) is None
    assert due.read_meter([], TODAY).hours(NOW, 4000.0) is None


def test_looks_after_today_do_not_count_and_bad_numbers_are_refused() -> None:
    assert due.read_meter([*weekly(), Look(NOW + 1.0, 5010.0)], TODAY).now_h == 5000.0
    with pytest.raises(BadInput, match="hour meter"):
        due.read_meter([Look(NOW, float("nan"))], TODAY)
    with pytest.raises(OutOfRange, match="hours a week"):
        due.read_meter(weekly(), TODAY, 0.0)
