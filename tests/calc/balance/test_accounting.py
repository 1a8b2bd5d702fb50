"""Lost, gained, poured and drained, summed up."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc.balance import Change, account, change_between, level_change
from fluidapp.errors import BadInput, OutOfRange


@pytest.mark.published("balance", "account")
def test_first_balance_agrees_with_the_value_by_hand(case):
    area_t, drop, u_t, r_t = case["given"]["tank"]
    area_g, rise, u_g, r_g = case["given"]["gearbox"]
    got = account([level_change("tank", area_t, 300, 300 - drop, u_t, r_t), level_change("gearbox", area_g, 50, 50 + rise, u_g, r_g)])
    for name in ("lost", "gained", "unaccounted", "u"):
        value = {"lost": got.lost_l, "gained": got.gained_l, "unaccounted": got.unaccounted_l, "u": got.u_l}[name]
        assert value == pytest.approx(case["want"][name], abs=case["tol"]), name
    assert got.verdict == "does not close"
    assert got.sees_l == pytest.approx(3.29 * got.u_l)


def test_poured_and_drained_are_part_of_the_balance():
    """10 L poured into a tank that rose by 4: 6 L are gone, of which 2 L were drained and 3 L came into the gearbox: 1 L is missing."""
    got = account([Change("tank", 4.0, 0.2, poured_l=10.0, drained_l=2.0), Change("gearbox", 3.0, 0.1)])
    assert got.unaccounted_l == pytest.approx(10 - 2 - 4 - 3)
    assert (got.lost_l, got.gained_l, got.poured_l, got.drained_l) == (0.0, 7.0, 10.0, 2.0)
    assert [line.gone_l for line in got.lines] == pytest.approx([4.0, -3.0])
    assert got.changes_l == pytest.approx([-4.0, 3.0])


@given(st.lists(st.tuples(st.floats(-50, 50), st.floats(0, 30), st.floats(0, 30)), min_size=1, max_size=6))
def test_the_total_is_lost_plus_poured_minus_gained_minus_drained(rows):
    got = account([Change(f"n{i}", c, 1.0, poured_l=p, drained_l=d) for i, (c, p, d) in enumerate(rows)])
    assert got.unaccounted_l == pytest.approx(got.lost_l + got.poured_l - got.gained_l - got.drained_l, abs=1e-9)
    assert got.unaccounted_l == pytest.approx(sum(line.gone_l for line in got.lines), abs=1e-9)


@given(st.lists(st.floats(-30, 30), min_size=2, max_size=5))
def test_oil_that_only_moves_between_compartments_is_all_accounted_for(moved):
    """Round trip: every compartment passes its amount to the next one round."""
    changes = [moved[i - 1] - moved[i] for i in range(len(moved))]
    got = account([Change(f"n{i}", c, 0.5) for i, c in enumerate(changes)])
    assert got.unaccounted_l == pytest.approx(0.0, abs=1e-9)
    assert got.verdict == "balanced"


def test_the_doubt_of_poured_and_drained_counts():
    got = account([Change("tank", 0.0, 3.0, poured_l=5.0, u_poured_l=4.0), Change("gearbox", 0.0, 12.0, drained_l=1.0, u_drained_l=0.0)])
    assert got.u_l == pytest.approx(13.0)


def test_doubts_agree_with_monte_carlo_where_one_thermometer_serves_two_volumes():
    """Two changes with correlation 0.8: 400,000 draws, own seed."""
    u, r = np.array([1.2, 0.5]), 0.8
    cov = np.array([[u[0] ** 2, r * u[0] * u[1]], [r * u[0] * u[1], u[1] ** 2]])
    got = account([Change("tank", -6.0, 1.2), Change("gearbox", 5.0, 0.5)], np.array([[1.0, r], [r, 1.0]]))
    total = np.random.default_rng(2).multivariate_normal([-6.0, 5.0], cov, 400_000).sum(axis=1)
    assert got.u_l == pytest.approx(total.std(), rel=5e-3)
    assert got.u_l > account([Change("tank", -6.0, 1.2), Change("gearbox", 5.0, 0.5)]).u_l


@pytest.mark.parametrize(("change", "word"), [(-3.2, "no clear change"), (-3.4, "loss"), (3.4, "gain")])
def test_one_compartment_alone_uses_the_one_sided_limit(change, word):
    got = account([Change("tank", change, 2.0)])
    assert got.verdict == word
    assert got.lines[0].word == word
    assert any("Only tank was read" in remark for remark in got.remarks)


def test_verdicts_of_a_whole_balance():
    def verdict(missing):
        return account([Change("tank", -missing, 0.6), Change("gearbox", 0.0, 0.8)]).verdict

    assert [verdict(x) for x in (1.6, 1.7, 1.99, 2.01, -1.9, -2.1)] == [
        "balanced",
        "not clear",
        "not clear",
        "does not close",
        "balanced",
        "does not close",
    ]


def test_any_gain_of_a_compartment_is_named_as_abnormal():
    got = account([Change("tank", -5.0, 1.0), Change("gearbox", 5.0, 0.5)])
    assert got.verdict == "balanced"
    assert any("gearbox has gained by itself" in remark for remark in got.remarks)


def test_too_much_found_asks_for_water_or_an_unwritten_pour():
    got = account([Change("tank", 0.0, 1.0), Change("gearbox", 5.0, 0.5)])
    assert any("water" in remark for remark in got.remarks)


def test_degrees_of_freedom_travel_into_the_balance():
    got = account([Change("tank", -5.0, 1.0, dof=3), Change("gearbox", 5.0, 1.0)])
    assert got.dof == pytest.approx(12.0)


def test_change_between_two_volumes_adds_their_doubts():
    got = change_between("tank", (200.0, 0.6, 10.0), (194.0, 0.8, math.inf), poured_l=1.0)
    assert got.change_l == pytest.approx(-6.0)
    assert got.u_l == pytest.approx(1.0)
    assert got.dof == pytest.approx(1.0 / (0.6**4 / 10))
    assert got.poured_l == 1.0


def test_what_cannot_be_is_an_error():
    with pytest.raises(BadInput):
        account([])
    with pytest.raises(BadInput):
        account([Change("tank", 0.0, 1.0), Change("tank", 0.0, 1.0)])
    with pytest.raises(BadInput):
        account([Change("tank", 0.0, 1.0)], np.array([[2.0]]))
    for kwargs in ({"change_l": math.nan}, {"u_l": 0.0}):
        with pytest.raises(BadInput):
            Change(**({"node": "tank", "change_l": 0.0, "u_l": 1.0} | kwargs))
    for kwargs in ({"poured_l": -1.0}, {"drained_l": math.nan}, {"u_poured_l": -1.0}, {"u_drained_l": -1.0}):
        with pytest.raises(OutOfRange):
            Change("tank", 0.0, 1.0, **kwargs)
    for bad in ((0.0, 5.0, 5.0), (0.3, 0.0, 5.0), (0.3, 5.0, -1.0)):
        with pytest.raises(OutOfRange):
            level_change("tank", bad[0], 300, 255, bad[1], bad[2])
