"""The alarm's promises by seeded simulation: few false alarms, and a doubling soon found. The settings come from tune_running_sum."""

import pytest

from tests.benchmarks.tune_running_sum import YEAR, false_alarms, power


def test_few_healthy_machines_raise_an_alarm_in_a_year():
    """Of 1,000 in their first year, and in their first two."""
    assert false_alarms(1000, YEAR, 21) <= 0.03
    assert false_alarms(1000, 2 * YEAR, 22) <= 0.03


def test_a_doubling_is_found_within_eight_records_in_nine_of_ten_cases():
    assert power(2000, 25, 2.0, 23).soon >= 0.90
    assert power(500, 25, 3.0, 24).soon >= 0.98


def test_small_lasting_changes_are_not_promised():
    """Half as much again lies on the allowance itself: it is found by luck, and late."""
    assert power(500, 25, 1.5, 25).soon < 0.4


@pytest.mark.slow
@pytest.mark.parametrize(("rate", "phi"), [(0.02, 0.25), (0.05, 0.1), (0.05, 0.25), (0.05, 0.5), (0.1, 0.25), (0.1, 0.5), (0.2, 0.5)])
def test_long_at_most_5_of_100_healthy_machines_alarm_in_a_year(rate, phi):
    assert false_alarms(10_000, YEAR, 31, rate, phi) <= 0.05


@pytest.mark.slow
def test_long_power_and_delays():
    for before in (25, 40):
        doubled, tripled = power(10_000, before, 2.0, 32), power(10_000, before, 3.0, 33)
        assert doubled.soon >= 0.90
        assert doubled.later >= 0.99
        assert 4 <= doubled.median <= 5
        assert tripled.soon >= 0.995
        assert 2 <= tripled.median <= 3
    assert power(10_000, 12, 2.0, 34).soon >= 0.82


@pytest.mark.slow
def test_long_healthy_machines_over_five_years():
    assert false_alarms(5_000, 5 * YEAR, 35) <= 0.03
