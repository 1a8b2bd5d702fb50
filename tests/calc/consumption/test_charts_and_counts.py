"""Charts and counts against printed examples, identities and other libraries."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal, stats

from fluidapp.calc import consumption as con
from fluidapp.errors import BadInput, OutOfRange


@pytest.mark.published("consumption", "individuals")
def test_single_values_and_moving_range_agree_with_the_handbook(case):
    values, ranges = con.individuals(np.array(case["given"]["values"]))
    want = case["want"]
    got = {"mean": values.centre, "range": ranges.centre, "high": values.high, "low": values.low, "range_high": ranges.high}
    assert got == pytest.approx(want, abs=case["tol"])


@pytest.mark.published("consumption", "running_sum")
def test_running_sums_agree_with_the_handbook(case):
    g, want = case["given"], case["want"]
    high, low = con.tabular(np.array(g["values"]), g["target"], g["k"])
    assert high == pytest.approx(want["high"], abs=case["tol"])
    assert low == pytest.approx(want["low"], abs=case["tol"])
    assert int(np.argmax(high > g["h"])) + 1 == want["signal"]
    assert con.one_split(np.array(g["values"])) + 1 == want["change"]


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=60))
def test_running_sum_equals_the_plain_loop(values):
    now, want = 0.0, []
    for x in values:
        now = max(0.0, now + x)
        want.append(now)
    assert con.running(np.array(values)) == pytest.approx(want, abs=1e-12)


@given(st.lists(st.floats(-5, 5), min_size=2, max_size=25))
def test_split_is_the_one_with_least_squares(values):
    x = np.array(values)
    errors = [((x[:k] - x[:k].mean()) ** 2).sum() + ((x[k:] - x[k:].mean()) ** 2).sum() for k in range(1, len(x))]
    assert errors[con.one_split(x) - 1] == pytest.approx(min(errors), abs=1e-9)


@pytest.mark.published("consumption", "counts")
def test_counts_agree_with_the_handbook(case):
    got = con.count_limits(case["given"]["values"])
    want = case["want"]
    assert (got.centre, got.high, got.low) == pytest.approx((want["mean"], want["high"], want["low"]), abs=case["tol"])
    assert [k + 1 for k, c in enumerate(case["given"]["values"]) if not got.low <= c <= got.high] == want["out"]


@given(st.lists(st.integers(0, 40), min_size=2, max_size=20), st.floats(0.5, 50))
def test_rates_over_equal_stretches_are_the_count_chart_divided(counts, stretch):
    rate, count = con.rate_limits(counts, [stretch] * len(counts)), con.count_limits(counts)
    assert rate.centre * stretch == pytest.approx(count.centre)
    assert np.asarray(rate.high) * stretch == pytest.approx(count.high)
    assert np.asarray(rate.low) * stretch == pytest.approx(count.low, abs=1e-9)


def test_rate_limits_are_three_standard_deviations_of_scipys_poisson():
    counts, hours = np.array([3, 0, 5, 9]), np.array([100.0, 40.0, 150.0, 220.0])
    got = con.rate_limits(counts, hours)
    u = stats.poisson(17 / 510 * hours).std() / hours
    assert got.high == pytest.approx(17 / 510 + 3 * u)
    assert got.low == pytest.approx(np.maximum(0, 17 / 510 - 3 * u))


@pytest.mark.parametrize("weight", [0.1, 0.3, 1.0])
def test_moving_average_agrees_with_pandas_and_with_a_filter_of_scipy(weight):
    x = np.random.default_rng(3).normal(50.0, 2.0, 40)
    got, limits = con.moving_average(x, weight, 50.0, 2.0)
    assert got == pytest.approx(pd.Series([50.0, *x]).ewm(alpha=weight, adjust=False).mean().to_numpy()[1:], rel=1e-12)
    assert got == pytest.approx(signal.lfilter([weight], [1.0, weight - 1.0], x, zi=[50.0 * (1.0 - weight)])[0], rel=1e-12)
    shares = [np.array([weight * (1 - weight) ** j for j in range(t + 1)]) for t in range(40)]  # what each value counts for
    assert limits.high - 50.0 == pytest.approx([3 * 2.0 * np.sqrt((w**2).sum()) for w in shares], rel=1e-9)


def test_moving_average_of_weight_one_is_the_values_themselves():
    x = np.array([4.0, 9.0, 1.0])
    got, limits = con.moving_average(x, 1.0, 5.0, 1.0)
    assert got.tolist() == x.tolist()
    assert np.asarray(limits.low).tolist() == [2.0, 2.0, 2.0]


@pytest.mark.published("consumption", "rate")
def test_gamma_poisson_agrees_with_the_course_notes(case):
    g, want = case["given"], case["want"]
    before = con.GammaRate(g["a"], g["b"])
    assert before.expected(g["exposure"]) == pytest.approx(want["expected_before"], rel=case["tol"])
    assert before.seen(g["events"], g["exposure"]).mean == pytest.approx(want["mean"], rel=case["tol"])


@pytest.mark.published("consumption", "interval")
def test_exact_limits_of_a_count(case):
    low, high = con.rate_interval(case["given"]["events"], 1.0)
    assert (low, high) == pytest.approx((case["want"]["low"], case["want"]["high"]), abs=case["tol"])
    k = case["given"]["events"]
    assert stats.poisson.cdf(k, high) == pytest.approx(0.025)
    assert k == 0 or stats.poisson.sf(k - 1, low) == pytest.approx(0.025)


@pytest.mark.published("consumption", "outlier")
def test_modified_z_sees_what_plain_z_cannot(case):
    x = np.array(case["given"]["values"])
    want = case["want"]
    plain = np.abs(x - x.mean()) / x.std(ddof=1)
    assert plain.max() == pytest.approx(want["plain"], abs=1e-4)
    assert (len(x) - 1) / np.sqrt(len(x)) == pytest.approx(want["bound"], abs=1e-4)
    got = np.abs(con.modified_z(x))
    assert got.max() == pytest.approx(want["modified"], abs=case["tol"])
    assert (got > 3.5).sum() == 1


def test_the_scale_never_falls_below_the_doubt_of_a_reading():
    """Coarse marks: most values are equal, so that MAD is 0."""
    x = np.array([5.0, 5.0, 5.0, 5.0, 6.0])
    assert np.isinf(con.modified_z(x)[-1])
    assert con.modified_z(x, floor=1.0).tolist() == [0.0, 0.0, 0.0, 0.0, 1.0]


@pytest.mark.parametrize(
    "call",
    [
        lambda: con.individuals(np.array([1.0])),
        lambda: con.individuals(np.array([1.0, np.nan])),
        lambda: con.count_limits([1.5]),
        lambda: con.rate_limits([1, 2], [1.0]),
        lambda: con.rate_interval(-1, 1.0),
        lambda: con.moving_average(np.array([1.0]), 0.0, 0.0, 1.0),
    ],
)
def test_what_does_not_fit_is_refused(call):
    with pytest.raises((BadInput, OutOfRange)):
        call()
