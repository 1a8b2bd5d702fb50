"""Guards of plain numbers: what is refused, and with which words."""

import math

import pytest

from fluidapp.calc.bath import level_rise
from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import OutOfRange


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_finite_number_is_called_so(value):
    for guard in (above_zero, zero_or_more):
        with pytest.raises(OutOfRange, match=r"^area: (nan|inf) L/mm is not a finite number\."):
            guard("area", value, "L/mm")


@pytest.mark.parametrize("value", [0.0, -1.0])
def test_nothing_but_a_finite_number_above_zero_is_above_zero(value):
    with pytest.raises(OutOfRange, match=r"^area: .* is not above 0 L/mm\. Enter a number above 0\.$"):
        above_zero("area", value, "L/mm")
    assert above_zero("area", 1e-9, "L/mm") == 1e-9


@pytest.mark.parametrize("value", [-1e-9, -2.0])
def test_nothing_but_a_finite_number_from_zero_on_is_zero_or_more(value):
    with pytest.raises(OutOfRange, match=r"^poured: .* is below 0 L\. Enter 0 or more\.$"):
        zero_or_more("poured", value, "L")
    assert zero_or_more("poured", 0.0, "L") == 0.0


def test_an_area_of_zero_is_not_called_below_zero():
    with pytest.raises(OutOfRange, match=r"^area: 0 L/mm is not above 0 L/mm\. Enter a number above 0\.$"):
        level_rise(0.0, 20.0, 30.0, 1.0)
