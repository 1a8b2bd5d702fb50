"""Level watch: the line, its claims, what it may not say, and when it will say more."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from fluidapp.calc import watch
from fluidapp.errors import BadInput, OutOfRange

SIGMA = 0.72 * 5.0 / math.sqrt(12.0)  # 0.72 m2 with 5 mm marks


@pytest.mark.published("watch", "two_readings")
def test_two_readings_need_so_many_hours(case: dict) -> None:
    area, mark = case["given"]["area"], case["given"]["mark"]
    for leak, hours in zip(case["given"]["leak"], case["want"]["hours"], strict=True):
        assert watch.hours_until_visible(area * mark / math.sqrt(12.0), leak) == pytest.approx(hours, abs=case["tol"])
        assert watch.trend([0.0], [200.0], area * mark / math.sqrt(12.0), leak_l_h=leak).visible_after_h == pytest.approx(
            hours, abs=case["tol"]
        )


@pytest.mark.published("watch", "many_readings")
def test_more_readings_help_most_at_the_ends(case: dict) -> None:
    given_ = case["given"]
    found = watch.hours_until_visible(SIGMA, 0.1, given_["readings"], given_["spread"])
    assert found == pytest.approx(case["want"]["hours"], abs=case["tol"])
    n = given_["readings"]
    t = np.linspace(0.0, found, n) if given_["spread"] == "equal" else np.repeat([0.0, found], n // 2)
    assert watch.trend(t, np.full(n, 200.0), SIGMA).sees_l_h == pytest.approx(0.1, rel=1e-9)  # the same through the line itself


def test_two_mm_floor_of_a_stick_needs_67_hours() -> None:
    """0.72 m2 read to 2 mm: u of a difference 2.04 L, smallest loss 6.70 L, 67 h for 0.1 L/h; computed by us."""
    found = watch.trend([0.0, 67.0], [200.0, 200.0], 0.72 * 2.0)
    assert found.u * 67.0 == pytest.approx(2.04, abs=0.005)
    assert found.sees_l_h * 67.0 == pytest.approx(6.70, abs=0.005)
    assert watch.hours_until_visible(0.72 * 2.0, 0.1) == pytest.approx(67.0, abs=0.05)


@given(st.integers(0, 10_000), st.integers(3, 30))
def test_the_line_is_that_of_ordinary_regression(seed: int, n: int) -> None:
    rng = np.random.default_rng(seed)
    t = np.sort(rng.uniform(0, 500, n))
    v = 200 - 0.03 * t + rng.normal(0, 3.0, n)  # scatter far above the reading's own doubt
    found, oracle = watch.trend(t, v, 1e-6), linregress(t, v)
    assert found.slope_l_h == pytest.approx(oracle.slope, rel=1e-9, abs=1e-12)
    assert found.u == pytest.approx(oracle.stderr, rel=1e-9)
    assert found.line_l(0.0)[0] == pytest.approx(oracle.intercept, rel=1e-9)
    assert found.line_l(0.0)[1] == pytest.approx(oracle.intercept_stderr, rel=1e-6)
    assert found.dof == pytest.approx(n - 2, rel=0.01)


def test_small_scatter_does_not_make_the_readings_better_than_they_are() -> None:
    t = np.array([0.0, 50.0, 100.0])
    found = watch.trend(t, 200 - 0.01 * t, 1.0)
    assert found.scatter_l == pytest.approx(0.0, abs=1e-9)
    assert found.sigma_l == 1.0
    assert found.u == pytest.approx(1.0 * math.sqrt(2) / 100, rel=1e-12)  # n = 3 over T: sqrt 2 sigma / T
    assert math.isinf(found.dof)


def test_unequal_doubts_weigh_as_least_squares_does() -> None:
    t, v, u = np.array([0.0, 10.0, 40.0, 90.0]), np.array([50.0, 49.0, 48.5, 46.0]), np.array([0.3, 2.0, 0.5, 0.4])
    slope, cov = np.polyfit(t, v, 1, w=1 / u, cov="unscaled")
    found = watch.trend(t, v, u)
    assert found.slope_l_h == pytest.approx(slope[0], rel=1e-9)
    assert found.u == pytest.approx(math.sqrt(cov[0, 0]), rel=1e-9)


@pytest.mark.parametrize(("gone", "verdict"), [(1.64, "too early"), (1.65, "losing"), (-1.64, "too early"), (-1.65, "gaining")])
def test_a_loss_is_claimed_beyond_1_645_u(gone: float, verdict: str) -> None:
    u = math.sqrt(2.0)  # of the difference of two readings of 1 L
    assert watch.trend([0.0, 10.0], [100.0, 100.0 - gone * u], 1.0).verdict == verdict


def test_holding_needs_readings_that_would_have_shown_the_leak() -> None:
    hours = watch.hours_until_visible(1.0, 0.1)
    assert watch.trend([0.0, 0.99 * hours], [100.0, 100.0], 1.0).verdict == "too early"
    assert watch.trend([0.0, 1.01 * hours], [100.0, 100.0], 1.0).verdict == "holding"
    assert watch.trend([0.0, 1.01 * hours], [100.0, 100.0], 1.0, leak_l_h=0.05).verdict == "too early"
    assert watch.trend([0.0, 1.01 * hours], [100.0, 100.0], 1.0).next_h is None


def test_a_parked_watch_never_says_holding_about_a_way_that_leaks_under_pressure() -> None:
    hours = watch.hours_until_visible(0.01, 0.1)
    parked = watch.trend([0.0, 100 * hours], [100.0, 100.0], 0.01, kind="parked")
    assert parked.verdict == "holding at rest"
    assert "nothing about motor, pump and cylinder seals" in " ".join(parked.remarks)
    pressure = {way.name for way in watch.ABOUT if way.under_pressure}
    for kind in ("hydraulic tank", "slewing gearbox", "final drive", "pump-drive case", "engine sump"):
        said = dict(watch.about(parked, kind))
        assert said
        assert all(word == "not told" for name, word in said.items() if name in pressure)
        assert all(word == "holding at rest" for name, word in said.items() if name not in pressure)
    working = watch.trend([0.0, 100 * hours], [100.0, 100.0], 0.01)
    assert set(dict(watch.about(working, "hydraulic tank")).values()) == {"holding"}


def test_what_was_poured_is_no_gain_and_its_doubt_counts_after_it() -> None:
    t, v = [0.0, 40.0, 60.0, 100.0], [100.0, 96.0, 104.0, 100.0]
    plain = watch.trend(t, [100.0, 96.0, 94.0, 90.0], 0.5)
    found = watch.trend(t, v, 0.5, poured=[watch.Poured(2, 10.0, 0.4)])
    assert found.rate_l_h == pytest.approx(plain.rate_l_h, rel=1e-12)
    assert found.rate_l_h == pytest.approx(0.1, rel=1e-9)
    lever = sum(x - 50.0 for x in (60.0, 100.0)) / sum((x - 50.0) ** 2 for x in t)
    assert found.u == pytest.approx(math.hypot(plain.u, lever * 0.4), rel=1e-9)


def test_a_blunder_is_named_and_left_in() -> None:
    t = np.linspace(0, 200, 12)
    named = wrong = 0
    for seed in range(200):
        v = 100 - 0.02 * t + np.random.default_rng(seed).normal(0, 0.5, 12)
        v[4] += 4.0
        found = watch.trend(t, v, 0.5)
        named += 4 in found.outliers
        wrong += bool(set(found.outliers) - {4})
        assert len(found.volumes_l) == 12
    assert named >= 198
    assert wrong <= 20  # another beside it: 5 % over the rest
    assert "does not fit the line" in found.remarks[0]


def test_healthy_series_are_rarely_told_to_have_a_blunder() -> None:
    rng = np.random.default_rng(4)
    t = np.linspace(0, 200, 8)
    named = sum(bool(watch.trend(t, 100 + rng.normal(0, 0.5, 8), 0.5).outliers) for _ in range(600))
    assert 0.01 <= named / 600 <= 0.09  # 5 % over all readings of a series together


def test_the_low_mark_may_be_reached_before_the_line_reaches_it() -> None:
    found = watch.trend([0.0, 100.0], [100.0, 90.0], 1.0)
    at = watch.earliest_h(found, 70.0)
    assert at is not None
    assert 100.0 < at < 300.0  # the line itself gets there at 300 h
    level, u = found.line_l(at)
    assert level - 1.6449 * u == pytest.approx(70.0, abs=1e-3)
    assert watch.earliest_h(found, 89.9) == 100.0  # it may be there already
    steady = watch.trend([0.0, 1000.0], [100.0, 110.0], 1.0)
    assert watch.earliest_h(steady, 70.0) is None  # it rises, and surely
    assert math.isnan(watch.earliest_h(watch.trend([5.0], [100.0], 1.0), 70.0) or 0.0)


def test_one_reading_or_one_time_is_too_early_and_says_when_to_come_back() -> None:
    one = watch.trend([1000.0], [100.0], 1.0)
    assert (one.verdict, one.next_h) == ("too early", pytest.approx(1000.0 + 3.29 * math.sqrt(2) / 0.1))
    three = watch.trend([1000.0] * 3, [100.0, 101.0, 100.0], 1.0)
    assert three.verdict == "too early"
    assert three.visible_after_h < one.visible_after_h
    assert math.isinf(three.u)


@pytest.mark.parametrize(
    ("hours", "volumes", "u", "leak", "error"),
    [
        ([0.0, -1.0], [1.0, 1.0], 1.0, 0.1, BadInput),
        ([0.0, 1.0], [1.0], 1.0, 0.1, BadInput),
        ([], [], 1.0, 0.1, BadInput),
        ([0.0, 1.0], [1.0, math.nan], 1.0, 0.1, BadInput),
        ([0.0, 1.0], [1.0, 1.0], 0.0, 0.1, OutOfRange),
        ([0.0, 1.0], [1.0, 1.0], [1.0, 1.0, 1.0], 0.1, BadInput),
        ([0.0, 1.0], [1.0, 1.0], 1.0, 0.0, OutOfRange),
    ],
)
def test_what_cannot_be_is_refused_by_name(hours: list, volumes: list, u: object, leak: float, error: type) -> None:
    with pytest.raises(error):
        watch.trend(hours, volumes, u, leak_l_h=leak)
