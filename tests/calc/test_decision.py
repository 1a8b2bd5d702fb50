"""The limits beyond which a difference is more than doubt, and sums of doubts."""

import math

import numpy as np
import pytest

from fluidapp.calc.decision import alone, closing, quadrature, smallest_seen
from fluidapp.errors import BadInput


@pytest.mark.parametrize(
    ("change", "word"),
    [(-1.646, "loss"), (-1.645, "no clear change"), (0.0, "no clear change"), (1.645, "no clear change"), (1.646, "gain")],
)
def test_one_compartment_alone_is_claimed_only_beyond_1_645_u(change, word):
    assert alone(change, 1.0) == word


@pytest.mark.parametrize(
    ("missing", "word"),
    [
        (-2.01, "does not close"),
        (-2.0, "balanced"),
        (-1.7, "balanced"),
        (1.645, "balanced"),
        (1.65, "not clear"),
        (2.0, "not clear"),
        (2.01, "does not close"),
    ],
)
def test_a_balance_closes_within_2_u_and_a_shortfall_between_is_not_clear(missing, word):
    assert closing(missing, 1.0) == word


@pytest.mark.published("balance", "seen")
def test_smallest_loss_seen_agrees_with_the_table(case):
    g, want = case["given"], case["want"]
    u = math.sqrt(2) * g["area"] * g["mark"] / math.sqrt(12)
    assert u == pytest.approx(want["u"], abs=case["tol"])
    assert smallest_seen(u) == pytest.approx(want["seen"], abs=case["tol"])


def test_the_smallest_loss_seen_is_claimed_19_times_out_of_20():
    """Simulation of 40,000 normal readings, four standard errors wide."""
    rng = np.random.default_rng(1)
    readings = rng.normal(-smallest_seen(1.0), 1.0, 40_000)
    seen = np.mean([alone(float(x), 1.0) == "loss" for x in readings])
    false = np.mean([alone(float(x), 1.0) == "loss" for x in rng.normal(0.0, 1.0, 40_000)])
    assert abs(seen - 0.95) < 4 * math.sqrt(0.95 * 0.05 / 40_000)
    assert abs(false - 0.05) < 4 * math.sqrt(0.95 * 0.05 / 40_000)


def test_degrees_of_freedom_follow_the_guide_on_uncertainty():
    """Welch-Satterthwaite on relative doubts 0.25 % (10 readings), 0.57 % (5), 0.82 % (15): 1.03 %, 19.0 degrees of freedom.

    Source: JCGM 100:2008, G.4.1, example (from memory)."""
    u, dof = quadrature([(0.25, 9), (0.57, 4), (0.82, 14)])
    assert u == pytest.approx(1.03, abs=5e-3)
    assert dof == pytest.approx(19.0, abs=0.05)  # printed as 19.0


def test_infinite_degrees_of_freedom_stay_infinite():
    assert quadrature([(3.0, math.inf), (4.0, math.inf)]) == (5.0, math.inf)


@pytest.mark.parametrize("u", [-1.0, math.nan, math.inf])
def test_a_doubt_that_cannot_be_is_an_error(u):
    for call in (lambda: alone(1.0, u), lambda: closing(1.0, u), lambda: smallest_seen(u), lambda: quadrature([(u, 1.0)])):
        with pytest.raises(BadInput):
            call()
    with pytest.raises(BadInput):
        quadrature([(1.0, 0.0)])
    with pytest.raises(BadInput):
        alone(math.nan, 1.0)
    with pytest.raises(BadInput):
        closing(math.nan, 1.0)
