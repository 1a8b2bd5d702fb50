"""Several methods together: averaged, or refused because they disagree."""

import math

import numpy as np
import pytest
from scipy import stats

from fluidapp.calc.bath import Estimate, combine
from fluidapp.calc.bath.combining import _limit
from fluidapp.errors import BadInput, OutOfRange

METHODS = ("level rise", "thickener", "viscosity", "tracer")


def several(w, u):
    return [Estimate(m, a, b) for m, a, b in zip(METHODS, w, u, strict=False)]


@pytest.mark.published("bath", "combined")
def test_weighted_mean_agrees_with_the_value_by_hand(case):
    got = combine(several(case["given"]["w"], case["given"]["u"]), u_sampling=0.0)
    want = case["want"]
    assert got.w == pytest.approx(want["w"], abs=case["tol"])
    assert got.u == pytest.approx(want["u"], abs=case["tol"])
    assert got.chi2 == pytest.approx(want["chi2"], abs=case["tol"])
    assert (got.dof, got.agree) == (want["dof"], want["agree"])


@pytest.mark.published("bath", "chi_square")
def test_the_limit_of_agreement_is_the_printed_chi_square_point(case):
    assert _limit(case["given"]["dof"], 0.95) == pytest.approx(case["want"], abs=case["tol"])


def test_disagreeing_methods_are_listed_and_not_averaged():
    got = combine(several([0.05, 0.30], [0.03, 0.03]), u_sampling=0.0)
    assert got.w is None
    assert got.u is None
    assert got.agree is False
    assert got.chi2 == pytest.approx((0.25 / 0.03) ** 2 / 2)
    assert any("0.05" in remark and "0.30" in remark for remark in got.remarks)


def test_agreement_ends_at_the_95_percent_point():
    for gap, agree in ((math.sqrt(3.83), True), (math.sqrt(3.85), False)):
        got = combine(several([0.2, 0.2 + gap * 0.03 * math.sqrt(2)], [0.03, 0.03]), u_sampling=0.0)
        assert got.agree is agree


def test_nothing_known_is_not_known_and_never_zero():
    got = combine([Estimate("tracer", None, None, refused_reason="the grease holds the same element")])
    assert got.w is None
    assert "Not known" in got.remarks[0]
    assert any("same element" in remark for remark in got.remarks)


def test_one_method_alone_has_no_test():
    got = combine([Estimate("level rise", 0.1, 0.04)])
    assert (got.w, got.u, got.dof, got.agree) == (pytest.approx(0.1), pytest.approx(0.04), 0, None)


def test_shared_sampling_error_equals_combining_the_laboratory_first():
    """Two stages by hand: laboratory methods alone, sampling added in quadrature, then with the level."""
    w, u, s = [0.25, 0.20, 0.16, 0.21], [0.05, 0.05, 0.04, 0.025], 0.03
    lab_w = np.average(w[1:], weights=1 / np.square(u[1:]))
    lab_u = math.hypot(1 / math.sqrt(np.sum(1 / np.square(u[1:]))), s)
    both = np.average([w[0], lab_w], weights=[1 / u[0] ** 2, 1 / lab_u**2])
    got = combine(several(w, u), u_sampling=s)
    assert got.w == pytest.approx(both, abs=1e-12)
    assert got.u == pytest.approx(1 / math.sqrt(1 / u[0] ** 2 + 1 / lab_u**2), abs=1e-12)


def test_unknown_sampling_error_is_said():
    assert any("Sampling error not included" in remark for remark in combine(several([0.2, 0.2], [0.05, 0.05])).remarks)
    assert not any("Sampling" in remark for remark in combine([Estimate("level rise", 0.1, 0.04)]).remarks)


def test_density_counts_only_when_switched_on():
    both = [Estimate("level rise", 0.1, 0.04), Estimate("density", 0.3, 0.13)]
    assert combine(both, 0.0).used == ("level rise",)
    assert combine(both, 0.0, density=True).used == ("level rise", "density")


@pytest.mark.parametrize(
    ("bound", "words"),
    [
        (Estimate("penetration", 0.05, 0.0, "upper"), "above the most that penetration allows"),
        (Estimate("drained free oil", 0.40, 0.0, "lower"), "below the least that drained free oil shows"),
    ],
)
def test_a_bound_that_is_passed_by_2_u_is_a_disagreement(bound, words):
    got = combine([*several([0.2, 0.2], [0.05, 0.05]), bound], 0.0)
    assert got.agree is False
    assert got.w is None
    assert any(words in remark for remark in got.remarks)


@pytest.mark.parametrize("bound", [Estimate("penetration", 0.13, 0.0, "upper"), Estimate("drained free oil", 0.27, 0.0, "lower")])
def test_a_bound_within_2_u_changes_nothing(bound):
    alone = combine(several([0.2, 0.2], [0.05, 0.05]), 0.0)
    with_bound = combine([*several([0.2, 0.2], [0.05, 0.05]), bound], 0.0)
    assert (with_bound.w, with_bound.u, with_bound.agree) == (alone.w, alone.u, True)


@pytest.mark.parametrize(("most", "passed"), [(3.34, True), (3.37, False)])
def test_a_rise_above_what_tank_and_gearboxes_could_give_is_named(most, passed):
    """5.0 ± 0.8 L against a ceiling ± 0.6 L: doubt 1.0 L, so the limit is 5.0 - 1.645 = 3.355 L."""
    rise = Estimate("level rise", 0.3, 0.05, volume_l=5.0, u_l=0.8)
    got = combine([rise, Estimate("gearbox ceiling", None, None, "ceiling", volume_l=most, u_l=0.6)])
    assert any("water, grease, or an unrecorded pour" in remark for remark in got.remarks) is passed
    assert got.agree is (False if passed else None)
    assert (got.w is None) is passed


def test_honest_methods_are_refused_in_about_5_percent_of_cases():
    """Simulation: three honest methods, 4,000 times; 0.05 ± 4 standard errors."""
    rng = np.random.default_rng(3)
    u = [0.04, 0.05, 0.02]
    refused = sum(combine(several(rng.normal(0.2, u), u), 0.0).agree is False for _ in range(4000))
    assert abs(refused / 4000 - 0.05) < 4 * math.sqrt(0.05 * 0.95 / 4000)


def test_chi_square_limit_agrees_with_the_reference_library():
    assert [_limit(k, 0.95) for k in range(1, 6)] == pytest.approx([float(stats.chi2.ppf(0.95, k)) for k in range(1, 6)], abs=1e-9)


def test_what_cannot_be_combined_is_an_error():
    with pytest.raises(BadInput):
        combine([Estimate("tracer", 0.2, 0.03), Estimate("tracer", 0.3, 0.03)])
    with pytest.raises(BadInput):
        combine([Estimate("tracer", 0.2, 0.0)])
    with pytest.raises(OutOfRange):
        combine([Estimate("tracer", 0.2, 0.1)], u_sampling=-1.0)
