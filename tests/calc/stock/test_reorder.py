"""Reorder points and quantities: printed examples, another library, brute force."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fluidapp.calc import stock
from fluidapp.errors import BadInput, OutOfRange


@pytest.mark.published("stock", "normal")
def test_order_up_to_with_normal_demand(case):
    g = case["given"]
    got = stock.order_up_to_normal(g["mean"], g["sd"], g["short"], g["hold"])
    assert got == pytest.approx((case["want"]["level"], case["want"]["cost"]), rel=case["tol"])


@pytest.mark.published("stock", "poisson")
def test_order_up_to_with_counted_demand(case):
    g = case["given"]
    got = stock.order_up_to_poisson(g["mean"], g["short"], g["hold"])
    assert got == pytest.approx((case["want"]["level"], case["want"]["cost"]), rel=case["tol"])


@pytest.mark.published("stock", "policy")
def test_point_and_quantity(case):
    g, want = case["given"], case["want"]
    got = stock.order_policy(g["rate"], g["lead"], g["fixed"], g["short"], g["hold"])
    assert got == pytest.approx((want["point"], want["quantity"], want["cost"]), rel=case["tol"])


@pytest.mark.parametrize(("rate", "lead", "fixed", "short", "hold"), [(0.4, 9.0, 30.0, 12.0, 1.5), (2.0, 1.0, 5.0, 40.0, 8.0)])
def test_no_other_policy_is_cheaper(rate, lead, fixed, short, hold):
    """Every point up to 20 and quantity up to 40, demand summed up by scipy."""
    d = np.arange(200)
    p = stats.poisson.pmf(d, rate * lead)
    g = [(p * (hold * np.maximum(y - d, 0) + short * np.maximum(d - y, 0))).sum() for y in range(70)]
    best = min((fixed * rate + sum(g[r + 1 : r + q + 1])) / q for r in range(21) for q in range(1, 41))
    got = stock.order_policy(rate, lead, fixed, short, hold)
    assert got.cost == pytest.approx(best, rel=1e-9)
    assert got.cost == pytest.approx((fixed * rate + sum(g[got.point + 1 : got.point + got.quantity + 1])) / got.quantity)


@pytest.mark.published("stock", "reorder")
def test_reorder_point(case):
    g, want = case["given"], case["want"]
    assert stock.reorder_point(g["mean"], g["var"], g["lead"], g["service"]) == want["point"]
    if "at" in want:
        assert stock.demand_up_to(want["point"], g["mean"], g["var"], g["lead"]) == pytest.approx(want["at"], abs=case["tol"])
        assert stock.demand_up_to(want["point"] - 1, g["mean"], g["var"], g["lead"]) == pytest.approx(want["below"], abs=case["tol"])


@given(st.floats(0.001, 20), st.floats(0, 3), st.floats(0.5, 60), st.floats(0.5, 0.999))
def test_reorder_point_is_the_quantile_of_scipy(mean, spread, lead, service):
    var = (spread * mean) ** 2
    got = stock.reorder_point(mean, var, lead, service)
    demand = stats.nbinom(mean**2 / var, 1 / (1 + lead * var / mean)) if var > 0 else stats.poisson(mean * lead)
    assert demand.cdf(got) >= service - 1e-9
    assert got == 0 or demand.cdf(got - 1) < service + 1e-9


def test_reorder_point_holds_the_service_in_simulated_lead_times():
    """Rate drawn from Gamma(9.5, 60), demand from it: own seed, 200,000 lead times."""
    rng = np.random.default_rng(8)
    mean, var = stock.rate_of(9, 60.0)
    demand = rng.poisson(rng.gamma(mean**2 / var, var / mean, 200_000) * 14.0)
    point = stock.reorder_point(mean, var, 14.0, 0.95)
    assert (demand <= point).mean() >= 0.95
    assert (demand <= point - 1).mean() < 0.95


def test_a_rate_that_is_less_well_known_needs_more_stock():
    """Poisson(10), and the negative binomials (10, 1/2) and (1, 1/11), by scipy."""
    assert [stock.reorder_point(1.0, var, 10.0, 0.95) for var in (0.0, 0.1, 1.0)] == [15, 18, 31]


def test_nothing_used_needs_nothing():
    assert stock.reorder_point(0.0, 0.0, 14.0, 0.95) == 0


@given(st.floats(0, 5000), st.floats(0, 300), st.floats(1, 1000))
def test_ordered_containers_are_just_enough(needed, opened, size):
    n = stock.containers(needed, opened, size)
    assert n * size + opened >= needed - 1e-6 * size
    assert n == 0 or (n - 1) * size + opened < needed


@pytest.mark.parametrize("given", [(-1, 0, 14, 0.95), (1, -1, 14, 0.95), (1, 0, 0, 0.95), (1, 0, 14, 1.0), (float("nan"), 0, 14, 0.9)])
def test_what_cannot_be_is_refused(given):
    with pytest.raises(OutOfRange):
        stock.reorder_point(*given)
    with pytest.raises(BadInput):
        stock.reorder_point(0.0, 1.0, 14.0, 0.95)
