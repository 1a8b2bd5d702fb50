"""The whole fleet at once equals its pieces; rises of gear cases and the chart of one compartment as plain data."""

import math

import numpy as np
import pytest

from fluidapp.calc import consumption as con
from fluidapp.errors import BadInput
from fluidapp.model import Compartment
from tests.benchmarks.fleet_records import fleet as records

NAN = math.nan


def fleet(n=8, intervals=12, **more):
    f = records(n, intervals, 3, **more)
    day = 700000.0 + f.hours / 8.0
    flags = np.zeros(len(day), bool)
    return f, con.review_fleet(
        f.machine_id, day, f.hours, f.litres, segment=np.zeros(len(day)), known=~flags, broken=flags, restart=flags,
        kind=dict.fromkeys(range(n), "hydraulic tank"), u_typical_l=dict.fromkeys(range(n), 2.0),
    )  # fmt: skip


def test_the_fleet_is_reviewed_with_the_doubt_that_its_own_levels_show():
    f, got = fleet(u_level_l=0.3, phi_l=0.01)
    found = con.intervals(f.machine_id, f.hours, f.litres)
    share = con.levels_repeat(found, np.full(8, 2.0))
    assert got.repeat == {"hydraulic tank": share}
    assert 0.1 < share < 0.4
    plain = con.review(f.machine_id, f.hours, f.litres, 2.0 * share)
    assert got.seen.usual.rate == pytest.approx(plain.usual.rate, rel=1e-12)
    assert got.u_level_l == pytest.approx(np.full(8, 2.0 * share), rel=1e-12)
    assert got.seen.limit_l == pytest.approx(plain.limit_l, rel=1e-12)
    order = np.argsort(got.day)
    assert np.sort(got.seen.cusum_l[~np.isnan(got.seen.cusum_l)]) == pytest.approx(np.sort(plain.cusum_l[~np.isnan(plain.cusum_l)]))
    middle = float(got.day[order[len(order) // 2]])
    assert got.within(0, middle).sum() + got.within(middle, 1e9).sum() == len(got.seen.found.hours)


def test_records_without_a_meter_count_by_the_week_and_a_restart_at_an_unread_meter_goes_on_to_the_next():
    n = 7
    hours = np.array([0, 100, NAN, 200, NAN, NAN, 300.0])
    broken = np.array([0, 0, 0, 0, 1, 1, 0], bool)
    restart = np.array([0, 0, 1, 0, 0, 0, 0], bool)
    got = con.review_fleet(
        np.zeros(n, int), 7.0 * np.arange(n), hours, [NAN, 2, 1, 2, 4, 6, 2], segment=np.zeros(n), known=np.ones(n, bool),
        broken=broken, restart=restart, kind={0: "engine sump"}, u_typical_l={0: 0.5},
    )  # fmt: skip
    assert got.seen.found.litres.tolist() == [2.0, 3.0, 2.0]
    assert (got.weekly.hours.tolist(), got.weekly.litres.tolist()) == ([1.0], [6.0])
    with pytest.raises(BadInput, match="series"):
        con.review_fleet([3], [1.0], [1.0], [1.0], segment=[0], known=[True], broken=[False], restart=[False], kind={}, u_typical_l={})


def test_a_repair_noted_at_an_unread_meter_still_begins_the_sum_anew():
    litres = np.array([NAN, *[2.0] * 12, *[9.0] * 5, 2.0, *[2.0] * 6])
    hours = np.where(np.arange(len(litres)) == 18, NAN, 100.0 * np.arange(len(litres)))
    off = np.zeros(len(litres), bool)

    def alarm(restart):
        return con.review_fleet(
            np.zeros(len(litres), int), 7.0 * np.arange(len(litres)), hours, litres, segment=off.astype(int), known=~off, broken=off,
            restart=restart, kind={0: "gear case"}, u_typical_l={0: 0.3},
        ).seen.alarm_at.tolist()  # fmt: skip

    assert alarm(off) != [-1]
    assert alarm(np.arange(len(litres)) == 18) == [-1]


def test_a_fleet_without_records_is_empty():
    none = np.zeros(0)
    got = con.review_fleet(none, none, none, none, segment=none, known=none, broken=none, restart=none, kind={}, u_typical_l={})
    assert (len(got.seen.ids), len(got.u_level_l), got.repeat) == (0, 0, {})


def test_what_a_compartment_holds_and_how_well_its_level_is_known():
    """Shares are typical: common practice, no source."""
    tank = Compartment.model_validate({
        "key": "tank", "label": "Tank", "kind": "hydraulic tank", "capacities": {"at_mark_l": 140.0, "refill_l": 120.0, "system_l": 250.0},
    })  # fmt: skip
    case = Compartment.model_validate({"key": "c", "label": "C", "kind": "gear case", "fill": {"litres": 4.0, "reading": 10.0}})
    assert (con.charge_l(tank), con.level_doubt(tank)) == (250.0, 2.5)
    assert (con.charge_l(case), con.level_doubt(case)) == (4.0, 0.1)
    assert con.charge_l(case.model_copy(update={"fill": None})) is None


def test_a_rise_needs_two_readings_and_counts_from_the_last_change():
    day, level = np.arange(8) * 14.0, np.array([90.0, 91.0, 43.0, 44.0, 42.0, 43.0, 57.0, 75.0])
    assert con.risen(day, level, since=20.0) == con.Rise(5, 7)
    assert con.risen(day, level) is None  # the old level was higher
    assert con.risen(day[:7], level[:7], since=20.0) is None  # one reading alone
    assert con.risen(day, np.where(level > 50, 48.0, level), since=20.0) is None  # within three scales of 2 mm
    assert con.risen(day[:5], level[:5], since=20.0) is None  # too few


def test_oil_over_the_lip_counts_only_where_it_stood_below_before():
    assert con.over_the_lip("M", "D", [1, 2, 3], [False, True, True], 0, 9) is not None
    assert con.over_the_lip("M", "D", [1, 2, 3], [False, True, True], 1.5, 9) is None
    assert con.over_the_lip("M", "D", [1, 2, 3], [False, False, True], 0, 9) is None
    assert con.over_the_lip("M", "D", [1, 2, 3], [True, True, False], 0, 9) is None


def test_the_chart_marks_what_the_review_marked():
    _, got = fleet(4, 30, change_at=26, times=4.0, u_level_l=0.2, phi_l=0.02, rate=0.1)
    today = float(got.day.max()) + 1.0
    assert (got.seen.alarm_at >= 0).any()
    for m in range(4):
        drawn = con.picture(got, m, today)
        assert len(drawn.dots) == 30
        assert drawn.usual == (100.0 * got.seen.usual.rate[m], 100.0 * got.seen.usual.u[m])
        for dot in drawn.dots:
            inside = (dot.low == 0.0 or dot.low <= dot.rate) and dot.rate <= dot.high
            assert inside == (dot.word == "within the band") or dot.low == 0.0
            assert dot.rate == pytest.approx(100.0 * dot.litres / dot.hours)
        if got.seen.alarm_at[m] >= 0:
            assert drawn.change is not None
            assert drawn.alarm is not None
            assert drawn.change[0] < drawn.change[1] <= drawn.alarm
            assert "A lasting change began between" in drawn.text
