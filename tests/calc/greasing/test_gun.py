"""Weighing a gun, and whole strokes for a dose."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc.greasing import calibrate_gun, grams, strokes
from fluidapp.errors import OutOfRange
from fluidapp.model import Gun


def gun(**kwargs):
    return Gun(**({"key": "gun", "label": "gun"} | kwargs))


@pytest.mark.published("greasing", "gun")
def test_doubt_of_a_weighed_stroke_agrees_with_the_value_by_hand(case):
    g = case["given"]
    got = calibrate_gun(100.0, 100.0 + 1.3 * g["n"], g["n"], g["resolution"], g["sd"])
    assert got.g_per_stroke == pytest.approx(1.3)
    assert got.u_g == pytest.approx(case["want"], abs=case["tol"])


def test_doubt_of_a_weighed_stroke_agrees_with_monte_carlo():
    """Two readings rounded by a 1 g scale round 20 strokes with a scatter of 0.3 g; own seed."""
    rng = np.random.default_rng(9)
    before = rng.uniform(200, 210, 200_000)
    after = before + rng.normal(1.3, 0.3, (200_000, 20)).sum(axis=1)
    shown = (np.round(after) - np.round(before)) / 20
    assert calibrate_gun(200, 226, 20, 1.0, 0.3).u_g == pytest.approx(shown.std(), rel=1e-2)


def test_few_strokes_are_remarked():
    assert any("Few strokes" in remark for remark in calibrate_gun(0, 5, 4, 1.0).remarks)


@pytest.mark.published("greasing", "strokes")
def test_published_doses_in_published_strokes(case):
    """Grams stand for cm3 here: the density cancels."""
    g = case["given"]
    some = gun(g_per_stroke=g["stroke_cc"], n_strokes=20)
    assert strokes(g["dose_cc"], some).strokes == case["want"]["wished"]
    assert strokes(g["dose_cc"], some, cap_g=g["dose_cc"]).strokes == case["want"]["capped"]


def test_strokes_are_the_nearest_whole_number():
    assert strokes(30.0, gun(g_per_stroke=1.28)).strokes == 23  # 23.4
    assert strokes(30.5, gun(g_per_stroke=1.28)).strokes == 24  # 23.8
    assert strokes(30.0, gun(g_per_stroke=4.0)).strokes == 8  # 7.5 goes up


def test_what_is_printed_is_what_is_given():
    got = strokes(30.0, gun(g_per_stroke=1.28, n_strokes=16, sd_g=0.08))
    assert got.given_g == pytest.approx(29.44)
    assert got.u_given_g == pytest.approx(math.sqrt((23 * 0.02) ** 2 + 23 * 0.08**2))


@given(dose=st.floats(0.5, 500), cap=st.floats(0.5, 500), g=st.floats(0.3, 40))
def test_the_cap_is_never_passed_and_without_it_half_a_stroke_is_the_most_that_is_missing(dose, cap, g):
    capped = strokes(dose, gun(g_per_stroke=g), cap_g=cap)
    assert capped.given_g <= cap * (1 + 1e-8)
    free = strokes(dose, gun(g_per_stroke=g))
    assert free.strokes >= 1
    assert abs(free.given_g - dose) <= g / 2 + 1e-6 or (free.strokes == 1 and dose < g)
    assert capped.capped is (capped.strokes < free.strokes)


def test_a_cap_of_whole_strokes_is_used_in_full():
    assert strokes(35.0, gun(g_per_stroke=0.7), cap_g=35.0).strokes == 50


def test_a_stroke_that_passes_the_cap_is_not_given():
    got = strokes(30.0, gun(g_per_stroke=28.0), cap_g=20.0)
    assert got.strokes == 0
    assert any("smaller gun" in remark for remark in got.remarks)


def test_a_gun_that_is_not_weighed_keeps_strokes_strokes():
    for nobody in (None, gun(), gun(feed="power")):
        got = strokes(30.0, nobody)
        assert got.strokes is None
        assert got.given_g is None
        assert any("weigh" in remark for remark in got.remarks)


def test_a_power_gun_counts_seconds():
    got = strokes(30.0, gun(feed="power", g_per_min=120.0), cap_g=20.0)
    assert got.seconds == pytest.approx(10.0)
    assert got.given_g == pytest.approx(20.0)
    assert got.capped


def test_an_automatic_system_has_no_strokes():
    assert "reservoir" in strokes(30.0, gun(feed="auto")).remarks[0]


def test_without_a_dose_the_cap_is_the_dose_and_without_both_the_seal_decides():
    assert strokes(None, gun(g_per_stroke=2.0), cap_g=31.0).strokes == 15
    assert "seal" in strokes(None, gun(g_per_stroke=2.0)).remarks[0]


def test_grams_of_strokes_and_seconds():
    assert grams(10, None, gun(g_per_stroke=1.3)) == pytest.approx(13.0)
    assert grams(None, 30.0, gun(feed="power", g_per_min=120.0)) == pytest.approx(60.0)
    assert grams(10, None, gun()) is None
    assert grams(10, None, None) is None


def test_what_cannot_be_is_an_error():
    for bad in (
        (10, 10, 20, 1.0, 0.08),
        (10, 30, 0, 1.0, 0.08),
        (10, 30, 20, 0.0, 0.08),
        (10, 30, 20, 1.0, -1.0),
        (math.nan, 30, 20, 1.0, 0.1),
    ):
        with pytest.raises(OutOfRange):
            calibrate_gun(*bad)
    for dose, cap in ((0.0, None), (-1.0, None), (1.0, 0.0), (math.nan, None)):
        with pytest.raises(OutOfRange):
            strokes(dose, gun(g_per_stroke=1.0), cap)
