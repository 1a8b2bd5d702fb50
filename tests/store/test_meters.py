"""Hour meters never run backwards; an exchanged meter begins anew and total hours go on."""

import pytest

from fluidapp.errors import BadInput
from fluidapp.store import kinds


def meter(make, day, hours):
    return make.entry(kinds.Meter(), day, hours)


def test_less_at_a_later_time_is_refused_and_both_readings_are_named(put, make):
    put(meter(make, 0, 5123.4))
    with pytest.raises(BadInput) as caught:
        put(meter(make, 3, 5120.0))
    assert str(caught.value) == (
        "hour meter: 5120 cannot be used. On 2026-04-04 it cannot show less than 5123.4 h on 2026-04-01. "
        "Check the reading, or enter a new hour meter."
    )


def test_more_at_an_earlier_time_is_refused(put, make):
    put(meter(make, 5, 100))
    with pytest.raises(BadInput, match="On 2026-04-02 it cannot show more than 100 h on 2026-04-06"):
        put(meter(make, 1, 101))
    put(meter(make, 1, 99))


def test_a_machine_may_stand_still(put, make, store):
    put(meter(make, 0, 5123.4), meter(make, 3, 5123.4))
    put(meter(make, 2, 5123.4))
    assert len(store.meter_points("ex-1")) == 3


def test_any_kind_of_entry_carries_the_meter(put, make):
    put(make.reading(200, 0, meter_h=50))
    with pytest.raises(BadInput, match="cannot show less than 50 h"):
        put(make.reading(200, 1, meter_h=49))
    with pytest.raises(BadInput, match="cannot show less than 60 h"):
        put(make.reading(200, 2, meter_h=60), make.reading(200, 3, meter_h=55))


def test_another_machine_has_its_own_meter(put, make):
    put(meter(make, 0, 100))
    put(make.entry(kinds.Meter(), 1, 7, machine="wl-2"))


def test_a_voided_reading_no_longer_stands_in_the_way(put, make):
    (wrong,) = put(meter(make, 0, 9999))
    put(make.entry(kinds.Void(entry=wrong), 1), meter(make, 1, 99))


def test_not_read_and_broken_need_no_hours(put, make, store):
    put(make.entry(kinds.Meter(state="not read")), make.entry(kinds.Meter(state="broken since"), 1))
    assert store.meter_points("ex-1") == []


def test_hours_add_up_over_an_exchanged_meter(store, put, make):
    put(meter(make, 0, 5000), meter(make, 1, 5010))
    put(make.entry(kinds.MeterChanged(old_end_h=5012.0), 2, 3.0))
    put(meter(make, 3, 11.0))
    assert [(p.meter_h, p.segment, p.total_h) for p in store.meter_points("ex-1")] == [
        (5000, 0, 5000),
        (5010, 0, 5010),
        (3, 1, 5012),
        (11, 1, 5020),
    ]


def test_a_meter_whose_end_was_not_read_ends_at_its_last_reading(store, put, make):
    put(meter(make, 0, 5000))
    put(make.entry(kinds.MeterChanged(), 2, 0.0), meter(make, 3, 11.0))
    assert [p.total_h for p in store.meter_points("ex-1")] == [5000, 5000, 5011]


def test_a_late_reading_of_the_old_meter_belongs_to_it(store, put, make):
    put(meter(make, 0, 5000), make.entry(kinds.MeterChanged(old_end_h=5012.0), 2, 0.0))
    put(meter(make, 1, 5006))
    assert [p.segment for p in store.meter_points("ex-1")] == [0, 0, 1]


def test_an_exchange_is_not_slipped_under_later_readings(put, make):
    put(meter(make, 0, 5000), meter(make, 5, 5040))
    with pytest.raises(BadInput, match=r"The reading of 5040 h on 2026-04-06 comes after this exchange"):
        put(make.entry(kinds.MeterChanged(old_end_h=5020.0), 2, 0.0))


def test_the_old_meter_cannot_end_before_its_last_reading(put, make):
    put(meter(make, 0, 5000))
    with pytest.raises(BadInput, match=r"old hour meter: 4990 cannot be used\. It already showed 5000 h on 2026-04-01"):
        put(make.entry(kinds.MeterChanged(old_end_h=4990.0), 2, 0.0))


def test_an_exchange_is_voided_only_before_its_meter_was_read(put, make):
    put(meter(make, 0, 5000))
    (exchange,) = put(make.entry(kinds.MeterChanged(old_end_h=5001.0), 2, 0.0))
    (later,) = put(meter(make, 3, 8.0))
    with pytest.raises(BadInput, match=r"Readings of the new meter follow it \(8 h on 2026-04-04\). Void them first"):
        put(make.entry(kinds.Void(entry=exchange), 4))
    put(make.entry(kinds.Void(entry=later), 4), make.entry(kinds.Void(entry=exchange), 4))
    put(meter(make, 3, 5030))
