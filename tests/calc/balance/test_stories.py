"""Which way the oil went: every story weighed."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from fluidapp.calc.balance import rank, ranking
from fluidapp.calc.balance.evidence import fits
from fluidapp.errors import BadInput, OutOfRange

ROW_1 = (["T", "G", "B"], np.array([-6.0, 5.1, 0.4]), np.diag([1.2, 0.5, 1.5]) ** 2)


def call(g, **kwargs):
    return ranking(list(g["nodes"]), np.array(g["y"]), np.diag(g["u"]) ** 2, **kwargs)


def name(story):
    return "+".join(story.paths)


@pytest.mark.published("balance", "story")
def test_weights_and_volumes_agree_with_the_table(case):
    got, want = call(case["given"]), case["want"]
    best = [s for s in got.groups[0].stories if s.repeats is None]
    assert sorted(name(s) for s in best) == sorted(want["best"])
    for s in best:
        assert s.weight == pytest.approx(want["weight"], abs=case["tol"])
        assert s.chi2 == pytest.approx(want["chi2"], abs=case["tol"])
        assert s.dof == want["dof"]
        assert list(s.volumes_l) == pytest.approx([want["volume"]] if "volume" in want else [], abs=case["tol"])
        assert math.isnan(s.p) if s.dof == 0 else s.p == pytest.approx(float(stats.chi2.sf(s.chi2, s.dof)))
    if "next" in want:
        tied = [s for s in got.stories if name(s) in want["next"]]
        assert len({s.tie for s in tied}) == 1
        assert len(tied) == len(want["next"])
        if "next_sum" in want:
            assert sum(s.weight for s in tied) == pytest.approx(want["next_sum"], abs=case["tol"])
        else:
            assert [s.weight for s in tied] == pytest.approx([want["next_each"]] * 2, abs=5e-4)


def test_water_and_an_unwritten_pour_beat_an_inner_leak_where_the_tank_stays():
    """T>G 1.88 L, weight 0.11, chi2 2.61; with a tank known to 0.6 L it falls to 0.005 (computed by us)."""
    [inner] = [s for s in rank(["T", "G"], np.array([0.0, 2.0]), np.diag([1.2, 0.3]) ** 2) if s.paths == ("T>G",)]
    assert inner.volumes_l[0] == pytest.approx(1.88, abs=5e-3)
    assert inner.weight == pytest.approx(0.11, abs=5e-3)
    assert inner.chi2 == pytest.approx(2.61, abs=5e-3)
    [better] = [s for s in rank(["T", "G"], np.array([0.0, 2.0]), np.diag([0.6, 0.3]) ** 2) if s.paths == ("T>G",)]
    assert better.weight == pytest.approx(0.005, abs=5e-4)


@pytest.mark.published("balance", "fmax")
def test_no_leak_weighs_more_the_more_a_path_may_carry(case):
    got = [next(s.weight for s in call(case["given"], fmax_l=f).stories if s.paths == ()) for f in case["given"]["fmax"]]
    assert got == pytest.approx(case["want"], abs=case["tol"])


def test_a_machine_with_tank_gearbox_and_bath_has_29_stories_and_82_with_paired_sources():
    plain, paired = ranking(*ROW_1), ranking(*ROW_1, pair_sources=True)
    assert len(plain.stories) + len(plain.left_out) == 29
    assert len(paired.stories) + len(paired.left_out) == 82
    assert paired.stories[0].weight == pytest.approx(0.32, abs=5e-3)


def test_weights_of_all_stories_sum_to_one_and_so_do_the_groups():
    got = ranking(*ROW_1)
    assert sum(s.weight for s in got.stories) == pytest.approx(1.0)
    assert sum(g.weight for g in got.groups) == pytest.approx(1.0)
    assert [g.weight for g in got.groups] == sorted((g.weight for g in got.groups), reverse=True)


def evidence_by_quadrature(y, cov, columns, fmax):
    """Independent method: the likelihood integrated over the box by scipy's adaptive quadrature."""
    likelihood = stats.multivariate_normal(np.zeros(len(y)), cov)
    if columns.shape[1] == 1:
        peak = float(np.linalg.lstsq(columns, y, rcond=None)[0][0])
        points = [p for p in (peak - 3, peak, peak + 3) if 0 < p < fmax]
        z, _ = integrate.quad(
            lambda f: likelihood.pdf(y - columns[:, 0] * f), 0, fmax, points=points or None, epsabs=0, epsrel=1e-11, limit=200
        )
        return math.log(z / fmax)
    z, _ = integrate.dblquad(lambda b, a: likelihood.pdf(y - columns @ [a, b]), 0, fmax, 0, fmax, epsabs=1e-13, epsrel=1e-9)
    return math.log(z / fmax**2)


