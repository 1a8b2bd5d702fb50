"""Litres per 100 h by group, period comparison, yearly loss, money, and where the oil went."""

import numpy as np
import pytest

from fluidapp.calc import consumption as con
from fluidapp.calc.consumption.flows import MACHINE, OUTSIDE, STOCK, USED_OIL
from fluidapp.errors import BadInput, OutOfRange
from tests.benchmarks.fleet_records import fleet

TWO = con.intervals(  # machine a: tank 4 L and engine 1 L in 100 h; machine b: tank 6 L in 300 h
    ["a/engine", "a/engine", "a/tank", "a/tank", "a/tank", "b/tank", "b/tank"],
    [0, 100, 0, 50, 100, 0, 300],
    [9.0, 1.0, 9.0, 2.0, 2.0, 9.0, 6.0],
)


def test_a_machine_takes_the_sum_of_its_compartments():
    got = con.rates(TWO, ["a", "a", "b"], ["a", "a", "b"], 0.5)
    assert got.group.tolist() == ["a", "b"]
    assert got.rate == pytest.approx([5.0, 2.0])
    assert got.hours == pytest.approx([100.0, 300.0])
    assert got.litres == pytest.approx([5.0, 6.0])


def test_a_class_is_the_mean_of_its_machines_weighted_with_hours():
    got = con.rates(TWO, ["a", "a", "b"], ["all"] * 3, 0.5)
    assert got.rate == pytest.approx([100 * (5.0 + 6.0) / 400])
    assert got.machines.tolist() == [2]


def test_a_product_counts_the_hours_of_the_machines_that_take_it():
    got = con.rates(TWO, ["a", "a", "b"], ["engine oil", "hydraulic oil", "hydraulic oil"], 0.5)
    assert dict(zip(got.group.tolist(), got.rate.tolist(), strict=True)) == pytest.approx({"hydraulic oil": 2.5, "engine oil": 1.0})


def test_only_the_intervals_of_a_period_count():
    got = con.rates(TWO, ["a", "a", "b"], ["a", "a", "b"], 0.5, only=TWO.row != 6)
    assert got.group.tolist() == ["a"]


def test_stated_doubt_covers_the_true_rate_in_19_of_20_machines():
    """Simulated fleet, own seed: 95 % intervals of single machines."""
    f = fleet(2000, 20, 11)
    found = con.intervals(f.machine_id, f.hours, f.litres)
    got = con.rates(found, found.ids, found.ids, 0.8)
    inside = np.abs(got.rate - 5.0) <= 1.96 * got.u
    assert 0.92 <= inside.mean() <= 0.98
    fleetwide = con.rates(found, found.ids, np.zeros(2000, int), 0.8)
    assert abs(fleetwide.rate[0] - 5.0) < 4 * fleetwide.u[0] < 0.2


def test_two_periods_differ_only_beyond_doubt():
    f = fleet(400, 40, 12, change_at=20, times=2.0, shuffled=False)
    found = con.intervals(f.machine_id, f.hours, f.litres)
    first = con.rates(found, found.ids, found.ids, 0.8, only=found.position < 10)
    same = con.rates(found, found.ids, found.ids, 0.8, only=(found.position >= 10) & (found.position < 20))
    twice = con.rates(found, found.ids, found.ids, 0.8, only=found.position >= 20)
    assert np.mean([w == "more" for w in con.compare(first, same).word]) < 0.09
    assert np.mean([w == "more" for w in con.compare(first, twice).word]) > 0.9
    assert set(con.compare(twice, first).word) <= {"less", "no clear change"}
    got = con.compare(first, twice)
    assert got.change == pytest.approx(got.now - got.before)
    assert np.all(np.diff(got.change) <= 0)


@pytest.mark.published("consumption", "floor")
def test_floor_per_100_h(case):
    g = case["given"]
    got = con.against_floor(0.01, 0.001, g["hours"], g["charge"])
    assert got.floor_l / g["hours"] * 100 == pytest.approx(case["want"]["per_100_h"], abs=case["tol"])
    assert "5 %" in got.source


def test_words_about_the_floor_need_more_than_doubt():
    words = [con.against_floor(rate, 0.001, 1500.0, 90.0).word for rate in (0.0010, 0.0040, 0.0060)]
    assert words == ["within", "not clear", "above"]
    assert con.against_floor(0.006, 0.001, 1500.0, 90.0).share == pytest.approx(0.1)


@pytest.mark.published("consumption", "drip")
def test_a_drip_over_a_year(case):
    g = case["given"]
    assert con.drip_litres(g["ml_per_min"], g["hours"]) == pytest.approx(case["want"]["litres"], abs=case["tol"])


@pytest.mark.published("consumption", "drops")
def test_drops_are_answered_as_a_range(case):
    g, want = case["given"], case["want"]
    low, high = (litres / 3.785411784 for litres in con.drop_litres(g["per_min"], g["hours"]))
    assert (low, high) == pytest.approx((want["low_us_gal"], want["high_us_gal"]), abs=case["tol"])


def test_makeup_ratio_and_cost():
    assert con.makeup_ratio(50.0, 100.0, 365.25 / 2) == pytest.approx(1.0)
    assert con.cost(12.0, 0.5, 3.1, "EUR", extra=40.0) == con.Cost(pytest.approx(77.2), pytest.approx(1.55), "EUR")
    with pytest.raises(OutOfRange):
        con.makeup_ratio(1.0, 0.0, 30.0)


def test_every_movement_has_its_flow():
    places = [(OUTSIDE, STOCK), *[(STOCK, MACHINE)] * 3, (MACHINE, USED_OIL), (MACHINE, MACHINE), (USED_OIL, OUTSIDE)]
    why = ["stock", "top-up", "planned change", "other", "planned change", "other", "used oil"]
    got = con.sort(*zip(*places, strict=True), [con.PURPOSES.index(w) for w in why])
    assert [con.FLOWS[k] for k in got] == ["delivered", "topped up", "changed", "poured, other", "drained", "moved", "handed over"]
    more = con.sort([OUTSIDE, STOCK, STOCK, MACHINE, STOCK], [MACHINE, OUTSIDE, STOCK, OUTSIDE, USED_OIL], [2, 7, 5, 3, 6])
    assert [con.FLOWS[k] for k in more] == ["changed", "left stock", "moved", "drained", "left stock"]
    with pytest.raises(BadInput):
        con.sort([9], [1], [0])


def test_what_was_added_and_not_drained_is_lost_or_still_in_the_machines():
    flow = con.sort([STOCK, STOCK, MACHINE, USED_OIL], [MACHINE, MACHINE, USED_OIL, OUTSIDE], [0, 1, 1, 6])
    litres, u = con.totals(flow, [0, 0, 0, 0], 1, [30.0, 200.0, 195.0, 150.0], [0.6, 2.0, 3.0, 5.0])
    flows = {name: (litres[0, k], u[0, k]) for k, name in enumerate(con.FLOWS)}
    got = con.account(flows, (5.0, 2.0))
    assert (got.added_l, got.drained_l, got.lost_l) == pytest.approx((230.0, 195.0, 30.0))
    assert got.u_l == pytest.approx(np.sqrt(0.36 + 4 + 9 + 4))
    assert got.word == "does not close"
    assert (got.handed_over_l, got.still_here_l) == pytest.approx((150.0, 45.0))
