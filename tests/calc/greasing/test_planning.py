"""Which boom angles come next."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc.greasing import GreasedRing, coverage, next_shot, plan, replay, status
from fluidapp.calc.greasing.lapse import Shot
from fluidapp.errors import BadInput


def ring(nipples=(0.0,), positions=4):
    return GreasedRing(tuple(nipples), positions, 100.0, 182.0, dose_g=30.0)


def test_without_records_one_nipple_is_planned_all_the_way_round():
    assert plan(ring(), replay(ring(), [], 0.0, 0.0)) == [0.0, 90.0, 180.0, 270.0]


def test_two_nipples_at_180_degrees_need_two_stops():
    assert plan(ring((0, 180)), [1.0] * 4) == [0.0, 90.0]


def test_after_a_full_round_nothing_is_planned_until_100_hours_later():
    shots = [Shot(0.0, 0.0, swing, grams=30.0) for swing in (0.0, 90.0, 180.0, 270.0)]
    assert plan(ring(), replay(ring(), shots, 50.0, 1.0)) == []
    assert plan(ring(), replay(ring(), shots, 100.0, 1.0)) == [0.0, 90.0, 180.0, 270.0]


def test_the_sweep_goes_the_shorter_way_from_where_the_boom_is():
    assert plan(ring(), [1, 0, 1, 1]) == [0.0, 270.0, 180.0]
    assert plan(ring(), [1, 1, 1, 0], swing_deg=200.0) == [180.0, 90.0, 0.0]
    assert plan(ring(), [1, 1, 0, 0], swing_deg=350.0) == [0.0, 90.0]


def test_positions_not_due_are_left_alone_where_that_costs_no_stop():
    """Nipples at 0 and 90°, only position 1 due: with the boom at 0 positions 0 and 1 get it, at 90 positions 1 and 2."""
    assert len(plan(ring((0, 90)), [0, 1, 0, 0])) == 1
    assert plan(ring((0, 90)), [1, 1, 0, 0], swing_deg=180.0) == [0.0]


def brute(some, lapse, now):
    """Independent method: every set of angles, smallest first, by the rules as they are written."""
    due = {i for i, x in enumerate(lapse) if x >= 1 - 1e-9}
    for size in range(1, len(due) + 1):
        best = None
        for chosen in itertools.combinations(some.swings(), size):
            hit = {i for s in chosen for i in some.sectors(s)}
            if due <= hit:
                up = max(round((s - now) % 360, 6) % 360 for s in chosen)
                down = max(round((now - s) % 360, 6) % 360 for s in chosen)
                rank = (len(hit - due), round(min(up, down), 6), chosen)
                best = min(best, rank) if best else rank
        if best:
            return best
    return None


@given(
    st.sampled_from([((0.0,), 4), ((0.0, 180.0), 4), ((0.0, 90.0), 4), ((0.0, 120.0, 240.0), 6), ((0.0, 100.0), 5), ((20.0, 200.0), 8)]),
    st.data(),
)
def test_the_plan_agrees_with_trying_every_set(kind, data):
    some = ring(*kind)
    lapse = data.draw(st.lists(st.sampled_from([0.3, 0.9, 1.0, 1.5]), min_size=some.positions, max_size=some.positions))
    now = data.draw(st.sampled_from([0.0, 30.0, 90.0, 200.0, 350.0]))
    got = plan(some, lapse, now)
    want = brute(some, lapse, now)
    if want is None:
        assert got == []
    else:
        assert tuple(sorted(got)) == want[2]
        up = [round((s - now) % 360, 6) for s in got]
        down = [round((now - s) % 360, 6) for s in got]
        assert up == sorted(up) or down == sorted(down)


@given(st.sampled_from([((0.0,), 24), ((0.0, 120.0, 240.0), 36), ((0.0, 7.0), 20)]), st.data())
def test_above_12_positions_every_due_one_is_still_reached(kind, data):
    some = ring(*kind)
    lapse = data.draw(st.lists(st.sampled_from([0.3, 1.0]), min_size=some.positions, max_size=some.positions))
    hit = {i for s in plan(some, lapse) for i in some.sectors(s)}
    assert {i for i, x in enumerate(lapse) if x >= 1} <= hit


def test_one_shot_goes_to_the_oldest_then_the_farthest_then_the_lowest():
    assert next_shot(ring(), [0.5, 0.7, 0.6, 0.1]) == 90.0
    assert next_shot(ring(), [0.7, 0.7, 0.7, 0.1], last_swing_deg=270.0) == 90.0
    assert next_shot(ring(), [0.7, 0.2, 0.7, 0.1], last_swing_deg=90.0) == 0.0
    assert next_shot(ring(), [1.0] * 4) == 0.0


@pytest.mark.parametrize(
    ("lapse", "word"),
    [
        (0.0, "not yet due"),
        (0.79, "not yet due"),
        (0.8, "comes next"),
        (0.99, "comes next"),
        (1.0 - 1e-12, "due"),
        (1.19, "due"),
        (1.2, "past due"),
    ],
)
def test_words_change_at_0_8_1_0_and_1_2(lapse, word):
    assert status(lapse) == word


def test_coverage_tells_share_longest_and_widest_arc():
    got = coverage(ring(), [0.2, 1.0, 1.4, 0.99])
    assert (got.share, got.longest, got.gap_deg) == (0.5, 1.4, 270.0)
    assert coverage(ring(), [1.0] * 4).gap_deg == 360.0
    assert coverage(ring(), [0.0] * 4).gap_deg == 90.0


def simulate(skip, runs, seed):
    """One shot every 25 h with a chance of being skipped: mean over visits of the longest lapse after the visit."""
    rng = np.random.default_rng(seed)
    some, seen = ring(), []
    for _ in range(runs):
        lapse, last = np.zeros(4), None
        for missed in rng.random(4000) < skip:
            lapse = lapse + 0.25
            if not missed:
                last = next_shot(some, lapse, last)
                lapse[some.sectors(last)[0]] = 0.0
            seen.append(lapse.max())
    return np.mean(seen[4:])


@pytest.mark.published("greasing", "oldest_first")
def test_oldest_first_keeps_the_longest_lapse_of_the_simulation(case):
    assert simulate(case["given"]["skip"], 1, 5) == pytest.approx(case["want"], abs=case["tol"] or 1e-3)


@pytest.mark.slow
@pytest.mark.published("greasing", "oldest_first")
def test_oldest_first_keeps_the_longest_lapse_of_the_simulation_long(case):
    assert simulate(case["given"]["skip"], 20, 6) == pytest.approx(case["want"], abs=case["tol"] or 1e-3)


def test_lapses_that_do_not_fit_the_ring_are_errors():
    for call in (lambda: plan(ring(), [1.0] * 3), lambda: plan(ring(), [1.0, 1.0, 1.0, -0.1]), lambda: status(math.nan)):
        with pytest.raises(BadInput):
            call()