def ln_z(y, cov, columns, fmax=20.0):
    return fits(np.asarray(y, float), np.linalg.cholesky(cov), [np.asarray(columns, float)], fmax)[0].ln_evidence


def test_evidence_of_tank_into_gearbox_is_minus_5_776639():
    """Closed form and quadrature, computed by us."""
    columns = np.array([[-1.0], [1.0], [0.0]])
    assert ln_z(ROW_1[1], ROW_1[2], columns) == pytest.approx(-5.776639, abs=5e-7)
    assert evidence_by_quadrature(ROW_1[1], ROW_1[2], columns, 20.0) == pytest.approx(-5.776639, abs=5e-7)


@pytest.mark.parametrize("y", [(-6.0, 5.1, 0.4), (-6.0, 0.1, 0.4), (3.0, -2.0, 0.5)])
def test_evidence_of_one_path_agrees_with_quadrature(y):
    cov = np.array([[1.44, 0.2, 0.0], [0.2, 0.25, 0.1], [0.0, 0.1, 2.25]])
    columns = np.array([[-1.0], [0.0], [1.0]])
    assert ln_z(y, cov, columns, 8.0) == pytest.approx(evidence_by_quadrature(np.array(y), cov, columns, 8.0), abs=1e-8)


@pytest.mark.parametrize("y", [(-6.0, 5.1, 0.4), (-3.0, 0.1, 1.4), (1.0, -1.0, 0.5)])
@pytest.mark.parametrize("second", [(-1.0, 0.0, 1.0), (0.0, -1.0, 1.0), (0.0, -1.0, 0.0)])
def test_evidence_of_two_paths_agrees_with_quadrature(y, second):
    cov = np.diag([1.2, 0.5, 1.5]) ** 2
    columns = np.column_stack([(-1.0, 1.0, 0.0), second])
    assert ln_z(y, cov, columns, 8.0) == pytest.approx(evidence_by_quadrature(np.array(y), cov, columns, 8.0), abs=1e-6)


@given(
    st.tuples(st.floats(-8, 8), st.floats(-8, 8), st.floats(-8, 8)),
    st.tuples(st.floats(0.1, 3), st.floats(0.1, 3), st.floats(0.1, 3)),
    st.sampled_from([(-1.0, 0.0, 1.0), (0.0, -1.0, 1.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0)]),
)
def test_probability_of_the_box_agrees_with_the_reference_library(y, u, second):
    """scipy's multivariate normal over a rectangle, where that is not lost in rounding."""
    y, columns, cov = np.array(y), np.column_stack([(-1.0, 1.0, 0.0), second]), np.diag(u) ** 2
    inv = np.linalg.inv(cov)
    c = np.linalg.inv(columns.T @ inv @ columns)
    free = c @ columns.T @ inv @ y
    box = stats.multivariate_normal(free, c).cdf([20.0, 20.0], lower_limit=[0.0, 0.0])
    if box > 1e-6:
        left = y - columns @ free
        want = (
            stats.multivariate_normal(np.zeros(3), cov).logpdf(left)
            + math.log(2 * math.pi)
            + 0.5 * math.log(np.linalg.det(c))
            - 2 * math.log(20)
        )
        assert ln_z(y, cov, columns) == pytest.approx(want + math.log(box), abs=1e-7)


def test_a_story_far_out_of_its_box_keeps_a_finite_tiny_weight():
    """Tank and gearbox both rose by 50 L: leaks explain nothing, and nothing overflows."""
    got = ranking(["T", "G", "B"], np.array([50.0, 50.0, 0.0]), np.diag([1.2, 0.5, 1.5]) ** 2)
    assert all(math.isfinite(s.ln_evidence) for s in got.stories)
    assert sum(s.weight for s in got.stories) == pytest.approx(1.0)
    assert any("fits badly" in remark for remark in got.remarks)


def test_identical_changes_are_ties_and_named_by_the_same_number():
    """T>G 5.1 + T>E 0.9 and T>G 6.0 + G>E 0.9 give the same changes everywhere, the outside included."""
    by = {s.paths: s for s in rank(*ROW_1)}
    one, other = by[("T>G", "T>E")], by[("T>G", "G>E")]
    assert one.tie == other.tie
    assert one.alike == other.alike
    assert [litres for _, litres in one.predicted_l] == pytest.approx([litres for _, litres in other.predicted_l], abs=1e-9)
    assert one.predicted_l[-1][1] == pytest.approx(0.9)
    assert by[("T>G",)].alike != one.alike
    assert by[("T>G", "T>B")].alike != one.alike, "half a standard uncertainty apart at the bath"


