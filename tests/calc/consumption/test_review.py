"""Intervals, usual rate, alarms: by hand, and all at once against plain loops."""

import datetime

import numpy as np
import pytest

from fluidapp.calc import consumption as con
from fluidapp.errors import BadInput
from tests.benchmarks.fleet_records import fleet
from tests.calc.consumption.plain import plain_review

NAN = np.nan
STEADY = [3.1, 2.8, 3.2, 2.9, 3.0, 3.1, 2.9, 3.0, 3.2, 2.8, 3.0, 2.9]


def one(litres, hours=None, u=0.5, **more):
    """Machine 1, first record at 0 h, then one every 60 h."""
    hours = np.arange(len(litres)) * 60.0 if hours is None else np.asarray(hours, float)
    return con.review(np.ones(len(litres), int), hours, np.asarray(litres, float), u, **more)


def test_litres_belong_to_the_interval_since_the_last_known_level():
    found = con.intervals([1] * 5, [0, 50, 80, 80, 200], [9.0, 2.0, 1.0, 0.5, 4.0], known=[True, False, True, False, True])
    assert found.hours.tolist() == [80.0, 120.0]
    assert found.litres.tolist() == [3.5, 4.0]
    assert found.row.tolist() == [3, 4]
    assert found.before.tolist() == [0, 3]


def test_records_come_in_any_order():
    found = con.intervals(["b", "a", "b", "a"], [70, 10, 20, 40], [2.0, 9.0, 9.0, 1.5])
    assert found.ids.tolist() == ["a", "b"]
    assert found.start.tolist() == [0, 1, 2]
    assert found.litres.tolist() == [1.5, 2.0]
    assert found.hours.tolist() == [30.0, 50.0]


def test_a_planned_change_begins_a_fresh_interval_and_is_no_consumption():
    found = con.intervals([1] * 4, [0, 60, 300, 340], [1.0, 3.0, NAN, 2.0])
    assert found.litres.tolist() == [3.0, 2.0]
    assert found.hours.tolist() == [60.0, 40.0]


def test_a_new_meter_breaks_the_series():
    found = con.intervals([1] * 4, [900, 960, 10, 70], [1.0, 3.0, 3.1, 2.0], segment=[0, 0, 1, 1])
    assert found.litres.tolist() == [3.0, 2.0]
    assert found.hours.tolist() == [60.0, 60.0]


def test_litres_after_the_last_known_level_belong_to_no_interval():
    found = con.intervals([1, 1, 1, 2, 2], [0, 60, 90, 0, 50], [1.0, 3.0, 7.0, 1.0, 5.0], known=[True, True, False, True, True])
    assert found.litres.tolist() == [3.0, 5.0]


