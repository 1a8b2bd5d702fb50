"""What a race can hold, and the formulas for bearings that spin."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc.greasing import bearing_interval, bearing_quantity_g, race_fill
from fluidapp.errors import CannotAnswer, OutOfRange

PLAIN = "spherical, tapered or thrust"


@pytest.mark.published("greasing", "quantity")
def test_grams_of_a_rolling_bearing(case):
    assert bearing_quantity_g(case["given"]["outside"], case["given"]["width"]) == pytest.approx(case["want"], abs=case["tol"])


def test_12_5_g_are_0_4409_ounces():
    """The ounce is 28.349523125 g (from memory); the same formula in inches then has 0.113787 for its constant (computed by us)."""
    assert bearing_quantity_g(100, 25) / 28.349523125 == pytest.approx(0.4409, abs=5e-5)
    assert bearing_quantity_g(25.4, 25.4) / 28.349523125 == pytest.approx(0.113787, abs=5e-7)


@pytest.mark.published("greasing", "bracket")
def test_the_bracket_of_the_interval_formula(case):
    got = bearing_interval(case["given"]["bore"], case["given"]["rpm"], design=PLAIN)
    assert got.hours == pytest.approx(case["want"], abs=case["tol"])
    assert (got.low_h, got.high_h) == (pytest.approx(0.7 * got.hours), pytest.approx(1.3 * got.hours))


def test_design_and_conditions_multiply():
    """Conditions 0.5 and a ball bearing: 5 brackets."""
    assert bearing_interval(100, 1000, 0.5, "ball").hours == pytest.approx(5000)
    assert bearing_interval(100, 1000, 0.5, "cylindrical or needle").hours == pytest.approx(2500)


def test_the_bracket_ends_at_3500_rpm_for_a_bore_of_100():
    assert bearing_interval(100, 3499, design=PLAIN).hours > 0
    with pytest.raises(CannotAnswer, match="outside the formula"):
        bearing_interval(100, 3500)


@given(st.floats(10, 300), st.floats(1, 20_000), st.floats(0.001, 1))
def test_an_interval_is_never_negative_and_never_above_32000_hours(bore, rpm, factor):
    try:
        got = bearing_interval(bore, rpm, factor)
    except CannotAnswer:
        assert rpm >= 3.5e6 / bore**1.5
    else:
        assert 0 < got.hours <= 32_000
        assert got.low_h <= got.hours <= got.high_h <= 32_000


def test_long_intervals_are_cut_and_it_is_said():
    got = bearing_interval(20, 100)
    assert got.capped
    assert got.hours == 32_000
    assert "32,000" in got.remarks[0]


def test_slewing_rings_and_large_bores_are_refused():
    with pytest.raises(CannotAnswer, match="fixed hours"):
        bearing_interval(100, 5, slewing=True)
    with pytest.raises(CannotAnswer, match="300 mm"):
        bearing_interval(301, 5)


def test_a_race_holds_its_groove_less_its_balls():
    """60 balls of 30 mm on 900 mm, groove 900 mm2: pi x 900 x 900 - 60 pi/6 30^3 mm3 by hand; 900 kg/m3."""
    got = race_fill(900, 60, 30, 900)
    by_hand = math.pi * 900 * 900 - 60 * math.pi / 6 * 30**3
    assert got.volume_l == pytest.approx(by_hand / 1e6)
    assert got.full_g == pytest.approx(by_hand / 1e6 * 900)
    assert got.mm3_per_mm * math.pi * 900 == pytest.approx(by_hand)


@pytest.mark.parametrize("bad", [(0, 60, 30, 900), (900, 95, 30, 900), (100, 60, 30, 900), (900, 60, math.nan, 900)])
def test_a_race_that_cannot_be_is_an_error(bad):
    with pytest.raises(OutOfRange):
        race_fill(*bad)


def test_numbers_that_cannot_be_are_errors():
    for call in (
        lambda: bearing_quantity_g(0, 25),
        lambda: bearing_interval(0, 1000),
        lambda: bearing_interval(100, 0),
        lambda: bearing_interval(100, 1000, 1.1),
        lambda: bearing_interval(100, 1000, 0.0),
    ):
        with pytest.raises(OutOfRange):
            call()