def test_a_story_with_a_path_at_zero_repeats_the_smaller_one():
    got = ranking(*ROW_1)
    repeating = [s for s in got.stories if s.paths and min(s.volumes_l) == 0.0]
    assert repeating
    for s in repeating:
        [smaller] = [t for t in got.stories if t.paths == s.repeats]
        assert s.chi2 == pytest.approx(smaller.chi2, abs=1e-9)
        assert s.tie == smaller.tie
        assert all(s not in group.stories for group in got.groups)


@pytest.mark.parametrize(("lost", "claimed"), [(7.2, False), (7.3, True)])
def test_a_second_path_adds_to_the_smaller_story_until_it_may_be_claimed(lost, claimed):
    """T>E = lost - 5.1 L, u = hypot(1.2, 0.5) = 1.3 L: 1.645 u = 2.1385 L (1.645 u: the project's words for a loss)."""
    got = ranking(["T", "G", "B"], np.array([-lost, 5.1, 0.0]), np.diag([1.2, 0.5, 1.5]) ** 2)
    by = {s.paths: s for s in got.stories}
    both, inner = by[("T>G", "T>E")], by[("T>G",)]
    assert both.u_l == pytest.approx((0.5, 1.3))
    assert (both.repeats is None) == claimed
    assert (both.tie != inner.tie) == claimed
    assert by[("T>G", "G>E")].tie == both.tie, "alike, so that it goes where the other goes"
    assert sum(g.weight for g in got.groups) == pytest.approx(1.0)
    [group] = [g for g in got.groups if g.stories[0].paths == ("T>G",)]
    assert group.stories == (inner,)
    assert (group.weight > inner.weight + 2 * both.weight - 1e-12) == (not claimed)


def test_a_loss_that_may_not_be_claimed_adds_to_no_leak():
    """-1.9 ± 1.2 L is 1.58 u."""
    got = ranking(["T", "G", "B"], np.array([-1.9, 0.0, 0.0]), np.diag([1.2, 0.5, 1.5]) ** 2)
    assert [s.paths for s in got.groups[0].stories] == [()]
    assert next(s for s in got.stories if s.paths == ("T>E",)).repeats == ()
    more = ranking(["T", "G", "B"], np.array([-2.1, 0.0, 0.0]), np.diag([1.2, 0.5, 1.5]) ** 2)
    assert next(s for s in more.stories if s.paths == ("T>E",)).repeats is None


def test_a_chain_told_with_two_volumes_comes_down_to_what_it_is_alike_to():
    """G>B 3.1 + B>E 2.9 changes what G>B 0.2 + G>E 2.9 changes, and 0.2 ± 1.5 L into the bath may not be claimed."""
    got = ranking(["T", "G", "B"], np.array([0.0, -3.1, 0.2]), np.diag([1.2, 0.5, 1.5]) ** 2)
    by = {s.paths: s for s in got.stories}
    chain, plain = by[("G>B", "B>E")], by[("G>B", "G>E")]
    assert min(v / u for v, u in zip(chain.volumes_l, chain.u_l, strict=True)) > 1.645
    assert chain.ln_evidence > plain.ln_evidence
    assert chain.alike == plain.alike
    assert chain.repeats == plain.repeats == ("G>E",)
    assert chain.tie == by[("G>E",)].tie


@given(
    st.tuples(*[st.floats(-9, 9)] * 4),
    st.tuples(*[st.floats(0.1, 3)] * 4),
    st.sampled_from([("T>G", "T>E"), ("T>G", "G>B"), ("B>E", "T>D"), ("T>B", "G>E"), ("R>T",), ("B>E",)]),
)
def test_volumes_agree_with_the_reference_library(y, u, paths):
    """scipy's non-negative least squares; u from the covariance of the free fit."""
    found = ranking(["T", "G", "B", "D"], np.array(y), np.diag(u) ** 2)
    story = next(s for s in found.stories if s.paths == paths)
    columns = np.array([[(n == p[-1]) - float(n == p[0]) for p in paths] for n in "TGBD"]) / np.array(u)[:, None]
    volumes, distance = optimize.nnls(columns, np.array(y) / np.array(u))
    assert story.volumes_l == pytest.approx(volumes, abs=1e-7)
    assert story.chi2 == pytest.approx(distance**2, rel=1e-9, abs=1e-9)
    assert story.u_l == pytest.approx(np.sqrt(np.diag(np.linalg.inv(columns.T @ columns))))


