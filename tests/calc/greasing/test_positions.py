"""Where a shot lands on the ring, and how the positions are called."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc.greasing import GreasedRing, coverage_gap, position_name, positions_needed
from fluidapp.errors import BadInput, OutOfRange
from fluidapp.model import GreasePoint, Ring


def ring(nipples=(0.0,), positions=4, **kwargs):
    return GreasedRing(tuple(nipples), positions, kwargs.pop("limit_h", 100.0), kwargs.pop("limit_days", 182.0), **kwargs)


@pytest.mark.published("greasing", "gap")
def test_widest_arc_without_grease(case):
    assert coverage_gap(case["given"]["nipples"], case["given"]["swings"]) == pytest.approx(case["want"], abs=case["tol"])


@given(st.lists(st.floats(-720, 720), min_size=1, max_size=6), st.lists(st.floats(-720, 720), min_size=1, max_size=6), st.floats(-360, 360))
def test_widest_arc_does_not_care_where_zero_is_and_agrees_with_a_search(nipples, swings, turn):
    """Independent method: look round the ring in steps of 0.5° for the point farthest from any place."""
    gap = coverage_gap(nipples, swings)
    assert coverage_gap([n + turn for n in nipples], swings) == pytest.approx(gap, abs=1e-6)
    places = [(n + s) % 360 for n in nipples for s in swings]
    farthest = max(min(min(abs(p - x / 2) % 360, 360 - abs(p - x / 2) % 360) for p in places) for x in range(720))
    assert farthest == pytest.approx(gap / 2, abs=0.5)


@given(st.integers(1, 8), st.floats(5, 360))
def test_positions_needed_leave_no_wider_arc_and_one_fewer_would(nipples, gap):
    n = positions_needed(nipples, gap)
    around = [360 / nipples * k for k in range(nipples)]

    def widest(count):
        return coverage_gap(around, [360 / nipples / count * i for i in range(count)])

    assert widest(n) <= gap + 1e-6
    if n > 1:
        assert widest(n - 1) > gap - 1e-6


@pytest.mark.parametrize(
    ("swing", "sector"), [(0, 0), (44.9, 0), (45, 1), (90, 1), (135, 2), (225, 3), (315, 0), (359, 0), (-90, 3), (720, 0), (-1e-18, 0)]
)
def test_a_place_midway_belongs_to_the_higher_position_at_every_corner(swing, sector):
    """Rounding half to even would never reach positions 1 and 3 from a corner."""
    assert ring().sectors(swing) == (sector,)


def test_each_nipple_reaches_its_own_position():
    assert ring((0, 120, 240), 12).sectors(30) == (1, 5, 9)


def test_nipples_on_the_undercarriage_run_backwards_round_the_ring():
    assert ring((0.0,), frame="upper").sectors(90) == (1,)
    assert ring((0.0,), frame="lower").sectors(90) == (3,)


@given(st.integers(1, 12), st.sampled_from(["upper", "lower"]), st.floats(-180, 180), st.integers(1, 4))
def test_every_position_has_a_boom_angle_that_reaches_it(positions, frame, first, count):
    some = ring(tuple(first + 360 / count * k for k in range(count)), positions, frame=frame)
    for i in range(positions):
        assert some.sectors(some.swing_of(i))[0] == i
        assert some.swing_of(i) in some.swings()


@pytest.mark.parametrize(
    ("swing", "name"),
    [
        (0, "front idlers"),
        (45, "front left corner"),
        (90, "left track"),
        (135, "rear left corner"),
        (180, "rear sprockets"),
        (225, "rear right corner"),
        (270, "right track"),
        (315, "front right corner"),
        (360, "front idlers"),
        (359.5, "front idlers"),
        (30, "between front idlers and left track, nearer front idlers"),
        (60, "between front idlers and left track, nearer left track"),
        (330, "between right track and front idlers, nearer front idlers"),
    ],
)
def test_positions_are_named_by_where_the_boom_points(swing, name):
    assert position_name(swing) == name


def test_sprockets_in_front_swap_the_names_of_the_ends():
    assert position_name(0, "front") == "front sprockets"
    assert position_name(180, "front") == "rear idlers"


def test_a_point_without_a_ring_is_a_ring_of_one_position():
    got = GreasedRing.of(GreasePoint(key="pin", label="pin", kind="pin", limit_h=8.0))
    assert (got.positions, got.nipples_deg) == (1, (0.0,))


def test_a_cap_in_cm3_becomes_grams_and_the_smaller_cap_holds():
    """35 cm3 at 900 kg/m3 is 31.5 g."""
    point = GreasePoint(key="ring", label="ring", kind="slew race", limit_h=100.0, cap_cc=35.0, ring=Ring())
    assert GreasedRing.of(point, 900.0).cap_g == pytest.approx(31.5)
    assert GreasedRing.of(point.model_copy(update={"cap_g": 30.0}), 900.0).cap_g == 30.0
    assert GreasedRing.of(point.model_copy(update={"cap_cc": None})).cap_g is None


@pytest.mark.parametrize(
    "kwargs", [{"positions": 0}, {"positions": 37}, {"limit_h": 0.0}, {"limit_days": math.nan}, {"dose_g": 0.0}, {"cap_g": -1.0}]
)
def test_a_ring_that_cannot_be_is_an_error(kwargs):
    with pytest.raises(OutOfRange):
        ring(**kwargs)


def test_angles_that_cannot_be_are_errors():
    for call in (lambda: coverage_gap([], [0]), lambda: coverage_gap([0], [math.nan]), lambda: ring(()), lambda: position_name(math.inf)):
        with pytest.raises(BadInput):
            call()
    for bad in ((0, 90.0), (1, 0.0), (1, 361.0)):
        with pytest.raises(OutOfRange):
            positions_needed(*bad)
