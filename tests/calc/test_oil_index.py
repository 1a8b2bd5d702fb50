"""Viscosity index: the standard's examples, its whole table as a public library holds it, its edges."""

import math

import numpy as np
import pytest
from chemicals.viscosity import VI_Hs, VI_Ls, VI_nus
from chemicals.viscosity import viscosity_index as by_the_table

from fluidapp.calc import oil
from fluidapp.errors import BadInput

Y, L, H = (np.array(column, dtype=float) for column in (VI_nus, VI_Ls, VI_Hs))


@pytest.mark.published("oil_index", "printed")
def test_the_index_agrees_with_the_printed_example(case):
    g = case["given"]
    assert oil.viscosity_index(g["nu40"], g["nu100"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.published("oil_index", "limits")
def test_both_limits_agree_with_the_printed_row(case):
    np.testing.assert_allclose(oil.index_limits(case["given"]["nu100"]), case["want"], rtol=case["tol"])


@pytest.mark.published("oil_index", "high_limit")
def test_the_upper_limit_agrees_with_the_printed_example(case):
    assert oil.index_limits(case["given"]["nu100"])[1] == pytest.approx(case["want"], rel=case["tol"])


def test_every_row_of_the_table_is_met_within_a_thousandth():
    assert len(Y) == 311
    low, high = oil.index_limits(Y)
    np.testing.assert_allclose(low, L, rtol=0.001)
    np.testing.assert_allclose(high, H, rtol=0.001)


def test_the_index_agrees_with_the_whole_table_within_0_3():
    """At every row, and above the table: from index 0 to 300; outside, the same and 0.2 % of the index."""
    seen = {"inside": 0, "below": 0, "above": 0}
    for y, low in [*zip(Y, L, strict=True), (80.0, oil.index_limits(80.0)[0]), (150.0, oil.index_limits(150.0)[0])]:
        u = np.linspace(1.1 * y, 1.3 * low, 25)
        table = np.array([by_the_table(float(one) * 1e-6, float(y) * 1e-6) for one in u])
        inside = (table >= 0) & (table <= 300)
        most = np.where(inside, 0.3, 0.3 + 0.002 * np.abs(table))
        assert np.all(np.abs(oil.viscosity_index(u, y) - table) <= most), y
        seen["inside"] += np.count_nonzero(inside)
        seen["below"] += np.count_nonzero(table < 0)
        seen["above"] += np.count_nonzero(table > 300)
    assert min(seen.values()) > 500


def test_the_oils_of_index_0_and_100_are_met_exactly():
    for y in (2.0, 4.0, 8.86, 30.0, 70.0, 90.0):
        low, high = oil.index_limits(y)
        assert oil.viscosity_index(low, y) == pytest.approx(0.0, abs=1e-9)
        assert oil.viscosity_index(high, y) == pytest.approx(100.0, abs=1e-9)


def test_the_pieces_meet():
    """From one piece to the next both limits go on within 0.2 %, and rise."""
    from fluidapp.calc.oil.index import ROWS

    for edge in [row[0] for row in ROWS[1:]]:
        below, above = oil.index_limits(edge - 1e-6), oil.index_limits(edge + 1e-6)
        np.testing.assert_allclose(above, below, rtol=0.002)
    fine = np.linspace(2.0, 120.0, 5000)
    for limit in oil.index_limits(fine):
        assert np.all(np.diff(limit) > -0.002 * limit[:-1])


def test_arrays_give_what_single_numbers_give():
    nu40, nu100 = np.array([[73.30], [46.0]]), np.array([8.86, 6.65, 5.0])
    many = oil.viscosity_index(nu40, nu100)
    assert many.shape == (2, 3)
    for i in range(2):
        for j in range(3):
            assert many[i, j] == pytest.approx(oil.viscosity_index(float(nu40[i, 0]), float(nu100[j])), rel=1e-14)
    assert type(oil.viscosity_index(46.0, 6.65)) is float


@pytest.mark.parametrize(
    ("nu40", "nu100", "says"),
    [
        (10.0, 1.99, "viscosity at 100 °C"),
        (10.0, math.nan, "viscosity at 100 °C"),
        (6.65, 46.0, "swapped"),
        (8.0, 8.0, "swapped"),
        (math.nan, 8.0, "viscosity at 40 °C"),
        (math.inf, 8.0, "viscosity at 40 °C"),
    ],
)
def test_what_no_oil_has_is_refused_and_named(nu40, nu100, says):
    with pytest.raises(BadInput, match=says):
        oil.viscosity_index(nu40, nu100)
    with pytest.raises(BadInput, match=says):
        oil.viscosity_index(np.array([46.0, nu40]), np.array([6.65, nu100]))
