"""Readings adjusted to balances, and the tests on them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from fluidapp.calc.balance import measurement_test, nodal_test, reconcile
from fluidapp.errors import BadInput

A = np.array([[1.0, -1.0, -1.0, 0.0], [0.0, 1.0, 0.0, -1.0]])


def arrays(g):
    return np.array(g["y"], float), np.diag(np.array(g["variance"], float)), np.array(g["A"], float)


@pytest.mark.published("balance", "reconciled")
def test_adjusted_readings_agree_with_the_example(case):
    y, V, a = arrays(case["given"])
    x, _, _, dof = reconcile(y, V, a)
    assert x == pytest.approx(case["want"]["x"], abs=case["tol"])
    assert dof == case["want"]["dof"]


@pytest.mark.published("balance", "tested")
def test_global_and_nodal_test_agree_with_the_example(case):
    y, V, a = arrays(case["given"])
    x, cov, gamma, dof = reconcile(y, V, a)
    assert gamma == pytest.approx(case["want"]["gamma"], abs=case["tol"])
    if "u" in case["want"]:
        assert np.sqrt(np.diag(cov)) == pytest.approx(case["want"]["u"], abs=case["tol"])
    if "nodal" in case["want"]:
        assert nodal_test(y, V, a) == pytest.approx(case["want"]["nodal"], abs=case["tol"])
    assert x.size == y.size
    assert gamma < stats.chi2.ppf(0.95, dof)


def problem():
    return st.tuples(
        st.lists(st.floats(-100, 100), min_size=4, max_size=4),
        st.lists(st.floats(0.1, 5), min_size=4, max_size=4),
        st.floats(-0.8, 0.8),
    )


@given(problem())
def test_balances_hold_afterwards_and_agree_with_a_general_minimiser(p):
    """Independent method: scipy's SLSQP on the same least squares."""
    y, u, r = np.array(p[0]), np.array(p[1]), p[2]
    V = np.diag(u**2)
    V[0, 1] = V[1, 0] = r * u[0] * u[1]
    x, cov, gamma, _ = reconcile(y, V, A)
    assert A @ x == pytest.approx(np.zeros(2), abs=1e-8)
    assert A @ cov == pytest.approx(np.zeros((2, 4)), abs=1e-8)
    inv = np.linalg.inv(V)
    assert (y - x) @ inv @ (y - x) == pytest.approx(gamma, rel=1e-6, abs=1e-8)
    free = np.array([[1.0, 1.0, 0.0, 1.0], [1.0, 0.0, 1.0, 0.0]])  # spans all x with A x = 0
    best = np.linalg.lstsq(np.linalg.cholesky(inv).T @ free.T, np.linalg.cholesky(inv).T @ y, rcond=None)[0] @ free
    assert x == pytest.approx(best, rel=1e-6, abs=1e-6)


def test_least_squares_agrees_with_an_iterative_minimiser():
    y, V = np.array([10.0, 4.0, 5.0, 4.5]), np.diag([1.0, 0.25, 0.25, 4.0])
    inv = np.linalg.inv(V)
    found = optimize.minimize(
        lambda x: (y - x) @ inv @ (y - x), y, method="SLSQP", constraints={"type": "eq", "fun": lambda x: A @ x}, options={"ftol": 1e-14}
    )
    assert reconcile(y, V, A).x == pytest.approx(found.x, abs=1e-5)


def test_gamma_of_honest_readings_is_chi_square():
    """Kolmogorov distance of 2,000 simulated gammas from the chi-square distribution, own seed."""
    rng = np.random.default_rng(4)
    truth, V = np.array([9.0, 4.0, 5.0, 4.0]), np.diag([1.0, 0.25, 0.25, 4.0])
    gammas = [reconcile(rng.multivariate_normal(truth, V), V, A).gamma for _ in range(2000)]
    assert stats.kstest(gammas, "chi2", args=(2,)).pvalue > 0.01


def test_p_is_the_upper_tail_of_chi_square():
    got = reconcile(np.array([10.0, 4.0, 5.0]), np.eye(3), A[:1, :3])
    assert got.p == pytest.approx(float(stats.chi2.sf(got.gamma, 1)))


def test_a_known_content_moves_the_balance():
    x = reconcile(np.array([10.0, 4.0, 5.0]), np.eye(3), A[:1, :3], b=np.array([1.0])).x
    assert x == pytest.approx([10.0, 4.0, 5.0])


def test_a_balance_that_follows_from_the_others_costs_no_degree_of_freedom():
    y, V = np.array([10.0, 4.0, 5.0, 4.5]), np.eye(4)
    assert reconcile(y, V, np.vstack([A[:1], A[:1]])).x == pytest.approx(reconcile(y, V, A[:1]).x)
    both = np.vstack([A, A.sum(axis=0)])
    assert reconcile(y, V, both).dof == 2
    assert reconcile(y, V, both).x == pytest.approx(reconcile(y, V, A).x)
    assert reconcile(y, V, both).gamma == pytest.approx(reconcile(y, V, A).gamma)


def test_an_unmeasured_stream_is_found_from_the_others():
    V = np.diag([1e12, 1.0, 1.0, 1.0])
    x = reconcile(np.array([0.0, 4.0, 5.0, 4.0]), V, A).x
    assert x[0] == pytest.approx(9.0, abs=1e-3)


def test_a_stream_that_touches_no_balance_cannot_be_tested():
    z = measurement_test(np.array([10.0, 4.0, 5.0, 7.0]), np.eye(4), np.array([[1.0, -1.0, -1.0, 0.0]]))
    assert np.isnan(z[3])
    assert z[:3] == pytest.approx(1 / np.sqrt(3))


def test_two_streams_between_the_same_nodes_have_equal_test_values():
    z = measurement_test(np.array([10.0, 4.0, 5.0]), np.diag([1.0, 0.2, 3.0]), np.array([[1.0, -1.0, -1.0]]))
    assert z[1] == pytest.approx(z[2])


@pytest.mark.parametrize(
    ("y", "V", "a", "b"),
    [
        (np.zeros(3), np.eye(2), A[:1, :3], None),
        (np.zeros(3), np.eye(3), A, None),
        (np.array([np.nan, 0, 0]), np.eye(3), A[:1, :3], None),
        (np.zeros(3), np.diag([1.0, -1.0, 1.0]), A[:1, :3], None),
        (np.zeros(3), np.array([[1.0, 0.5, 0], [0, 1, 0], [0, 0, 1]]), A[:1, :3], None),
        (np.zeros(3), np.array([[1.0, 2.0, 0], [2.0, 1, 0], [0, 0, 1]]), A[:1, :3], None),
        (np.zeros(3), np.zeros((3, 3)), A[:1, :3], None),
        (np.zeros(3), np.eye(3), A[:1, :3], np.zeros(2)),
    ],
)
def test_what_is_no_problem_of_this_kind_is_an_error(y, V, a, b):
    with pytest.raises(BadInput):
        reconcile(y, V, a, b)


def test_a_node_of_exact_readings_cannot_be_tested():
    with pytest.raises(BadInput):
        nodal_test(np.zeros(3), np.zeros((3, 3)), A[:1, :3])
