"""The right product: same, another, unknown, a change of product or family; what a history makes of a compartment."""

import math

import pytest

from fluidapp.calc import product_check
from fluidapp.calc.product_check import Event, check, differences, state
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Product


def made(key="hyd", kind="oil", family="mineral", nu40=46.0, **more):
    return Product(key=key, label=key, kind=kind, family=family, nu40=nu40, **more)


HYD, GEAR, ESTER = made(), made("gear", nu40=220.0), made("ester", family="biodegradable ester")
GREASE = made("grease", kind="grease", nu40=None, thickener="lithium", nlgi="2")


def test_the_compartments_own_product_passes():
    found = check(HYD, HYD)
    assert (found.word, found.reason, found.mixed, found.viscosity_verdicts) == ("same product", "", False, True)
    assert "One container for one product" in found.remarks[0]


@pytest.mark.parametrize(
    ("holds", "poured", "says"),
    [
        (GEAR, HYD, "46 instead of 220 mm2/s at 40 °C"),
        (HYD, ESTER, "family biodegradable ester instead of mineral"),
        (HYD, GREASE, "grease instead of oil"),
        (HYD, made("coolant", kind="coolant"), "coolant instead of oil"),
        (HYD, made("other"), "another product"),
        (GREASE, made("g2", kind="grease", nu40=None, thickener="clay", nlgi="2"), "thickener clay instead of lithium (incompatible"),
        (GREASE, made("g2", kind="grease", nu40=None, thickener="lithium", nlgi="1"), "NLGI 1 instead of 2"),
        (GREASE, made("g2", kind="grease", nu40=None), "a thickener that is not known"),
    ],
)
def test_another_product_stops_with_the_reason(holds, poured, says):
    found = check(holds, poured)
    assert found.word == "stop"
    assert says in found.reason
    assert found.reason.startswith(f"The compartment holds {holds.label}, not {poured.label}: ")
    assert found.needs
    assert (found.mixed, found.viscosity_verdicts) == (False, True)


def test_a_stop_leaves_a_mixed_compartment_mixed():
    found = check(GEAR, HYD, mixed=True)
    assert (found.word, found.mixed, found.viscosity_verdicts) == ("stop", True, False)


def test_an_unknown_product_is_allowed_and_marks_the_compartment_mixed():
    found = check(GEAR, None)
    assert (found.word, found.mixed, found.viscosity_verdicts) == ("mixed until drained", True, False)
    assert "Take a sample." in found.needs
    assert check(GEAR, None, drained=True).mixed


def test_a_mixed_compartment_stays_mixed_until_it_is_drained():
    assert check(GEAR, GEAR, mixed=True).word == "mixed until drained"
    assert not check(GEAR, GEAR, mixed=True).viscosity_verdicts
    assert check(GEAR, GEAR, mixed=True, drained=True).word == "same product"


def test_a_compartment_without_a_product_counts_as_mixed_until_drained():
    assert check(None, GEAR).word == "mixed until drained"
    after = check(None, GEAR, drained=True)
    assert (after.word, after.mixed) == ("change of product", False)


def test_used_oil_never_goes_back():
    for drained in (False, True):
        found = check(HYD, made("used", kind="used"), drained=drained)
        assert (found.word, "never goes back" in found.reason) == ("stop", True)


def test_within_the_family_a_drain_is_enough():
    found = check(GEAR, made("gear320", nu40=320.0), drained=True)
    assert (found.word, found.rinses) == ("change of product", None)
    assert any("share stays behind" in text for text in found.needs)


def test_another_kind_stops_even_after_a_drain():
    assert check(HYD, GREASE, drained=True).word == "stop"


def test_a_change_of_family_needs_the_residual_limit_of_the_site():
    missing = check(HYD, ESTER, drained=True, stay=0.2)
    assert missing.word == "stop"
    assert "residual limit" in missing.needs[0]
    assert "how much does not drain" in check(HYD, ESTER, drained=True, residual_percent=2.0).needs[0]
    unknown = check(HYD, made("x", family="unknown"), drained=True)
    assert (unknown.word, "not known to be the same" in unknown.reason) == ("stop", True)
    assert check(made("a", family="other"), made("b", family="other"), drained=True).word == "stop"


@pytest.mark.parametrize(
    ("stay", "limit", "rinses"), [(0.2, 25.0, 0), (0.2, 5.0, 1), (0.2, 2.0, 2), (0.1, 1.0, 1), (0.3, 2.0, 3), (0.0, 1.0, 0)]
)
def test_the_rinses_bring_the_old_oil_under_the_limit(stay, limit, rinses):
    """What stays behind at the drain, then once for each rinse: stay ** (rinses + 1) of old oil under the last fill."""
    found = check(HYD, ESTER, drained=True, residual_percent=limit, stay=stay)
    assert (found.word, found.rinses) == ("change of product", rinses)
    assert stay ** (rinses + 1) <= limit / 100 + 1e-12
    assert rinses == 0 or stay**rinses > limit / 100
    assert "residual measured" in found.needs[0]


def test_shares_that_cannot_be_are_refused():
    for limit in (0.0, 100.0, -1.0, math.nan):
        with pytest.raises(OutOfRange, match="residual limit"):
            check(HYD, ESTER, drained=True, residual_percent=limit, stay=0.2)
    for stay in (-0.1, 1.1, math.nan):
        with pytest.raises(OutOfRange, match="does not drain"):
            check(HYD, ESTER, drained=True, residual_percent=2.0, stay=stay)
    with pytest.raises(CannotAnswer, match="nothing drains"):
        check(HYD, ESTER, drained=True, residual_percent=2.0, stay=1.0)


@pytest.mark.published("refill", "thickener")
def test_the_public_table_of_thickeners(case):
    one, other = case["given"]["pair"]
    assert product_check.THICKENERS[frozenset({one, other})] == case["want"]
    for a, b in ((one, other), (other, one)):
        pair = [made(k.replace(" ", "_"), kind="grease", nu40=None, thickener=k) for k in (a, b)]
        assert case["want"] in differences(*pair)[0]
        assert check(*pair).word == "stop"


def test_a_history_is_mixed_from_the_first_wrong_pour_to_the_next_drain():
    own, wrong, unknown, drain = Event("poured", "gear"), Event("poured", "hyd"), Event("poured", "unknown"), Event("drained")
    assert state("gear", [own, own]).mixed is False
    first = state("gear", [own, wrong, own, unknown])
    assert (first.mixed, first.since, first.by) == (True, 1, "hyd")
    assert "no verdict from viscosity" in first.reason
    assert state("gear", [wrong, drain, own]).mixed is False
    again = state("gear", [wrong, drain, unknown])
    assert (again.since, again.by) == (2, "unknown")
    assert "an unknown product" in again.reason
    assert state(None, [own]).mixed is True
    assert state("unknown", [unknown]).mixed is True
    assert state("gear", []).mixed is False
    assert state("gear", [Event("poured", "hyd", 0.0)]).mixed is False


def test_a_pour_without_a_product_or_with_impossible_litres_is_refused():
    with pytest.raises(BadInput, match="product poured"):
        state("gear", [Event("poured")])
    for litres in (-1.0, math.nan):
        with pytest.raises(OutOfRange, match="poured"):
            state("gear", [Event("poured", "gear", litres)])
