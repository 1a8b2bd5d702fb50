"""What the records offer as pours: movements between two readings of one gauge. Own rules."""

import pytest

from fluidapp.calc.offered import Moved, Seen, offers


def seen(at, level, gauge="glass", **more):
    return Seen(at, gauge, level, **more)


def pours(*events):
    return [(o.pour.add, o.pour.before, o.pour.after, o.pour.gauge) for o in offers(events)]


def test_a_top_up_between_two_readings_of_one_gauge_is_a_pour():
    assert pours(seen(0, 100.0), Moved(0.1, 20.0), seen(0.2, 157.0)) == [(20.0, 100.0, 157.0, "glass")]


def test_a_drain_is_a_pour_below_zero_and_several_movements_count_as_one():
    assert pours(seen(0, 157.0), Moved(1, -5.0), Moved(2, -15.0), seen(3, 100.0)) == [(-20.0, 157.0, 100.0, "glass")]


def test_without_a_reading_before_or_after_nothing_is_offered():
    assert pours(Moved(0, 20.0), seen(1, 157.0)) == []
    assert pours(seen(0, 100.0), Moved(1, 20.0)) == []
    assert pours(seen(0, 100.0), seen(1, 157.0)) == []
    assert pours(seen(0, 100.0), Moved(0.5, 3.0), seen(1, 100.0)) == []  # the gauge did not move
    assert pours(seen(0, 100.0), Moved(0.5, 3.0), Moved(0.6, -3.0), seen(1, 100.0)) == []


def test_litres_that_nobody_knows_spoil_their_pair_and_no_other():
    found = pours(seen(0, 100.0), Moved(1, None), seen(2, 130.0), Moved(3, 10.0), seen(4, 160.0))
    assert found == [(10.0, 130.0, 160.0, "glass")]


def test_each_gauge_is_followed_by_itself_and_the_newest_comes_first():
    found = pours(
        seen(0, 100.0), seen(0, 200.0, "stick"), Moved(1, 20.0), seen(2, 157.0), seen(2, 257.0, "stick"), Moved(3, 5.0), seen(4, 171.0)
    )
    assert found == [(5.0, 157.0, 171.0, "glass"), (20.0, 200.0, 257.0, "stick"), (20.0, 100.0, 157.0, "glass")]


@pytest.mark.parametrize(
    ("before", "after", "caution"),
    [
        ({}, {}, ()),
        ({"meter_h": 100.0}, {"meter_h": 100.4}, ()),
        ({"meter_h": 100.0}, {"meter_h": 140.0}, ("40 h of work in between",)),
        ({"temp_c": 20.0}, {"temp_c": 45.0}, ("oil 25 K warmer after it",)),
        ({"temp_c": 45.0}, {"temp_c": 20.0}, ("oil 25 K colder after it",)),
        ({"posture": "reference"}, {"posture": "other"}, ("another posture",)),
        ({"posture": "reference"}, {"posture": None}, ()),
    ],
)
def test_what_blurs_the_rise_is_named(before, after, caution):
    (offer,) = offers([seen(0, 100.0, **before), Moved(0.5, 20.0), seen(1, 157.0, **after)])
    assert offer.cautions == caution


@pytest.mark.parametrize(("hours", "caution"), [(11.0, ()), (20.0, ("20 h in between",)), (96.0, ("4 days in between",))])
def test_long_times_without_a_meter_are_named(hours, caution):
    (offer,) = offers([seen(0, 100.0), Moved(0.5, 20.0), seen(hours, 157.0)])
    assert offer.cautions == caution
