"""Lines of a refill: litres by size, ranges, what is typical, and input that cannot be."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import level, refill
from fluidapp.errors import BadInput, CannotAnswer, FluidappError, OutOfRange, Unknown
from fluidapp.model import Cylinder


def boom(**more):
    return Cylinder(**({"name": "boom", "count": 2, "rod": 85.0, "stroke": 1290.0, "bore": 120.0} | more))


@pytest.mark.published("refill", "hose")
def test_a_metre_of_hose_holds_its_circle(case):
    assert refill.hose(25.4 * case["given"]["inch"], 1.0).value_l == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.published("refill", "cylinder")
def test_a_cylinder_fitted_dry_takes_what_it_holds_in_the_reference_posture(case):
    line = refill.cylinder(boom(**case["given"]))
    assert line.value_l == pytest.approx(case["want"], abs=case["tol"], rel=0)
    assert (line.when, line.into) == ("after running", "circuit")


@given(st.floats(0, 1290), st.integers(1, 2))
def test_a_cylinder_between_its_ends_holds_both_chambers(ref, count):
    """Head side: bore area x ref; rod side: annulus x the rest of the stroke."""
    head, ring = math.pi / 4 * 120**2, math.pi / 4 * (120**2 - 85**2)
    assert refill.cylinder(boom(ref=ref), count).value_l == pytest.approx(count * (head * ref + ring * (1290 - ref)) / 1e6, rel=1e-12)


@given(st.floats(5, 100), st.floats(0.5, 2.4), st.floats(0.1, 50), st.integers(1, 20))
def test_a_tube_is_a_hose_of_its_inside(outside, wall, length, count):
    bore = outside - 2 * wall
    if bore < 3:
        return
    tube = refill.tube(outside, wall, length, count)
    assert tube.value_l == pytest.approx(refill.hose(bore, length, count).value_l, rel=1e-12)
    assert tube.value_l == pytest.approx(count * refill.hose(bore, length).value_l, rel=1e-12)
    assert tube.u_l == pytest.approx(0.05 * tube.value_l)


def test_a_range_counts_as_equally_likely():
    """Its middle, and a twelfth of its width squared (JCGM 100:2008, 4.3.7, from memory)."""
    for line, low, high in (
        (refill.case(), 0.5, 3.0),
        (refill.case(low_l=1.0, high_l=2.0), 1.0, 2.0),
        (refill.tank_filter(), 0.2, 1.0),
        (refill.cooler(core_mm=(1000.0, 500.0, 100.0)), 15.0, 25.0),
    ):
        assert line.value_l == pytest.approx((low + high) / 2)
        assert line.u_l == pytest.approx((high - low) / math.sqrt(12))
        assert not line.measured
        assert line.hint
        assert "from memory" in line.source


def test_a_measured_pour_replaces_the_typical_range():
    line = refill.case(1.4)
    assert (line.value_l, line.u_l, line.measured) == (1.4, pytest.approx(0.028), True)
    assert (line.when, line.into) == ("before start", "motor or pump case")
    assert refill.cooler(18.0).value_l == 18.0
    assert refill.cooler(18.0).measured


def test_a_housing_goes_in_before_the_start_only_where_it_is_prefilled():
    """Area x 300 mm x 0.65: 1.532 L of a housing of 100 mm (computed by us)."""
    before, after = (refill.housing(100.0, 300.0, prefilled=filled) for filled in (True, False))
    assert before.value_l == after.value_l == pytest.approx(math.pi / 4 * 100**2 * 300 * 0.65 / 1e6)
    assert (before.when, before.into, after.when, after.into) == ("before start", "filter housing", "after running", "circuit")


def test_a_gear_case_stands_apart_with_its_own_product():
    line = refill.gear_case(6.0, product="gear")
    assert (line.into, line.when, line.product, line.u_l, line.measured) == (
        "gear case",
        "before start",
        "gear",
        pytest.approx(0.18),
        False,
    )
    assert refill.gear_case(6.0, 0.1, source="poured").measured
    assert refill.air().value_l == 0.0
    assert refill.air().u_l > 0
    assert refill.air(2.0, 0.8).measured


BAD = [
    (lambda: refill.hose(0.5, 2.0), "hose bore: 0.5 mm is not within 3 to 100 mm. Is it in inches"),
    (lambda: refill.hose(2.0, 2.0), "hose bore"),
    (lambda: refill.hose(101.0, 2.0), "hose bore"),
    (lambda: refill.hose(math.nan, 2.0), "hose bore"),
    (lambda: refill.hose(20.0, 1500.0), "hose, length: 1500 m .* Enter metres"),
    (lambda: refill.hose(20.0, 0.0), "hose, length"),
    (lambda: refill.hose(20.0, 1.0, 0), "hose, pieces"),
    (lambda: refill.hose(20.0, 1.0, 1.5), "whole number"),
    (lambda: refill.tube(25.0, 12.5, 1.0), "tube, wall"),
    (lambda: refill.tube(25.0, 0.0, 1.0), "tube, wall"),
    (lambda: refill.tube(1.0, 0.1, 1.0), "outside diameter: 1 mm .* inches"),
    (lambda: refill.case(-1.0), "motor or pump case"),
    (lambda: refill.case(low_l=3.0, high_l=1.0), "lower one"),
    (lambda: refill.case(low_l=-1.0), "Enter 0 or more"),
    (lambda: refill.housing(4.0, 300.0, prefilled=True), "is it in inches"),
    (lambda: refill.housing(100.0, 300.0, prefilled=True, filled=(60.0, 70.0)), "65 % is 0.65"),
    (lambda: refill.cooler(), "neither its plate"),
    (lambda: refill.cooler(core_mm=(1000.0, 500.0, 1.0)), "cooler core"),
    (lambda: refill.cooler(core_mm=(1000.0, 500.0, 100.0), filled=(0.3, 1.5)), "between 0 and 1"),
    (lambda: refill.cylinder(Cylinder(name="boom", rod=85.0, stroke=1290.0)), "its bore is not entered"),
    (lambda: refill.cylinder(boom(), 3), "how many the machine has"),
    (lambda: refill.cylinder(boom(), 0), "how many the machine has"),
    (lambda: refill.gear_case(0.0), "from dry to its mark"),
    (lambda: refill.air(-1.0), "air allowance"),
    (lambda: refill.air(1.0, math.inf), "air allowance, doubt"),
]


@pytest.mark.parametrize(("call", "says"), BAD, ids=[says for _, says in BAD])
def test_input_that_cannot_be_is_named_with_its_fix(call, says):
    with pytest.raises(FluidappError, match=says) as refused:
        call()
    assert isinstance(refused.value, BadInput | CannotAnswer)


def test_a_rod_thicker_than_its_bore_is_refused_before_any_litres():
    with pytest.raises(BadInput, match="not thinner than the bore"):
        Cylinder.made(name="boom", rod=125.0, stroke=1290.0, bore=120.0)


CYLINDERS = 'cylinders = [{ name = "boom", count = 2, rod = 85, stroke = 1290, bore = 120 }, { name = "arm", rod = 100, stroke = 1510 }]'


def test_a_cylinder_fitted_dry_is_not_counted_twice(one):
    """Left out of the posture: with both booms 645 mm out, one of them dry, only the other's rod counts."""
    machine = one(machine=CYLINDERS)
    both = level.posture_l(machine.cylinders, {"boom": 645.0})
    half = refill.without(machine, {"boom": 1})
    assert level.posture_l(half.cylinders, {"boom": 645.0}) == pytest.approx(both / 2)
    none = refill.without(machine, {"boom": 2})
    assert [c.name for c in none.cylinders] == ["arm"]
    assert refill.without(machine, {}) == machine
    with pytest.raises(OutOfRange, match="how many the machine has"):
        refill.without(machine, {"boom": 3})
    with pytest.raises(Unknown, match="Known: boom, arm"):
        refill.without(machine, {"blade": 1})
