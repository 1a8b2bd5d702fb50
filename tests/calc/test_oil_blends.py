"""Mixed oils: printed blending indices, regression values, identities, a second formula, refusals, rinsing."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import oil
from fluidapp.calc.oil import Interval
from fluidapp.errors import BadInput, CannotAnswer, FluidappError, OutOfRange
from fluidapp.model import Product

NU = st.floats(1.0, 3000.0)
SHARE = st.floats(0.0, 1.0)


@pytest.mark.published("oil_blends", "index")
def test_the_blending_index_agrees_with_the_printed_one(case):
    found = oil.blending_index(case["given"]["nu"])
    assert found == pytest.approx(case["want"], abs=case["tol"], rel=0)
    assert oil.viscosity_of_index(found) == pytest.approx(case["given"]["nu"], rel=1e-12)


@pytest.mark.published("oil_blends", "chart")
def test_a_share_agrees_with_a_chart_within_its_own_step(case):
    g = case["given"]
    assert oil.blend_fraction(g["base"], g["cont"], g["meas"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.published("oil_blends", "forward")
def test_the_viscosity_of_a_mix_stays_as_it_was(case):
    g = case["given"]
    assert oil.blend_viscosity([g["base"], g["cont"]], [1 - g["x"], g["x"]]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.published("oil_blends", "inverse")
def test_the_share_from_a_viscosity_stays_as_it_was(case):
    g = case["given"]
    assert 100 * oil.blend_fraction(g["base"], g["cont"], g["meas"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.published("oil_blends", "drop")
def test_the_share_behind_a_change_of_viscosity_stays_as_it_was(case):
    g = case["given"]
    meas = g["base"] * (1 + np.array(g["change"]) / 100)
    np.testing.assert_allclose(100 * oil.blend_fraction(g["base"], g["cont"], meas), case["want"], atol=case["tol"], rtol=0)


@given(NU, NU, SHARE)
def test_the_share_is_found_back_from_the_viscosity_of_the_mix(base, cont, x):
    if abs(cont - base) <= 0.11 * base:
        return
    meas = oil.blend_viscosity([base, cont], [1 - x, x])
    assert min(base, cont) * (1 - 1e-12) <= meas <= max(base, cont) * (1 + 1e-12)
    assert oil.blend_fraction(base, cont, meas) == pytest.approx(x, abs=1e-9)


@given(NU, NU, NU, SHARE, SHARE)
def test_the_order_of_mixing_does_not_matter(one, two, three, a, b):
    first = oil.blend_viscosity([one, two], [1 - a, a])
    then = oil.blend_viscosity([first, three], [1 - b, b])
    assert oil.blend_viscosity([one, two, three], [(1 - b) * (1 - a), (1 - b) * a, b]) == pytest.approx(then, rel=1e-9)


@given(NU, st.floats(0.1, 0.9))
def test_an_oil_mixed_with_itself_stays_what_it_is(nu, x):
    assert oil.blend_viscosity([nu, nu], [x, 1 - x]) == pytest.approx(nu, rel=1e-10)
    assert oil.blend_viscosity_by_mass([nu, nu], [x, 1 - x]) == pytest.approx(nu, rel=1e-10)


def test_both_formulas_agree_on_gear_oil_with_hydraulic_oil():
    """VG 46 in VG 220: by volume and by mass shares within 2.5 % of the viscosity, 1 % up to a share of 20 % (densities 870 and 895)."""
    for x in np.linspace(0.02, 0.98, 25):
        by_volume = oil.blend_viscosity([220.0, 46.0], [1 - x, x])
        mass = x * 870.0 / (x * 870.0 + (1 - x) * 895.0)
        by_mass = oil.blend_viscosity_by_mass([220.0, 46.0], [1 - mass, mass])
        assert by_mass == pytest.approx(by_volume, rel=0.01 if x <= 0.2 else 0.025)


def test_the_mix_lies_between_the_cube_root_and_the_straight_log():
    """Ten per cent of VG 46 in VG 220: 183.6, where a straight logarithm gives 188.1 and cube roots 194.2 (computed by us)."""
    found = oil.blend_viscosity([220.0, 46.0], [0.9, 0.1])
    log, cube = 220.0**0.9 * 46.0**0.1, (0.9 * 220.0 ** (1 / 3) + 0.1 * 46.0 ** (1 / 3)) ** 3
    assert (round(log, 1), round(cube, 1)) == (188.1, 194.2)
    assert 0.97 * log < found < log < cube


def test_arrays_give_what_single_numbers_give():
    x = np.linspace(0, 1, 5)
    many = oil.blend_viscosity(np.stack([np.full(5, 220.0), np.full(5, 46.0)]), np.stack([1 - x, x]))
    np.testing.assert_allclose(many, [oil.blend_viscosity([220.0, 46.0], [1 - one, one]) for one in x], rtol=1e-14)
    np.testing.assert_allclose(oil.blend_fraction(220.0, 46.0, many), x, atol=1e-12)
    broad = oil.blend_viscosity(np.array([[220.0, 100.0], [46.0, 46.0]]), [0.9, 0.1])
    np.testing.assert_allclose(broad, [oil.blend_viscosity([220.0, 46.0], [0.9, 0.1]), oil.blend_viscosity([100.0, 46.0], [0.9, 0.1])])
    assert type(oil.blend_viscosity([220.0, 46.0], [0.5, 0.5])) is float
    assert type(oil.blend_fraction(220.0, 46.0, 180.0)) is float


@pytest.mark.parametrize(
    ("nus", "shares", "says"),
    [
        ([220.0, 46.0], [0.9, 0.2], "Together they must be 1"),
        ([220.0, 46.0], [1.1, -0.1], "between 0 and 1"),
        ([220.0, 46.0], [90.0, 10.0], "10 % is 0.1"),
        ([220.0, 46.0], [0.9, math.nan], "between 0 and 1"),
        ([220.0, 46.0], [1.0], "One share an oil"),
        ([220.0, 0.2], [0.9, 0.1], "viscosity"),
    ],
)
def test_shares_that_cannot_be_are_refused(nus, shares, says):
    for mixed in (oil.blend_viscosity, oil.blend_viscosity_by_mass):
        with pytest.raises(BadInput, match=says):
            mixed(nus, shares)


def test_densities_mix_by_volume():
    assert oil.blend_density([895.0, 870.0], [0.8, 0.2]) == pytest.approx(0.8 * 895 + 0.2 * 870, rel=1e-15)
    with pytest.raises(BadInput, match="density"):
        oil.blend_density([895.0, 0.0], [0.8, 0.2])


@pytest.mark.parametrize("meas", [220.5, 300.0, 45.9, 20.0])
def test_a_viscosity_outside_both_oils_is_not_clipped_to_a_share(meas):
    with pytest.raises(CannotAnswer, match="does not lie between the two oils"):
        oil.blend_fraction(220.0, 46.0, meas)
    with pytest.raises(CannotAnswer, match=f"{meas:g} mm2/s"):
        oil.blend_fraction(220.0, 46.0, np.array([180.0, meas]))
    assert oil.blend_fraction_open(220.0, 46.0, meas) < 0 or oil.blend_fraction_open(220.0, 46.0, meas) > 1


@pytest.mark.parametrize(("base", "cont"), [(100.0, 100.0), (100.0, 91.0), (100.0, 109.0)])
def test_two_oils_that_are_nearly_alike_are_refused(base, cont):
    with pytest.raises(CannotAnswer, match="cannot tell them apart"):
        oil.blend_fraction(base, cont, (base + cont) / 2)
    assert oil.blend_fraction(100.0, 89.0, 95.0) == pytest.approx(0.44, abs=0.02)


def test_grades_alone_give_an_interval():
    """VG 46 in VG 220, 180 measured: 5.2 to 16.6 % (computed by us), which holds the figure of the middles."""
    found = oil.blend_fraction_interval(oil.iso_limits(220), oil.iso_limits(46), 180.0)
    assert (found.low, found.high) == pytest.approx((0.052, 0.166), abs=0.0006)
    assert found.word == "found"
    assert found.low < oil.blend_fraction(220.0, 46.0, 180.0) < found.high


@given(st.floats(198, 242), st.floats(41.4, 50.6), st.floats(0.0, 1.0))
def test_the_interval_holds_the_share_of_every_pair_of_oils_in_the_bands(base, cont, x):
    meas = oil.blend_viscosity([base, cont], [1 - x, x])
    found = oil.blend_fraction_interval((198.0, 242.0), (41.4, 50.6), meas)
    assert found.low - 1e-9 <= x <= found.high + 1e-9
    assert found.word != "not explained by this mix" or x in (pytest.approx(0, abs=1e-9), pytest.approx(1, abs=1e-9))


def test_a_new_oil_at_the_edge_of_its_band_is_no_finding():
    """VG 220 at 198 looks like 5.8 % of VG 46 (computed by us): under about 6 % nothing can be said from grades."""
    bands = oil.iso_limits(220), oil.iso_limits(46)
    found = oil.blend_fraction_interval(*bands, 198.5)
    assert found.word == "not detectable by viscosity"
    assert found.low <= 0 < found.high
    assert found.not_detectable_below == pytest.approx(0.058, abs=0.0006)
    assert oil.blend_fraction_interval(*bands, 197.0).word == "found"


def test_an_interval_outside_0_to_1_is_not_explained_by_the_mix():
    bands = oil.iso_limits(220), oil.iso_limits(46)
    for meas in (243.0, 40.0):
        found = oil.blend_fraction_interval(*bands, meas)
        assert found.word == "not explained by this mix"
        assert found.high < 0 or found.low > 1


def test_a_thick_oil_that_came_into_a_thin_one_is_found_too():
    found = oil.blend_fraction_interval(oil.iso_limits(46), oil.iso_limits(220), 60.0)
    assert found.word == "found"
    assert found.low < oil.blend_fraction(46.0, 220.0, 60.0) < found.high
    assert found.not_detectable_below == pytest.approx(oil.blend_fraction(46.0, 220.0, 50.6), rel=1e-12)


def test_both_ends_equal_is_the_single_figure():
    found = oil.blend_fraction_interval((220.0, 220.0), (46.0, 46.0), 180.0)
    assert found.low == found.high == oil.blend_fraction(220.0, 46.0, 180.0)
    assert found == Interval(found.low, found.high, "found", 0.0)


def test_bands_that_cannot_be_told_apart_are_refused():
    with pytest.raises(CannotAnswer, match="overlap"):
        oil.blend_fraction_interval((90.0, 110.0), (100.0, 120.0), 105.0)
    with pytest.raises(CannotAnswer, match="cannot tell them apart"):
        oil.blend_fraction_interval((90.0, 110.0), (80.0, 89.0), 89.5)
    with pytest.raises(BadInput, match="lower one"):
        oil.blend_fraction_interval((242.0, 198.0), (41.4, 50.6), 180.0)


def test_the_doubt_of_a_share_agrees_with_random_draws():
    """Three viscosities drawn 40,000 times with 1, 2 and 0.5 %; the scatter of the share is what the formula says, within 2 %."""
    rng = np.random.default_rng(7)
    base, cont, meas = (nu * np.exp(r * rng.standard_normal(40000)) for nu, r in ((220.0, 0.01), (46.0, 0.02), (180.0, 0.005)))
    drawn = np.std(oil.blend_fraction_open(base, cont, meas))
    assert oil.u_fraction(220.0, 46.0, 180.0, 0.01, 0.02, 0.005) == pytest.approx(drawn, rel=0.02)


def test_a_negative_doubt_is_refused():
    for r in ((-0.01, 0.0, 0.0), (0.0, math.nan, 0.0), (0.0, 0.0, math.inf)):
        with pytest.raises(BadInput, match="doubt of the viscosity"):
            oil.u_fraction(220.0, 46.0, 180.0, *r)


@pytest.mark.published("oil_blends", "rinse")
def test_what_is_left_after_one_two_and_three_changes(case):
    found = [oil.share_left(case["given"]["stay"], n) for n in (1, 2, 3)]
    np.testing.assert_allclose(found, case["want"], atol=case["tol"], rtol=0)


@pytest.mark.published("oil_blends", "cycles")
def test_cycles_and_fresh_oil_to_a_wanted_share(case):
    g = case["given"]
    cycles = oil.rinse_cycles(g["stay"], g["target"])
    assert cycles == case["want"][0]
    assert oil.rinse_litres(1.0, g["stay"], cycles) == pytest.approx(case["want"][1], abs=case["tol"])


@pytest.mark.published("oil_blends", "purging")
def test_dilution_agrees_with_the_notes_on_purging(case):
    g = case["given"]
    assert g["start"] * oil.share_left(g["stay"], g["n"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


@given(st.floats(0.01, 0.97), st.floats(1e-6, 0.999))
def test_the_cycles_are_enough_and_one_less_is_not(stay, target):
    n = oil.rinse_cycles(stay, target)
    assert oil.share_left(stay, n) <= target * (1 + 1e-6)
    assert n == 1 or oil.share_left(stay, n - 1) > target * (1 - 1e-6)


def test_the_ends_of_rinsing():
    assert oil.rinse_cycles(0.0, 0.01) == 1
    assert oil.rinse_cycles(0.3, 1.0) == oil.rinse_cycles(1.0, 1.5) == 0
    assert oil.rinse_cycles(0.1, 0.1) == 1
    with pytest.raises(CannotAnswer, match="nothing drains"):
        oil.rinse_cycles(1.0, 0.5)
    for stay, target in ((-0.1, 0.5), (1.1, 0.5), (math.nan, 0.5), (0.2, 0.0), (0.2, math.nan)):
        with pytest.raises(OutOfRange, match="share"):
            oil.rinse_cycles(stay, target)
    with pytest.raises(OutOfRange, match="changes"):
        oil.share_left(0.2, -1)
    with pytest.raises(OutOfRange, match="contents"):
        oil.rinse_litres(0.0, 0.2, 1)


def test_what_a_leak_makes_of_an_oil():
    """Against small steps: each brings a little in, and an overflowing case loses as much of the mix."""
    steps, share, full = 20000, 0.0, 0.0
    for _ in range(steps):
        into = 0.01 * 100 / steps
        share += (1 - share) * into / 6.0
        full += into
    assert oil.share_come_in(0.01, 100, 6.0, overflows=True) == pytest.approx(share, rel=1e-4)
    assert oil.share_come_in(0.01, 100, 6.0, overflows=False) == pytest.approx(full / (6.0 + full), rel=1e-9)
    for bad in ((-0.1, 1.0, 6.0), (0.1, math.nan, 6.0), (0.1, 1.0, 0.0)):
        with pytest.raises(OutOfRange):
            oil.share_come_in(*bad, overflows=True)


def oil_of(family="mineral", nu40=46.0, nu100=6.65, label="oil"):
    return Product(key="oil", label=label, kind="oil", family=family, nu40=nu40, nu100=nu100)


def test_a_change_of_family_is_claimed_only_where_both_are_known():
    mineral, ester, other, unknown = (oil_of(f) for f in ("mineral", "biodegradable ester", "other", "unknown"))
    assert oil.family_change(mineral, ester) is True
    assert oil.family_change(mineral, other) is True
    assert oil.family_change(ester, ester) is False
    assert oil.family_change(other, other) is None
    assert oil.family_change(mineral, unknown) is None


def test_the_scope_of_the_mixing_formula_is_said():
    assert oil.blend_remarks(oil_of(), oil_of(nu40=220.0, nu100=18.75)) == ()
    assert "families differ" in oil.blend_remarks(oil_of(), oil_of("biodegradable ester"))[0]
    assert "families differ or are not known" in oil.blend_remarks(oil_of("unknown"), oil_of("unknown"))[0]
    assert "viscosity improver" in oil.blend_remarks(oil_of(), oil_of(nu40=108.0, nu100=14.5, label="engine oil"))[0]
    assert oil.improved(oil_of(nu100=None)) is None
    assert oil.improved(oil_of(nu40=6.0, nu100=6.65)) is None


def test_every_refusal_is_an_error_with_a_sentence():
    with pytest.raises(FluidappError, match=r"^Share from viscosity: .*\. Use the level rise\.$"):
        oil.blend_fraction(100.0, 100.0, 100.0)
