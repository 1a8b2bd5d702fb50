"""Consistency grades, and warnings before two greases meet."""

import itertools
import math

import pytest

from fluidapp.calc.greasing import GRADES, THICKENERS, mixing, nlgi_grade
from fluidapp.errors import OutOfRange


@pytest.mark.published("greasing", "grade")
def test_grade_of_a_penetration(case):
    assert nlgi_grade(case["given"]["penetration"]) == case["want"]


def test_bands_are_30_wide_15_apart_and_centred_on_370_less_45_a_grade():
    """Middle of grade N is 370 - 45 N, N 0 to 6; 00 is 415, 000 is 460 (computed by us from the printed bands)."""
    middles = {grade: (low + high) / 2 for grade, (low, high) in GRADES.items()}
    assert all(high - low == 30 for low, high in GRADES.values())
    assert [middles[str(n)] for n in range(7)] == [370 - 45 * n for n in range(7)]
    assert (middles["00"], middles["000"]) == (415, 460)


def test_both_ends_of_a_band_belong_to_it_and_nothing_between_bands_is_rounded():
    for grade, (low, high) in GRADES.items():
        assert nlgi_grade(low) == nlgi_grade(high) == grade
        assert nlgi_grade(low - 0.5) != grade
        assert nlgi_grade(high + 0.5) != grade
    assert nlgi_grade(340.5) == "between 1 and 0"
    assert nlgi_grade(475.1) == "softer than 000"
    assert nlgi_grade(84.9) == "harder than 6"


@pytest.mark.published("greasing", "mix")
def test_pairs_of_the_printed_chart_in_both_orders(case):
    a, b = case["given"]["pair"]
    assert mixing(a, b).chart == mixing(b, a).chart == case["want"]


def test_the_chart_never_gives_a_green_light():
    for a, b in itertools.product([*THICKENERS, None, "calcium sulfonate complex"], repeat=2):
        assert mixing(a, b).warning, (a, b)
        assert mixing(a, b) == mixing(b, a)


def test_the_chart_has_its_printed_number_of_pairs():
    """36 different pairs: 3 compatible, 2 borderline, the rest incompatible; 8 of 9 with themselves compatible."""
    charts = [mixing(a, b).chart for a, b in itertools.combinations(THICKENERS, 2)]
    assert (charts.count("compatible"), charts.count("borderline"), charts.count("incompatible")) == (3, 2, 31)
    assert [mixing(a, a).chart for a in THICKENERS].count("compatible") == 8


def test_only_one_and_the_same_grease_needs_no_warning():
    assert mixing(None, None, same_product=True).warning == ""


@pytest.mark.parametrize("pair", [(None, "lithium"), ("lithium", None), ("calcium sulfonate complex", "lithium")])
def test_an_unknown_thickener_is_warned(pair):
    assert mixing(*pair).chart == "unknown"


def test_a_penetration_that_cannot_be_is_an_error():
    for bad in (0.0, -1.0, math.nan):
        with pytest.raises(OutOfRange):
            nlgi_grade(bad)
