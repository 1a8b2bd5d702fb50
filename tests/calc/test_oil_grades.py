"""Grades: printed limits, gaps, edges, typical products."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import oil
from fluidapp.errors import BadInput, Unknown


@pytest.mark.published("oil_grades", "iso")
def test_the_band_of_a_grade_agrees_with_the_printed_one(case):
    grade, (low, high) = case["given"]["grade"], case["want"]
    assert oil.iso_limits(grade) == pytest.approx((low, high), abs=case["tol"], rel=0)
    for nu in (low, high, (low + high) / 2):
        assert oil.iso_vg(nu) == grade
    for nu in (low - 0.06, high + 0.06):
        assert oil.iso_vg(nu) is None
        assert oil.nearest_iso_vg(nu) == grade


@pytest.mark.published("oil_grades", "middle")
def test_the_middle_of_a_grade(case):
    assert case["want"] == oil.ISO_VG[case["given"]["grade"]]
    assert oil.iso_vg(case["want"]) == case["given"]["grade"]


@pytest.mark.published("oil_grades", "gear")
def test_a_gear_grade_holds_its_lower_limit_but_not_its_upper_one(case):
    _holds(oil.sae_gear, case, oil.SAE_GEAR)


@pytest.mark.published("oil_grades", "engine")
def test_an_engine_grade_holds_its_lower_limit_but_not_its_upper_one(case):
    _holds(oil.sae_engine, case, oil.SAE_ENGINE)


def _holds(grade, case, table):
    low, high = case["given"]["low"], case["given"]["high"]
    assert grade(low) == grade(high - 1e-9) == case["want"]
    assert grade(low - 1e-9) != case["want"]
    if math.isfinite(table[case["want"]][1]):
        assert grade(high) != case["want"]


@given(st.floats(1.5, 4000))
def test_a_viscosity_is_in_a_band_or_between_two_and_the_nearest_is_the_one_it_is_in(nu):
    grade, nearest = oil.iso_vg(nu), oil.nearest_iso_vg(nu)
    inside = [g for g in oil.ISO_VG if oil.iso_limits(g)[0] <= nu <= oil.iso_limits(g)[1]]
    assert len(inside) <= 1
    assert grade in (*inside, None)
    if inside:
        assert grade == nearest == inside[0]


def test_below_and_above_the_tables_there_is_no_grade():
    assert oil.sae_gear(3.79) is None
    assert oil.sae_engine(6.89) is None
    assert oil.sae_engine(26.1) is None
    assert oil.iso_vg(1.0) is None
    assert oil.nearest_iso_vg(1.0) == 2
    assert oil.nearest_iso_vg(18.3) == 22  # by ratio; by difference it would be 15


@pytest.mark.parametrize("nu", [0.3, 0.0, -46.0, math.nan, math.inf])
def test_an_impossible_viscosity_has_no_grade_and_is_named(nu):
    for grade in (oil.iso_vg, oil.nearest_iso_vg, oil.sae_gear, oil.sae_engine):
        with pytest.raises(BadInput, match="viscosity at"):
            grade(nu)


def test_an_unknown_grade_is_named_with_the_list():
    with pytest.raises(Unknown, match=r"ISO VG grade: “45” is not known\. Known: 2, 3, 5, 7, 10"):
        oil.iso_limits(45)


@pytest.mark.published("oil_typical", "product")
def test_what_follows_from_a_typical_product(case):
    """The index within what the table allows; the growth from 20 to 60 °C to 1e-4."""
    product = next(p for p in oil.PRODUCTS if p.key == case["given"]["key"])
    index, growth = case["want"]
    assert oil.viscosity_index(product.nu40, product.nu100) == pytest.approx(index, abs=case["tol"])
    assert oil.convert_volume(1.0, 20.0, 60.0, product.rho15) == pytest.approx(growth, abs=1e-4)
    assert product.nu_source == "nominal"


def test_typical_products_carry_their_grade():
    """ISO VG in the label is the grade of nu40; SAE 30, 40, 90, 140 in the label that of nu100."""
    for product in oil.PRODUCTS:
        word = product.label.rsplit(" ", 1)[1].replace("SAE", "").rsplit("-", 1)[-1].removesuffix("W")
        if "ISO VG" in product.label:
            assert str(oil.iso_vg(product.nu40)) == word
        elif product.kind == "oil":
            assert (oil.sae_gear if "gear" in product.label else oil.sae_engine)(product.nu100) == word
    assert len({p.key for p in oil.PRODUCTS}) == len(oil.PRODUCTS) == 12
    assert [p.key for p in oil.PRODUCTS if p.nu40 is None] == ["grease_ep2"]