def test_a_broken_meter_counts_by_the_week_and_an_unread_one_hands_its_litres_on():
    days, hours = [0, 7, 14, 21, 28, 35], [100, NAN, 180, NAN, NAN, 250]
    got = con.by_meter_or_week([1] * 6, days, hours, [1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [False, False, False, True, True, False])
    assert got.metered.tolist() == [0, 2, 5]
    assert got.litres.tolist() == [1.0, 5.0, 6.0]
    assert got.weekly.tolist() == [3, 4]


def test_hours_that_are_missing_are_refused():
    with pytest.raises(BadInput, match="week"):
        con.intervals([1, 1], [0, NAN], [1.0, 1.0])
    with pytest.raises(BadInput, match="each of the 2"):
        con.intervals([1, 1], [0, 1], [1.0])
    with pytest.raises(BadInput, match="above 0"):
        one(STEADY, u=0.0)


def test_nothing_gives_nothing():
    seen = con.review([], [], [], 0.5)
    assert len(seen.ids) == len(seen.rate) == len(seen.alarm_at) == 0


def test_a_steady_machine_raises_no_alarm():
    seen = one([0.0, *STEADY])
    assert seen.alarm_at.tolist() == [-1]
    assert seen.usual.rate[0] == pytest.approx(sum(STEADY) / 720)
    assert np.nanmax(np.abs(seen.z)) < 1


def test_three_times_as_much_is_found_with_its_beginning():
    seen = one([0.0, *STEADY, 9.0, 9.2, 8.9, 9.1])
    assert seen.change_at.tolist() == [13]
    assert seen.before_at.tolist() == [12]
    assert 13 < seen.alarm_at[0] <= 15
    assert seen.usual.taken.tolist() == [12]
    assert seen.usual.rate[0] == pytest.approx(sum(STEADY) / 720)
    assert seen.now[0] == pytest.approx(36.2 / 240)
    assert seen.extra_l[0] == pytest.approx(36.2 - 240 * sum(STEADY) / 720)
    assert seen.u_extra_l[0] > seen.u_now[0] * 240


def test_few_records_do_when_they_say_enough():
    """Three intervals, then half the hours for the same litres."""
    seen = one([0.0, 4.1, 4.0, 4.2, 4.1, 4.0, 4.2, 4.1], [0, 500, 1000, 1500, 1660, 1820, 1980, 2140], u=0.3)
    assert seen.change_at.tolist() == [4]
    assert one([0.0, 4.1, 4.0, 12.0], u=0.3).alarm_at.tolist() == [-1]


def test_one_burst_hose_raises_no_alarm_and_does_not_move_the_usual_rate():
    burst = [*STEADY[:6], 40.0, *STEADY[6:]]
    seen = one([0.0, *burst])
    assert seen.alarm_at.tolist() == [-1]
    assert seen.usual.n.tolist() == [12]
    assert seen.z[7] > con.Z_LIMIT
    assert seen.usual.rate[0] == pytest.approx(sum(STEADY) / 720)
    late = one([0.0, *STEADY * 3, 40.0, 3.0, 2.9])
    assert late.alarm_at.tolist() == [-1]
    assert late.cusum_l[37] > 0


def test_after_a_restart_the_sum_begins_at_zero_with_the_same_usual_rate():
    litres = [0.0, *STEADY * 3, 9.0, 9.2, 8.9, 9.1, *STEADY]
    before, after = one(litres), one(litres, restart=np.arange(len(litres)) == 40)
    assert before.alarm_at[0] > 0
    assert after.alarm_at.tolist() == [-1]
    assert after.cusum_l[41] < 1.0
    assert after.usual.rate[0] == before.usual.rate[0]
    again = one([*litres, 9.0, 9.0, 9.0, 9.0], restart=np.arange(len(litres) + 4) == 40)
    assert again.change_at.tolist() == [len(litres)]


def test_the_doubt_may_differ_from_record_to_record():
    litres = [0.0, *STEADY, 9.0, 9.2, 8.9, 9.1]
    same, many = one(litres), one(litres, u=np.full(17, 0.5))
    assert many.z == pytest.approx(same.z, nan_ok=True)
    assert many.limit_l == pytest.approx(same.limit_l)
    assert one(litres, u=np.full(17, 5.0)).alarm_at.tolist() == [-1]


def test_what_is_found_does_not_depend_on_the_other_machines():
    f = fleet(20, 40, 3, change_at=25, times=2.0)
    every = con.review(f.machine_id, f.hours, f.litres, 0.8)
    for m in range(20):
        part = f.machine_id == m
        alone = con.review(f.machine_id[part], f.hours[part], f.litres[part], 0.8)
        assert every.cusum_l[part] == pytest.approx(alone.cusum_l, abs=1e-12, nan_ok=True)


KINDS = [(3, 0.05, 0.25, 1.0), (9, 0.2, 0.1, 3.0), (22, 0.1, 0.5, 2.5), (60, 0.05, 0.25, 2.0), (60, 0.01, 1.0, 1.0)]


@pytest.mark.parametrize("seed", [1, 2])
def test_all_at_once_equals_plain_loops(seed):
    """Machines of many kinds, with and without a change, few and many records: to 1e-9, alarms and changes the same."""
    parts = [fleet(12, n, seed + k, rate=rate, phi_l=phi, change_at=n // 2, times=times) for k, (n, rate, phi, times) in enumerate(KINDS)]
    machine = np.concatenate([p.machine_id + 100 * k for k, p in enumerate(parts)])
    hours, litres = (np.concatenate([getattr(p, name) for p in parts]) for name in ("hours", "litres"))
    seen = con.review(machine, hours, litres, 0.8)
    alarms = 0
    for m, key in enumerate(seen.ids):
        rows = np.flatnonzero(machine == key)
        rows = rows[np.argsort(hours[rows])]
        want = plain_review(hours[rows].tolist(), litres[rows].tolist(), 0.8) if len(rows) > 3 else None
        assert want is not None
        for got, expected in ((seen.rate, want.rate), (seen.z, want.z), (seen.cusum_l, want.sums)):
            assert got[rows] == pytest.approx(expected, abs=1e-9, rel=1e-9, nan_ok=True)
        place = {int(row): k for k, row in enumerate(rows)} | {-1: -1}
        assert (place[int(seen.alarm_at[m])], place[int(seen.change_at[m])]) == (want.alarm, want.change)
        alarms += want.alarm >= 0
    assert 10 < alarms < 50


def test_levels_that_repeat_better_than_stated_are_seen():
    f = fleet(40, 20, 5, rate=0.05, phi_l=0.002, u_level_l=0.2)
    found = con.intervals(f.machine_id, f.hours, f.litres)
    assert con.levels_repeat(found, np.full(40, 0.8)) == pytest.approx(0.25, abs=0.06)
    assert con.levels_repeat(found, np.full(40, 0.05)) == 1.0
    few = con.intervals([1, 1, 1], [0, 1, 2], [1.0, 1.0, 1.0])
    assert con.levels_repeat(few, np.array([0.8])) == 1.0


def test_two_days_running_and_twice_the_own_median():
    assert con.two_days_running([1, 1, 1, 2], [5.3, 6.4, 6.5, 7.0], [2.0, 1.0, 3.0, 1.0]).tolist() == [False, True, True, False]
    assert con.two_days_running([1, 1], [5.3, 6.4], [NAN, 1.0]).tolist() == [False, False]
    litres = [0.0, 3.0, 3.1, 2.9, 3.0, 9.0]
    seen, day = one(litres), np.arange(6) * 14.0
    assert con.twice_its_median(seen, day).tolist() == [True]
    assert con.twice_its_median(one([0.0, 3.0, 3.1, 2.9, 3.0, 5.5]), day).tolist() == [False]
    assert con.twice_its_median(seen, np.arange(6) * 100.0).tolist() == [False]  # too long ago to compare
    assert con.twice_its_median(one([0.0, 3.0, 3.1, 9.0]), day[:4]).tolist() == [False]  # only two before
    litres_lately, times = con.poured_lately([1, 1, 2, 2], [5, 95, 96, 97], [1.0, 2.0, NAN, 4.0], 100.0)
    assert litres_lately.tolist() == [2.0, 4.0]
    assert times.tolist() == [1, 1]


def test_look_first_names_what_comes_in_from_elsewhere_before_all_else():
    today = datetime.date(2026, 9, 30).toordinal()
    seen = one([0.0, *STEADY, 9.0, 9.2, 8.9, 9.1])
    day = datetime.date(2026, 3, 1).toordinal() + np.arange(17) * 14.0
    gain = con.gained("Excavator 4", "Left final drive", 0.8, 0.1, datetime.date(2026, 5, 12).toordinal(), today)
    drinks = con.takes_more(seen, [("Loader 2", "Hydraulic tank")], day, today)
    assert gain is not None
    listed = con.look_first([*drinks, gain])
    assert listed.lines[0] == "Excavator 4: left final drive has gained 0.8 ± 0.2 L since 12 May: oil is coming in from elsewhere"
    assert listed.lines[1].startswith("Loader 2: hydraulic tank takes 15 ± 2 L/100 h since some time between 16 August and 30 August, 5")
    assert listed.more == 0
    assert con.gained("x", "y", 0.1, 0.1, today - 5, today) is None
    assert con.more_than_a_change("x", "y", 9.0, 0.5, 8.5, 90) is None
    assert "more than the 5 L of a whole change" in str(con.more_than_a_change("x", "y", 9.0, 0.5, 5.0, 90))


def test_look_first_has_ten_lines_at_most_and_one_for_each_compartment():
    today = datetime.date(2026, 9, 30).toordinal()
    many = [con.gained(f"Machine {k}", "Engine", 1.0 + k, 0.2, today - 20, today) for k in range(13)]
    two = con.two_days("Machine 3", "Engine", today - 1, today)
    listed = con.look_first([two, *(f for f in many if f)])
    assert len(listed.lines) == 10
    assert listed.more == 3
    assert listed.findings[0].machine == "Machine 12"
    assert all(f.kind == "gain" for f in listed.findings)


def test_a_single_large_pour_is_told_as_such_only_for_a_while():
    today = datetime.date(2026, 9, 30).toordinal()
    seen = one([0.0, *STEADY, 33.0])
    day = today - 3.0 - 14.0 * np.arange(13, -1, -1)
    told = con.at_once(seen, {"1": ("Digger", "Hydraulic tank")}, day, today)
    assert "above the usual 2.99 L on 27 September" in str(told[0])
    assert con.at_once(seen, {"1": ("Digger", "Hydraulic tank")}, day - 200, today) == []
    assert con.day_words(today - 400, today) == "26 August 2025"
