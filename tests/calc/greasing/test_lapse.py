"""How much of the interval each position has used up, replayed from the records."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc.greasing import Duty, GreasedRing, Refill, Shot, live, replay, state
from fluidapp.errors import BadInput, OutOfRange

RING = GreasedRing((0.0,), 4, 100.0, 182.0, dose_g=30.0)
ROUND = [Shot(0.0, 0.0, swing, grams=30.0) for swing in (0.0, 90.0, 180.0, 270.0)]


def test_without_records_every_position_is_due():
    assert replay(RING, [], 1234.0, 99.0).tolist() == [1.0] * 4


def test_after_a_full_round_nothing_is_due_and_100_hours_later_everything_is():
    assert replay(RING, ROUND, 0.0, 0.0).tolist() == [0.0] * 4
    assert replay(RING, ROUND, 100.0, 10.0) == pytest.approx([1.0] * 4)


def test_182_idle_days_make_it_due_too():
    assert replay(RING, ROUND, 0.0, 182.0) == pytest.approx([1.0] * 4)


def test_hours_or_days_whichever_is_more():
    assert replay(RING, ROUND, 50.0, 18.2) == pytest.approx([0.5] * 4)
    assert replay(RING, ROUND, 10.0, 91.0) == pytest.approx([0.5] * 4)


def test_half_a_dose_leaves_half_the_lapse():
    got = replay(RING, [*ROUND, Shot(80.0, 5.0, 90.0, grams=15.0)], 80.0, 5.0)
    assert got == pytest.approx([0.8, 0.4, 0.8, 0.8])


def test_more_than_the_dose_earns_no_more():
    got = replay(RING, [*ROUND, Shot(80.0, 5.0, 90.0, grams=300.0)], 90.0, 5.0)
    assert got == pytest.approx([0.9, 0.1, 0.9, 0.9])


def test_a_partial_dose_takes_its_share_off_hours_and_days():
    got = state(RING, [*ROUND, Shot(80.0, 91.0, 0.0, grams=22.5)], 80.0, 91.0)
    assert got.by_hours[0] == pytest.approx(0.8 * 0.25)
    assert got.by_days[0] == pytest.approx(0.5 * 0.25)


@pytest.mark.parametrize(("purge", "left", "flagged"), [(True, 0.0, False), (False, 0.4, True)])
def test_unknown_grams_count_in_full_only_if_grease_showed_at_the_seal(purge, left, flagged):
    got = state(RING, [*ROUND, Shot(80.0, 5.0, 90.0, purge_seen=purge)], 80.0, 5.0)
    assert got.lapse[1] == pytest.approx(left)
    assert any("half a dose" in flag for flag in got.flags) is flagged


def test_an_unknown_dose_counts_like_unknown_grams():
    ring = GreasedRing((0.0,), 4, 100.0, 182.0)
    assert replay(ring, [Shot(0.0, 0.0, 0.0, grams=30.0)], 0.0, 0.0)[0] == pytest.approx(0.5)


def test_a_shot_without_a_boom_angle_counts_for_no_position_and_is_flagged():
    got = state(RING, [*ROUND, Shot(80.0, 5.0, None, grams=30.0)], 80.0, 5.0)
    assert got.lapse == pytest.approx([0.8] * 4)
    assert any("without a boom angle" in flag for flag in got.flags)


def test_flags_end_with_the_next_full_shot_at_that_position():
    vague = Shot(10.0, 1.0, 90.0)
    assert state(RING, [*ROUND, vague, Shot(20.0, 1.0, 0.0, grams=30.0)], 30.0, 1.0).flags
    assert state(RING, [*ROUND, vague, Shot(20.0, 1.0, 90.0, grams=30.0)], 30.0, 1.0).flags == ()
    lost = Shot(10.0, 1.0, None, grams=30.0)
    assert state(RING, [*ROUND, lost], 110.0, 1.0).flags
    assert state(RING, [*ROUND, lost], 111.0, 1.0).flags == ()


def test_the_lapse_before_every_shot_is_kept():
    got = state(RING, [*ROUND, Shot(80.0, 5.0, 90.0, grams=15.0), Shot(90.0, 5.0, 90.0, grams=30.0)], 95.0, 5.0)
    assert [float(lapse[1]) for _, lapse in got.shots[-2:]] == pytest.approx([0.8, 0.5])


def test_nipples_that_were_left_out_grease_nothing():
    ring = GreasedRing((0.0, 180.0), 4, 100.0, 182.0, dose_g=30.0)
    assert replay(ring, [Shot(0.0, 0.0, 0.0, grams=30.0, nipples=(1,))], 0.0, 0.0).tolist() == [1.0, 1.0, 0.0, 1.0]


def test_positions_never_greased_grow_beyond_due():
    assert replay(RING, [Shot(0.0, 0.0, 0.0, grams=30.0)], 50.0, 1.0) == pytest.approx([0.5, 1.5, 1.5, 1.5])


def test_hard_duty_counts_from_its_hour_on_and_never_rates_past_hours_again():
    """20 h normal, then 30 h of dust at 0.5 count 60 h; back to normal for 10 h."""
    duty = [Duty(20.0, 0.5), Duty(50.0, 1.0)]
    assert replay(RING, ROUND, 60.0, 1.0, duty) == pytest.approx([0.9] * 4)
    assert replay(RING, ROUND, 20.0, 1.0, duty) == pytest.approx([0.2] * 4)


def test_hard_duty_does_not_touch_the_days():
    assert state(RING, ROUND, 50.0, 91.0, [Duty(0.0, 0.1)]).by_days == pytest.approx([0.5] * 4)


def test_an_automatic_system_settles_where_feed_and_use_are_equal():
    """At r doses per interval and position the lapse runs to 1/r: 480 g in 200 h on 4 positions of 30 g is 2 doses per 100 h."""
    refills = [Refill(200.0 * k, 8.0 * k, 480.0) for k in range(12)]
    assert replay(RING, [*ROUND, *refills], 2200.0, 88.0) == pytest.approx([0.5] * 4, abs=1e-9)


def test_an_automatic_system_is_the_limit_of_many_small_shots():
    """Independent method: 4,000 shots of a 4,000th of the grease at every position."""
    refills = [Refill(0.0, 0.0, 1.0), Refill(100.0, 4.0, 60.0)]
    shots = [Shot(h, h / 25, swing, grams=15.0 / 4000) for h in np.linspace(0, 100, 4001)[1:] for swing in (0.0, 90.0, 180.0, 270.0)]
    small = replay(RING, [*ROUND, *shots], 100.0, 4.0)
    assert replay(RING, [*ROUND, *refills], 100.0, 4.0) == pytest.approx(small, rel=1e-3)


def test_an_automatic_system_earns_nothing_while_the_machine_stands():
    refills = [Refill(0.0, 0.0, 1.0), Refill(100.0, 4.0, 480.0)]
    still = state(RING, [*ROUND, *refills], 100.0, 95.0)
    assert still.by_days == pytest.approx(state(RING, [*ROUND, *refills], 100.0, 4.0).by_days + 91 / 182)


def test_after_its_last_refill_an_automatic_system_is_trusted_as_long_as_before_and_no_longer():
    refills = [Refill(0.0, 0.0, 1.0), Refill(100.0, 4.0, 240.0)]
    got = state(RING, [*ROUND, *refills], 250.0, 10.0)
    at_200 = state(RING, [*ROUND, *refills], 200.0, 8.0)
    assert got.by_hours == pytest.approx(at_200.by_hours + 0.5)
    assert any("last refill" in flag for flag in got.flags)


EVENTS = st.lists(
    st.builds(
        Shot,
        at_h=st.floats(0, 500),
        day=st.just(0.0),
        swing_deg=st.floats(-360, 720),
        grams=st.one_of(st.none(), st.floats(0, 100)),
        purge_seen=st.booleans(),
    ),
    max_size=12,
)


@given(EVENTS, st.floats(0, 200), st.sampled_from([1, 2, 3, 4, 6, 12]))
def test_lapses_are_never_negative_and_never_more_than_untouched(events, later, positions):
    ring = GreasedRing((0.0, 120.0, 240.0), positions, 100.0, 182.0, dose_g=30.0)
    now = 500.0 + later
    got = replay(ring, events, now, 1.0)
    first = min((e.at_h for e in events), default=now)
    assert np.all(got >= 0)
    assert np.all(got <= 1.0 + max((now - first) / 100.0, 1 / 182) + 1e-9)


@given(EVENTS.filter(bool))
def test_no_shot_is_lost(events):
    """Every full shot resets the position it reached, whatever came before or after, and in whatever order it was written down."""
    full = [Shot(e.at_h, e.day, e.swing_deg, grams=30.0) for e in events]
    got = state(RING, full, 600.0, 0.0)
    for sector in range(4):
        there = [e.at_h for e in full if RING.sectors(e.swing_deg) == (sector,)]
        if there:
            assert got.last_h[sector] == max(there)
            assert got.by_hours[sector] == pytest.approx((600.0 - max(there)) / 100.0, abs=1e-9)
        else:
            assert math.isnan(got.last_h[sector])


@given(EVENTS, EVENTS.filter(bool))
def test_a_voided_shot_never_happened(kept, wrong):
    named = [Shot(e.at_h, e.day, e.swing_deg, e.grams, e.nipples, e.purge_seen, key=f"w{i}") for i, e in enumerate(wrong)]
    voids = [Shot(600.0, 0.0, voids=e.key) for e in named]
    assert replay(RING, [*kept, *named, *voids], 700.0, 0.0).tolist() == replay(RING, kept, 700.0, 0.0).tolist()


def test_a_void_that_is_taken_back_takes_nothing_back():
    shot = Shot(0.0, 0.0, 0.0, grams=30.0, key="a")
    void = Shot(1.0, 0.0, key="b", voids="a")
    again = Shot(2.0, 0.0, key="c", voids="b")
    assert live([shot, void]) == []
    assert live([shot, void, again]) == [shot]


@given(EVENTS)
def test_the_order_of_writing_down_does_not_matter(events):
    distinct = list({e.at_h: e for e in events}.values())
    assert replay(RING, distinct, 600.0, 0.0).tolist() == replay(RING, distinct[::-1], 600.0, 0.0).tolist()


def test_a_meter_that_ran_backwards_is_an_error():
    with pytest.raises(BadInput, match="meter change"):
        replay(RING, [Shot(100.0, 0.0, 0.0), Shot(50.0, 1.0, 0.0)], 200.0, 2.0)


@pytest.mark.parametrize(
    ("events", "now", "error"),
    [
        ([Shot(100.0, 0.0, 0.0)], (99.0, 1.0), OutOfRange),
        ([Shot(100.0, 5.0, 0.0)], (100.0, 4.0), OutOfRange),
        ([Shot(100.0, 0.0, 0.0, grams=-1.0)], (100.0, 1.0), OutOfRange),
        ([Shot(math.nan, 0.0, 0.0)], (100.0, 1.0), BadInput),
        ([Shot(0.0, 0.0, 0.0, voids="nowhere")], (100.0, 1.0), BadInput),
        ([Shot(0.0, 0.0, 0.0, nipples=(1,))], (100.0, 1.0), BadInput),
        ([], (math.nan, 1.0), BadInput),
    ],
)
def test_records_that_cannot_be_are_errors(events, now, error):
    with pytest.raises(error):
        replay(RING, events, *now)


def test_a_duty_factor_of_nothing_is_an_error():
    with pytest.raises(OutOfRange):
        replay(RING, ROUND, 1.0, 1.0, [Duty(0.0, 0.0)])