def test_stories_that_the_readings_cannot_tell_are_left_out_and_it_is_said():
    got = ranking(["T"], np.array([-6.0]), np.array([[1.44]]))
    assert ("G>B",) in got.left_out
    assert ("T>G", "T>B") in got.left_out
    assert any("left out" in remark for remark in got.remarks)


def test_a_final_drive_that_was_read_brings_its_own_paths():
    """4 L from the tank into the left drive: T>D left, T>D left>E would leave the drive as it was."""
    got = rank(["T", "D left", "D right"], np.array([-4.0, 4.1, 0.0]), np.diag([1.0, 0.3, 0.3]) ** 2)
    assert got[0].paths == ("T>D left",)
    assert {"W>D right", "T>D right>E"} <= {path for s in got for path in s.paths}


def test_two_gearboxes_are_two_nodes():
    got = rank(["T", "G1", "G2"], np.array([-4.0, 0.0, 4.0]), np.diag([1.0, 0.3, 0.3]) ** 2)
    assert got[0].paths == ("T>G2",)


def test_a_drip_that_was_collected_measures_the_outside():
    got = rank(["T", "G", "E"], np.array([-4.0, 0.0, 4.0]), np.diag([1.0, 0.3, 0.3]) ** 2)
    assert sorted(s.paths[0] for s in got[:2]) == ["T>E", "T>G>E"]
    unread = rank(["T", "G"], np.array([-4.0, 0.0]), np.diag([1.0, 0.3]) ** 2)
    assert {s.paths[0] for s in unread if s.tie == unread[0].tie and s.repeats is None} == {"T>B", "T>E", "T>G>B", "T>G>E"}


def test_a_machine_without_a_bath_has_no_path_to_it():
    got = rank(["T", "G"], np.array([-4.0, 0.0]), np.diag([1.0, 0.3]) ** 2, nodes=["T", "G"])
    assert not any("B" in path for s in got for path in s.paths)


def test_shared_doubt_off_the_diagonal_is_used():
    cov = np.array([[1.44, 0.5], [0.5, 0.25]])
    a = rank(["T", "G"], np.array([-3.0, -1.0]), cov)[0]
    b = rank(["T", "G"], np.array([-3.0, -1.0]), np.diag(np.diag(cov)))[0]
    assert a.ln_evidence != pytest.approx(b.ln_evidence, abs=1e-3)


@settings(max_examples=25)
@given(st.sampled_from([("T>G", 0, 1), ("G>B", 1, 2), ("T>B", 0, 2)]), st.floats(6, 18))
def test_a_clear_leak_is_found_in_the_first_group(path, litres):
    name, source, sink = path
    y = np.zeros(3)
    y[source], y[sink] = -litres, litres
    got = ranking(["T", "G", "B"], y, np.diag([0.5, 0.3, 0.8]) ** 2)
    assert name in {p for s in got.groups[0].stories for p in s.paths}


def test_a_volume_beyond_the_setting_is_remarked():
    got = ranking(["T", "G", "B"], np.array([-8.0, 8.0, 0.0]), np.diag([1.0, 0.5, 1.0]) ** 2, fmax_l=7.5)
    assert any("raise that setting" in remark for remark in got.remarks)


@pytest.mark.parametrize(
    ("measured", "changes", "cov"),
    [
        ([], [], np.zeros((0, 0))),
        (["T", "T"], [0, 0], np.eye(2)),
        (["X"], [0], np.eye(1)),
        (["T>G"], [0], np.eye(1)),
        (["T", "G"], [0], np.eye(2)),
        (["T", "G"], [0, 0], np.eye(3)),
        (["T", "G"], [0, math.nan], np.eye(2)),
        (["T", "G"], [0, 0], np.diag([1.0, 0.0])),
        (["E", "E2"], [0, 0], np.eye(2)),
    ],
)
def test_readings_that_cannot_be_are_errors(measured, changes, cov):
    with pytest.raises(BadInput):
        rank(measured, np.array(changes, float), cov)


def test_a_setting_that_cannot_be_is_an_error():
    with pytest.raises(OutOfRange):
        rank(*ROW_1, fmax_l=0.0)
    with pytest.raises(BadInput):
        rank(["T", "G"], np.zeros(2), np.eye(2), nodes=["T"])
