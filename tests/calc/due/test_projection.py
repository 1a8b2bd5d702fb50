"""When the meter reaches so many hours: the date, its range, and how often the range is right."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student

from fluidapp.calc import due
from fluidapp.errors import BadInput, CannotAnswer

WEEKS = (60.0, 52.0, 48.0, 55.0, 50.0, 65.0)


def series(weeks, step: float = 7.0) -> tuple[list[float], list[float]]:
    return [0.0, *np.cumsum(weeks)], [step * k for k in range(len(weeks) + 1)]


@pytest.mark.published("due", "projection")
def test_the_range_of_a_date_is_that_of_a_sum_of_weeks(case: dict) -> None:
    hours, days = series(case["given"]["weeks"])
    want, now = case["want"], days[-1]
    known = due.use([(days, hours)])
    assert (known.per_week, known.scatter) == pytest.approx((want["mean"], want["scatter"]), abs=1e-4)
    found = due.project(hours, days, hours[-1] + case["given"]["left"], p=case["given"]["p"])
    assert [x - now for x in found] == pytest.approx([want["days"], want["low"], want["high"]], abs=case["tol"])


@given(st.lists(st.floats(5.0, 100.0), min_size=4, max_size=17), st.floats(1.0, 2000.0))
def test_with_weekly_readings_use_is_mean_and_standard_deviation_of_the_weeks(weeks: list[float], left: float) -> None:
    hours, days = series(weeks)
    day, low, high = due.project(hours, days, hours[-1] + left)
    mean, sd, n = statistics.mean(weeks), statistics.stdev(weeks), len(weeks)
    w = left / mean
    half = student.ppf(0.975, n - 1) * sd / mean * math.sqrt(w + w * w / n)
    assert day == pytest.approx(days[-1] + 7 * w)
    assert high == pytest.approx(days[-1] + 7 * (w + half), rel=1e-9)
    assert low == pytest.approx(days[-1] + 7 * max(0.0, w - half), rel=1e-9)


@given(st.lists(st.floats(0.0, 20.0), min_size=35, max_size=119))
def test_daily_readings_tell_the_same_as_the_weekly_ones_among_them(worked: list[float]) -> None:
    hours, days = series(worked, 1.0)
    weekly = slice((len(days) - 1) % 7, None, 7)
    assert due.use([(days, hours)]) == due.use([(days[weekly], hours[weekly])])


def test_readings_a_month_apart_make_few_long_stretches_not_many_equal_weeks() -> None:
    hours, days = series([200.0, 240.0, 160.0, 210.0, 190.0], 28.0)
    known = due.use([(days, hours)])
    assert (known.weeks, known.span) == (5, 20.0)
    assert known.per_week == pytest.approx(50.0)
    assert known.scatter == pytest.approx(math.sqrt(sum((w - 200.0) ** 2 / 4.0 for w in (200, 240, 160, 210, 190)) / 4))


def test_use_is_that_of_the_last_120_days_where_there_is_enough_of_it() -> None:
    hours, days = series([10.0] * 30 + [40.0] * 17)
    assert due.use([(days, hours)]).per_week == 40.0
    hours, days = series([80.0, 80.0, 100.0, 160.0], 60.0)  # four stretches of two months: all within the year
    assert due.use([(days, hours)]).weeks == 4


def test_fewer_than_four_weeks_give_a_date_without_a_range_and_one_reading_none() -> None:
    hours, days = series([40.0, 50.0, 45.0])
    assert due.project(hours, days, hours[-1] + 45.0) == (28.0, None, None)
    assert due.project([100.0, 116.0], [0.0, 2.0], 132.0) == (4.0, None, None)
    for hours, days in (([100.0], [3.0]), ([], []), ([100.0, 101.0], [3.0, 3.2])):
        with pytest.raises(CannotAnswer, match="two readings"):
            due.project(hours, days, 500.0)


def test_what_cannot_be_projected_is_refused_by_name() -> None:
    with pytest.raises(CannotAnswer, match="did not move"):
        due.project([100.0, 100.0], [0.0, 9.0], 500.0)
    with pytest.raises(CannotAnswer, match="reached already"):
        due.project([100.0, 140.0], [0.0, 9.0], 140.0)
    with pytest.raises(BadInput, match="run backwards"):
        due.project([100.0, 90.0], [0.0, 9.0], 500.0)
    with pytest.raises(BadInput, match="one for each of the 1 days"):
        due.project([100.0, 140.0], [0.0], 500.0)
    with pytest.raises(BadInput, match="probability"):
        due.project([100.0, 140.0], [0.0, 9.0], 500.0, p=1.0)


def covered(machines: int, seed: int, left: float = 250.0, history: int = 120, idle: float = 0.0) -> float:
    """Share of machines whose 95 % range holds the true day. Days of gamma hours, some without work; ``idle``: whole weeks off."""
    rng = np.random.default_rng(seed)
    right = 0
    for _ in range(machines):
        mean, share = rng.uniform(4.0, 10.0), rng.uniform(0.6, 0.9)
        n = history + 1000
        worked = np.where(rng.random(n) < share, np.minimum(rng.gamma(4.0, mean / 4.0, n), 24.0), 0.0)
        worked *= np.repeat(rng.random(n // 7 + 1) >= idle, 7)[:n]
        total = np.concatenate([[0.0], np.cumsum(worked)])
        seen = np.arange(history % 7, history + 1, 7)
        _, low, high = due.project(total[seen].tolist(), seen.astype(float).tolist(), float(total[history]) + left)
        reached = float(np.interp(total[history] + left, total[history:], np.arange(history, n + 1)))
        right += low <= reached <= high
    return right / machines


def test_the_range_holds_the_true_day_in_93_to_97_of_100_cases_short() -> None:
    assert 0.93 <= covered(1000, 20261125) <= 0.97


@pytest.mark.slow
@pytest.mark.parametrize("left", [100.0, 250.0, 1000.0])
def test_the_range_holds_the_true_day_in_93_to_97_of_100_cases(left: float) -> None:
    assert 0.93 <= covered(10_000, 1, left) <= 0.97


def test_weeks_off_that_come_by_chance_lower_the_coverage_as_the_text_says() -> None:
    assert 0.80 <= covered(1000, 3, idle=0.06) < 0.95
