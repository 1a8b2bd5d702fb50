"""What tank and gearboxes could have given, and the free oil at the drain."""

import math

import pytest

from fluidapp.calc.bath import combine, drained_free_oil, gearbox_ceiling, level_rise
from fluidapp.errors import BadInput, OutOfRange


def test_the_ceiling_is_what_was_lost_and_not_seen_elsewhere():
    """Tank 5.0 ± 1.2, gearbox 2.0 ± 0.5, of which 0.5 ± 0.1 outside and 1.0 ± 0.3 in a final drive: 5.5 ± 1.34 L by hand."""
    got = gearbox_ceiling((5.0, 1.2), [(2.0, 0.5)], (0.5, 0.1), (1.0, 0.3))
    assert got.volume_l == pytest.approx(5.5)
    assert got.u_l == pytest.approx(math.sqrt(1.2**2 + 0.5**2 + 0.1**2 + 0.3**2))
    assert got.kind == "ceiling"
    assert not got.refused


def test_a_ceiling_is_never_below_zero():
    assert gearbox_ceiling((1.0, 0.5), [(-4.0, 0.5)]).volume_l == 0.0


@pytest.mark.parametrize(
    ("tank", "boxes", "reason"), [(None, [(1.0, 0.5)], "tank was not read"), ((1.0, 0.5), [(1.0, 0.5), None], "gearbox linked")]
)
def test_without_tank_and_every_linked_gearbox_there_is_no_ceiling(tank, boxes, reason):
    got = gearbox_ceiling(tank, boxes)
    assert got.refused
    assert reason in got.refused_reason
    assert got.volume_l is None


def test_a_rise_beyond_the_ceiling_is_found_through_the_combination():
    rise = level_rise(0.54, 20.0, 40.0, 1.0)
    assert combine([rise, gearbox_ceiling((3.0, 1.0), [(0.0, 0.5)])]).agree is False
    assert combine([rise, gearbox_ceiling((11.0, 1.0), [(0.0, 0.5)])]).agree is None


def test_free_oil_at_the_drain_is_a_lower_bound():
    """1 L of 880 beside 9 L of 900 kg/m3: 0.88 / 8.98 by mass."""
    got = drained_free_oil((1.0, 0.05), (9.0, 0.5))
    assert got.w == pytest.approx(0.88 / 8.98)
    assert got.kind == "lower"
    step = 1e-6
    by_oil = (drained_free_oil((1.0 + step, 0), (9.0, 0)).w - got.w) / step * 0.05
    by_grease = (drained_free_oil((1.0, 0), (9.0 + step, 0)).w - got.w) / step * 0.5
    assert got.u == pytest.approx(math.hypot(by_oil, by_grease), rel=1e-4)


def test_free_oil_refuses_where_it_was_not_measured():
    assert "must both be measured" in drained_free_oil(None, (9.0, 0.5)).refused_reason
    assert "empty" in drained_free_oil((0.0, 0.0), (0.0, 0.0)).refused_reason


def test_litres_that_cannot_be_are_errors():
    with pytest.raises(BadInput):
        gearbox_ceiling((1.0, 0.1), [])
    with pytest.raises(BadInput):
        gearbox_ceiling((math.nan, 0.1), [(0.0, 0.1)])
    with pytest.raises(OutOfRange):
        drained_free_oil((-1.0, 0.1), (9.0, 0.5))
    with pytest.raises(OutOfRange):
        drained_free_oil((1.0, 0.1), (9.0, 0.5), rho_oil=0.0)
